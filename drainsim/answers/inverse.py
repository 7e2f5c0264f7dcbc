"""Turned round: what may the draw, the battery or the panel be, so that the stand holds?

Every answer is found by bisection on the same simulation that gives the days, with the same
random draws; there is no second formula.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.answers.changes import Changes, with_entry
from drainsim.answers.limits import Limit, binding_limit
from drainsim.answers.risk import LONGEST_DAYS, StandQuestion, risk_by_day, risk_of
from drainsim.answers.solving import Solved, solve, three_digit_values
from drainsim.models.case import Case
from drainsim.models.presets import preset
from drainsim.models.starting_charge import resting_v
from drainsim.physics.tables import FloatArray

# How far each answer reaches: common practice, no source, unless said otherwise.
SLOWEST_REPORT_H: Final = 720.0  # a month
FASTEST_REPORT_H: Final = 1.0 / 60.0
LARGEST_CAPACITY_AH: Final = 225.0  # largest common 12 V block
LARGEST_COLD_CRANKING_A: Final = 1500.0
LARGEST_MAINTAINER_A: Final = 1.0  # small maintainers
LARGEST_PANEL_W: Final = 300.0
LOWEST_CUTOFF_V: Final = 8.0  # lowest voltage of supply code B, ISO 16750-2
MAINTAINER: Final = "maintainer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Holds:
    """Does the stand hold for the days asked, and how bad is it on the way there?"""

    holds: bool
    risk: float
    risk_error: float
    worst_risk: float
    worst_day: int
    any_time_risk: float
    frozen: float  # share of the draws in which the battery freezes until then
    limit: Limit | None

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "holds": self.holds,
            "risk": self.risk,
            "risk_standard_error": self.risk_error,
            "worst_risk_until_then": self.worst_risk,
            "worst_day": self.worst_day,
            "risk_at_any_time_until_then": self.any_time_risk,
            "share_frozen_until_then": self.frozen,
            "limit": self.limit.as_dict() if self.limit else None,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class LongestStand:
    """The longest stand at a risk; days None is more than the horizon, -1 is none at all."""

    days: int | None
    horizon_days: int
    risk: float | None
    recharge_by: dt.date | None
    probability_by_day: FloatArray
    failed_by_day: FloatArray
    p10_days: float | None
    p50_days: float | None
    p90_days: float | None

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "days": self.days,
            "horizon_days": self.horizon_days,
            "solver_error_days": 1,
            "risk": self.risk,
            "recharge_by": self.recharge_by.isoformat() if self.recharge_by else None,
            "days_to_no_start": {
                "p10": self.p10_days,
                "p50": self.p50_days,
                "p90": self.p90_days,
            },
        }


def holds(question: StandQuestion) -> Holds:
    """Return whether the vehicle may stand for the days asked."""
    stand = question.stand()
    on_day = risk_by_day(stand)
    risk, risk_error = risk_of(stand, question.when)
    fine = risk <= question.risk
    return Holds(
        holds=fine,
        risk=risk,
        risk_error=risk_error,
        worst_risk=float(on_day.max()),
        worst_day=int(on_day.argmax()),
        any_time_risk=float(risk_by_day(stand, "any_time")[-1]),
        frozen=float(np.isfinite(stand.freezing_h).mean()),
        limit=None if fine else binding_limit(question),
    )


def longest_stand(question: StandQuestion, changes: Changes | None = None) -> LongestStand:
    """Return the most days for which the risk has stayed within the asked one all along.

    Looks as far as the scenario's horizon, and at least as far as the days asked. Also the date
    by which to recharge (or to start and drive).
    """
    horizon = max(question.scenario.get("run", "horizon_days") or 180, question.days)
    case = question.case(changes, days=horizon)
    stand = question.stand(changes, days=horizon)
    when = "any_time" if question.when == "any_time" else "on_day"
    curve = risk_by_day(stand, when)
    over = np.flatnonzero(curve > question.risk)
    days = int(over[0]) - 1 if len(over) else None
    p10, p50, p90 = (
        float(hours) / 24.0 if np.isfinite(hours) else None
        for hours in np.quantile(stand.no_start_h, [0.1, 0.5, 0.9], method="inverted_cdf")
    )
    return LongestStand(
        days=days,
        horizon_days=horizon,
        risk=float(curve[days]) if days is not None and days >= 0 else None,
        recharge_by=None
        if days is None
        else case.site.parked_from + dt.timedelta(days=max(days, 0)),
        probability_by_day=curve,
        failed_by_day=risk_by_day(stand, "any_time"),
        p10_days=p10,
        p50_days=p50,
        p90_days=p90,
    )


def slower_ladder(question: StandQuestion, interval_h: float) -> list[dict[str, float]]:
    """Return the unit's voltage ladder with no step faster than an interval."""
    rungs = question.scenario.get("unit", "ladder")
    chosen = question.scenario.get("unit", "preset")
    if rungs is None and chosen:
        rungs = preset("units", chosen, where="unit.preset").values.get("ladder", [])
    return [
        {**rung, "report_interval_h": max(rung["report_interval_h"], interval_h)}
        for rung in rungs or []
    ]


