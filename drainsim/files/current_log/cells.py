"""Cells of a meter's file as numbers, and the current among them in amperes."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
import pandas as pd

from drainsim.errors import RecordError
from drainsim.files.current_log.columns import CURRENT_UNITS, Columns
from drainsim.physics.tables import FloatArray

MISSING: Final = frozenset(
    {"", "nan", "na", "n/a", "null", "none", "-", "--", "---", "----", "ol", "o.l", "ovld",
     "overload", "over", "-ol"}
)  # fmt: skip
NUMBER: Final = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$")
_PIECE: Final = 200_000  # cells turned into Python's texts at a time
Cells: TypeAlias = "pd.Series[Any]"  # a column's cells as texts, numbered from 0
_WITH_UNIT: Final = r"^\s*([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(A|mA|uA|µA|μA)?\s*$"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a cell stands, for messages."""

    where: str
    first_row: int
    heading: list[str]

    def cell(self, index: int, column: int) -> str:
        """Return file, row as a spreadsheet numbers it, and column."""
        return f"{self.where}: row {self.first_row + index}, column {self.heading[column][:40]!r}"


def pieces(cells: Cells) -> Iterator[Cells]:
    """Yield a column in stretches: turned into Python's texts, all of it would fill the memory."""
    for start in range(0, len(cells), _PIECE):
        yield cells.iloc[start : start + _PIECE]


def by_pieces(cells: Cells, read: Callable[[Cells], np.ndarray[Any, Any]]) -> np.ndarray[Any, Any]:
    """Return what is read of a column, stretch by stretch."""
    return np.concatenate([read(piece) for piece in pieces(cells)])


def words_of(cells: Cells) -> Cells:
    """Return cells as texts without blanks around; a cell that is not there as an empty one."""
    return cells.fillna("").str.strip()


def numbers_of(cells: Cells, column: int, place: Place) -> tuple[FloatArray, float]:
    """Return numbers, missing ones as NaN, and the step of the last digit."""
    try:
        values = by_pieces(cells, lambda piece: piece.to_numpy(dtype=object).astype(float))
    except (ValueError, TypeError):
        values = None
    if values is not None and not np.isinf(values).any():
        return values, _printed_step(cells, ".")
    words = words_of(cells)
    missing = words.str.lower().isin(MISSING)
    comma = bool(words.str.contains(",", regex=False).any())
    plain = words.str.replace(",", ".", regex=False) if comma else words
    plain = plain.where(~missing, "nan")
    numbers = by_pieces(plain, lambda p: pd.to_numeric(p, errors="coerce").to_numpy(dtype=float))
    wrong = np.flatnonzero((np.isnan(numbers) & ~missing.to_numpy()) | np.isinf(numbers))
    if len(wrong):
        at = int(wrong[0])
        shown = str(words.iloc[at])[:40]
        raise RecordError(f"{place.cell(at, column)}: {shown!r} is not a number")
    return numbers, _printed_step(words, "," if comma else ".")


def _printed_step(cells: Cells, mark: str) -> float:
    """Return the step of the last printed digit among the first cells; 0 if they vary wildly."""
    digits = 0
    for cell in cells.iloc[:2000]:
        text = str(cell).strip()
        if "e" in text.lower():
            return 0.0
        digits = max(digits, len(text.partition(mark)[2]))
    return 10.0**-digits if digits <= 7 else 0.0


def current_of(
    cells: dict[int, Cells], columns: Columns, place: Place, notes: list[str]
) -> tuple[FloatArray, float, str]:
    """Return the current in amperes, the printed step in amperes and the unit."""
    words = cells[columns.current]
    if columns.unit_column is not None:
        values, _ = numbers_of(words, columns.current, place)
        marks = words_of(cells[columns.unit_column])
        factor = marks.str.replace(r"[µμ]", "u", regex=True).map(CURRENT_UNITS)
        wrong = np.flatnonzero(factor.isna().to_numpy() & np.isfinite(values))
        if len(wrong):
            raise RecordError(
                f"{place.cell(int(wrong[0]), columns.unit_column)}: "
                f"{str(marks.iloc[wrong[0]])[:20]!r} is no unit of current; use A, mA or uA"
            )
        return values * factor.fillna(1.0).to_numpy(dtype=float), 0.0, "as each row says"
    sample = next(
        (str(c) for c in words.iloc[:500] if re.match(_WITH_UNIT, str(c)) and "A" in str(c)), ""
    )
    if re.search(r"A\s*$", sample):
        parts = words.fillna("").str.extract(_WITH_UNIT)
        kept = parts[0].fillna(words)
        values, _ = numbers_of(kept, columns.current, place)
        units = parts[1].str.replace(r"[µμ]", "u", regex=True)
        known = units.dropna()
        factor = units.fillna(columns.unit or known.iloc[0]).map(CURRENT_UNITS)
        return values * factor.to_numpy(dtype=float), 0.0, "as each cell says"
    values, step = numbers_of(words, columns.current, place)
    unit = columns.unit or _guess_unit(values, place, columns.current, notes)
    factor_a = CURRENT_UNITS[unit]
    return values * factor_a, step * factor_a, unit


def _guess_unit(values: FloatArray, place: Place, column: int, notes: list[str]) -> str:
    """Guess A or mA from the size of the numbers, or refuse to guess."""
    size = np.abs(values[np.isfinite(values)])
    small = float(np.quantile(size, 0.1)) if len(size) else 0.0
    large = float(size.max()) if len(size) else 0.0
    name = place.heading[column][:40]
    if small >= 1.5 or large > 60.0:
        unit = "mA"
    elif small <= 0.5 and large <= 30.0:
        unit = "A"
    else:
        raise RecordError(
            f"{place.where}: column {name!r} does not say its unit and values up to {large:g} fit "
            "A and mA; say --unit A or --unit mA"
        )
    notes.append(
        f"column {name!r} does not say its unit; values up to {large:g} were taken as {unit} "
        "(say --unit to decide)"
    )
    return unit
