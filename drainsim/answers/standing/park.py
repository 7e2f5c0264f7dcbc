"""How many days can this vehicle stand before it will not start?

One middle: the median of the draws is the answer everywhere; lines are medians, budget and
balances means (parts sum), "limited by" the share of draws each cause ends. `nominal_days` (own
values, average weather) is for the JSON only.

What no window has asked for yet (swings, temperature effects, the average stand) is not worked
out.
"""

from dataclasses import asdict, dataclass, fields, replace
from functools import cached_property
from html import escape
from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim import __version__
from drainsim.answers.driving.before_parking import parked_from_pattern
from drainsim.answers.standing.causes import Cause, causes, causes_in_words
from drainsim.answers.standing.swing import Swing, swings
from drainsim.answers.standing.temperature import TemperatureEffect, temperature_effects
from drainsim.answers.standing.warnings import park_warnings
from drainsim.language import Message, marked
from drainsim.physics.tables import FloatArray, quantiles_by_row
from drainsim.simulation.battery_curves import BatteryCurves, curves_of
from drainsim.simulation.blocks import case_block_h
from drainsim.simulation.chargers import drawn_loads
from drainsim.simulation.draws import weather_of_draw
from drainsim.simulation.lanes import (
    drawn_weather,
    draws_of,
    lanes_from_draws,
    loads_of,
    nominal_draws,
    nominal_weather,
)
from drainsim.simulation.standing.silence import ENDS, as_silence, silent_h
from drainsim.simulation.standing.stand import Event, Stand, run_stand
from drainsim.vehicle.case import Case

DEFAULT_RISK: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysRange:
    """Days with their range; None means not within the horizon.

    p50: the answer, the middle of the draws; p10: one vehicle in ten fails sooner; p90: nine in
    ten have failed by then.
    """

    p10: float | None
    p50: float | None
    p90: float | None


