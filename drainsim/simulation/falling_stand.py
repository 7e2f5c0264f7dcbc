"""A stand in which the charge only falls: every lane and block at once, questions by bounds.

Most stands have no charger and no unit that changes mode: charge falls from block to block, so
the start margin at a given temperature falls too. Then the charge of all blocks is one lean
recursion, and only between the charge that starts in the coldest hour of the stand and the charge
that does not in its warmest is anything looked up. The same numbers as `stepped_stand`, block by
block (charge to 1e-9, the same failing hour), in a fraction of the time.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Final

import numpy as np

from drainsim.physics.capacity import rate_deficit_ah
from drainsim.physics.self_discharge import hours_to_reach_h
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import HALF, ChargeBalance, Stand, Trace, parked_charge
from drainsim.simulation.weather import BlockWeather, WeatherLanes
from drainsim.units import HOURS_PER_DAY

_DAY_H: Final = 24
_SLACK: Final = 1e-9  # of a charge between certain and asked: above any rounding of either
_SERIES_BELOW: Final = 0.01  # of λ t: four terms of (1 - exp(-x))/x are exact to 1e-12 there
_CELLS: Final = 2_000_000  # blocks x lanes of one part: 16 MB
_LEAST_LANES: Final = 1_000  # of a part: fewer cost more calls than they save
_DAYS_AT_ONCE: Final = 8  # of a course: what is worked on fits the processor's cache


def only_falls(lanes: Lanes, curves: BatteryCurves, loads: Loads, *, step_h: float) -> bool:
    """Say whether a stand is one of falling charge and unchanging loads, in whole-hour blocks.

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
    lowest_v = curves.lowest_resting_v() + lanes.resting_offset_v.min(initial=0.0)
    may_charge = lanes.other_a < 0.0
    return bool(
        not loads.sunlit
        and curves.monotone
        and not (loads.enter_below_v > lowest_v).any()
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
    ends: Sequence[str],
) -> Stand:
    """Return the stand of lanes for which `only_falls` holds; parameters as `stand.run_stand`."""
    hours = round(step_h)
    blocks = weather.blocks(hours, horizon_days)
    size = max(_LEAST_LANES, _CELLS // len(blocks.end_c))
    parts = []
    for first in range(0, max(len(lanes), 1), size):
        index = np.arange(first, min(first + size, len(lanes)))
        part = _Part(
            lanes=lanes.take(index),
            curves=curves,
            loads=loads.take(index),
            weather=weather,
            blocks=blocks,
            step_h=hours,
            keeps_all=course or to_the_end,
            snapshot_day=snapshot_day,
        )
        parts.append(part.result(course=course, ends=ends))
    return parts[0] if len(parts) == 1 else _joined(parts, held=weather.held)


def _joined(parts: Sequence[Stand], *, held: int) -> Stand:
    """Return the stands of parts of the lanes as one."""

    def along(values: Sequence[FloatArray]) -> FloatArray:
        return np.concatenate(values, axis=-1)

    joined = {
        field.name: along([getattr(part, field.name) for part in parts])
        for field in fields(Stand)
        if isinstance(getattr(parts[0], field.name), np.ndarray)
    }
    traces = [part.trace for part in parts if part.trace is not None]
    trace = None
    if traces:
        kept = ("charge", "margin", "temperature_c")
        trace = Trace(**{name: along([getattr(t, name) for t in traces]) for name in kept})
    return Stand(
        **joined,
        balance=ChargeBalance(*map(along, zip(*(part.balance for part in parts), strict=True))),
        end_balance=ChargeBalance(
            *map(along, zip(*(part.end_balance for part in parts), strict=True))
        ),
        step_h=parts[0].step_h,
        held=held,
        trace=trace,
    )


@dataclass(kw_only=True)
class _Part:
    """Some lanes of a stand. Rows of arrays are block ends, row 0 the beginning of the run."""

    lanes: Lanes
    curves: BatteryCurves
    loads: Loads
    weather: WeatherLanes
    blocks: BlockWeather
    step_h: int
    keeps_all: bool
    snapshot_day: int

    def __post_init__(self) -> None:
        """Work out the charge of all block ends."""
        lanes, curves = self.lanes, self.curves
        self.per_day = _DAY_H // self.step_h
        self.days = len(self.blocks.end_c) // self.per_day
        self.start_row = self.per_day * lanes.start_day
        self.parked, self.once = parked_charge(lanes)
        self.floor = np.minimum(curves.lowest_charge, self.parked)
        self.base_a = lanes.quiescent_a + lanes.other_a
        rated_a = lanes.unit_factor * self.loads.current_a[0]
        switching = np.broadcast_to(self.loads.switching, rated_a.shape)
        self.switches = bool((switching & (rated_a > 0.0)).any())
        self.linear_a = np.where(switching, 0.0, rated_a)
        self.power_w = np.where(switching, rated_a * self.loads.rated_at_v, 0.0)
        self._bound_charges()
        self._run_down()
        self._empty()

    # --- bounds ---------------------------------------------------------------------------

    def _bound_charges(self) -> None:
        """Work out above which charge every start works, below which none does."""
        lanes, curves, blocks = self.lanes, self.curves, self.blocks
        lowest_v = curves.lowest_resting_v() + lanes.resting_offset_v
        unit_a = self.linear_a + self.power_w / lowest_v
        most, least = (self._deficit(self.base_a + unit) for unit in (unit_a, self.linear_a))
        cold, warm = (
            curves.temperature_factor_at(bound[lanes.weather], lanes.oil_k, lanes.cold_fall)
            for bound in (blocks.low_c.min(axis=0), blocks.end_c.max(axis=0))
        )
        with np.errstate(divide="ignore"):
            starts = curves.charge_that_cranks(lanes.demand_ratio / cold)
            fails = curves.charge_that_cranks(lanes.demand_ratio / warm)
        lowest = curves.lowest_charge
        self.sure = np.maximum(self._charge_of(starts, most), lowest) + _SLACK
        lost = self._charge_of(fails, least) - _SLACK
        self.lost = np.where(fails > 0.0, np.maximum(lost, lowest), -1.0)
        zeros = int(np.searchsorted(curves.cranking_by_charge, 0.0, side="right"))
        self.dead = np.full(len(lanes), -1.0)  # no current at all is left there
        self.perhaps_dead = self.dead
        if zeros:
            none = np.full(len(lanes), curves.charge[zeros - 1])
            self.dead = np.maximum(self._charge_of(none, least) - _SLACK, lowest)
            self.perhaps_dead = np.maximum(self._charge_of(none, most) + _SLACK, lowest)
        coldest = float(blocks.low_c.min())
        self.can_freeze = coldest <= float(curves.freezing_c.max())

    def _deficit(self, current_a: FloatArray) -> FloatArray:
        """Return the share of a full charge that a current keeps out of reach."""
        behind = rate_deficit_ah(np.maximum(current_a, 0.0), low_rate_gain=self.curves.low_rate_gain)
        return behind / self.lanes.full_ah

    def _charge_of(self, usable: FloatArray, deficit: FloatArray) -> FloatArray:
        """Return the charge of which a part is usable; the inverse of `curves.usable_charge`."""
        shift = self.lanes.low_charge_shift
        near = (usable + shift) / (1.0 + shift)
        return np.where(usable > 1.0, 2.0, np.where(usable < 0.0, -1.0, near + deficit))

    # --- the charge of all block ends -----------------------------------------------------

    def _run_down(self) -> None:
        """Fill the rows of charge, past empty where nothing stops it, and of the unit's charge."""
        lanes, blocks = self.lanes, self.blocks
        hours = float(self.step_h)
        count, rows = len(lanes), len(blocks.end_c)
        self.charge = np.empty((rows + 1, count))
        self.charge[0] = self.parked
        self.unit_ah = np.zeros((rows + 1, count)) if self.switches else np.zeros((0, count))
        per_full = hours / lanes.full_ah
        base = (self.base_a + self.linear_a) * per_full
        loss_h = lanes.loss_per_h * hours
        series = float(loss_h.max() * blocks.loss_scale.max()) < _SERIES_BELOW
        resting = self.curves.resting_lines()
        warmth_v = self.curves.resting_per_k * (blocks.mean_c - self.curves.resting_reference_c)
        per_full_power = self.power_w * per_full
        decay, part, load, volts, share = np.empty((5, count))
        segment = np.empty(count, dtype=np.intp)
        waiting = np.flatnonzero(self.start_row > 0)
        self.rows = rows
        for row in range(rows):
            now, then = self.charge[row], self.charge[row + 1]
            np.take(blocks.loss_scale[row], lanes.weather, out=decay)
            decay *= loss_h
            if self.switches:
                np.multiply(now, resting.per_x, out=share)
                np.maximum(share, 0.0, out=share)
                np.copyto(segment, share, casting="unsafe")
                share -= segment
                share *= resting.rise.take(segment)
                np.take(warmth_v[row], lanes.weather, out=volts)
                volts += lanes.resting_offset_v
                volts += resting.y.take(segment)
                volts += share
                np.divide(self.power_w, volts, out=part)
                part *= hours
                np.add(self.unit_ah[row], part, out=self.unit_ah[row + 1])
                np.divide(per_full_power, volts, out=load)
                load += base
            else:
                load[:] = base
            np.multiply(decay, now, out=share)
            load += share
            if series:
                np.multiply(decay, 1.0 / 24.0, out=part)
                part -= 1.0 / 6.0
                part *= decay
                part += 0.5
                part *= decay
                part *= load
                load -= part
            else:
                np.divide(-np.expm1(-decay), decay, out=part, where=decay > 0.0)
                part[decay <= 0.0] = 1.0
                load *= part
            np.subtract(now, load, out=then)
            if len(waiting):
                then[waiting] = self.parked[waiting]
                if self.switches:
                    self.unit_ah[row + 1, waiting] = 0.0
            if (row + 1) % self.per_day == 0:
                if len(waiting):
                    waiting = waiting[self.start_row[waiting] > row + 1]
                if not len(waiting) and self._nothing_left(row + 1):
                    self.rows = row + 1
                    break
        self.charge = self.charge[: self.rows + 1]

    def _nothing_left(self, row: int) -> bool:
        """Say whether no answer can change any more: no start is left in any lane."""
        if self.keeps_all or self.can_freeze or row < self.per_day * self.snapshot_day:
            return False
        charge = self.charge[row]
        if float(charge[0]) > self.dead[0]:
            return False
        return bool((charge <= np.minimum(np.minimum(self.dead, self.lost), HALF)).all())

    def _empty(self) -> None:
        """Find when each lane is empty; from then on it stays so and nothing flows."""
        lanes = self.lanes
        above = (self.charge > self.floor).sum(axis=0)  # rows are in order: falling
        self.empty_row = np.maximum(above, self.start_row)  # its end is the first empty one
        full_run = above > self.rows
        last = np.clip(self.empty_row, 1, self.rows)
        lane = np.arange(len(lanes))
        scale = self.blocks.loss_scale[last - 1, lanes.weather]
        until = hours_to_reach_h(
            self.charge[last - 1, lane],
            self.floor,
            current_a=self._current_a(last, lane) / lanes.full_ah,
            loss_per_h=lanes.loss_per_h * scale,
        )
        until = np.where(self.empty_row > self.start_row, np.minimum(until, self.step_h), 0.0)
        self.flowing_rows = np.where(full_run, np.inf, self.empty_row - 1.0)
        self.flowing_rows = np.where(
            self.empty_row > self.start_row, self.flowing_rows, self.start_row
        )
        self.last_part = np.where(full_run, 0.0, until / self.step_h)
        np.maximum(self.charge, self.floor, out=self.charge)

    def _unit_ah(self, rows: FloatArray, lane: IndexArray) -> FloatArray:
        """Return what the unit has drawn by a row, parts of a block by straight lines. [Ah]."""
        since_h = (rows - self.start_row[lane]) * self.step_h
        drawn = self.linear_a[lane] * since_h
        if self.switches:
            whole = np.minimum(rows.astype(np.intp), self.rows)
            after = np.minimum(whole + 1, self.rows)
            before_ah = self.unit_ah[whole, lane]
            drawn = drawn + before_ah + (rows - whole) * (self.unit_ah[after, lane] - before_ah)
        return np.asarray(drawn)

    def _current_a(self, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return the current of the block that ends with a row (≥ 1), unless empty. [A]."""
        current_a = self.base_a[lane] + self.linear_a[lane]
        if self.switches:
            in_block = self.unit_ah[row, lane] - self.unit_ah[row - 1, lane]
            current_a = current_a + in_block / self.step_h
        return np.asarray(current_a)

    # --- questions ------------------------------------------------------------------------

    def _usable(self, charge: FloatArray, current_a: FloatArray, lane: IndexArray) -> FloatArray:
        return self.curves.usable_charge(
            charge,
            drawn_a=current_a,
            full_ah=self.lanes.full_ah[lane],
            low_charge_shift=self.lanes.low_charge_shift[lane],
        )

    def _margin(
        self,
        charge: FloatArray,
        temperature_c: FloatArray,
        current_a: FloatArray,
        lane: IndexArray,
    ) -> FloatArray:
        lanes = self.lanes
        return self.curves.margin(
            self._usable(charge, current_a, lane),
            temperature_c,
            lanes.demand_ratio[lane],
            lanes.oil_k[lane],
            lanes.cold_fall[lane],
        )

    def _crossing_h(self, level: float) -> FloatArray:
        """Return when the charge falls to a level, by straight lines within a block. [h]."""
        above = (self.charge > level).sum(axis=0)
        row = np.clip(above, 1, self.rows)
        lane = np.arange(len(self.lanes))
        before, after = self.charge[row - 1, lane], self.charge[row, lane]
        share = np.clip((before - level) / np.maximum(before - after, 1e-300), 0.0, 1.0)
        hours = (row - 1 + share) * self.step_h
        hours = np.where(above > self.rows, np.inf, hours)
        return np.where(above <= self.start_row, self.step_h * self.start_row, hours)

    def _first_hour(self, first: IndexArray, last: IndexArray, *, freezing: bool) -> FloatArray:
        """Return the first hour at which a start fails, or the electrolyte freezes. [h].

        Parameters
        ----------
        first, last : shape (lanes,)
            Rows to look at, both ends included; none where last is before first.
        freezing : bool
            Ask for freezing instead of a failing start.
        """
        counts = np.maximum(last - first + 1, 0)
        lane = np.repeat(np.arange(len(counts)), counts)
        begins = np.repeat(np.cumsum(counts) - counts, counts)
        row = np.arange(len(lane)) - begins + first[lane]
        low_c = self.blocks.low_c[row - 1, self.lanes.weather[lane]]
        charge, current_a = self.charge[row, lane], self._current_a(row, lane)
        if freezing:
            suspect = low_c <= self.curves.freezes_at_c(charge)
        else:
            suspect = self._margin(charge, low_c, current_a, lane) < 1.0
        lane, row, current_a = lane[suspect], row[suspect], current_a[suspect]
        found = np.full(len(counts), np.inf)
        at_once = 1
        while len(lane):
            fresh = np.flatnonzero(np.diff(lane, prepend=-1))  # first suspect of each lane
            ahead = np.arange(len(lane)) - np.repeat(fresh, np.diff(np.append(fresh, len(lane))))
            now = ahead < at_once
            hour, happens = self._inside(row[now], lane[now], current_a[now], freezing=freezing)
            np.minimum.at(found, lane[now][happens], hour[happens])
            left = ~now & np.isinf(found[lane])
            lane, row, current_a = lane[left], row[left], current_a[left]
            at_once *= 2
        return found

    def _inside(
        self, row: IndexArray, lane: IndexArray, current_a: FloatArray, *, freezing: bool
    ) -> tuple[FloatArray, BoolArray]:
        """Return (first hour it happens at [h], whether it does) for blocks that end with a row."""
        warm_c = self.weather.in_blocks_c(row - 1, self.step_h, self.lanes.weather[lane])
        share = (np.arange(1, self.step_h + 1) / self.step_h)[:, None]
        before, after = self.charge[row - 1, lane], self.charge[row, lane]
        charge = before + (after - before) * share
        if freezing:
            happening = warm_c <= self.curves.freezes_at_c(charge)
        else:
            happening = self._margin(charge, warm_c, current_a, lane) < 1.0
        hour = self.step_h * (row - 1.0) + 1.0 + happening.argmax(axis=0)
        return hour, happening.any(axis=0)

    def _frozen_row(self) -> IndexArray:
        """Return the first row from which a lane might be frozen, rows + 1 for none."""
        if not self.can_freeze:
            return np.full(len(self.lanes), self.rows + 1)
        coldest = self.blocks.low_c.min(axis=0)[self.lanes.weather]
        falling_c = self.curves.freezing_c[::-1]  # rising for numpy
        known = np.searchsorted(falling_c, coldest, side="left")  # charges that freeze there
        charge = self.curves.charge[::-1]
        until = np.where(known == len(charge), -1.0, charge[np.maximum(known - 1, 0)])
        return np.asarray((self.charge > until + _SLACK).sum(axis=0))

    def result(self, *, course: bool, ends: Sequence[str]) -> Stand:
        """Return the finished stand."""
        lanes, lane = self.lanes, np.arange(len(self.lanes))
        parked_h = HOURS_PER_DAY * lanes.start_day
        park_c = self._park_c()
        park_margin = self._margin(self.parked, park_c, self.base_a, lane)
        frozen_at_once = park_c <= self.curves.freezes_at_c(self.parked)
        fails_at_once = frozen_at_once | (park_margin < 1.0)
        first = np.maximum((self.charge > self.sure).sum(axis=0), self.start_row + 1)
        last = np.minimum((self.charge > self.lost).sum(axis=0), self.rows)
        last = np.maximum(last, np.minimum(self.start_row + 1, self.rows))
        no_start = self._first_hour(first, np.where(fails_at_once, -1, last), freezing=False)
        freezing = np.full(len(lanes), np.inf)
        frozen_row = self._frozen_row()
        if self.can_freeze:
            rows = np.maximum(frozen_row, self.start_row + 1)
            until = np.where(frozen_at_once, -1, self.rows)
            freezing = self._first_hour(rows, until, freezing=True)
            freezing = np.where(frozen_at_once, parked_h, freezing)
        no_start = np.where(fails_at_once, parked_h, np.minimum(no_start, freezing))
        empty = self._crossing_h(self.curves.lowest_charge)
        trace = self._course(park_c, park_margin) if course else None
        daily = self._daily(trace)
        if self.can_freeze:
            self._freeze(daily, frozen_row)
        daily[lanes.start_day, lane] = fails_at_once
        daily[np.arange(self.days + 1)[:, None] < lanes.start_day] = False
        starts = daily.argmax(axis=0)
        times = {"no_start": no_start, "empty": empty, "freezing": freezing}
        ended = np.min([times.get(name, np.full(len(lanes), np.inf)) for name in ends], axis=0)
        end_day = np.maximum(np.ceil(ended / HOURS_PER_DAY - 1e-9), lanes.start_day + 1.0)
        end_day = np.minimum(end_day, float(self.days))
        never = np.full(len(lanes), np.inf)
        return Stand(
            no_start_h=no_start - parked_h,
            start_hour_no_start_h=np.where(daily.any(axis=0), HOURS_PER_DAY * starts, np.inf)
            - parked_h,
            half_charge_h=self._crossing_h(HALF) - parked_h,
            empty_h=empty - parked_h,
            unit_off_h=never,
            freezing_h=freezing - parked_h,
            no_start_daily=daily,
            snapshot_charge=self._at_day(self.charge, np.full(len(lanes), self.snapshot_day)),
            balance=self._balance(self._closing_day(no_start)),
            end_balance=self._balance(end_day.astype(np.intp)),
            end_day=np.where(np.isfinite(ended), end_day, float(self.days)) - lanes.start_day,
            step_h=float(self.step_h),
            held=self.weather.held,
            trace=trace,
        )

    def _park_c(self) -> FloatArray:
        """Return each lane's temperature when it is parked."""
        days = np.unique(self.lanes.start_day)
        at_day = {int(day): self.weather.at_day_c(int(day)) for day in days}
        if len(days) == 1:
            return at_day[int(days[0])][self.lanes.weather]
        found = np.empty(len(self.lanes))
        for day, warm_c in at_day.items():
            here = self.lanes.start_day == day
            found[here] = warm_c[self.lanes.weather[here]]
        return found

    def _at_day(self, values: FloatArray, day: IndexArray) -> FloatArray:
        """Return each lane's value on a day, of its first or last one before or after them."""
        row = np.clip(self.per_day * day, self.start_row, self.rows)
        return np.asarray(values[row, np.arange(len(self.lanes))])

    def _course(self, park_c: FloatArray, park_margin: FloatArray) -> Trace:
        """Return charge, margin and temperature at every start hour; nan before parking."""
        lanes = self.lanes
        charge = self.charge[:: self.per_day].copy()
        warm_c = np.empty_like(charge)
        np.take(self.blocks.end_c[self.per_day - 1 :: self.per_day], lanes.weather, axis=1,
                out=warm_c[1:])
        warm_c[0] = park_c
        margin = np.empty_like(charge)
        every = slice(None)
        for first in range(1, self.days + 1, _DAYS_AT_ONCE):
            part = slice(first, min(first + _DAYS_AT_ONCE, self.days + 1))
            current_a = self.base_a + self.linear_a
            if self.switches:
                row = self.per_day * np.arange(part.start, part.stop)
                drawn = self.unit_ah[row] - self.unit_ah[row - 1]
                current_a = current_a + drawn / self.step_h
            margin[part] = self._margin(charge[part], warm_c[part], current_a, every)
        margin[0] = park_margin
        if lanes.start_day.any():
            lane = np.arange(len(lanes))
            warm_c[lanes.start_day, lane] = park_c
            margin[lanes.start_day, lane] = park_margin
            before = np.arange(self.days + 1)[:, None] < lanes.start_day
            for values in (charge, warm_c, margin):
                values[before] = np.nan
        return Trace(charge=charge, margin=margin, temperature_c=warm_c)

    def _daily(self, trace: Trace | None) -> BoolArray:
        """Return whether a start fails for want of power on each day of the run after its first."""
        if trace is not None:
            return np.asarray(trace.margin < 1.0)
        charge = self.charge[:: self.per_day]
        failing = np.ones((self.days + 1, len(self.lanes)), dtype=bool)  # the rest of an early end
        fails = failing[: len(charge)]
        np.less_equal(charge, self.lost, out=fails)
        open_ = (charge <= self.sure) & ~fails
        open_[0] = False
        day, lane = np.nonzero(open_)
        row = self.per_day * day
        end_c = self.blocks.end_c[row - 1, self.lanes.weather[lane]]
        margin = self._margin(charge[day, lane], end_c, self._current_a(row, lane), lane)
        fails[day, lane] = margin < 1.0
        return failing

    def _freeze(self, daily: BoolArray, frozen_row: IndexArray) -> None:
        """Let the starts of frozen batteries fail."""
        days = np.arange(1, self.days + 1)
        day, lane = np.nonzero(self.per_day * days[:, None] >= frozen_row)
        day = day + 1
        row = self.per_day * day
        end_c = self.blocks.end_c[row - 1, self.lanes.weather[lane]]
        daily[day, lane] |= end_c <= self.curves.freezes_at_c(self.charge[row, lane])

    # --- charge balance -------------------------------------------------------------------

    def _closing_day(self, no_start: FloatArray) -> IndexArray:
        """Return the day whose end closes each lane's balance: no start is left, or the last."""
        if self.keeps_all:
            return np.full(len(self.lanes), self.days)
        charge = self.charge[:: self.per_day]
        sure = (charge > self.dead).sum(axis=0)
        day = np.maximum((charge > self.perhaps_dead).sum(axis=0), self.lanes.start_day + 1)
        open_ = np.flatnonzero((day < sure) & (day < len(charge)))
        while len(open_):
            row = self.per_day * day[open_]
            usable = self._usable(
                self.charge[row, open_], self._current_a(row, open_), open_
            )
            still = self.curves.cranking_by_charge_at(usable) > 0.0
            open_ = open_[still]
            day[open_] += 1
            open_ = open_[(day[open_] < sure[open_]) & (day[open_] < len(charge))]
        failed = np.minimum(np.ceil(no_start / HOURS_PER_DAY - 1e-9), self.days)
        return np.minimum(np.maximum(day, failed.astype(np.intp)), self.days)

    def _balance(self, day: IndexArray) -> ChargeBalance:
        """Return each lane's charge balance at the end of a day."""
        lanes = self.lanes
        lane = np.arange(len(lanes))
        row = np.minimum(self.per_day * day, self.rows).astype(float)
        row = np.where(self.flowing_rows < row, self.flowing_rows + self.last_part, row)
        hours = (row - self.start_row) * self.step_h
        vehicle_ah = lanes.vehicle_once_ah * self.once + lanes.quiescent_a * hours
        unit_ah = lanes.unit_once_ah * self.once + self._unit_ah(row, lane)
        other_ah = lanes.other_a * hours
        left_ah = self._at_day(self.charge, day) * lanes.full_ah
        return ChargeBalance(
            vehicle_ah=vehicle_ah,
            unit_ah=unit_ah,
            other_ah=other_ah,
            lost_ah=lanes.start_ah - vehicle_ah - unit_ah - other_ah - left_ah,
            refused_ah=np.zeros(len(lanes)),
            left_ah=left_ah,
        )
