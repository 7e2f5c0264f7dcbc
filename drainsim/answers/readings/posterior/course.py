"""The charge and night voltage of many candidates over a stand, in closed form."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.answers.readings.history.nights import Nights
from drainsim.physics.load import supply_current_a
from drainsim.physics.self_discharge import REFERENCE_C
from drainsim.physics.tables import FloatArray
from drainsim.simulation.lanes import Lanes
from drainsim.vehicle.case import Case

_SMALL: Final = 1e-9  # of λ t, below which its mean factor is 1
# Charge at which published curves of a type agree best: they differ by 0.055, 0.057, 0.10 V
# (7 flooded) and 0.14, 0.12, 0.12 V (14 AGM) at full, three quarters and half; see the profiles.
_TURNS_AT: Final = 0.75


@dataclass(frozen=True, slots=True, kw_only=True)
class StandCourse:
    """What every candidate of a stand shares, at some moments after parking, shape (n,)."""

    rested_h: FloatArray
    loss_h: FloatArray  # hours at the reference temperature that lose as much charge
    unit_ah: FloatArray  # the unit's draw at the usual factor
    temperature_c: FloatArray
    curve: FloatArray  # of the resting voltage, shape (points, 2)
    curve_c: float
    per_k: float

    def charge(self, lanes: Lanes, extra_a: FloatArray, begins_h: FloatArray) -> FloatArray:
        """Return the share of full, shape (candidates, n).

        Parameters
        ----------
        lanes : Lanes
            Candidates as the ordinary stand takes them.
        extra_a : shape (candidates,)
            Extra drain. [A]
        begins_h : shape (candidates,)
            When it begins, after parking. [h]

        Notes
        -----
        q(t) = q₀ e^(−λS) − (I t + f U(t) + x (t − t₀)⁺) (1 − e^(−λS))/(λS), S being the hours at
        the reference temperature: exact for constant current and temperature, and self-discharge
        is a hundredth of the charge in a month. U follows the voltages seen, so that a unit that
        reports less when the battery is low is taken as it was.
        """
        loss = lanes.loss_per_h[:, None] * self.loss_h
        left = np.exp(-loss)
        mean = np.where(loss > _SMALL, (1.0 - left) / np.where(loss > _SMALL, loss, 1.0), 1.0)
        drawn = (lanes.quiescent_a + lanes.other_a)[:, None] * self.rested_h
        drawn += lanes.unit_factor[:, None] * self.unit_ah
        drawn += extra_a[:, None] * np.maximum(self.rested_h - begins_h[:, None], 0.0)
        once = lanes.vehicle_once_ah + lanes.unit_once_ah
        start = (lanes.start_ah - once)[:, None]
        share = (start * left - drawn * mean) / lanes.full_ah[:, None]
        return np.clip(share, 0.0, 1.0)

    def resting_v(self, charge: FloatArray, steeper: FloatArray) -> FloatArray:
        """Return the resting voltage of curves `steeper` times as steep, turned about 75 % charge.

        Parameters
        ----------
        charge : shape (candidates, n)
            Share of full.
        steeper : shape (candidates,)
            Factor on the slope.
        """
        table = np.interp(charge, self.curve[:, 0], self.curve[:, 1])
        turns_v = np.interp(_TURNS_AT, self.curve[:, 0], self.curve[:, 1])
        warmth = self.per_k * (self.temperature_c - self.curve_c)
        return np.asarray(turns_v + steeper[:, None] * (table - turns_v) + warmth)


def stand_course(
    case: Case,
    battery_c: FloatArray,
    at_h: FloatArray,
    *,
    nights: Nights,
) -> StandCourse:
    """Return what the candidates of a stand share.

    Parameters
    ----------
    case : Case
    battery_c : shape (hours,)
        Battery temperature from parking on. [°C]
    at_h : shape (n,)
        Moments after parking. [h]
    nights : Nights
        Voltages the unit saw, by which its own draw goes.
    """
    profile = case.battery.profile
    hours = np.arange(len(battery_c), dtype=float)
    doubling = profile.number("self_discharge_doubling_k")
    loss = _running(np.exp2((battery_c - REFERENCE_C) / doubling))
    unit = _running(_unit_a(case, nights, hours))
    return StandCourse(
        rested_h=at_h,
        loss_h=np.interp(at_h, hours, loss),
        unit_ah=np.interp(at_h, hours, unit),
        temperature_c=_temperature_c(battery_c, at_h, nights),
        curve=profile.curve("open_circuit_v"),
        curve_c=profile.number("open_circuit_temperature_c"),
        per_k=profile.number("open_circuit_v_per_k"),
    )


def _running(hourly: FloatArray) -> FloatArray:
    return np.concatenate([[0.0], np.cumsum(0.5 * (hourly[1:] + hourly[:-1]))])


def _temperature_c(battery_c: FloatArray, at_h: FloatArray, nights: Nights) -> FloatArray:
    """Return the battery temperature, as measured in nights where it was."""
    found = np.interp(at_h, np.arange(len(battery_c), dtype=float), battery_c)
    known = np.isfinite(nights.temperature_c)
    measured = dict(zip(nights.rested_h[known], nights.temperature_c[known], strict=True))
    return np.array([measured.get(h, c) for h, c in zip(at_h, found, strict=True)])


def _unit_a(case: Case, nights: Nights, hours: FloatArray) -> FloatArray:
    """Return the unit's current hour by hour at the voltages seen. [A]."""
    unit = case.unit
    volts = np.full(len(hours), unit.rated_at_v)
    if len(nights):
        volts = np.interp(hours, nights.rested_h, nights.voltage_v)
    rated = np.full(len(hours), unit.modes[0].current_a)
    for mode in unit.modes[1:]:
        rated = np.where(volts < (mode.enter_below_v or 0.0), mode.current_a, rated)
    return supply_current_a(
        rated, volts, rated_at_v=unit.rated_at_v, switching=np.array(unit.switching)
    )
