"""What goes together, said once: for the check of a case and for the controls of a page.

A key that means nothing without another one is warned of, not refused: solvers and sliders change
one key at a time.
"""

from collections.abc import Mapping
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.files.presets import presets
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.batteries.chargers import MAINTAINER
from drainsim.vehicle.keys.given import given_in, value_in
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Parameter
from drainsim.vehicle.keys.schema import PARAMETERS
from drainsim.vehicle.pattern import PATTERN
from drainsim.vehicle.places.site import SITE, default_parked_from
from drainsim.vehicle.places.site_keys import TOLD, is_southern, temperature_source
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import OTHER, TURNED, VEHICLE

_PAIR: Final = (BATTERY.second_health, BATTERY.second_state_of_charge)
_CHARGING: Final = (BATTERY.second_charging_a, BATTERY.second_charging_drop_v)
# Which keys of a second battery, and which feeds of a unit, each arrangement of batteries knows.
SECOND: Final[dict[str, tuple[Parameter, ...]]] = {
    "12V": (),
    "24V": _PAIR,
    "parallel": _PAIR,
    "auxiliary": (
        *_PAIR,
        BATTERY.second_capacity_ah,
        *_CHARGING,
        BATTERY.second_profile,
        BATTERY.isolator,
    ),
}
FEEDS: Final[dict[str, tuple[str, ...]]] = {
    "12V": ("whole", "starter"),
    "24V": ("whole", "one_battery"),
    "parallel": ("whole",),
    "auxiliary": ("starter", "auxiliary"),
}
# Volts of the whole system, or of what a unit sees: of another system they mean something else.
_SYSTEM_VOLTS: Final = (VEHICLE.minimum_cranking_v, PATTERN.regulated_v)
_UNIT_VOLTS: Final = (UNIT.cutoff_v, UNIT.resume_v, UNIT.ladder)
_ENGINE_ONLY: Final = (VEHICLE.engine_litres, VEHICLE.oil_grade, VEHICLE.block_heater_k)
_NEEDS: Final = {each: each.needs for each in PARAMETERS.values() if each.needs}

Tables = Mapping[str, Any]


def system_of(tables: Tables) -> str:
    """Return how the batteries are arranged."""
    return str(value_in(tables, BATTERY.system))


def kind_of(tables: Tables) -> str:
    """Return the kind of vehicle: given, the preset's, or the default."""
    given = given_in(tables, VEHICLE.kind)
    found = presets("vehicles").get(str(given_in(tables, VEHICLE.preset)))
    brought = found.values.get(VEHICLE.kind.key) if found else None
    return str(given or brought or VEHICLE.kind.default)


def charger_is_on(tables: Tables, table: str) -> bool:
    """Say whether a charger's table means one; a panel without power is none.

    Parameters
    ----------
    tables : mapping
        Tables of a scenario, by name.
    table : str
        Its name.
    """
    if table == SOLAR.TABLE.name:
        return bool(given_in(tables, SOLAR.panel_w))
    return table in tables


def unit_at_24v(tables: Tables) -> bool:
    """Say whether the unit sees both of two batteries in series."""
    return system_of(tables) == "24V" and given_in(tables, UNIT.fed_from) != "one_battery"


def is_pair(tables: Tables) -> bool:
    """Say whether two like batteries, in series or parallel, are charged and replaced together."""
    return SECOND[system_of(tables)] == _PAIR


def batteries_seen(tables: Tables) -> int:
    """Return over how many batteries the unit's voltages count: 2 in series, else 1."""
    return 2 if unit_at_24v(tables) else 1


def means_something(parameter: Parameter, tables: Tables) -> bool:
    """Say whether a parameter of the battery, the unit or the vehicle counts beside the others.

    Parameters
    ----------
    parameter : Parameter
    tables : mapping
        Of a scenario.
    """
    system, kind = system_of(tables), kind_of(tables)
    if parameter in SECOND["auxiliary"]:
        return parameter in SECOND[system]
    if parameter == UNIT.fed_from:
        joined = given_in(tables, BATTERY.isolator) == "no"
        return system == "24V" or (system == "auxiliary" and not joined)
    if parameter in _ENGINE_ONLY:
        return kind in TURNED
    if parameter == VEHICLE.fuel:
        return kind == "engine"
    return True


def misfits(tables: Tables, before: Tables, *, fed_from: Any, joined: bool) -> list[Parameter]:
    """Return the parameters that another arrangement, kind or voltage cannot have.

    Parameters
    ----------
    tables, before : mapping
        Of the scenario as it will be and as it was.
    fed_from : str or None
        Battery the unit will be fed from.
    joined : bool
        Whether starting and auxiliary battery become one.
    """
    system = system_of(tables)
    found = sorted(set(SECOND["auxiliary"]) - set(SECOND[system]))
    said = given_in(tables, UNIT.fed_from)
    if said not in FEEDS[system] or (said == "auxiliary" and joined):
        found.append(UNIT.fed_from)
    now = {"unit": {"fed_from": fed_from}, "battery": {"system": system}}
    if unit_at_24v(now) != unit_at_24v(before):
        found += _UNIT_VOLTS
    if (system == "24V") != (system_of(before) == "24V"):
        found += _SYSTEM_VOLTS
    return [parameter for parameter in found if given_in(tables, parameter) is not None]


