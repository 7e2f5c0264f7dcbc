"""What charges a parked battery besides a panel: mains maintainer and DC-DC top-ups.

Chargers of a parked vehicle are one daily series (`Case.charging_a`): panel, mains maintainer,
DC-DC top-ups. What a full battery refuses is booked as refused.
"""

import math
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from drainsim.errors import ScenarioError
from drainsim.physics.acceptance import (
    acceptance_of,
    accepted_current_a,
    charge_efficiency,
    cold_factor,
)
from drainsim.physics.maintainer import compensated_v, mains_power_w
from drainsim.physics.tables import FloatArray
from drainsim.units import HOURS_PER_DAY, MINUTES_PER_HOUR
from drainsim.vehicle.battery import Battery
from drainsim.vehicle.ledger import Ledger
from drainsim.vehicle.site import Site
from drainsim.vehicle.starting_charge import resting_v
from drainsim.vehicle.unit import Unit
from drainsim.vehicle.vehicle import Vehicle

COMPENSATION_V_PER_K: Final = -0.018  # a 12 V charger's voltage against temperature, as taken below
_PRACTICE: Final = "common practice, no source"
# A maintainer need only hold a nearly full battery: what it accepts is judged at this charge.
_HELD_CHARGE: Final = 0.9
_TOP_UP_V: Final = 14.0  # a DC-DC converter's output: common practice, no source
_CONVERTER: Final = 0.9  # its efficiency, published (from memory) as 0.8 to 0.92
_DAYS_PER_MONTH: Final = 30.0
# Of a charger's current from its rating, and of what a battery takes: common practice, no source.
_SIGMA: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Maintainer:
    """A mains charger left connected; `charging_a` is what stays as charge on each day."""

    charging_a: FloatArray  # shape (days,)
    sigma: float = 0.0  # logarithmic spread of what it brings


def maintainer_from_scenario(
    ledger: Ledger,
    battery: Battery,
    vehicle: Vehicle,
    unit: Unit,
    site: Site,
    *,
    horizon_days: int,
) -> Maintainer | None:
    """Return the maintainer a scenario describes, or None.

    Raises
    ------
    ScenarioError
        If its float voltage is not below its absorption voltage.
    """
    scenario = ledger.scenario
    if not scenario.has("maintainer"):
        return None

    def take(key: str, unit_: str, default: Any, source: str = _PRACTICE) -> float:
        return float(ledger.take("maintainer", key, unit_, default=default, source=source)[0])

    rated_a = take("current_a", "A", 1.0)
    absorption_v = take("absorption_v", "V", 14.4)
    float_v = take("float_v", "V", 13.6)
    per_k = take(
        "compensation_v_per_k",
        "V/K",
        COMPENSATION_V_PER_K,
        "near a charger table's -17 mV/K, -18 to 35 °C",
    )
    mains = take("mains_efficiency", "", 0.75)
    hours = take("hours_per_day", "h", 24.0, "always connected")
    from_day = take("from_day", "days", 0.0, "connected at parking")
    if float_v >= absorption_v:
        raise ScenarioError(
            f"{scenario.where}: maintainer.float_v = {float_v:g} V must be below absorption_v = "
            f"{absorption_v:g} V"
        )
    warm = site.battery_c[: 24 * horizon_days].reshape(horizon_days, 24).mean(axis=1)
    held_v = compensated_v(absorption_v, warm, per_k=per_k)
    kept = _kept(battery)
    taken_a = np.minimum(rated_a, _accepted_a(battery, warm, held_v))
    charging_a = taken_a * kept * hours / HOURS_PER_DAY
    charging_a[: math.ceil(from_day)] = 0.0
    drawn_a = _parked_draw_a(vehicle, unit)
    power_w = float(mains_power_w(drawn_a / kept, float_v, efficiency=mains))
    ledger.note(
        "maintainer.mains_power",
        power_w,
        "W",
        "estimated",
        f"while holding, {power_w * HOURS_PER_DAY * _DAYS_PER_MONTH / 1000.0:.1f} kWh a month",
    )
    if (charging_a[math.ceil(from_day) :] < drawn_a).any():
        ledger.warn(
            "maintainer: on the coldest days it brings less than the vehicle draws; the battery "
            "slowly goes down although it is plugged in"
        )
    if scenario.get("maintainer", "compensation_v_per_k") is None and warm.min() < 5.0:
        ledger.warn(
            "maintainer: temperature compensation is assumed; one without it charges too little in "
            "frost"
        )
    ledger.warn(
        "charging: batteries give off hydrogen: ventilate, no flame or spark; never charge a "
        "frozen battery"
    )
    return Maintainer(charging_a=charging_a, sigma=_sigma(ledger))


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUp:
    """DC-DC top-ups while parked; `charging_a` is what stays as charge on each day."""

    charging_a: FloatArray  # shape (days,)
    ends_after_days: int | None  # None: not within the horizon
    sigma: float = 0.0  # logarithmic spread of what they bring


