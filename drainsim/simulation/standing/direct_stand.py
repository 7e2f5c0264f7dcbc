"""A stand without steps in its questions: charge of all blocks at once, then bounds.

At a given temperature less charge never cranks better. So, once the charge of all block ends is
known (`direct_charge`), nothing need be looked up but between the charge that starts a lane in the
coldest hour of the stand and the charge that does not in its warmest. The same numbers as
`stepped_stand`, block by block (charge to 1e-9, the same failing hour), in a fraction of the time.
"""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, fields
from typing import Any, Final, TypeAlias

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import HALF, ChargeBalance, Event, Stand, Trace
from drainsim.simulation.standing.direct_charge import DirectCharge
from drainsim.simulation.weather import BlockWeather, WeatherLanes
from drainsim.simulation.workspace import borrowed
from drainsim.units import HOURS_PER_DAY

_CELLS: Final = 2_000_000  # blocks x lanes of one part: 16 MB
_LEAST_SHIFT: Final = -0.95  # of low charge; from -1 on a fuller battery would crank no better
_LEAST_LANES: Final = 1_000  # of a part: fewer cost more calls than they save
_DAYS_AT_ONCE: Final = 8  # of a course: what is worked on fits the processor's cache

Cells: TypeAlias = IndexArray | slice  # the lanes of some cells, or all lanes


def runs_directly(lanes: Lanes, curves: BatteryCurves, *, step_h: float) -> bool:
    """Say whether bounds on charge hold for a stand, and its blocks are of whole hours.

    Parameters
    ----------
    lanes : Lanes
    curves : BatteryCurves
    step_h : float
        Length of a block. [h]
    """
    if step_h < 1.0 or HOURS_PER_DAY % step_h:
        return False
    return bool(curves.monotone and (lanes.low_charge_shift > _LEAST_SHIFT).all())


