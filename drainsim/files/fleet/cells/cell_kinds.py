"""What a cell of a fleet list is: its type, and whether it holds anything."""

import datetime as dt
import math
from functools import lru_cache
from typing import Final, TypeAlias

from drainsim.files.fleet.words import NOTHING, plain

Cell: TypeAlias = str | float | int | bool | dt.datetime | dt.date | None
FORMULA: Final = "formula without a stored value"  # what such a cell says instead
CELLS_KEPT: Final = 20_000  # cells whose reading is kept: columns of lists repeat themselves
_DASHES: Final = frozenset("-–—?./…")


def is_empty(cell: Cell) -> bool:
    """Say whether a cell holds nothing, or a word that says so."""
    if cell is None or (isinstance(cell, float) and math.isnan(cell)):
        return True
    return _says_nothing(cell) if isinstance(cell, str) else False


@lru_cache(maxsize=CELLS_KEPT)
def _says_nothing(cell: str) -> bool:
    text = cell.strip()
    if not text or (len(text) <= 4 and set(text) <= _DASHES):
        return True
    return len(text) <= 20 and plain(text.lstrip("#")) in NOTHING


def number_of(cell: Cell) -> float | None:
    """Return a cell that is a number already."""
    if isinstance(cell, bool) or not isinstance(cell, int | float):
        return None
    return float(cell)
