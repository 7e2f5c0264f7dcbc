"""Times of a meter's file as seconds that only ever rise."""

import re
from functools import partial
from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim.errors import RecordError
from drainsim.files.current_log.cells import NUMBER, Cells, Place, by_pieces, numbers_of, words_of
from drainsim.files.current_log.columns import TIME_UNITS, Columns
from drainsim.language import counted_message, message
from drainsim.physics.current_log.steps import gap_limit_s
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_DAY, SECONDS_PER_HOUR

CLOCK: Final = re.compile(r"^\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?(\s*[AaPp][Mm])?$")
# Local ways to write a date, tried in turn; each must fit every row.
_FORMATS: Final = (
    "%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M:%S.%f", "%d.%m.%Y %H:%M", "%d.%m.%y %H:%M:%S",
    "%Y/%m/%d %H:%M:%S", "%Y/%m/%d %H:%M:%S.%f", "%Y/%m/%d %H:%M",
)  # fmt: skip
_EITHER: Final = (  # day or month first: only the numbers tell
    ("%d/%m/%Y", "%m/%d/%Y"), ("%d/%m/%y", "%m/%d/%y"), ("%d-%m-%Y", "%m-%d-%Y"),
)  # fmt: skip
_CLOCKS: Final = (
    " %H:%M:%S", " %H:%M:%S.%f", " %H:%M", " %I:%M:%S %p", " %I:%M %p", " %I:%M:%S.%f %p",
)  # fmt: skip
_CLOCK_CHANGE_S: Final = SECONDS_PER_HOUR  # summer time comes and goes by an hour


def seconds_of(
    cells: dict[int, Cells], columns: Columns, place: Place, notes: list[str]
) -> FloatArray:
    """Return seconds from the first row, as the clock in the file ran."""
    words = words_of(cells[columns.time])
    empty = np.flatnonzero((words == "").to_numpy())
    if len(empty):
        raise RecordError(f"{place.cell(int(empty[0]), columns.time)}: the time is missing")
    first = words.iloc[0]
    if NUMBER.match(first):
        values, _ = numbers_of(cells[columns.time], columns.time, place)
        missing = np.flatnonzero(~np.isfinite(values))
        if len(missing):
            raise RecordError(f"{place.cell(int(missing[0]), columns.time)}: the time is missing")
        return _elapsed(values, columns, place, notes)
    if columns.date is not None and columns.date in cells:
        words = words_of(cells[columns.date]) + " " + words
    elif CLOCK.match(first):
        return _clock_seconds(words, columns.time, place, notes)
    stamps = _stamps(words, columns.time, place, notes)
    return np.asarray((stamps - stamps[0]) / np.timedelta64(1, "s"), dtype=float)


def _elapsed(values: FloatArray, columns: Columns, place: Place, notes: list[str]) -> FloatArray:
    """Return seconds from an elapsed time or a count of seconds since 1970."""
    size = float(np.abs(values[0]))
    if columns.time_unit is not None and not (size > 1e8 and columns.time_unit == "s"):
        return np.asarray((values - values[0]) * TIME_UNITS[columns.time_unit])
    if size > 1e11:
        return np.asarray((values - values[0]) / 1000.0)
    if size > 1e8:
        return np.asarray(values - values[0])
    step = float(np.median(np.abs(np.diff(values)))) if len(values) > 1 else 0.0
    if 20_000.0 < size < 80_000.0 and step < 0.02:
        raise RecordError(
            f"{place.where}: column {place.heading[columns.time][:40]!r} looks like a "
            "spreadsheet's day numbers; say --time-unit d, or s for seconds"
        )
    notes.append(message("the time column does not say its unit; it was taken as seconds"))
    return np.asarray(values - values[0])


def _clock_seconds(words: Cells, column: int, place: Place, notes: list[str]) -> FloatArray:
    """Return seconds from clock times without a date; midnight is passed when they wrap."""
    stamps = _stamps("2000-01-01 " + words, column, place, notes)
    seconds = (stamps - stamps[0]) / np.timedelta64(1, "s")
    wraps = np.diff(seconds) < -0.5 * SECONDS_PER_DAY
    if wraps.any():
        seconds = seconds + SECONDS_PER_DAY * np.concatenate([[0], np.cumsum(wraps)])
        notes.append(message("clock times without a date pass midnight; a day was added there"))
    return np.asarray(seconds, dtype=float)


