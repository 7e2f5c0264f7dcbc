"""What temperature does to a battery: four effects that must not be mixed up."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from drainsim.language import Message, message
from drainsim.physics.cranking import WARMEST_C, available_current_a
from drainsim.physics.electrolyte import freezing_c
from drainsim.physics.oil import turning_factor
from drainsim.physics.self_discharge import loss_rate_per_h
from drainsim.physics.tables import interpolate
from drainsim.vehicle.batteries.starting_charge import resting_v
from drainsim.vehicle.case import Case


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureEffect:
    """The four effects at one battery temperature, for the battery at its age.

    `deliverable_20h_ah` comes back when it warms up; `self_discharge_percent_per_month` does
    not. `freezing_half_c` is None for a battery without electrolyte to freeze.
    """

    name: str
    temperature_c: float
    deliverable_20h_ah: float  # full battery, at the 20 h rate
    cranking_available_a: float  # full battery, 30 s, at the vehicle's minimum voltage
    cranking_demand_a: float
    current_for: Message  # "cranking", or "contactors" of a hybrid or electric vehicle
    self_discharge_percent_per_month: float
    freezing_half_c: float | None  # at half charge

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {name: getattr(self, name) for name in self.__slots__}


def temperature_effects(case: Case) -> tuple[TemperatureEffect, ...]:
    """Return the effects at the coldest, mean and warmest battery temperature of the stand."""
    course = case.site.battery_c
    named: dict[str, float] = {
        message("coldest hour"): float(course.min()),
        message("mean"): float(course.mean()),
        message("warmest hour"): float(course.max()),
    }
    if named["warmest hour"] - named["coldest hour"] < 0.5:
        named = {message("constant"): named["mean"]}
    return tuple(_effect(case, name, value) for name, value in named.items())


def _effect(case: Case, name: str, temperature_c: float) -> TemperatureEffect:
    battery, profile = case.battery, case.battery.profile
    share = interpolate(
        temperature_c,
        profile.curve("capacity_share_by_temperature"),
        name="temperature_c",
        unit="°C",
    )
    available = available_current_a(
        1.0,
        min(temperature_c + case.vehicle.battery_heater_k, WARMEST_C),
        cold_cranking_a=battery.cold_cranking_a * battery.cranking_health,
        minimum_v=case.vehicle.minimum_cranking_v,
        open_circuit_cold_v=resting_v(profile, 1.0, -18.0),
        knee_v=profile.number("cranking_knee_v"),
        share_by_temperature=profile.curve("cranking_share_by_temperature"),
        share_by_charge=profile.curve("cranking_share_by_charge"),
    )
    loss_per_h = loss_rate_per_h(
        temperature_c,
        per_day_at_25c=profile.number("self_discharge_per_day"),
        doubling_k=profile.number("self_discharge_doubling_k"),
    )
    freezing = None
    if profile.has("specific_gravity"):
        gravity = interpolate(
            0.5, profile.curve("specific_gravity"), name="state_of_charge", unit=""
        )
        freezing = float(freezing_c(gravity))
    vehicle = case.vehicle
    turning = 1.0  # contactors know no oil
    if vehicle.oil is not None:
        oil_c = temperature_c + vehicle.block_heater_k
        turning = float(turning_factor(oil_c, grade=vehicle.oil))
    return TemperatureEffect(
        name=name,
        temperature_c=temperature_c,
        deliverable_20h_ah=float(share) * battery.capacity_ah * battery.capacity_health,
        cranking_available_a=float(available),
        cranking_demand_a=vehicle.demand_a * turning,
        current_for=message("cranking" if case.vehicle.turns_engine else "contactors"),
        self_discharge_percent_per_month=float(100.0 * -np.expm1(-loss_per_h * 24.0 * 30.0)),
        freezing_half_c=freezing,
    )
