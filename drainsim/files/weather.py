"""Hourly air temperature from files: CSV with a temperature column, or EPW."""

import csv
import datetime as dt
import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from drainsim.errors import WeatherError
from drainsim.files.reading import kept_unchanged, read_text
from drainsim.physics.tables import FloatArray
from drainsim.units import celsius_from_fahrenheit

MAX_WEATHER_BYTES: Final = 20_000_000
_MOST_KEPT: Final = 8  # files: of the largest 20 MB each
_HOUR: Final = dt.timedelta(hours=1)
_HOURS_PER_YEAR: Final = 8760
_LAST_YEAR: Final = 2199  # as a scenario's dates
_LOW_C, _HIGH_C = -90.0, 70.0
_EPW_HEADER_LINES: Final = 8
_EPW_DRY_BULB: Final = 6  # seventh field: EnergyPlus Auxiliary Programs, EPW data dictionary
_EPW_MISSING: Final = 99.9
_TIME_NAMES: Final = ("time", "datetime", "date_time", "timestamp", "time_utc", "date")
_CELSIUS_NAMES: Final = ("temperature_c", "temp_c", "air_temperature_c", "dry_bulb_c")
_FAHRENHEIT_NAMES: Final = ("temperature_f", "temp_f")


@dataclass(frozen=True, slots=True, kw_only=True)
class HourlyAir:
    """Air temperature hour by hour; `first` is None for a year that begins on 1 January."""

    air_c: FloatArray
    first: dt.datetime | None
    where: str

    def window_c(self, start: dt.datetime, hours: int, *, lead_h: int = 0) -> FloatArray:
        """Return the temperatures from `start` on for a number of hours.

        A record of a year or more is wrapped round by day of year, so that a typical year
        serves any date. Of a shorter one the first `lead_h` hours may be missing: its first
        day stands in for them.

        Raises
        ------
        WeatherError
            If the record is shorter than a year and does not cover the hours asked for.
        """
        first = self.first or dt.datetime(start.year, 1, 1)
        offset = math.floor((start - first) / _HOUR)
        if offset >= 0 and offset + hours <= len(self.air_c):
            return self.air_c[offset : offset + hours]
        if -lead_h <= offset < 0 and offset + hours <= len(self.air_c):
            before = np.resize(self.air_c[:24], -offset)
            return np.concatenate([before, self.air_c[: offset + hours]])
        if len(self.air_c) < _HOURS_PER_YEAR:
            start += dt.timedelta(hours=lead_h)
            hours -= lead_h
            last = first + dt.timedelta(hours=len(self.air_c) - 1)
            raise WeatherError(
                f"{self.where}: covers {first:%Y-%m-%d} to {last:%Y-%m-%d}; "
                f"{start:%Y-%m-%d} to {start + dt.timedelta(hours=hours):%Y-%m-%d} is needed "
                "(or a whole year): change site.parked_from or run.horizon_days"
            )
        january = dt.datetime(start.year, 1, 1)
        hour_of_year = math.floor((start - january) / _HOUR)
        lead = math.floor((first - dt.datetime(first.year, 1, 1)) / _HOUR)
        index = (hour_of_year - lead + np.arange(hours)) % _HOURS_PER_YEAR
        return self.air_c[:_HOURS_PER_YEAR][index]


@kept_unchanged(_MOST_KEPT)
def read_hourly_csv(path: Path) -> HourlyAir:
    """Return hourly temperatures from a CSV with a heading row.

    A column `temperature_c` (or `temperature_f`) is needed; with a time column (ISO dates)
    rows must be one hour apart, without one the file starts on 1 January.

    Raises
    ------
    WeatherError
        Naming file, row and column, and what would be right.
    """
    text = read_text(path, error=WeatherError, max_bytes=MAX_WEATHER_BYTES)
    first_line = text.partition("\n")[0]
    delimiter = max(",;\t", key=first_line.count)
    rows = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        heading = [name.strip().lower() for name in next(rows, [])]
        column, fahrenheit = _temperature_column(path, heading)
        time_column = next((heading.index(n) for n in _TIME_NAMES if n in heading), None)
        values: list[float] = []
        first = before = None
        for number, row in enumerate(rows, start=2):
            if not any(cell.strip() for cell in row):
                continue
            values.append(_number(path, number, heading[column], row, column, delimiter))
            if time_column is not None:
                now = _time(path, number, heading[time_column], row, time_column)
                if before is not None and now - before != _HOUR:
                    raise WeatherError(
                        f"{path}: row {number}, column {heading[time_column]}: {now} does not "
                        f"follow {before} by one hour; fill the gap or sort the rows"
                    )
                first, before = first or now, now
    except csv.Error as error:
        raise WeatherError(f"{path}: not a readable CSV file: {error}") from None
    return _checked(path, values, first, fahrenheit=fahrenheit)


