"""Evidence in words, the same in every window."""

from drainsim.evidence.check import Check, CheckResult
from drainsim.evidence.registry import Summary
from drainsim.language import Message, message


def number_words(value: float) -> str:
    """Return a number to four digits.

    Examples
    --------
    >>> number_words(7.2), number_words(469.0), number_words(0.0011408)
    ('7.2', '469', '0.001141')
    """
    return f"{value:.4g}"


def published_words(check: Check) -> str:
    """Return "7.2", "469 to 531" or "at least 60"."""
    low, high = check.ends
    if low != high:
        return f"{number_words(low)} to {number_words(high)}"
    return f"{check.bound} {number_words(low)}".lstrip()


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


def summary_words(counts: Summary) -> list[Message]:
    """Return the counts as sentences."""
    return [
        message(
            "{independent} checks can prove the model wrong: {measurements} are measurements, the "
            "others come from sources the model was not built on. {passed} of these {independent} "
            "pass.",
            independent=counts.independent,
            measurements=counts.measurements,
            passed=counts.independent_passed,
        ),
        message(
            "{remembered} more would, but are from memory: {passed} pass. {same} share the source "
            "of the constant they check and {definitions} are definitions or a source's own "
            "arithmetic: these show that a figure is carried through, no more.",
            remembered=counts.remembered,
            passed=counts.remembered_passed,
            same=counts.same_source,
            definitions=counts.definitions,
        ),
        message(
            "All {checks} checks: {passed} pass, {against} disagree with a source we decided "
            "against, {weaknesses} fail as known weaknesses, {failed} fail.",
            checks=counts.checks,
            passed=counts.passed,
            against=counts.decided_against,
            weaknesses=counts.known_weaknesses,
            failed=counts.failed,
        ),
        message(
            "{checks} of them from {sources} distinct published sources; the rest from memory, "
            "common practice or open libraries.",
            checks=counts.published_checks,
            sources=counts.published_sources,
        ),
    ]
