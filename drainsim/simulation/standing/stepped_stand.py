"""A stand stepped block by block: whatever its lanes have, chargers and changing modes too.

Each block of up to a day is integrated exactly; the hours inside a block are looked at only for
lanes that could fail within it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.blocks import Pace
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import (
    HALF,
    ChargeBalance,
    ClosedBalance,
    Event,
    Stand,
    Trace,
    after_key_off,
)
from drainsim.simulation.standing.parked_step import ParkedState, changing_modes, parked_step
from drainsim.simulation.weather import WeatherLanes
from drainsim.units import HOURS_PER_DAY

_DECIDED_SHARE: Final = 0.25  # compact once this share of the lanes is decided


@dataclass(kw_only=True)
class SteppedStand:
    """A run in progress; parameters as `stand.run_stand`.

    `course` keeps the state at every start attempt, `balances` the charge balance besides. `state`
    and `lanes` hold the lanes undecided, `index` says which.
    """

    all_lanes: Lanes
    curves: BatteryCurves
    all_loads: Loads
    weather: WeatherLanes
    horizon_days: int
    step_h: float
    course: bool
    balances: bool
    to_the_end: bool
    snapshot_day: int
    ends: Sequence[Event]

    def __post_init__(self) -> None:
        """Begin with no lane parked."""
        lanes, count, days = self.all_lanes, len(self.all_lanes), self.horizon_days
        self.waiting = {
            int(day): np.flatnonzero(lanes.start_day == day) for day in np.unique(lanes.start_day)
        }
        self.changing = changing_modes(lanes, self.all_loads, self.curves)
        self.balance = after_key_off(lanes)
        self.parked = self.balance.left_ah / lanes.full_ah
        self._hold(np.arange(0), ParkedState.at(self.parked[:0], lanes.take(np.arange(0))))
        self.times = {event: np.full(count, np.inf) for event in Event}
        self.closed = ClosedBalance(count)  # the balances of lanes in which no start is left
        self.ended = ClosedBalance(count)
        self.end_day = np.full(count, float(days))
        self.snapshot_charge = self.parked.copy()
        self.daily = np.zeros((days + 1, count), dtype=bool)
        rows = days + 1 if self.course else 0
        self.trace = Trace(
            charge=np.full((rows, count), np.nan),
            margin=np.full((rows, count), np.nan),
            temperature_c=np.full((rows, count), np.nan),
        )
        rows = days + 1 if self.balances else 0
        self.daily_balance = ChargeBalance(
            *(np.zeros((rows, count)) for _ in ChargeBalance._fields)
        )

    def run(self) -> Stand:
        """Return what happens to each lane."""
        pace = Pace(self.step_h)
        for day in range(self.horizon_days):
            self.park(day)
            if self.decided():
                break
            for from_h, hours in pace.blocks(HOURS_PER_DAY * day):
                pace.moved(self.block(from_h, hours))
        return self.result()

    # --- one block ------------------------------------------------------------------------

    def _hold(self, index: IndexArray, state: ParkedState) -> None:
        """Go on with these lanes."""
        self.index, self.state = index, state
        self.lanes, self.loads = self.all_lanes.take(index), self.all_loads.take(index)

    def decided(self) -> bool:
        """Say whether nothing is left to find out."""
        return not len(self.index) and not self.waiting

    def park(self, day: int) -> None:
        """Take in the lanes parked on a day, and ask every question of them at that moment."""
        fresh = self.waiting.pop(day, None)
        if fresh is None:
            return
        index, state = self.index, self.state
        parked = ParkedState.at(self.parked[fresh], self.all_lanes.take(fresh))
        self._hold(fresh, parked)
        self._look_at_parking(day)
        self._hold(np.concatenate([index, fresh]), state.joined(parked))

    def _look_at_parking(self, day: int) -> None:
        now_h = HOURS_PER_DAY * day
        temperature_c = self.weather.at_day_c(day)[self.lanes.weather]
        charge = self.state.charge
        self._first(Event.HALF_CHARGE, charge <= HALF, now_h)
        self._first(Event.EMPTY, charge <= self.curves.lowest_charge, now_h)
        frozen = temperature_c <= self.curves.freezes_at_c(charge)
        self._first(Event.FREEZING, frozen, now_h)
        usable = self._usable(charge, now_h)
        margin = self._margin(usable, temperature_c, self.lanes)
        failing = frozen | (margin < 1.0)
        self._first(Event.NO_START, failing, now_h)
        self._at_start_hour(day, failing, charge, margin, temperature_c)

    def block(self, from_h: float, hours: float) -> float:
        """Carry every lane over one block and ask the questions in it.

        Returns the largest share of its full charge that any lane gained or lost.
        """
        whole = self.weather.block(from_h, hours)
        end_c, low_c, mean_c, loss_scale = (part[self.lanes.weather] for part in whole)
        before = self.state.charge
        self._advance(from_h, hours, mean_c, self.lanes.loss_per_h * loss_scale)
        after = self.state.charge
        self._crossings(from_h, hours, before, after)
        usable = self._usable(after, from_h + hours)
        surplus = self.curves.cranking_by_charge_at(usable) / self.lanes.demand_ratio
        open_ = np.isinf(self.times[Event.NO_START][self.index])
        suspect = open_ & (surplus * self._temperature_factor(low_c) < 1.0)
        cold = bool(low_c.min(initial=np.inf) <= self.curves.freezing_c.max())
        freezes_c = self.curves.freezes_at_c(after) if cold else None
        if freezes_c is not None:
            unfrozen = np.isinf(self.times[Event.FREEZING][self.index])
            suspect |= (open_ | unfrozen) & (low_c <= freezes_c)
        suspects = np.flatnonzero(suspect)
        if len(suspects):
            self._look_inside(from_h, hours, suspects, before, after)
        day, rest = divmod(from_h + hours + 1e-6, HOURS_PER_DAY)
        if rest < 1e-3:
            margin = surplus * self._temperature_factor(end_c)
            failing = margin < 1.0
            if freezes_c is not None:
                failing |= end_c <= freezes_c
            self._at_start_hour(int(day), failing, after, margin, end_c)
            self._close_ended(int(day))
            if not (self.course or self.to_the_end):
                self._drop_decided(int(day), usable)
        return float(np.abs(after - before).max(initial=0.0))

    def _advance(
        self, from_h: float, hours: float, mean_c: FloatArray, loss_per_h: FloatArray
    ) -> None:
        """Integrate the block and enter what it moved."""
        self.state, flow, off_h = parked_step(
            self.state,
            lanes=self.lanes,
            loads=self.loads,
            curves=self.curves,
            changing=self.changing,
            from_h=from_h,
            hours=hours,
            mean_c=mean_c,
            loss_per_h=loss_per_h,
        )
        self._first(Event.UNIT_OFF, np.isfinite(off_h), off_h)
        at = self.index
        for booked, moved in zip(self.balance[:-1], flow[1:], strict=True):  # of the same names
            booked[at] += moved
        self.balance.left_ah[at] = self.state.charge * self.lanes.full_ah

    def _crossings(
        self, from_h: float, hours: float, before: FloatArray, after: FloatArray
    ) -> None:
        """Date half charge and empty by straight lines within the block."""
        fall = np.maximum(before - after, 1e-300)
        levels = ((Event.HALF_CHARGE, HALF), (Event.EMPTY, self.curves.lowest_charge))
        for event, level in levels:
            crossed = (before > level) & (after <= level)
            if crossed.any():
                share = np.clip((before - level) / fall, 0.0, 1.0)
                self._first(event, crossed, from_h + share * hours)

    def _look_inside(
        self,
        from_h: float,
        length_h: float,
        suspects: IndexArray,
        before: FloatArray,
        after: FloatArray,
    ) -> None:
        """Ask at every hour of a block for the lanes that could fail or freeze in it."""
        count = math.ceil(length_h - 1e-9)
        hours = length_h * np.arange(1, count + 1) / count
        lanes = self.lanes.take(suspects)
        temperature_c = self.weather.at_hours_c(from_h, hours, lanes.weather)
        left = 1.0 - np.arange(1, count + 1)[:, None] / count  # none at the end, to the bit
        charge = after[suspects] + (before[suspects] - after[suspects]) * left
        frozen = temperature_c <= self.curves.freezes_at_c(charge)
        usable = self._usable(charge, from_h + hours[:, None], suspects)
        failing = frozen | (self._margin(usable, temperature_c, lanes) < 1.0)
        for event, happening in ((Event.FREEZING, frozen), (Event.NO_START, failing)):
            everywhere = np.zeros(len(self.index), dtype=bool)
            everywhere[suspects] = happening.any(axis=0)
            when = np.full(len(self.index), np.inf)
            when[suspects] = from_h + hours[happening.argmax(axis=0)]
            self._first(event, everywhere, when)

    def _temperature_factor(self, temperature_c: FloatArray) -> FloatArray:
        """Return the part of the start margin that depends on temperature, of all lanes held."""
        lanes = self.lanes
        return self.curves.temperature_factor_at(temperature_c, lanes.oil_k, lanes.cold_fall)

    def _margin(self, usable: FloatArray, temperature_c: FloatArray, lanes: Lanes) -> FloatArray:
        """Return the start margin of some lanes."""
        return self.curves.margin(
            usable, temperature_c, lanes.demand_ratio, lanes.oil_k, lanes.cold_fall
        )

    def _usable(
        self, charge: FloatArray, at_h: FloatArray | float, lane: IndexArray | slice = slice(None)
    ) -> FloatArray:
        """Return the charge a crank can use, of some lanes held, at hours of the run."""
        return self.lanes.usable_charge(
            self.curves, charge, drawn_a=self.state.current_a[lane], at_h=at_h, lane=lane
        )

    # --- answers --------------------------------------------------------------------------

    def _first(self, event: Event, happening: BoolArray, at_h: FloatArray | float) -> None:
        """Keep the first time something happens."""
        if happening.any():
            at = self.index[happening]
            when = np.broadcast_to(at_h, happening.shape)[happening]
            self.times[event][at] = np.minimum(self.times[event][at], when)

    def _at_start_hour(
        self,
        day: int,
        failing: BoolArray,
        charge: FloatArray,
        margin: FloatArray,
        temperature_c: FloatArray,
    ) -> None:
        """Write down the start attempt of a day."""
        self.daily[day, self.index] = failing
        self._first(Event.START_HOUR, failing, HOURS_PER_DAY * day)
        if day <= self.snapshot_day:
            self.snapshot_charge[self.index] = charge
        if self.course:
            self.trace.charge[day, self.index] = charge
            self.trace.margin[day, self.index] = margin
            self.trace.temperature_c[day, self.index] = temperature_c
        if self.balances:
            for kept, entry in zip(self.daily_balance, self.balance, strict=True):
                kept[day] = entry

    def _drop_decided(self, day: int, usable: FloatArray) -> None:
        """Let go of lanes that failed, cannot start again, are not charged and cannot freeze.

        A lane's balance ends on the day that is so, and its snapshot is waited for: neither may
        depend on when enough other lanes can go with it.
        """
        charged = self.lanes.quiescent_a + self.lanes.other_a < 0.0  # once the unit is off
        decided = self.curves.cranking_by_charge_at(usable) <= 0.0
        decided &= ~(charged | self.loads.sunlit)
        decided &= np.isfinite(self.times[Event.NO_START][self.index])
        if not decided.any():
            return
        self.closed.close(self.index[decided], self.balance)
        if day < self.snapshot_day or decided.mean() < _DECIDED_SHARE:
            return
        lowest_c = self.weather.low_after_c(day)[self.lanes.weather]
        frozen = np.isfinite(self.times[Event.FREEZING][self.index])
        decided &= frozen | (lowest_c > self.curves.freezing_c.max())
        if decided.mean() < _DECIDED_SHARE:
            return
        self.daily[day:, self.index[decided]] = True
        keep = np.flatnonzero(~decided)
        self._hold(self.index[keep], self.state.take(keep))

    def _close_ended(self, day: int) -> None:
        """Close the balances of the stands that ended within the day."""
        ended = np.any([np.isfinite(self.times[event]) for event in self.ends], axis=0)
        fresh = np.flatnonzero(ended & ~self.ended.closed)
        self.ended.close(fresh, self.balance)
        self.end_day[fresh] = day

    def result(self) -> Stand:
        """Return the finished stand."""
        parked_h = HOURS_PER_DAY * self.all_lanes.start_day
        times = {event: hours - parked_h for event, hours in self.times.items()}
        return Stand(
            no_start_h=times[Event.NO_START],
            start_hour_no_start_h=times[Event.START_HOUR],
            half_charge_h=times[Event.HALF_CHARGE],
            empty_h=times[Event.EMPTY],
            unit_off_h=times[Event.UNIT_OFF],
            freezing_h=times[Event.FREEZING],
            no_start_daily=self.daily,
            snapshot_charge=self.snapshot_charge,
            balance=self.closed.at_the_end(self.balance),
            end_balance=self.ended.at_the_end(self.balance),
            end_day=self.end_day - self.all_lanes.start_day,
            step_h=self.step_h,
            held=self.weather.held,
            trace=self.trace if self.course else None,
            daily_balance=self.daily_balance if self.balances else None,
        )
