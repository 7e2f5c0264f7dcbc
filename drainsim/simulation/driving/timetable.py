"""When a pattern stands and drives: all hours, and their weather, before the first lane moves."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.simulation.weather import WeatherLanes
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.trip import HOURS_PER_WEEK

_SHORT_H = 0.25  # a trip begins in the weather of so long


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekTimes:
    """One week's stretches in order.

    `order` holds (trip or not, number); `stand_h` rows of (beginning, hours), each within a day,
    and `trip_h` the trips' beginnings, since the run's; `trip` their numbers in the pattern. [h]
    """

    order: tuple[tuple[bool, int], ...]
    stand_h: FloatArray
    trip_h: FloatArray
    trip: IndexArray

    def stand_weather(self, weather: WeatherLanes) -> tuple[FloatArray, FloatArray]:
        """Return mean temperature and loss scale of each stretch of standing, by weather."""
        return weather.means(self.stand_h[:, 0], self.stand_h[:, 1])

    def trip_weather(self, weather: WeatherLanes) -> tuple[FloatArray, FloatArray]:
        """Return mean temperature and loss scale in which each trip begins, by weather."""
        rest = HOURS_PER_DAY - np.mod(self.trip_h + 1e-9, HOURS_PER_DAY)
        return weather.means(self.trip_h, np.minimum(rest, _SHORT_H))


def timetable(
    events: Sequence[tuple[float, int]], *, weeks: int, longest_h: Sequence[float]
) -> Iterator[WeekTimes]:
    """Yield the times of each week.

    Parameters
    ----------
    events : sequence of (hour of the week, number of the trip)
        In order.
    weeks : int
    longest_h : sequence of float
        How long each trip keeps the vehicle from standing. [h]
    """
    now_h = 0.0
    for week in range(weeks):
        order: list[tuple[bool, int]] = []
        stands: list[tuple[float, float]] = []
        trips: list[tuple[float, int]] = []
        for start_h, number in [*events, (HOURS_PER_WEEK, -1)]:
            at_h = HOURS_PER_WEEK * week + start_h
            for part in _within_days(now_h, at_h):
                order.append((False, len(stands)))
                stands.append(part)
            now_h = max(now_h, at_h)
            if number >= 0:
                order.append((True, len(trips)))
                trips.append((at_h, number))
                now_h = at_h + longest_h[number]
        yield WeekTimes(
            order=tuple(order),
            stand_h=np.array(stands).reshape(-1, 2),
            trip_h=np.array([at_h for at_h, _ in trips]),
            trip=np.array([number for _, number in trips], dtype=np.intp),
        )


def _within_days(from_h: float, until_h: float) -> Iterator[tuple[float, float]]:
    """Yield (beginning, hours) of a stretch, cut at the ends of days."""
    while until_h - from_h > 1e-9:
        day_end = HOURS_PER_DAY * (math.floor(from_h / HOURS_PER_DAY + 1e-9) + 1)
        hours = min(until_h, day_end) - from_h
        yield from_h, hours
        from_h += hours