def direct_stand(
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
    mornings_only: bool = False,
) -> Stand:
    """Return the stand of lanes that `runs_directly`; parameters as `stand.run_stand`."""
    hours = round(step_h)
    blocks = weather.blocks(hours, horizon_days)
    size = max(_LEAST_LANES, _CELLS // len(blocks.end_c))
    parts = []
    for first in range(0, max(len(lanes), 1), size):
        index = slice(first, min(first + size, len(lanes)))  # of views: nothing is copied
        part = lanes.take(index)
        rows, count = len(blocks.end_c) + 1, len(part)
        with ExitStack() as lent:
            run = DirectCharge(
                lanes=part,
                curves=curves,
                loads=loads.take(index),
                blocks=blocks,
                step_h=hours,
                keeps_all=course or to_the_end,
                snapshot_day=snapshot_day,
                every_day=bool(ends) or not loads.sunlit,
                # a course keeps the charge
                space=np.empty((rows, count))
                if course
                else lent.enter_context(borrowed(rows, count)),
                lend=lambda rows, columns: lent.enter_context(borrowed(rows, columns)),
            )
            asked = _Questions(lanes=part, curves=curves, weather=weather, blocks=blocks, run=run)
            parts.append(
                asked.mornings() if mornings_only else asked.stand(course=course, ends=ends)
            )
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
    """What is asked of some lanes whose charge is known; rows as in `DirectCharge`."""

    lanes: Lanes
    curves: BatteryCurves
    weather: WeatherLanes
    blocks: BlockWeather
    run: DirectCharge

    def __post_init__(self) -> None:
        """Ask at parking."""
        lanes, run = self.lanes, self.run
        self.lane = np.arange(len(lanes))
        self.step_h, self.per_day, self.days = run.step_h, run.per_day, run.days
        self.park_c = self._park_c()
        self.park_margin = self._margin(run.parked, self.park_c, run.base_a, self.lane, 0.0)
        self.frozen_at_once = self.park_c <= self.curves.freezes_at_c(run.parked)
        self.fails_at_once = self.frozen_at_once | (self.park_margin < 1.0)

    def _park_c(self) -> FloatArray:
        """Return each lane's temperature when it is parked."""
        found = np.empty(len(self.lanes))
        for day in np.unique(self.lanes.start_day):
            here = self.lanes.start_day == day
            found[here] = self.weather.at_day_c(int(day))[self.lanes.weather[here]]
        return found

    def _margin(
        self,
        charge: FloatArray,
        temperature_c: FloatArray,
        current_a: FloatArray,
        lane: Cells,
        at_h: FloatArray | IndexArray | float,
    ) -> FloatArray:
        lanes = self.lanes
        return self.curves.margin(
            lanes.usable_charge(self.curves, charge, drawn_a=current_a, at_h=at_h, lane=lane),
            temperature_c,
            lanes.demand_ratio[lane],
            lanes.oil_k[lane],
            lanes.cold_fall[lane],
        )

    # --- first hours ----------------------------------------------------------------------

    def no_start_h(self) -> FloatArray:
        """Return the first hour at which power fails, after parking. [h]."""
        run = self.run
        if run.charged:
            lane, row = self._may_fail()
        else:
            first = np.maximum(run.rows_above(run.bounds.sure), run.start_row + 1)
            last = np.maximum(run.rows_above(run.bounds.lost), run.start_row + 1)
            last = np.minimum(last, run.rows)  # it certainly fails in that one
            counts = np.where(self.fails_at_once, 0, np.maximum(last - first + 1, 0))
            lane = np.repeat(self.lane, counts)
            row = np.arange(len(lane)) - np.repeat(np.cumsum(counts) - counts - first, counts)
        low_c = self._weather_at(self.blocks.low_c, row, lane)
        charge, current_a = run.charge_at(row, lane), run.current_a(row, lane)
        suspect = self._margin(charge, low_c, current_a, lane, self.step_h * row) < 1.0
        return self._first_hour(row[suspect], lane[suspect], freezing=False)

    def _may_fail(self) -> tuple[IndexArray, IndexArray]:
        """Return (lanes, rows) of charge that may rise, up to the first that fails for certain."""
        run = self.run
        charge = run.charge[1:]
        lost = charge <= run.bounds.lost
        lost &= np.arange(1, run.rows + 1)[:, None] > run.start_row
        some = lost.any(axis=0)
        last = np.full(len(self.lanes), run.rows + 1)  # none
        last[some] = lost[:, some].argmax(axis=0) + 1
        lane, number = _in_lanes((charge <= run.bounds.sure) & ~lost)
        row = number + 1
        may = (row > run.start_row[lane]) & (row < last[lane]) & ~self.fails_at_once[lane]
        certain = np.flatnonzero(some & ~self.fails_at_once)
        lane, row = np.append(lane[may], certain), np.append(row[may], last[certain])
        order = np.argsort(lane, kind="stable")
        return lane[order], row[order]

    def freezing_h(self) -> FloatArray:
        """Return the first hour at which the electrolyte freezes, after parking. [h]."""
        low_c = self.blocks.low_c[: self.run.rows]
        lane, row = self._may_freeze(low_c, np.arange(1, len(low_c) + 1))
        after = (row > self.run.start_row[lane]) & ~self.frozen_at_once[lane]
        lane, row = lane[after], row[after]
        freezes_c = self.curves.freezes_at_c(self.run.charge_at(row, lane))
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
        may &= self.run.charge[rows[some]] <= highest[lanes.weather]
        lane, number = _in_lanes(may)
        return lane, rows[some][number]

    def _first_hour(self, row: IndexArray, lane: IndexArray, *, freezing: bool) -> FloatArray:
        """Return the first hour at which it happens in some blocks, per lane; inf for never. [h].

        Blocks come by their ends and lanes, lane by lane and in order.
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
        run = self.run
        hourly_c = self.weather.in_blocks_c(row - 1, self.step_h, self.lanes.weather[lane])
        hours = np.arange(1, self.step_h + 1)[:, None]
        before, after = run.charge_at(row - 1, lane), run.charge_at(row, lane)
        charge = after + (before - after) * (1.0 - hours / self.step_h)  # its own at the end
        if freezing:
            happening = hourly_c <= self.curves.freezes_at_c(charge)
        else:
            current_a = run.current_a(row, lane)
            at_h = self.step_h * (row - 1) + hours
            happening = self._margin(charge, hourly_c, current_a, lane, at_h) < 1.0
        hour = self.step_h * (row - 1.0) + 1.0 + happening.argmax(axis=0)
        return np.where(happening.any(axis=0), hour, np.inf)

    def _weather_at(self, values: FloatArray, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return values of blocks, shape (blocks, weathers), of those that end with some rows."""
        weather = self.lanes.weather[lane]
        return np.asarray(values.reshape(-1).take((row - 1) * values.shape[1] + weather))

    # --- start hours ----------------------------------------------------------------------

    def course(self) -> Trace:
        """Return charge, margin and temperature at every start hour; nan before parking."""
        lanes, run = self.lanes, self.run
        charge = run.charge[:: self.per_day]
        temperature_c, margin = np.empty_like(charge), np.empty_like(charge)
        end_c = self.blocks.end_c[self.per_day - 1 :: self.per_day]
        np.take(end_c, lanes.weather, axis=1, out=temperature_c[1:])
        for first in range(1, self.days + 1, _DAYS_AT_ONCE):
            part = slice(first, min(first + _DAYS_AT_ONCE, self.days + 1))
            row = self.per_day * np.arange(part.start, part.stop)[:, None]
            current_a = run.current_a(row, self.lane)
            margin[part] = self._margin(
                charge[part], temperature_c[part], current_a, slice(None), self.step_h * row
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
        run, start_day = self.run, self.lanes.start_day
        if course is not None:
            failing = course.margin < 1.0
        else:
            charge = run.charge[:: self.per_day]
            failing = np.ones((self.days + 1, len(self.lanes)), dtype=bool)  # after an early end
            np.less_equal(charge, run.bounds.lost, out=failing[: len(charge)])
            open_ = charge <= run.bounds.sure
            open_ &= ~failing[: len(charge)]
            open_[0] = False
            day, lane = np.divmod(np.flatnonzero(open_), len(self.lanes))
            row = self.per_day * day
            end_c = self._weather_at(self.blocks.end_c, row, lane)
            charge_then, current_a = run.charge_at(row, lane), run.current_a(row, lane)
            margin = self._margin(charge_then, end_c, current_a, lane, self.step_h * row)
            failing[day, lane] = margin < 1.0
        if run.can_freeze:
            end_c = self.blocks.end_c[self.per_day - 1 :: self.per_day]
            lane, row = self._may_freeze(end_c, self.per_day * np.arange(1, self.days + 1))
            freezes_c = self.curves.freezes_at_c(run.charge_at(row, lane))
            frozen = self._weather_at(self.blocks.end_c, row, lane) <= freezes_c
            failing[row // self.per_day, lane] |= frozen
        failing[start_day, self.lane] = self.fails_at_once
        if start_day.any():
            failing[np.arange(self.days + 1)[:, None] < start_day] = False
        return np.asarray(failing)

    def closing_day(self, no_start_h: FloatArray) -> IndexArray:
        """Return the day whose end closes each lane's balance: no start is left, or the last."""
        run = self.run
        if run.keeps_all or run.sunlit:
            return np.full(len(self.lanes), self.days)
        sure, perhaps = (
            -(-run.rows_above(level) // self.per_day)
            for level in (run.bounds.dead, run.bounds.perhaps_dead)
        )
        day = np.maximum(perhaps, self.lanes.start_day + 1)
        days = run.rows // self.per_day + 1
        open_ = np.flatnonzero((day < sure) & (day < days))
        while len(open_):
            row = self.per_day * day[open_]
            charge, current_a = run.charge_at(row, open_), run.current_a(row, open_)
            usable = self.lanes.usable_charge(
                self.curves, charge, drawn_a=current_a, at_h=self.step_h * row, lane=open_
            )
            open_ = open_[self.curves.cranking_by_charge_at(usable) > 0.0]
            day[open_] += 1
            open_ = open_[(day[open_] < sure[open_]) & (day[open_] < days)]
        day[run.base_a < 0.0] = self.days  # a charged lane is never let go
        failed = np.minimum(_day_of(no_start_h), self.days).astype(np.intp)
        return np.asarray(np.minimum(np.maximum(day, failed), self.days))

    def mornings(self) -> Stand:
        """Return a stand that knows its start hours only."""
        unasked = np.full(len(self.lanes), np.nan)
        balance = ChargeBalance(*[unasked] * len(ChargeBalance._fields))
        known: dict[str, Any] = {field.name: unasked for field in fields(Stand)}
        known |= {"balance": balance, "end_balance": balance, "no_start_daily": self.daily(None)}
        known |= {"trace": None, "daily_balance": None}
        return Stand(**{**known, "step_h": float(self.step_h), "held": self.weather.held})

    def stand(self, *, course: bool, ends: Sequence[Event]) -> Stand:
        """Return the finished stand."""
        lanes, run = self.lanes, self.run
        parked_h = HOURS_PER_DAY * lanes.start_day
        never = np.full(len(lanes), np.inf)
        freezing = self.freezing_h() if run.can_freeze else never
        freezing = np.where(self.frozen_at_once, parked_h, freezing)
        no_start = np.where(self.fails_at_once, parked_h, np.minimum(self.no_start_h(), freezing))
        empty = run.crossing_h(self.curves.lowest_charge)
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
            half_charge_h=run.crossing_h(HALF) - parked_h,
            empty_h=empty - parked_h,
            unit_off_h=run.modes.off_h - parked_h,
            freezing_h=freezing - parked_h,
            no_start_daily=daily,
            snapshot_charge=run.at_day(run.snapshot_day),
            balance=run.balance(self.closing_day(no_start)),
            end_balance=run.balance(end_day.astype(np.intp)),
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
            return np.asarray(np.ceil(self.run.modes.off_row / self.per_day))
        hours = {Event.NO_START: no_start, Event.EMPTY: empty, Event.FREEZING: freezing}
        return _day_of(hours[event])


def _in_lanes(there: BoolArray) -> tuple[IndexArray, IndexArray]:
    """Return (lanes, rows) of what is there, lane by lane and rows in order."""
    row, lane = np.divmod(np.flatnonzero(there), there.shape[1])
    order = np.argsort(lane, kind="stable")
    return lane[order], row[order]


def _day_of(hours: FloatArray) -> FloatArray:
    """Return the day in which something happens, counted by its end; inf for never."""
    return np.asarray(np.ceil(hours / HOURS_PER_DAY - 1e-9))