def top_up_from_scenario(
    ledger: Ledger, battery: Battery, vehicle: Vehicle, unit: Unit, *, horizon_days: int
) -> tuple[TopUp | None, Vehicle]:
    """Return the top-ups a scenario describes, and the vehicle with what watching costs.

    Raises
    ------
    ScenarioError
        If the vehicle has no traction battery, or a top-up is longer than its interval.
    """
    scenario = ledger.scenario
    if not scenario.has("top_up"):
        return None, vehicle
    if vehicle.kind not in {"hybrid", "electric"}:
        raise ScenarioError(
            f"{scenario.where}: top_up needs a traction battery; say vehicle.kind = 'electric' or "
            "'hybrid'"
        )

    def take(key: str, unit_: str, default: Any, source: str = _PRACTICE) -> Any:
        return ledger.take("top_up", key, unit_, default=default, source=source)[0]

    every_h = take("every_h", "h", 24.0)
    current_a = take("current_a", "A", 20.0)
    minutes = take("minutes", "min", 15.0)
    monitor_a = take("monitor_a", "A", 0.005)
    stops = take("suspended_after_days", "days", None, "the maker does not stop it")
    kwh = take("traction_kwh", "kWh", 1.5 if vehicle.kind == "hybrid" else 40.0)
    charge = take("traction_state_of_charge", "", 0.5)
    limit = take("traction_limit", "", 0.1)
    monthly = take("traction_loss_per_month", "", 0.02)
    if minutes / MINUTES_PER_HOUR > every_h:
        raise ScenarioError(
            f"{scenario.where}: top_up.minutes = {minutes:g} min is longer than every_h = "
            f"{every_h:g} h"
        )
    kept = _kept(battery)
    mean_a = current_a * minutes / MINUTES_PER_HOUR / every_h
    vehicle = replace(vehicle, other_a=vehicle.other_a + monitor_a)
    drawn_a = _parked_draw_a(vehicle, unit)
    # A full 12 V battery ends a top-up early: never more than the draw is replaced for long.
    used_kwh = min(mean_a, drawn_a / kept) * HOURS_PER_DAY * _TOP_UP_V / _CONVERTER / 1000.0
    days = np.arange(horizon_days)
    left = charge * (1.0 - monthly) ** (days / _DAYS_PER_MONTH) - days * used_kwh / kwh
    running = left > limit
    if stops is not None:
        running &= days < stops
    ends = None if running.all() else int(np.argmin(running))
    if ends is not None:
        reason = (
            f"the maker stops them after {stops:g} days"
            if stops is not None and ends >= stops
            else f"the traction battery is down to {100 * limit:.0f} %"
        )
        ledger.warn(
            f"top_up: after {ends} days there are no more top-ups ({reason}); from then on the "
            "12 V battery is on its own"
        )
    if mean_a * kept < drawn_a:
        ledger.warn(
            f"top_up: it returns {HOURS_PER_DAY * mean_a * kept:.2f} Ah a day, less than the "
            f"{HOURS_PER_DAY * drawn_a:.2f} Ah drawn; it only slows the discharge"
        )
    charging_a = np.where(running, mean_a * kept, 0.0)
    return TopUp(charging_a=charging_a, ends_after_days=ends, sigma=_sigma(ledger)), vehicle


def _accepted_a(battery: Battery, warm_c: FloatArray, held_v: FloatArray) -> FloatArray:
    """Return what a nearly full battery takes at a temperature and a voltage held. [A]."""
    return accepted_current_a(
        _HELD_CHARGE,
        cold=cold_factor(warm_c),
        voltage_v=held_v,
        resting_v=np.array([resting_v(battery.profile, _HELD_CHARGE, t) for t in warm_c]),
        capacity_ah=battery.capacity_ah * battery.capacity_health,
        kind=acceptance_of(battery.profile.chemistry),
    )


def _kept(battery: Battery) -> float:
    """Return the share of a charger's current that stays in a nearly full battery. [-]."""
    kind = acceptance_of(battery.profile.chemistry)
    return float(charge_efficiency(_HELD_CHARGE, kind=kind))


def _parked_draw_a(vehicle: Vehicle, unit: Unit) -> float:
    """Return what a charger must replace; nothing where other chargers bring more than is drawn."""
    drawn_a = vehicle.quiescent_a + vehicle.wake_up_a + vehicle.other_a + unit.normal_current_a
    return max(drawn_a, 0.0)


def _sigma(ledger: Ledger) -> float:
    """Return the spread of what a charger brings, one draw for all days of a stand."""
    return float(
        ledger.take("uncertainty", "charger_sigma", "", default=_SIGMA, source=_PRACTICE)[0]
    )
