"""What would turn a no into a yes, each with the days gained and the risk that remains."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

import numpy as np

from drainsim.answers.changes import Changes
from drainsim.answers.inverse import charge_changes
from drainsim.answers.remedy_plans import EFFORT, GROUP, LABELS, LOST, Plan, all_plans, label_of
from drainsim.answers.risk import StandQuestion, risk_by_day, risk_of
from drainsim.errors import OutOfRangeError, ScenarioError
from drainsim.models.reading import nearest
from drainsim.simulation.stand import Stand


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One way (or two together), and the stand with it.

    `days` None is more than the horizon; `risk` is that of the worst day up to the days asked.
    `price` is the user's own, None where none was given.
    """

    keys: tuple[str, ...]
    labels: tuple[str, ...]
    lost: tuple[str, ...]
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

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "keys": list(self.keys),
            "what": " and ".join(self.labels),
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    """The user's own prices (any currency), efforts, and what is out of the question."""

    prices: Mapping[str, float] = field(default_factory=dict)
    efforts: Mapping[str, int] = field(default_factory=dict)
    without: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse names that no remedy has, and prices below zero."""
        for key in (*self.prices, *self.efforts, *self.without):
            if key not in LABELS:
                raise ScenarioError(f"remedy {key!r} is unknown; {nearest(key, LABELS)}")
        for key, price in self.prices.items():
            if not 0.0 <= price < 1e9:
                raise OutOfRangeError(f"price of {key} = {price:g} must be 0 or more")
        for key, effort in self.efforts.items():
            if not 1 <= effort <= 9:
                raise OutOfRangeError(f"effort of {key} = {effort} is outside 1 (least) to 9")


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedies:
    """The stand as it is, single ways by effort, and the cheapest pair where one is not enough."""

    days_now: int | None
    risk_now: float
    horizon_days: int
    single: tuple[Remedy, ...]
    pair: Remedy | None
    priced: bool  # the pair was chosen by price; else by effort

    @property
    def easiest(self) -> Remedy | None:
        """The easiest way that holds, a single one before a pair."""
        return next((remedy for remedy in self.single if remedy.holds), self.pair)

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "days_now": self.days_now,
            "risk_now": self.risk_now,
            "horizon_days": self.horizon_days,
            "single": [remedy.as_dict() for remedy in self.single],
            "pair": self.pair.as_dict() if self.pair else None,
            "pair_chosen_by": "price" if self.priced else "effort",
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Outcome:
    risk: float
    risk_error: float
    days: int | None


class _Trial:
    """Tries plans on one question, looking as far as one horizon."""

    def __init__(self, question: StandQuestion) -> None:
        self.question = question
        horizon = question.scenario.get("run", "horizon_days") or 180
        self.horizon = max(int(horizon), question.days)

    def outcome(self, changes: Changes, visit_weeks: int | None = None) -> _Outcome:
        """Return the risk at the days asked and the longest stand."""
        if visit_weeks is not None:
            return self._visited(changes, 7 * visit_weeks)
        question = self.question
        stand = question.stand(changes, days=self.horizon)
        asked = replace(stand, no_start_daily=stand.no_start_daily[: question.days + 1])
        if question.when == "any_time":
            within = stand.no_start_h <= 24.0 * question.days
            asked = replace(asked, no_start_h=np.where(within, stand.no_start_h, np.inf))
        risk, error = risk_of(asked, question.when)
        return _Outcome(risk=risk, risk_error=error, days=self._longest(stand))

    def _longest(self, stand: Stand) -> int | None:
        over = np.flatnonzero(risk_by_day(stand, self.question.when) > self.question.risk)
        return max(int(over[0]) - 1, 0) if len(over) else None

    def _visited(self, changes: Changes, every_days: int) -> _Outcome:
        """Return the stand made of stretches, each after the first from a full battery."""
        question = self.question
        parked = question.case(changes).site.parked_from
        worst, error = 0.0, 0.0
        for begin in range(0, self.horizon, every_days):
            length = min(every_days, self.horizon - begin)
            stretch: dict[str, Any] = {
                **changes,
                "site.parked_from": parked + dt.timedelta(days=begin),
            }
            if begin:
                stretch.update(charge_changes(1.0))
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

    def best_of(self, plans: list[Plan]) -> tuple[Plan, _Outcome]:
        """Return the first plan that holds, else the one with the least risk."""
        tried = []
        for plan in plans:
            outcome = self.outcome(plan.changes, plan.visit_weeks)
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
    question = question.all_along
    trial = _Trial(question)
    now = trial.outcome({})
    found: list[tuple[Plan, _Outcome]] = []
    for plans in all_plans(question):
        if plans and plans[0].key not in chosen.without:
            found.append(trial.best_of(plans))
    single = [_remedy(trial, now, (plan,), outcome, chosen) for plan, outcome in found]
    single.sort(key=lambda remedy: (remedy.effort, remedy.risk, remedy.keys))
    pair = _cheapest_pair(trial, now, [plan for plan, _ in found], single, chosen)
    return Remedies(
        days_now=now.days,
        risk_now=now.risk,
        horizon_days=trial.horizon,
        single=tuple(single),
        pair=pair,
        priced=pair is not None and pair.price is not None,
    )


def _remedy(
    trial: _Trial,
    now: _Outcome,
    plans: tuple[Plan, ...],
    outcome: _Outcome,
    chosen: Preferences,
) -> Remedy:
    """Return a tried plan (or two) as a remedy."""
    prices = [chosen.prices.get(plan.key) for plan in plans]
    known = [price for price in prices if price is not None]
    before = trial.horizon if now.days is None else now.days
    after = trial.horizon if outcome.days is None else outcome.days
    changes, weeks = _together(plans)
    figures = {name: value for plan in plans for name, value in plan.figures.items()}
    return Remedy(
        keys=tuple(plan.key for plan in plans),
        labels=tuple(label_of(p.key, p.figures).format(**p.figures) for p in plans),
        lost=tuple(LOST[plan.key].format(**plan.figures) for plan in plans if plan.key in LOST),
        figures=figures,
        effort=sum(chosen.efforts.get(plan.key, EFFORT[plan.key]) for plan in plans),
        price=sum(known) if len(known) == len(prices) else None,
        changes=changes,
        visit_weeks=weeks,
        risk=outcome.risk,
        risk_error=outcome.risk_error,
        days=outcome.days,
        days_gained=None if now.days is None else after - before,
        holds=outcome.risk <= trial.question.risk,
    )


def _together(plans: tuple[Plan, ...]) -> tuple[Changes, int | None]:
    """Return the changes of plans done at once, and the visits among them."""
    changes: dict[str, Any] = {}
    for plan in plans:
        changes.update(plan.changes)
    weeks = next((plan.visit_weeks for plan in plans if plan.visit_weeks is not None), None)
    return changes, weeks


def _cheapest_pair(
    trial: _Trial, now: _Outcome, plans: list[Plan], single: list[Remedy], chosen: Preferences
) -> Remedy | None:
    """Return the cheapest pair that holds, of ways that help but do not hold alone.

    By price where the user priced both, else by effort.
    """
    helping = {r.keys[0] for r in single if not r.holds and r.risk < now.risk}
    pairs = [
        (one, other)
        for one, other in combinations([plan for plan in plans if plan.key in helping], 2)
        if GROUP.get(one.key, one.key) != GROUP.get(other.key, other.key)
    ]

    def cost(pair: tuple[Plan, Plan]) -> tuple[float, int]:
        prices = [chosen.prices.get(plan.key, float("inf")) for plan in pair]
        efforts = [chosen.efforts.get(plan.key, EFFORT[plan.key]) for plan in pair]
        return sum(prices), sum(efforts)

    for pair in sorted(pairs, key=cost):
        changes, weeks = _together(pair)
        outcome = trial.outcome(changes, weeks)
        if outcome.risk <= trial.question.risk:
            return _remedy(trial, now, pair, outcome, chosen)
    return None