def refuse_strays(ledger: Ledger, system: str) -> None:
    """Refuse keys that mean nothing in an arrangement, so that none is silently dropped.

    Parameters
    ----------
    ledger : Ledger
    system : str
        How the batteries are arranged.

    Raises
    ------
    ScenarioError
        Naming the key, and what it goes together with.
    """
    get, where = ledger.scenario.get, ledger.scenario.where
    for said in sorted(set(SECOND["auxiliary"]) - set(SECOND[system])):
        if get(said) is not None:
            raise ScenarioError(
                f"{where}: {said} is given but {BATTERY.system} is {system}; "
                f"say which second battery is meant by {BATTERY.system}"
            )
    fed = get(UNIT.fed_from)
    if fed is not None and fed not in FEEDS[system]:
        raise ScenarioError(
            f"{where}: {UNIT.fed_from} = {fed!r} does not go with {BATTERY.system} {system}; "
            f"use one of {', '.join(sorted(FEEDS[system]))}"
        )
    for entry in ledger.scenario.tables.get(OTHER.TABLE.name, []) if system != "auxiliary" else []:
        if entry.get(OTHER.fed_from.key) == "auxiliary":
            raise ScenarioError(
                f"{where}: other {entry['name']!r} is fed from an auxiliary battery but "
                f"{BATTERY.system} is {system}"
            )


def refuse_joined_charging(ledger: Ledger) -> None:
    """Refuse keys of a separated battery's charging where the two are one.

    Raises
    ------
    ScenarioError
        Naming the key.
    """
    for said in _CHARGING:
        if ledger.scenario.get(said) is not None:
            raise ScenarioError(
                f"{ledger.scenario.where}: {said} says how a separated battery is "
                f"charged, but {BATTERY.isolator} is no; drop one of them"
            )


def warn_of_unused(ledger: Ledger) -> None:
    """Warn of every given value that no answer will use."""
    get = ledger.scenario.get
    driving = ledger.scenario.has(PATTERN.TABLE.name)
    for said, needs in _NEEDS.items():
        if get(said) and needs in PARAMETERS:
            needed = PARAMETERS[needs]
            if get(needed) is None and ledger.preset_value(needed) is None:
                ledger.warn(
                    "{said} is not used: it needs {needed}", said=str(said), needed=str(needed)
                )
    if get(PATTERN.trip_minutes) is not None and get(PATTERN.trips) is not None:
        ledger.warn(
            "{trip_minutes} is not used: the trips are listed with their own minutes",
            trip_minutes=str(PATTERN.trip_minutes),
        )
    if get(PATTERN.smart_charge) is not None and get(PATTERN.regulation) != "smart":
        ledger.warn(
            "{smart_charge} is not used: it needs {regulation} = 'smart'",
            smart_charge=str(PATTERN.smart_charge),
            regulation=str(PATTERN.regulation),
        )
    for said in (MAINTAINER.between_trips, *_CHARGING):
        if get(said) is not None and not driving:
            ledger.warn("{said} is not used: it needs a [pattern] of driving", said=str(said))
    for said in _CHARGING:
        if get(said) is not None and get(UNIT.fed_from) != "auxiliary":
            ledger.warn(
                "{said} is not used: it needs {fed_from} = 'auxiliary'",
                said=str(said),
                fed_from=str(UNIT.fed_from),
            )


def warn_of_the_south(ledger: Ledger) -> None:
    """Say where a panel's latitude and the seasons are of different halves of the earth."""
    latitude_deg = ledger.scenario.get(SOLAR.latitude_deg)
    if latitude_deg is None or (latitude_deg < 0.0) == is_southern(ledger.scenario):
        return
    source = temperature_source(ledger.scenario)
    if source in TOLD:
        ledger.warn(
            "{key} = {latitude:g}° and the place of the temperatures lie in "
            "different halves of the earth; {place_key} says in which the place lies, in "
            "the north where it is not given",
            key=str(SOLAR.latitude_deg),
            latitude=latitude_deg,
            place_key=str(SITE.latitude_deg),
        )
    elif source == SITE.climate:
        ledger.warn(
            "{key} = {latitude:g}° is in the south, but every climate preset "
            "has northern seasons: temperature and sunshine are half a year apart; give the "
            "place's own temperatures ({hourly_csv}, {epw}, or {coldest_month_c} beside "
            "{place_key})",
            key=str(SOLAR.latitude_deg),
            latitude=latitude_deg,
            hourly_csv=str(SITE.hourly_csv),
            epw=str(SITE.epw),
            coldest_month_c=str(SITE.coldest_month_c),
            place_key=str(SITE.latitude_deg),
        )
    elif source != SITE.temperature_c and ledger.scenario.get(SITE.parked_from) is None:
        ledger.warn(
            "{parked_from} is not given: {day} is ahead of a northern "
            "winter; in the south the cautious half of the year begins in June",
            parked_from=str(SITE.parked_from),
            day=default_parked_from().isoformat(),
        )
