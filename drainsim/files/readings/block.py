"""Rows of a file as plain arrays: vehicle, time, values, and why a row is not used."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim.errors import ReadingsError
from drainsim.files.readings.history import EMPTY, ZERO, Refused
from drainsim.files.readings.layout import Layout, Series
from drainsim.files.readings.sheet import Frame, Rows
from drainsim.files.readings.times import Clock, seconds_of
from drainsim.files.readings.values import (
    HIGHEST_V,
    LOWEST_V,
    BoolArray,
    celsius,
    is_numeric,
    numbers_of,
    switched,
    texts_of,
    volts,
)
from drainsim.language import message
from drainsim.physics.tables import FloatArray

NO_VOLTAGE: Final = f"not a vehicle's voltage: outside {LOWEST_V:g} to {HIGHEST_V:g} V"
NO_NUMBER: Final = message("the voltage is not a number")
NO_VEHICLE: Final = message("no vehicle is named in this row")
HEADINGS_AGAIN: Final = message("the headings again")
MORE_CELLS: Final = message("more cells than the heading row")
_LONGEST_ID: Final = 80
_VOLTAGES: Final = ("voltage", "cranking_minimum", "voltmeter")


@dataclass(slots=True)
class Found:
    """What a run over the files gathers beside its blocks: vehicles, reasons, refused, notes."""

    vehicles: dict[str, int] = field(default_factory=dict)
    reasons: dict[str, int] = field(default_factory=lambda: {"": 0})
    refused: list[Refused] = field(default_factory=list)
    notes: dict[str, int] = field(default_factory=dict)  # sentence → how many values
    decimals: list[str] = field(default_factory=list)  # decimal mark of each sheet

    def reason(self, sentence: str) -> int:
        """Return the number of a reason."""
        return self.reasons.setdefault(sentence, len(self.reasons))

    def note(self, sentence: str, count: int = 1) -> None:
        """Count values that a sentence is about."""
        if count:
            self.notes[sentence] = self.notes.get(sentence, 0) + count


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Readings (n,): number of the vehicle, epoch seconds, quantity → values, number of a reason.

    A reason below 0 keeps its voltage aside only.
    """

    vehicle: Any
    time_s: FloatArray
    columns: dict[str, FloatArray]
    reason: Any


def blocks_of(frame: Frame, layout: Layout, clock: Clock, found: Found) -> Iterator[Block]:
    """Yield a frame's readings, one block a series of the layout."""
    rows, table = _without_odd(frame, layout, clock.where, found)
    if not len(rows):
        return
    cells = table[layout.time]
    if layout.clock is not None:
        day = texts_of(cells).str.replace(" 00:00:00", "", regex=False)
        cells = day + " " + texts_of(table[layout.clock])
    seconds, unusable = seconds_of(cells, clock)
    reason = np.zeros(len(rows), dtype=np.int16)
    for sentence, some in unusable:
        if some.any():
            reason[some & (reason == 0)] = found.reason(sentence)
    for series in layout.series:
        yield from _block(rows, table, series, layout, clock.where, seconds, reason, found)


def _without_odd(
    frame: Frame, layout: Layout, where: str, found: Found
) -> tuple[Rows, pd.DataFrame]:
    """Return a frame without empty rows and those that hold too much or the headings again."""
    rows, table = frame
    width = len(layout.headings)
    filled = np.zeros(len(rows), dtype=bool)
    for column in table.columns:
        if filled.all():
            break
        filled |= ~_blank(table[column])
    more = ~_blank(table[width])
    if more.sum() * 2 > filled.sum():
        raise ReadingsError(
            f"{where}: row {rows[np.flatnonzero(more)[0]]} has more cells than the heading row "
            f"({width}); a decimal comma needs semicolons between the columns"
        )
    again = np.zeros(len(rows), dtype=bool)
    times = table[layout.time]
    if layout.known and not is_numeric(times):  # there is a heading row
        again |= (texts_of(times) == layout.headings[layout.time]).to_numpy()
    _refuse(rows, more, MORE_CELLS, where, found)
    _refuse(rows, again & ~more, HEADINGS_AGAIN, where, found)
    kept = filled & ~more & ~again
    return (rows, table) if kept.all() else (rows[kept], table.loc[kept].reset_index(drop=True))


def _refuse(rows: Rows, some: BoolArray, reason: str, where: str, found: Found) -> None:
    if some.any():
        first = int(rows[np.flatnonzero(some)[0]])
        found.refused.append(Refused(where, first, int(some.sum()), reason))


