"""Changes to a scenario, made the way a user would make them: the same keys, checked again."""

import copy
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeAlias

from drainsim.vehicle.scenario import Scenario

Changes: TypeAlias = Mapping[str, Any]


def with_changes(scenario: Scenario, changes: Changes) -> Scenario:
    """Return the scenario with dotted keys or whole tables set; None takes one out.

    A changed value counts as given, so its spread is that of a value the user enters.

    Raises
    ------
    ScenarioError
        If a key is unknown or a value is not allowed.

    Examples
    --------
    >>> from drainsim.vehicle.scenario import scenario_from_dict
    >>> parked = scenario_from_dict({"battery": {}, "unit": {"preset": "hourly"}})
    >>> with_changes(parked, {"unit": None, "battery.age_years": 1.0}).tables
    {'battery': {'age_years': 1.0}}
    """
    tables = copy.deepcopy(scenario.tables)
    origins = dict(scenario.origins)
    for dotted, value in changes.items():
        origins.pop(dotted, None)
        table, _, key = dotted.partition(".")
        if not key:
            if value is None:
                tables.pop(table, None)
            else:
                tables[table] = copy.deepcopy(value)
        elif value is None:
            tables.get(table, {}).pop(key, None)
        else:
            tables.setdefault(table, {})[key] = copy.deepcopy(value)
    return replace(scenario, tables=tables, origins=origins).with_values({})


def with_entry(scenario: Scenario, *, name: str, current_a: float) -> list[dict[str, Any]]:
    """Return the scenario's other loads with one more, or with the one of that name replaced."""
    others = [entry for entry in scenario.tables.get("other", []) if entry["name"] != name]
    return [*others, {"name": name, "current_a": current_a}]
