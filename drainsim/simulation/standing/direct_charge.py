"""The charge of every block end of many lanes, and what bounds on it decide.

The recursion itself is `direct_rows`. Where charge only falls lanes run on past empty: when they
crossed it is worked out afterwards.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.self_discharge import hours_to_reach_h
from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import HALF, ChargeBalance, after_key_off
from drainsim.simulation.standing.direct_bounds import bounds_of
from drainsim.simulation.standing.direct_modes import DirectModes
from drainsim.simulation.standing.direct_rows import DirectRows
from drainsim.simulation.standing.parked_step import changing_modes
from drainsim.simulation.weather import BlockWeather

_DAY_H: Final = 24


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
    every_day : bool
        Keep the balance of every day where something charges, not the last day's only.
    space : shape (blocks + 1, lanes)
        Where charge is written.
    lend : callable
        Lends further space of some rows and columns.

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
    every_day: bool
    space: FloatArray
    lend: Callable[[int, int], FloatArray]

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
        self.by_voltage = not self.modes.steady
        self.steady = not self.by_voltage and not self.charged
        self.bounds = bounds_of(
            lanes,
            curves,
            self.blocks,
            least_a=np.zeros(len(lanes)) if self.charged else self.base_a + self.modes.least_a,
            most_a=lanes.quiescent_a + np.maximum(lanes.other_a, 0.0) + self.modes.most_a,
        )
        coldest = float(self.blocks.low_c.min())
        self.can_freeze = coldest <= float(curves.freezing_c.max())
        rows = self._space()
        self.rows = rows.run(ends_at=self._nothing_left)
        self.charge, self.unit, self.daily = rows.charge[: self.rows + 1], rows.unit, rows.days
        self._other_a = rows.other_a
        self.split_at, self.split_a = self.modes.last_currents()
        if not self.charged:
            self._empty(rows.part_of_last)

    def _space(self) -> DirectRows:
        """Return the rows still to be filled."""
        count, ends = len(self.lanes), len(self.blocks.end_c) + 1
        days = self.days + 1 if self.charged and self.every_day else 1
        return DirectRows(
            lanes=self.lanes,
            curves=self.curves,
            loads=self.loads,
            blocks=self.blocks,
            modes=self.modes,
            step_h=self.step_h,
            parked=self.parked,
            floor=self.floor,
            start_row=self.start_row,
            charge=self.space,
            unit=self.lend(ends if self.by_voltage else 0, count),
            days=self.lend(3 * days, count).reshape(3, days, count),
        )

    def _nothing_left(self, row: int, may_rise: bool) -> bool:
        """Say whether no answer can change any more: no start is left in any lane."""
        first = max(self.per_day * self.snapshot_day, int(self.start_row.max()) + 1)
        if self.keeps_all or may_rise or self.can_freeze or row < first:
            return False
        charge = self.space[row]
        if float(charge[0]) > self.bounds.dead[0]:
            return False
        return bool(
            (charge <= np.minimum(np.minimum(self.bounds.dead, self.bounds.lost), HALF)).all()
        )

    def _empty(self, part_of_last: FloatArray) -> None:
        """Find when each lane is empty; from then on it stays so and nothing flows."""
        lanes = self.lanes
        # Its end is the first empty one, or beyond the last.
        empty_row = np.maximum(self.rows_above(self.floor), self.start_row)
        last = np.clip(empty_row, 1, self.rows)
        lane = np.arange(len(lanes))
        scale = self.blocks.loss_scale[last - 1, lanes.weather]
        until = hours_to_reach_h(
            self.charge[last - 1, lane],
            self.floor,
            current_a=self.current_a(last, lane) / lanes.full_ah,
            loss_per_h=lanes.loss_per_h * scale,
        )
        until = np.where(np.isnan(part_of_last), until, part_of_last * self.step_h)
        flows = empty_row > self.start_row
        self.flowing_rows = np.where(flows, empty_row - 1.0, self.start_row)
        self.last_part = np.where(flows, np.minimum(until / self.step_h, 1.0), 0.0)
        np.maximum(self.charge, self.floor, out=self.charge)

    # --- read-outs ------------------------------------------------------------------------

    def charge_at(self, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return the charge of some rows and lanes, shape (cells,)."""
        return _cells(self.charge, row, lane)

    def current_a(self, row: IndexArray, lane: IndexArray) -> FloatArray:
        """Return the current of the blocks that end with some rows (≥ 1), unless empty. [A]."""
        if not self.by_voltage:
            current_a = self.base_a[lane] + self.modes.linear_a[lane]
        else:
            drawn = _cells(self.unit, row, lane) - _cells(self.unit, row - 1, lane)
            current_a = self.base_a[lane] + drawn * self.lanes.full_ah[lane] / self.step_h
        if self.charged:
            current_a = current_a + self._other_a(row - 1, lane) - self.lanes.other_a[lane]
        if len(self.split_at):
            place = row * len(self.lanes) + lane
            found = np.minimum(np.searchsorted(self.split_at, place), len(self.split_at) - 1)
            current_a = np.where(self.split_at[found] == place, self.split_a[found], current_a)
        return np.asarray(current_a)

    def at_day(self, day: IndexArray | int) -> FloatArray:
        """Return each lane's charge on a day, the nearest it has."""
        row = np.clip(self.per_day * day, self.start_row, self.rows)
        return self.charge_at(row, np.arange(len(self.lanes)))

    def _unit_ah(self, rows: FloatArray, lane: IndexArray) -> FloatArray:
        """Return what the unit has drawn by a row, parts of a block by straight lines. [Ah]."""
        if not self.by_voltage:
            return np.asarray(self.modes.linear_a * (rows - self.start_row) * self.step_h)
        whole = np.minimum(rows.astype(np.intp), self.rows)
        after = np.minimum(whole + 1, self.rows)
        before = self.unit[whole, lane]
        drawn = before + (rows - whole) * (self.unit[after, lane] - before)
        return np.asarray(drawn * self.lanes.full_ah)

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
        lanes, day = self.lanes, np.minimum(day, self.rows // self.per_day)
        row = self.per_day * day
        other, refused, idle = self.daily[:, np.minimum(day, self.daily.shape[1] - 1), lane]
        hours = (row - self.start_row - idle) * self.step_h
        vehicle_ah = self.at_parking.vehicle_ah + lanes.quiescent_a * hours
        drawn = (
            self.unit[row, lane] * lanes.full_ah if self.by_voltage else self.modes.linear_a * hours
        )
        unit_ah = self.at_parking.unit_ah + drawn
        other_ah, refused_ah = other * lanes.full_ah, refused * lanes.full_ah
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
            return self.rows_above(level)
        there = self.charge <= level
        return np.where(there.any(axis=0), there.argmax(axis=0), self.rows + 1)

    def rows_above(self, level: float | FloatArray) -> IndexArray:
        """Return how many rows have a charge above a level, where charge only falls."""
        lane = np.arange(len(self.lanes))
        above, not_above = np.zeros_like(lane), np.full_like(lane, self.rows + 1)
        for _ in range((self.rows + 1).bit_length()):
            row = (above + not_above) // 2
            there = self.charge_at(np.minimum(row, self.rows), lane) > level
            there &= above < not_above
            above = np.where(there, row + 1, above)
            not_above = np.where(there, not_above, np.minimum(row, not_above))
        return above

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
