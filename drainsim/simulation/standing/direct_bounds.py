"""Charges that decide a start whatever the hour: all that lies between them must be looked up."""

from typing import Final, NamedTuple

import numpy as np

from drainsim.physics.capacity import deficit_share, rate_deficit_ah
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes
from drainsim.simulation.weather import BlockWeather

_SLACK: Final = 1e-9  # of a charge between certain and asked: above any rounding of either


class Bounds(NamedTuple):
    """Charges of each lane, shape (lanes,); -1 and 2 where there are none.

    Above `sure` every start of the run works, at or below `lost` none does; at or below `dead` no
    current is left to crank with, above `perhaps_dead` some is.
    """

    sure: FloatArray
    lost: FloatArray
    dead: FloatArray
    perhaps_dead: FloatArray


def bounds_of(
    lanes: Lanes,
    curves: BatteryCurves,
    blocks: BlockWeather,
    *,
    least_a: FloatArray,
    most_a: FloatArray,
) -> Bounds:
    """Return the bounds of a run.

    Parameters
    ----------
    lanes : Lanes
    curves : BatteryCurves
        Monotone: more charge, or more warmth, never cranks worse.
    blocks : BlockWeather
        Of all blocks, shape (blocks, weathers).
    least_a, most_a : shape (lanes,)
        Bounds of the current drawn while standing, which keeps charge out of reach. [A]
    """
    least, most = (
        _deficit(current_a, lanes, curves, hours)
        for current_a, hours in ((least_a, 0.0), (most_a, np.inf))
    )
    coldest, warmest = (
        curves.temperature_factor_at(bound[lanes.weather], lanes.oil_k, lanes.cold_fall)
        for bound in (blocks.low_c.min(axis=0), blocks.end_c.max(axis=0))
    )
    with np.errstate(divide="ignore"):  # no power at all: no charge starts
        starts = curves.charge_that_cranks(lanes.demand_ratio / coldest)
        fails = curves.charge_that_cranks(lanes.demand_ratio / warmest)
    lowest = curves.lowest_charge
    lost = np.maximum(_charge_of(fails, least, lanes) - _SLACK, lowest)
    dead = perhaps_dead = np.full(len(lanes), -1.0)
    zeros = int(np.searchsorted(curves.cranking_by_charge, 0.0, side="right"))
    if zeros:
        none = np.full(len(lanes), curves.charge[zeros - 1])
        dead = np.maximum(_charge_of(none, least, lanes) - _SLACK, lowest)
        perhaps_dead = np.maximum(_charge_of(none, most, lanes) + _SLACK, lowest)
    return Bounds(
        sure=np.maximum(_charge_of(starts, most, lanes), lowest) + _SLACK,
        lost=np.where(fails > 0.0, lost, -1.0),
        dead=dead,
        perhaps_dead=perhaps_dead,
    )


def _deficit(
    current_a: FloatArray, lanes: Lanes, curves: BatteryCurves, hours: float
) -> FloatArray:
    """Return the share of a full charge that a current keeps out of reach after so long."""
    behind_ah = rate_deficit_ah(np.maximum(current_a, 0.0), low_rate_gain=curves.low_rate_gain)
    return np.asarray(deficit_share(hours, lanes.catch_up_per_h) * behind_ah / lanes.full_ah)


def _charge_of(usable: FloatArray, deficit: FloatArray, lanes: Lanes) -> FloatArray:
    """Return the charge of which a part is usable; the inverse of `curves.usable_charge`."""
    shift = lanes.low_charge_shift
    near = (usable + shift) / (1.0 + shift)
    return np.where(usable > 1.0, 2.0, np.where(usable < 0.0, -1.0, near + deficit))
