"""Two batteries as the one the stand can follow: series, parallel, or one beside the other.

Other systems become one 12 V battery, so that the stand, the fleet run and every question stay
what they are. Two in series are the weaker one with its half of every voltage (one current flows
through both); its expected health is 0.56 standard deviations below one battery's. A trailer's
"no-start" is its silent unit (`simulation/standing/silence.py`).

A separated auxiliary battery is charged as a trailer's is: the pattern's trips, a charging
current and a voltage drop of its own, no starts. Its mean current is one more load of the
starting battery's trips; the two are not solved together, so the auxiliary is charged even at
idle, at the starting battery's cost, which is what a split-charge relay does.
"""

import math
from dataclasses import replace
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.language import Message, message
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.batteries.battery import BATTERY, Battery
from drainsim.vehicle.batteries.starting_charge import StartingCharge
from drainsim.vehicle.compatibility import refuse_joined_charging, refuse_strays
from drainsim.vehicle.keys.given import Scenario
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.pattern import PATTERN
from drainsim.vehicle.unit import UNIT, Unit, UnitMode
from drainsim.vehicle.vehicle import VEHICLE, Vehicle

# Mean and standard deviation of the smaller of two independent standard normal draws:
# -1/√π and √(1 - 1/π).
_WEAKER_SHIFT: Final = -1.0 / math.sqrt(math.pi)
_WEAKER_SD: Final = math.sqrt(1.0 - 1.0 / math.pi)
_SHARED_DRIVING: Final = (
    PATTERN.trips_per_week,
    PATTERN.trip_minutes,
    PATTERN.idle_share,
    PATTERN.regulation,
    PATTERN.smart_charge,
    PATTERN.charging_warm_up_k,
    PATTERN.weeks,
    PATTERN.target_charge,
)
# Keys of a second battery, and what they are in a scenario of its own.
_OWN: Final = {
    BATTERY.second_profile: BATTERY.profile,
    BATTERY.second_capacity_ah: BATTERY.capacity_ah,
    BATTERY.second_health: BATTERY.health,
    BATTERY.second_state_of_charge: BATTERY.state_of_charge,
}
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

    Parameters
    ----------
    ledger, battery, unit, vehicle : Ledger, Battery, Unit, Vehicle

    Raises
    ------
    ScenarioError
        If keys of another arrangement are given, or voltages do not fit it.
    """
    system = ledger.take(BATTERY.system)
    refuse_strays(ledger, system)
    if not vehicle.starts and not unit.fitted:
        raise ScenarioError(
            f"{ledger.scenario.where}: {VEHICLE.kind} = 'trailer' asks when the unit goes silent; "
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


def _refuse_24v_voltages(ledger: Ledger, unit: Unit, vehicle: Vehicle) -> None:
    where = ledger.scenario.where
    for mode in unit.modes[1:]:
        for volts in (mode.enter_below_v, mode.leave_above_v):
            if volts is not None and volts > _HIGHEST_THRESHOLD_V:
                raise ScenarioError(
                    f"{where}: unit: {volts:g} V is never reached by a resting 12 V battery; "
                    f"use a threshold up to {_HIGHEST_THRESHOLD_V:g} V, or {BATTERY.system} = '24V'"
                )
    if vehicle.minimum_cranking_v > _HIGHEST_CRANKING_12V:
        raise ScenarioError(
            f"{where}: {VEHICLE.minimum_cranking_v} = {vehicle.minimum_cranking_v:g} V is "
            "outside 6 to 11.5 V of a 12 V system"
        )


def _second(ledger: Ledger, battery: Battery) -> tuple[float, float]:
    """Return health and charge of the second battery relative to new and full."""
    get = ledger.scenario.get
    health, charge = get(BATTERY.second_health), get(BATTERY.second_state_of_charge)
    if health is not None:
        ledger.note(BATTERY.second_health, health, "given")
    if charge is not None:
        ledger.note(BATTERY.second_state_of_charge, charge, "given")
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
    fed = scenario.get(UNIT.fed_from)
    tapped = fed == "one_battery"
    if unit.fitted:
        ledger.note(
            UNIT.fed_from,
            fed or UNIT.fed_from.default,
            "given" if fed else "default",
            "" if tapped else "both batteries in series",
        )
    minimum_v = scenario.get(VEHICLE.minimum_cranking_v)
    if minimum_v is not None:
        if minimum_v < _LOWEST_24V:
            raise ScenarioError(
                f"{scenario.where}: {VEHICLE.minimum_cranking_v} = {minimum_v:g} V is outside 12 "
                "to 23 V of a 24 V system; give the voltage of the whole system"
            )
        ledger.note(VEHICLE.minimum_cranking_v, minimum_v, "given", "of the whole system")
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
                "unit: a threshold of {enter_below_v:g} V protects nothing at 24 V, where an "
                "empty pair still shows about 23.5 V; use the 24 V setting",
                enter_below_v=mode.enter_below_v,
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


def _tapped_words(unit: Unit) -> Message:
    """Return what a 12 V unit on one of two batteries in series does to them."""
    apart_ah = HOURS_PER_DAY * unit.normal_current_a
    return message(
        "{key} = one_battery: a 12 V unit on one of two batteries in series is a mistake: it draws "
        "its full current from that one alone, the two drift apart by about {day:.2f} Ah a day (as "
        "much as {month:.0f} Ah a month) and driving never brings them together again, because the "
        "alternator fills both alike: one starves, the other is overcharged. Feed it through both, "
        "by its own wide-range input or a 24 V to 12 V converter",
        key=str(UNIT.fed_from),
        day=apart_ah,
        month=30.0 * apart_ah,
    )


def _weaker(ledger: Ledger, battery: Battery) -> Battery:
    """Return the weaker of two batteries in each respect."""
    health, charge = _second(ledger, battery)
    if ledger.scenario.get(BATTERY.second_health) is not None:
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
        BATTERY.TABLE.figure("weaker_of_two"),
        "health 0.56 standard deviations below one battery's",
        "estimated",
        "mean of the smaller of two equal independent draws: the weaker battery decides",
    )
    capacity_sd, cranking_sd = battery.capacity_health_sd, battery.cranking_health_sd
    return replace(
        battery,
        capacity_health=max(
            battery.capacity_health + _WEAKER_SHIFT * capacity_sd, BATTERY.capacity_health.low
        ),
        cranking_health=max(
            battery.cranking_health + _WEAKER_SHIFT * cranking_sd, BATTERY.cranking_health.low
        ),
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
    given = ledger.scenario.get(BATTERY.second_health) is not None
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
    isolated = ledger.take(BATTERY.isolator)
    auxiliary_ah = ledger.take(BATTERY.second_capacity_ah)
    if isolated == "no":
        refuse_joined_charging(ledger)
        ledger.warn(
            "{isolator} = no: starting and auxiliary battery discharge together; whatever is "
            "fed from the auxiliary battery also takes the start away",
            isolator=str(BATTERY.isolator),
        )
        extra = _auxiliary_others_a(ledger)
        joined = _in_parallel(ledger, battery, auxiliary_ah / battery.capacity_ah)
        return joined, unit, replace(vehicle, other_a=vehicle.other_a + extra)
    fed = ledger.scenario.get(UNIT.fed_from)
    if fed == "auxiliary" and ledger.scenario.has(PATTERN.TABLE.name):
        ledger.take(BATTERY.second_charging_a)
        ledger.take(BATTERY.second_charging_drop_v)
    if unit.fitted:
        ledger.note(
            UNIT.fed_from,
            fed or UNIT.fed_from.usual("auxiliary"),
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
            name = f"other.{entry['name']}"
            ledger.note(name, entry["current_a"], "given", "auxiliary", unit="A")
            total += entry["current_a"]
    return total


def auxiliary_scenario(ledger: Ledger) -> Scenario | None:
    """Return the auxiliary battery's own scenario where a unit is fed from a separated one."""
    scenario = ledger.scenario
    get = scenario.get
    if get(BATTERY.system) != "auxiliary" or get(BATTERY.isolator) == "no":
        return None
    if get(UNIT.fed_from) != "auxiliary":
        return None
    battery: dict[str, Any] = {
        own.key: scenario.get_or_default(second)
        for second, own in _OWN.items()
        if scenario.get_or_default(second) is not None
    }
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
        origins=_own_origins(scenario),
    )


