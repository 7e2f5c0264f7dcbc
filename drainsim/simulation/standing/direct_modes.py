"""The units' modes in a direct stand: few lanes change one in a block, and only those are split."""

from dataclasses import dataclass, replace

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.standing.parked_step import ParkedState, ParkedStep, parked_step
from drainsim.units import HOURS_PER_DAY

_SLACK_V = 1e-9  # lanes that near a threshold are split too; the exact step decides


@dataclass(kw_only=True)
class DirectModes:
    """What each lane's unit draws in its mode, and where it changes mode.

    Parameters
    ----------
    lanes : Lanes
    loads : Loads
    curves : BatteryCurves
    changing : tuple of int
        From `parked_step.changing_modes`; of no modes at all, nothing ever changes.

    Attributes
    ----------
    linear_a, power_w : shape (lanes,)
        Current of a linear stage [A] and power of a switching one [W] in the present mode.
    least_a, most_a : shape (lanes,)
        Bounds of each unit's current in any mode and at any voltage. [A]
    off_h, off_row : shape (lanes,)
        When a unit switched itself off [h], and the row that ends the block; inf for never.
    """

    lanes: Lanes
    loads: Loads
    curves: BatteryCurves
    changing: tuple[int, ...]

    def __post_init__(self) -> None:
        """Begin in the first mode."""
        lanes, loads, count = self.lanes, self.loads, len(self.lanes)
        rated_a = np.broadcast_to(loads.current_a, (len(loads.current_a), count))
        self._rated_a = rated_a * lanes.unit_factor
        self._switching = np.broadcast_to(loads.switching, count)
        self._rated_at_v = np.broadcast_to(loads.rated_at_v, count)
        self.mode: IndexArray = np.zeros(count, dtype=np.intp)
        self.linear_a, self.power_w = np.empty((2, count))
        self._enter_v, self._leave_v = np.empty((2, count))  # where modes change
        self.off_h = np.full(count, np.inf)
        self.off_row = np.full(count, np.inf)
        self._splits: list[tuple[int, IndexArray, FloatArray]] = []
        self._settle(np.arange(count))
        modes = slice(None) if self.changing else slice(1)
        linear_a = np.where(self._switching, 0.0, self._rated_a)[modes]
        power_w = np.where(self._switching, self._rated_a * self._rated_at_v, 0.0)[modes]
        lowest_v = self.curves.lowest_resting_v() + lanes.resting_offset_v
        self.least_a = linear_a.min(axis=0)
        self.most_a = (linear_a + power_w / lowest_v).max(axis=0)

    @property
    def steady(self) -> bool:
        """Whether every unit draws one current all along."""
        return not self.changing and not (self.power_w > 0.0).any()

    def _settle(self, lane: IndexArray) -> None:
        """Take over the currents and thresholds of some lanes' modes."""
        loads, mode = self.loads, self.mode[lane]
        rated_a = self._rated_a[mode, lane]
        self.linear_a[lane] = np.where(self._switching[lane], 0.0, rated_a)
        self.power_w[lane] = np.where(self._switching[lane], rated_a * self._rated_at_v[lane], 0.0)
        if self.changing:
            self._enter_v[lane] = loads.enters_v(mode, lane) + _SLACK_V  # nan: never below it
            self._leave_v[lane] = loads.leaves_v(mode, lane) - _SLACK_V
            self._leaves = bool(np.isfinite(self._leave_v).any())

    def may_change(self, before_v: FloatArray, after_v: FloatArray) -> BoolArray:
        """Return which lanes might change mode between two voltages of a block."""
        may: BoolArray = np.minimum(before_v, after_v) < self._enter_v
        if self._leaves:
            may |= before_v > self._leave_v
        return may

    def split(
        self,
        lane: IndexArray,
        *,
        row: int,
        charge: FloatArray,
        hours: float,
        mean_c: FloatArray,
        loss_per_h: FloatArray,
    ) -> ParkedStep:
        """Carry lanes that might change mode over the block before a row, exactly.

        Parameters
        ----------
        lane : shape (splits,)
        row : int
        charge : shape (splits,)
            At the beginning of the block.
        hours : float
            Length of the block. [h]
        mean_c, loss_per_h : shape (splits,)
            As of `parked_step`.
        """
        mode = self.mode[lane]
        found = parked_step(
            ParkedState(charge=charge, mode=mode, current_a=charge),
            lanes=self.lanes.take(lane),
            loads=self._loads_of(lane, int((row - 1) * hours // HOURS_PER_DAY)),
            curves=self.curves,
            changing=self.changing,
            from_h=(row - 1) * hours,
            hours=hours,
            mean_c=mean_c,
            loss_per_h=loss_per_h,
        )
        self.mode[lane] = found.state.mode
        off = found.off_h < self.off_h[lane]
        self.off_h[lane[off]] = found.off_h[off]
        self.off_row[lane[off]] = row
        self.drew(row, lane, found.state.current_a)
        changed = found.state.mode != mode
        if changed.any():
            self._settle(lane[changed])
        return found

    def drew(self, row: int, lane: IndexArray, current_a: FloatArray) -> None:
        """Keep what some lanes drew at the end of the block before a row, unlike its mean."""
        self._splits.append((row, lane, current_a))

    def _loads_of(self, lane: IndexArray, day: int) -> Loads:
        """Return the loads of some lanes; what charges them is that day's, whatever is asked."""
        loads = self.loads
        if not loads.sunlit or len(loads.switching) == 1:
            return loads.take(lane)
        today_a = loads.charging_a[day, lane]
        narrow = replace(loads, charging_a=np.zeros((0, len(self.lanes)))).take(lane)
        return replace(
            narrow, charging_a=np.broadcast_to(today_a, (len(loads.charging_a), len(lane)))
        )

    def last_currents(self) -> tuple[IndexArray, FloatArray]:
        """Return the current at the end of each split block, by its place row behind row."""
        if not self._splits:
            return np.zeros(0, dtype=np.intp), np.zeros(0)
        count = len(self.lanes)
        places = [row * count + lane for row, lane, _ in self._splits]
        return np.concatenate(places), np.concatenate([amps for _, _, amps in self._splits])
