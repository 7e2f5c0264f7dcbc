"""One step of a parked battery: loads, self-discharge, chargers, and the unit's modes.

The stand and the weeks of driving share it. A step is integrated exactly and split where the unit
changes mode or the battery is empty, in shares of full, so that a charge that fell to a limit lies
on it and not a rounding beside it.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from drainsim.physics.self_discharge import charge_step_ah, hours_to_reach_h
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads


@dataclass(frozen=True, slots=True, kw_only=True)
class ParkedState:
    """Charge as a share of full, the unit's mode, and the current drawn last [A]; per lane."""

    charge: FloatArray
    mode: IndexArray
    current_a: FloatArray

    @classmethod
    def at(cls, charge: FloatArray, lanes: Lanes) -> "ParkedState":
        """Return the state of lanes at a charge whose units begin in their first mode."""
        return cls(
            charge=charge,
            mode=np.zeros(len(charge), dtype=np.intp),
            current_a=lanes.quiescent_a + lanes.other_a,
        )

    def take(self, index: IndexArray) -> "ParkedState":
        """Return the state of some lanes."""
        return ParkedState(
            charge=self.charge[index], mode=self.mode[index], current_a=self.current_a[index]
        )

    def joined(self, other: "ParkedState") -> "ParkedState":
        """Return the state of these lanes and others behind them."""
        return ParkedState(
            charge=np.concatenate([self.charge, other.charge]),
            mode=np.concatenate([self.mode, other.mode]),
            current_a=np.concatenate([self.current_a, other.current_a]),
        )


class Flow(NamedTuple):
    """What a step moved, per lane: hours in which loads drew, and charge. [h, Ah].

    `other_ah` is net of what chargers of a parked battery bring.
    """

    hours: FloatArray
    vehicle_ah: FloatArray
    unit_ah: FloatArray
    other_ah: FloatArray
    lost_ah: FloatArray
    refused_ah: FloatArray


class ParkedStep(NamedTuple):
    """Result of a step; `off_h` says when a unit switched itself off in it, inf otherwise. [h]."""

    state: ParkedState
    flow: Flow
    off_h: FloatArray


def changing_modes(lanes: Lanes, loads: Loads, curves: BatteryCurves) -> tuple[int, ...]:
    """Return the numbers of the modes that begin at a voltage some lane's battery can show.

    Parameters
    ----------
    lanes : Lanes
    loads : Loads
    curves : BatteryCurves
    """
    lowest_v = curves.lowest_resting_v() + lanes.resting_offset_v.min(initial=0.0)
    return tuple(np.flatnonzero((loads.enter_below_v > lowest_v).any(axis=1)).tolist())


def parked_step(
    state: ParkedState,
    *,
    lanes: Lanes,
    loads: Loads,
    curves: BatteryCurves,
    changing: tuple[int, ...],
    from_h: float,
    hours: float | FloatArray,
    mean_c: FloatArray,
    loss_per_h: FloatArray,
) -> ParkedStep:
    """Carry parked batteries over a step within one day.

    Parameters
    ----------
    state : ParkedState
        At the beginning of the step.
    lanes : Lanes
    loads : Loads
    curves : BatteryCurves
    changing : tuple of int
        From `changing_modes`.
    from_h : float
        Beginning of the step; chargers bring what they do on its day. [h]
    hours : float or array, shape (lanes,)
        Length of the step. [h]
    mean_c : shape (lanes,)
        Mean battery temperature of the step. [°C]
    loss_per_h : shape (lanes,)
        Mean self-discharge rate of the step. [1/h]

    Returns
    -------
    ParkedStep
    """
    charge, mode = state.charge, state.mode
    off_h = np.full(len(charge), np.inf)
    battery_v = curves.resting_at_v(charge, mean_c) + lanes.resting_offset_v
    if changing:
        mode = _settled(mode, loads, changing, battery_v)
        off_h[(mode != state.mode) & (mode == loads.off_mode)] = from_h
    other_a = loads.net_other_a(lanes.other_a, from_h, mean_c)
    whole_h = left_h = np.broadcast_to(np.asarray(hours, dtype=float), charge.shape)
    flow: Flow | None = None
    for _ in range(len(loads.current_a) + 1):
        unit_a = lanes.unit_factor * loads.unit_a(mode, battery_v)
        current_a = lanes.quiescent_a + other_a + unit_a
        per_h = current_a / lanes.full_ah
        lowest = _next_change(charge, mode, mean_c, lanes, loads, curves, changing)
        after, lost = charge_step_ah(charge, current_a=per_h, loss_per_h=loss_per_h, hours=left_h)
        stretch_h = left_h
        changes: BoolArray = after < lowest
        if changes.any():
            until = hours_to_reach_h(charge, lowest, current_a=per_h, loss_per_h=loss_per_h)
            changes &= until < left_h
            stretch_h = np.where(changes, until, left_h)
            after, lost = charge_step_ah(
                charge, current_a=per_h, loss_per_h=loss_per_h, hours=stretch_h
            )
            after = np.where(changes, lowest, after)
        kept = np.minimum(after, 1.0)  # a full battery refuses more
        moved = Flow(
            stretch_h,
            lanes.quiescent_a * stretch_h,
            unit_a * stretch_h,
            other_a * stretch_h,
            lost * lanes.full_ah,
            (after - kept) * lanes.full_ah,
        )
        flow = moved if flow is None else Flow(*(a + b for a, b in zip(flow, moved, strict=True)))
        charge = kept
        empty = changes & (charge <= curves.lowest_charge)
        if not changes.any():
            break
        left_h = np.where(empty, 0.0, left_h - stretch_h)
        on = changes & ~empty
        mode = mode + on
        switched = on & (mode == loads.off_mode)
        off_h = np.where(switched, from_h + whole_h - left_h, off_h)
    assert flow is not None  # at least one pass
    return ParkedStep(ParkedState(charge=charge, mode=mode, current_a=current_a), flow, off_h)


def _settled(
    mode: IndexArray, loads: Loads, changing: tuple[int, ...], battery_v: FloatArray
) -> IndexArray:
    """Return the modes for the voltage at the start of a step, with hysteresis both ways."""
    mode = mode.copy()
    for number in changing:
        mode[(mode == number) & (battery_v > loads.leave_above_v[number])] = number - 1
        mode[(mode == number - 1) & (battery_v < loads.enter_below_v[number])] = number
    return mode


def _next_change(
    charge: FloatArray,
    mode: IndexArray,
    mean_c: FloatArray,
    lanes: Lanes,
    loads: Loads,
    curves: BatteryCurves,
    changing: tuple[int, ...],
) -> FloatArray:
    """Return the charge at which each lane's unit changes mode, or the battery is empty."""
    if not changing:
        return np.minimum(curves.lowest_charge, charge)
    reached = curves.charge_at_v(loads.enters_v(mode) - lanes.resting_offset_v, mean_c)
    return np.asarray(np.minimum(np.fmax(reached, curves.lowest_charge), charge))  # nan for none
