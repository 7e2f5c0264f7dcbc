"""Ways to ask the model, shared by the checks; nothing is cached, so a changed constant shows."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

import numpy as np

from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.files.profile import BatteryProfile, own_folder, read_profile
from drainsim.physics import capacity, cranking, electrolyte, open_circuit, self_discharge
from drainsim.physics.oil import REFERENCE_OIL, turning_factor
from drainsim.physics.tables import FloatArray, interpolate
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.batteries.starting_charge import resting_v
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict

FLOODED = "flooded_calcium"
ANTIMONY = "flooded_antimony"
AGM = "agm"
GEL = "gel"
LITHIUM = "lithium_iron_phosphate_12v"
_PARKED_FROM = dt.date(2026, 12, 1)  # fixed: a check must not depend on when it is made
RATED_A = 540.0  # any: ratios and label round trips do not depend on it


def profile(key: str) -> BatteryProfile:
    """Return one of drainsim's own battery profiles."""
    return read_profile(own_folder() / f"{key}.toml")


def figure(key: str, name: str, at: float) -> float:
    """Return a curve of a profile at a point."""
    return float(interpolate(at, profile(key).curve(name), name=name, unit=""))


def rest_v(key: str, charge: float, temperature_c: float = 26.7) -> float:
    """Return the resting voltage. [V]."""
    return resting_v(profile(key), charge, temperature_c)


def charge_percent(key: str, volts: float, temperature_c: float = 26.7) -> float:
    """Return the charge a resting voltage stands for. [%]."""
    known = profile(key)
    share = open_circuit.state_of_charge_from_resting_v(
        volts,
        temperature_c,
        curve=known.curve("open_circuit_v"),
        curve_temperature_c=known.number("open_circuit_temperature_c"),
        per_k=known.number("open_circuit_v_per_k"),
    )
    return float(100.0 * share)


def rest_v_at_gravity(key: str, gravity: float, temperature_c: float = 26.7) -> float:
    """Return the resting voltage at the charge that has a specific gravity. [V]."""
    points = profile(key).curve("specific_gravity")
    charge = interpolate(gravity, points[:, ::-1], name="specific_gravity", unit="")
    return rest_v(key, float(charge), temperature_c)


def freezing_c(gravity: float) -> float:
    """Return the freezing point at a specific gravity. [°C]."""
    return float(electrolyte.freezing_c(gravity))


def freezing_at_charge_c(key: str, charge: float) -> float:
    """Return the freezing point at a state of charge. [°C]."""
    return freezing_c(figure(key, "specific_gravity", charge))


def available_a(
    charge: float,
    temperature_c: float,
    *,
    key: str = FLOODED,
    minimum_v: float = 7.2,
    rated_a: float = RATED_A,
) -> float:
    """Return the 30 s current a battery gives before it falls to `minimum_v`. [A]."""
    known = profile(key)
    return float(
        cranking.available_current_a(
            charge,
            temperature_c,
            cold_cranking_a=rated_a,
            minimum_v=minimum_v,
            open_circuit_cold_v=resting_v(known, charge, cranking.RATING_C),
            knee_v=known.number("cranking_knee_v"),
            share_by_temperature=known.curve("cranking_share_by_temperature"),
            share_by_charge=known.curve("cranking_share_by_charge"),
        )
    )


def power_ratio(cold_c: float, warm_c: float = 26.7, *, charge: float = 1.0) -> float:
    """Return cranking current at one temperature over that at another. [-]."""
    return available_a(charge, cold_c) / available_a(charge, warm_c)


def cranking_v(
    current_a: float, temperature_c: float, *, health: float = 1.0, seconds: float = 30.0
) -> float:
    """Return the voltage of a full battery of RATED_A at the end of a crank. [V]."""
    known = profile(FLOODED)
    return float(
        cranking.cranking_voltage_v(
            current_a,
            available_at_rating_v_a=available_a(1.0, temperature_c, rated_a=RATED_A * health),
            open_circuit_cold_v=resting_v(known, 1.0, cranking.RATING_C),
            knee_v=known.number("cranking_knee_v"),
            seconds=seconds,
        )
    )


def label_30s_a(rated_a: float, standard: str) -> float:
    """Return the 30 s current behind a label of any standard. [A]."""
    known = profile(FLOODED)
    return cranking.rating_to_30s_a(
        rated_a,
        standard=standard,
        full_v=resting_v(known, 1.0, cranking.RATING_C),
        knee_v=known.number("cranking_knee_v"),
    )


