"""Two batteries as the one the stand can follow: series, parallel, or one beside the other.

Other systems become one 12 V battery, so that the stand, the fleet run and every question stay
what they are. Two in series are the weaker one with its half of every voltage (one current flows
through both); its expected health is 0.56 standard deviations below one battery's. A trailer's
"no-start" is its silent unit (`simulation/silence.py`).

A separated auxiliary battery is charged as a trailer's is: the pattern's trips, a charging
current and a voltage drop of its own, no starts. Its mean current is one more load of the
starting battery's trips; the two are not solved together, so the auxiliary is charged even at
idle, at the starting battery's cost, which is what a split-charge relay does.
"""

import math
from dataclasses import replace
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.physics.charging import MIDDLE_V
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.battery import Battery
from drainsim.vehicle.ledger import Ledger
from drainsim.vehicle.scenario import Scenario
from drainsim.vehicle.starting_charge import StartingCharge
from drainsim.vehicle.unit import Unit, UnitMode
from drainsim.vehicle.vehicle import Vehicle

_PRACTICE: Final = "common practice, no source"
# Mean and standard deviation of the smaller of two independent standard normal draws:
# -1/√π and √(1 - 1/π).
_WEAKER_SHIFT: Final = -1.0 / math.sqrt(math.pi)
_WEAKER_SD: Final = math.sqrt(1.0 - 1.0 / math.pi)
_AUXILIARY_AH: Final = 90.0
_AUXILIARY_PROFILE: Final = "agm"
# What a split-charge relay and its cable bring to an auxiliary battery: common practice, no source.
_AUXILIARY_CHARGING_A: Final = 20.0
_AUXILIARY_DROP_V: Final = 0.5
_SHARED_DRIVING: Final = frozenset(
    {
        "trips_per_week",
        "trip_minutes",
        "idle_share",
        "regulation",
        "smart_charge",
        "charging_warm_up_k",
        "weeks",
        "target_charge",
    }
)
_SECOND_KEYS: Final = frozenset(
    {
        "second_health",
        "second_state_of_charge",
        "second_capacity_ah",
        "second_charging_a",
        "second_charging_drop_v",
        "second_profile",
        "isolator",
    }
)
_HIGHEST_THRESHOLD_V: Final = 15.0  # no 12 V unit's threshold lies above
_LOWEST_24V: Final = 12.0
# A threshold below it was meant for one battery, as an empty pair shows more: common practice,
# no source.
_LOWEST_USEFUL_24V: Final = 18.75
_HIGHEST_CRANKING_12V: Final = 11.5


def arranged(
    ledger: Ledger, battery: Battery, unit: Unit, vehicle: Vehicle
) -> tuple[Battery, Unit, Vehicle]:
    """Return battery, unit and vehicle as one 12 V battery sees them.

    Raises
    ------
    ScenarioError
        If keys of another arrangement are given, or voltages do not fit it.
    """
    system, _ = ledger.take("battery", "system", "", default="12V", source="a single 12 V battery")
    _refuse_strays(ledger, system)
    if not vehicle.starts and not unit.fitted:
        raise ScenarioError(
            f"{ledger.scenario.where}: vehicle.kind = 'trailer' asks when the unit goes silent; "
            "add a [unit] table"
        )
    if system == "24V":
        return _in_series(ledger, battery, unit, vehicle)
    _refuse_24v_voltages(ledger, unit, vehicle)
    if system == "parallel":
        return _in_parallel(ledger, battery, 1.0), unit, vehicle
    if system == "auxiliary":
        return _beside(ledger, battery, unit, vehicle)
    return battery, unit, vehicle


def _refuse_strays(ledger: Ledger, system: str) -> None:
    """Refuse keys that mean nothing in an arrangement, so that none is silently dropped."""
    get, where = ledger.scenario.get, ledger.scenario.where
    allowed: set[str] = {
        "12V": set(),
        "24V": {"second_health", "second_state_of_charge"},
        "parallel": {"second_health", "second_state_of_charge"},
        "auxiliary": set(_SECOND_KEYS),
    }[system]
    for key in sorted(_SECOND_KEYS - allowed):
        if get("battery", key) is not None:
            raise ScenarioError(
                f"{where}: battery.{key} is given but battery.system is {system}; "
                "say which second battery is meant by battery.system"
            )
    fed = get("unit", "fed_from")
    fits = {
        "12V": {None, "whole", "starter"},
        "24V": {None, "whole", "one_battery"},
        "parallel": {None, "whole"},
        "auxiliary": {None, "starter", "auxiliary"},
    }[system]
    if fed not in fits:
        named = ", ".join(sorted(name for name in fits if name))
        raise ScenarioError(
            f"{where}: unit.fed_from = {fed!r} does not go with battery.system {system}; "
            f"use one of {named}"
        )
    if system != "auxiliary":
        for entry in ledger.scenario.tables.get("other", []):
            if entry.get("fed_from") == "auxiliary":
                raise ScenarioError(
                    f"{where}: other {entry['name']!r} hangs on an auxiliary battery but "
                    f"battery.system is {system}"
                )


