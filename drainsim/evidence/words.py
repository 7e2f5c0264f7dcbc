"""Evidence in words, the same in every window."""

from drainsim.evidence.check import Check, CheckResult, Published
from drainsim.evidence.registry import Summary


def number_words(value: float) -> str:
    """Return a number to four digits.

    Examples
    --------
    >>> number_words(7.2), number_words(469.0), number_words(0.0011408)
    ('7.2', '469', '0.001141')
    """
    return f"{value:.4g}"


def published_words(published: Published) -> str:
    """Return "7.2" or "469 to 531"."""
    if isinstance(published, tuple):
        return f"{number_words(published[0])} to {number_words(published[1])}"
    return number_words(published)


def with_unit(words: str, unit: str) -> str:
    """Return the words with their unit, if there is one."""
    return f"{words} {unit}" if unit else words


def tolerance_words(check: Check) -> str:
    """Return "±0.02 V", "±6 %" or "none beyond the range"."""
    if check.tolerance == 0.0:
        return "none beyond the published"
    if check.tolerance_kind == "relative":
        return f"±{100.0 * check.tolerance:.3g} %"
    return with_unit(f"±{number_words(check.tolerance)}", check.unit)


def difference_words(result: CheckResult) -> str:
    """Return the signed difference, "0" inside a range, "-" without a model value."""
    if result.difference is None:
        return "-"
    if abs(result.difference) < 5e-4 * max(abs(end) for end in (*result.check.ends, 1e-9)):
        return "0"
    return f"{result.difference:+.3g}"


def summary_words(counts: Summary) -> list[str]:
    """Return the counts as sentences."""
    return [
        f"{counts.checks} checks: {counts.passed} pass, {counts.decided_against} disagree with a "
        f"source we decided against, {counts.known_weaknesses} fail as known weaknesses, "
        f"{counts.failed} fail.",
        f"{counts.published_checks} of them from {counts.published_sources} distinct published "
        "sources; the rest from memory, common practice or open libraries.",
        f"{counts.independent} checks use values the model was not built on; "
        f"{counts.independent_passed} of these pass.",
    ]
