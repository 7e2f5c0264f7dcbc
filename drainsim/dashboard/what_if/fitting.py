"""What goes together: tables switched on and off, and values that no longer fit taken out."""

import copy
from collections.abc import Mapping
from typing import Any, Final

from drainsim.dashboard.what_if.controls import CONTROLS, NO_UNIT, OWN, PRESETS
from drainsim.files.presets import presets
from drainsim.vehicle.pattern import PATTERN
from drainsim.vehicle.scenario import Scenario
from drainsim.vehicle.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

Choices = dict[str, Any]
Tables = dict[str, Any]

SWITCHES: Final = ("maintainer", "solar", "top_up")  # a table that is there or not
REPLACING: Final = ("unit", "vehicle", "kind")  # a choice that drops the values of the one before
# Which keys of a second battery, and which feeds of a unit, each arrangement knows: as
# vehicle.system has them.
_TWO: Final = {"second_health", "second_state_of_charge"}
_SECOND: Final[dict[str, set[str]]] = {
    "12V": set(),
    "24V": _TWO,
    "parallel": _TWO,
    "auxiliary": {*_TWO, "second_capacity_ah", "second_profile", "isolator"},
}
_EVERY_SECOND: Final = _SECOND["auxiliary"]
FEEDS: Final[dict[str, tuple[str, ...]]] = {
    "12V": ("whole", "starter"),
    "24V": ("whole", "one_battery"),
    "parallel": ("whole",),
    "auxiliary": ("starter", "auxiliary"),
}
_TRACTION: Final = ("hybrid", "electric")
_FIRST_PANEL_W: Final = 20.0
_SOME_LATITUDE_DEG: Final = 50.0  # where nothing says one; shown at once, to be put right


def preset_of(tables: Mapping[str, Any], table: str) -> str:
    """Return the preset a unit or vehicle starts from: "own", or "none" of no unit."""
    if table == "unit" and table not in tables:
        return NO_UNIT
    return str(_get(tables, table, "preset") or OWN)


def kind_of(tables: Mapping[str, Any]) -> str:
    """Return the kind of vehicle."""
    given = _get(tables, "vehicle", "kind")
    preset = presets("vehicles").get(str(_get(tables, "vehicle", "preset")))
    return str(given or (preset.values.get("kind") if preset else None) or "engine")


def system_of(tables: Mapping[str, Any]) -> str:
    """Return how the batteries are arranged."""
    return str(_get(tables, "battery", "system") or "12V")


def is_on(tables: Mapping[str, Any], switch: str) -> bool:
    """Say whether a charger is there; a panel without power is none."""
    return bool(_get(tables, "solar", "panel_w")) if switch == "solar" else switch in tables


def stands_at(tables: Mapping[str, Any], name: str) -> Any:
    """Return where a control that decides about others stands."""
    if name in PRESETS:
        return preset_of(tables, name)
    if name in SWITCHES:
        return is_on(tables, name)
    return {"kind": kind_of, "system": system_of}[name](tables)


def unit_at_24v(tables: Mapping[str, Any]) -> bool:
    """Say whether the unit sees both of two batteries in series."""
    fed_from = _get(tables, "unit", "fed_from")
    return system_of(tables) == "24V" and fed_from != "one_battery"


def applies(name: str, tables: Mapping[str, Any]) -> bool:
    """Say whether a control means anything beside these tables."""
    table, _, key = CONTROLS[name].key.partition(".")
    system, kind = system_of(tables), kind_of(tables)
    if name == "top_up":
        return kind in _TRACTION
    if name == "latitude_deg":
        return is_on(tables, "solar") and (
            not _has_climate(tables) or _get(tables, "solar", key) is not None
        )
    if table in SWITCHES and key:
        return is_on(tables, table)
    if table == "unit" and key:
        joined = _get(tables, "battery", "isolator") == "no"
        fits = system == "24V" or (system == "auxiliary" and not joined)
        return table in tables and (name != "fed_from" or fits)
    if key in _EVERY_SECOND:
        return key in _SECOND[system]
    if name == "vehicle":
        return kind == "engine" or preset_of(tables, "vehicle") != OWN
    if name in {"engine_litres", "oil_grade", "block_heater_k"}:
        return kind in {"engine", "motorcycle"}
    return name != "fuel" or kind == "engine"


