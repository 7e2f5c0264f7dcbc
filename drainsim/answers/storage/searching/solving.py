"""The simulation itself turned round: which value of one input still makes a stand hold?

All trials share the random draws, so the risk moves with the value and not with the noise. The
values tried are those a person would write down; the answer is one of them, exactly as shown.

A value solved for counts as given, with the spread of a value the user enters: typed into the
scenario it gives the risk shown. Standard errors count weathers, not draws, where draws share
one.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from drainsim.answers.storage.changes import Changes
from drainsim.answers.storage.risk import StandQuestion, risk_of
from drainsim.answers.storage.searching.batch import stands_of
from drainsim.answers.storage.searching.bracket import Ask, Asking, last_holding
from drainsim.answers.storage.searching.limits import Limit, binding_limit
from drainsim.errors import DrainsimError
from drainsim.language import Message, message
from drainsim.physics.tables import FloatArray
from drainsim.simulation.many import DrawnStand
from drainsim.simulation.standing.stand import Stand
from drainsim.vehicle.case import Case
from drainsim.vehicle.pattern import PATTERN
from drainsim.vehicle.run import RUN

SOLVED: Final = "solved"  # the limit lies within reach
ANYTHING: Final = "anything"  # even the hardest value within reach holds
NOTHING: Final = "nothing"  # nothing within reach works
_ROUGH_DRAWS: Final = 100  # enough to say about where to look
_WORTH_ROUGH: Final = 300  # with fewer draws a rough run saves nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """One inverse answer.

    `value` is the last value that holds (None: nothing within reach works), `beyond` the next
    one tried, which does not; `error` is the gap between them, the solver's own error. Feeding
    `changes` back into the scenario gives `risk`.
    """

    key: str
    label: Message
    unit: str
    status: str
    value: float | None
    beyond: float | None
    error: float | None
    risk: float | None
    risk_beyond: float | None
    risk_error: float | None  # one standard error from the number of draws
    reach: tuple[float, float]
    days: int
    asked_risk: float
    when: str
    changes: Changes = field(default_factory=dict)
    limit: Limit | None = None
    note: str = ""

    @property
    def holds(self) -> bool:
        """Say whether any value within reach works."""
        return self.value is not None

    @property
    def in_words(self) -> Message:
        """The answer in one line."""
        low, high = (shown(end, self.unit) for end in self.reach)
        words = shown(self.value, self.unit)
        if self.status == NOTHING and self.limit:
            words = message(
                "nothing within reach ({low} to {high}) works: {reason}",
                low=low,
                high=high,
                reason=self.limit.short,
            )
        elif self.status == NOTHING:
            words = message("nothing within reach ({low} to {high}) works", low=low, high=high)
        elif self.status == ANYTHING:
            words = message("any value within reach works, even {value}", value=words)
        return message("{words}; {note}", words=words, note=self.note) if self.note else words

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "key": self.key,
            "label": self.label,
            "status": self.status,
            "value": self.value,
            "unit": self.unit,
            "solver_error": self.error,
            "risk_at_value": self.risk,
            "risk_standard_error": self.risk_error,
            "next_value": self.beyond,
            "risk_at_next_value": self.risk_beyond,
            "reach": list(self.reach),
            "days": self.days,
            "asked_risk": self.asked_risk,
            "when": self.when,
            "limit": self.limit.as_dict() if self.limit else None,
            "note": self.note,
            "changes": dict(self.changes),
        }


def shown(value: float | None, unit: str) -> Message:
    """Return a value with its unit; small currents in mA, shares in per cent.

    Parameters
    ----------
    value : float, optional
        None where nothing holds. [unit]
    unit : str
        "share" of a share of 1.

    Examples
    --------
    >>> shown(0.0417, "A"), shown(0.85, "share"), shown(61.0, "Ah"), shown(0.25, "h")
    ('41.7 mA', '85 %', '61 Ah', '15 min')
    """
    if value is None:
        return message("none")
    if unit == "share":
        return message("{percent:.0f} %", percent=100.0 * value)
    if unit == "A" and value < 1.0:
        return message("{ma:.3g} mA", ma=1000.0 * value)
    if unit == "h" and value < 1.0:
        return message("{minutes:.3g} min", minutes=60.0 * value)
    return message("{value:.4g} {unit}", value=value, unit=unit)


def written_values(low: float, high: float) -> FloatArray:
    """Return the numbers of two significant digits, below 5 in halves, from low to high.

    A step of 5 % at most: a risk is not known any finer.

    Examples
    --------
    >>> written_values(0.0098, 0.0115)
    array([0.0098, 0.0099, 0.01  , 0.0105, 0.011 , 0.0115])
    """
    exponents = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    digits = [*range(100, 500, 5), *range(500, 1000, 10)]
    everything = np.unique([float(f"{d}e{e - 2}") for e in exponents for d in digits])
    return everything[(everything >= low * (1 - 1e-9)) & (everything <= high * (1 + 1e-9))]


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """One value that is looked for.

    `candidates` run from the value most likely to hold to the hardest one; `change` gives the
    scenario changes that set the value.
    """

    question: StandQuestion
    key: str
    label: Message
    unit: str
    candidates: FloatArray
    change: Callable[[float], Changes]

    def case(self, number: int, *, rough: bool) -> Case | None:
        """Return the case with a candidate; None where the scenario refuses it.

        Raises
        ------
        DrainsimError
            If even the candidate most likely to hold is refused.
        """
        changes = dict(self.change(float(self.candidates[number])))
        if rough:
            changes[RUN.draws] = _ROUGH_DRAWS
        try:
            return self.question.resolved(changes)
        except DrainsimError:
            if number == 0:
                raise
            return None


@dataclass(frozen=True, slots=True)
class _Tried:
    """A candidate's risk, its standard error and, of the easiest one, the stand."""

    risk: float
    error: float
    stand: Stand | DrawnStand | None = None


