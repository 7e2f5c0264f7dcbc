"""One circuit at a time: the one reading that decides next, and all of them where wanted."""

from collections.abc import Sequence
from typing import Any, Final

import streamlit as st

from drainsim.answers.installer.circuit.circuit_verdict import REFUSED, RoleVerdict
from drainsim.answers.installer.circuit.circuits import CircuitsAnswer
from drainsim.dashboard.installer import installer_parts as parts
from drainsim.dashboard.parts.plain_text import said
from drainsim.language import marked, say

POWER, SENSE = "constant_power", "ignition_sense"
ROLES: Final = {POWER: marked("Constant power"), SENSE: marked("Ignition sense")}
CLASSES: Final = {
    "always_hot": marked("always hot"),
    "battery_direct": marked("battery, direct"),
    "retained": marked("retained (dies after key off)"),
    "accessory": marked("accessory"),
    "ignition": marked("ignition"),
    "safety": marked("safety: restraint, braking, steering, emergency"),
}
FUSE_TYPES: Final = {"medium": marked("medium blade"), "mini": marked("mini blade")}
# A reading's label, ends and step; beside the voltage under load goes the current it was read at.
_VOLTS: Final = (-1.0, 60.0, 0.1)
_READINGS: Final[dict[str, tuple[str, tuple[float, float, float]]]] = {
    "fuse_a": (marked("Fuse [A]"), (0.1, 500.0, 1.0)),
    "load_a": (marked("Present load [A]"), (0.0, 500.0, 0.1)),
    "off_v": (marked("Key off, at once [V]"), _VOLTS),
    "after_sleep_v": (marked("After sleep, 45 min or more [V]"), _VOLTS),
    "on_v": (marked("Key on [V]"), _VOLTS),
    "cranking_v": (marked("While cranking, lowest [V]"), _VOLTS),
    "loaded_v": (marked("Loaded, with a lamp or the unit [V]"), _VOLTS),
    "loaded_at_a": (marked("Loaded at [A]"), (0.001, 100.0, 0.1)),
    "wire_mm2": (marked("Wire cross-section [mm²]"), (0.05, 120.0, 0.25)),
    "length_m": (marked("Length, one way [m]"), (0.0, 50.0, 0.5)),
    "wakes_module_a": (marked("Control unit it keeps awake [A], 0 for none"), (0.0, 50.0, 0.1)),
}
_PAIRS: Final = (
    ("fuse_a", "load_a"), ("off_v", "after_sleep_v"), ("on_v", "cranking_v"),
    ("loaded_v", "loaded_at_a"), ("wire_mm2", "length_m"), ("wakes_module_a",),
)  # fmt: skip
_TOGETHER: Final = {"loaded_v": ("loaded_v", "loaded_at_a")}


def in_words(text: object) -> str:
    """Return an answer's sentence as `said`, with the fields' labels in place of a table's columns.

    Examples
    --------
    >>> in_words("class always_hot: fuse_a was not read")
    'class always hot: Fuse was not read'
    """
    words = said(text)
    for name in sorted(_READINGS, key=len, reverse=True):
        words = words.replace(name, say(_READINGS[name][0]).partition(" [")[0])
    for name in (marked("always hot"), marked("battery direct"), marked("safety circuit")):
        words = words.replace(name.replace(" ", "_"), say(name))
    return words


def complete(row: dict[str, Any]) -> dict[str, Any]:
    """Return a circuit without half a reading under load: the other half is asked for."""
    both = _TOGETHER["loaded_v"]
    half = any(row.get(name) is None for name in both)
    return {name: value for name, value in row.items() if not (half and name in both)}


def verdict_on(answer: CircuitsAnswer, name: str) -> tuple[str, RoleVerdict]:
    """Return the purpose a circuit serves best, constant power first, and the verdict on it."""
    found = {
        role: next(one for one in getattr(answer, role) if one.circuit.name == name)
        for role in ROLES
    }
    role = POWER if found[POWER].verdict != REFUSED or found[SENSE].verdict == REFUSED else SENSE
    return role, found[role]


def asked(row: dict[str, Any], index: int, reading: str) -> None:
    """Draw the field of the one reading that decides next."""
    _row_of(row, index, _TOGETHER.get(reading, (reading,)))


def fields(row: dict[str, Any], index: int) -> None:
    """Draw every field of one circuit."""
    parts.text(say("Name"), row, "name", key=f"c{index}_name")
    parts.choice(say("Class"), row, "class", CLASSES, key=f"c{index}_class", default="always_hot")
    parts.choice(
        say("Restraint, braking, steering or emergency circuit?"),
        row,
        "safety_circuit",
        {
            "": marked("as its name and class say"),
            "no": marked("no, I looked it up"),
            "yes": marked("yes"),
        },
        key=f"c{index}_safety",
        default="",
    )
    parts.choice(
        say("Fuse type"),
        row,
        "fuse_type",
        FUSE_TYPES,
        key=f"c{index}_fuse_type",
        default="medium",
    )
    for names in _PAIRS:
        _row_of(row, index, names)


def _row_of(row: dict[str, Any], index: int, names: Sequence[str]) -> None:
    for column, name in zip(
        st.columns(len(names), vertical_alignment="bottom"), names, strict=True
    ):
        label, (low, high, step) = _READINGS[name]
        with column:
            parts.number(
                say(label), row, name, key=f"c{index}_{name}", low=low, high=high, step=step
            )
