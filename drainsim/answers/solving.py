"""Bisection on the simulation itself: which value of one input still makes a stand hold?

All trials share the random draws, so the risk moves with the value and not with the noise. The
values tried are those a person would write down; the answer is one of them, exactly as shown.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from drainsim.answers.changes import Changes
from drainsim.answers.limits import Limit, binding_limit
from drainsim.answers.risk import StandQuestion
from drainsim.errors import DrainsimError
from drainsim.physics.tables import FloatArray

SOLVED: Final = "solved"  # the limit lies within reach
ANYTHING: Final = "anything"  # even the hardest value within reach holds
NOTHING: Final = "nothing"  # nothing within reach works


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """One inverse answer.

    `value` is the last value that holds (None: nothing within reach works), `beyond` the next
    one tried, which does not; `error` is the gap between them, the solver's own error. Feeding
    `changes` back into the scenario gives `risk`.
    """

    key: str
    label: str
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
    def in_words(self) -> str:
        """The answer in one line."""
        low, high = (shown(end, self.unit) for end in self.reach)
        if self.status == NOTHING:
            reason = f": {self.limit.sentence}" if self.limit else ""
            words = f"nothing within reach ({low} to {high}) works{reason}"
        elif self.status == ANYTHING:
            words = f"any value within reach works, even {shown(self.value, self.unit)}"
        else:
            words = shown(self.value, self.unit)
        return f"{words}; {self.note}" if self.note else words

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


def shown(value: float | None, unit: str) -> str:
    """Return a value with its unit; small currents in mA, shares in per cent.

    Examples
    --------
    >>> shown(0.0417, "A"), shown(0.85, "share"), shown(61.0, "Ah"), shown(0.25, "h")
    ('41.7 mA', '85 %', '61 Ah', '15 min')
    """
    if value is None:
        return "none"
    if unit == "share":
        return f"{100.0 * value:.0f} %"
    if unit == "A" and value < 1.0:
        return f"{1000.0 * value:.3g} mA"
    if unit == "h" and value < 1.0:
        return f"{60.0 * value:.3g} min"
    return f"{value:.4g} {unit}"


def three_digit_values(low: float, high: float) -> FloatArray:
    """Return all numbers of three significant digits from low to high.

    Examples
    --------
    >>> three_digit_values(0.998, 1.02)
    array([0.998, 0.999, 1.   , 1.01 , 1.02 ])
    """
    exponents = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    digits = np.arange(100, 1000)
    everything = np.unique([float(f"{d}e{e - 2}") for e in exponents for d in digits])
    return everything[(everything >= low * (1 - 1e-9)) & (everything <= high * (1 + 1e-9))]


def solve(
    question: StandQuestion,
    *,
    key: str,
    label: str,
    unit: str,
    candidates: Sequence[float] | FloatArray,
    change: Callable[[float], Changes],
) -> Solved:
    """Return the last of the candidates that holds.

    Parameters
    ----------
    question : StandQuestion
    key, label, unit : str
        Of the value that is looked for.
    candidates : sequence of float
        From the value most likely to hold to the hardest one.
    change : callable
        The scenario changes that set the value.

    Returns
    -------
    Solved
        The risk at its value is at most the asked one; at `beyond` it is more, or the scenario
        refuses that value.
    """
    tried: dict[int, tuple[float, float]] = {}

    def risk_at(index: int) -> float:
        """Return the risk of a candidate; inf where the scenario refuses it."""
        if index not in tried:
            try:
                tried[index] = question.risk_with(change(float(candidates[index])))
            except DrainsimError:
                if index == 0:
                    raise
                tried[index] = (float("inf"), 0.0)
        return tried[index][0]

    last = len(candidates) - 1
    low, high = sorted((float(candidates[0]), float(candidates[last])))

    def answer(index: int | None) -> Solved:
        """Return the answer with the candidate that holds."""
        value = None if index is None else float(candidates[index])
        beyond = None if index is None or index == last else float(candidates[index + 1])
        risk = risk_at(0 if index is None else index)
        over = risk_at(index + 1) if index is not None and beyond is not None else None
        status = NOTHING if value is None else ANYTHING if beyond is None else SOLVED
        best = change(float(candidates[0 if index is None else index]))
        return Solved(
            key=key,
            label=label,
            unit=unit,
            status=status,
            value=value,
            beyond=beyond,
            error=None if value is None or beyond is None else abs(beyond - value),
            risk=risk,
            risk_beyond=over if over is not None and np.isfinite(over) else None,
            risk_error=tried[0 if index is None else index][1],
            reach=(low, high),
            days=question.days,
            asked_risk=question.risk,
            when=question.when,
            changes=best,
            limit=binding_limit(question, best) if value is None else None,
        )

    if risk_at(0) > question.risk:
        return answer(None)
    if risk_at(last) <= question.risk:
        return answer(last)
    holds, fails = 0, last
    while fails - holds > 1:
        middle = (holds + fails) // 2
        if risk_at(middle) <= question.risk:
            holds = middle
        else:
            fails = middle
    return answer(holds)
