"""A stand: charge of every lane, block by block, until each question is answered.

The run steps in blocks of up to a day and integrates each exactly; the hours inside a block are
looked at only for lanes that could fail within it.
"""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from drainsim.physics.self_discharge import charge_step_ah, hours_to_reach_h
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.blocks import Pace, choose_step_h
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import ChargeBalance as ChargeBalance
from drainsim.simulation.outcome import ClosedBalance
from drainsim.simulation.outcome import Stand as Stand
from drainsim.simulation.outcome import Trace as Trace
from drainsim.simulation.weather import WeatherLanes
from drainsim.units import HOURS_PER_DAY

_DECIDED_SHARE: Final = 0.25  # compact once this share of the lanes is decided
HALF: Final = 0.5


def run_stand(
    lanes: Lanes,
    curves: BatteryCurves,
    loads: Loads,
    weather: WeatherLanes,
    *,
    horizon_days: int,
    step_h: float | None = None,
    trace: bool = False,
    to_the_end: bool = False,
    snapshot_day: int = 0,
    ends: Sequence[str] = ("no_start",),
) -> Stand:
    """Return what happens to each lane from parking to the horizon.

    Parameters
    ----------
    lanes : Lanes
    curves : BatteryCurves, one for all lanes
    loads : Loads
    weather : WeatherLanes, which `lanes.weather` points into
    horizon_days : int, from the first parking on
    step_h : float, a divisor of 24; chosen from the loads if left out. [h]
    trace : bool
        Keep the state at every start attempt.
    to_the_end : bool
        Follow every lane to the horizon, as a trace does; otherwise lanes drop out once no start
        is left in them, which may be before their unit falls silent.
    snapshot_day : int, whose charge is kept as `snapshot_charge`
    ends : sequence of str
        What ends a stand, whichever comes first: of the names of a run's times.
    """
    run = _Run(lanes, curves, loads, weather, horizon_days, step_h, trace, snapshot_day, ends)
    run.drops_decided = not (trace or to_the_end)
    pace = Pace(run.step_h)
    for day in range(horizon_days):
        run.park(day)
        if run.decided():
            break
        for from_h, hours in pace.blocks(HOURS_PER_DAY * day):
            pace.moved(run.block(from_h, hours))
    return run.result()


