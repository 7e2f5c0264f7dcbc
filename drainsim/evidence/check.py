"""One check: a published value, the model's own value, and why the gap is acceptable or not.

Checks that fail stay: `expected_to_disagree` says which source we decided against and what
follows for the user, `known_weakness` what the model does badly; a test asserts that both really
are outside their tolerance.

A check's value and the question asked of the model stand in one statement: the printed value is
often the source's own arithmetic, and a table would part them.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import Any, Final, Literal, TypeAlias

from drainsim.errors import DrainsimError
from drainsim.evidence.sources import Source

READ: Final = "read in the source"
SECONDARY: Final = "quoted by a secondary source"
MEMORY: Final = "from memory"
PRACTICE: Final = "common practice"
LIBRARY: Final = "open library, computed"
GRADES: Final = (READ, SECONDARY, MEMORY, PRACTICE, LIBRARY)
_PUBLISHED_GRADES: Final = (READ, SECONDARY)
_REMEMBERED_GRADES: Final = (MEMORY, PRACTICE)
_ROUNDING: Final = 1e-9  # relative; keeps a value exactly on a limit inside it

Published: TypeAlias = float | tuple[float, float]


class Independence(StrEnum):
    """How far a published value is from what the model was built on.

    A definition, or a source's own arithmetic, cannot come out otherwise. A value of the source a
    constant was taken or chosen from shows that it is carried through, no more. Only another
    source, or a measurement no constant was fitted to, can prove the model wrong.
    """

    DEFINITION = "definition"
    SAME_SOURCE = "same source as the constant"
    OTHER_SOURCE = "other source"
    MEASUREMENT = "measurement"


DEFINITION: Final = Independence.DEFINITION
SAME_SOURCE: Final = Independence.SAME_SOURCE
OTHER_SOURCE: Final = Independence.OTHER_SOURCE
MEASUREMENT: Final = Independence.MEASUREMENT


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A published value or range and how to ask the model for its own.

    `tolerance` is in `unit` when `tolerance_kind` is "absolute", else a share of the published
    value (of the nearer end of a range). `bound` makes the published value a limit to one side:
    "at least" where the model may say more, "at most" where less.
    `expected_to_disagree` says why we decided against the source and
    `known_weakness` where the model itself is off; such rows stay in the table, are never counted
    as passed, and the tests make sure that they really are outside the tolerance.
    """

    key: str
    subject: str
    quantity: str
    conditions: str
    published: Published
    unit: str
    source: Source
    independence: Independence
    model: Callable[[], float]
    tolerance: float = 0.0
    tolerance_reason: str = ""  # a range may be its own
    bound: Literal["", "at least", "at most"] = ""
    tolerance_kind: Literal["absolute", "relative"] = "absolute"
    clause: str = ""
    grade: str = READ
    note: str = ""
    expected_to_disagree: str = ""
    known_weakness: str = ""

    def __post_init__(self) -> None:
        """Refuse a check that says nothing."""
        if self.grade not in GRADES:
            raise ValueError(f"{self.key}: grade {self.grade!r} is none of {', '.join(GRADES)}")
        if isinstance(self.published, tuple) and self.tolerance == 0.0:
            reason = self.tolerance_reason or "the published range itself"
            object.__setattr__(self, "tolerance_reason", reason)
        if not self.tolerance >= 0.0 or not self.tolerance_reason:
            raise ValueError(f"{self.key}: a tolerance of 0 or more and its reason are needed")
        low, high = self.ends
        if not low <= high:
            raise ValueError(f"{self.key}: published range {low:g} to {high:g} is upside down")
        if self.bound and low != high:
            raise ValueError(f"{self.key}: {self.bound!r} needs one published value, not a range")

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest published value."""
        if isinstance(self.published, tuple):
            return self.published
        return self.published, self.published

    @property
    def source_key(self) -> str:
        """Name of the source; two checks from one source share it."""
        return self.source.key

    @property
    def is_published(self) -> bool:
        """Say whether the value was seen in print, by us or by who quotes it."""
        return self.grade in _PUBLISHED_GRADES

    @property
    def is_independent(self) -> bool:
        """Say whether the row could prove the model wrong: another source, or a measurement."""
        return self.independence in (OTHER_SOURCE, MEASUREMENT)

    @property
    def is_remembered(self) -> bool:
        """Say whether nobody can look the value up: from memory, or common practice."""
        return self.grade in _REMEMBERED_GRADES

    def run(self) -> "CheckResult":
        """Ask the model and compare."""
        try:
            value: float | None = float(self.model())
            trouble = ""
        except DrainsimError as error:
            value, trouble = None, f"the model gave no value: {error}"
        if value is None or not math.isfinite(value):
            return CheckResult(check=self, model=None, difference=None, passed=False, note=trouble)
        low, high = self.ends
        nearest = min(max(value, low), high)
        if (self.bound == "at least" and value > high) or (self.bound == "at most" and value < low):
            nearest = value
        difference = value - nearest
        allowed = self.tolerance
        if self.tolerance_kind == "relative":
            allowed *= abs(nearest)
        allowed += _ROUNDING * max(abs(nearest), abs(value))
        return CheckResult(
            check=self,
            model=value,
            difference=difference,
            passed=abs(difference) <= allowed,
            note=self.note,
        )


def within(
    published: Published,
    unit: str,
    tolerance: float = 0.0,
    reason: str = "",
    *,
    relative: bool = False,
    bound: Literal["", "at least", "at most"] = "",
) -> dict[str, Any]:
    """Return what a check says of its published value; the fields are `Check`'s own."""
    return {
        "published": published,
        "unit": unit,
        "tolerance": tolerance,
        "tolerance_reason": reason,
        "tolerance_kind": "relative" if relative else "absolute",
        "bound": bound,
    }


