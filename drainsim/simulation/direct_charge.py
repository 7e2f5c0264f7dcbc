"""The charge of every block end of many lanes, and what bounds on it decide.

One lean recursion in the share of full, row by row and in place; for a switching unit with the
voltage at each block's beginning. Lanes that change mode or, while charged, end empty in a block
are worked out anew by `parked_step`. Where charge only falls lanes run on past empty: when they
crossed it is worked out afterwards.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.self_discharge import hours_to_reach_h
from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.direct_bounds import bounds_of
from drainsim.simulation.direct_modes import DirectModes
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import HALF, ChargeBalance, after_key_off
from drainsim.simulation.parked_step import changing_modes
from drainsim.simulation.weather import BlockWeather

_DAY_H: Final = 24
_SERIES_BELOW: Final = 0.003  # of λ t: four terms of (1 - exp(-x))/x are exact to 1e-12 there


@dataclass(kw_only=True)
class DirectCharge:
    """Charge of some lanes. Rows of arrays are block ends, row 0 the beginning of the run.

    Parameters
    ----------
    lanes : Lanes
    curves : BatteryCurves
    loads : Loads
    blocks : BlockWeather
        Of all blocks, shape (blocks, weathers).
    step_h : int
        Length of a block, a divisor of 24. [h]
    keeps_all : bool
        Run to the horizon, whatever is decided before.
    snapshot_day : int
        Run to this day at least.
    space, unit_space : shape (blocks + 1, lanes)
        Where charge and the unit's charge are written; the second may have no rows without a
        switching unit.

    Attributes
    ----------
    charge : shape (rows + 1, lanes)
        Share of full; the row of parking before a lane is parked.
    bounds : Bounds
        What charges decide whatever the hour.
    """

    lanes: Lanes
    curves: BatteryCurves
    loads: Loads
    blocks: BlockWeather
    step_h: int
    keeps_all: bool
    snapshot_day: int
    space: FloatArray
    unit_space: FloatArray

    def __post_init__(self) -> None:
        """Work out the charge of all block ends."""
        lanes, curves = self.lanes, self.curves
        self.per_day = _DAY_H // self.step_h
        self.days = len(self.blocks.end_c) // self.per_day
        self.start_row = self.per_day * lanes.start_day
        self.at_parking = after_key_off(lanes)
        self.parked = self.at_parking.left_ah / lanes.full_ah
        self.floor = np.minimum(curves.lowest_charge, self.parked)
        self.base_a = lanes.quiescent_a + lanes.other_a
        changing = changing_modes(lanes, self.loads, curves)
        self.modes = DirectModes(lanes=lanes, loads=self.loads, curves=curves, changing=changing)
        self.sunlit = self.loads.sunlit
        self.charged = self.sunlit or bool((lanes.other_a < 0.0).any())
        self.steady = self.modes.steady and not self.charged
        self.steady_a = self.base_a + (self.modes.linear_a if self.steady else 0.0)
        self.bounds = bounds_of(
            lanes,
            curves,
            self.blocks,
            least_a=np.zeros(len(lanes)) if self.charged else self.base_a + self.modes.least_a,
            most_a=lanes.quiescent_a + np.maximum(lanes.other_a, 0.0) + self.modes.most_a,
        )
        coldest = float(self.blocks.low_c.min())
        self.can_freeze = coldest <= float(curves.freezing_c.max())
        self._run_down()
        if not self.charged:
            self._empty()

    # --- the charge of all block ends -----------------------------------------------------

    def _run_down(self) -> None:
        """Fill the rows of charge, past empty where nothing stops it, and of the unit's charge."""
        lanes, blocks = self.lanes, self.blocks
        hours = float(self.step_h)
        count, rows = len(lanes), len(blocks.end_c)
        self.charge, self.unit_ah = self.space, self.unit_space
        self.charge[0] = self.parked
        self.unit_ah[:1] = 0.0
        self.part_of_last = np.full(count, np.nan)  # of a split block that ends empty
        self.rows = rows
        loss_h = lanes.loss_per_h * hours
        series = float(loss_h.max(initial=0.0) * blocks.loss_scale.max()) < _SERIES_BELOW
        base = self.steady_a * hours / lanes.full_ah
        days = self.days + 1 if self.charged else 0
        self.other_ah, self.refused_ah, self.idle_h = np.zeros((3, days, count))
        sums = np.zeros((3, count))  # of the three, as they run
        self.refused_now = np.zeros(count)  # in the present block
        per_full = 1.0 / lanes.full_ah
        decay, part, load, rest_v, volts = np.empty((5, count))
        segment = np.empty(count, dtype=np.intp)
        warmth_v = self.curves.resting_per_k * (blocks.mean_c - self.curves.resting_reference_c)
        waiting = np.flatnonzero(self.start_row > 0)
        self._rest_v(self.charge[0], rest_v, part, segment)
        for row in range(rows):
            now, then = self.charge[row], self.charge[row + 1]
            np.take(blocks.loss_scale[row], lanes.weather, out=decay)
            decay *= loss_h
            if self.steady:
                np.multiply(decay, now, out=load)
                load += base
            else:
                np.take(warmth_v[row], lanes.weather, out=volts)
                volts += lanes.resting_offset_v
                rest_v += volts
                np.divide(self.modes.power_w, rest_v, out=part)
                part += self.modes.linear_a
                if self.charged:
                    other_a = self._other_a(row, slice(None))
                    sums[0] += other_a * hours
                    base = (lanes.quiescent_a + other_a) * per_full * hours
                part *= hours
                np.add(self.unit_ah[row], part, out=self.unit_ah[row + 1])
                part *= per_full
                np.multiply(decay, now, out=load)
                load += base
                load += part
            _shrink(load, decay, part, series=series)
            np.subtract(now, load, out=then)
            if not self.steady:
                if self.charged:
                    below = then < np.minimum(self.curves.lowest_charge, now)
                    np.maximum(then - 1.0, 0.0, out=part)  # refused by a full battery
                    then -= part
                    np.multiply(part, lanes.full_ah, out=self.refused_now)
                    sums[1] += self.refused_now
                elif self.modes.changing:
                    np.maximum(then, self.floor, out=then)
                if self.charged or self.modes.changing:
                    self._rest_v(then, part, load, segment)
                    np.add(part, volts, out=load)
                    may = self.modes.may_change(rest_v, load)
                    if self.charged:
                        may |= below
                    may[waiting] = False
                    if may.any():
                        self._split(row + 1, np.flatnonzero(may), decay, sums)
                self._rest_v(then, rest_v, part, segment)
            if len(waiting):
                then[waiting] = self.parked[waiting]
                self.unit_ah[row + 1 : row + 2, waiting] = 0.0
                sums[:, waiting] = 0.0
                rest_v[waiting] = self.curves.resting_lines().at(self.parked[waiting])
            if (row + 1) % self.per_day == 0:
                if self.charged:
                    day = (row + 1) // self.per_day
                    self.other_ah[day], self.refused_ah[day], self.idle_h[day] = sums
                if len(waiting):
                    waiting = waiting[self.start_row[waiting] > row + 1]
                if self._nothing_left(row + 1):
                    self.rows = row + 1
                    break
        self.charge = self.charge[: self.rows + 1]
        self.split_at, self.split_a = self.modes.last_currents()

    def _rest_v(
        self, charge: FloatArray, out: FloatArray, space: FloatArray, segment: IndexArray
    ) -> None:
        """Write the resting voltage at the reference temperature, in place."""
        resting = self.curves.resting_lines()
        np.multiply(charge, resting.per_x, out=space)
        np.maximum(space, 0.0, out=space)
        np.copyto(segment, space, casting="unsafe")
        space -= segment
        np.take(resting.rise, segment, out=out, mode="clip")
        out *= space
        np.take(resting.y, segment, out=space, mode="clip")
        out += space

    def _other_a(self, row: IndexArray | int, lane: IndexArray | slice) -> FloatArray:
        """Return the other loads less what chargers bring in the block that begins at a row."""
        loads, lanes = self.loads, self.lanes
        other_a, brought_a = lanes.other_a[lane], np.zeros(1)
        if self.sunlit:
            wide = loads.charging_a.shape[1] > 1
            brought_a = loads.charging_a[row // self.per_day, lane if wide else slice(None)]
            if not wide and not isinstance(row, int):
                brought_a = brought_a[:, 0]
        if np.isfinite(loads.lowest_charging_c).any():
            wide = len(loads.lowest_charging_c) > 1
            lowest_c = loads.lowest_charging_c[lane if wide else slice(None)]
            cold = self.blocks.mean_c[row, lanes.weather[lane]] < lowest_c
            other_a = np.where(cold, np.maximum(other_a, 0.0), other_a)
            brought_a = np.where(cold, 0.0, brought_a)
        return np.asarray(other_a - brought_a)

    def _split(self, row: int, lane: IndexArray, decay: FloatArray, sums: FloatArray) -> None:
        """Work out lanes anew that change mode or end empty in the block before a row."""
        hours, before = float(self.step_h), self.charge[row - 1, lane]
        state, flow, _ = self.modes.split(
            lane,
            row=row,
            charge=before,
            hours=hours,
            mean_c=self.blocks.mean_c[row - 1, self.lanes.weather[lane]],
            loss_per_h=decay[lane] / hours,
        )
        drawn_ah = flow.unit_ah
        if self.charged:
            sums[0, lane] += flow.other_ah - self._other_a(row - 1, lane) * hours
            sums[1, lane] += flow.refused_ah - self.refused_now[lane]
            sums[2, lane] += hours - flow.hours
        else:
            part = flow.hours / hours
            emptied = (state.charge <= self.floor[lane]) & (before > self.floor[lane])
            self.part_of_last[lane[emptied]] = part[emptied]
            # What a block that ends empty drew is spread over the whole of it, as rows are read.
            drawn_ah = drawn_ah / np.where(emptied, part, 1.0)
        self.charge[row, lane] = state.charge
        self.unit_ah[row, lane] = self.unit_ah[row - 1, lane] + drawn_ah

    def _nothing_left(self, row: int) -> bool:
        """Say whether no answer can change any more: no start is left in any lane."""
        first = max(self.per_day * self.snapshot_day, int(self.start_row.max()) + 1)
        if self.keeps_all or self.charged or self.can_freeze or row < first:
            return False
        charge = self.charge[row]
        if float(charge[0]) > self.bounds.dead[0]:
            return False
        return bool(
            (charge <= np.minimum(np.minimum(self.bounds.dead, self.bounds.lost), HALF)).all()
        )

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
            current_a=self.current_a(last, lane) / lanes.full_ah,
            loss_per_h=lanes.loss_per_h * scale,
        )
        until = np.where(np.isnan(self.part_of_last), until, self.part_of_last * self.step_h)
        until = np.where(self.empty_row > self.start_row, np.minimum(until, self.step_h), 0.0)
        self.flowing_rows = np.where(full_run, np.inf, self.empty_row - 1.0)
        self.flowing_rows = np.where(
            self.empty_row > self.start_row, self.flowing_rows, self.start_row
        )
        self.last_part = np.where(full_run, 0.0, until / self.step_h)
        np.maximum(self.charge, self.floor, out=self.charge)

    # --- read-outs ------------------------------------------------------------------------

    def charge_at(self, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return the charge of some rows and lanes, shape (cells,)."""
        return _cells(self.charge, row, lane)

    def current_a(self, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return the current of the blocks that end with some rows (≥ 1), unless empty. [A]."""
        if self.steady:
            return np.asarray(self.steady_a[lane])
        in_block = _cells(self.unit_ah, row, lane) - _cells(self.unit_ah, row - 1, lane)
        current_a = self.base_a[lane] + in_block / self.step_h
        if self.charged:
            current_a += self._other_a(row - 1, lane) - self.lanes.other_a[lane]
        if len(self.split_at):
            place = row * len(self.lanes) + lane
            found = np.minimum(np.searchsorted(self.split_at, place), len(self.split_at) - 1)
            current_a = np.where(self.split_at[found] == place, self.split_a[found], current_a)
        return np.asarray(current_a)

    def daily_current_a(self, days: slice) -> FloatArray:
        """Return the current of the last block before some days (≥ 1), shape (days, lanes). [A]."""
        if self.steady:
            return self.steady_a
        row = self.per_day * np.arange(days.start, days.stop)
        current_a = self.base_a + (self.unit_ah[row] - self.unit_ah[row - 1]) / self.step_h
        if self.charged:
            for number, begin in enumerate(row - 1):
                current_a[number] += self._other_a(int(begin), slice(None)) - self.lanes.other_a
        split_row, lane = np.divmod(self.split_at, len(self.lanes))
        here = (split_row >= row[0]) & (split_row <= row[-1]) & (split_row % self.per_day == 0)
        current_a[split_row[here] // self.per_day - days.start, lane[here]] = self.split_a[here]
        return np.asarray(current_a)

    def at_day(self, day: IndexArray | int) -> FloatArray:
        """Return each lane's charge on a day, the nearest it has."""
        row = np.clip(self.per_day * day, self.start_row, self.rows)
        return self.charge_at(row, np.arange(len(self.lanes)))

    def _unit_ah(self, rows: FloatArray, lane: IndexArray) -> FloatArray:
        """Return what the unit has drawn by a row, parts of a block by straight lines. [Ah]."""
        since_h = (rows - self.start_row[lane]) * self.step_h
        if self.steady:
            return np.asarray(self.modes.linear_a[lane] * since_h)
        whole = np.minimum(rows.astype(np.intp), self.rows)
        after = np.minimum(whole + 1, self.rows)
        before_ah = self.unit_ah[whole, lane]
        drawn = before_ah + (rows - whole) * (self.unit_ah[after, lane] - before_ah)
        return np.asarray(drawn)

    def balance(self, day: IndexArray) -> ChargeBalance:
        """Return each lane's charge balance at the end of a day."""
        lanes = self.lanes
        lane = np.arange(len(lanes))
        if self.charged:
            return self._charged_balance(day, lane)
        row = np.minimum(self.per_day * day, self.rows).astype(float)
        row = np.where(self.flowing_rows < row, self.flowing_rows + self.last_part, row)
        hours = (row - self.start_row) * self.step_h
        vehicle_ah = self.at_parking.vehicle_ah + lanes.quiescent_a * hours
        unit_ah = self.at_parking.unit_ah + self._unit_ah(row, lane)
        other_ah = lanes.other_a * hours
        left_ah = self.at_day(day) * lanes.full_ah
        return ChargeBalance(
            vehicle_ah=vehicle_ah,
            unit_ah=unit_ah,
            other_ah=other_ah,
            lost_ah=lanes.start_ah - vehicle_ah - unit_ah - other_ah - left_ah,
            refused_ah=np.zeros(len(lanes)),
            left_ah=left_ah,
        )

    def _charged_balance(self, day: IndexArray, lane: IndexArray) -> ChargeBalance:
        lanes, row = self.lanes, self.per_day * day
        hours = (row - self.start_row) * self.step_h - self.idle_h[day, lane]
        vehicle_ah = self.at_parking.vehicle_ah + lanes.quiescent_a * hours
        unit_ah = self.at_parking.unit_ah + self.unit_ah[row, lane]
        other_ah, refused_ah = self.other_ah[day, lane], self.refused_ah[day, lane]
        left_ah = self.at_day(day) * lanes.full_ah
        return ChargeBalance(
            vehicle_ah=vehicle_ah,
            unit_ah=unit_ah,
            other_ah=other_ah,
            lost_ah=lanes.start_ah - (vehicle_ah + unit_ah + other_ah + refused_ah + left_ah),
            refused_ah=refused_ah,
            left_ah=left_ah,
        )

    def first_row_at(self, level: float | FloatArray) -> IndexArray:
        """Return the first row with a charge at a level or below, rows + 1 for none."""
        if not self.charged:
            return np.asarray((self.charge > level).sum(axis=0))
        there = self.charge <= level
        return np.where(there.any(axis=0), there.argmax(axis=0), self.rows + 1)

    def crossing_h(self, level: float) -> FloatArray:
        """Return when the charge falls to a level, by straight lines within a block. [h]."""
        above = self.first_row_at(level)
        row = np.clip(above, 1, self.rows)
        lane = np.arange(len(self.lanes))
        before, after = self.charge[row - 1, lane], self.charge[row, lane]
        share = np.clip((before - level) / np.maximum(before - after, 1e-300), 0.0, 1.0)
        hours = (row - 1 + share) * self.step_h
        hours = np.where(above > self.rows, np.inf, hours)
        return np.where(above <= self.start_row, self.step_h * self.start_row, hours)


def _cells(values: FloatArray, row: IndexArray, lane: IndexArray) -> FloatArray:
    """Return values of some rows and lanes; values lie row behind row."""
    return np.asarray(values.reshape(-1).take(row * values.shape[1] + lane))


def _shrink(load: FloatArray, decay: FloatArray, space: FloatArray, *, series: bool) -> None:
    """Multiply a load by (1 - exp(-decay)) / decay, in place."""
    if series:
        np.multiply(decay, 1.0 / 24.0, out=space)
        space -= 1.0 / 6.0
        space *= decay
        space += 0.5
        space *= decay
        space *= load
        load -= space
    else:
        np.divide(-np.expm1(-decay), decay, out=space, where=decay > 0.0)
        space[decay <= 0.0] = 1.0
        load *= space