def report_changes(question: StandQuestion, interval_h: float) -> Changes:
    """Return the changes that set a report interval; ladder steps follow where faster."""
    ladder = slower_ladder(question, interval_h)
    changes: dict[str, Any] = {"unit.report_interval_h": interval_h}
    return {**changes, "unit.ladder": ladder} if ladder else changes


def report_interval(question: StandQuestion) -> Solved | None:
    """Return the fastest reporting that holds; None without a unit."""
    if not question.scenario.has("unit"):
        return None
    return solve(
        question,
        key="report_interval",
        label="time between reports, at least",
        unit="h",
        candidates=three_digit_values(FASTEST_REPORT_H, SLOWEST_REPORT_H)[::-1],
        change=lambda interval_h: report_changes(question, interval_h),
    )


def largest_quiescent(question: StandQuestion) -> Solved:
    """Return the largest quiescent current of the vehicle that holds."""
    return solve(
        question,
        key="quiescent",
        label="vehicle's quiescent current, at most",
        unit="A",
        candidates=three_digit_values(0.001, 5.0),
        change=lambda current_a: {"vehicle.quiescent_a": current_a},
    )


def _label(case: Case) -> dict[str, Any]:
    """Return the battery's label as resolved, for questions that change one part of it."""
    return {
        "battery.capacity_ah": round(case.battery.capacity_ah, 1),
        "battery.reserve_capacity_min": None,
    }


def _cranking(question: StandQuestion, case: Case) -> dict[str, Any]:
    """Return the cold cranking current of the label, or the resolved 30 s one (SAE)."""
    if question.scenario.get("battery", "cold_cranking_a") is not None:
        return {}
    return {
        "battery.cold_cranking_a": float(round(case.battery.cold_cranking_a)),
        "battery.cranking_standard": "SAE",
    }


def smallest_capacity(question: StandQuestion) -> Solved:
    """Return the smallest C20 that holds at the present cold cranking current."""
    fixed = {"battery.reserve_capacity_min": None, **_cranking(question, question.case())}
    return solve(
        question,
        key="capacity",
        label="battery capacity C20, at least (same cold cranking current)",
        unit="Ah",
        candidates=np.arange(LARGEST_CAPACITY_AH, 4.0, -1.0),
        change=lambda capacity_ah: {**fixed, "battery.capacity_ah": capacity_ah},
    )


def smallest_cold_cranking(question: StandQuestion) -> Solved:
    """Return the smallest cold cranking current that holds at the present capacity."""
    standard = question.scenario.get("battery", "cranking_standard") or "EN"
    fixed = {**_label(question.case()), "battery.cranking_standard": standard}
    return solve(
        question,
        key="cold_cranking",
        label=f"cold cranking current ({standard}), at least (same capacity)",
        unit="A",
        candidates=np.arange(LARGEST_COLD_CRANKING_A, 40.0, -10.0),
        change=lambda rated_a: {**fixed, "battery.cold_cranking_a": rated_a},
    )


def battery_changes(capacity_ah: float) -> Changes:
    """Return the changes that fit another size with the cold cranking current usual for it."""
    return {
        "battery.capacity_ah": capacity_ah,
        "battery.reserve_capacity_min": None,
        "battery.cold_cranking_a": None,
        "battery.cranking_standard": None,
    }


def smallest_battery(question: StandQuestion) -> Solved:
    """Return the smallest battery that holds, with the usual cold cranking current of its size."""
    return solve(
        question,
        key="battery",
        label="battery size, at least (cold cranking current usual for it)",
        unit="Ah",
        candidates=np.arange(LARGEST_CAPACITY_AH, 4.0, -1.0),
        change=battery_changes,
    )


