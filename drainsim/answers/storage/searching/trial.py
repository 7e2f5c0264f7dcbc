"""Plans tried on one question: the risk at the days asked, and the longest stand."""

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from drainsim.answers.advice_plans import CHARGED, Plan
from drainsim.answers.storage.changes import Changes, charge_changes
from drainsim.answers.storage.risk import Failing, StandQuestion, risk_by_day, risk_of
from drainsim.answers.storage.searching.batch import stands_of
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.vehicle.case import Case
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """The first days of a stand."""

    no_start_h: FloatArray
    no_start_daily: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a plan leads to: the risk at the days asked, the longest stand within the limit. [d]."""

    risk: float
    risk_error: float
    days: int | None


class Trial:
    """Tries plans on one question, looking as far as one horizon."""

    def __init__(self, question: StandQuestion) -> None:
        self.question = question
        horizon = question.scenario.get_or_default(RUN.horizon_days)
        self.horizon = max(int(horizon), question.days)

    def outcomes(self, plans: Sequence[Plan]) -> list[Outcome]:
        """Return the risk at the days asked and the longest stand, all but visits in one run."""
        plain = [done for done in plans if done.visit_weeks is None]
        cases = [self.question.resolved(done.changes, days=self.horizon) for done in plain]
        stands = iter(stands_of(cases, mornings_only=self.question.by_mornings))
        return [
            self._outcome(next(stands))
            if done.visit_weeks is None
            else self._visited(done.changes, 7 * done.visit_weeks)
            for done in plans
        ]

    def risks(self, plans: Sequence[Plan]) -> list[float | None]:
        """Return the risk at the days asked, looking no further; None for visits."""
        question = self.question
        plain = [done for done in plans if done.visit_weeks is None]
        cases = [question.resolved(done.changes) for done in plain]
        stands = iter(stands_of(cases, mornings_only=question.by_mornings))
        return [
            risk_of(next(stands), question.when)[0] if done.visit_weeks is None else None
            for done in plans
        ]

    def _outcome(self, stand: Failing) -> Outcome:
        question = self.question
        hours = stand.no_start_h
        asked = _Part(
            no_start_h=np.where(hours <= 24.0 * question.days, hours, np.inf),
            no_start_daily=stand.no_start_daily[: question.days + 1],
        )
        risk, error = risk_of(asked, question.when)
        return Outcome(risk=risk, risk_error=error, days=self._longest(stand))

    def _longest(self, stand: Failing) -> int | None:
        over = np.flatnonzero(risk_by_day(stand, self.question.when) > self.question.risk)
        return max(int(over[0]) - 1, 0) if len(over) else None

    def _visited(self, changes: Changes, every_days: int, *, given_up: float = math.inf) -> Outcome:
        """Return the stand made of stretches, each after the first from a full battery.

        What a risk rises above is given up: it is not told how far.
        """
        question = self.question
        worst, error, days, failed = 0.0, 0.0, None, np.zeros(1, dtype=bool)
        for begin, alone in self._stretches(changes, every_days):
            stand = _Part(  # at any time: a draw that failed before a visit has failed
                no_start_h=np.where(failed, 0.0, alone.no_start_h),
                no_start_daily=alone.no_start_daily,
            )
            failed = np.isfinite(stand.no_start_h)
            inside = risk_by_day(stand, question.when)[: max(question.days - begin, 0) + 1]
            if begin < question.days and inside.max() > worst:
                worst = float(inside.max())
                error = risk_of(stand, question.when)[1]
            longest = self._longest(stand)
            if days is None and longest is not None and begin + longest < self.horizon:
                days = begin + longest
            if worst > given_up or (days is not None and begin + every_days >= question.days):
                break
        return Outcome(risk=worst, risk_error=error, days=days)

    def _stretches(self, changes: Changes, every_days: int) -> Iterator[tuple[int, Failing]]:
        """Yield a stretch's first day and stand; from the second to the last asked in one run."""
        question = self.question
        parked = question.resolved(changes).site.parked_from
        charged = charge_changes(CHARGED, question.scenario)

        def stretch(begin: int) -> Case:
            later: Changes = {SITE.parked_from: parked + dt.timedelta(days=begin)}
            full: Changes = charged if begin else {}
            length = min(every_days, self.horizon - begin)
            return question.resolved({**changes, **later, **full}, days=length)

        begins = range(0, self.horizon, every_days)
        asked = -(-question.days // every_days)
        for some in (begins[:1], begins[1:asked], *([begin] for begin in begins[asked:])):
            stands = stands_of([stretch(b) for b in some], mornings_only=question.by_mornings)
            yield from zip(some, stands, strict=True)

    def best_of(self, lists: Sequence[list[Plan]]) -> list[tuple[Plan, Outcome]]:
        """Return of each list the first plan that holds, else the one with the least risk."""
        limit = self.question.risk
        choosing = [plan for plans in lists if len(plans) > 1 for plan in plans]
        short = dict(zip(map(id, choosing), self.risks(choosing), strict=True))
        chosen: list[Plan] = []
        visits: dict[int, tuple[Plan, Outcome]] = {}
        for place, plans in enumerate(lists):
            if len(plans) == 1:
                chosen.append(plans[0])
            elif plans[0].visit_weeks is not None:
                visits[place] = self._best_visit(plans)
            else:
                known = [(plan, short[id(plan)] or 0.0) for plan in plans]
                holding = (plan for plan, risk in known if risk <= limit)
                chosen.append(next(holding, min(known, key=lambda pair: pair[1])[0]))
        outcomes = self.outcomes(chosen)
        found = zip(chosen, outcomes, strict=True)
        return [visits[place] if place in visits else next(found) for place in range(len(lists))]

    def _best_visit(self, plans: list[Plan]) -> tuple[Plan, Outcome]:
        """Return the rarest visits that hold, else the most frequent: none have less risk."""
        limit = self.question.risk
        for plan in plans[:-1]:
            outcome = self._visited(plan.changes, 7 * (plan.visit_weeks or 1), given_up=limit)
            if outcome.risk <= limit:
                return plan, outcome
        (outcome,) = self.outcomes(plans[-1:])
        return plans[-1], outcome


def together(plans: tuple[Plan, ...]) -> Plan:
    """Return plans done at once as one; at most one of them are visits."""
    return Plan(
        key="+".join(plan.key for plan in plans),
        changes={name: value for plan in plans for name, value in plan.changes.items()},
        figures={name: value for plan in plans for name, value in plan.figures.items()},
        visit_weeks=next((plan.visit_weeks for plan in plans if plan.visit_weeks), None),
    )
