"""How many days can this vehicle stand before it will not start?"""

from dataclasses import asdict, dataclass, replace
from typing import Any, Final

import numpy as np

from drainsim import __version__
from drainsim.answers.assumed import assumptions_of
from drainsim.answers.driving.before_parking import parked_from_pattern
from drainsim.answers.standing.swing import Swing, swing_lanes, swings, varied_inputs
from drainsim.answers.standing.temperature import TemperatureEffect, temperature_effects
from drainsim.physics.tables import FloatArray
from drainsim.simulation.blocks import case_block_h
from drainsim.simulation.chargers import drawn_loads
from drainsim.simulation.draws import standard_draws, weather_of_draw
from drainsim.simulation.lanes import (
    drawn_weather,
    lanes_from_draws,
    loads_of,
    nominal_weather,
)
from drainsim.simulation.law import BatteryLaw, law_of
from drainsim.simulation.silence import as_silence, silent_h
from drainsim.simulation.stand import Books, Stand, run_stand
from drainsim.vehicle.case import Case

DEFAULT_RISK: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysRange:
    """Days with their range; None means not within the horizon.

    p10: one vehicle in ten fails sooner; p90: nine in ten have failed by then.
    """

    nominal: float | None
    p10: float | None
    p50: float | None
    p90: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """Mean draw on the battery from parking to the no-start or the horizon. [Ah/day]."""

    vehicle: float
    unit: float
    self_discharge: float
    other: float

    @property
    def total(self) -> float:
        """Sum of the parts. [Ah/day]."""
        return self.vehicle + self.unit + self.self_discharge + self.other

    def as_dict(self) -> dict[str, float]:
        """Return the parts and their sum."""
        return {
            "vehicle": self.vehicle,
            "unit": self.unit,
            "self_discharge": self.self_discharge,
            "other": self.other,
            "total": self.total,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """State at the start hour of every day, shape (days + 1,).

    `nominal_*` is the case itself, `*_low` and `*_high` hold the middle 80 % of the draws.
    """

    day: FloatArray
    probability_no_start: FloatArray
    probability_failed_by: FloatArray
    nominal_charge: FloatArray
    charge_low: FloatArray
    charge_high: FloatArray
    nominal_margin: FloatArray
    margin_low: FloatArray
    margin_high: FloatArray
    nominal_temperature_c: FloatArray
    temperature_low_c: FloatArray
    temperature_high_c: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class ParkAnswer:
    """The answer to one scenario, with its range, assumptions and warnings."""

    case: Case
    days_to_no_start: DaysRange  # first failing hour, any hour
    days_at_start_hour: DaysRange  # first day whose start attempt fails
    days_at_risk: float | None  # longest stand with P(no-start) at most DEFAULT_RISK
    days_to_half_charge: float | None
    days_to_unit_off: float | None
    days_to_freezing: float | None
    days_to_empty: float | None
    budget: Budget
    course: Course
    swings: tuple[Swing, ...]
    temperature_effects: tuple[TemperatureEffect, ...]
    warnings: tuple[str, ...]
    limited_by: str
    unit_silent: DaysRange | None = None  # None without a unit

    @property
    def nominal_misleads(self) -> bool:
        """Whether the nominal days lie outside the middle 80 % of the draws (cold snaps do it)."""
        days = self.days_to_no_start
        nominal, p10, p90 = (
            np.inf if value is None else value for value in (days.nominal, days.p10, days.p90)
        )
        return not p10 <= nominal <= p90

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        days, at_start = self.days_to_no_start, self.days_at_start_hour
        return {
            "drainsim_version": __version__,
            "days_to_no_start": {
                "nominal": days.nominal,
                "p10": days.p10,
                "p50": days.p50,
                "p90": days.p90,
                "at_start_hour": at_start.nominal,
                "at_start_hour_p10": at_start.p10,
                "at_start_hour_p50": at_start.p50,
                "at_start_hour_p90": at_start.p90,
            },
            "horizon_days": self.case.horizon_days,
            "start_hour": self.case.site.start_hour,
            "days_at_5_percent_risk": self.days_at_risk,
            "probability_no_start": [round(float(p), 6) for p in self.course.probability_no_start],
            "days_to_half_charge": self.days_to_half_charge,
            "days_to_unit_off": self.days_to_unit_off,
            "unit_silent": None if self.unit_silent is None else asdict(self.unit_silent),
            "ends_with": "no-start" if self.case.vehicle.starts else "unit silent",
            "system": self.case.system,
            "days_to_freezing": self.days_to_freezing,
            "days_to_empty": self.days_to_empty,
            "budget_ah_per_day": self.budget.as_dict(),
            "limited_by": self.limited_by,
            "temperature_effects": [effect.as_dict() for effect in self.temperature_effects],
            "most_influential": [swing.as_dict() for swing in self.swings],
            "assumptions": assumptions_of(self.case),
            "warnings": list(self.warnings),
        }


def park(case: Case) -> ParkAnswer:
    """Return how long the vehicle of a case can stand.

    Parameters
    ----------
    case : Case
        From `vehicle.case.resolve`.

    Returns
    -------
    ParkAnswer
        The nominal answer follows the case's own values and the average weather; the range
        comes from `case.draws` draws of everything uncertain, reproducible by `case.seed`.
    """
    case = parked_from_pattern(case)
    law = law_of(case)
    names = varied_inputs(case)
    lanes, season_z = swing_lanes(case, names)
    single = run_stand(
        lanes,
        law,
        loads_of(case),
        nominal_weather(case, season_z),
        horizon_days=case.horizon_days,
        step_h=case_block_h(case),
        trace=True,
    )
    if not case.vehicle.starts:
        single = as_silence(single)
    drawn = run_draws(case, law)
    silent = _unit_silence(case, single, drawn)
    return ParkAnswer(
        case=case,
        days_to_no_start=_range(single.no_start_h, drawn.no_start_h),
        days_at_start_hour=_range(single.start_hour_no_start_h, drawn.start_hour_no_start_h),
        days_at_risk=days_within_risk(drawn.no_start_daily.mean(axis=1), DEFAULT_RISK),
        days_to_half_charge=_days(single.half_charge_h[0]),
        days_to_unit_off=silent.nominal if silent else None,
        unit_silent=silent,
        days_to_freezing=_days(single.freezing_h[0]),
        days_to_empty=_days(single.empty_h[0]),
        budget=_budget(single, case.horizon_days),
        course=_course(single, drawn, case.horizon_days),
        swings=swings(case, names, lanes, season_z, single.no_start_h),
        temperature_effects=temperature_effects(case),
        warnings=(*case.warnings, *_warnings(case, law, single, drawn)),
        limited_by=_limited_by(single, case),
    )


def run_draws(case: Case, law: BatteryLaw, *, trace: bool = True) -> Stand:
    """Return the stand of `case.draws` random draws."""
    lanes = lanes_from_draws(case, standard_draws(case.draws, case.seed))
    stand = run_stand(
        replace(lanes, weather=weather_of_draw(case.draws)),
        law,
        drawn_loads(case),
        drawn_weather(case),
        horizon_days=case.horizon_days,
        step_h=case_block_h(case),
        trace=trace,
        to_the_end=not case.vehicle.starts,
    )
    return stand if case.vehicle.starts else as_silence(stand)


def _unit_silence(case: Case, single: Stand, drawn: Stand) -> DaysRange | None:
    """Return when the unit goes silent, on whichever battery it hangs; None without a unit."""
    if not case.unit.fitted:
        return None
    if case.auxiliary is not None:
        return park(case.auxiliary).unit_silent
    return _range(silent_h(single), silent_h(drawn))


def days_within_risk(probability_by_day: FloatArray, risk: float) -> float | None:
    """Return the last day before P(no-start) first exceeds a risk; None past the horizon."""
    too_risky = np.flatnonzero(probability_by_day > risk)
    return float(max(int(too_risky[0]) - 1, 0)) if len(too_risky) else None


def _days(hours: float) -> float | None:
    return float(hours) / 24.0 if np.isfinite(hours) else None


def _range(single_h: FloatArray, drawn_h: FloatArray) -> DaysRange:
    p10, p50, p90 = np.quantile(drawn_h, [0.1, 0.5, 0.9], method="inverted_cdf")
    return DaysRange(nominal=_days(single_h[0]), p10=_days(p10), p50=_days(p50), p90=_days(p90))


def _budget(single: Stand, horizon_days: int) -> Budget:
    """Average the nominal lane's books from parking to its no-start."""
    if single.trace is None:
        raise ValueError("a budget needs a traced stand")
    until = min(single.no_start_h[0] / 24.0, float(horizon_days))
    until = max(until, 1.0)  # a vehicle that fails at once: its first day
    days = np.arange(horizon_days + 1, dtype=float)
    at = Books(*(np.interp(until, days, book[:, 0]) for book in single.trace.books))
    return Budget(
        vehicle=float(at.vehicle_ah) / until,
        unit=float(at.unit_ah) / until,
        self_discharge=float(at.lost_ah) / until,
        other=float(at.other_ah + at.refused_ah) / until,
    )


def _course(single: Stand, drawn: Stand, horizon_days: int) -> Course:
    """Return the daily course with bands."""
    if single.trace is None or drawn.trace is None:
        raise ValueError("a course needs traced stands")
    days = np.arange(horizon_days + 1, dtype=float)
    charge, margin, warm = (
        np.quantile(values, [0.1, 0.9], axis=1)
        for values in (drawn.trace.charge, drawn.trace.margin, drawn.trace.temperature_c)
    )
    failed_by = (drawn.no_start_h[None, :] <= 24.0 * days[:, None]).mean(axis=1)
    return Course(
        day=days,
        probability_no_start=drawn.no_start_daily.mean(axis=1),
        probability_failed_by=failed_by,
        nominal_charge=single.trace.charge[:, 0],
        charge_low=charge[0],
        charge_high=charge[1],
        nominal_margin=single.trace.margin[:, 0],
        margin_low=margin[0],
        margin_high=margin[1],
        nominal_temperature_c=single.trace.temperature_c[:, 0],
        temperature_low_c=warm[0],
        temperature_high_c=warm[1],
    )


def _limited_by(single: Stand, case: Case) -> str:
    """Say in words what ends the nominal stand."""
    hours = single.no_start_h[0]
    if not np.isfinite(hours) or single.trace is None:
        return f"nothing within {case.horizon_days} days"
    if single.freezing_h[0] <= hours:
        return "frozen electrolyte: a hazard, never charge or jump-start it"
    day = min(int(hours // 24.0), case.horizon_days)
    if not case.vehicle.starts:
        off = single.unit_off_h[0] <= hours
        return "the unit's own cut-off voltage" if off else "an empty battery"
    charge = 100.0 * single.trace.charge[day, 0]
    course_c = round(float(case.site.battery_c[min(int(hours), len(case.site.battery_c) - 1)]))
    if day == 0 and hours == 0.0:
        return f"cranking power at {course_c} °C is too small from the start"
    return f"cranking power at {course_c} °C with {charge:.0f} % charge left"


def _warnings(case: Case, law: BatteryLaw, single: Stand, drawn: Stand) -> list[str]:
    """Return what the user should know about this answer."""
    found = []
    frozen = float(np.isfinite(drawn.freezing_h).mean())
    if frozen >= 0.05 or np.isfinite(single.freezing_h[0]):
        found.append(
            f"the electrolyte can freeze within {case.horizon_days} days (in {100 * frozen:.0f} % "
            "of the cases): a frozen battery can burst; never charge or jump-start it, thaw it "
            "first and have it tested"
        )
    half, failing = single.half_charge_h[0], single.no_start_h[0]
    if np.isfinite(half) and half < failing:
        found.append(
            f"half of the charge is gone after {half / 24.0:.0f} days, before the no-start: "
            "standing below half charge sulfates the plates and shortens the battery's life"
        )
    low, high = law.published_c
    course = case.site.battery_c
    if course.min() < low or course.max() > high:
        found.append(
            f"battery temperatures run from {course.min():.0f} to {course.max():.0f} °C; the "
            f"cranking tables were published for {low:.0f} to {high:.0f} °C: above, their warm end "
            "is held, below, their coldest line is continued"
        )
    if drawn.held:
        found.append(
            f"in the random cases {drawn.held} battery temperatures left the model's -40 to 60 °C; "
            "they were held at its ends"
        )
    chemistry = case.battery.profile.chemistry
    if chemistry in {"gel", "lithium_iron_phosphate"}:
        found.append(
            f"cranking figures of the profile {case.battery.profile.key} are not published tables; "
            "see their grades: take the answer as a rough guide"
        )
    if case.battery.profile.has("lowest_charging_temperature_c"):
        coldest = case.battery.profile.number("lowest_charging_temperature_c")
        if course.min() < coldest:
            found.append(
                f"this battery must not be charged below {coldest:.0f} °C: chargers, panels and "
                "alternator count for nothing while it is colder, and its protection must block "
                "them"
            )
    return found