def found_in(
    source: Source, independence: Independence, clause: str = "", grade: str = READ
) -> dict[str, Any]:
    """Return what a check says of where its value comes from; the fields are `Check`'s own."""
    return {"source": source, "independence": independence, "clause": clause, "grade": grade}


def asking_at(ask: Callable[..., float], **shared: Any) -> Callable[..., Check]:
    """Return a short form for checks that ask the model one thing at several places.

    It takes key, conditions, published value, the place (`ask`'s argument, or a tuple of them)
    and what `found_in` takes; `shared` and whatever else is named are `Check`'s own fields.
    """

    def check(
        key: str, conditions: str, published: Published, at: Any = (), *found: Any, **own: Any
    ) -> Check:
        told = {"key": key, "conditions": conditions, "published": published}
        model = partial(ask, *(at if isinstance(at, tuple) else (at,)))
        where = found_in(*found) if found else {}
        return Check(**{**shared, "model": model, **told, **where, **own})

    return check


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """A check and what the model said; `difference` is 0 inside a published range."""

    check: Check
    model: float | None
    difference: float | None
    passed: bool
    note: str = ""

    @property
    def verdict(self) -> str:
        """Return "pass", "FAIL", "FAIL, known weakness" or "disagrees, decided against"."""
        if self.passed:
            return "pass"
        if self.check.expected_to_disagree:
            return "disagrees, decided against"
        return "FAIL, known weakness" if self.check.known_weakness else "FAIL"

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        check = self.check
        published = check.published
        return {
            "key": check.key,
            "subject": check.subject,
            "quantity": check.quantity,
            "conditions": check.conditions,
            "published": list(published) if isinstance(published, tuple) else published,
            "bound": check.bound,
            "model": self.model,
            "unit": check.unit,
            "difference": self.difference,
            "tolerance": check.tolerance,
            "tolerance_kind": check.tolerance_kind,
            "tolerance_reason": check.tolerance_reason,
            "passed": self.passed,
            "verdict": self.verdict,
            "source": check.source.cited(check.clause),
            "source_key": check.source_key,
            "grade": check.grade,
            "independence": check.independence.value,
            "decided_against_because": check.expected_to_disagree,
            "known_weakness": check.known_weakness,
            "note": self.note,
        }
