"""What charges a parked battery besides a panel: mains maintainer and DC-DC top-ups.

Chargers of a parked vehicle are one daily series (`Case.charging_a`): panel, mains maintainer,
DC-DC top-ups. What a full battery refuses is booked as refused.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from drainsim.errors import ScenarioError
from drainsim.language import message
from drainsim.physics.acceptance import (
    acceptance_of,
    accepted_current_a,
    charge_efficiency,
    cold_factor,
)
from drainsim.physics.mains_charger import compensated_v, mains_power_w
from drainsim.physics.tables import FloatArray
from drainsim.units import HOURS_PER_DAY, MINUTES_PER_HOUR
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.batteries.starting_charge import resting_voltages_v
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Keys, choice, number, usual
from drainsim.vehicle.kind import TRACTION
from drainsim.vehicle.places.site import Site
from drainsim.vehicle.run import UNCERTAINTY
from drainsim.vehicle.unit import Unit
from drainsim.vehicle.vehicle import VEHICLE, Vehicle

# A maintainer need only hold a nearly full battery: what it accepts is judged at this charge.
_HELD_CHARGE: Final = 0.9
_TOP_UP_V: Final = 14.0  # a DC-DC converter's output: common practice, no source
_CONVERTER: Final = 0.9  # its efficiency, published (from memory) as 0.8 to 0.92
_DAYS_PER_MONTH: Final = 30.0


class MAINTAINER(Keys, name="maintainer", optional=True):
    """A mains charger that stays connected while parked."""

    current_a = number(
        (0.05, 100, "A"),
        "rated charging current",
        **usual(1.0),
        example=1.0,
        label="Rated current of the maintainer",
        step=0.1,
    )
    absorption_v = number((13, 16, "V"), "absorption voltage at 25 °C", **usual(14.4))
    float_v = number((12.8, 15, "V"), "float voltage at 25 °C", **usual(13.6))
    compensation_v_per_k = number(
        (-0.06, 0, "V/K"),
        "change of these voltages with temperature",
        **usual(-0.018, "near a charger table's -17 mV/K, -18 to 35 °C"),
    )
    mains_efficiency = number((0.1, 1, ""), "charge power out ÷ mains power in", **usual(0.75))
    hours_per_day = number(
        (0, 24, "h"),
        "hours a day the mains is there",
        **usual(24.0, "always connected"),
        label="Mains available",
    )
    from_day = number(
        (0, 730, "days"),
        "days after parking when it is connected",
        **usual(0.0, "connected at parking"),
        label="Connected after",
        note="Counted from parking; 0 is at once.",
    )
    between_trips = choice(
        ("no", "yes"),
        "whether it is plugged in between the trips of [pattern] as well",
        **usual("no", "connected for the stand only"),
    )


class TOPUP(Keys, name="top_up", optional=True):
    """The 12 V battery of a hybrid or electric vehicle topped up from its traction battery."""

    every_h = number(
        (1, 2000, "h"),
        "time between top-ups while parked",
        **usual(24.0),
        label="Time between top-ups",
    )
    current_a = number(
        (0.1, 100, "A"),
        "current into the 12 V battery",
        **usual(20.0),
        label="Current into the 12 V battery",
    )
    minutes = number(
        (0.1, 600, "min"), "length of one top-up", **usual(15.0), label="Length of one top-up"
    )
    monitor_a = number(
        (0, 2, "A"),
        "what watching the 12 V battery itself draws from it, on average",
        **usual(0.005),
    )
    suspended_after_days = number(
        (0, 730, "days"),
        "days of parking after which the maker stops it",
        otherwise="never",
        source="the maker does not stop it",
        label="The maker stops them after",
    )
    traction_kwh = number(
        (0.1, 1000, "kWh"),
        "size of the traction battery",
        **usual(40.0),
        usual_for={"hybrid": 1.5},
        label="Size of the traction battery",
    )
    traction_state_of_charge = number(
        (0, 1, ""),
        "charge of it at parking, 0 to 1",
        **usual(0.5),
        label="Charge of the traction battery at parking",
    )
    traction_limit = number((0, 1, ""), "charge of it below which there is no top-up", **usual(0.1))
    traction_loss_per_month = number(
        (0, 0.5, ""),
        "share of its charge a parked traction battery loses in 30 days without top-ups",
        **usual(0.02),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Charger:
    """A maintainer or top-ups; `charging_a` is what stays as charge on each day."""

    charging_a: FloatArray  # shape (days,)
    sigma: float  # logarithmic spread of what it brings, one draw for a stand
    ends_after_days: int | None = None  # None: not within the horizon


def maintainer_from_scenario(
    ledger: Ledger, battery: Battery, vehicle: Vehicle, unit: Unit, site: Site, *, horizon_days: int
) -> Charger | None:
    """Return the maintainer a scenario describes, or None.

    Parameters
    ----------
    ledger, battery, vehicle, unit, site : Ledger, Battery, Vehicle, Unit, Site
    horizon_days : int
        How far ahead to look. [days]

    Raises
    ------
    ScenarioError
        If its float voltage is not below its absorption voltage.
    """
    scenario = ledger.scenario
    if not scenario.has(MAINTAINER.TABLE.name):
        return None
    take = ledger.take
    rated_a = take(MAINTAINER.current_a)
    absorption_v = take(MAINTAINER.absorption_v)
    float_v = take(MAINTAINER.float_v)
    per_k = take(MAINTAINER.compensation_v_per_k)
    mains = take(MAINTAINER.mains_efficiency)
    hours = take(MAINTAINER.hours_per_day)
    from_day = take(MAINTAINER.from_day)
    if float_v >= absorption_v:
        raise ScenarioError(
            f"{scenario.where}: {MAINTAINER.float_v} = {float_v:g} V must be below absorption_v = "
            f"{absorption_v:g} V"
        )
    mean_c = site.battery_c[: 24 * horizon_days].reshape(horizon_days, 24).mean(axis=1)
    held_v = compensated_v(absorption_v, mean_c, per_k=per_k)
    kept = _kept(battery)
    accepted_a = accepted_current_a(
        _HELD_CHARGE,
        cold=cold_factor(mean_c),
        voltage_v=held_v,
        resting_v=resting_voltages_v(battery.profile, _HELD_CHARGE, mean_c),
        capacity_ah=battery.capacity_ah * battery.capacity_health,
        kind=acceptance_of(battery.profile.chemistry),
    )
    taken_a = np.minimum(rated_a, accepted_a)
    charging_a = taken_a * kept * hours / HOURS_PER_DAY
    charging_a[: math.ceil(from_day)] = 0.0
    drawn_a = _parked_draw_a(vehicle, unit)
    power_w = float(mains_power_w(drawn_a / kept, float_v, efficiency=mains))
    ledger.note(
        MAINTAINER.TABLE.figure("mains_power"),
        power_w,
        "estimated",
        f"while holding, {power_w * HOURS_PER_DAY * _DAYS_PER_MONTH / 1000.0:.1f} kWh a month",
        unit="W",
    )
    if (charging_a[math.ceil(from_day) :] < drawn_a).any():
        ledger.warn(
            "maintainer: on the coldest days it brings less than the vehicle draws; the battery "
            "slowly goes down although it is plugged in"
        )
    if scenario.get(MAINTAINER.compensation_v_per_k) is None and mean_c.min() < 5.0:
        ledger.warn(
            "maintainer: temperature compensation is assumed; one without it charges too little in "
            "frost"
        )
    ledger.warn(
        "charging: batteries give off hydrogen: ventilate, no flame or spark; never charge a "
        "frozen battery"
    )
    return Charger(charging_a=charging_a, sigma=ledger.take(UNCERTAINTY.charger_sigma))


def top_up_from_scenario(
    ledger: Ledger, battery: Battery, vehicle: Vehicle, unit: Unit, *, horizon_days: int
) -> tuple[Charger | None, Vehicle]:
    """Return the top-ups a scenario describes, and the vehicle with what watching costs.

    Parameters
    ----------
    ledger, battery, vehicle, unit : Ledger, Battery, Vehicle, Unit
    horizon_days : int
        How far ahead to look. [days]

    Raises
    ------
    ScenarioError
        If the vehicle has no traction battery, or a top-up is longer than its interval.
    """
    scenario = ledger.scenario
    if not scenario.has(TOPUP.TABLE.name):
        return None, vehicle
    if vehicle.kind not in TRACTION:
        raise ScenarioError(
            f"{scenario.where}: top_up needs a traction battery; say {VEHICLE.kind} = "
            "'electric' or 'hybrid'"
        )
    take = ledger.take
    every_h = take(TOPUP.every_h)
    current_a = take(TOPUP.current_a)
    minutes = take(TOPUP.minutes)
    monitor_a = take(TOPUP.monitor_a)
    stops = take(TOPUP.suspended_after_days)
    kwh = take(TOPUP.traction_kwh, TOPUP.traction_kwh.usual(vehicle.kind))
    charge = take(TOPUP.traction_state_of_charge)
    limit = take(TOPUP.traction_limit)
    monthly = take(TOPUP.traction_loss_per_month)
    if minutes / MINUTES_PER_HOUR > every_h:
        raise ScenarioError(
            f"{scenario.where}: {TOPUP.minutes} = {minutes:g} min is longer than every_h = "
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
            message("the maker stops them after {days:g} days", days=stops)
            if stops is not None and ends >= stops
            else message("the traction battery is down to {percent:.0f} %", percent=100 * limit)
        )
        ledger.warn(
            "top_up: after {ends} days there are no more top-ups ({reason}); from then on "
            "the 12 V battery is on its own",
            ends=ends,
            reason=reason,
        )
    if mean_a * kept < drawn_a:
        ledger.warn(
            "top_up: it returns {returned:.2f} Ah a day, less than the "
            "{drawn:.2f} Ah drawn; it only slows the discharge",
            returned=HOURS_PER_DAY * mean_a * kept,
            drawn=HOURS_PER_DAY * drawn_a,
        )
    charging_a = np.where(running, mean_a * kept, 0.0)
    sigma = ledger.take(UNCERTAINTY.charger_sigma)
    return Charger(charging_a=charging_a, ends_after_days=ends, sigma=sigma), vehicle


def _kept(battery: Battery) -> float:
    """Return the share of a charger's current that stays in a nearly full battery. [-]."""
    kind = acceptance_of(battery.profile.chemistry)
    return float(charge_efficiency(_HELD_CHARGE, kind=kind))


def _parked_draw_a(vehicle: Vehicle, unit: Unit) -> float:
    """Return what a charger must replace; nothing where other chargers bring more than is drawn."""
    drawn_a = vehicle.quiescent_a + vehicle.wake_up_a + vehicle.other_a + unit.normal_current_a
    return max(drawn_a, 0.0)
