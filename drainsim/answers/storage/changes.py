"""Changes to a scenario, made the way a user would make them: the same keys, checked again."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeAlias

from drainsim.files.presets import preset
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.compatibility import is_pair
from drainsim.vehicle.keys.given import measured_in
from drainsim.vehicle.keys.parameter import Parameter
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.unit import UNIT

Changes: TypeAlias = Mapping[str, Any]


def with_changes(scenario: Scenario, changes: Changes) -> Scenario:
    """Return the scenario with dotted keys or whole tables set; None takes one out.

    A changed value counts as given, so its spread is that of a value the user enters, unless a
    table `measured` among the changes names it.

    Parameters
    ----------
    scenario : Scenario
    changes : mapping
        Dotted key → value in the key's own unit, or table → its dictionary.

    Raises
    ------
    ScenarioError
        If a key is unknown or a value is not allowed.

    Examples
    --------
    >>> from drainsim.vehicle.keys.scenario import scenario_from_dict
    >>> parked = scenario_from_dict({"battery": {}, "unit": {"preset": "hourly"}})
    >>> with_changes(parked, {"unit": None, "battery.age_years": 1.0}).tables
    {'battery': {'age_years': 1.0}}
    """
    tables = dict(scenario.tables)
    old = {
        key: origin
        for key, origin in scenario.origins.items()
        if not {key, key.partition(".")[0]} & changes.keys()
    }
    for dotted, value in changes.items():
        table, _, key = dotted.partition(".")
        if key and (value is not None or table in tables):
            kept = {name: was for name, was in tables.get(table, {}).items() if name != key}
            tables[table] = kept if value is None else {**kept, key: value}
        elif value is None:
            tables.pop(table, None)
        else:
            tables[table] = value
    return replace(scenario, tables=tables, origins={**old, **measured_in(changes)}).with_values({})


def _slower_ladder(scenario: Scenario, interval_h: float) -> list[dict[str, float]]:
    """Return the unit's voltage ladder with no step faster than an interval. [h]."""
    rungs = scenario.get(UNIT.ladder)
    chosen = scenario.get(UNIT.preset)
    if rungs is None and chosen:
        rungs = preset("units", chosen, where=UNIT.preset).values.get("ladder", [])
    return [
        {**rung, "report_interval_h": max(rung["report_interval_h"], interval_h)}
        for rung in rungs or []
    ]


def report_changes(scenario: Scenario, interval_h: float) -> Changes:
    """Return the changes that set a report interval; ladder steps follow where faster.

    Parameters
    ----------
    scenario : Scenario
    interval_h : float
        Time between reports. [h]
    """
    ladder = _slower_ladder(scenario, interval_h)
    changes: dict[str, Any] = {UNIT.report_interval_h: interval_h}
    return {**changes, UNIT.ladder: ladder} if ladder else changes


def battery_changes(capacity_ah: float) -> Changes:
    """Return the changes that fit another size with the cold cranking current usual for it."""
    return {
        BATTERY.capacity_ah: capacity_ah,
        BATTERY.reserve_capacity_min: None,
        BATTERY.cold_cranking_a: None,
        BATTERY.cranking_standard: None,
    }


def both_alike(scenario: Scenario, *second: Parameter) -> Changes:
    """Return the changes that make the second battery of a pair like the first in some keys."""
    return dict.fromkeys(second) if is_pair(scenario.tables) else {}


def charge_changes(charge: float, scenario: Scenario) -> Changes:
    """Return the changes that park with a state of charge, both batteries of a scenario's pair.

    Parameters
    ----------
    charge : float
        Share of full, 0 to 1. [-]
    scenario : Scenario
    """
    return {
        **both_alike(scenario, BATTERY.second_state_of_charge),
        BATTERY.state_of_charge: charge,
        BATTERY.resting_voltage_v: None,
        BATTERY.resting_temperature_c: None,
        BATTERY.rested_h: None,
    }


def cutoff_changes(scenario: Scenario, cutoff_v: float) -> Changes:
    """Return the changes that switch the unit off below a voltage; lower ladder steps go.

    Parameters
    ----------
    scenario : Scenario
    cutoff_v : float
        Battery voltage below which it is off. [V]
    """
    ladder = _slower_ladder(scenario, 0.0)
    changes: dict[str, Any] = {UNIT.cutoff_v: cutoff_v, UNIT.resume_v: None}
    kept = [rung for rung in ladder if rung["below_v"] > cutoff_v]
    return {**changes, UNIT.ladder: kept} if ladder else changes
