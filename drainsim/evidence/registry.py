"""All checks in one list, and what they came to."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from drainsim.errors import DrainsimError
from drainsim.evidence.check import DEFINITION, MEASUREMENT, SAME_SOURCE, Check, CheckResult
from drainsim.evidence.checks import (
    capacity,
    charging,
    climate,
    cranking,
    driving,
    engine,
    freezing,
    label,
    open_circuit,
    readings,
    satellite,
    self_discharge,
    standing,
    unit_energy,
    vehicle,
    wiring,
)
from drainsim.files.reading import nearest

_MODULES = (
    label,
    open_circuit,
    cranking,
    engine,
    capacity,
    self_discharge,
    freezing,
    unit_energy,
    satellite,
    vehicle,
    standing,
    climate,
    wiring,
    charging,
    driving,
    readings,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """How the checks came out.

    `independent` counts other sources and measurements that can be looked up; values from memory
    and common practice, however independent, are counted apart as `remembered`.
    """

    checks: int
    passed: int
    decided_against: int
    known_weaknesses: int
    failed: int
    independent: int
    independent_passed: int
    measurements: int
    remembered: int
    remembered_passed: int
    same_source: int
    definitions: int
    published_checks: int
    published_sources: int


def all_checks() -> tuple[Check, ...]:
    """Return every check, by subject."""
    return tuple(check for module in _MODULES for check in module.checks())


def subjects() -> tuple[str, ...]:
    """Return the subjects in their order."""
    return tuple(dict.fromkeys(check.subject for check in all_checks()))


def run_checks(subject: str | None = None) -> tuple[CheckResult, ...]:
    """Return the results of all checks, or of one subject's.

    Raises
    ------
    DrainsimError
        If there is no such subject.
    """
    checks: Iterable[Check] = all_checks()
    if subject is not None:
        known = subjects()
        if subject not in known:
            hint = nearest(subject, known).replace("valid keys", "available")
            raise DrainsimError(f"subject {subject!r}: no checks of that name; {hint}")
        checks = [check for check in checks if check.subject == subject]
    return tuple(check.run() for check in checks)


def published_source_keys(checks: Iterable[Check]) -> tuple[str, ...]:
    """Return the distinct sources that were seen in print."""
    return tuple(dict.fromkeys(check.source_key for check in checks if check.is_published))


def summary(results: Sequence[CheckResult]) -> Summary:
    """Return the counts."""
    free = [result for result in results if result.check.is_independent]
    independent = [result for result in free if not result.check.is_remembered]
    remembered = [result for result in free if result.check.is_remembered]
    kinds = Counter(result.check.independence for result in results)
    published = [result.check for result in results if result.check.is_published]
    missed = [result for result in results if not result.passed]
    return Summary(
        checks=len(results),
        passed=len(results) - len(missed),
        decided_against=sum(1 for r in missed if r.check.expected_to_disagree),
        known_weaknesses=sum(1 for r in missed if r.check.known_weakness),
        failed=sum(1 for r in missed if r.verdict == "FAIL"),
        independent=len(independent),
        independent_passed=sum(result.passed for result in independent),
        measurements=kinds[MEASUREMENT],
        remembered=len(remembered),
        remembered_passed=sum(result.passed for result in remembered),
        same_source=kinds[SAME_SOURCE],
        definitions=kinds[DEFINITION],
        published_checks=len(published),
        published_sources=len(published_source_keys(published)),
    )


def evidence_document(results: Sequence[CheckResult]) -> dict[str, Any]:
    """Return checks and counts as JSON-ready data."""
    return {"summary": asdict(summary(results)), "checks": [result.as_dict() for result in results]}
