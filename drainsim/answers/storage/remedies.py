"""What would turn a no into a yes, each with the days gained and the risk that remains."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any, Final, TypeAlias

from drainsim.answers.advice import ADVICE
from drainsim.answers.advice_plans import Plan, all_plans
from drainsim.answers.storage.changes import Changes
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.trial import Outcome, Trial, together
from drainsim.answers.words import days_words, together_words
from drainsim.errors import OutOfRangeError, ScenarioError
from drainsim.files.reading import nearest
from drainsim.language import Message, joined, marked, message, risk_words

_TRIED_AT_ONCE: Final = 6
NONE_IS_ENOUGH: Final = message("No way is enough, nor up to three together.")
NOT_ALONE: Final = marked("Not enough alone: {number}")
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


def _gained_words(remedy: Remedy) -> Message | None:
    """Return the days a remedy gains: "+15", "at least +99", None where that is not known.

    It is not where the stand outlasts the days looked at without any remedy.
    """
    if remedy.days_gained is None:
        return None
    return message(
        "at least {days:+.0f}" if remedy.days is None else "{days:+.0f}", days=remedy.days_gained
    )


def outcome_words(remedy: Remedy, horizon_days: int) -> Message:
    """Return how long it stands with a way, the risk until then and what is lost.

    Parameters
    ----------
    remedy : Remedy
    horizon_days : int
        How far was looked. [d]
    """
    gained = None if remedy.days is None else _gained_words(remedy)
    days = days_words(None if remedy.days is None else float(remedy.days), horizon_days)
    within = message("{days} within the risk", days=days)
    said = [
        message("{within} ({gained})", within=within, gained=gained) if gained else within,
        message("{risk} until then", risk=risk_words(remedy.risk)),
    ]
    if remedy.lost:
        said.append(message("lost: {what}", what=joined("; ", remedy.lost)))
    return joined("; ", said)


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
    def ways(self) -> tuple[Remedy, ...]:
        """All there are, as they are listed."""
        return (*([self.combination] if self.combination else []), *self.single)

    @property
    def holding(self) -> tuple[Remedy, ...]:
        """All that hold, the cheapest first."""
        holding = [remedy for remedy in self.ways if remedy.holds]
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


def remedies(question: StandQuestion, preferences: Preferences | None = None) -> Remedies:
    """Return what makes the stand hold, by effort; every risk comes from the same draws.

    Each is judged by its worst day up to the days asked (`StandQuestion.all_along`).

    Parameters
    ----------
    question : StandQuestion
    preferences : Preferences, optional
        The user's prices and what is out of the question.

    Raises
    ------
    DrainsimError
        If the scenario or a preference cannot be used.
    """
    chosen = preferences or Preferences()
    trial = Trial(question.all_along)
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
    trial = Trial(question.all_along)
    found = trial.best_of(_wanted(trial.question, preferences))
    return _by_cost(trial, days_now, found, preferences), trial.horizon


def _wanted(question: StandQuestion, chosen: Preferences) -> list[list[Plan]]:
    """Return the plans that apply and are not out of the question."""
    lists = all_plans(question.scenario, question.case(), days=question.days)
    return [plans for plans in lists if plans[0].key not in chosen.without]


def _by_cost(
    trial: Trial, days_now: int | None, found: list[tuple[Plan, Outcome]], chosen: Preferences
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
    trial: Trial,
    days_now: int | None,
    plans: tuple[Plan, ...],
    outcome: Outcome,
    chosen: Preferences,
) -> Remedy:
    """Return a tried plan (or two) as a remedy."""
    price, effort = _price_and_effort(plans, chosen)
    before = trial.horizon if days_now is None else days_now
    after = trial.horizon if outcome.days is None else outcome.days
    done = together(plans)
    return Remedy(
        keys=tuple(plan.key for plan in plans),
        labels=tuple(plan.words(standing=trial.question.standing) for plan in plans),
        lost=tuple(
            message(ADVICE[plan.key].lost, **plan.figures)
            for plan in plans
            if ADVICE[plan.key].lost
        ),
        figures=done.figures,
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


def _cheapest_combination(
    trial: Trial,
    now: Outcome,
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
        risks = trial.risks([together(tried) for tried in part])
        for tried, risk in zip(part, risks, strict=True):
            if risk is None or risk <= trial.question.risk:
                (outcome,) = trial.outcomes([together(tried)])
                if outcome.risk <= trial.question.risk:
                    return _remedy(trial, now.days, tried, outcome, chosen)
    return None


def _go_together(plans: tuple[Plan, ...]) -> bool:
    """Say whether no two plans rule each other out, and trying them is one run."""
    groups = [group for plan in plans for group in ADVICE[plan.key].groups]
    visited = any(plan.visit_weeks is not None for plan in plans)
    return len(groups) == len(set(groups)) and not (visited and len(plans) > 2)
