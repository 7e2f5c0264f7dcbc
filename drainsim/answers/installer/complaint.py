"""The vehicle did not start: how much of it was the unit, and would it have failed without?

A complaint runs the same draws with and without the unit and counts, among those that fail with
it, the ones that fail anyway; a resting voltage found afterwards weighs the draws.
"""

import copy
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from drainsim import __version__
from drainsim.answers.driving.before_parking import parked_from_patterns
from drainsim.answers.installer.acceptance import reading_of
from drainsim.answers.installer.acceptance_days import scenario_of, scenario_with
from drainsim.answers.installer.complaint_reading import (
    Candidate,
    ReadingFit,
    candidates_for,
    misfit_words,
    reading_fit,
)
from drainsim.answers.installer.current_log_words import ma
from drainsim.answers.installer.draw_check import draw_check
from drainsim.errors import RecordError
from drainsim.language import Message, joined, marked, message
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.simulation.battery_curves import BatteryCurves, curves_of
from drainsim.simulation.draws import weather_of_draw
from drainsim.simulation.lanes import Lanes, drawn_weather, draws_of, lanes_from_draws, loads_of
from drainsim.simulation.standing.stand import ChargeBalance, Stand, run_stand
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.documents.complaint import Complaint
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.places.site_keys import SITE, instead_of

_MANY_FITTING: Final = 100.0  # draws behind odds that need no word
PARTS: Final = {
    "missing_at_parking": marked("missing at parking"),
    "vehicle": marked("vehicle"),
    "unit": marked("unit"),
    "self_discharge": marked("self-discharge"),
    "other": marked("other"),
    "unexplained": marked("unexplained"),
}  # where the charge went


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """Charge that went one way, in the middle of the draws and as a share of all that went.

    Charge that came back, from a charger, is negative: what is missing is so much less.
    """

    part: str
    ah: float  # mean over the draws, so that the parts add up
    low_ah: float  # one draw in ten has less
    high_ah: float
    share: float

    def as_dict(self) -> dict[str, Any]:
        """Return the share as JSON-ready data."""
        ends = {"ah_p10": self.low_ah, "ah_p90": self.high_ah}
        return {"ah": self.ah, **ends, "share": self.share}


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintAnswer:
    """Where the charge went, and what would have happened without the unit."""

    shares: tuple[Share, ...]
    total_missing_ah: float
    full_ah: float
    left_ah: float
    parked_days: float
    probability_with_unit: float
    probability_without_unit: float
    probability_without_given_failed: float | None  # None: it does not fail with the unit either
    fitting_draws: float | None  # None: nothing was read afterwards
    used_reading: bool
    reading_fits: bool | None  # None: nothing was read afterwards
    unexplained_ah: float  # missing beyond the record, by a reading that does not fit; else 0
    candidates: tuple[Candidate, ...]  # what may be behind it
    unit_mean_a: float
    vehicle_mean_a: float
    largest: str
    verdict: str
    warnings: tuple[str, ...]
    case: Case

    @property
    def missing_share(self) -> float:
        """What is missing as a share of all that went: 1 where nothing came back."""
        return sum(share.share for share in self.shares)

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "verdict": self.verdict,
            "parked_days": self.parked_days,
            "missing_ah": {
                **{share.part: share.as_dict() for share in self.shares},
                "total": self.total_missing_ah,
            },
            "full_ah": self.full_ah,
            "left_ah": self.left_ah,
            "largest": self.largest,
            "unit_mean_a": self.unit_mean_a,
            "vehicle_mean_a": self.vehicle_mean_a,
            "probability_no_start_with_unit": self.probability_with_unit,
            "probability_no_start_without_unit": self.probability_without_unit,
            "probability_failed_anyway": self.probability_without_given_failed,
            "draws": self.case.draws,
            "draws_that_fit_the_reading": self.fitting_draws,
            "reading_fits": self.reading_fits,
            "unexplained_ah": self.unexplained_ah,
            "candidates": [candidate.as_dict() for candidate in self.candidates],
            "assumptions": [item.as_dict() for item in self.case.assumptions],
            "warnings": list(self.warnings),
        }


