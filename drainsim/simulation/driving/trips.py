"""What a trip does to the charge: one start, then what the alternator leaves over and is accepted.

What weather and pattern decide is worked out for a whole week of trips at once; the charge alone
goes from step to step, in place, in shares of full.
"""

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from drainsim.physics.acceptance import Acceptance, cold_factor
from drainsim.physics.alternator import DRIVING_SHARE, start_charge_ah
from drainsim.physics.capacity import rate_deficit_ah
from drainsim.physics.charging import MIDDLE_V, regulated_voltage_v
from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.vehicle.pattern import Pattern
from drainsim.vehicle.trip import Trip

HEATED_BELOW_C: Final = 3.0  # heated screens are switched on below; common practice, no source
_SETTLED_PER_H: Final = 1e-4  # share of a full charge that still moves once a trip changes nothing


class DrivingDraws(NamedTuple):
    """What differs from lane to lane while driving, shape (lanes,)."""

    regulated_shift_v: FloatArray
    acceptance_factor: FloatArray
    trip_factor: FloatArray
    extra_h: FloatArray  # longer by so much each trip

    def hours(self, trip: Trip) -> FloatArray:
        """Return how long each lane's trip lasts. [h]."""
        return trip.hours * self.trip_factor + trip.starts * self.extra_h


class Ways(NamedTuple):
    """What holds during the trips of a week, shape (trips, lanes); shares of full a step."""

    parked_c: FloatArray
    idle_room: FloatArray  # most that can be charged, at idle and under way
    moving_room: FloatArray
    drawn: FloatArray  # what the alternator does not cover
    acceptance: FloatArray  # accepted per volt above the resting voltage, a warm ohm-ampere-hour
    volts: FloatArray  # held, less what warmth adds to the resting voltage
    strength: FloatArray  # start margin over the part by charge
    cranked: FloatArray  # share of full of the starts


