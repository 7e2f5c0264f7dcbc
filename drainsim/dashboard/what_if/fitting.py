"""What a choice does: tables switched on and off, and values that no longer fit taken out."""

import copy
from collections.abc import Mapping
from typing import Any, Final

from drainsim.dashboard.what_if.controls import (
    CONTROLS,
    EITHER,
    FIRST_PANEL_W,
    NO_UNIT,
    OWN,
    PRESETS,
    SECTIONS,
    SOME_LATITUDE_DEG,
)
from drainsim.files.presets import presets
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.compatibility import (
    charger_is_on,
    kind_of,
    means_something,
    misfits,
    system_of,
)
from drainsim.vehicle.keys.given import given_in, value_in
from drainsim.vehicle.keys.parameter import Parameter
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.kind import TRACTION
from drainsim.vehicle.places.site_keys import SITE, goes_with, has_climate
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import OTHER, VEHICLE

Choices = dict[str, Any]
Tables = dict[str, Any]

SWITCHES: Final = ("maintainer", "solar", "top_up")  # a table that is there or not
REPLACING: Final = ("unit", "vehicle", "kind")  # a choice that drops the values of the one before
_PLACE: Final = tuple(control.name for control in SECTIONS["temperature"])
_BY_ITSELF: Final = ("system", "isolator", *_PLACE)  # set before what they decide


def preset_of(tables: Mapping[str, Any], table: str) -> str:
    """Return the preset a unit or vehicle starts from: "own", or "none" of no unit."""
    if table == "unit" and table not in tables:
        return NO_UNIT
    return str(given_in(tables, CONTROLS[table].key) or OWN)


def stands_at(tables: Mapping[str, Any], name: str) -> Any:
    """Return where a control that decides about others stands."""
    if name in PRESETS:
        return preset_of(tables, name)
    if name in SWITCHES:
        return charger_is_on(tables, name)
    return {"kind": kind_of, "system": system_of}[name](tables)


def applies(name: str, tables: Mapping[str, Any]) -> bool:
    """Say whether a control means anything beside these tables.

    Parameters
    ----------
    name : str
        Of the control.
    tables : mapping
        Of the scenario.
    """
    key = CONTROLS[name].key
    table, kind = key.table, kind_of(tables)
    if name == "top_up":
        return kind in TRACTION
    if name in _PLACE:
        return goes_with(key, tables)
    if name in {"unit", *SWITCHES}:
        return True
    if key == SOLAR.latitude_deg and _has_latitude(tables) and given_in(tables, key) is None:
        return False
    if table in SWITCHES:
        return charger_is_on(tables, table)
    if table == "unit" and table not in tables:
        return False
    if name == "vehicle":
        return kind == VEHICLE.kind.default or preset_of(tables, "vehicle") != OWN
    return means_something(key, tables)


def chosen_tables(base: Scenario, choices: Mapping[str, Any]) -> tuple[Tables, list[str]]:
    """Return the baseline's tables under the choices that decide about others.

    Another unit, vehicle or kind replaces its whole table: the values before belong to the one
    before. What does not fit any more is taken out; the second result names it, key by key.
    A baseline without choices stays as it is.
    """
    tables = _with_presets(base, choices)
    for name, control in CONTROLS.items():
        if name in choices and name in _BY_ITSELF:
            _set(tables, control.key, choices[name])
    for name in _PLACE:
        if choices.get(name) is not None:
            for other in EITHER[name]:
                _set(tables, CONTROLS[other].key, None)
    taken_out = _take_out_misfits(tables, base.tables, choices)
    if choices.get("fed_from") is not None and "unit" in tables:
        _set(tables, UNIT.fed_from, choices["fed_from"])
    _switch(tables, choices)
    if charger_is_on(tables, "solar") and not _has_latitude(tables):
        tables["solar"].setdefault(SOLAR.latitude_deg.key, _latitude_before(base.tables))
    return tables, taken_out


def _with_presets(base: Scenario, choices: Mapping[str, Any]) -> Tables:
    tables = copy.deepcopy(base.tables)
    for table in PRESETS:
        chosen = choices.get(table)
        if chosen is None or chosen == preset_of(base.tables, table):
            continue
        tables.pop(table, None)
        if chosen != NO_UNIT:
            tables[table] = {} if chosen == OWN else {CONTROLS[table].key.key: chosen}
    kind = choices.get("kind")
    if kind is not None and kind != kind_of(base.tables):
        tables[VEHICLE.TABLE.name] = {VEHICLE.kind.key: kind}
    return tables


def _switch(tables: Tables, choices: Mapping[str, Any]) -> None:
    for switch in SWITCHES:
        wanted = choices.get(switch)
        if wanted is None or wanted == charger_is_on(tables, switch):
            continue
        tables.pop(switch, None)
        if wanted:
            tables[switch] = {SOLAR.panel_w.key: FIRST_PANEL_W} if switch == "solar" else {}


def _take_out_misfits(
    tables: Tables, before: Mapping[str, Any], choices: Mapping[str, Any]
) -> list[str]:
    """Take out what an arrangement, a kind or another voltage cannot have; return the keys."""
    gone: list[str] = []
    fed_from = choices.get("fed_from", given_in(tables, UNIT.fed_from))
    joined = choices.get("isolator") == "no"
    found = misfits(tables, before, fed_from=fed_from, joined=joined)
    if choices.get("profile", value_in(before, BATTERY.profile)) != value_in(
        before, BATTERY.profile
    ):
        found.append(BATTERY.full_resting_voltage_v)  # a reading of the battery before
    for misfit in found:
        if given_in(tables, misfit) is None:
            continue
        gone.append(misfit)
        _set(tables, misfit, None)
    if "top_up" in tables and kind_of(tables) not in TRACTION:
        gone.append("top_up")
        del tables["top_up"]
    for entry in tables.get("other", []) if system_of(tables) != "auxiliary" else []:
        if entry.get(OTHER.fed_from.key) == "auxiliary":
            gone.append(OTHER.fed_from)
            del entry[OTHER.fed_from.key]
    return gone


def _set(tables: Tables, key: Parameter, value: Any) -> None:
    """Set a key, or take it out where the value is None."""
    if value is not None:
        tables.setdefault(key.table, {})[key.key] = value
    elif key.table in tables:
        tables[key.table].pop(key.key, None)


def _has_latitude(tables: Mapping[str, Any]) -> bool:
    """Say whether the place brings its latitude."""
    return has_climate(tables) or given_in(tables, SITE.latitude_deg) is not None


def _latitude_before(tables: Mapping[str, Any]) -> float:
    """Return the latitude of the place a constant temperature took the place of."""
    if not has_climate(tables):
        return SOME_LATITUDE_DEG
    climate = presets("climates").get(str(value_in(tables, SITE.climate)))
    found = climate.values.get(SOLAR.latitude_deg.key) if climate else None
    return SOME_LATITUDE_DEG if found is None else float(found)
