"""Did the job come out as budgeted, and will the vehicle still start?

Acceptance has three answers. The difference of two readings, its uncertainty and the budget's
limit decide; "cannot tell" always says what would tell.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from drainsim import __version__
from drainsim.answers.installer.acceptance_checks import (
    CANNOT_TELL,
    FAIL,
    PASS,
    JobCheck,
    caution_check,
    circuit_checks,
    connection_check,
    constant_check,
    first_start_check,
    mounting_check,
    sense_check,
)
from drainsim.answers.installer.current_log import current_log
from drainsim.answers.installer.draw_check import (
    DrawCheck,
    MeasuredDraw,
    draw_check,
    reading_from_table,
)
from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.errors import RecordError
from drainsim.files.current_log.reader import CurrentLog, read_current_log
from drainsim.files.reading import file_within
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.documents.job_record import JobRecord
from drainsim.vehicle.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.vehicle import VEHICLE

_TOO_FEW_DAYS: Final = (
    "fewer reports, a larger or fresher battery, a charger or a supply that switches off early "
    "give days: drainsim storage weighs them; or promise fewer days"
)
_SYMBOL: Final = {PASS: 0, CANNOT_TELL: 1, FAIL: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedDays:
    """Days until no-start; None is beyond the horizon."""

    without_unit: float | None
    as_budgeted: float | None
    as_measured: float | None
    at_risk: float | None  # P(no-start) 5 %
    at_risk_of: str  # "as measured", or "as budgeted" where the draw could not be measured
    horizon_days: int
    basis: str

    def as_dict(self) -> dict[str, Any]:
        """Return the days as JSON-ready data."""
        return {
            "days_without_unit": self.without_unit,
            "days_with_unit_as_budgeted": self.as_budgeted,
            "days_with_unit_as_measured": self.as_measured,
            "days_at_5_percent_risk": self.at_risk,
            "days_at_5_percent_risk_of": self.at_risk_of,
            "horizon_days": self.horizon_days,
            "basis": self.basis,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to check or fix, and the check that asks for it."""

    check: str
    text: str

    def as_dict(self) -> dict[str, Any]:
        """Return the step as JSON-ready data."""
        return {"check": self.check, "text": self.text}


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptanceAnswer:
    """All checks of a job, the draw first."""

    record: JobRecord
    verdict: str  # pass, fail or cannot tell
    draw: DrawCheck
    checks: tuple[JobCheck, ...]
    to_do: tuple[Step, ...]  # what to check and fix, in this order: what can hurt comes first
    predicted: PredictedDays
    warnings: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "verdict": self.verdict,
            "draw": self.draw.as_dict(),
            "checks": [check.as_dict() for check in self.checks],
            "to_do": [step.as_dict() for step in self.to_do],
            "predicted": self.predicted.as_dict(),
            "warnings": list(self.warnings),
        }

    def record_with_prediction(self) -> JobRecord:
        """Return the record with the predicted days written in, to be saved and reopened."""
        return JobRecord(
            tables=self.record.tables,
            power=self.record.power,
            sense=self.record.sense,
            scenario=self.record.scenario,
            predicted={**self.predicted.as_dict(), "verdict": self.verdict},
            where=self.record.where,
            folder=self.record.folder,
        )


def acceptance(
    record: JobRecord, *, logs: Mapping[str, CurrentLog] | None = None
) -> AcceptanceAnswer:
    """Return whether a job passes, fails, or cannot be told yet, and what would tell.

    Parameters
    ----------
    record : JobRecord
    logs : mapping, optional
        Logs already read, by "before" and "after"; otherwise the files the record names.
    """
    case = resolve(scenario_of(record))
    before = reading_of(record, "before", logs or {})
    after = reading_of(record, "after", logs or {})
    draw = draw_check(record, case, before=before, after=after)
    predicted = predicted_days(record, case, draw=draw)
    wiring = (*circuit_checks(record), connection_check(record))
    supply = (constant_check(record), sense_check(record))
    start, mounting = first_start_check(record), mounting_check(record)
    days = _days_needed(record, predicted, draw)
    checks = (draw.check, *wiring, *supply, start, mounting, caution_check(record), *days)
    # What can hurt first, then what may be behind a draw too high, then the rest.
    by_danger = (*wiring, mounting, *supply, draw.check, start, *days)
    worst = max((check.verdict for check in checks), key=lambda one: _SYMBOL[one])
    return AcceptanceAnswer(
        record=record,
        verdict=worst,
        draw=draw,
        checks=checks,
        to_do=tuple(
            Step(check=check.name, text=text) for check in by_danger for text in check.to_do
        ),
        predicted=predicted,
        warnings=tuple(dict.fromkeys([*before.notes, *after.notes, *case.warnings])),
    )


def scenario_of(record: JobRecord) -> Scenario:
    """Return the record's scenario, an average vehicle otherwise."""
    if record.scenario is not None:
        return record.scenario
    return scenario_from_dict({"battery": {}, "unit": {}}, where="average vehicle")


