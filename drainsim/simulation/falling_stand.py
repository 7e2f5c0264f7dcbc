"""A stand in which the charge only falls: every lane and block at once, questions by bounds.

Most stands have no charger and no unit that changes mode: charge falls from block to block, so
the start margin at a given temperature falls too. Then the charge of all blocks is one lean
recursion, and only between the charge that starts in the coldest hour of the stand and the charge
that does not in its warmest is anything looked up. The same numbers as `stepped_stand`, block by
block (charge to 1e-9, the same failing hour), in a fraction of the time.
"""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, fields
from typing import Any, Final, TypeAlias

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.falling_charge import FallingCharge
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import HALF, ChargeBalance, Event, Stand, Trace
from drainsim.simulation.weather import BlockWeather, WeatherLanes
from drainsim.simulation.workspace import borrowed
from drainsim.units import HOURS_PER_DAY

_DAY_H: Final = 24
_CELLS: Final = 2_000_000  # blocks x lanes of one part: 16 MB
_LEAST_LANES: Final = 1_000  # of a part: fewer cost more calls than they save
_DAYS_AT_ONCE: Final = 8  # of a course: what is worked on fits the processor's cache

Cells: TypeAlias = IndexArray | slice  # the lanes of some cells, or all lanes


def only_falls(lanes: Lanes, curves: BatteryCurves, loads: Loads, *, step_h: float) -> bool:
    """Say whether the charge of a stand only falls, in blocks of whole hours.

    Parameters
    ----------
    lanes : Lanes
    curves : BatteryCurves
    loads : Loads
    step_h : float
        Length of a block. [h]
    """
    if step_h < 1.0 or _DAY_H % step_h:
        return False
    may_charge = lanes.other_a < 0.0
    return bool(
        not loads.sunlit
        and curves.monotone
        and (lanes.quiescent_a + lanes.other_a >= 0.0).all()
        and not (may_charge & np.isfinite(loads.lowest_charging_c)).any()
        and (lanes.low_charge_shift > -0.5).all()
    )