def answer_complaint(complaint: Complaint) -> ComplaintAnswer:
    """Return how the missing charge divides, and the odds without the unit.

    Notes
    -----
    The same draws of battery, vehicle and weather stand once with the unit and once without
    (common random numbers), so that the difference is the unit's and not chance. A resting
    voltage found afterwards weighs each draw by how well its charge at the end fits. "Failed
    anyway" counts among the draws that fail with the unit those that also fail without it. A
    voltage that no draw explains is not left out: the charge it means is what is left, the rest
    is unexplained, and no share or odds are told of a record the reading contradicts.
    """
    record = complaint.record.tests()[-1]
    base = _with_event(scenario_of(record), complaint)
    before, after = (reading_of(record, name, {}) for name in ("before", "after"))
    draw = draw_check(record, resolve(base), before=before, after=after)
    unit_a = draw.measured_mean_a if draw.measured_mean_a is not None else draw.mean_budget_a
    with_unit, without = parked_from_patterns(
        [
            resolve(scenario_with(base, draw, current_a, where=complaint.where))
            for current_a in (unit_a, None)
        ]
    )
    curves = curves_of(with_unit)
    stand, lanes = _run(with_unit, curves)
    stand_without, _ = _run(without, curves)
    full_ah, start_ah = lanes.full_ah, lanes.start_ah
    at = complaint.happened["parked_days"]
    if stand.daily_balance is None:
        raise ValueError("a complaint needs a traced stand")
    balance = ChargeBalance(*(_at_day(entry, at) for entry in stand.daily_balance))
    end = np.clip(balance.left_ah / full_ah, 0.0, 1.0)
    fit = reading_fit(complaint, with_unit.battery, end, lanes.resting_offset_v)
    weights = fit.weights
    failed, failed_without = _failed(stand, at), _failed(stand_without, at)
    with_p = float(np.average(failed, weights=weights))
    without_p = float(np.average(failed_without, weights=weights))
    anyway = None
    if with_p > 0.0 and not fit.misfits:
        anyway = float(np.average(failed_without[failed], weights=weights[failed]))
    left_ah = fit.found * full_ah if fit.misfits and fit.found is not None else balance.left_ah
    parts = {  # of each draw's missing charge; they add up to full less left
        "missing_at_parking": full_ah - start_ah,
        "vehicle": balance.vehicle_ah,
        "unit": balance.unit_ah,
        "self_discharge": balance.lost_ah,
        "other": balance.other_ah + balance.refused_ah,
        "unexplained": balance.left_ah - left_ah,
    }
    shares, total = _shares(parts, weights)
    largest = max(shares, key=lambda share: share.ah)
    unexplained = next(share for share in shares if share.part == "unexplained")
    verdict = _verdict(largest, shares, anyway, at, unit_a)
    candidates: tuple[Candidate, ...] = ()
    if fit.misfits:
        verdict = misfit_words(unexplained.ah, unexplained.low_ah, unexplained.high_ah)
        candidates = candidates_for(
            unexplained.ah,
            complaint,
            with_unit.battery,
            full_ah=float(np.mean(full_ah)),
            used_ah=float(np.mean(start_ah - balance.left_ah)),
            start=float(np.mean(start_ah / full_ah)),
            found=float(np.mean(left_ah / full_ah)),
        )
    warnings = [*fit.notes, *before.notes, *after.notes, *with_unit.warnings]
    warnings += _warnings(complaint, with_p, fit)
    return ComplaintAnswer(
        shares=shares,
        total_missing_ah=total,
        full_ah=float(np.average(full_ah, weights=weights)),
        left_ah=float(np.average(left_ah, weights=weights)),
        parked_days=at,
        probability_with_unit=with_p,
        probability_without_unit=without_p,
        probability_without_given_failed=anyway,
        fitting_draws=fit.fitting,
        used_reading=fit.used,
        reading_fits=None if fit.found is None else fit.used,
        unexplained_ah=unexplained.ah,
        candidates=candidates,
        unit_mean_a=unit_a,
        vehicle_mean_a=with_unit.vehicle.quiescent_a + with_unit.vehicle.wake_up_a,
        largest=largest.part,
        verdict=verdict,
        warnings=tuple(dict.fromkeys(warnings)),
        case=with_unit,
    )


def _with_event(scenario: Scenario, complaint: Complaint) -> Scenario:
    """Return the scenario with the days, temperature and battery test of the event."""
    tables = copy.deepcopy(scenario.tables)
    happened = complaint.happened
    run = tables.setdefault("run", {})
    run["horizon_days"] = max(1, math.ceil(happened["parked_days"]))
    if "temperature_c" in happened:
        site = {
            key: value
            for key, value in tables.get("site", {}).items()
            if f"site.{key}" not in instead_of(SITE.temperature_c)
        }
        tables["site"] = {**site, "temperature_c": happened["temperature_c"]}
    battery = tables.setdefault("battery", {})
    if "state_of_charge" in happened:
        for key in ("resting_voltage_v", "resting_temperature_c", "rested_h"):
            battery.pop(key, None)
        battery["state_of_charge"] = happened["state_of_charge"]
    _take_test(battery, complaint)
    if "measured" in tables:
        kept = [key for key in scenario.origins if _has(tables, key)]
        tables["measured"] = {"keys": ", ".join(kept)}
    return scenario_from_dict(tables, where=scenario.where, folder=scenario.folder)