def solve(search: Search) -> Solved:
    """Return the last of the candidates that holds.

    The risk at its value is at most the asked one; at `beyond` it is more, or the scenario
    refuses that value.
    """
    return solve_together([search])[0]


def solve_together(searches: Sequence[Search]) -> list[Solved]:
    """Return what each search finds; what all of them ask for next is run at once."""
    asking: dict[int, Asking] = {}
    asks: dict[int, Ask] = {}
    found: dict[int, int | None] = {}
    exact: list[dict[int, _Tried]] = [{} for _ in searches]
    for who, search in enumerate(searches):
        draws = search.question.scenario.get(RUN.draws)
        driven = search.question.scenario.has(PATTERN.TABLE.name)
        rough = driven or draws is None or draws >= _WORTH_ROUGH
        asking[who] = last_holding(len(search.candidates), search.question.risk, rough=rough)
        asks[who] = next(asking[who])
    while asks:
        risks = _run([(searches[who], ask) for who, ask in asks.items()])
        for (who, ask), answer in zip(list(asks.items()), risks, strict=True):
            if not ask.rough:
                exact[who] |= answer
            try:
                asks[who] = asking[who].send({n: tried.risk for n, tried in answer.items()})
            except StopIteration as done:
                found[who] = done.value
                del asks[who]
    return [_solved(search, found[who], exact[who]) for who, search in enumerate(searches)]


def _run(asks: Sequence[tuple[Search, Ask]]) -> list[dict[int, _Tried]]:
    """Return everything asked for; a risk of inf where the scenario refuses it."""
    answers: list[dict[int, _Tried]] = [{} for _ in asks]
    for rough in (True, False):
        places, cases = [], []
        for place, (search, ask) in enumerate(asks):
            for number in ask.numbers if ask.rough is rough else ():
                answers[place][number] = _Tried(float("inf"), 0.0)
                case = search.case(number, rough=rough)
                if case is not None:
                    places.append((place, number))
                    cases.append(case)
        only = all(search.question.by_mornings for search, _ in asks) and all(
            rough or number for _, number in places
        )
        stands = stands_of(cases, rough=rough, mornings_only=only)
        for (place, number), stand in zip(places, stands, strict=True):
            risk, error = risk_of(stand, asks[place][0].question.when)
            # The easiest one's stand says what is in the way where nothing holds.
            answers[place][number] = _Tried(risk, error, None if number else stand)
    return answers


def _solved(search: Search, number: int | None, exact: Mapping[int, _Tried]) -> Solved:
    """Return the answer with the candidate that holds; None is that none does."""
    question, values = search.question, search.candidates
    last = len(values) - 1
    low, high = sorted((float(values[0]), float(values[last])))
    value = None if number is None else float(values[number])
    beyond = None if number is None or number == last else float(values[number + 1])
    shown_at = exact[number or 0]
    over = exact[number + 1].risk if number is not None and beyond is not None else None
    best = search.change(float(values[number or 0]))
    return Solved(
        key=search.key,
        label=search.label,
        unit=search.unit,
        status=NOTHING if value is None else ANYTHING if beyond is None else SOLVED,
        value=value,
        beyond=beyond,
        error=None if value is None or beyond is None else abs(beyond - value),
        risk=shown_at.risk,
        risk_beyond=over if over is not None and np.isfinite(over) else None,
        risk_error=shown_at.error,
        reach=(low, high),
        days=question.days,
        asked_risk=question.risk,
        when=question.when,
        changes=best,
        limit=binding_limit(question, best, stand=shown_at.stand) if value is None else None,
    )
