"""A baseline scenario and the choices made on top of it; no widgets here."""

import base64
import binascii
import dataclasses
import zlib
from collections.abc import Mapping
from typing import Any, Final

from drainsim.dashboard.controls import CONTROLS, EITHER, NO_UNIT, OWN, PRESETS
from drainsim.errors import DrainsimError, ScenarioError, one_line
from drainsim.models.case import Case, resolve
from drainsim.models.reading import MAX_TOML_BYTES
from drainsim.models.scenario import Scenario, scenario_from_dict, scenario_from_text

BASE: Final = "base"  # address key of a baseline that is not the example
_ADDRESS_BYTES: Final = 20_000  # a longer scenario is shared as a file
_NAME_LETTERS: Final = 80

Choices = dict[str, Any]


def example() -> Scenario:
    """Return the invented example the first visit shows."""
    return scenario_from_dict(
        {
            "battery": {"profile": "flooded_calcium", "capacity_ah": 60.0},
            "unit": {"preset": "hourly"},
            "vehicle": {"preset": "compact_petrol"},
            "site": {"climate": "temperate", "parked_from": CONTROLS["parked_from"].fallback},
        },
        where="example",
    )


def preset_of(scenario: Scenario, table: str) -> str:
    """Return the preset a scenario's unit or vehicle starts from: "own", or "none" of no unit."""
    if table == "unit" and not scenario.has(table):
        return NO_UNIT
    return str(scenario.get(table, "preset") or OWN)


def changed(base: Scenario, choices: Mapping[str, Any]) -> Scenario:
    """Return the baseline with choices applied; keys no control shows are kept.

    Another preset replaces its whole table: values of the unit before belong to that unit.

    Raises
    ------
    ScenarioError
        If a value is not allowed.
    """
    tables = dict(base.tables)
    for table in PRESETS:
        chosen = choices.get(table)
        if chosen is None or chosen == preset_of(base, table):
            continue
        tables.pop(table, None)
        if chosen != NO_UNIT:
            tables[table] = {} if chosen == OWN else {"preset": chosen}
    if "unit" not in tables:
        extra = [name for name in choices if CONTROLS[name].key.startswith("unit.")]
        if extra:
            raise ScenarioError(f"{extra[0]} is given but no unit is fitted; choose a unit first")
    values: dict[str, Any] = {}
    for name, value in choices.items():
        control = CONTROLS[name]
        if name in PRESETS:
            continue
        values[control.key] = control.to_scenario(value)
        other = EITHER.get(name)
        if other and other not in choices:
            values[CONTROLS[other].key] = None
    if values.get("unit.report_charge_as") is not None:
        values["unit.report"] = None  # one charge instead of phases
    start = dataclasses.replace(base, tables=tables)
    return start.with_values(values) if values else start


def shown_values(case: Case, scenario: Scenario) -> Choices:
    """Return the value the answer really uses for every control, None where it uses none."""
    used = {item.name: item.value for item in case.assumptions}
    shown: Choices = {table: preset_of(scenario, table) for table in PRESETS}
    for name, control in CONTROLS.items():
        if name in PRESETS:
            continue
        value = used.get(control.key)
        shown[name] = None if value is None else control.shown(value)
    return shown


def with_fallbacks(values: Mapping[str, Any]) -> Choices:
    """Return where every control stands, a usual value where the answer uses none."""
    return {
        name: CONTROLS[name].fallback if value is None else value for name, value in values.items()
    }


def changes_in_words(
    before: Mapping[str, Any], after: Mapping[str, Any], choices: Mapping[str, Any]
) -> list[str]:
    """Return one phrase per choice: "Battery age [years]: 3 → 4"."""
    phrases = []
    for name in choices:
        control = CONTROLS[name]
        old, new = before.get(name), after.get(name)
        if old is None:
            phrases.append(f"{control.label}: {control.words(new)}")
        elif old == new:
            phrases.append(f"{control.label}: {control.words(new)}, now taken as known")
        else:
            phrases.append(f"{control.label}: {control.words(old)} → {control.words(new)}")
    return phrases


def scenario_from_bytes(raw: bytes, name: str) -> Scenario:
    """Return an uploaded scenario, resolved once so that it is known to answer.

    Raises
    ------
    DrainsimError
        In one sentence.
    """
    where = "".join(letter for letter in name if letter.isprintable())[:_NAME_LETTERS]
    if len(raw) > MAX_TOML_BYTES:
        raise ScenarioError(f"{where}: at most {MAX_TOML_BYTES / 1e6:g} MB are read")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        raise ScenarioError(
            f"{where}: byte {reason.start} is not UTF-8 text; save the file as UTF-8"
        ) from None
    scenario = scenario_from_text(text, where=where)
    resolve(scenario)
    return scenario


def to_address(base: Scenario, choices: Mapping[str, Any]) -> dict[str, str]:
    """Return the query of an address that opens this state."""
    query = {name: CONTROLS[name].write(value) for name, value in choices.items()}
    if base.tables != example().tables:
        packed = zlib.compress(base.to_toml().encode(), 9)
        query[BASE] = base64.urlsafe_b64encode(packed).decode().rstrip("=")
    return query


def from_address(query: Mapping[str, str]) -> tuple[Scenario, Choices, list[str]]:
    """Return baseline, choices and one sentence for each part that cannot be used."""
    sentences: list[str] = []
    base = example()
    if BASE in query:
        try:
            base = _unpacked(query[BASE])
        except DrainsimError as error:
            sentences.append(f"Address: {error}. The example is shown instead.")
    choices: Choices = {}
    for name in query:
        if name != BASE and name not in CONTROLS:
            sentences.append(f"Address: {name[:60]} is not known and was left out.")
    for name, control in CONTROLS.items():
        if name not in query:
            continue
        try:
            value = control.parse(query[name])
            resolve(changed(base, {**choices, name: value}))
        except DrainsimError as error:
            reason = str(error).removeprefix(f"{base.where}: ")
            sentences.append(f"Address: {name}={query[name][:40]} was left out: {reason}.")
            continue
        choices[name] = value
    return base, choices, [one_line(sentence) for sentence in sentences]


def _unpacked(text: str) -> Scenario:
    """Return the scenario packed into an address."""
    if len(text) > _ADDRESS_BYTES:
        raise ScenarioError("the packed scenario is too long")
    try:
        packed = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        opener = zlib.decompressobj()
        raw = opener.decompress(packed, MAX_TOML_BYTES)
    except (binascii.Error, zlib.error, ValueError):
        raise ScenarioError("the packed scenario is damaged; copy the whole address") from None
    if opener.unconsumed_tail or not opener.eof:
        raise ScenarioError("the packed scenario is damaged; copy the whole address")
    return scenario_from_bytes(raw, "scenario of the address")
