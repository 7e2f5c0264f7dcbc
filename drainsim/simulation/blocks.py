"""How long a block of the stand may be: by how fast the charge moves."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from drainsim.simulation.lanes import Lanes, Loads
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.case import Case

STEPS_H: Final = (24.0, 12.0, 8.0, 6.0, 4.0, 3.0, 2.0, 1.0, 0.5, 0.25, 0.1, 1 / 60)
_MOST_BLOCKS: Final = 2000  # of a stand that is answered by the day
_MOST_CELLS: Final = 5_000_000  # blocks x draws of one
_MOST_PER_BLOCK: Final = 0.03  # share of the full charge that may move in one block
_COARSE_H: Final = 1.0  # steps of an hour or more are kept as they are
_FINE_BLOCKS: Final = 3000  # of a whole stand that may be shorter than _LEAST_FINE_H
_LEAST_FINE_H: Final = 6.0


def block_h(share_per_h: float) -> float:
    """Return the longest block in which at most 3 % of the charge moves. [h].

    The load is integrated exactly whatever the block; only the slow change of a switching
    unit's current with battery voltage is frozen within one.

    Examples
    --------
    >>> block_h(0.0006), block_h(0.1)
    (24.0, 0.25)
    """
    allowed_h = _MOST_PER_BLOCK / max(share_per_h, 1e-12)
    return next((step for step in STEPS_H if step <= allowed_h), STEPS_H[-1])


def choose_step_h(lanes: Lanes, loads: Loads) -> float:
    """Return the block length that suits the median lane. [h]."""
    unit_a = loads.current_a.max(axis=0) * lanes.unit_factor
    fastest = np.abs(lanes.quiescent_a + lanes.other_a + unit_a) / lanes.full_ah
    return block_h(float(np.median(fastest)))


def case_block_h(case: Case, *, by_day: bool = False) -> float:
    """Return the block length that suits a case's nominal drain. [h].

    Parameters
    ----------
    case : Case
    by_day : bool
        An hour at least, and no more than 2000 blocks or 5 million of all draws, where hours
        within a day hardly matter:
        load and charge are exact in a block of any length; only a switching unit's current is held.
    """
    battery, vehicle = case.battery, case.vehicle
    unit_a = max(mode.current_a for mode in case.unit.modes)
    total_a = vehicle.quiescent_a + vehicle.wake_up_a + vehicle.other_a + unit_a
    suiting = block_h(max(total_a, 0.0) / battery.full_charge_ah)  # a full battery takes no more
    if not by_day:
        return suiting
    most = min(_MOST_BLOCKS, _MOST_CELLS / case.draws)
    least = min(max(1.0, HOURS_PER_DAY * case.horizon_days / most), HOURS_PER_DAY)
    return max(suiting, min(step for step in STEPS_H if step >= least))


class Pace:
    """Blocks of a stand, day by day: short only while some charge moves fast.

    A heavy draw asks for short blocks until the batteries are empty, hours or days; from then on
    nothing moves, and short blocks would only cost time. Steps of an hour or more stay as they
    are. A stand in which the charge of some lanes moves fast for ever (a strong charger against
    a strong draw) gets a bounded number of short blocks, then blocks of up to six hours.
    """

    def __init__(self, step_h: float) -> None:
        self._step_h = step_h
        self._fine_left = _FINE_BLOCKS
        self._hours = step_h  # length of the block in progress
        self._next_h = step_h

    def blocks(self, from_h: float) -> Iterator[tuple[float, float]]:
        """Yield start and length of the blocks of one day that begins at `from_h`. [h]."""
        per_day = round(HOURS_PER_DAY / self._step_h)
        shortest = 1
        if self._step_h < _COARSE_H:
            shortest = -(-per_day // max(self._fine_left, round(HOURS_PER_DAY / _LEAST_FINE_H)))
        self._next_h = self._step_h
        done = 0
        while done < per_day:
            wanted = max(shortest, int(self._next_h / self._step_h + 1e-9))
            count = min(wanted, per_day - done)
            self._hours = count * self._step_h
            yield from_h + done * self._step_h, self._hours
            done += count
            self._fine_left -= self._hours < _LEAST_FINE_H

    def moved(self, share: float) -> None:
        """Say how much of a full charge the fastest lane gained or lost in the last block."""
        if self._step_h < _COARSE_H:
            most_h = _MOST_PER_BLOCK * self._hours / max(share, 1e-12)
            self._next_h = min(max(self._step_h, most_h), HOURS_PER_DAY)
