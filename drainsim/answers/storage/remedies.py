"""What would turn a no into a yes, each with the days gained and the risk that remains."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any, Final, TypeAlias

import numpy as np

from drainsim.answers.advice import ADVICE, label_of
from drainsim.answers.advice_plans import CHARGED, Plan, all_plans
from drainsim.answers.storage.batch import stands_of
from drainsim.answers.storage.changes import Changes, charge_changes
from drainsim.answers.storage.risk import Failing, StandQuestion, risk_by_day, risk_of
from drainsim.answers.words import together_words
from drainsim.errors import OutOfRangeError, ScenarioError
from drainsim.files.reading import nearest
from drainsim.language import Message, message
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.vehicle.run import RUN
from drainsim.vehicle.site import SITE

_TRIED_AT_ONCE: Final = 6
_MOST_AT_ONCE: Final = 3  # ways combined: more are a project, not advice
_NOTHING: Final = Plan(key="", changes={})  # the stand as it is
Cost: TypeAlias = tuple[float, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One way (or two together), and the stand with it.

    `days` None is more than the horizon; `risk` is that of the worst day up to the days asked.
    `price` is the user's own, None where none was given.
    """

    keys: tuple[str, ...]
    labels: tuple[Message, ...]
    lost: tuple[Message, ...]
    figures: dict[str, float]
    effort: int
    price: float | None
    changes: Changes
    visit_weeks: int | None
    risk: float
    risk_error: float
    days: int | None
    days_gained: int | None  # at least so many where the stand outlasts the horizon
    holds: bool

    @property
    def what(self) -> Message:
        """All that is to be done."""
        return together_words(self.labels)

    @property
    def cost(self) -> Cost:
        """Sort key: price where it is known, then effort, then how many ways it is."""
        return _cost(self.price, self.effort, len(self.keys))

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "keys": list(self.keys),
            "what": self.what,
            "lost": list(self.lost),
            "effort": self.effort,
            "price": self.price,
            "risk_after": self.risk,
            "risk_standard_error": self.risk_error,
            "days_after": self.days,
            "days_gained": self.days_gained,
            "holds": self.holds,
            "changes": {
                key: value.isoformat() if isinstance(value, dt.date) else value
                for key, value in self.changes.items()
            },
            "visit_every_weeks": self.visit_weeks,
        }


