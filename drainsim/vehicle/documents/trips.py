"""Trip lists: since when each vehicle has been parked, and how it was driven before."""

import csv
import datetime as dt
import io
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple

from drainsim.errors import ScenarioError
from drainsim.files.reading import read_text
from drainsim.units import MINUTES_PER_HOUR, SECONDS_PER_DAY, SECONDS_PER_HOUR
from drainsim.vehicle.keys.scenario import Scenario

MAX_TRIP_BYTES: Final = 20_000_000
_ID_NAMES: Final = ("vehicle", "vehicle_id", "id", "registration")
_START_NAMES: Final = ("start", "start_time", "trip_start", "departure")
_END_NAMES: Final = ("end", "end_time", "trip_end", "arrival")
_MINUTES_NAMES: Final = ("minutes", "duration_min")
_LONGEST_TRIP_H: Final = 24.0
_MOST_TRIPS_PER_WEEK: Final = 200.0  # as a scenario's pattern
_FIRST_YEAR, _LAST_YEAR = 1900, 2199  # as a scenario's dates
_SHORTEST_HISTORY_WEEKS: Final = 1.0  # trips of one day say nothing about a week


@dataclass(frozen=True, slots=True, kw_only=True)
class TripHistory:
    """One vehicle's trips in short: how often, how long, and when the last one ended."""

    vehicle: str
    trips: int
    parked_since: dt.datetime
    trips_per_week: float
    minutes_per_trip: float

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {**asdict(self), "parked_since": self.parked_since.isoformat(timespec="minutes")}

    def applied_to(self, scenario: Scenario) -> Scenario:
        """Return a scenario driven and parked like this vehicle.

        More trips a week than a pattern holds are joined to fewer, longer ones: the minutes a
        week stay, what the further starts take is left out.
        """
        pattern = {
            key: value
            for key, value in scenario.tables.get("pattern", {}).items()
            if key not in {"trips", "trips_per_week", "trip_minutes"}
        }
        per_week = min(self.trips_per_week, _MOST_TRIPS_PER_WEEK)
        pattern["trips_per_week"] = per_week
        pattern["trip_minutes"] = self.minutes_per_trip * (self.trips_per_week / per_week)
        site = {**scenario.tables.get("site", {}), "parked_from": self.parked_since.date()}
        return scenario.with_table("pattern", pattern).with_table("site", site)


def read_trips(path: Path) -> list[TripHistory]:
    """Return the history of every vehicle in a trip list, by vehicle.

    The CSV has a heading row with vehicle, start, and end or minutes; times are ISO, like
    2026-11-03 07:30.

    Raises
    ------
    ScenarioError
        Naming file, row and column, and what would be right.
    """
    text = read_text(path, error=ScenarioError, max_bytes=MAX_TRIP_BYTES)
    first_line = text.partition("\n")[0]
    rows = _rows(path, text, max(",;\t", key=first_line.count))
    heading = [name.strip().lower() for name in next(rows, (1, []))[1]]
    vehicle = _column(path, heading, _ID_NAMES)
    start = _column(path, heading, _START_NAMES)
    end = next((heading.index(name) for name in _END_NAMES if name in heading), None)
    if end is None:
        minutes = _column(path, heading, (*_MINUTES_NAMES, *_END_NAMES))
    by_vehicle: dict[str, list[tuple[dt.datetime, dt.datetime]]] = {}
    for number, cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        row = _Row(f"{path}: row {number}", heading, cells)
        name, begins = row.text(vehicle), row.time(start)
        ends = row.time(end) if end is not None else begins + row.length(minutes)
        hours = (ends - begins).total_seconds() / SECONDS_PER_HOUR
        if not 0.0 < hours <= _LONGEST_TRIP_H:
            raise ScenarioError(
                f"{row.where}: a trip from {begins} to {ends} lasts {hours:.1f} h; it "
                f"must end after its start and within {_LONGEST_TRIP_H:g} h"
            )
        by_vehicle.setdefault(name, []).append((begins, ends))
    if not by_vehicle:
        raise ScenarioError(f"{path}: no trips below the heading row")
    return [_history(path, name, trips) for name, trips in sorted(by_vehicle.items())]


def _rows(path: Path, text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (row number, cells), one at a time: a list of empty rows can be long."""
    try:
        yield from enumerate(csv.reader(io.StringIO(text), delimiter=delimiter), start=1)
    except csv.Error as error:
        raise ScenarioError(f"{path}: not a readable CSV file: {error}") from None


def _history(
    path: Path, name: str, trips: Sequence[tuple[dt.datetime, dt.datetime]]
) -> TripHistory:
    ordered = sorted(trips)
    for (_, before), (after, _) in itertools.pairwise(ordered):
        if after < before:
            raise ScenarioError(
                f"{path}: vehicle {name!r}: a trip begins {after}, before the one before has ended "
                f"({before}); correct or remove one of them"
            )
    hours = sum((end - start).total_seconds() for start, end in ordered) / SECONDS_PER_HOUR
    seen_weeks = (ordered[-1][1] - ordered[0][0]).total_seconds() / (7.0 * SECONDS_PER_DAY)
    return TripHistory(
        vehicle=name,
        trips=len(ordered),
        parked_since=ordered[-1][1],
        trips_per_week=len(ordered) / max(seen_weeks, _SHORTEST_HISTORY_WEEKS),
        minutes_per_trip=MINUTES_PER_HOUR * hours / len(ordered),
    )


def _column(path: Path, heading: list[str], names: tuple[str, ...]) -> int:
    for name in names:
        if name in heading:
            return heading.index(name)
    raise ScenarioError(
        f"{path}: no column {names[0]} in the heading row; found: "
        f"{', '.join(heading)[:200] or 'nothing'}"
    )


class _Row(NamedTuple):
    """A row of the list; a cell that cannot be read is refused by its row and column."""

    where: str
    heading: list[str]
    cells: list[str]

    def wrong(self, index: int, what: str) -> ScenarioError:
        """Return the refusal of a cell."""
        return ScenarioError(f"{self.where}, column {self.heading[index]}: {what}")

    def text(self, index: int) -> str:
        """Return a cell as printable text on one line."""
        text = self.cells[index].strip() if index < len(self.cells) else ""
        if not text:
            raise self.wrong(index, "empty")
        return "".join(letter for letter in text if letter.isprintable())[:80]

    def time(self, index: int) -> dt.datetime:
        """Return a time of a year that a scenario takes."""
        text = self.text(index)
        try:
            found = dt.datetime.fromisoformat(text).replace(tzinfo=None)
        except ValueError:
            found = dt.datetime.max
        if not _FIRST_YEAR <= found.year <= _LAST_YEAR:
            raise self.wrong(index, f"{text[:40]!r} is not a time like 2026-11-03 07:30")
        return found

    def length(self, index: int) -> dt.timedelta:
        """Return how long a trip took."""
        text, most = self.text(index), MINUTES_PER_HOUR * _LONGEST_TRIP_H
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = math.nan
        if not 0.0 < value <= most:
            what = f"{text[:40]!r} is not a number of minutes above 0 and up to {most:g}"
            raise self.wrong(index, what)
        return dt.timedelta(minutes=value)
