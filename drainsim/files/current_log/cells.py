"""Cells of a meter's file as numbers, and the current among them in amperes."""

import re
from dataclasses import dataclass
from typing import Any, Final

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


def numbers_of(cells: np.ndarray[Any, Any], column: int, place: Place) -> tuple[FloatArray, float]:
    """Return numbers, missing ones as NaN, and the step of the last digit."""
    try:
        values = cells.astype(float)
    except (ValueError, TypeError):
        values = None
    if values is not None and not np.isinf(values).any():
        return values, _printed_step(cells, ".")
    words = pd.Series(cells, dtype=object).fillna("").astype(str).str.strip()
    missing = words.str.lower().isin(MISSING)
    comma = bool(words.str.contains(",", regex=False).any())
    plain = words.str.replace(",", ".", regex=False) if comma else words
    numbers = pd.to_numeric(plain.where(~missing, "nan"), errors="coerce")
    wrong = np.flatnonzero((numbers.isna() & ~missing).to_numpy() | np.isinf(numbers.to_numpy()))
    if len(wrong):
        at = int(wrong[0])
        shown = str(words.iloc[at])[:40]
        raise RecordError(f"{place.cell(at, column)}: {shown!r} is not a number")
    return numbers.to_numpy(dtype=float), _printed_step(words.to_numpy(), "," if comma else ".")


def _printed_step(cells: np.ndarray[Any, Any], mark: str) -> float:
    """Return the step of the last printed digit among the first cells; 0 if they vary wildly."""
    digits = 0
    for cell in cells[:2000]:
        text = str(cell).strip()
        if "e" in text.lower():
            return 0.0
        digits = max(digits, len(text.partition(mark)[2]))
    return 10.0**-digits if digits <= 7 else 0.0


def current_of(
    cells: dict[int, np.ndarray[Any, Any]],
    columns: Columns,
    place: Place,
    notes: list[str],
) -> tuple[FloatArray, float, str]:
    """Return the current in amperes, the printed step in amperes and the unit."""
    words = cells[columns.current]
    if columns.unit_column is not None:
        values, _ = numbers_of(words, columns.current, place)
        marks = pd.Series(cells[columns.unit_column], dtype=object).fillna("").astype(str)
        factor = marks.str.strip().str.replace(r"[µμ]", "u", regex=True).map(CURRENT_UNITS)
        wrong = np.flatnonzero(factor.isna().to_numpy() & np.isfinite(values))
        if len(wrong):
            raise RecordError(
                f"{place.cell(int(wrong[0]), columns.unit_column)}: "
                f"{str(marks.iloc[wrong[0]])[:20]!r} is no unit of current; use A, mA or uA"
            )
        return values * factor.fillna(1.0).to_numpy(dtype=float), 0.0, "as each row says"
    sample = next(
        (str(c) for c in words[:500] if re.match(_WITH_UNIT, str(c)) and "A" in str(c)), ""
    )
    if re.search(r"A\s*$", sample):
        parts = pd.Series(words, dtype=object).fillna("").astype(str).str.extract(_WITH_UNIT)
        kept = parts[0].fillna(pd.Series(words, dtype=object)).to_numpy(dtype=object)
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