@dataclass(kw_only=True)
class Trips:
    """The trips of a pattern for some lanes.

    Parameters
    ----------
    lanes, curves, loads, pattern, draws
        As for `week.run_weeks`.
    demand_a : shape (lanes,)
        Warm starting current, 0 without a starter. [A]
    kind : Acceptance
    longest_step_h : float
        Longest step within a trip. [h]
    alike : int
        So many lanes in turn end a trip together, once nothing moves in any of them.
    """

    lanes: Lanes
    curves: BatteryCurves
    loads: Loads
    pattern: Pattern
    draws: DrivingDraws
    demand_a: FloatArray
    kind: Acceptance
    longest_step_h: float
    alike: int

    def __post_init__(self) -> None:
        """Work out what is the same in every week."""
        lanes, trips, count = self.lanes, self.pattern.trips, len(self.lanes)
        self.hours = np.array([self.draws.hours(trip) for trip in trips]).reshape(-1, count)
        self.longest_h = self.hours.max(axis=1).tolist()
        self.steps = [max(2, math.ceil(hours / self.longest_step_h)) for hours in self.longest_h]
        self.starts = [trip.starts for trip in trips]
        self._step = self.hours / np.array(self.steps).reshape(-1, 1) / lanes.full_ah
        self._idle = np.array([trip.idle_share for trip in trips]).reshape(-1, 1)
        self._load_a = np.array([trip.load_a for trip in trips]).reshape(-1, 1)
        self._capacity_ah = lanes.full_ah / (1.0 + self.curves.low_rate_gain)
        behind_ah = rate_deficit_ah(
            np.maximum(lanes.quiescent_a + lanes.other_a, 0.0),
            low_rate_gain=self.curves.low_rate_gain,
        )
        self._in_reach = 1.0 + lanes.low_charge_shift
        self._out_of_reach = self._in_reach * behind_ah / lanes.full_ah + lanes.low_charge_shift
        self._resting = self.curves.resting_lines
        bulk, knee, full = self.kind[2:]
        self._kept_slope = (full - bulk) / (1.0 - knee)
        self._kept_at_empty = bulk - knee * self._kept_slope
        self._space, self._into, self._more, self._ahead = np.empty((4, count))
        self._kept, self._into_ahead, self._kept_ahead = np.empty((3, count))
        self._segment = np.empty(count, dtype=np.intp)
        self._at_idle = 0.0  # share of the present trip

    def ways(self, trip: IndexArray, mean_c: FloatArray) -> Ways:
        """Return what holds in some trips.

        Parameters
        ----------
        trip : shape (trips,)
            Their numbers in the pattern.
        mean_c : shape (trips, lanes)
            Battery temperature at their beginning. [°C]
        """
        pattern, lanes, curves = self.pattern, self.lanes, self.curves
        parked_c = np.clip(mean_c, COLDEST_C, WARMEST_C)  # chance excursions, as a stand's
        warm_c = np.minimum(parked_c + pattern.warm_up_k, WARMEST_C)
        heated_a = np.where(parked_c < HEATED_BELOW_C, pattern.heated_screens_a, 0.0)
        load_a = self._load_a[trip] + heated_a
        spare_idle_a = pattern.alternator_a * pattern.share_at_idle - load_a
        spare_a = pattern.alternator_a * DRIVING_SHARE - load_a
        held_v = regulated_voltage_v(warm_c) + pattern.regulated_20c_v - MIDDLE_V
        warmth_v = curves.resting_per_k * (warm_c - curves.resting_reference_c)
        step, idle = self._step[trip], self._idle[trip]
        takes = self.draws.acceptance_factor * self._capacity_ah / cold_factor(warm_c)
        takes = np.where(warm_c < self.loads.lowest_charging_c, 0.0, takes)
        turning = curves.turning_at(parked_c, lanes.oil_k)
        starts = np.array(self.starts, dtype=float)[trip, None]
        crank_ah = start_charge_ah(self.demand_a, demand_factor=turning, crank_s=pattern.crank_s)
        return Ways(
            parked_c=parked_c,
            idle_room=idle * np.maximum(spare_idle_a, 0.0) * step,
            moving_room=(1.0 - idle) * np.maximum(spare_a, 0.0) * step,
            drawn=(idle * np.maximum(-spare_idle_a, 0.0) + (1.0 - idle) * np.maximum(-spare_a, 0.0))
            * step,
            acceptance=takes * step,
            volts=held_v + self.draws.regulated_shift_v - warmth_v,
            strength=curves.temperature_factor_at(parked_c, lanes.oil_k, lanes.cold_fall)
            / lanes.demand_ratio,
            cranked=starts * crank_ah / lanes.full_ah,
        )

    def margin(self, charge: FloatArray, strength: FloatArray) -> FloatArray:
        """Return the start margin at a charge."""
        usable = np.clip(charge * self._in_reach - self._out_of_reach, 0.0, 1.0)
        usable[charge <= self.curves.lowest_charge] = 0.0
        return self.curves.cranking_by_charge_at(usable) * strength

    def drive(
        self, charge: FloatArray, number: int, way: Ways
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Drive a trip by Heun's rule; what is entered is what moves the charge.

        Parameters
        ----------
        charge : shape (lanes,)
            At its beginning; left as it is.
        number : int
            Of the trip in the pattern.
        way : Ways
            Of this trip, shape (lanes,).

        Returns
        -------
        charge : shape (lanes,)
            At its end.
        charged, efficiency_loss, drawn : shape (lanes,)
            What came in, what of it was lost, and what the alternator did not cover, as shares.
        """
        steps, self._at_idle = self.steps[number], float(self._idle[number, 0])
        limit = _SETTLED_PER_H * self.hours[number] / steps
        charge = charge.copy()
        charged, lost, drawn = np.zeros((3, len(charge)))
        draws_on = bool(way.drawn.any())
        pace: FloatArray | None = None  # steps at once, by lane; one each as long as all move
        still = np.zeros(len(charge) // self.alike, dtype=bool)
        for step in range(steps):
            moved = self._heun(charge, way, pace, charged, lost)
            if draws_on:
                wanted = way.drawn if pace is None else pace * way.drawn
                taken = take(charge, wanted, self.curves.lowest_charge)
                moved -= taken
                drawn += taken
            np.minimum(charge, 1.0, out=charge)
            if still.all():
                break
            np.abs(moved, out=moved)
            now = (moved <= limit).reshape(len(still), -1).all(axis=1)
            if now.any() or still.any():  # the rest is alike: full, or as low as can be
                rest = np.where(now, float(steps - 1 - step), 1.0)
                pace = np.repeat(np.where(still, 0.0, rest), self.alike)
                still |= now
        return charge, charged, lost, drawn

    def _heun(
        self,
        charge: FloatArray,
        way: Ways,
        pace: FloatArray | None,
        charged: FloatArray,
        lost: FloatArray,
    ) -> FloatArray:
        """Charge over some steps at once, in place; return by how much, a workspace."""
        into, kept, ahead = self._into, self._kept, self._ahead
        self._net(charge, way, into, kept)
        np.multiply(into, kept, out=ahead)
        ahead -= way.drawn
        if pace is not None:
            ahead *= pace
        ahead += charge
        np.maximum(ahead, 0.0, out=ahead)
        np.minimum(ahead, 1.0, out=ahead)
        self._net(ahead, way, self._into_ahead, self._kept_ahead)
        kept *= into
        self._kept_ahead *= self._into_ahead
        kept += self._kept_ahead  # now twice what is stored
        half = 0.5 if pace is None else 0.5 * pace
        kept *= half
        into += self._into_ahead
        into *= half
        np.subtract(1.0, charge, out=ahead)
        if pace is not None:  # of many steps at once, what is drawn makes room
            ahead += pace * way.drawn
        if (kept > ahead).any():
            shrink = np.where(kept > ahead, ahead / np.where(kept > 0.0, kept, 1.0), 1.0)
            kept *= shrink
            into *= shrink
        charge += kept
        charged += into
        into -= kept
        lost += into
        return kept

    def _net(self, charge: FloatArray, way: Ways, into: FloatArray, kept: FloatArray) -> None:
        """Write the charge that comes in within a step, and the share of it that stays."""
        space, more, kind = self._space, self._more, self.kind
        self._resting.write(charge, out=into, space=space, segment=self._segment)
        np.subtract(way.volts, into, out=into)
        np.maximum(into, 0.0, out=into)
        into *= way.acceptance
        np.subtract(1.0, charge, out=space)
        into *= space
        space *= kind.base_ohm_ah
        space += kind.taper_ohm_ah
        into /= space
        if self.pattern.smart:
            into[charge >= self.pattern.smart_charge] = 0.0
        np.multiply(into, self._at_idle, out=more)
        np.minimum(more, way.idle_room, out=more)
        into *= 1.0 - self._at_idle
        np.minimum(into, way.moving_room, out=into)
        into += more
        np.multiply(charge, self._kept_slope, out=kept)
        kept += self._kept_at_empty
        np.minimum(kept, kind.efficiency_bulk, out=kept)  # never more when fuller


def take(charge: FloatArray, wanted: FloatArray, lowest: float) -> FloatArray:
    """Draw charge in place, or what is left above the lowest; return what was drawn."""
    left = charge - wanted
    if float(left.min(initial=np.inf)) > lowest:
        charge[:] = left
        return wanted
    floor = np.minimum(lowest, charge)
    drawn = np.where(left > floor, wanted, charge - floor)
    np.maximum(left, floor, out=charge)
    return drawn
