"""Cases and single lanes for the tests, built the way a scenario file builds them."""

import copy
from typing import Any

import numpy as np

from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.storage.changes import Changes
from drainsim.answers.storage.risk import StandQuestion, risk_of
from drainsim.files.profile import BatteryProfile, list_profiles, read_profile
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.lanes import (
    lanes_from_draws,
    loads_of,
    nominal_draws,
    nominal_weather,
)
from drainsim.simulation.standing.stand import Stand, run_stand
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict

DRAWS = 200  # enough for ordering and rough percentiles, a fifth of the default's time

# The example of issue A: 60 Ah / 540 A (EN) flooded calcium, 90 % charged, 2.0 l petrol.
MUST_SHOW: dict[str, Any] = {
    "battery": {
        "profile": "flooded_calcium",
        "capacity_ah": 60,
        "cold_cranking_a": 540,
        "cranking_standard": "EN",
        "state_of_charge": 0.9,
    },
    "vehicle": {"quiescent_a": 0.03, "engine_litres": 2.0, "fuel": "petrol"},
    "site": {"temperature_c": 25},
    "run": {"draws": DRAWS},
}


def profiles() -> dict[str, BatteryProfile]:
    """Return every profile that comes with drainsim."""
    return {key: read_profile(path) for key, path in list_profiles().items()}


def tables_with(base: dict[str, Any], **changes: dict[str, Any] | list[Any]) -> dict[str, Any]:
    """Return scenario tables with the given keys of each table changed."""
    tables = copy.deepcopy(base)
    for name, values in changes.items():
        tables[name] = values if isinstance(values, list) else {**tables.get(name, {}), **values}
    return tables


def case_of(base: dict[str, Any], **changes: dict[str, Any] | list[Any]) -> Case:
    """Return the resolved case of some tables."""
    return resolve(scenario_from_dict(tables_with(base, **changes)))


def answer_to(base: dict[str, Any], **changes: dict[str, Any] | list[Any]) -> ParkAnswer:
    """Return the answer to some tables."""
    return park(case_of(base, **changes))


def nominal_stand(case: Case, *, step_h: float | None = None, trace: bool = True) -> Stand:
    """Return the stand of the case's own values, one lane, no randomness."""
    z = nominal_draws(1)
    return run_stand(
        lanes_from_draws(case, z, varied={}),  # no input varied: exactly its own values
        curves_of(case),
        loads_of(case),
        nominal_weather(case, z["season"]),
        horizon_days=case.horizon_days,
        step_h=step_h,
        trace=trace,
    )


def nominal_days(case: Case) -> float:
    """Return the nominal days to no-start, inf for not within the horizon."""
    return float(nominal_stand(case, trace=False).no_start_h[0]) / 24.0


def days_or_inf(days: float | None) -> float:
    """Return days with inf for "not within the horizon"."""
    return np.inf if days is None else days


def risk_now(question: StandQuestion, changes: Changes | None = None) -> float:
    """Return the risk of a stand with changes."""
    return risk_of(question.stand(changes), question.when)[0]
