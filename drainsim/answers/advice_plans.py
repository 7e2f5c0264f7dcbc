"""Each way of the list as changes to a scenario's own keys, where it applies to a vehicle.

Batteries in series or parallel are charged and replaced together, and the way says "two"; a
unit's thresholds are those of the voltage it sees.
"""

from dataclasses import dataclass, field
from typing import Any, Final

from drainsim.answers.advice import CHARGE_FULL, label_of
from drainsim.answers.storage.changes import (
    Changes,
    battery_changes,
    both_alike,
    charge_changes,
    cutoff_changes,
    report_changes,
)
from drainsim.language import Celsius, Message, message
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.batteries.chargers import MAINTAINER
from drainsim.vehicle.batteries.starting_charge import resting_v
from drainsim.vehicle.case import Case
from drainsim.vehicle.compatibility import batteries_seen, is_pair
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site import SITE, has_climate
from drainsim.vehicle.places.site_keys import instead_of
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

# All of these: common practice, no source, unless said otherwise.
CHARGED: Final = 0.97  # what a full charge from the mains leaves, the cautious side of full
MAINTAINER_A: Final = 1.0  # small maintainers
SHELTER_C: Final = 5.0
_INDOORS_C: Final = 10.0
_BLOCK_HEATER_K: Final = 25.0
_BATTERY_HEATER_K: Final = 20.0
_HEATER_H: Final = 4.0  # owner's manuals: 2 to 4 h, hottest after about 3 h
_STORAGE_H: Final = 24.0
_LADDER_CHARGE: Final = (0.70, 0.50)  # the ladder's voltages are the resting ones at these
_LADDER_H: Final = (6.0, 24.0)
_CUTOFF_CHARGE: Final = 0.60
_PANELS_W: Final = (5.0, 10.0, 20.0, 30.0, 50.0, 100.0)
_VISITS_WEEKS: Final = (12, 8, 6, 4, 3, 2, 1)
_SIZES_AH: Final = (36.0, 45.0, 52.0, 60.0, 70.0, 80.0, 95.0, 110.0, 140.0, 180.0, 225.0)
_LARGEST_STEP: Final = 1.6  # a tray rarely takes more than this times the present size


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What to change, before it is tried."""

    key: str
    changes: Changes
    figures: dict[str, float] = field(default_factory=dict)
    visit_weeks: int | None = None

    def words(self, *, standing: bool) -> Message:
        """Return what to do about a vehicle, and whether it stands already."""
        return message(label_of(self.key, self.figures, standing=standing), **self.figures)


def _charged_fully(scenario: Scenario) -> Plan:
    """Return the plan to charge fully, both batteries of a pair."""
    return Plan(key=CHARGE_FULL, changes=charge_changes(CHARGED, scenario))


def easiest_plans(scenario: Scenario, case: Case, *, days: int) -> dict[str, Plan]:
    """Return the first plan of each way that applies, by key; a full charge whatever the charge."""
    lists = all_plans(scenario, case, days=days)
    return {CHARGE_FULL: _charged_fully(scenario)} | {plans[0].key: plans[0] for plans in lists}


def all_plans(scenario: Scenario, case: Case, *, days: int) -> list[list[Plan]]:
    """Return the plans that apply to a stand of so many days; of one list the first that holds."""
    return [
        plans
        for plans in (
            [_charged_fully(scenario)] if case.battery.state_of_charge < CHARGED else [],
            *_unit_plans(scenario, case),
            _maintainer_plans(scenario),
            [
                Plan(key="visits", changes={}, figures={"weeks": float(weeks)}, visit_weeks=weeks)
                for weeks in _VISITS_WEEKS
                if 7 * weeks < days
            ],
            _panel_plans(scenario, case),
            *_warm_plans(scenario, case),
            [Plan(key="disconnect", changes=_disconnected(scenario))]
            if case.vehicle.starts
            else [],
            *_battery_plans(scenario, case),
        )
        if plans
    ]


def has_sun(scenario: Scenario, case: Case) -> bool:
    """Say whether a panel can be tried: the latitude is known, and it would feed this battery.

    Where the unit is fed from an auxiliary battery of its own, a panel feeds that one.
    """
    if case.auxiliary is not None:
        return False
    told = (SOLAR.latitude_deg, SITE.latitude_deg)
    return has_climate(scenario.tables) or any(scenario.get(key) is not None for key in told)


def _unit_plans(scenario: Scenario, case: Case) -> list[list[Plan]]:
    """Return what can be asked of the unit."""
    if not case.unit.fitted or case.auxiliary is not None:  # fed from another battery
        return []
    used = {item.name: item.value for item in case.assumptions}
    interval_h = float(used.get(UNIT.report_interval_h, 1.0))
    found = []
    if interval_h < _STORAGE_H:
        slower = report_changes(scenario, _STORAGE_H)
        figures = {"interval_h": _STORAGE_H}
        found.append([Plan(key="slower_reports", changes=slower, figures=figures)])
    if used.get(UNIT.listening_a) or used.get(UNIT.heartbeat_charge_as):
        slowest_h = max(interval_h, _STORAGE_H)
        changes = {
            **report_changes(scenario, slowest_h),
            UNIT.listening: "none",
            UNIT.listening_a: 0.0,
            UNIT.heartbeat_charge_as: 0.0,
        }
        figures = {"interval_h": slowest_h}
        found.append([Plan(key="storage_mode", changes=changes, figures=figures)])
    batteries = batteries_seen(scenario.tables)
    off = (case.unit.modes[-1].enter_below_v or 0.0) if case.unit.switches_off else 0.0
    least_v, most_v = batteries * max(off, 6.0), batteries * 13.9
    first_v, second_v = (_resting(case, share, batteries) for share in _LADDER_CHARGE)
    if interval_h < _LADDER_H[0] and first_v > second_v > least_v:
        found.append([_ladder_plan(first_v, second_v)])
    if not case.vehicle.starts:  # a trailer's unit is all there is to keep alive
        return found
    cutoff_v = _resting(case, _CUTOFF_CHARGE, batteries)
    if least_v < cutoff_v < most_v:
        off_below = cutoff_changes(scenario, cutoff_v)
        found.append([Plan(key="cutoff", changes=off_below, figures={"cutoff_v": cutoff_v})])
    found.append([Plan(key="unit_off", changes={"unit": None})])
    return found


def _resting(case: Case, charge: float, batteries: int) -> float:
    """Return the resting voltage of the batteries the unit sees, at 10 °C, as a setting has it."""
    return round(batteries * resting_v(case.battery.profile, charge, 10.0), 2)


def _ladder_plan(first_v: float, second_v: float) -> Plan:
    first_h, second_h = _LADDER_H
    rungs = [
        {"below_v": first_v, "report_interval_h": first_h},
        {"below_v": second_v, "report_interval_h": second_h},
    ]
    figures = {"first_v": first_v, "first_h": first_h, "second_v": second_v, "second_h": second_h}
    return Plan(key="ladder", changes={UNIT.ladder: rungs}, figures=figures)


def _maintainer_plans(scenario: Scenario) -> list[Plan]:
    """Return a maintainer connected all day from the first day, unless there is one already."""
    get = scenario.get
    value = scenario.get_or_default(MAINTAINER.current_a)
    present_a = float(value) if scenario.has(MAINTAINER.TABLE.name) else 0.0
    hours, from_day = get(MAINTAINER.hours_per_day), get(MAINTAINER.from_day)
    always = (hours is None or hours >= 24.0) and not from_day
    if present_a >= MAINTAINER_A and always:
        return []
    current_a = max(present_a, MAINTAINER_A)
    changes: dict[str, Any] = {
        MAINTAINER.current_a: current_a,
        MAINTAINER.hours_per_day: None,
        MAINTAINER.from_day: None,
    }
    return [Plan(key="maintainer", changes=changes, figures={"current_a": current_a})]


def _disconnected(scenario: Scenario) -> dict[str, Any]:
    """Return the changes that leave self-discharge and what charges the battery itself."""
    chargers = [e for e in scenario.tables.get("other", []) if e["current_a"] < 0]
    return {
        "unit": None,
        "top_up": None,  # the vehicle's converter no longer reaches it
        "other": chargers,
        VEHICLE.quiescent_a: 0.0,
        VEHICLE.wake_ups: [],
        VEHICLE.key_off_stages: [],
    }


def _panel_plans(scenario: Scenario, case: Case) -> list[Plan]:
    """Return panels from small to large, none smaller than one that lies there already."""
    if not has_sun(scenario, case):
        return []
    present = case.solar.panel_w if case.solar else 0.0
    placed = {
        "tilt_deg": float(scenario.get_or_default(SOLAR.tilt_deg)),
        "shaded": 100.0 * float(scenario.get_or_default(SOLAR.shading)),
    }
    return [
        Plan(key="panel", changes={SOLAR.panel_w: watts}, figures={"panel_w": watts, **placed})
        for watts in _PANELS_W
        if watts > present
    ]


def _warm_plans(scenario: Scenario, case: Case) -> list[list[Plan]]:
    """Return what helps against cold: only where it is colder than a shelter, nothing else."""
    if case.site.battery_c.min() >= SHELTER_C:
        return []
    outdoors = (*instead_of(SITE.temperature_c), SITE.sun_soak_c)
    indoors: dict[str, Any] = dict.fromkeys(outdoors)
    changes = {**indoors, SITE.temperature_c: SHELTER_C, "solar": None}  # no sun inside
    found = [[Plan(key="shelter", changes=changes, figures={"shelter_c": Celsius(SHELTER_C)})]]
    before = {"before_h": _HEATER_H}
    if not case.vehicle.starts:
        return found
    vehicle = case.vehicle
    if vehicle.oil is not None and vehicle.block_heater_k < _BLOCK_HEATER_K:
        block: dict[str, Any] = {VEHICLE.block_heater_k: _BLOCK_HEATER_K}
        found.append([Plan(key="block_heater", changes=block, figures=before)])
    if vehicle.battery_heater_k < _BATTERY_HEATER_K:
        pad: dict[str, Any] = {VEHICLE.battery_heater_k: _BATTERY_HEATER_K}
        found.append([Plan(key="battery_heater", changes=pad, figures=before)])
    # The key is a lift above the air: the mean one, so that cold days count colder than they are.
    lift_k = round(_INDOORS_C - float(case.site.battery_c.mean()))
    if lift_k > vehicle.battery_heater_k:
        fetched = {
            **_disconnected(scenario),
            "solar": None,
            **charge_changes(max(CHARGED, case.battery.state_of_charge), scenario),
            VEHICLE.battery_heater_k: float(lift_k),
        }
        plan = Plan(
            key="battery_indoors", changes=fetched, figures={"indoors_c": Celsius(_INDOORS_C)}
        )
        found.append([plan])
    return found


def _battery_plans(scenario: Scenario, case: Case) -> list[list[Plan]]:
    """Return a new battery of the same label, and new larger ones; new ones come charged.

    Of two in series or parallel both are replaced: an old one beside a new one wears it out.
    """
    battery, label_ah = case.battery, case.label(BATTERY.capacity_ah)
    figures = {"batteries": 2.0 if is_pair(scenario.tables) else 1.0}
    new: dict[str, Any] = {
        **both_alike(scenario, BATTERY.second_health),
        BATTERY.age_years: 0.0,
        BATTERY.health: None,
        BATTERY.capacity_health: None,
        BATTERY.cranking_health: None,
        **charge_changes(max(CHARGED, battery.state_of_charge), scenario),
    }
    aged = min(battery.capacity_health, battery.cranking_health) < 0.98
    worn = max(battery.capacity_health, battery.cranking_health) <= 1.0
    same = [Plan(key="new_battery", changes=new, figures=figures)] if aged and worn else []
    larger = [
        Plan(
            key="larger_battery",
            changes={**new, **battery_changes(size_ah)},
            figures={**figures, "capacity_ah": size_ah},
        )
        for size_ah in _SIZES_AH
        if 1.05 * label_ah < size_ah <= _LARGEST_STEP * label_ah
    ]
    return [same, larger if worn else []]