def gained_words(remedy: Remedy) -> Message | None:
    """Return the days a remedy gains: "+15", "at least +99", None where that is not known.

    It is not where the stand outlasts the days looked at without any remedy.
    """
    if remedy.days_gained is None:
        return None
    return message(
        "at least {days:+.0f}" if remedy.days is None else "{days:+.0f}", days=remedy.days_gained
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    """The user's own prices (any currency), efforts, and what is out of the question."""

    prices: Mapping[str, float] = field(default_factory=dict)
    efforts: Mapping[str, int] = field(default_factory=dict)
    without: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse names that no remedy has, and prices below zero."""
        for key in (*self.prices, *self.efforts, *self.without):
            if key not in ADVICE:
                raise ScenarioError(f"remedy {key!r} is unknown; {nearest(key, ADVICE)}")
        for key, price in self.prices.items():
            if not 0.0 <= price < 1e9:
                raise OutOfRangeError(f"price of {key} = {price:g} must be 0 or more")
        for key, effort in self.efforts.items():
            if not 1 <= effort <= 9:
                raise OutOfRangeError(f"effort of {key} = {effort} is outside 1 (least) to 9")


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedies:
    """The stand as it is, single ways, and the cheapest combination that costs less than each.

    Costs are the user's prices where all are known, else efforts; `single` is in that order.
    """

    days_now: int | None
    risk_now: float
    horizon_days: int
    single: tuple[Remedy, ...]
    combination: Remedy | None  # two or three at once, which hold

    @property
    def cheapest(self) -> Remedy | None:
        """The cheapest that holds: by price, after those with a price by effort."""
        return min(self.holding, key=lambda remedy: remedy.cost, default=None)

    @property
    def holding(self) -> tuple[Remedy, ...]:
        """All that hold, the cheapest first."""
        tried = (*self.single, *([self.combination] if self.combination else []))
        holding = [remedy for remedy in tried if remedy.holds]
        return tuple(sorted(holding, key=lambda remedy: remedy.cost))

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "days_now": self.days_now,
            "risk_now": self.risk_now,
            "horizon_days": self.horizon_days,
            "single": [remedy.as_dict() for remedy in self.single],
            "combination": self.combination.as_dict() if self.combination else None,
            "cheapest": list(self.cheapest.keys) if self.cheapest else None,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Done:
    """What is changed by one plan or by several at once."""

    changes: Changes
    visit_weeks: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """The first days of a stand."""

    no_start_h: FloatArray
    no_start_daily: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Outcome:
    risk: float
    risk_error: float
    days: int | None


class _Trial:
    """Tries plans on one question, looking as far as one horizon."""

    def __init__(self, question: StandQuestion) -> None:
        self.question = question
        horizon = question.scenario.get_or_default(RUN.horizon_days)
        self.horizon = max(int(horizon), question.days)

    def outcomes(self, plans: Sequence[_Done]) -> list[_Outcome]:
        """Return the risk at the days asked and the longest stand, all but visits in one run."""
        plain = [done for done in plans if done.visit_weeks is None]
        stands = iter(
            stands_of([self.question.resolved(done.changes, days=self.horizon) for done in plain])
        )
        return [
            self._outcome(next(stands))
            if done.visit_weeks is None
            else self._visited(done.changes, 7 * done.visit_weeks)
            for done in plans
        ]

    def risks(self, plans: Sequence[_Done]) -> list[float | None]:
        """Return the risk at the days asked, looking no further; None for visits."""
        question = self.question
        plain = [done for done in plans if done.visit_weeks is None]
        stands = iter(stands_of([question.resolved(done.changes) for done in plain]))
        return [
            risk_of(next(stands), question.when)[0] if done.visit_weeks is None else None
            for done in plans
        ]

    def _outcome(self, stand: Failing) -> _Outcome:
        question = self.question
        hours = stand.no_start_h
        asked = _Part(
            no_start_h=np.where(hours <= 24.0 * question.days, hours, np.inf),
            no_start_daily=stand.no_start_daily[: question.days + 1],
        )
        risk, error = risk_of(asked, question.when)
        return _Outcome(risk=risk, risk_error=error, days=self._longest(stand))

    def _longest(self, stand: Failing) -> int | None:
        over = np.flatnonzero(risk_by_day(stand, self.question.when) > self.question.risk)
        return max(int(over[0]) - 1, 0) if len(over) else None

    def _visited(self, changes: Changes, every_days: int) -> _Outcome:
        """Return the stand made of stretches, each after the first from a full battery."""
        question = self.question
        parked = question.resolved(changes).site.parked_from
        worst, error = 0.0, 0.0
        for begin in range(0, self.horizon, every_days):
            length = min(every_days, self.horizon - begin)
            stretch: dict[str, Any] = {
                **changes,
                SITE.parked_from: parked + dt.timedelta(days=begin),
            }
            if begin:
                stretch.update(charge_changes(CHARGED))
            stand = question.stand(stretch, days=length)
            curve = risk_by_day(stand, question.when)
            inside = curve[: max(question.days - begin, 0) + 1]
            if begin < question.days and inside.max() > worst:
                worst = float(inside.max())
                error = risk_of(stand, question.when)[1]
            longest = self._longest(stand)
            if longest is not None and begin + longest < self.horizon:
                if begin + longest >= question.days:
                    return _Outcome(risk=worst, risk_error=error, days=begin + longest)
                rest = max(worst, float(curve.max()))
                return _Outcome(risk=rest, risk_error=error, days=begin + longest)
        return _Outcome(risk=worst, risk_error=error, days=None)

    def best_of(self, lists: Sequence[list[Plan]]) -> list[tuple[Plan, _Outcome]]:
        """Return of each list the first plan that holds, else the one with the least risk."""
        limit = self.question.risk
        choosing = [plan for plans in lists if len(plans) > 1 for plan in plans]
        short = dict(
            zip(map(id, choosing), self.risks([_together((p,)) for p in choosing]), strict=True)
        )
        chosen: list[Plan] = []
        visits: dict[int, tuple[Plan, _Outcome]] = {}
        for place, plans in enumerate(lists):
            if len(plans) == 1:
                chosen.append(plans[0])
            elif plans[0].visit_weeks is not None:
                visits[place] = self._best_visit(plans)
            else:
                known = [(plan, short[id(plan)] or 0.0) for plan in plans]
                holding = (plan for plan, risk in known if risk <= limit)
                chosen.append(next(holding, min(known, key=lambda pair: pair[1])[0]))
        outcomes = self.outcomes([_together((plan,)) for plan in chosen])
        found = zip(chosen, outcomes, strict=True)
        return [visits[place] if place in visits else next(found) for place in range(len(lists))]

    def _best_visit(self, plans: list[Plan]) -> tuple[Plan, _Outcome]:
        """Return the rarest visits that hold, else those with the least risk."""
        tried = []
        for plan in plans:
            outcome = self.outcomes([_together((plan,))])[0]
            if outcome.risk <= self.question.risk:
                return plan, outcome
            tried.append((plan, outcome))
        return min(tried, key=lambda pair: pair[1].risk)


def remedies(question: StandQuestion, preferences: Preferences | None = None) -> Remedies:
    """Return what makes the stand hold, by effort; every risk comes from the same draws.

    Each is judged by its worst day up to the days asked (`StandQuestion.all_along`).

    Raises
    ------
    DrainsimError
        If the scenario or a preference cannot be used.
    """
    chosen = preferences or Preferences()
    trial = _Trial(question.all_along)
    (_, now), *found = trial.best_of([[_NOTHING], *_wanted(trial.question, chosen)])
    single = _by_cost(trial, now.days, found, chosen)
    return Remedies(
        days_now=now.days,
        risk_now=now.risk,
        horizon_days=trial.horizon,
        single=single,
        combination=_cheapest_combination(trial, now, [plan for plan, _ in found], single, chosen),
    )


def single_ways(
    question: StandQuestion, preferences: Preferences, *, days_now: int | None
) -> tuple[tuple[Remedy, ...], int]:
    """Return each way alone, as `Remedies.single`, and the horizon; no combination is tried.

    Parameters
    ----------
    question : StandQuestion
    preferences : Preferences
    days_now : int or None
        The longest stand as it is, None past the horizon. [days]
    """
    trial = _Trial(question.all_along)
    found = trial.best_of(_wanted(trial.question, preferences))
    return _by_cost(trial, days_now, found, preferences), trial.horizon


def _wanted(question: StandQuestion, chosen: Preferences) -> list[list[Plan]]:
    """Return the plans that apply and are not out of the question."""
    lists = all_plans(question.scenario, question.case(), days=question.days)
    return [plans for plans in lists if plans[0].key not in chosen.without]


def _by_cost(
    trial: _Trial, days_now: int | None, found: list[tuple[Plan, _Outcome]], chosen: Preferences
) -> tuple[Remedy, ...]:
    """Return tried plans as remedies, the cheapest first."""
    single = [_remedy(trial, days_now, (plan,), outcome, chosen) for plan, outcome in found]
    return tuple(sorted(single, key=lambda remedy: (remedy.cost, remedy.risk, remedy.keys)))


def _cost(price: float | None, effort: int, ways: int) -> Cost:
    return math.inf if price is None else price, effort, ways


def _price_and_effort(plans: tuple[Plan, ...], chosen: Preferences) -> tuple[float | None, int]:
    """Return the user's price of plans at once, None where one has none, and their effort."""
    prices = [chosen.prices.get(plan.key) for plan in plans]
    known = [price for price in prices if price is not None]
    effort = sum(chosen.efforts.get(plan.key, ADVICE[plan.key].effort) for plan in plans)
    return sum(known) if len(known) == len(prices) else None, effort


def _remedy(
    trial: _Trial,
    days_now: int | None,
    plans: tuple[Plan, ...],
    outcome: _Outcome,
    chosen: Preferences,
) -> Remedy:
    """Return a tried plan (or two) as a remedy."""
    price, effort = _price_and_effort(plans, chosen)
    before = trial.horizon if days_now is None else days_now
    after = trial.horizon if outcome.days is None else outcome.days
    done = _together(plans)
    figures = {name: value for plan in plans for name, value in plan.figures.items()}
    return Remedy(
        keys=tuple(plan.key for plan in plans),
        labels=tuple(message(label_of(p.key, p.figures), **p.figures) for p in plans),
        lost=tuple(
            message(ADVICE[plan.key].lost, **plan.figures)
            for plan in plans
            if ADVICE[plan.key].lost
        ),
        figures=figures,
        effort=effort,
        price=price,
        changes=done.changes,
        visit_weeks=done.visit_weeks,
        risk=outcome.risk,
        risk_error=outcome.risk_error,
        days=outcome.days,
        days_gained=None if days_now is None else after - before,
        holds=outcome.risk <= trial.question.risk,
    )


def _together(plans: tuple[Plan, ...]) -> _Done:
    """Return the changes of plans done at once, and the visits among them."""
    changes: dict[str, Any] = {}
    for plan in plans:
        changes.update(plan.changes)
    weeks = next((plan.visit_weeks for plan in plans if plan.visit_weeks is not None), None)
    return _Done(changes=changes, visit_weeks=weeks)


def _cheapest_combination(
    trial: _Trial,
    now: _Outcome,
    plans: list[Plan],
    single: Sequence[Remedy],
    chosen: Preferences,
) -> Remedy | None:
    """Return the cheapest combination that holds, if it costs less than every single way.

    Of ways that help but do not hold alone; visits, a run for each stretch, only with one other.
    """
    most = min((remedy.cost for remedy in single if remedy.holds), default=None)
    helping = {r.keys[0] for r in single if not r.holds and r.risk < now.risk}
    members = [plan for plan in plans if plan.key in helping]

    def cost(tried: tuple[Plan, ...]) -> Cost:
        return _cost(*_price_and_effort(tried, chosen), len(tried))

    candidates = [
        tried
        for ways in range(2, _MOST_AT_ONCE + 1)
        for tried in combinations(members, ways)
        if _go_together(tried) and (most is None or cost(tried) < most)
    ]
    candidates.sort(key=cost)
    for begin in range(0, len(candidates), _TRIED_AT_ONCE):
        part = candidates[begin : begin + _TRIED_AT_ONCE]
        risks = trial.risks([_together(tried) for tried in part])
        for tried, risk in zip(part, risks, strict=True):
            if risk is None or risk <= trial.question.risk:
                outcome = trial.outcomes([_together(tried)])[0]
                if outcome.risk <= trial.question.risk:
                    return _remedy(trial, now.days, tried, outcome, chosen)
    return None


def _go_together(plans: tuple[Plan, ...]) -> bool:
    """Say whether no two plans rule each other out, and trying them is one run."""
    groups = [group for plan in plans for group in ADVICE[plan.key].groups]
    visited = any(plan.visit_weeks is not None for plan in plans)
    return len(groups) == len(set(groups)) and not (visited and len(plans) > 2)