def falling_stand(
    lanes: Lanes,
    curves: BatteryCurves,
    loads: Loads,
    weather: WeatherLanes,
    *,
    horizon_days: int,
    step_h: float,
    course: bool,
    to_the_end: bool,
    snapshot_day: int,
    ends: Sequence[Event],
) -> Stand:
    """Return the stand of lanes for which `only_falls` holds; parameters as `stand.run_stand`."""
    hours = round(step_h)
    blocks = weather.blocks(hours, horizon_days)
    size = max(_LEAST_LANES, _CELLS // len(blocks.end_c))
    parts = []
    for first in range(0, max(len(lanes), 1), size):
        index = np.arange(first, min(first + size, len(lanes)))
        part = lanes.take(index)
        rows, count = len(blocks.end_c) + 1, len(part)
        with ExitStack() as lent:
            falling = FallingCharge(
                lanes=part,
                curves=curves,
                loads=loads.take(index),
                blocks=blocks,
                step_h=hours,
                keeps_all=course or to_the_end,
                snapshot_day=snapshot_day,
                # a course keeps the charge
                space=np.empty((rows, count))
                if course
                else lent.enter_context(borrowed(rows, count)),
                unit_space=lent.enter_context(borrowed(rows, count)),
            )
            questions = _Questions(
                lanes=part, curves=curves, weather=weather, blocks=blocks, falling=falling
            )
            parts.append(questions.stand(course=course, ends=ends))
    return parts[0] if len(parts) == 1 else _joined(parts, held=weather.held)


def _joined(parts: Sequence[Stand], *, held: int) -> Stand:
    """Return the stands of parts of the lanes as one."""

    def join(values: Sequence[Any]) -> Any:
        first = values[0]
        if isinstance(first, ChargeBalance):
            return ChargeBalance(*map(join, zip(*values, strict=True)))
        if isinstance(first, Trace):
            kept = {f.name: join([getattr(v, f.name) for v in values]) for f in fields(Trace)}
            return Trace(**kept)
        return np.concatenate(values, axis=-1) if isinstance(first, np.ndarray) else first

    joined = {f.name: join([getattr(part, f.name) for part in parts]) for f in fields(Stand)}
    return Stand(**{**joined, "held": held})


@dataclass(kw_only=True)
class _Questions:
    """What is asked of some lanes whose charge is known; rows as in `FallingCharge`."""

    lanes: Lanes
    curves: BatteryCurves
    weather: WeatherLanes
    blocks: BlockWeather
    falling: FallingCharge

    def __post_init__(self) -> None:
        """Ask at parking."""
        lanes, falling = self.lanes, self.falling
        self.lane = np.arange(len(lanes))
        self.step_h, self.per_day, self.days = falling.step_h, falling.per_day, falling.days
        self.park_c = self._park_c()
        self.park_margin = self._margin(falling.parked, self.park_c, falling.base_a, self.lane)
        self.frozen_at_once = self.park_c <= self.curves.freezes_at_c(falling.parked)
        self.fails_at_once = self.frozen_at_once | (self.park_margin < 1.0)

    def _park_c(self) -> FloatArray:
        """Return each lane's temperature when it is parked."""
        found = np.empty(len(self.lanes))
        for day in np.unique(self.lanes.start_day):
            here = self.lanes.start_day == day
            found[here] = self.weather.at_day_c(int(day))[self.lanes.weather[here]]
        return found

    def _usable(self, charge: FloatArray, current_a: FloatArray, lane: Cells) -> FloatArray:
        return self.curves.usable_charge(
            charge,
            drawn_a=current_a,
            full_ah=self.lanes.full_ah[lane],
            low_charge_shift=self.lanes.low_charge_shift[lane],
        )

    def _margin(
        self, charge: FloatArray, temperature_c: FloatArray, current_a: FloatArray, lane: Cells
    ) -> FloatArray:
        lanes = self.lanes
        return self.curves.margin(
            self._usable(charge, current_a, lane),
            temperature_c,
            lanes.demand_ratio[lane],
            lanes.oil_k[lane],
            lanes.cold_fall[lane],
        )

    # --- first hours ----------------------------------------------------------------------

    def no_start_h(self) -> FloatArray:
        """Return the first hour at which power fails, after parking. [h]."""
        falling = self.falling
        first = np.maximum((falling.charge > falling.sure).sum(axis=0), falling.start_row + 1)
        last = np.maximum((falling.charge > falling.lost).sum(axis=0), falling.start_row + 1)
        last = np.minimum(last, falling.rows)  # it certainly fails in that one
        counts = np.where(self.fails_at_once, 0, np.maximum(last - first + 1, 0))
        lane = np.repeat(self.lane, counts)
        row = np.arange(len(lane)) - np.repeat(np.cumsum(counts) - counts - first, counts)
        low_c = self._weather_at(self.blocks.low_c, row, lane)
        charge, current_a = falling.charge_at(row, lane), falling.current_a(row, lane)
        suspect = self._margin(charge, low_c, current_a, lane) < 1.0
        return self._first_hour(row[suspect], lane[suspect], freezing=False)

    def freezing_h(self) -> FloatArray:
        """Return the first hour at which the electrolyte freezes, after parking. [h]."""
        low_c = self.blocks.low_c[: self.falling.rows]
        lane, row = self._may_freeze(low_c, np.arange(1, len(low_c) + 1))
        after = (row > self.falling.start_row[lane]) & ~self.frozen_at_once[lane]
        lane, row = lane[after], row[after]
        freezes_c = self.curves.freezes_at_c(self.falling.charge_at(row, lane))
        suspect = self._weather_at(self.blocks.low_c, row, lane) <= freezes_c
        return self._first_hour(row[suspect], lane[suspect], freezing=True)

    def _may_freeze(
        self, temperature_c: FloatArray, rows: IndexArray
    ) -> tuple[IndexArray, IndexArray]:
        """Return (lanes, rows) that could be frozen at temperatures of shape (rows, weathers)."""
        lanes, curves = self.lanes, self.curves
        cold = temperature_c <= curves.freezing_c.max()
        some = np.flatnonzero(cold.any(axis=1))
        coldest = temperature_c[some].min(axis=0, initial=np.inf)
        never = np.searchsorted(curves.freezing_c[::-1], coldest)  # fuller charges never freeze
        highest = np.append(curves.charge, np.inf)[len(curves.charge) - never]
        may = np.take(cold[some], lanes.weather, axis=1)
        may &= self.falling.charge[rows[some]] <= highest[lanes.weather]
        lane, number = np.nonzero(may.T)  # lane by lane, rows in order
        return lane, rows[some][number]

    def _first_hour(self, row: IndexArray, lane: IndexArray, *, freezing: bool) -> FloatArray:
        """Return the first hour at which it happens in some blocks, per lane; inf for never. [h].

        Parameters
        ----------
        row, lane : shape (blocks,)
            Ends of the blocks and their lanes, lane by lane and in order.
        freezing : bool
            Ask for freezing instead of a failing start.
        """
        found = np.full(len(self.lanes), np.inf)
        at_once = 1
        while len(lane):
            begins = np.flatnonzero(np.diff(lane, prepend=-1))
            ahead = np.arange(len(lane)) - np.repeat(begins, np.diff(np.append(begins, len(lane))))
            now = ahead < at_once
            hour = self._inside(row[now], lane[now], freezing=freezing)
            np.minimum.at(found, lane[now], hour)
            left = ~now & np.isinf(found[lane])
            lane, row = lane[left], row[left]
            at_once *= 2
        return found

    def _inside(self, row: IndexArray, lane: IndexArray, *, freezing: bool) -> FloatArray:
        """Return the first hour at which it happens in blocks that end with a row. [h]."""
        falling = self.falling
        hourly_c = self.weather.in_blocks_c(row - 1, self.step_h, self.lanes.weather[lane])
        share = (np.arange(1, self.step_h + 1) / self.step_h)[:, None]
        before, after = falling.charge_at(row - 1, lane), falling.charge_at(row, lane)
        charge = before + (after - before) * share
        if freezing:
            happening = hourly_c <= self.curves.freezes_at_c(charge)
        else:
            current_a = falling.current_a(row, lane)
            happening = self._margin(charge, hourly_c, current_a, lane) < 1.0
        hour = self.step_h * (row - 1.0) + 1.0 + happening.argmax(axis=0)
        return np.where(happening.any(axis=0), hour, np.inf)

    def _weather_at(self, values: FloatArray, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return values of blocks, shape (blocks, weathers), of those that end with some rows."""
        weather = self.lanes.weather[lane]
        return np.asarray(values.reshape(-1).take((row - 1) * values.shape[1] + weather))

    # --- start hours ----------------------------------------------------------------------

    def course(self) -> Trace:
        """Return charge, margin and temperature at every start hour; nan before parking."""
        lanes, falling = self.lanes, self.falling
        charge = falling.charge[:: self.per_day]
        temperature_c, margin = np.empty_like(charge), np.empty_like(charge)
        end_c = self.blocks.end_c[self.per_day - 1 :: self.per_day]
        np.take(end_c, lanes.weather, axis=1, out=temperature_c[1:])
        for first in range(1, self.days + 1, _DAYS_AT_ONCE):
            part = slice(first, min(first + _DAYS_AT_ONCE, self.days + 1))
            margin[part] = self._margin(
                charge[part], temperature_c[part], falling.daily_current_a(part), slice(None)
            )
        temperature_c[lanes.start_day, self.lane] = self.park_c
        margin[lanes.start_day, self.lane] = self.park_margin
        if lanes.start_day.any():
            before = np.arange(self.days + 1)[:, None] < lanes.start_day
            charge = charge.copy()
            for values in (charge, temperature_c, margin):
                values[before] = np.nan
        return Trace(charge=charge, margin=margin, temperature_c=temperature_c)

    def daily(self, course: Trace | None) -> BoolArray:
        """Return whether a start fails on each day of the run, shape (days + 1, lanes)."""
        falling, start_day = self.falling, self.lanes.start_day
        if course is not None:
            failing = course.margin < 1.0
        else:
            charge = falling.charge[:: self.per_day]
            failing = np.ones((self.days + 1, len(self.lanes)), dtype=bool)  # after an early end
            np.less_equal(charge, falling.lost, out=failing[: len(charge)])
            open_ = (charge <= falling.sure) & ~failing[: len(charge)]
            open_[0] = False
            day, lane = np.nonzero(open_)
            row = self.per_day * day
            end_c = self._weather_at(self.blocks.end_c, row, lane)
            margin = self._margin(
                falling.charge_at(row, lane), end_c, falling.current_a(row, lane), lane
            )
            failing[day, lane] = margin < 1.0
        if falling.can_freeze:
            end_c = self.blocks.end_c[self.per_day - 1 :: self.per_day]
            lane, row = self._may_freeze(end_c, self.per_day * np.arange(1, self.days + 1))
            freezes_c = self.curves.freezes_at_c(falling.charge_at(row, lane))
            frozen = self._weather_at(self.blocks.end_c, row, lane) <= freezes_c
            failing[row // self.per_day, lane] |= frozen
        failing[start_day, self.lane] = self.fails_at_once
        if start_day.any():
            failing[np.arange(self.days + 1)[:, None] < start_day] = False
        return np.asarray(failing)

    def closing_day(self, no_start_h: FloatArray) -> IndexArray:
        """Return the day whose end closes each lane's balance: no start is left, or the last."""
        falling = self.falling
        if falling.keeps_all:
            return np.full(len(self.lanes), self.days)
        charge = falling.charge[:: self.per_day]
        sure = (charge > falling.dead).sum(axis=0)
        day = np.maximum((charge > falling.perhaps_dead).sum(axis=0), self.lanes.start_day + 1)
        open_ = np.flatnonzero((day < sure) & (day < len(charge)))
        while len(open_):
            row = self.per_day * day[open_]
            usable = self._usable(
                falling.charge_at(row, open_), falling.current_a(row, open_), open_
            )
            open_ = open_[self.curves.cranking_by_charge_at(usable) > 0.0]
            day[open_] += 1
            open_ = open_[(day[open_] < sure[open_]) & (day[open_] < len(charge))]
        failed = np.minimum(_day_of(no_start_h), self.days).astype(np.intp)
        return np.asarray(np.minimum(np.maximum(day, failed), self.days))

    def stand(self, *, course: bool, ends: Sequence[Event]) -> Stand:
        """Return the finished stand."""
        lanes, falling = self.lanes, self.falling
        parked_h = HOURS_PER_DAY * lanes.start_day
        never = np.full(len(lanes), np.inf)
        freezing = self.freezing_h() if falling.can_freeze else never
        freezing = np.where(self.frozen_at_once, parked_h, freezing)
        no_start = np.where(self.fails_at_once, parked_h, np.minimum(self.no_start_h(), freezing))
        empty = falling.crossing_h(self.curves.lowest_charge)
        end_day = np.full(len(lanes), np.inf)
        for event in ends:
            end_day = np.minimum(end_day, self._ending_day(event, no_start, empty, freezing))
        end_day = np.minimum(np.maximum(end_day, lanes.start_day + 1), self.days)
        trace = self.course() if course else None
        daily = self.daily(trace)
        start_hour = np.where(daily.any(axis=0), HOURS_PER_DAY * daily.argmax(axis=0), np.inf)
        return Stand(
            no_start_h=no_start - parked_h,
            start_hour_no_start_h=start_hour - parked_h,
            half_charge_h=falling.crossing_h(HALF) - parked_h,
            empty_h=empty - parked_h,
            unit_off_h=falling.modes.off_h - parked_h,
            freezing_h=freezing - parked_h,
            no_start_daily=daily,
            snapshot_charge=falling.at_day(falling.snapshot_day),
            balance=falling.balance(self.closing_day(no_start)),
            end_balance=falling.balance(end_day.astype(np.intp)),
            end_day=end_day - lanes.start_day,
            step_h=float(self.step_h),
            held=self.weather.held,
            trace=trace,
            daily_balance=None,
        )

    def _ending_day(
        self, event: Event, no_start: FloatArray, empty: FloatArray, freezing: FloatArray
    ) -> FloatArray:
        """Return the day at whose end an event is known; inf for never."""
        if event is Event.UNIT_OFF:  # at the beginning of a block it is known at its end
            return np.asarray(np.ceil(self.falling.modes.off_row / self.per_day))
        hours = {Event.NO_START: no_start, Event.EMPTY: empty, Event.FREEZING: freezing}
        return _day_of(hours[event])


def _day_of(hours: FloatArray) -> FloatArray:
    """Return the day in which something happens, counted by its end; inf for never."""
    return np.asarray(np.ceil(hours / HOURS_PER_DAY - 1e-9))