def _take_test(battery: dict[str, Any], complaint: Complaint) -> None:
    """Put what a test of the battery gave in the place of its age."""
    test = complaint.battery_test
    if "health" in test:
        for key in ("capacity_health", "cranking_health"):
            battery.pop(key, None)
        battery["health"] = test["health"]
    for key, label in (("capacity_ah", "capacity_health"), ("cold_cranking_a", "cranking_health")):
        if key not in test:
            continue
        if key not in battery:
            raise RecordError(
                f"{complaint.where}: battery_test.{key} needs the label's battery.{key} in the "
                "record's scenario to compare with"
            )
        low, high = (0.2, 1.1) if label == "capacity_health" else (0.1, 1.2)
        ratio = test[key] / battery[key]
        if not low <= ratio <= high:
            raise RecordError(
                f"{complaint.where}: battery_test.{key} is {ratio:.2f} of the label's; {low:g} to "
                f"{high:g} can be calculated with"
            )
        battery[label] = ratio


def _has(tables: dict[str, Any], dotted: str) -> bool:
    table, _, key = dotted.partition(".")
    return key in tables.get(table, {})


def _run(case: Case, curves: BatteryCurves) -> tuple[Stand, Lanes]:
    """Return the stand of a case's draws, and the draws."""
    lanes = lanes_from_draws(case, draws_of(case))
    stand = run_stand(
        replace(lanes, weather=weather_of_draw(case.draws)),
        curves,
        loads_of(case),
        drawn_weather(case),
        horizon_days=case.horizon_days,
        trace=True,  # keeps every lane to the end
    )
    return stand, lanes


def _failed(stand: Stand, parked_days: float) -> BoolArray:
    """Return which draws would not start when the key was turned, at the end of the stand."""
    day = min(round(parked_days), len(stand.no_start_daily) - 1)
    return np.asarray(stand.no_start_daily[day])


def _at_day(entry: FloatArray, day: float) -> FloatArray:
    """Return a daily entry of the balance, shape (days + 1, draws), at a time between two days."""
    whole = min(int(day), len(entry) - 2)
    return np.asarray(entry[whole] + (day - whole) * (entry[whole + 1] - entry[whole]))


def _shares(parts: dict[str, FloatArray], weights: FloatArray) -> tuple[tuple[Share, ...], float]:
    means = {part: float(np.average(values, weights=weights)) for part, values in parts.items()}
    total, went = sum(means.values()), sum(max(mean, 0.0) for mean in means.values())
    shares = []
    for part in PARTS:
        low, high = _quantiles(parts[part], weights)
        share = means[part] / went if went > 0.0 else 0.0
        shares.append(Share(part=part, ah=means[part], low_ah=low, high_ah=high, share=share))
    return tuple(shares), total


def _quantiles(values: FloatArray, weights: FloatArray) -> tuple[float, float]:
    """Return weighted p10 and p90."""
    order = np.argsort(values)
    reached = np.cumsum(weights[order]) / weights.sum()
    low, high = (
        values[order][min(int(np.searchsorted(reached, p)), len(values) - 1)] for p in (0.1, 0.9)
    )
    return float(low), float(high)


def _verdict(
    largest: Share, shares: tuple[Share, ...], anyway: float | None, days: float, unit_a: float
) -> Message:
    unit = next(share for share in shares if share.part == "unit")
    back_ah = -sum(min(share.ah, 0.0) for share in shares)
    words = message(
        "After {days:g} days the unit ({ma} on average) has used {ah:.1f} Ah, {percent:.0f} % of "
        "what is missing; the largest part is {part} with {share:.0f} %."
        if back_ah == 0.0
        else "After {days:g} days the unit ({ma} on average) has used {ah:.1f} Ah, {percent:.0f} "
        "% of what would be missing without the {back:.1f} Ah charged meanwhile; the largest part "
        "is {part} with {share:.0f} %.",
        days=days,
        back=back_ah,
        ma=ma(unit_a),
        ah=unit.ah,
        percent=100 * unit.share,
        part=message(largest.part.replace("_", " ")),
        share=100 * largest.share,
    )
    if anyway is None:
        other = message(
            "With these values it starts even with the unit: the cause lies elsewhere, or a value "
            "is wrong."
        )
    else:
        other = message(
            "Without the unit it would have failed too in {percent:.0f} % of such cases.",
            percent=100 * anyway,
        )
    return joined(" ", [words, other])


def _warnings(complaint: Complaint, with_p: float, fit: ReadingFit) -> Iterator[Message]:
    if complaint.happened.get("did_start") == "yes":
        yield message("it did start: the odds are those of a no-start that did not happen")
    if with_p < 0.05 and not fit.misfits:
        yield message(
            "a no-start is unlikely ({percent:.0f} %) even with the unit: look for a load that "
            "is not in the record, a bad contact or a failed battery",
            percent=100 * with_p,
        )
    if fit.found is None:
        yield message(
            "no resting voltage was read before charging: it would narrow the odds more than "
            "anything else"
        )
    if fit.used and fit.fitting is not None and fit.fitting < _MANY_FITTING:
        yield message(
            "only some {cases:.0f} possible cases carry the odds; raise run.draws",
            cases=fit.fitting,
        )
    yield message(
        "odds from a model, not proof: they rest on the assumptions listed and say nothing of "
        "liability"
    )
