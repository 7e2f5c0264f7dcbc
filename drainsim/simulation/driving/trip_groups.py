"""Many short trips as fewer long ones: the same minutes, starts and key-offs, in less time."""

import itertools
import math
from collections.abc import Sequence
from typing import Final

from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.trip import Trip

_MOST_TRIPS: Final = 1_000  # of a run: 16 a week over 60 weeks are worked out one by one
_MOST_STEPS: Final = 2_000
_LONGEST_STEP_H: Final = 1.0  # Heun's rule holds up to twice the time constant of a taper, 0.8 h


def together(trips: Sequence[Trip], weeks: int) -> int:
    """Return how many trips of a day are worked out as one; 1 for any usual week."""
    return max(1, math.ceil(len(trips) * weeks / _MOST_TRIPS))


def grouped(trips: Sequence[Trip], weeks: int) -> tuple[Trip, ...]:
    """Return the trips of a week, those of a busy day in equal groups.

    A group ends with its last trip and lasts as long as all of them: what the vehicle and the
    unit draw in the minutes between is drawn before. Its starts and key-off sequences count each;
    load and share at idle are means over its minutes.
    """
    most = together(trips, weeks)
    if most == 1:
        return tuple(trips)
    found: list[Trip] = []
    for _, of_day in itertools.groupby(trips, lambda trip: trip.start_h // HOURS_PER_DAY):
        day = list(of_day)
        count = math.ceil(len(day) / most)
        ends = [len(day) * number // count for number in range(count + 1)]
        found += [_one(day[first:last]) for first, last in itertools.pairwise(ends)]
    return tuple(found)


def _one(trips: Sequence[Trip]) -> Trip:
    hours = sum(trip.hours for trip in trips)
    last = trips[-1]
    return Trip(
        start_h=last.start_h + last.hours - hours,
        hours=hours,
        idle_share=sum(trip.hours * trip.idle_share for trip in trips) / hours,
        load_a=sum(trip.hours * trip.load_a for trip in trips) / hours,
        starts=sum(trip.starts for trip in trips),
    )


def longest_step_h(driven_h: float, *, usual_h: float) -> float:
    """Return the longest step within a trip for all hours driven: longer than usual for many."""
    return min(max(usual_h, driven_h / _MOST_STEPS), _LONGEST_STEP_H)
