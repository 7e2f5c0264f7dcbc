"""Cells of a history as volts, °C and on or off; the step in which a voltage is given."""

from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim.files.fleet.cells.cell_kinds import is_empty
from drainsim.files.fleet.cells.numbers import CellError, written_number
from drainsim.files.fleet.columns import BY_NAME
from drainsim.files.fleet.words import plain
from drainsim.files.readings.words import OFF, ON
from drainsim.physics.tables import FloatArray

BoolArray = np.ndarray[Any, np.dtype[np.bool_]]
LOWEST_V: Final = 1.0  # below, no vehicle's supply is measured; common practice, no source
HIGHEST_V: Final = 60.0  # above a 48 V system's charging voltage; common practice, no source
_FEWEST_MV: Final = 1000.0  # a number from here on counts millivolts
_TEMPERATURES_C: Final = (-60.0, 120.0)  # of batteries, engines and air on Earth
_VOLTAGE: Final = BY_NAME["resting_voltage_v"]
_TEMPERATURE: Final = BY_NAME["resting_temperature_c"]
_MANY_VALUES: Final = 8  # different ones by which their differences show the step
_FINEST_V: Final = 1e-3
_LONGEST_CELL: Final = 60


def is_numeric(cells: "pd.Series[Any]") -> bool:
    """Say whether all cells of a column are numbers already, missing ones aside."""
    return cells.dtype.kind in "iufb"


def texts_of(cells: "pd.Series[Any]") -> "pd.Series[Any]":
    """Return cells as texts whatever they were read as; an empty one where nothing is.

    One that is too long for a number or a time says so instead: it is neither.
    """
    words = cells.astype("str").fillna("").str.strip()
    return words.where(words.str.len() <= _LONGEST_CELL, "too long")


def numbers_of(cells: "pd.Series[Any]", column: str) -> tuple[FloatArray, BoolArray, BoolArray]:
    """Return numbers (n,), and which cells are empty or no numbers (both NaN).

    Decimal point or comma; a unit behind a number is taken into account.

    Parameters
    ----------
    cells : series
        Numbers or texts.
    column : {"voltage", "temperature"}
    """
    if is_numeric(cells):
        values = np.array(cells, dtype=float)
        return values, np.isnan(values), np.isinf(values)
    words = texts_of(cells)
    values = np.array(pd.to_numeric(words, errors="coerce"), dtype=float)
    values[np.isinf(values)] = np.nan
    odd = np.flatnonzero(np.isnan(values))
    places, texts = pd.factorize(words.iloc[odd].to_numpy(dtype=object))
    told = [_number(str(text), column) for text in texts]
    empty, wrong = np.zeros((2, len(values)), dtype=bool)
    values[odd] = np.array([value for value, _ in told] or [np.nan])[places] if len(odd) else []
    empty[odd] = np.array([kind == "empty" for _, kind in told] or [True])[places]
    wrong[odd] = np.array([kind == "wrong" for _, kind in told] or [True])[places]
    return values, empty, wrong


def _number(text: str, column: str) -> tuple[float, str]:
    """Return (number, "" or "empty" or "wrong") of a cell that is no plain number."""
    text = text.strip(" \t'\"")
    if is_empty(text):
        return np.nan, "empty"
    kind = _VOLTAGE if column == "voltage" else _TEMPERATURE
    try:
        written = written_number(text, kind)
    except CellError:
        return np.nan, "wrong"
    value = written.comma if written.comma is not None and "," in text else written.readings[0]
    factor, offset = kind.units[written.unit] if written.unit else (1.0, 0.0)
    return float(value * factor + offset), ""


def volts(values: FloatArray, unit: str) -> tuple[FloatArray, BoolArray]:
    """Return volts (n,), NaN beyond 1 to 60 V, and which were taken as millivolts by their size.

    Nothing a vehicle's unit reports can be both: 12 V are 12,000 mV.
    """
    some = values[np.isfinite(values) & (values != 0.0)]
    said = unit == "mv" and len(some) > 0 and float(np.median(some)) >= _FEWEST_MV
    with np.errstate(invalid="ignore"):
        milli = np.asarray((values != 0.0) if said else (values >= _FEWEST_MV))
        found = np.asarray(np.where(milli, values * 1e-3, values), dtype=np.float64)
        found[(found < LOWEST_V) | (found > HIGHEST_V)] = np.nan
    return np.round(found, 6), milli & np.asarray(not said)


def celsius(values: FloatArray, unit: str) -> FloatArray:
    """Return °C (n,), NaN beyond what batteries and weather have."""
    factor, offset = _TEMPERATURE.units.get(unit, (1.0, 0.0))
    found = values * factor + offset
    low, high = _TEMPERATURES_C
    with np.errstate(invalid="ignore"):
        return np.where((found >= low) & (found <= high), found, np.nan)


def switched(cells: "pd.Series[Any]") -> FloatArray:
    """Return 1 for on, 0 for off (n,), NaN for a word that is neither."""
    places, texts = pd.factorize(cells.to_numpy(dtype=object))
    told = np.array([*(_on(text) for text in texts), np.nan])  # the last is of missing cells
    return told[places]


def _on(cell: object) -> float:
    if isinstance(cell, bool | np.bool_):
        return float(cell)
    word = plain(str(cell))
    if word in OFF:
        return 0.0
    try:
        return float(float(str(cell).replace(",", ".")) > 0.0)
    except ValueError:
        return 1.0 if word in ON else np.nan


def step_of(voltage_v: FloatArray) -> float:
    """Return the step in which voltages are given. [V].

    The smallest difference between values that occur again, or, of few different ones, the last
    decimal that any of them needs. NaN without a voltage.
    """
    values, counts = np.unique(np.round(voltage_v[np.isfinite(voltage_v)], 5), return_counts=True)
    if not len(values):
        return float("nan")
    again = values[counts > max(1, int(counts.sum()) // 1000)]
    if len(again) >= _MANY_VALUES:
        return max(float(np.round(np.diff(again).min(), 5)), _FINEST_V)
    for step in (0.1, 0.01):
        if np.allclose(values / step, np.round(values / step), atol=1e-3, rtol=0.0):
            return step
    return _FINEST_V
