"""The lean recursion of a direct stand: the charge of every block end, row by row and in place.

In shares of full; for a switching unit with the voltage at each block's beginning. Lanes that may
change mode are worked out anew by `parked_step`; lanes that end a block empty are dated by the
exact inverse of the step.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.self_discharge import hours_to_reach_h, mean_factor
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.standing.direct_modes import DirectModes
from drainsim.simulation.weather import BlockWeather

_ROWS_AT_ONCE: Final = 8  # of what the weather alone decides: fits the processor's cache


@dataclass(kw_only=True)
class DirectRows:
    """Rows of some lanes: charge and what the unit drew, as shares of full.

    Parameters
    ----------
    lanes : Lanes
    curves : BatteryCurves
    loads : Loads
    blocks : BlockWeather
    modes : DirectModes
    step_h : int
    parked, floor : shape (lanes,)
        Charge at parking, and the charge that is never undercut.
    start_row : shape (lanes,)
        Row at which each lane is parked.
    charge, unit : shape (rows + 1, lanes)
        Written; `unit` only where the unit's current follows the battery's voltage.
    days : shape (3, days + 1, lanes)
        Written where something charges: what other loads less chargers drew and what a full
        battery refused, as shares, and the blocks in which nothing could flow, by each day's end.
        Of fewer days the last one holds the latest.
    """

    lanes: Lanes
    curves: BatteryCurves
    loads: Loads
    blocks: BlockWeather
    modes: DirectModes
    step_h: int
    parked: FloatArray
    floor: FloatArray
    start_row: IndexArray
    charge: FloatArray
    unit: FloatArray
    days: FloatArray

    def __post_init__(self) -> None:
        """Begin at parking."""
        lanes, count = self.lanes, len(self.lanes)
        self.charged = self.loads.sunlit or bool((lanes.other_a < 0.0).any())
        self.by_voltage = not self.modes.steady
        self.per_day = 24 // self.step_h
        self.part_of_last = np.full(count, np.nan)  # of a split block that ends empty
        self._cold_matters = bool(np.isfinite(self.loads.lowest_charging_c).any())
        self._waiting = np.flatnonzero(self.start_row > 0)
        self._block = self.step_h / lanes.full_ah  # share of full of one ampere over a block
        self._steady = lanes.quiescent_a * self._block
        if not self.by_voltage:
            self._steady += self.modes.linear_a * self._block
        self._other = lanes.other_a * self._block
        self._base = self._steady + self._other
        self._sums = np.zeros((3, count))  # as `days`, as they run
        self._space, self._volts, self._begin_v, self._after_v = np.empty((4, count))
        self._drawn, self._load, self._refused, self._power, self._linear = np.empty((5, count))
        self._segment = np.empty(count, dtype=np.intp)
        self._resting = self.curves.resting_lines
        self._fullest = int(self.parked.argmax())  # most often the last to be empty
        self.charge[0] = self.parked
        self.unit[:1] = 0.0
        self.days[:, :1] = 0.0
        if self.by_voltage:
            self._take_modes(np.arange(count))
            self._rest(self.charge[0])

    def run(self, *, ends_at: Callable[[int, bool], bool]) -> int:
        """Fill all rows, or as many as are wanted; return their number.

        Parameters
        ----------
        ends_at : callable
            Asked with each row that is a day's end, and whether charge can still rise after it:
            nothing need be known any more.
        """
        lanes, blocks = self.lanes, self.blocks
        rows = len(blocks.end_c)
        loss_h = lanes.loss_per_h * self.step_h
        longest = float(loss_h.max(initial=0.0) * blocks.loss_scale.max())
        warmth_v = self.curves.resting_per_k * (blocks.mean_c - self.curves.resting_reference_c)
        decay, kept, volts = np.empty((3, _ROWS_AT_ONCE, len(lanes)))
        whole_days = self.per_day * max(1, _ROWS_AT_ONCE // self.per_day)
        for begin in range(0, rows, whole_days):
            end = min(begin + whole_days, rows)
            if self._empty_for_ever(begin) and ends_at(begin, False):
                return begin
            if self._stays_empty(begin, end):
                continue
            for first in range(begin, end, _ROWS_AT_ONCE):
                part = slice(first, min(first + _ROWS_AT_ONCE, end))
                count = part.stop - first
                np.take(blocks.loss_scale[part], lanes.weather, 1, decay[:count], "clip")
                decay[:count] *= loss_h
                mean_factor(decay[:count], most=longest, out=kept[:count])
                if self.by_voltage:
                    np.take(warmth_v[part], lanes.weather, 1, volts[:count], "clip")
                    volts[:count] += lanes.resting_offset_v
                for row in range(first, part.stop):
                    self._step(row, decay[row - first], kept[row - first], volts[row - first])
                    if (row + 1) % self.per_day == 0 and self._day_ends(row + 1, ends_at):
                        return row + 1
        return rows

    def _empty(self, row: int) -> bool:
        """Say whether all lanes are empty at a row, and no unit changes mode."""
        charge, fullest = self.charge[row], self._fullest
        if len(self._waiting) or self.modes.changing or charge[fullest] > self.floor[fullest]:
            return False
        return bool((charge <= self.floor).all())

    def _empty_for_ever(self, row: int) -> bool:
        """Say whether all lanes are empty at a row and never will be more."""
        if not self._empty(row):
            return False
        most_a = self.loads.charging_a.max(axis=0, initial=0.0)
        return bool((self._steady + (self.lanes.other_a - most_a) * self._block > 0.0).all())

    def _stays_empty(self, begin: int, end: int) -> bool:
        """Say whether all lanes are empty at a row and nothing lifts one until another; fill."""
        if not self._empty(begin):
            return False
        charge = self.charge[begin]
        days = range(begin // self.per_day, end // self.per_day)
        for day in days if self.charged else ():
            other_a = self._warm_a(self.per_day * day, slice(None))  # a cold one gains no more
            if (self._steady + other_a * self._block <= 0.0).any():
                return False
        self.charge[begin + 1 : end + 1] = charge
        self.unit[begin + 1 : end + 1] = self.unit[begin : begin + 1]
        for day in days if self.charged else ():
            self._sums[2] += self.per_day
            self.days[:, min(day + 1, self.days.shape[1] - 1)] = self._sums
        return True

    def _day_ends(self, row: int, ends_at: Callable[[int, bool], bool]) -> bool:
        if self.charged:
            self.days[:, min(row // self.per_day, self.days.shape[1] - 1)] = self._sums
        if len(self._waiting):
            self._waiting = self._waiting[self.start_row[self._waiting] > row]
        return ends_at(row, self.charged)

    def _step(self, row: int, decay: FloatArray, kept: FloatArray, volts: FloatArray) -> None:
        """Fill the row after a block; `volts` is what warmth and offsets add to a resting one."""
        now, then, load = self.charge[row], self.charge[row + 1], self._load
        if self.charged:
            self._charge_block(row)
        np.multiply(decay, now, out=load)
        load += self._base
        if self.by_voltage:
            np.add(self._volts, volts, out=self._begin_v)
            np.divide(self._power, self._begin_v, out=self._drawn)
            self._drawn += self._linear
            np.add(self.unit[row], self._drawn, out=self.unit[row + 1])
            load += self._drawn
        load *= kept
        np.subtract(now, load, out=then)
        if len(self._waiting):
            then[self._waiting] = self.parked[self._waiting]
        if self.charged:
            self._refuse(then)
        elif self.modes.changing:
            np.maximum(then, self.floor, out=then)
        self._limit(row, decay, volts)
        if len(self._waiting):
            self.unit[row + 1 : row + 2, self._waiting] = 0.0
            self._sums[:, self._waiting] = 0.0

    def _limit(self, row: int, decay: FloatArray, volts: FloatArray) -> None:
        """Put right the lanes that change mode or end empty within the block after a row."""
        now, then = self.charge[row], self.charge[row + 1]
        lowest = self.curves.lowest_charge
        empty = self.charged and float(then.min(initial=1.0)) < lowest
        if empty:
            fresh = (then < lowest) & (now > lowest)
            still = (then < now) & (now <= lowest)
            np.copyto(then, now, where=still)
        may = self._may_change(then, volts)
        if empty:
            if may is not None:
                may |= fresh
                still &= ~may
            elif fresh.any():
                self._become_empty(row, np.flatnonzero(fresh), decay)
            self._stay_empty(row, still)
        if may is not None and may.any():
            self._split(row, np.flatnonzero(may), decay)

    def _may_change(self, then: FloatArray, volts: FloatArray) -> BoolArray | None:
        """Return which units might change mode in a block; None where none ever does."""
        if not self.by_voltage:
            return None
        self._rest(then)
        if not self.modes.changing:
            return None
        np.add(self._volts, volts, out=self._after_v)
        may = self.modes.may_change(self._begin_v, self._after_v)
        may[self._waiting] = False
        return may

    # --- parts of a block -----------------------------------------------------------------

    def _rest(self, charge: FloatArray) -> None:
        """Take over the resting voltage at the reference temperature."""
        self._resting.write(charge, out=self._volts, space=self._space, segment=self._segment)

    def _take_modes(self, lane: IndexArray) -> None:
        """Take over what the units of some lanes draw in their modes."""
        self._power[lane] = self.modes.power_w[lane] * self._block[lane]
        self._linear[lane] = self.modes.linear_a[lane] * self._block[lane]

    def other_a(self, row: IndexArray | int, lane: IndexArray | slice) -> FloatArray:
        """Return the other loads less what chargers bring in the block that begins at a row."""
        found = self._warm_a(row, lane)
        if not self._cold_matters:
            return found
        lowest_c = self.loads.lowest_charging_c
        wide = len(lowest_c) > 1
        cold = self.blocks.mean_c[row, self.lanes.weather[lane]] < lowest_c[lane if wide else 0]
        return np.where(cold, np.maximum(self.lanes.other_a[lane], 0.0), found)

    def _warm_a(self, row: IndexArray | int, lane: IndexArray | slice) -> FloatArray:
        """Return the same where no battery is too cold to be charged."""
        loads, other_a = self.loads, self.lanes.other_a[lane]
        if not loads.sunlit:
            return other_a
        wide = loads.charging_a.shape[1] > 1
        return np.asarray(other_a - loads.charging_a[row // self.per_day, lane if wide else 0])

    def _charge_block(self, row: int) -> None:
        """Take over what chargers bring in the block after a row."""
        if self._cold_matters or row % self.per_day == 0:
            np.multiply(self.other_a(row, slice(None)), self._block, out=self._other)
            np.add(self._steady, self._other, out=self._base)
        self._sums[0] += self._other

    def _refuse(self, then: FloatArray) -> None:
        """Keep what a full battery refuses."""
        np.subtract(then, 1.0, out=self._refused)
        np.maximum(self._refused, 0.0, out=self._refused)
        then -= self._refused
        self._sums[1] += self._refused

    def _stay_empty(self, row: int, still: BoolArray) -> None:
        """Take back what lanes cannot have drawn in the block after a row."""
        np.multiply(self._other, still, out=self._space)
        self._sums[0] -= self._space
        self._sums[2] += still
        if self.by_voltage:
            np.copyto(self.unit[row + 1], self.unit[row], where=still)

    def _become_empty(self, row: int, lane: IndexArray, decay: FloatArray) -> None:
        """Let charged lanes end the block after a row empty: nothing flows from then on."""
        lowest, before = self.curves.lowest_charge, self.charge[row, lane]
        load = self._base[lane] + (self._drawn[lane] if self.by_voltage else 0.0)
        part = hours_to_reach_h(before, lowest, current_a=load, loss_per_h=decay[lane])
        idle = 1.0 - np.minimum(part, 1.0)  # part of the block
        self.charge[row + 1, lane] = lowest
        self._sums[0, lane] -= idle * self._other[lane]
        self._sums[2, lane] += idle
        if self.by_voltage:
            self.unit[row + 1, lane] -= idle * self._drawn[lane]
            self.modes.drew(row + 1, lane, load / self._block[lane])
            self._volts[lane] = self._resting.at(np.full(len(lane), lowest))

    def _split(self, row: int, lane: IndexArray, decay: FloatArray) -> None:
        """Work out lanes anew that change mode in the block after a row."""
        hours, before = float(self.step_h), self.charge[row, lane]
        full_ah = self.lanes.full_ah[lane]
        state, flow, _ = self.modes.split(
            lane,
            row=row + 1,
            charge=before,
            hours=hours,
            mean_c=self.blocks.mean_c[row, self.lanes.weather[lane]],
            loss_per_h=decay[lane] / hours,
        )
        drawn = flow.unit_ah / full_ah
        if self.charged:
            self._sums[0, lane] += flow.other_ah / full_ah - self._other[lane]
            self._sums[1, lane] += flow.refused_ah / full_ah - self._refused[lane]
            self._sums[2, lane] += 1.0 - flow.hours / hours
        else:
            part = flow.hours / hours
            emptied = (state.charge <= self.floor[lane]) & (before > self.floor[lane])
            self.part_of_last[lane[emptied]] = part[emptied]
            # What a block that ends empty drew is spread over the whole of it, as rows are read.
            drawn /= np.where(emptied, part, 1.0)
        self.charge[row + 1, lane] = state.charge
        self.unit[row + 1, lane] = self.unit[row, lane] + drawn
        self._take_modes(lane)
        self._volts[lane] = self._resting.at(state.charge)