def _block(
    rows: Rows,
    table: pd.DataFrame,
    series: Series,
    layout: Layout,
    where: str,
    seconds: FloatArray,
    reason: Any,
    found: Found,
) -> Iterator[Block]:
    """Yield the readings of one series: of the vehicles rows name, or of the one a column is of."""
    named = _vehicles(rows, table, series, layout, where, found)
    values, wrong, zero, empty = _values(table, series, where, found)
    measured = _any_measured(values, values)
    kept = named >= 0
    if layout.vehicle is None and len(layout.series) > 1:
        own = [table[column] for column, _ in series.columns.values()]
        blank = np.all([_blank(cells) for cells in own], axis=0)
        kept = kept & (measured | wrong | zero | ~blank)
    reason = reason.copy()
    none = (reason == 0) & ~_any_measured(values, _VOLTAGES)
    for sentence, some in (
        (NO_NUMBER, wrong), (ZERO, zero), (EMPTY, empty), (NO_VOLTAGE, ~(wrong | zero | empty))
    ):  # fmt: skip
        if (none & some).any():
            beside = np.where(measured, -1, 1)  # its ignition or temperature counts
            reason[none & some] = (found.reason(sentence) * beside)[none & some]
    if kept.all():
        yield Block(named, seconds, values, reason)
    elif kept.any():
        part = {name: array[kept] for name, array in values.items()}
        yield Block(named[kept], seconds[kept], part, reason[kept])


def _any_measured(values: dict[str, FloatArray], names: Iterable[str]) -> BoolArray:
    known = [np.isfinite(values[name]) for name in names if name in values]
    return np.asarray(np.any(known, axis=0))


def _blank(cells: "pd.Series[Any]") -> BoolArray:
    """Say which cells of a column hold nothing."""
    missing = np.asarray(cells.isna(), dtype=bool)
    return missing if is_numeric(cells) else missing | (texts_of(cells) == "").to_numpy()


def _vehicles(
    rows: Rows, table: pd.DataFrame, series: Series, layout: Layout, where: str, found: Found
) -> Any:
    """Return each row's vehicle by its number, -1 where none is named."""
    if layout.vehicle is None:
        number = found.vehicles.setdefault(_id(series.vehicle), len(found.vehicles))
        return np.full(len(rows), number, dtype=np.int32)
    places, texts = pd.factorize(table[layout.vehicle].to_numpy(dtype=object))
    numbers = []
    for text in texts:
        name = _id("" if text is None else str(text))
        numbers.append(found.vehicles.setdefault(name, len(found.vehicles)) if name else -1)
    named = np.array([*numbers, -1], dtype=np.int32)[places]
    _refuse(rows, named < 0, NO_VEHICLE, where, found)
    return named


def _id(text: str) -> str:
    """Return a vehicle's name as the file has it, on one line and of bounded length."""
    text = text.strip().removeprefix("'")
    return "".join(letter for letter in text if letter.isprintable())[:_LONGEST_ID].strip()


def _values(
    table: pd.DataFrame, series: Series, where: str, found: Found
) -> tuple[dict[str, FloatArray], BoolArray, BoolArray, BoolArray]:
    """Return quantity → values, and where the voltage is no number, 0 V, or empty."""
    values: dict[str, FloatArray] = {}
    wrong, zero = np.zeros((2, len(table)), dtype=bool)
    empty = np.ones(len(table), dtype=bool)
    for quantity, (column, unit) in series.columns.items():
        if quantity == "ignition":
            values[quantity] = switched(table[column])
            continue
        kind = "voltage" if quantity in _VOLTAGES else "temperature"
        raw, nothing, bad = numbers_of(table[column], kind)
        if kind == "voltage":
            found_v, milli = volts(raw, unit)
            found.note(f"{where}: values from 1,000 on were taken as mV", int(milli.sum()))
            values[quantity] = found_v
            none = np.isnan(found_v) & ~nothing & (raw != 0.0)
            if quantity == "voltage":
                wrong, zero, empty = bad, raw == 0.0, nothing
                continue
            found.note(f"{where}: values of {quantity} outside 1 to 60 V left out", int(none.sum()))
        else:
            values[quantity] = celsius(raw, unit)
            none = np.isnan(values[quantity]) & ~nothing
            found.note(f"{where}: values of {quantity} that are none left out", int(none.sum()))
    return values, wrong, zero, empty
