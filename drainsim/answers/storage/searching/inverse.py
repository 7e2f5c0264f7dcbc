"""Turned round: what may the draw, the battery or the panel be, so that the stand holds?

Every answer is found by search on the same simulation that gives the days, with the same random
draws; there is no second formula.
"""

import datetime as dt
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from drainsim.answers.standing.park import DaysRange, days_range
from drainsim.answers.storage.risk import LONGEST_DAYS, StandQuestion, risk_by_day, risk_of
from drainsim.answers.storage.searching import searches
from drainsim.answers.storage.searching.limits import Limit, binding_limit
from drainsim.answers.storage.searching.solving import Solved, solve_together
from drainsim.answers.words import days_words
from drainsim.language import Message, message
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.run import RUN


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
    days_to_no_start: DaysRange

    @property
    def in_words(self) -> Message:
        """The days in plain words."""
        if self.days is not None and self.days < 0:
            return message("no stand at all: it is more from the first moment")
        return days_words(None if self.days is None else float(self.days), self.horizon_days)

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "days": self.days,
            "horizon_days": self.horizon_days,
            "solver_error_days": 1,
            "risk": self.risk,
            "recharge_by": self.recharge_by.isoformat() if self.recharge_by else None,
            "days_to_no_start": asdict(self.days_to_no_start),
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
        limit=None if fine else binding_limit(question, stand=stand),
    )


def longest_stand(question: StandQuestion) -> LongestStand:
    """Return the most days for which the risk has stayed within the asked one all along.

    Looks as far as the scenario's horizon, and at least as far as the days asked. Also the date
    by which to recharge (or to start and drive).

    Parameters
    ----------
    question : StandQuestion
    """
    horizon = max(question.scenario.get_or_default(RUN.horizon_days), question.days)
    case = question.case(days=horizon)
    stand = question.stand(days=horizon)
    when = "any_time" if question.when == "any_time" else "on_day"
    curve = risk_by_day(stand, when)
    over = np.flatnonzero(curve > question.risk)
    days = int(over[0]) - 1 if len(over) else None
    return LongestStand(
        days=days,
        horizon_days=horizon,
        risk=float(curve[days]) if days is not None and days >= 0 else None,
        recharge_by=case.site.parked_from + dt.timedelta(days=days) if days and days > 0 else None,
        probability_by_day=curve,
        days_to_no_start=days_range(stand.no_start_h),
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
    return tuple(solve_together(searches.every_search(question)))