def reading_of(record: JobRecord, name: str, logs: Mapping[str, CurrentLog]) -> MeasuredDraw:
    """Return a reading from the record's values, or from a log."""
    file = record.get(name, "log")
    if name in logs:
        log = logs[name]
    elif file is None:
        return reading_from_table(record, name)
    elif record.folder is None:
        raise RecordError(f"{record.where}: {name}.log needs a record on disk, beside its log")
    elif Path(str(file)).name != str(file):
        raise RecordError(
            f"{record.where}: {name}.log: {str(file)[:60]!r} must be a file name beside the record"
        )
    else:
        where = f"{record.where}: {name}.log"
        path = file_within(record.folder, str(file), where=where, error=RecordError)
        log = read_current_log(path)
    interval = record.number("unit", "report_interval_min")
    answer = current_log(log, report_every_min=interval if name == "after" else None)
    found = answer.findings
    if found.settled_a is None or found.settled_uncertainty_a is None:
        return MeasuredDraw(
            settled_a=None,
            uncertainty_a=None,
            mean_a=None,
            asleep=False,
            from_log=True,
            notes=(f"{name}: {answer.verdict}",),
        )
    accuracy = (record.number("meter", "accuracy_percent") or 0.0) / 100.0
    return MeasuredDraw(
        settled_a=found.settled_a,
        uncertainty_a=found.settled_uncertainty_a + accuracy * abs(found.settled_a),
        mean_a=found.mean_a,
        asleep=True,
        from_log=True,
        notes=tuple(f"{name}: {warning}" for warning in answer.warnings),
    )


def predicted_days(record: JobRecord, case: Case, *, draw: DrawCheck) -> PredictedDays:
    """Return the days without the unit, as budgeted and as measured."""
    scenario = scenario_of(record)
    vehicle_a = draw.vehicle_a
    without = _answer(scenario, vehicle_a, None, record)
    budgeted = _answer(scenario, vehicle_a, draw.mean_budget_a, record)
    measured = None
    if draw.measured_mean_a is not None:
        measured = _answer(scenario, vehicle_a, draw.measured_mean_a, record)
    best = measured or budgeted
    basis = "the record's scenario" if record.scenario else "an average vehicle: no scenario given"
    return PredictedDays(
        without_unit=without.days_to_no_start.p50,
        as_budgeted=budgeted.days_to_no_start.p50,
        as_measured=measured.days_to_no_start.p50 if measured else None,
        at_risk=best.days_at_risk,
        at_risk_of="as measured" if measured else "as budgeted",
        horizon_days=case.horizon_days,
        basis=basis + (", vehicle's draw as measured" if vehicle_a is not None else ""),
    )


def _answer(
    scenario: Scenario, vehicle_a: float | None, unit_a: float | None, record: JobRecord
) -> ParkAnswer:
    """Return the stand with the measured vehicle and a unit of one mean current."""
    return park(resolve(scenario_with(scenario, vehicle_a, unit_a, where=record.where)))


def scenario_with(
    scenario: Scenario, vehicle_a: float | None, unit_a: float | None, *, where: str
) -> Scenario:
    """Return a scenario with a measured vehicle and a unit of one mean current, or none."""
    tables = {name: part for name, part in scenario.tables.items() if name != "measured"}
    keys = list(scenario.origins)
    if vehicle_a is not None:
        vehicle = {key: value for key, value in tables.get("vehicle", {}).items()}
        vehicle.pop("wake_ups", None)  # the measured mean holds them
        tables["vehicle"] = {**vehicle, "quiescent_a": max(vehicle_a, 0.0), "wake_ups": []}
        keys = [key for key in keys if key != VEHICLE.wake_ups] + [VEHICLE.quiescent_a]
    unit = tables.pop("unit", {})
    keys = [key for key in keys if not key.startswith("unit.")]
    if unit_a is not None:
        kept = {
            key: unit[key]
            for key in ("cutoff_v", "resume_v", "off_a", "peak_a", "supply", "rated_at_v")
            if key in unit
        }
        tables["unit"] = {**kept, "sleep_a": max(unit_a, 0.0), "report_charge_as": 0.0}
    if keys:
        tables["measured"] = {"keys": ", ".join(dict.fromkeys(keys))}
    return scenario_from_dict(tables, where=where, folder=scenario.folder)


def _days_needed(
    record: JobRecord, predicted: PredictedDays, draw: DrawCheck
) -> tuple[JobCheck, ...]:
    """Return whether it stands as long as it must: only a measured draw passes."""
    needed = record.number("job", "days_needed")
    if needed is None:
        return ()
    safe = predicted.horizon_days if predicted.at_risk is None else predicted.at_risk
    if predicted.at_risk is None and needed > predicted.horizon_days:
        return (
            JobCheck(
                name="days it must stand",
                verdict=CANNOT_TELL,
                text=f"{needed:g} days are beyond the horizon of {predicted.horizon_days} days",
                would_tell="a longer run.horizon_days in the scenario",
            ),
        )
    measured = draw.measured_mean_a is not None
    enough = safe >= needed
    words = (
        f"the risk of a no-start stays within 5 % for {safe:.0f} days, {predicted.at_risk_of}; "
        f"{needed:g} are needed"
    )
    if enough and not measured:
        words += "; what the unit draws in this vehicle was not measured"
    return (
        JobCheck(
            name="days it must stand",
            verdict=FAIL if not enough else PASS if measured else CANNOT_TELL,
            text=words,
            value=float(safe),
            unit="days",
            would_tell=draw.check.would_tell if enough and not measured else "",
            to_do=() if enough else (_TOO_FEW_DAYS,),
        ),
    )
