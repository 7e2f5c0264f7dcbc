"""Which changes could make a stand hold: each a few keys of the scenario."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from drainsim.answers.storage.changes import Changes
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searches import (
    battery_changes,
    charge_changes,
    cutoff_changes,
    has_sun,
    maintainer_changes,
    report_changes,
)
from drainsim.vehicle.battery import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.solar import SOLAR
from drainsim.vehicle.starting_charge import resting_v
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

# Label, effort (1 a flick, 5 a purchase with work; an opinion, editable) and group: of one group
# only one at a time makes sense. Common practice, no source.
LABELS: Final = {
    "charge_full": "charge the battery fully before parking",
    "slower_reports": "let the unit report every {interval_h:.0f} h",
    "storage_mode": "put the unit into storage mode: one report every {interval_h:.0f} h, no "
    "listening in between",
    "ladder": "let the unit report every {first_h:.0f} h below {first_v:.2f} V and every "
    "{second_h:.0f} h below {second_v:.2f} V",
    "cutoff": "let the unit switch itself off below {cutoff_v:.2f} V",
    "unit_off": "disconnect the unit",
    "disconnect": "disconnect the battery after parking",
    "maintainer": "connect a maintainer of {current_a:.1f} A (needs a socket)",
    "visits": "visit every {weeks:.0f} weeks and charge the battery fully",
    "panel": "lay out a solar panel of {panel_w:.0f} W, flat and in the open",
    "new_battery": "fit a new battery of the same size",
    "larger_battery": "fit a new battery of {capacity_ah:.0f} Ah (if it fits the tray)",
}
LABELS_ONE: Final = {"visits": "visit every week and charge the battery fully"}
LABELS_PLACED: Final = {
    "panel": "lay out a solar panel of {panel_w:.0f} W, tilted {tilt_deg:.0f}° toward the equator, "
    "{shaded:.0f} % of its sunshine lost to shade"
}
LOST: Final = {
    "slower_reports": "position only every {interval_h:.0f} h",
    "storage_mode": "position only every {interval_h:.0f} h; the unit cannot be reached between",
    "ladder": "fewer positions as the battery falls",
    "cutoff": "no position and no alarm of the unit once it is off",
    "unit_off": "no position and no alarm of the unit",
    "disconnect": "no position, no alarm, no central locking; clock and settings may be lost",
}
EFFORT: Final = {
    "charge_full": 1,
    "slower_reports": 1,
    "storage_mode": 1,
    "ladder": 2,
    "cutoff": 2,
    "unit_off": 3,
    "disconnect": 4,  # a spanner, and what is lost
    "maintainer": 3,
    "visits": 4,
    "panel": 4,
    "new_battery": 5,
    "larger_battery": 5,
}
GROUP: Final = {
    "slower_reports": "unit",
    "storage_mode": "unit",
    "ladder": "unit",
    "cutoff": "unit",
    "unit_off": "unit",
    "disconnect": "unit",
    "new_battery": "battery",
    "larger_battery": "battery",
}
_STORAGE_H: Final = 24.0
_MAINTAINER_A: Final = 0.5  # small maintainers; common practice, no source
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


def label_of(key: str, figures: Mapping[str, float]) -> str:
    """Return the label with places for its figures, as these ask for it."""
    if key in LABELS_ONE and figures.get("weeks") == 1.0:
        return LABELS_ONE[key]
    if key in LABELS_PLACED and (figures.get("tilt_deg") or figures.get("shaded")):
        return LABELS_PLACED[key]
    return LABELS[key]


def all_plans(question: StandQuestion) -> list[list[Plan]]:
    """Return the plans that apply; of one list the first that holds is taken."""
    case = question.case()
    return [
        _charge_plans(case),
        *_unit_plans(question, case),
        [_disconnect_plan(question)] if case.vehicle.starts else [],
        [
            Plan(
                key="maintainer",
                changes=maintainer_changes(question, _MAINTAINER_A),
                figures={"current_a": _MAINTAINER_A},
            )
        ],
        [
            Plan(key="visits", changes={}, figures={"weeks": float(weeks)}, visit_weeks=weeks)
            for weeks in _VISITS_WEEKS
            if 7 * weeks < question.days
        ],
        _panel_plans(question, case),
        *_battery_plans(case),
    ]


def _charge_plans(case: Case) -> list[Plan]:
    if case.battery.state_of_charge >= 0.995:
        return []
    return [Plan(key="charge_full", changes=charge_changes(1.0))]


def _unit_plans(question: StandQuestion, case: Case) -> list[list[Plan]]:
    """Return what can be asked of the unit."""
    if not case.unit.fitted:
        return []
    used = {item.name: item.value for item in case.assumptions}
    interval_h = float(used.get(UNIT.report_interval_h, UNIT.report_interval_h.default))
    figures = {"interval_h": _STORAGE_H}
    found = []
    slower = report_changes(question, _STORAGE_H)
    if interval_h < _STORAGE_H:
        found.append([Plan(key="slower_reports", changes=slower, figures=figures)])
    if used.get(UNIT.listening_a) or used.get(UNIT.heartbeat_charge_as):
        quiet: dict[str, Any] = {
            UNIT.listening: "none",
            UNIT.listening_a: 0.0,
            UNIT.heartbeat_charge_as: 0.0,
        }
        slowest_h = max(interval_h, _STORAGE_H)
        changes = {**report_changes(question, slowest_h), **quiet}
        storage = Plan(key="storage_mode", changes=changes, figures={"interval_h": slowest_h})
        found.append([storage])
    off = case.unit.modes[-1].enter_below_v if case.unit.switches_off else None
    first_v, second_v = (_resting(case, share) for share in _LADDER_CHARGE)
    if interval_h < _LADDER_H[0] and first_v > second_v > max(off or 0.0, 6.0):
        found.append([_ladder_plan(first_v, second_v)])
    cutoff_v = _resting(case, _CUTOFF_CHARGE)
    if 6.0 < cutoff_v < 13.9 and (off is None or off < cutoff_v):
        figures = {"cutoff_v": cutoff_v}
        found.append(
            [Plan(key="cutoff", changes=cutoff_changes(question, cutoff_v), figures=figures)]
        )
    if case.vehicle.starts:  # a trailer's unit is all there is to keep alive
        found.append([Plan(key="unit_off", changes={"unit": None})])
    return found


def _resting(case: Case, charge: float) -> float:
    """Return the resting voltage at a charge, at 10 °C, as a setting has it."""
    return round(resting_v(case.battery.profile, charge, 10.0), 2)


def _ladder_plan(first_v: float, second_v: float) -> Plan:
    first_h, second_h = _LADDER_H
    rungs = [
        {"below_v": first_v, "report_interval_h": first_h},
        {"below_v": second_v, "report_interval_h": second_h},
    ]
    return Plan(
        key="ladder",
        changes={UNIT.ladder: rungs},
        figures={
            "first_v": first_v,
            "first_h": first_h,
            "second_v": second_v,
            "second_h": second_h,
        },
    )


def _disconnect_plan(question: StandQuestion) -> Plan:
    """Return the plan that leaves only self-discharge (and a charger, if there is one)."""
    chargers = [e for e in question.scenario.tables.get("other", []) if e["current_a"] < 0]
    return Plan(
        key="disconnect",
        changes={
            "unit": None,
            "other": chargers,
            VEHICLE.quiescent_a: 0.0,
            VEHICLE.wake_ups: [],
            VEHICLE.key_off_stages: [],
        },
    )


def _panel_plans(question: StandQuestion, case: Case) -> list[Plan]:
    """Return panels from small to large, none smaller than one that lies there already."""
    if not has_sun(question):
        return []
    present = case.solar.panel_w if case.solar else 0.0
    get = question.scenario.get
    placed = {
        "tilt_deg": float(get(SOLAR.tilt_deg)),
        "shaded": 100.0 * float(get(SOLAR.shading)),
    }
    return [
        Plan(key="panel", changes={SOLAR.panel_w: watts}, figures={"panel_w": watts, **placed})
        for watts in _PANELS_W
        if watts > present
    ]


def _battery_plans(case: Case) -> list[list[Plan]]:
    """Return a new battery of the same label, and new larger ones."""
    new: dict[str, Any] = {
        BATTERY.age_years: 0.0,
        BATTERY.health: None,
        BATTERY.capacity_health: None,
        BATTERY.cranking_health: None,
    }
    battery = case.battery
    aged = min(battery.capacity_health, battery.cranking_health) < 0.98
    worn = max(battery.capacity_health, battery.cranking_health) <= 1.0
    same = [Plan(key="new_battery", changes=new)] if aged and worn else []
    larger = [
        Plan(
            key="larger_battery",
            changes={**new, **battery_changes(size_ah)},
            figures={"capacity_ah": size_ah},
        )
        for size_ah in _SIZES_AH
        if 1.05 * battery.capacity_ah < size_ah <= _LARGEST_STEP * battery.capacity_ah
    ]
    return [same, larger if worn else []]