@kept_unchanged(_MOST_KEPT)
def read_epw(path: Path) -> HourlyAir:
    """Return the dry-bulb temperatures of an EPW file.

    Raises
    ------
    WeatherError
        If the file is not EPW or a temperature is missing; names the row.
    """
    text = read_text(path, error=WeatherError, max_bytes=MAX_WEATHER_BYTES)
    lines = text.splitlines()
    if not lines or not lines[0].upper().startswith("LOCATION,"):
        raise WeatherError(f"{path}: not an EPW file: the first line must begin with LOCATION,")
    values = []
    for number, line in enumerate(lines[_EPW_HEADER_LINES:], start=_EPW_HEADER_LINES + 1):
        if not line.strip():
            continue
        value = _number(path, number, "dry bulb (7)", line.split(","), _EPW_DRY_BULB, ",")
        if value == _EPW_MISSING:
            raise WeatherError(f"{path}: row {number}: dry bulb is missing (99.9); fill the gap")
        values.append(value)
    return _checked(path, values, None, fahrenheit=False)


def _temperature_column(path: Path, heading: list[str]) -> tuple[int, bool]:
    for names, fahrenheit in ((_CELSIUS_NAMES, False), (_FAHRENHEIT_NAMES, True)):
        for name in names:
            if name in heading:
                return heading.index(name), fahrenheit
    raise WeatherError(
        f"{path}: no column temperature_c (or temperature_f) in the heading row; "
        f"found: {', '.join(heading)[:200] or 'nothing'}"
    )


def _number(
    path: Path, number: int, column: str, row: list[str], index: int, delimiter: str
) -> float:
    text = row[index].strip() if index < len(row) else ""
    if delimiter == ";":
        text = text.replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise WeatherError(f"{path}: row {number}, column {column}: {text[:40]!r} is not a number")
    return value


def _time(path: Path, number: int, column: str, row: list[str], index: int) -> dt.datetime:
    text = row[index].strip() if index < len(row) else ""
    try:
        found = dt.datetime.fromisoformat(text).replace(tzinfo=None, minute=0, second=0)
    except ValueError:
        found = dt.datetime.max
    if found.year > _LAST_YEAR:  # early years are allowed: some stamp a typical year with 1
        raise WeatherError(
            f"{path}: row {number}, column {column}: {text[:40]!r} is not a time like "
            "2026-12-01 07:00"
        )
    return found


def _checked(
    path: Path, values: list[float], first: dt.datetime | None, *, fahrenheit: bool
) -> HourlyAir:
    """Convert, refuse impossible temperatures and records of less than two days."""
    air_c = np.asarray(values, dtype=float)
    if fahrenheit:
        air_c = celsius_from_fahrenheit(air_c)
    if len(air_c) < 48:
        raise WeatherError(f"{path}: {len(air_c)} hourly values; at least 48 are needed")
    wrong = np.flatnonzero((air_c < _LOW_C) | (air_c > _HIGH_C))
    if len(wrong):
        raise WeatherError(
            f"{path}: value {wrong[0] + 1}: {air_c[wrong[0]]:g} °C is outside {_LOW_C:g} to "
            f"{_HIGH_C:g} °C; is the column in another unit?"
        )
    air_c.flags.writeable = False
    return HourlyAir(air_c=air_c, first=first, where=str(path))