def _auxiliary_pattern(scenario: Scenario) -> dict[str, Any] | None:
    """Return the driving as an auxiliary battery sees it: a charger, no starts and no loads."""
    charging_a = float(scenario.get_or_default(BATTERY.second_charging_a))
    if not scenario.has(PATTERN.TABLE.name) or charging_a == 0.0:
        return None
    starter = scenario.tables["pattern"]
    driving = {each.key: starter[each.key] for each in _SHARED_DRIVING if each.key in starter}
    if "trips" in starter:
        driving["trips"] = [
            {key: value for key, value in trip.items() if key != "load_a"}
            for trip in starter["trips"]
        ]
    drop_v = scenario.get_or_default(BATTERY.second_charging_drop_v)
    return {
        **driving,
        "alternator_a": charging_a,
        "alternator_idle_share": 1.0,
        "load_a": 0.0,
        "regulated_v": scenario.get_or_default(PATTERN.regulated_v) - drop_v,
    }


def _own_origins(scenario: Scenario) -> dict[str, str]:
    """Return where the auxiliary battery's own values come from, under its own names."""
    shared = ("unit.", "site.", "solar.", "run.")
    kept = {name: how for name, how in scenario.origins.items() if name.startswith(shared)}
    for second, own in _OWN.items():
        if scenario.get(second) is None and second.default is not None:
            kept[own.name] = "default"
        elif second in scenario.origins:
            kept[own.name] = scenario.origins[second]
    return kept
