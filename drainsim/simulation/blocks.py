"""How long a block of the stand may be: by how fast the charge moves."""

from typing import Final

import numpy as np

from drainsim.simulation.lanes import Lanes, Loads
from drainsim.vehicle.case import Case

STEPS_H: Final = (24.0, 12.0, 8.0, 6.0, 4.0, 3.0, 2.0, 1.0, 0.5, 0.25, 0.1, 1 / 60)
_MOST_PER_BLOCK: Final = 0.03  # share of the full charge that may move in one block


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


def case_block_h(case: Case) -> float:
    """Return the block length that suits a case's nominal drain. [h]."""
    battery, vehicle = case.battery, case.vehicle
    unit_a = max(mode.current_a for mode in case.unit.modes)
    total_a = vehicle.quiescent_a + vehicle.wake_up_a + vehicle.other_a + unit_a
    return block_h(max(total_a, 0.0) / battery.full_charge_ah)  # a full battery takes no more
