"""`drainsim evidence`: every published value the model was held against."""

import argparse
from collections.abc import Sequence
from typing import Any

from drainsim.cli.options import Commands, add_answer_options, add_command, show
from drainsim.cli.text import items, wrapped
from drainsim.evidence import stored
from drainsim.evidence.check import CheckResult
from drainsim.evidence.checks.limits import MUST_NOT_BE_USED
from drainsim.evidence.holding import change_words, holding, holding_words
from drainsim.evidence.registry import evidence_document, run_checks, summary
from drainsim.evidence.words import (
    difference_words,
    number_words,
    published_words,
    summary_words,
    tolerance_words,
    with_unit,
)

_COLUMNS = f"{'result':<10}{'published':>20}{'model':>12}{'difference':>12}  {'tolerance':<26}unit"


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "evidence",
        "published values the model was held against",
        example="evidence --subject cranking",
    )
    add_answer_options(parser)
    parser.add_argument(
        "--subject", metavar="NAME", help="only one subject, for example cranking or freezing"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the checks and print them."""
    results = run_checks(options.subject)

    def document() -> dict[str, Any]:
        return {
            **evidence_document(results),
            "twin_experiment": stored.twin(),
            "real_weather": stored.weather(),
            "sensitivity": stored.sensitivity(),
            "constants": holding().as_dict(),
            "must_not_be_used": list(MUST_NOT_BE_USED),
        }

    show(options, document, lambda: in_words(results, whole=options.subject is None))


def in_words(results: Sequence[CheckResult], *, whole: bool = True) -> str:
    """Return the checks as text for a terminal; `whole` adds what is not about one subject."""
    lines: list[str] = []
    subject = ""
    for result in results:
        if result.check.subject != subject:
            subject = result.check.subject
            lines += ["", subject.upper(), _COLUMNS]
        lines += _row(result)
    lines += ["", "SUMMARY", *items(summary_words(summary(results)))]
    if whole:
        for heading, sentences in (
            ("TWIN EXPERIMENT", stored.twin_words()),
            ("REAL WEATHER AGAINST MONTHLY NORMALS", stored.weather_words()),
            ("WHAT DECIDES THE ANSWER", stored.sensitivity_words()),
        ):
            lines += ["", heading, *items(sentences)]
        found = holding()
        lines += ["", "NO OUTSIDE VALUE HOLDS THESE CONSTANTS", *items(holding_words(found))]
        lines += items([change_words(change) for change in found.unheld])
    lines += ["", "WHERE IT MUST NOT BE USED", *items(MUST_NOT_BE_USED)]
    return "\n".join(lines).lstrip("\n")


def _row(result: CheckResult) -> list[str]:
    check = result.check
    word = "pass" if result.passed else "DISAGREES" if check.expected_to_disagree else "FAIL"
    model = "-" if result.model is None else number_words(result.model)
    lines = [
        f"{word:<10}{published_words(check):>20}{model:>12}"
        f"{difference_words(result):>12}  {tolerance_words(check):<26}{check.unit or '-'}"
    ]
    details = [
        f"{check.quantity}: {check.conditions}",
        f"source: {check.source.cited(check.clause)} ({check.grade}; {check.independence})",
        f"tolerance: {check.tolerance_reason}",
    ]
    if not result.passed:
        why = check.expected_to_disagree or check.known_weakness
        kind = "decided against" if check.expected_to_disagree else "known weakness"
        details += [f"{kind}: {why}"] if why else []
        value = with_unit(model, check.unit)
        details += [f"note: {result.note}"] if result.note else [f"the model says {value}"]
    elif result.note:
        details.append(f"note: {result.note}")
    for detail in details:
        lines += wrapped(detail, "    ", "      ")
    return lines