def _stamps(words: Cells, column: int, place: Place, notes: list[str]) -> np.ndarray[Any, Any]:
    """Return time stamps, in the one way of writing that fits every row."""
    clean = words.str.replace(r"[,](\d+)", r".\1", regex=True) if "," in words.iloc[0] else words
    shapes = ("ISO8601", *_FORMATS, *("%Y-%m-%d" + clock for clock in _CLOCKS))
    for shape in shapes:
        try:
            return by_pieces(clean, partial(_in_shape, shape=shape))
        except (ValueError, OverflowError):
            continue
    for day_first, month_first in _EITHER:
        fits = {}
        for name, shape in (("day", day_first), ("month", month_first)):
            for clock in _CLOCKS:
                try:
                    fits[name] = by_pieces(clean, partial(_in_shape, shape=shape + clock))
                    break
                except (ValueError, OverflowError):
                    continue
        if fits:
            return np.asarray(_shorter(fits, notes), dtype="datetime64[ns]")
    at = _first_unreadable(clean)
    raise RecordError(
        f"{place.cell(at, column)}: {str(words.iloc[at])[:40]!r} is not a time like "
        "2026-12-01 07:00:05, or is written unlike the rows above"
    )


def _in_shape(words: Cells, shape: str) -> np.ndarray[Any, Any]:
    read = pd.DatetimeIndex(pd.to_datetime(words, format=shape, utc=True))
    return np.asarray(read.tz_localize(None).to_numpy(), dtype="datetime64[ns]")


def _shorter(fits: dict[str, np.ndarray[Any, Any]], notes: list[str]) -> np.ndarray[Any, Any]:
    """Return the reading of the dates that spans less time: a log has no month-long gaps."""
    by_span = sorted(fits, key=lambda name: np.abs(np.diff(fits[name])).max())
    if len(fits) == 2 and (np.diff(fits["day"]) != np.diff(fits["month"])).any():
        notes.append(f"dates could be read two ways; {by_span[0]} first gives the shorter gaps")
    return fits[by_span[0]]


def _first_unreadable(words: Cells) -> int:
    """Return the first row that is no time in the way most rows are written."""
    for shape in (
        "ISO8601",
        *_FORMATS,
        *(a + c for pair in _EITHER for a in pair for c in _CLOCKS),
    ):
        read = pd.to_datetime(words, format=shape, errors="coerce", utc=True)
        if read.notna().iloc[0]:
            return int(np.flatnonzero(read.isna().to_numpy())[0])
    return 0


def straightened(seconds: FloatArray, place: Place, notes: list[str]) -> FloatArray:
    """Return strictly rising time: equal stamps spread out, clock jumps taken out."""
    pause = np.diff(seconds)
    rising = pause[pause > 0.0]
    if float((pause < 0.0).mean()) > 0.2:
        raise RecordError(f"{place.where}: the time runs backwards; sort the rows by time")
    if not len(rising):
        raise RecordError(f"{place.where}: the time never moves on; is it the right column?")
    usual = float(np.median(pause)) if float(np.median(pause)) > 0.0 else float(np.median(rising))
    back = np.flatnonzero(pause < 0.0)
    hour = np.flatnonzero(np.abs(np.abs(pause) - _CLOCK_CHANGE_S - usual) <= 2.0 * usual)
    hour = hour[pause[hour] > 0.0] if usual < 600.0 else hour[:0]
    for jumps, words in (
        (back, message("back")),
        (hour, message("forward by an hour")),
    ):
        if len(jumps):
            many = len(jumps)
            often = message("once") if many == 1 else message("{number} times", number=many)
            row = place.first_row + int(jumps[0]) + 1
            notes.append(
                message(
                    "the clock jumps {words} {often} (first in row {row}, by {jump:+.0f} s); one "
                    "usual step of {usual:g} s was put there",
                    words=words,
                    often=often,
                    row=str(row),
                    jump=float(pause[jumps[0]]),
                    usual=float(usual),
                )
            )
    pause = pause.copy()
    pause[back] = usual
    pause[hour] = usual
    time = np.concatenate([[0.0], np.cumsum(pause)])
    if (pause == 0.0).any():
        time = _spread(time)
    gaps = np.flatnonzero(pause > max(gap_limit_s(pause), 2.0))
    if len(gaps):
        row = place.first_row + int(gaps[0]) + 1
        notes.append(
            counted_message(
                "{number} gap without samples, the longest {longest:.0f} s (first before row "
                "{row}); if the clock was set forward instead, times after it are too late",
                "{number} gaps without samples, the longest {longest:.0f} s (first before row "
                "{row}); if the clock was set forward instead, times after it are too late",
                len(gaps),
                longest=float(pause[gaps].max()),
                row=str(row),
            )
        )
    return time


def _spread(time: FloatArray) -> FloatArray:
    """Spread samples that carry the same stamp evenly until the next stamp."""
    stamps, first, count = np.unique(time, return_index=True, return_counts=True)
    step = np.append(np.diff(stamps), np.median(np.diff(stamps)))
    step = np.minimum(step, 2.0 * np.median(step))
    number = np.arange(len(time)) - np.repeat(first, count)
    return np.asarray(np.repeat(stamps, count) + number * np.repeat(step / count, count))