class _Run:
    """State of a run in progress; arrays hold the lanes still undecided, `index` says which."""

    def __init__(
        self,
        lanes: Lanes,
        curves: BatteryCurves,
        loads: Loads,
        weather: WeatherLanes,
        horizon_days: int,
        step_h: float | None,
        trace: bool,
        snapshot_day: int,
        ends: Sequence[str],
    ) -> None:
        count = len(lanes)
        self.curves, self.weather = curves, weather
        self.step_h = step_h or choose_step_h(lanes, loads)
        self.block_h = self.step_h
        self.all_lanes, self.all_loads = lanes, loads
        self.waiting = {
            int(day): np.flatnonzero(lanes.start_day == day) for day in np.unique(lanes.start_day)
        }
        once_ah = lanes.vehicle_once_ah + lanes.unit_once_ah
        drawn = np.minimum(once_ah, lanes.start_ah)  # a flat battery gives what it has
        share = np.divide(drawn, once_ah, out=np.zeros(count), where=once_ah > 0)
        self.parked = (lanes.start_ah - drawn) / lanes.full_ah
        self._hold(np.arange(0))
        lowest_v = curves.lowest_resting_v() + lanes.resting_offset_v.min(initial=0.0)
        self.changing_modes = [  # those whose voltage this battery can show
            number
            for number, voltages in enumerate(loads.enter_below_v)
            if (voltages > lowest_v).any()
        ]
        self.balance = ChargeBalance(
            vehicle_ah=lanes.vehicle_once_ah * share,
            unit_ah=lanes.unit_once_ah * share,
            other_ah=np.zeros(count),
            lost_ah=np.zeros(count),
            refused_ah=np.zeros(count),
            left_ah=lanes.start_ah - drawn,
        )
        self.times = {
            name: np.full(count, np.inf)
            for name in ("no_start", "start_hour", "half", "empty", "unit_off", "freezing")
        }
        self.closed = ClosedBalance(count)  # the balances of lanes in which no start is left
        self.ended, self.ends = ClosedBalance(count), ends
        self.end_day = np.full(count, float(horizon_days))
        self.drops_decided = True
        self.snapshot_day = snapshot_day
        self.snapshot_charge = self.parked.copy()
        self.daily = np.zeros((horizon_days + 1, count), dtype=bool)
        self.trace = (
            {name: np.zeros((horizon_days + 1, count)) for name in ("charge", "margin", "warm")}
            if trace
            else None
        )
        self.traced_balance = (
            [np.zeros((horizon_days + 1, count)) for _ in ChargeBalance._fields] if trace else []
        )

    # --- one block ------------------------------------------------------------------------

    def _hold(self, index: IndexArray) -> None:
        """Begin with these lanes, as they were parked."""
        self.index = index
        self.lanes, self.loads = self.all_lanes.take(index), self.all_loads.take(index)
        self.charge = self.parked[index]
        self.current_a = self.lanes.quiescent_a + self.lanes.other_a
        self.mode: IndexArray = np.zeros(len(index), dtype=np.intp)

    def decided(self) -> bool:
        """Say whether nothing is left to find out."""
        return not len(self.index) and not self.waiting

    def park(self, day: int) -> None:
        """Take in the lanes parked on a day, and ask every question of them at that moment."""
        fresh = self.waiting.pop(day, None)
        if fresh is None:
            return
        before = self.index, self.charge, self.current_a, self.mode
        self._hold(fresh)
        self._look_at_parking(day)
        after = self.index, self.charge, self.current_a, self.mode
        self.index, self.charge, self.current_a, self.mode = (
            np.concatenate(pair) for pair in zip(before, after, strict=True)
        )
        self.lanes = self.all_lanes.take(self.index)
        self.loads = self.all_loads.take(self.index)

    def _look_at_parking(self, day: int) -> None:
        now_h = HOURS_PER_DAY * day
        warm = self.weather.at_day_c(day)[self.lanes.weather]
        charge = self.charge
        self._first("half", charge <= HALF, now_h)
        self._first("empty", charge <= self.curves.lowest_charge, now_h)
        frozen = warm <= self.curves.freezes_at_c(charge)
        self._first("freezing", frozen, now_h)
        margin = self._margin(self._usable_charge(charge), warm, self.lanes)
        failing = frozen | (margin < 1.0)
        self._first("no_start", failing, now_h)
        self._at_start_hour(day, failing, charge, margin, warm)

    def block(self, from_h: float, hours: float) -> float:
        """Carry every lane over one block and ask the questions in it.

        Returns the largest share of its full charge that any lane gained or lost.
        """
        self.block_h = hours
        until_h = from_h + hours
        whole = self.weather.block(from_h, hours)
        end_c, low_c, mean_c, loss_scale = (part[self.lanes.weather] for part in whole)
        before = self.charge
        self._advance(from_h, mean_c, self.lanes.loss_per_h * loss_scale)
        after = self.charge
        self._crossings(from_h, before, after)
        usable_charge = self._usable_charge(after)
        surplus = self.curves.cranking_by_charge_at(usable_charge) / self.lanes.demand_ratio
        open_ = np.isinf(self.times["no_start"][self.index])
        suspect = open_ & (surplus * self._temperature_factor(low_c) < 1.0)
        cold = bool(low_c.min() <= self.curves.freezing_c.max())  # else nothing can freeze
        freezes_c = self.curves.freezes_at_c(after) if cold else None
        if freezes_c is not None:
            unfrozen = np.isinf(self.times["freezing"][self.index])
            suspect |= (open_ | unfrozen) & (low_c <= freezes_c)
        suspects = np.flatnonzero(suspect)
        if len(suspects):
            self._look_inside(from_h, suspects, before, after)
        day, rest = divmod(until_h + 1e-6, HOURS_PER_DAY)
        if rest < 1e-3:
            margin = surplus * self._temperature_factor(end_c)
            failing = margin < 1.0
            if freezes_c is not None:
                failing |= end_c <= freezes_c
            self._at_start_hour(int(day), failing, after, margin, end_c)
            self._close_ended(int(day))
            if self.drops_decided:
                self._drop_decided(int(day), usable_charge)
        return float(np.abs(after - before).max(initial=0.0))

    def _advance(self, from_h: float, mean_c: FloatArray, loss_per_h: FloatArray) -> None:
        """Integrate the block exactly, split where a unit changes mode or the charge ends.

        In shares of full, so that a charge that fell to a limit lies on it and not a rounding
        beside it.
        """
        battery_v = self.curves.resting_at_v(self.charge, mean_c) + self.lanes.resting_offset_v
        self._settle_modes(from_h, battery_v)
        loads = self.loads
        left_h = np.full(len(self.charge), self.block_h)
        self.other_a = loads.net_other_a(self.lanes.other_a, from_h, mean_c)
        for _ in range(len(loads.current_a) + 1):
            unit_a = self.lanes.unit_factor * loads.unit_a(self.mode, battery_v)
            total_a = self.lanes.quiescent_a + self.other_a + unit_a
            per_h = total_a / self.lanes.full_ah
            floor = self._next_change(mean_c)
            hours = left_h
            changing = np.zeros(len(left_h), dtype=bool)
            after, lost = charge_step_ah(
                self.charge, current_a=per_h, loss_per_h=loss_per_h, hours=left_h
            )
            sinking = after < floor
            if sinking.any():
                until = hours_to_reach_h(self.charge, floor, current_a=per_h, loss_per_h=loss_per_h)
                changing = sinking & (until < left_h)
                hours = np.where(changing, until, left_h)
                after, lost = charge_step_ah(
                    self.charge, current_a=per_h, loss_per_h=loss_per_h, hours=hours
                )
                after = np.where(changing, floor, after)
            self._book(hours, unit_a, after, lost)
            left_h = left_h - hours
            if not changing.any():
                break
            gone = changing & (self.charge <= self.curves.lowest_charge)
            left_h = np.where(gone, 0.0, left_h)
            self._next_mode(changing & ~gone, from_h + self.block_h - left_h)
        self.current_a = total_a

    def _book(
        self, hours: FloatArray, unit_a: FloatArray, after: FloatArray, lost: FloatArray
    ) -> None:
        """Enter a stretch of the block; a full battery refuses more charge."""
        full = self.lanes.full_ah
        self.charge = np.minimum(after, 1.0)
        at = self.index
        self.balance.vehicle_ah[at] += self.lanes.quiescent_a * hours
        self.balance.unit_ah[at] += unit_a * hours
        self.balance.other_ah[at] += self.other_a * hours
        self.balance.lost_ah[at] += lost * full
        self.balance.refused_ah[at] += (after - self.charge) * full
        self.balance.left_ah[at] = self.charge * full

    def _settle_modes(self, from_h: float, battery_v: FloatArray) -> None:
        """Change modes for the voltage at the start of a block, with hysteresis both ways."""
        for number in self.changing_modes:
            back = (self.mode == number) & (battery_v > self.loads.leave_above_v[number])
            self.mode[back] = number - 1
            down = (self.mode == number - 1) & (battery_v < self.loads.enter_below_v[number])
            self._next_mode(down, np.full(len(down), from_h))

    def _next_mode(self, which: BoolArray, at_h: FloatArray) -> None:
        if which.any():
            self.mode[which] += 1
            self._first("unit_off", which & (self.mode == self.loads.off_mode), at_h)

    def _next_change(self, mean_c: FloatArray) -> FloatArray:
        """Return the charge at which each lane's unit changes mode, or the battery is empty."""
        floor = np.full(len(self.charge), self.curves.lowest_charge)
        for number in self.changing_modes:
            here = self.mode == number - 1
            if here.any():
                enter_v = self.loads.enter_below_v[number] - self.lanes.resting_offset_v
                at = self.curves.charge_at_v(enter_v, mean_c)
                floor = np.where(here, np.maximum(at, floor), floor)
        return np.asarray(np.minimum(floor, self.charge))

    def _crossings(self, from_h: float, before: FloatArray, after: FloatArray) -> None:
        """Date half charge and empty by straight lines within the block."""
        fall = np.maximum(before - after, 1e-300)
        for name, level in (("half", HALF), ("empty", self.curves.lowest_charge)):
            crossed = (before > level) & (after <= level)
            if crossed.any():
                share = np.clip((before - level) / fall, 0.0, 1.0)
                self._first(name, crossed, from_h + share * self.block_h)

    def _look_inside(
        self, from_h: float, suspects: IndexArray, before: FloatArray, after: FloatArray
    ) -> None:
        """Ask at every hour of a block for the lanes that could fail or freeze in it."""
        count = math.ceil(self.block_h - 1e-9)
        hours = self.block_h * np.arange(1, count + 1) / count
        lanes = self.lanes.take(suspects)
        warm = self.weather.at_hours_c(from_h, hours, lanes.weather)
        share = (hours / self.block_h)[:, None]
        charge = before[suspects] + (after[suspects] - before[suspects]) * share
        frozen = warm <= self.curves.freezes_at_c(charge)
        usable_charge = self._usable_charge(charge, lanes, self.current_a[suspects])
        failing = frozen | (self._margin(usable_charge, warm, lanes) < 1.0)
        for name, happening in (("freezing", frozen), ("no_start", failing)):
            any_hour = happening.any(axis=0)
            at_h = from_h + hours[happening.argmax(axis=0)]
            everywhere = np.zeros(len(self.index), dtype=bool)
            everywhere[suspects] = any_hour
            when = np.full(len(self.index), np.inf)
            when[suspects] = at_h
            self._first(name, everywhere, when)

    def _temperature_factor(self, temperature_c: FloatArray) -> FloatArray:
        """Return the part of the start margin that depends on temperature, of all lanes held."""
        return self.curves.temperature_factor_at(
            temperature_c, self.lanes.oil_k, self.lanes.cold_fall
        )

    def _margin(self, usable_charge: FloatArray, warm: FloatArray, lanes: Lanes) -> FloatArray:
        """Return the start margin of some lanes."""
        return self.curves.margin(
            usable_charge, warm, lanes.demand_ratio, lanes.oil_k, lanes.cold_fall
        )

    def _usable_charge(
        self,
        charge: FloatArray,
        lanes: Lanes | None = None,
        current_a: FloatArray | None = None,
    ) -> FloatArray:
        """Return the charge a crank can reach, of all lanes held or of some at their current."""
        lanes = lanes or self.lanes
        return self.curves.usable_charge(
            charge,
            drawn_a=self.current_a if current_a is None else current_a,
            full_ah=lanes.full_ah,
            low_charge_shift=lanes.low_charge_shift,
        )

    # --- answers --------------------------------------------------------------------------

    def _first(self, name: str, happening: BoolArray, at_h: FloatArray | float) -> None:
        """Keep the first time something happens."""
        if happening.any():
            at = self.index[happening]
            when = np.broadcast_to(at_h, happening.shape)[happening]
            self.times[name][at] = np.minimum(self.times[name][at], when)

    def _at_start_hour(
        self,
        day: int,
        failing: BoolArray,
        charge: FloatArray,
        margin: FloatArray,
        warm: FloatArray,
    ) -> None:
        """Write down the start attempt of a day."""
        self.daily[day, self.index] = failing
        self._first("start_hour", failing, HOURS_PER_DAY * day)
        if day <= self.snapshot_day:
            self.snapshot_charge[self.index] = charge
        if self.trace is not None:
            self.trace["charge"][day] = charge
            self.trace["margin"][day] = margin
            self.trace["warm"][day] = warm
            for kept, entry in zip(self.traced_balance, self.balance, strict=True):
                kept[day] = entry

    def _drop_decided(self, day: int, usable_charge: FloatArray) -> None:
        """Let go of lanes that failed, cannot start again, are not charged and cannot freeze.

        A lane's balance ends on the day that is so, and its snapshot is waited for: neither may
        depend on when enough other lanes can go with it.
        """
        charged = self.lanes.quiescent_a + self.lanes.other_a < 0.0  # once the unit is off
        decided = (self.curves.cranking_by_charge_at(usable_charge) <= 0.0) & ~(
            charged | self.loads.sunlit
        )
        decided &= np.isfinite(self.times["no_start"][self.index])
        if not decided.any():
            return
        self.closed.close(self.index[decided], self.balance)
        if day < self.snapshot_day or decided.mean() < _DECIDED_SHARE:
            return
        lowest_c = self.weather.low_after_c(day)[self.lanes.weather]
        frozen = np.isfinite(self.times["freezing"][self.index])
        decided &= frozen | (lowest_c > self.curves.freezing_c.max())
        if decided.mean() < _DECIDED_SHARE:
            return
        self.daily[day:, self.index[decided]] = True
        keep = np.flatnonzero(~decided)
        self.lanes = self.lanes.take(keep)
        self.loads = self.loads.take(keep)
        self.index = self.index[keep]
        self.charge = self.charge[keep]
        self.mode = self.mode[keep]
        self.current_a = self.current_a[keep]

    def _close_ended(self, day: int) -> None:
        """Close the balances of the stands that ended within the day."""
        ended = np.any([np.isfinite(self.times[name]) for name in self.ends], axis=0)
        fresh = np.flatnonzero(ended & ~self.ended.closed)
        self.ended.close(fresh, self.balance)
        self.end_day[fresh] = day

    def result(self) -> Stand:
        """Return the finished stand."""
        kept = None
        if self.trace is not None:
            charge, margin, warm = (self.trace[name] for name in ("charge", "margin", "warm"))
            balance = ChargeBalance(*self.traced_balance)
            kept = Trace(charge=charge, margin=margin, temperature_c=warm, balance=balance)
        parked_h = HOURS_PER_DAY * self.all_lanes.start_day
        return Stand(
            no_start_h=self.times["no_start"] - parked_h,
            start_hour_no_start_h=self.times["start_hour"] - parked_h,
            half_charge_h=self.times["half"] - parked_h,
            empty_h=self.times["empty"] - parked_h,
            unit_off_h=self.times["unit_off"] - parked_h,
            freezing_h=self.times["freezing"] - parked_h,
            no_start_daily=self.daily,
            snapshot_charge=self.snapshot_charge,
            balance=self.closed.at_the_end(self.balance),
            end_balance=self.ended.at_the_end(self.balance),
            end_day=self.end_day - self.all_lanes.start_day,
            step_h=self.step_h,
            held=self.weather.held,
            trace=kept,
        )
