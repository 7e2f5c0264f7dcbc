"""What can be looked for: the values tried for each input, and the scenario changes they mean."""

from typing import Any, Final

import numpy as np

from drainsim.answers.advice_plans import MAINTAINER_A, has_sun
from drainsim.answers.storage.changes import (
    battery_changes,
    charge_changes,
    cutoff_changes,
    report_changes,
)
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.solving import Search, written_values
from drainsim.answers.words import placed_words
from drainsim.language import message
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.batteries.chargers import MAINTAINER
from drainsim.vehicle.batteries.starting_charge import resting_v
from drainsim.vehicle.case import Case
from drainsim.vehicle.compatibility import batteries_seen
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.vehicle import VEHICLE

# How far each answer reaches: common practice, no source, unless said otherwise.
SLOWEST_REPORT_H: Final = 720.0  # a month
FASTEST_REPORT_H: Final = 1.0 / 60.0
LARGEST_CAPACITY_AH: Final = 225.0  # largest common 12 V block
LARGEST_COLD_CRANKING_A: Final = 1500.0
SMALLEST_MAINTAINER_A: Final = 0.05  # the least the scenario takes
LARGEST_PANEL_W: Final = 300.0
LOWEST_CUTOFF_V: Final = 8.0  # of one battery: lowest of supply code B, at 24 V F, ISO 16750-2


def report_search(question: StandQuestion) -> Search | None:
    """Look for the fastest reporting that holds; None without a unit."""
    if not question.scenario.has("unit"):
        return None
    return Search(
        question=question,
        key="report_interval",
        label=message("time between reports, at least"),
        unit="h",
        candidates=written_values(FASTEST_REPORT_H, SLOWEST_REPORT_H)[::-1],
        change=lambda interval_h: report_changes(question.scenario, interval_h),
    )


def quiescent_search(question: StandQuestion) -> Search:
    """Look for the largest quiescent current of the vehicle that holds."""
    return Search(
        question=question,
        key="quiescent",
        label=message("vehicle's quiescent current, at most"),
        unit="A",
        candidates=written_values(0.001, 5.0),
        change=lambda current_a: {VEHICLE.quiescent_a: current_a},
    )


def _cranking(question: StandQuestion, case: Case) -> dict[str, Any]:
    """Return the cold cranking current of the label, or the resolved 30 s one (SAE)."""
    if question.scenario.get(BATTERY.cold_cranking_a) is not None:
        return {}
    return {
        BATTERY.cold_cranking_a: float(round(case.label(BATTERY.cold_cranking_a))),
        BATTERY.cranking_standard: "SAE",
    }


def capacity_search(question: StandQuestion) -> Search:
    """Look for the smallest C20 that holds at the present cold cranking current."""
    fixed = {BATTERY.reserve_capacity_min: None, **_cranking(question, question.case())}
    return Search(
        question=question,
        key="capacity",
        label=message("battery capacity C20, at least (same cold cranking current)"),
        unit="Ah",
        candidates=np.arange(LARGEST_CAPACITY_AH, 4.0, -1.0),
        change=lambda capacity_ah: {**fixed, BATTERY.capacity_ah: capacity_ah},
    )


def cold_cranking_search(question: StandQuestion) -> Search:
    """Look for the smallest cold cranking current that holds at the present capacity."""
    standard = question.scenario.get_or_default(BATTERY.cranking_standard)
    fixed: dict[str, Any] = {
        BATTERY.capacity_ah: round(question.case().label(BATTERY.capacity_ah), 1),
        BATTERY.reserve_capacity_min: None,
        BATTERY.cranking_standard: standard,
    }
    return Search(
        question=question,
        key="cold_cranking",
        label=message(
            "cold cranking current ({standard}), at least (same capacity)", standard=standard
        ),
        unit="A",
        candidates=np.arange(LARGEST_COLD_CRANKING_A, 40.0, -10.0),
        change=lambda rated_a: {**fixed, BATTERY.cold_cranking_a: rated_a},
    )


def battery_search(question: StandQuestion) -> Search:
    """Look for the smallest battery that holds, with the cold cranking current usual for it."""
    return Search(
        question=question,
        key="battery",
        label=message("battery size, at least (cold cranking current usual for it)"),
        unit="Ah",
        candidates=np.arange(LARGEST_CAPACITY_AH, 4.0, -1.0),
        change=battery_changes,
    )


def charge_search(question: StandQuestion) -> Search:
    """Look for the least state of charge at parking that holds."""
    return Search(
        question=question,
        key="charge",
        label=message("state of charge at parking, at least"),
        unit="share",
        candidates=np.arange(100, -1, -1) / 100.0,
        change=lambda charge: charge_changes(charge, question.scenario),
    )


def maintainer_search(question: StandQuestion) -> Search:
    """Look for the least rated current of a maintainer that holds on every day up to then."""
    return Search(
        question=question.all_along,
        key="maintainer",
        label=message("maintainer's rated current, at least"),
        unit="A",
        candidates=written_values(SMALLEST_MAINTAINER_A, MAINTAINER_A)[::-1],
        change=lambda current_a: {
            MAINTAINER.current_a: current_a,
            MAINTAINER.hours_per_day: None,
            MAINTAINER.from_day: None,
        },
    )


def panel_search(question: StandQuestion) -> Search:
    """Look for the smallest solar panel that holds on every day up to then."""
    sizes_w = np.r_[0.5:20.0:0.5, 20.0:100.0, 100.0 : LARGEST_PANEL_W + 1.0 : 5.0]
    return Search(
        question=question.all_along,
        key="panel",
        label=message("solar panel {placed}, at least", placed=placed_words(question.scenario)),
        unit="W",
        candidates=sizes_w[::-1],
        change=lambda panel_w: {SOLAR.panel_w: panel_w},
    )


def cutoff_search(question: StandQuestion) -> Search | None:
    """Look for the lowest cut-off voltage that keeps a start in reserve; None without either."""
    case = question.case()
    if not (case.unit.fitted and case.vehicle.starts):
        return None
    batteries = batteries_seen(question.scenario.tables)
    full_v = batteries * resting_v(case.battery.profile, 1.0, 0.0)
    highest_v = min(np.floor(20.0 * full_v) / 20.0, batteries * 13.9)
    steps = round((highest_v - batteries * LOWEST_CUTOFF_V) / 0.05)
    return Search(
        question=question,
        key="cutoff",
        label=message("unit's cut-off voltage (resting), at least"),
        unit="V",
        candidates=np.round(highest_v - 0.05 * np.arange(steps + 1), 2),
        change=lambda cutoff_v: cutoff_changes(question.scenario, cutoff_v),
    )


def every_search(question: StandQuestion) -> tuple[Search, ...]:
    """Return every search that applies."""
    found = (
        charge_search(question),
        report_search(question),
        cutoff_search(question),
        quiescent_search(question),
        capacity_search(question),
        cold_cranking_search(question),
        battery_search(question),
        maintainer_search(question),
        panel_search(question) if has_sun(question.scenario, question.case()) else None,
    )
    return tuple(search for search in found if search is not None)