def _refuse_24v_voltages(ledger: Ledger, unit: Unit, vehicle: Vehicle) -> None:
    where = ledger.scenario.where
    for mode in unit.modes[1:]:
        for volts in (mode.enter_below_v, mode.leave_above_v):
            if volts is not None and volts > _HIGHEST_THRESHOLD_V:
                raise ScenarioError(
                    f"{where}: unit: {volts:g} V is never reached by a resting 12 V battery; "
                    "use a threshold up to 15 V, or battery.system = '24V'"
                )
    if vehicle.minimum_cranking_v > _HIGHEST_CRANKING_12V:
        raise ScenarioError(
            f"{where}: vehicle.minimum_cranking_v = {vehicle.minimum_cranking_v:g} V is outside 6 "
            "to 11.5 V of a 12 V system"
        )


def _second(ledger: Ledger, battery: Battery) -> tuple[float, float]:
    """Return health and charge of the second battery relative to new and full."""
    get = ledger.scenario.get
    health, charge = get("battery", "second_health"), get("battery", "second_state_of_charge")
    if health is not None:
        ledger.note("battery.second_health", health, "", "given")
    if charge is not None:
        ledger.note("battery.second_state_of_charge", charge, "", "given")
    return (
        battery.capacity_health if health is None else float(health),
        battery.state_of_charge if charge is None else float(charge),
    )


def _in_series(
    ledger: Ledger, battery: Battery, unit: Unit, vehicle: Vehicle
) -> tuple[Battery, Unit, Vehicle]:
    """Return the weaker of two in series with its half of every voltage.

    One current flows through both, so amperes and ampere-hours stay what they are; the weaker
    battery is flat first and gives way first while cranking.
    """
    scenario = ledger.scenario
    weaker = _weaker(ledger, battery)
    tapped = scenario.get("unit", "fed_from") == "one_battery"
    if unit.fitted:
        ledger.note(
            "unit.fed_from",
            "one_battery" if tapped else "whole",
            "",
            "given" if scenario.get("unit", "fed_from") else "default",
            "" if tapped else "both batteries in series",
        )
    minimum_v = scenario.get("vehicle", "minimum_cranking_v")
    if minimum_v is not None:
        if minimum_v < _LOWEST_24V:
            raise ScenarioError(
                f"{scenario.where}: vehicle.minimum_cranking_v = {minimum_v:g} V is outside 12 to "
                "23 V of a 24 V system; give the voltage of the whole system"
            )
        ledger.note("vehicle.minimum_cranking_v", minimum_v, "V", "given", "of the whole system")
        vehicle = replace(vehicle, minimum_cranking_v=0.5 * minimum_v)
    if not unit.fitted:
        return weaker, unit, vehicle
    if tapped:
        _refuse_24v_voltages(ledger, unit, vehicle)
        ledger.warn(_tapped_words(unit))
        return weaker, unit, vehicle
    for mode in unit.modes[1:]:
        if mode.enter_below_v is not None and mode.enter_below_v < _LOWEST_USEFUL_24V:
            ledger.warn(
                f"unit: a threshold of {mode.enter_below_v:g} V protects nothing at 24 V, where an "
                "empty pair still shows about 23.5 V; use the 24 V setting"
            )
            break
    modes = tuple(
        replace(
            mode,
            enter_below_v=None if mode.enter_below_v is None else 0.5 * mode.enter_below_v,
            leave_above_v=None if mode.leave_above_v is None else 0.5 * mode.leave_above_v,
        )
        for mode in unit.modes
    )
    return weaker, replace(unit, modes=modes, rated_at_v=0.5 * unit.rated_at_v), vehicle


def _tapped_words(unit: Unit) -> str:
    """Return what a 12 V unit on one of two batteries in series does to them."""
    apart_ah = HOURS_PER_DAY * unit.normal_current_a
    return (
        "unit.fed_from = one_battery: a 12 V unit on one of two batteries in series is a "
        f"mistake: it draws its full current from that one alone, the two drift apart by about "
        f"{apart_ah:.2f} Ah a day (as much as {30.0 * apart_ah:.0f} Ah a month) and driving "
        "never brings them together again, because the alternator fills both alike: one "
        "starves, the other is overcharged. Feed it through both, by its own wide-range input "
        "or a 24 V to 12 V converter"
    )


