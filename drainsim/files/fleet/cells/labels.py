"""A cell that holds a battery's label: "AGM 70Ah 760A EN" to type, capacity and current."""

import re
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import Cell
from drainsim.files.fleet.cells.choices import Choices
from drainsim.files.fleet.cells.numbers import CellError, brief
from drainsim.files.fleet.words import STANDARDS, plain
from drainsim.language import marked

LABELS: Final = marked("labels in its cells")
PAIR: Final = "_pair"  # of two such batteries
_CAPACITY: Final = re.compile(r"(?<![\w.,])(\d{1,3}(?:[.,]\d)?)\s*Ah\b", re.IGNORECASE)
_CURRENT: Final = re.compile(r"(?<![\w.,])(\d{2,4})\s*A(?:mps?)?(?![\w])", re.IGNORECASE)
_IN_SERIES: Final = re.compile(  # two batteries, and the 24 V they make
    r"^2\s*[x×*]\s*(?P<label>.*\d\s*Ah\b.*?),?\s*\b24\s*V(?:olt)?\s*$", re.IGNORECASE
)
_TWO: Final = re.compile(r"^\s*2\s*[x×*]\s*(?=\d)", re.IGNORECASE)
_FILL: Final = frozenset({"", "v", "12v", "12", "cca", "batterie", "battery", "bateria", "accu"})


def is_label(cell: Cell) -> bool:
    """Say whether a cell holds a capacity beside something else."""
    return (
        isinstance(cell, str)
        and len(cell) <= 60
        and bool(_IN_SERIES.match(cell.strip()) or _CAPACITY.search(cell))
        and (len(_CAPACITY.sub("", cell).strip()) > 0)
    )


def says_ah(cell: Cell) -> bool:
    """Say whether a cell names a capacity in ampere-hours, well written or not."""
    return isinstance(cell, str) and bool(re.search(r"\d\s*ah\b", cell.lower()))


def label_values(cell: Cell, choices: Choices) -> dict[str, float | str]:
    """Return column → value of what a label says.

    Raises
    ------
    CellError
        If a word of it is not understood: it may change what the rest means.
    """
    pair = _IN_SERIES.match(str(cell).strip())
    text = pair["label"] if pair else str(cell)
    found: dict[str, float | str] = {"battery_system": "24V"} if pair else {}
    if _TWO.match(text):
        found[PAIR] = "yes"
        text = _TWO.sub("", text)
    for name, pattern in (("capacity_ah", _CAPACITY), ("cold_cranking_a", _CURRENT)):
        numbers = pattern.findall(text)
        if len(numbers) > 1:
            raise CellError(f"{brief(cell)}: which of {' and '.join(numbers)}? write one value")
        if numbers:
            found[name] = float(numbers[0].replace(",", "."))
        text = pattern.sub(" ", text)
    rest = plain(text)
    if rest in choices["battery_profile"]:
        return found | {"battery_profile": choices["battery_profile"][rest]}
    for word in rest.split():
        if word in choices["battery_profile"]:
            found["battery_profile"] = choices["battery_profile"][word]
        elif word in STANDARDS:
            found["cranking_standard"] = STANDARDS[word]
        elif word not in _FILL:
            raise CellError(
                f"{brief(cell)}: {word!r} is not understood; write type, capacity and cranking "
                "current in columns of their own"
            )
    return found