def charge_changes(charge: float) -> Changes:
    """Return the changes that park with a state of charge."""
    return {
        "battery.state_of_charge": charge,
        "battery.resting_voltage_v": None,
        "battery.resting_temperature_c": None,
        "battery.rested_h": None,
    }


def charge_needed(question: StandQuestion) -> Solved:
    """Return the least state of charge at parking that holds."""
    return solve(
        question,
        key="charge",
        label="state of charge at parking, at least",
        unit="share",
        candidates=np.arange(100, -1, -1) / 100.0,
        change=charge_changes,
    )


def maintainer_changes(question: StandQuestion, current_a: float) -> Changes:
    """Return the changes that connect a maintainer of a mean current."""
    return {"other": with_entry(question.scenario, name=MAINTAINER, current_a=-current_a)}


def maintainer_needed(question: StandQuestion) -> Solved:
    """Return the least mean current of a maintainer that holds on every day up to then."""
    return solve(
        question.all_along,
        key="maintainer",
        label="maintainer's mean current, at least",
        unit="A",
        candidates=three_digit_values(0.001, LARGEST_MAINTAINER_A)[::-1],
        change=lambda current_a: maintainer_changes(question, current_a),
    )


def panel_sizes_w() -> FloatArray:
    """Return the panel sizes tried, largest first: steps of 0.5 W, then 1 W, then 5 W."""
    small, middle = np.arange(0.5, 20.0, 0.5), np.arange(20.0, 100.0, 1.0)
    return np.concatenate([small, middle, np.arange(100.0, LARGEST_PANEL_W + 1.0, 5.0)])[::-1]


def panel_needed(question: StandQuestion) -> Solved:
    """Return the smallest solar panel that holds on every day up to then.

    `drainsim.answers.sunshine` says which by month, and when a small one fails.
    """
    return solve(
        question.all_along,
        key="panel",
        label="solar panel lying flat, at least",
        unit="W",
        candidates=panel_sizes_w(),
        change=lambda panel_w: {"solar.panel_w": panel_w},
    )


def cutoff_changes(question: StandQuestion, cutoff_v: float) -> Changes:
    """Return the changes that switch the unit off below a voltage; lower ladder steps go."""
    ladder = slower_ladder(question, 0.0)
    changes: dict[str, Any] = {"unit.cutoff_v": cutoff_v, "unit.resume_v": None}
    kept = [rung for rung in ladder if rung["below_v"] > cutoff_v]
    return {**changes, "unit.ladder": kept} if ladder else changes


def cutoff_needed(question: StandQuestion) -> Solved | None:
    """Return the lowest cut-off voltage that keeps a start in reserve; None without a unit."""
    if not question.scenario.has("unit"):
        return None
    full_v = resting_v(question.case().battery.profile, 1.0, 0.0)
    highest_v = min(np.floor(20.0 * full_v) / 20.0, 13.9)
    steps = round((highest_v - LOWEST_CUTOFF_V) / 0.05)
    return solve(
        question,
        key="cutoff",
        label="unit's cut-off voltage (resting), at least",
        unit="V",
        candidates=np.round(highest_v - 0.05 * np.arange(steps + 1), 2),
        change=lambda cutoff_v: cutoff_changes(question, cutoff_v),
    )


def for_ever(question: StandQuestion) -> StandQuestion:
    """Return the question for a stand without end: every day of two years, all seasons."""
    return StandQuestion(
        scenario=question.scenario,
        days=LONGEST_DAYS,
        risk=question.risk,
        when="every_day",
        profile_folders=question.profile_folders,
    )


def all_inverse(question: StandQuestion) -> tuple[Solved, ...]:
    """Return every inverse answer that applies, for the days asked."""
    found = (
        charge_needed(question),
        report_interval(question),
        cutoff_needed(question),
        largest_quiescent(question),
        smallest_capacity(question),
        smallest_cold_cranking(question),
        smallest_battery(question),
        maintainer_needed(question),
        panel_needed(question) if has_sun(question) else None,
    )
    return tuple(answer for answer in found if answer is not None)


def has_sun(question: StandQuestion) -> bool:
    """Say whether a panel can be tried: the latitude is known, and it would feed this battery.

    Where the unit hangs on an auxiliary battery of its own, a panel feeds that one.
    """
    get = question.scenario.get
    if question.case().auxiliary is not None:
        return False
    if get("solar", "latitude_deg") is not None:
        return True
    return all(get("site", key) is None for key in ("temperature_c", "hourly_csv", "epw"))