def _weaker(ledger: Ledger, battery: Battery) -> Battery:
    """Return the weaker of two batteries in each respect."""
    health, charge = _second(ledger, battery)
    if ledger.scenario.get("battery", "second_health") is not None:
        if min(health, battery.capacity_health) < 0.8 * max(health, battery.capacity_health):
            ledger.warn(
                "battery: two batteries of unequal health in series wear each other out: the "
                "weaker is emptied deeper and charged worse each time; replace both together"
            )
        return replace(
            battery,
            capacity_health=min(battery.capacity_health, health),
            cranking_health=min(battery.cranking_health, health),
            start=_lower(battery, charge),
        )
    ledger.note(
        "battery.weaker_of_two",
        "health 0.56 standard deviations below one battery's",
        "",
        "estimated",
        "mean of the smaller of two equal independent draws: the weaker battery decides",
    )
    capacity_sd, cranking_sd = battery.capacity_health_sd, battery.cranking_health_sd
    return replace(
        battery,
        capacity_health=battery.capacity_health + _WEAKER_SHIFT * capacity_sd,
        cranking_health=battery.cranking_health + _WEAKER_SHIFT * cranking_sd,
        capacity_health_sd=_WEAKER_SD * capacity_sd,
        cranking_health_sd=_WEAKER_SD * cranking_sd,
        start=_lower(battery, charge),
    )


def _lower(battery: Battery, charge: float) -> StartingCharge:
    """Return how the emptier of two batteries starts; one is known by its charge only."""
    return battery.start if charge >= battery.state_of_charge else battery.start.known_as(charge)


def _in_parallel(ledger: Ledger, battery: Battery, ratio: float) -> Battery:
    """Return one battery as large as two in parallel; the second is `ratio` times the first.

    They share voltage, so charge evens out; capacity and cranking current add up.
    """
    health, charge = _second(ledger, battery)
    first, second = 1.0 / (1.0 + ratio), ratio / (1.0 + ratio)
    size = 1.0 + ratio
    full = first * battery.capacity_health, second * health
    spread = math.hypot(first, second)
    given = ledger.scenario.get("battery", "second_health") is not None
    if given and health < 0.7 * battery.capacity_health:
        ledger.warn(
            "battery: the weaker battery of a parallel pair can drain the better one through an "
            "internal fault; test each alone, and replace both together"
        )
    kept_ah = battery.kinetic.low_rate_capacity_ah
    mixed = (full[0] * battery.state_of_charge + full[1] * charge) / sum(full)
    return replace(
        battery,
        capacity_ah=size * battery.capacity_ah,
        reserve_capacity_min=size * battery.reserve_capacity_min,
        cold_cranking_a=size * battery.cold_cranking_a,
        kinetic=battery.kinetic._replace(low_rate_capacity_ah=size * kept_ah),
        capacity_health=sum(full),
        cranking_health=first * battery.cranking_health
        + second * (health if given else battery.cranking_health),
        start=battery.start if charge == battery.state_of_charge else battery.start.known_as(mixed),
        capacity_health_sd=spread * battery.capacity_health_sd,
        cranking_health_sd=spread * battery.cranking_health_sd,
    )


def _beside(
    ledger: Ledger, battery: Battery, unit: Unit, vehicle: Vehicle
) -> tuple[Battery, Unit, Vehicle]:
    """Return the starting battery's side of a vehicle with an auxiliary battery."""
    isolated, _ = ledger.take(
        "battery", "isolator", "", default="yes", source=f"usual with an auxiliary; {_PRACTICE}"
    )
    auxiliary_ah, _ = ledger.take(
        "battery", "second_capacity_ah", "Ah", default=_AUXILIARY_AH, source=_PRACTICE
    )
    if isolated == "no":
        for key in ("second_charging_a", "second_charging_drop_v"):
            if ledger.scenario.get("battery", key) is not None:
                raise ScenarioError(
                    f"{ledger.scenario.where}: battery.{key} says how a separated battery is "
                    "charged, but battery.isolator is no; drop one of them"
                )
        ledger.warn(
            "battery.isolator = no: starting and auxiliary battery discharge together; whatever "
            "hangs on the auxiliary battery also takes the start away"
        )
        extra = _auxiliary_others_a(ledger)
        joined = _in_parallel(ledger, battery, auxiliary_ah / battery.capacity_ah)
        return joined, unit, replace(vehicle, other_a=vehicle.other_a + extra)
    fed = ledger.scenario.get("unit", "fed_from")
    if fed == "auxiliary" and ledger.scenario.has("pattern"):
        way = f"split-charge relay and its cable; {_PRACTICE}"
        for key, volts_or_a, usual in (
            ("second_charging_a", "A", _AUXILIARY_CHARGING_A),
            ("second_charging_drop_v", "V", _AUXILIARY_DROP_V),
        ):
            ledger.take("battery", key, volts_or_a, default=usual, source=way)
    if unit.fitted:
        ledger.note(
            "unit.fed_from",
            fed or "starter",
            "",
            "given" if fed else "default",
            "" if fed else "cautious: it then takes from the start",
        )
    if fed == "auxiliary":
        quiet = UnitMode(name="on the auxiliary battery", current_a=0.0)
        unit = replace(unit, modes=(quiet,), once_ah=0.0, sigma=0.0, switches_off=False)
    return battery, unit, vehicle


