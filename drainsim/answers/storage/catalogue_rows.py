"""Rows of a catalogue that are no preset: named batteries, and the user's own vehicles."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from drainsim.answers.storage.changes import Changes
from drainsim.errors import ScenarioError
from drainsim.files.presets import presets
from drainsim.language import joined, message
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.places.site_keys import SITE
from drainsim.vehicle.run import RUN
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

# Label values belong to one battery; without one a class gets the usual size for its engine.
LABEL: Final = (
    BATTERY.capacity_ah,
    BATTERY.reserve_capacity_min,
    BATTERY.cold_cranking_a,
    BATTERY.cranking_standard,
)
_UNUSUAL: Final = 3.0  # times the usual size for the engine: common practice, no source
_LABEL: Final = re.compile(
    r"(?P<ah>\d+(?:[.,]\d+)?)\s*Ah(?:\s*/\s*(?P<cca>\d+)\s*A(?:[-\s](?P<standard>[A-Za-z]+))?)?"
    r"(?:\s*/\s*(?P<profile>\w+))?",
    re.IGNORECASE,
)


def _battery_label(text: str) -> tuple[str, Changes]:
    """Return a battery's name and the scenario changes that fit it.

    Raises
    ------
    ScenarioError
        If the text is no label.

    Examples
    --------
    >>> name, changes = _battery_label("60Ah/540A-EN")
    >>> name, changes[BATTERY.cold_cranking_a], changes[BATTERY.cranking_standard]
    ('60 Ah, 540 A (EN)', 540.0, 'EN')
    >>> _battery_label("service van=95Ah/850A-EN/agm")[0]
    'service van'
    """
    given, _, label = text.rpartition("=")
    match = _LABEL.fullmatch(label.strip())
    if match is None:
        raise ScenarioError(
            f"--battery {text}: write a label like 60Ah/540A-EN, 95Ah/850A-EN/agm or NAME=70Ah"
        )
    capacity_ah = float(match["ah"].replace(",", "."))
    standard = (match["standard"] or BATTERY.cranking_standard.default).upper()
    changes: dict[str, Any] = {key: None for key in LABEL}
    changes[BATTERY.capacity_ah] = capacity_ah
    shown = message("{capacity:g} Ah", capacity=capacity_ah)
    if match["cca"]:
        changes[BATTERY.cold_cranking_a] = float(match["cca"])
        changes[BATTERY.cranking_standard] = standard
        current = f"{match['cca']} A ({standard})"
        shown = joined(", ", [shown, current])
    if match["profile"]:
        changes[BATTERY.profile] = match["profile"].lower()
        shown = joined(", ", [shown, match["profile"].lower()])
    return given.strip() or shown, changes


def label_words(scenario: Scenario) -> str:
    """Return a scenario's battery label in words, "" where it gives none."""
    parts = [f"{key.key} = {scenario.get(key)}" for key in LABEL if scenario.get(key) is not None]
    return ", ".join(parts)


def own_vehicle(scenario: Scenario) -> Changes:
    """Return the changes that make a catalogue's vehicle a scenario's: all but unit, place, run.

    Of the battery, and what feeds the unit, it takes the place of what a unit's scenario says.
    """
    changes: dict[str, Any] = {VEHICLE.preset.table: {}}
    for name, table in scenario.tables.items():
        if name == BATTERY.capacity_ah.table:
            changes |= {f"{name}.{key}": value for key, value in table.items()}
        elif name not in (UNIT.preset.table, SITE.climate.table, RUN.draws.table):
            changes[name] = table
    fed_from = scenario.get(UNIT.fed_from)
    return changes if fed_from is None else {**changes, UNIT.fed_from: fed_from}


def unusual_batteries(own_vehicles: Mapping[str, Changes]) -> list[str]:
    """Return the rows whose battery is three times what is usual for the engine, or a third."""
    found = []
    for name, row in own_vehicles.items():
        given_ah = row.get(BATTERY.capacity_ah)
        bare = scenario_from_dict({"battery": {}, "vehicle": row["vehicle"]})
        usual_ah = resolve(bare).battery.capacity_ah
        if given_ah and not usual_ah / _UNUSUAL <= given_ah <= _UNUSUAL * usual_ah:
            found.append(name)
    return found


def battery_rows(
    vehicles: Sequence[str], own_vehicles: Mapping[str, Changes], labels: Sequence[str]
) -> dict[str, Changes]:
    """Return a row for every vehicle with every battery, its own first: name → changes.

    Parameters
    ----------
    vehicles : sequence of str
        Presets, or names of own vehicles.
    own_vehicles : mapping
        Name → changes, from `own_vehicle`.
    labels : sequence of str
        Like "60Ah/540A-EN".

    Raises
    ------
    ScenarioError
        If a label cannot be read, or two have one name.
    """
    rows: dict[str, Changes] = {}
    for vehicle in vehicles:
        own = own_vehicles.get(vehicle)
        kind = own if own is not None else {"vehicle": {"preset": vehicle}}
        shown = vehicle if own is not None else message(presets("vehicles")[vehicle].name)
        if own is not None and own.get(BATTERY.capacity_ah) is not None:
            stated = message("{capacity:g} Ah, as its file says", capacity=own[BATTERY.capacity_ah])
            rows[joined("; ", [shown, stated])] = own
        for label in labels:
            name, changes = _battery_label(label)
            row = joined("; ", [shown, name])
            if row in rows:
                raise ScenarioError(f"--battery {label}: {name} is there already; name each once")
            rows[row] = {**kind, **changes}
    return rows
