"""The trips of a week: as they are listed, or spread evenly over the days."""

import math
import re
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.units import HOURS_PER_DAY, MINUTES_PER_HOUR
from drainsim.vehicle.keys.parameter import Keys, number, text, usual

_DAY_NAMES: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
HOURS_PER_WEEK: Final = 168.0
# Trips whose days and hours are not known lie between these hours of the day.
_FIRST_H, _LAST_H = 7.5, 17.5
_WORKING_TRIPS: Final = 10  # up to so many a week they fall on five days


class TRIP(Keys, name="trips", of="pattern", repeated=True, required=("start", "minutes")):
    """One trip that comes back every week on some days."""

    days = text(
        "days of the trip: daily, Mon-Fri, or a list like Mon,Wed,Sat",
        **usual("daily", "the trip names no days"),
        example="Mon-Fri",
    )
    start = text("time of day of the start", example="07:30")
    minutes = number((0.1, 1440, "min"), "length of the trip", example=20.0)
    idle_share = number(
        (0, 1, ""),
        "share of the time at idle: queues, lights, deliveries",
        otherwise="that of the pattern",
        example=0.25,
    )
    load_a = number(
        (0, 500, "A"),
        "electrical consumers while driving, without heated screens",
        otherwise="that of the pattern",
        example=25.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """One trip of the week; `start_h` counts from Monday 00:00."""

    start_h: float
    hours: float
    idle_share: float
    load_a: float
    starts: int = 1  # more where trips of a busy day are worked out together


def spread_trips(
    per_week: float, minutes: float, *, idle_share: float, load_a: float
) -> tuple[Trip, ...]:
    """Return equal trips over the days; a broken number is rounded, minutes a week kept.

    Parameters
    ----------
    per_week : float
        Trips a week. [1/week]
    minutes : float
        Length of one. [min]
    idle_share : float
        Share of a trip at idle. [-]
    load_a : float
        Consumers while driving. [A]
    """
    if per_week <= 0.0:
        return ()
    count = max(1, round(per_week))
    days = 5 if count <= _WORKING_TRIPS else 7
    hours = per_week / count * minutes / MINUTES_PER_HOUR
    by_day: list[int] = [0] * days
    for trip in range(count):
        by_day[trip * days // count] += 1
    trips = []
    for day, number_of in enumerate(by_day):
        for order in range(number_of):
            gap_h = (_LAST_H - _FIRST_H) / max(number_of - 1, 1)
            start_h = HOURS_PER_DAY * day + _FIRST_H + order * gap_h
            trips.append(Trip(start_h=start_h, hours=hours, idle_share=idle_share, load_a=load_a))
    return tuple(trips)


def listed_trips(
    where: str, listed: list[dict[str, Any]], *, idle_share: float, load_a: float
) -> tuple[Trip, ...]:
    """Return the trips of a list; idle share [-] and load [A] are those of trips that name none.

    Raises
    ------
    ScenarioError
        If a day or a time cannot be read.
    """
    trips = []
    for place_in, entry in enumerate(listed, start=1):
        place = f"{where}[{place_in}]"
        start_h = _hour_of(entry["start"], f"{place}.start")
        for day in days_of(entry.get(TRIP.days.key, TRIP.days.default), f"{place}.days"):
            trips.append(
                Trip(
                    start_h=HOURS_PER_DAY * day + start_h,
                    hours=entry["minutes"] / MINUTES_PER_HOUR,
                    idle_share=entry.get("idle_share", idle_share),
                    load_a=entry.get("load_a", load_a),
                )
            )
    return tuple(sorted(trips, key=lambda trip: trip.start_h))


def _hour_of(text: str, place: str) -> float:
    found = re.fullmatch(r"(\d{1,2}):(\d{2})", text.strip())
    if not found or int(found[1]) > 23 or int(found[2]) > 59:
        raise ScenarioError(f"{place} = {text!r}: write a time of day like '07:30'")
    return int(found[1]) + int(found[2]) / MINUTES_PER_HOUR


def days_of(text: str, place: str) -> list[int]:
    """Return weekday numbers (Monday 0) of "daily", "Mon-Fri" or "Mon,Wed,Sat".

    Parameters
    ----------
    text : str
        As a person writes the days.
    place : str
        Key and number of the trip in messages.

    Raises
    ------
    ScenarioError
        Saying what is right.
    """
    words = text.strip().lower()
    if words == "daily":
        return list(range(7))
    days: set[int] = set()
    for part in words.split(","):
        ends = [end.strip()[:3] for end in part.split("-")]
        if len(ends) > 2 or any(end not in _DAY_NAMES for end in ends):
            raise ScenarioError(
                f"{place} = {text!r}: write daily, Mon-Fri, or a list like Mon,Wed,Sat"
            )
        first, last = _DAY_NAMES.index(ends[0]), _DAY_NAMES.index(ends[-1])
        days.update((first + step) % 7 for step in range((last - first) % 7 + 1))
    return sorted(days)


def refuse_overlap(where: str, trips: tuple[Trip, ...]) -> None:
    """Refuse trips that begin before the one before has ended, over the week's end too."""
    if sum(trip.hours for trip in trips) > HOURS_PER_WEEK:
        raise ScenarioError(f"{where}: pattern drives more than the 168 hours a week has")
    for trip, after in zip(trips, (*trips[1:], *trips[:1]), strict=True):
        gap_h = (after.start_h - trip.start_h) % HOURS_PER_WEEK or HOURS_PER_WEEK
        if trip.hours > gap_h + 1e-9:
            day, hour = divmod(after.start_h, HOURS_PER_DAY)
            raise ScenarioError(
                f"{where}: pattern: the trip on {_DAY_NAMES[int(day)].title()} at "
                f"{math.floor(hour):02d}:{round(hour % 1 * 60):02d} begins before the one before "
                "has ended; move it or make that shorter"
            )


def shortest_gap_h(trips: tuple[Trip, ...]) -> float:
    """Return the shortest time from the end of a trip to the next start. [h]."""
    return min(gaps_h(trips))


def gaps_h(trips: tuple[Trip, ...]) -> list[float]:
    """Return the times from the end of each trip to the next start. [h]."""
    return [
        ((after.start_h - trip.start_h) % HOURS_PER_WEEK or HOURS_PER_WEEK) - trip.hours
        for trip, after in zip(trips, (*trips[1:], *trips[:1]), strict=True)
    ]
