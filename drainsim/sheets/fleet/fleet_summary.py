"""A fleet's answer as JSON-ready data."""

from collections.abc import Mapping
from typing import Any

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.sheets.fleet.fleet_understood import list_record
from drainsim.vehicle.documents.fleet_rows import Fleet


def as_json(
    fleet: Fleet, answer: FleetAnswer, actions: Mapping[str, Action], changed: FleetAnswer | None
) -> dict[str, Any]:
    """Return the whole answer as JSON-ready data."""
    document = summary(fleet, answer, actions, changed)
    document["vehicles"] = [
        {
            **vehicle.as_dict(),
            "action": actions[vehicle.id].as_dict() if vehicle.id in actions else None,
        }
        for vehicle in answer.vehicles
    ]
    document["to_correct"] = [
        {"row": p.row, "column": p.column, "what_is_wrong": p.sentence} for p in answer.problems
    ]
    return document


def summary(
    fleet: Fleet, answer: FleetAnswer, actions: Mapping[str, Action], changed: FleetAnswer | None
) -> dict[str, Any]:
    """Return the fleet's own figures, and how its list was understood."""
    document = answer.as_dict() | {"list": list_record(fleet, answer.problems)}
    counts: dict[str, int] = {}
    for action in actions.values():
        counts[action.key] = counts.get(action.key, 0) + 1
    document["actions"] = counts
    if changed is not None:
        document["if_changed"] = changed.as_dict()["on_dates"]
    return document