def demand_ratio(temperature_c: float, oil: str = REFERENCE_OIL) -> float:
    """Return cranking demand over that of the warm engine. [-]."""
    return float(turning_factor(temperature_c, grade=oil))


def battery(**label: Any) -> Battery:
    """Return the battery a label describes."""
    return case({"battery": label}).battery


def kinetic(key: str, capacity_ah: float, reserve_min: float) -> capacity.KineticParameters:
    """Return the two-well constants of a label."""
    return capacity.kinetic_from_label(
        capacity_ah=capacity_ah,
        reserve_capacity_min=reserve_min,
        low_rate_gain=profile(key).number("low_rate_gain"),
    )


def usual_kinetic(key: str, capacity_ah: float) -> capacity.KineticParameters:
    """Return the two-well constants of a capacity with its usual reserve capacity."""
    known = profile(key)
    minutes = capacity.reserve_from_capacity_min(
        capacity_ah,
        factor=known.number("reserve_minutes_factor"),
        exponent=known.number("reserve_minutes_exponent"),
    )
    return kinetic(key, capacity_ah, float(minutes))


def delivered_ah(parameters: capacity.KineticParameters, hours: float) -> float:
    """Return the charge delivered when a constant current empties a battery in `hours`. [Ah]."""
    return float(capacity.capacity_at_runtime_ah(hours, parameters))


def delivered_at_a(parameters: capacity.KineticParameters, current_a: float) -> float:
    """Return the charge delivered at a constant current. [Ah]."""
    hours = capacity.runtime_h(current_a, parameters)
    return delivered_ah(parameters, hours)


def _loss_per_h(key: str, temperature_c: float) -> FloatArray:
    """Return the self-discharge rate constant. [1/h]."""
    known = profile(key)
    return self_discharge.loss_rate_per_h(
        temperature_c,
        per_day_at_25c=known.number("self_discharge_per_day"),
        doubling_k=known.number("self_discharge_doubling_k"),
    )


def loss_percent(key: str, temperature_c: float, days: float) -> float:
    """Return the charge a resting battery loses. [% of what it had]."""
    rate = _loss_per_h(key, temperature_c)
    left, _ = self_discharge.charge_step_ah(
        100.0, current_a=0.0, loss_per_h=rate, hours=HOURS_PER_DAY * days
    )
    return float(100.0 - left)


def months_to_charge(key: str, temperature_c: float, charge: float) -> float:
    """Return how long a full resting battery takes to fall to a charge. [months of 30 days]."""
    rate = _loss_per_h(key, temperature_c)
    hours = self_discharge.hours_to_reach_h(1.0, charge, current_a=0.0, loss_per_h=rate)
    return float(hours) / (HOURS_PER_DAY * 30.0)


def case(tables: Mapping[str, Any]) -> Case:
    """Return the case of a scenario given as tables; a missing [battery] means all defaults."""
    needed: dict[str, Any] = {"battery": {}, "vehicle": {}, "run": {"draws": 100}}
    site = {"parked_from": _PARKED_FROM, **tables.get("site", {})}
    return resolve(scenario_from_dict({**needed, **tables, "site": site}, where="evidence"))


def answer(tables: Mapping[str, Any]) -> ParkAnswer:
    """Return the main answer to a scenario given as tables."""
    return park(case(tables))


def nominal_days(tables: Mapping[str, Any]) -> float:
    """Return the days of the tables' own values in average weather; inf past the horizon."""
    days = answer(tables).nominal_days
    return float("inf") if days is None else days


def coldest_start_c(found: Case) -> float:
    """Return the temperature at which a full battery just starts the vehicle. [°C]."""
    vehicle, fitted = found.vehicle, found.battery

    def margin(temperature_c: float) -> float:
        have = available_a(
            1.0,
            temperature_c,
            key=fitted.profile.key,
            minimum_v=vehicle.minimum_cranking_v,
            rated_a=fitted.cold_cranking_a * fitted.cranking_health,
        )
        return have / (
            vehicle.demand_a * demand_ratio(temperature_c, oil=vehicle.oil or REFERENCE_OIL)
        )

    grid: FloatArray = np.arange(cranking.COLDEST_C, 26.7, 0.1)
    starts = np.array([margin(float(step)) >= 1.0 for step in grid])
    return float(grid[starts.argmax()]) if starts.any() else float("nan")