def _auxiliary_others_a(ledger: Ledger) -> float:
    total = 0.0
    for entry in ledger.scenario.tables.get("other", []):
        if entry.get("fed_from") == "auxiliary":
            ledger.note(f"other.{entry['name']}", entry["current_a"], "A", "given", "auxiliary")
            total += entry["current_a"]
    return total


def auxiliary_scenario(ledger: Ledger) -> Scenario | None:
    """Return the auxiliary battery's own scenario where a unit hangs on a separated one."""
    scenario = ledger.scenario
    get = scenario.get
    if get("battery", "system") != "auxiliary" or get("battery", "isolator") == "no":
        return None
    if get("unit", "fed_from") != "auxiliary":
        return None
    battery: dict[str, Any] = {
        "profile": get("battery", "second_profile") or _AUXILIARY_PROFILE,
        "capacity_ah": _given_or(scenario, "second_capacity_ah", _AUXILIARY_AH),
    }
    for key, second in (("health", "second_health"), ("state_of_charge", "second_state_of_charge")):
        if get("battery", second) is not None:
            battery[key] = get("battery", second)
    unit = {key: value for key, value in scenario.tables["unit"].items() if key != "fed_from"}
    others = [
        {"name": entry["name"], "current_a": entry["current_a"]}
        for entry in scenario.tables.get("other", [])
        if entry.get("fed_from") == "auxiliary"
    ]
    kept: dict[str, Any] = {
        key: scenario.tables[key] for key in ("site", "run", "solar") if key in scenario.tables
    }
    driving = _auxiliary_pattern(scenario)
    if driving is not None:
        kept["pattern"] = driving
    tables = {
        **kept,
        "battery": battery,
        "unit": unit,
        "vehicle": {"kind": "trailer"},
        "other": others,
    }
    return Scenario(
        tables=tables,
        where=f"{scenario.where}, auxiliary battery",
        folder=scenario.folder,
        origins=_own_origins(scenario.origins),
    )


def _given_or(scenario: Scenario, key: str, usual: float) -> float:
    """Return a value of the auxiliary battery, the usual one where none is given."""
    given = scenario.get("battery", key)
    return usual if given is None else float(given)


def _auxiliary_pattern(scenario: Scenario) -> dict[str, Any] | None:
    """Return the driving as an auxiliary battery sees it: a charger, no starts and no loads."""
    charging_a = _given_or(scenario, "second_charging_a", _AUXILIARY_CHARGING_A)
    if not scenario.has("pattern") or charging_a == 0.0:
        return None
    starter = scenario.tables["pattern"]
    driving = {key: value for key, value in starter.items() if key in _SHARED_DRIVING}
    if "trips" in starter:
        driving["trips"] = [
            {key: value for key, value in trip.items() if key != "load_a"}
            for trip in starter["trips"]
        ]
    drop_v = _given_or(scenario, "second_charging_drop_v", _AUXILIARY_DROP_V)
    return {
        **driving,
        "alternator_a": charging_a,
        "alternator_idle_share": 1.0,
        "load_a": 0.0,
        "regulated_v": starter.get("regulated_v", MIDDLE_V) - drop_v,
    }


def _own_origins(origins: dict[str, str]) -> dict[str, str]:
    """Return where the auxiliary battery's own values come from, under its own names."""
    second = {
        f"battery.second_{key}": f"battery.{key}"
        for key in ("capacity_ah", "health", "profile", "state_of_charge")
    }
    shared = ("unit.", "site.", "solar.", "run.")
    return {
        second.get(name, name): origin
        for name, origin in origins.items()
        if name in second or name.startswith(shared)
    }
