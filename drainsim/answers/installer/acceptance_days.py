"""Days a vehicle can stand without the unit, as budgeted and as measured: are they enough?"""

from dataclasses import dataclass
from typing import Any, Final

from drainsim.answers.installer.acceptance_checks import CANNOT_TELL, FAIL, PASS, JobCheck
from drainsim.answers.installer.draw_check import DrawCheck
from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.words import days_words
from drainsim.language import message
from drainsim.physics.current_log.settled import SUSPECT_A
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.compatibility import batteries_seen
from drainsim.vehicle.documents.job_record import JobRecord
from drainsim.vehicle.documents.job_tables import JOB
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_NAME: Final = message("days it must stand")
_TOO_FEW_DAYS: Final = message(
    "fewer reports, a larger or fresher battery, a charger or a supply that switches off early "
    "give days: drainsim storage weighs them; or promise fewer days"
)


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


def scenario_of(record: JobRecord) -> Scenario:
    """Return the record's scenario, an average vehicle otherwise."""
    if record.scenario is not None:
        return record.scenario
    return scenario_from_dict({"battery": {}, "unit": {}}, where="average vehicle")


def predicted_days(record: JobRecord, case: Case, *, draw: DrawCheck) -> PredictedDays:
    """Return the days without the unit, as budgeted and as measured."""
    scenario = scenario_of(record)
    without = _answer(scenario, draw, None, record)
    budgeted = _answer(scenario, draw, draw.mean_budget_a, record)
    measured = None
    if draw.measured_mean_a is not None:
        measured = _answer(scenario, draw, draw.measured_mean_a, record)
    best = measured or budgeted
    basis = (
        message("the record's scenario")
        if record.scenario
        else message("an average vehicle: no scenario given")
    )
    if draw.vehicle_a is not None:
        basis = message("{basis}, vehicle's draw as measured", basis=basis)
    return PredictedDays(
        without_unit=without.days_to_no_start.p50,
        as_budgeted=budgeted.days_to_no_start.p50,
        as_measured=measured.days_to_no_start.p50 if measured else None,
        at_risk=best.days_at_risk,
        at_risk_of=message("as measured") if measured else message("as budgeted"),
        horizon_days=case.horizon_days,
        basis=basis,
    )


def _answer(
    scenario: Scenario, draw: DrawCheck, unit_a: float | None, record: JobRecord
) -> ParkAnswer:
    """Return the stand with the measured vehicle and a unit of one mean current."""
    return park(resolve(scenario_with(scenario, draw, unit_a, where=record.where)))


def scenario_with(
    scenario: Scenario, draw: DrawCheck, unit_a: float | None, *, where: str
) -> Scenario:
    """Return a scenario with a measured vehicle and a unit of one mean current, or none.

    Parameters
    ----------
    scenario : Scenario
    draw : DrawCheck
        Whose vehicle it is; the scenario's own values where its draw is not known. Wake-ups stay
        where it was read between them.
    unit_a : float, optional
        Mean current of the unit at the voltage it is fed; no unit where None. [A]
    where : str
        Name of the scenario in messages.
    """
    tables = {name: part for name, part in scenario.tables.items() if name != "measured"}
    keys = list(scenario.origins)
    if draw.vehicle_a is not None:
        measured: dict[str, Any] = {"quiescent_a": max(draw.vehicle_a, 0.0)}
        if draw.vehicle_is_mean:
            measured["wake_ups"] = []
            keys = [key for key in keys if key != VEHICLE.wake_ups]
        tables["vehicle"] = {**tables.get("vehicle", {}), **measured}
        keys.append(VEHICLE.quiescent_a)
    measured_at_v = UNIT.rated_at_v.default * batteries_seen(tables)
    unit = tables.pop("unit", {})
    keys = [key for key in keys if not key.startswith("unit.")]
    if unit_a is not None:
        kept = {
            key: unit[key]
            for key in ("cutoff_v", "resume_v", "off_a", "peak_a", "supply", "fed_from")
            if key in unit
        }
        drawn = {"sleep_a": max(unit_a, 0.0), "report_charge_as": 0.0, "rated_at_v": measured_at_v}
        tables["unit"] = {**kept, **drawn}
    if keys:
        tables["measured"] = {"keys": ", ".join(dict.fromkeys(keys))}
    return scenario_from_dict(tables, where=where, folder=scenario.folder)


def _what_gives_days(predicted: PredictedDays, draw: DrawCheck, needed: float) -> tuple[str, ...]:
    """Return what to do about too few days; where the vehicle alone is the cause, only that."""
    alone = predicted.without_unit
    if alone is None or alone >= needed or (draw.vehicle_a or 0.0) <= SUSPECT_A:
        return (_TOO_FEW_DAYS,)
    return (
        message(
            "the vehicle alone draws {current:.3g} A, which stands only {days} without the unit: "
            "find what stays on, fuse by fuse, before anything else",
            current=draw.vehicle_a or 0.0,
            days=days_words(alone, predicted.horizon_days),
        ),
    )


def days_needed(
    record: JobRecord, predicted: PredictedDays, draw: DrawCheck
) -> tuple[JobCheck, ...]:
    """Return whether it stands as long as it must: only a measured draw passes."""
    needed = record.number(JOB.days_needed)
    if needed is None:
        return ()
    safe = predicted.horizon_days if predicted.at_risk is None else predicted.at_risk
    if predicted.at_risk is None and needed > predicted.horizon_days:
        return (
            JobCheck(
                name=_NAME,
                verdict=CANNOT_TELL,
                text=message(
                    "{needed:g} days are beyond the horizon of {horizon} days",
                    needed=needed,
                    horizon=predicted.horizon_days,
                ),
                would_tell=message("a longer run.horizon_days in the scenario"),
            ),
        )
    measured = draw.measured_mean_a is not None
    enough = safe >= needed
    words = message(
        "the risk of a no-start stays within 5 % for {safe:.0f} days, {of}; {needed:g} are needed",
        safe=safe,
        of=predicted.at_risk_of,
        needed=needed,
    )
    if enough and not measured:
        words = message("{days}; what the unit draws in this vehicle was not measured", days=words)
    return (
        JobCheck(
            name=_NAME,
            verdict=FAIL if not enough else PASS if measured else CANNOT_TELL,
            text=words,
            value=float(safe),
            unit="days",
            would_tell=draw.check.would_tell if enough and not measured else "",
            to_do=() if enough else _what_gives_days(predicted, draw, needed),
        ),
    )