BUDGET_PARTS: Final = {
    "vehicle": marked("vehicle itself"),
    "unit": marked("added unit"),
    "self_discharge": marked("self-discharge"),
    "other": marked("other loads"),
    "total": marked("all together"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """Mean draw on the battery from parking to the no-start or the horizon. [Ah/day].

    Of each draw over the days until its stand ended, then the mean of the draws.
    """

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
        return {**asdict(self), "total": self.total}


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """State at the start hour of every day, shape (days + 1,).

    Medians of the draws; `*_low` and `*_high` hold their middle 80 %.
    """

    day: FloatArray
    probability_no_start: FloatArray
    probability_failed_by: FloatArray
    charge: FloatArray
    charge_low: FloatArray
    charge_high: FloatArray
    margin: FloatArray
    margin_low: FloatArray
    margin_high: FloatArray
    temperature_c: FloatArray
    temperature_low_c: FloatArray
    temperature_high_c: FloatArray


@dataclass(frozen=True, kw_only=True)
class ParkAnswer:
    """The answer to one scenario, with its range, assumptions and warnings.

    All days are medians of the draws, but for `days_at_risk`. What not everybody looks at is
    worked out when it is asked for.
    """

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
    warnings: tuple[str, ...]
    causes: tuple[Cause, ...]
    no_start_h: FloatArray  # of each draw; inf past the horizon
    unit_silent: DaysRange | None = None  # None without a unit

    @cached_property
    def swings(self) -> tuple[Swing, ...]:
        """What each input moves, the largest first."""
        return swings(self.case, self.no_start_h)

    @cached_property
    def temperature_effects(self) -> tuple[TemperatureEffect, ...]:
        """What temperature does to capacity, cranking, losses and freezing."""
        return temperature_effects(self.case)

    @cached_property
    def nominal_days(self) -> float | None:
        """The case's own values in average weather; None past the horizon. [days].

        Not an answer (a cold snap ends a stand before the average weather does): for comparison
        with other models.
        """
        case, z = self.case, nominal_draws(1)
        stand = run_stand(
            lanes_from_draws(case, z, varied={}),
            curves_of(case),
            loads_of(case),
            nominal_weather(case, z["season"]),
            horizon_days=case.horizon_days,
            step_h=case_block_h(case),
            to_the_end=not case.vehicle.starts,
        )
        return _days((stand.no_start_h if case.vehicle.starts else silent_h(stand))[0])

    def __repr__(self) -> str:
        """Return the answer in one line."""
        days = self.days_to_no_start
        ends = "no-start" if self.case.vehicle.starts else "unit silent"

        def shown(value: float | None) -> str:
            return f"more than {self.case.horizon_days}" if value is None else f"{value:.0f}"

        return (
            f"<ParkAnswer: {ends} after {shown(days.p50)} days "
            f"(8 in 10 cases: {shown(days.p10)} to {shown(days.p90)} days)>"
        )

    def _repr_html_(self) -> str:
        """Return the answer and its course as a notebook shows them."""
        line = escape(repr(self)[len("<ParkAnswer: ") : -1])
        return f"<p><b>{line}</b></p>{self.to_frame().iloc[::7].to_html()}"

    def to_frame(self) -> pd.DataFrame:
        """Return the course, a row a day: medians, and the middle 80 % of the cases."""
        columns = {field.name: getattr(self.course, field.name) for field in fields(Course)}
        return pd.DataFrame(columns).set_index("day")

    @property
    def limited_by(self) -> Message:
        """What ends the stand, in how many of the cases."""
        return causes_in_words(self.causes)

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data.

        `days_to_no_start.p50` is the answer, `nominal` the one stand in average weather (see the
        class); `days_to_*` are medians, None past the horizon.
        """
        days, at_start = self.days_to_no_start, self.days_at_start_hour
        return {
            "drainsim_version": __version__,
            "days_to_no_start": {
                "p50": days.p50,
                "p10": days.p10,
                "p90": days.p90,
                "nominal": self.nominal_days,
                "at_start_hour_p10": at_start.p10,
                "at_start_hour_p50": at_start.p50,
                "at_start_hour_p90": at_start.p90,
            },
            "parked_from": self.case.site.parked_from.isoformat(),
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
            "limited_by_share_of_draws": {cause.key: cause.share for cause in self.causes},
            "temperature_effects": [effect.as_dict() for effect in self.temperature_effects],
            "most_influential": [swing.as_dict() for swing in self.swings],
            "assumptions": [item.as_dict() for item in self.case.assumptions],
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
        From `case.draws` draws of everything uncertain, reproducible by `case.seed`.
    """
    case = parked_from_pattern(case)
    curves = curves_of(case)
    drawn = run_draws(case, curves, course=True)
    silent = None
    if case.unit.fitted:  # on whichever battery it hangs
        other = case.auxiliary
        silent = days_range(silent_h(drawn)) if other is None else park(other).unit_silent
    half_charge = _days(_median(drawn.half_charge_h))
    no_start = days_range(drawn.no_start_h)
    return ParkAnswer(
        case=case,
        days_to_no_start=no_start,
        days_at_start_hour=days_range(drawn.start_hour_no_start_h),
        days_at_risk=days_within_risk(drawn.no_start_daily.mean(axis=1), DEFAULT_RISK),
        days_to_half_charge=half_charge,
        days_to_unit_off=silent.p50 if silent else None,
        unit_silent=silent,
        days_to_freezing=_days(_median(drawn.freezing_h)),
        days_to_empty=_days(_median(drawn.empty_h)),
        budget=_budget(drawn),
        course=_course(drawn, case.horizon_days),
        warnings=(*case.warnings, *park_warnings(case, curves, drawn, half_charge, no_start.p50)),
        causes=causes(drawn, curves, case),
        no_start_h=drawn.no_start_h,
    )


def run_draws(
    case: Case,
    curves: BatteryCurves,
    *,
    course: bool = False,
    trace: bool = False,
    by_day: bool = False,
) -> Stand:
    """Return the stand of `case.draws` random draws.

    Parameters
    ----------
    case : Case
    curves : BatteryCurves
        Of its battery.
    course, trace : bool
        As in `simulation.stand.run_stand`.
    by_day : bool
        As in `simulation.blocks.case_block_h`.
    """
    lanes = lanes_from_draws(case, draws_of(case))
    stand = run_stand(
        replace(lanes, weather=weather_of_draw(case.draws)),
        curves,
        drawn_loads(case),
        drawn_weather(case),
        horizon_days=case.horizon_days,
        step_h=case_block_h(case, by_day=by_day),
        course=course,
        trace=trace,
        to_the_end=not case.vehicle.starts,
        ends=(Event.NO_START,) if case.vehicle.starts else ENDS,
    )
    return stand if case.vehicle.starts else as_silence(stand)


def days_within_risk(probability_by_day: FloatArray, risk: float) -> float | None:
    """Return the last day before P(no-start) first exceeds a risk; None past the horizon.

    Parameters
    ----------
    probability_by_day : array, shape (days + 1,)
        P(no-start) at the start hour of each day from parking on. [-]
    risk : float
        Accepted P(no-start). [-]
    """
    too_risky = np.flatnonzero(probability_by_day > risk)
    return float(max(int(too_risky[0]) - 1, 0)) if len(too_risky) else None


def _days(hours: float) -> float | None:
    return float(hours) / 24.0 if np.isfinite(hours) else None


def _median(drawn_h: FloatArray) -> float:
    """Return the middle draw's hours; inf where most draws did not get there."""
    return float(np.quantile(drawn_h, 0.5, method="inverted_cdf"))


def days_range(drawn_h: FloatArray) -> DaysRange:
    """Return the middle and the middle 80 % of the draws' hours, in days."""
    p10, p50, p90 = np.quantile(drawn_h, [0.1, 0.5, 0.9], method="inverted_cdf")
    return DaysRange(p10=_days(p10), p50=_days(p50), p90=_days(p90))


def _budget(drawn: Stand) -> Budget:
    """Average the draws' balances from parking to the end of the day of the no-start."""

    def mean(*balance: FloatArray) -> float:
        return float(sum((entry / drawn.end_day).mean() for entry in balance))

    at = drawn.end_balance
    return Budget(
        vehicle=mean(at.vehicle_ah),
        unit=mean(at.unit_ah),
        self_discharge=mean(at.lost_ah),
        other=mean(at.other_ah, at.refused_ah),
    )


def _course(drawn: Stand, horizon_days: int) -> Course:
    """Return the daily course with bands."""
    if drawn.trace is None:
        raise ValueError("a course needs a traced stand")
    days = np.arange(horizon_days + 1, dtype=float)
    charge, margin, warm = (
        quantiles_by_row(values, np.array([0.1, 0.5, 0.9]))
        for values in (drawn.trace.charge, drawn.trace.margin, drawn.trace.temperature_c)
    )
    failed_by = (drawn.no_start_h[None, :] <= 24.0 * days[:, None]).mean(axis=1)
    return Course(
        day=days,
        probability_no_start=drawn.no_start_daily.mean(axis=1),
        probability_failed_by=failed_by,
        charge_low=charge[0],
        charge=charge[1],
        charge_high=charge[2],
        margin_low=margin[0],
        margin=margin[1],
        margin_high=margin[2],
        temperature_low_c=warm[0],
        temperature_c=warm[1],
        temperature_high_c=warm[2],
    )