def chosen_tables(base: Scenario, choices: Mapping[str, Any]) -> tuple[Tables, list[str]]:
    """Return the baseline's tables under the choices that decide about others.

    Another unit, vehicle or kind replaces its whole table: the values before belong to the one
    before. What does not fit any more is taken out; the second result names it, key by key.
    A baseline without choices stays as it is.
    """
    tables = copy.deepcopy(base.tables)
    for table in PRESETS:
        chosen = choices.get(table)
        if chosen is None or chosen == preset_of(base.tables, table):
            continue
        tables.pop(table, None)
        if chosen != NO_UNIT:
            tables[table] = {} if chosen == OWN else {"preset": chosen}
    kind = choices.get("kind")
    if kind is not None and kind != kind_of(base.tables):
        tables["vehicle"] = {"kind": kind}
    for name, control in CONTROLS.items():
        if name in choices and name in {"system", "isolator", "climate", "temperature_c"}:
            _set(tables, control.key, choices[name])
    if choices.get("temperature_c") is not None:
        _set(tables, SITE.climate, None)
    elif choices.get("climate") is not None:
        _set(tables, SITE.temperature_c, None)
    taken_out = _take_out_misfits(tables, base.tables, choices)
    if choices.get("fed_from") is not None and "unit" in tables:
        _set(tables, UNIT.fed_from, choices["fed_from"])
    _switch(tables, choices)
    if is_on(tables, "solar") and not _has_climate(tables):
        tables["solar"].setdefault("latitude_deg", _latitude_before(base.tables))
    return tables, taken_out


def _switch(tables: Tables, choices: Mapping[str, Any]) -> None:
    for switch in SWITCHES:
        wanted = choices.get(switch)
        if wanted is None or wanted == is_on(tables, switch):
            continue
        tables.pop(switch, None)
        if wanted:
            tables[switch] = {"panel_w": _FIRST_PANEL_W} if switch == "solar" else {}


def _take_out_misfits(
    tables: Tables, before: Mapping[str, Any], choices: Mapping[str, Any]
) -> list[str]:
    """Take out what an arrangement, a kind or another voltage cannot have; return the keys."""
    system, gone = system_of(tables), []
    misfits = [f"battery.{key}" for key in sorted(_EVERY_SECOND - _SECOND[system])]
    fed_from = _get(tables, "unit", "fed_from")
    if fed_from not in FEEDS[system] or (
        fed_from == "auxiliary" and choices.get("isolator") == "no"
    ):
        misfits.append(UNIT.fed_from)
    fed_now = {
        "unit": {"fed_from": choices.get("fed_from", fed_from)},
        "battery": {"system": system},
    }
    if unit_at_24v(fed_now) != unit_at_24v(before):
        misfits += [UNIT.cutoff_v, UNIT.resume_v, UNIT.ladder]
    if (system == "24V") != (system_of(before) == "24V"):
        misfits += [VEHICLE.minimum_cranking_v, PATTERN.regulated_v]
    for dotted in misfits:
        table, _, key = dotted.partition(".")
        if _get(tables, table, key) is not None:
            gone.append(dotted)
            _set(tables, dotted, None)
    if "top_up" in tables and kind_of(tables) not in _TRACTION:
        gone.append("top_up")
        del tables["top_up"]
    for entry in tables.get("other", []) if system != "auxiliary" else []:
        if entry.get("fed_from") == "auxiliary":
            gone.append("other.fed_from")
            del entry["fed_from"]
    return gone


def _get(tables: Mapping[str, Any], table: str, key: str) -> Any:
    return tables.get(table, {}).get(key)


def _set(tables: Tables, dotted: str, value: Any) -> None:
    """Set a key, or take it out where the value is None."""
    table, _, key = dotted.partition(".")
    if value is not None:
        tables.setdefault(table, {})[key] = value
    elif table in tables:
        tables[table].pop(key, None)


def _has_climate(tables: Mapping[str, Any]) -> bool:
    """Say whether a climate preset, the usual one included, gives the temperature."""
    return all(_get(tables, "site", key) is None for key in ("temperature_c", "hourly_csv", "epw"))


def _latitude_before(tables: Mapping[str, Any]) -> float:
    """Return the latitude of the place a constant temperature took the place of."""
    if not _has_climate(tables):
        return _SOME_LATITUDE_DEG
    climate = presets("climates").get(str(_get(tables, "site", "climate") or "temperate"))
    found = climate.values.get("latitude_deg") if climate else None
    return _SOME_LATITUDE_DEG if found is None else float(found)
