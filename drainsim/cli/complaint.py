"""`drainsim complaint`: how much of a no-start was the unit?"""

import argparse
from dataclasses import replace
from pathlib import Path

from drainsim.answers.installer.complaint import ComplaintAnswer, answer_complaint
from drainsim.cli.acceptance import add_log_options, with_logs
from drainsim.cli.options import Commands, add_answer_options, add_command, printed_example, show
from drainsim.cli.text import items, wrapped
from drainsim.vehicle.documents.complaint import read_complaint

EXAMPLE = "complaint.json"


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "complaint",
        "a vehicle did not start: was it the unit?",
        example="complaint complaint.json",
    )
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE", help="complaint (JSON)")
    parser.add_argument("--example", action="store_true", help="print an invented complaint")
    add_log_options(parser)
    add_answer_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    if printed_example(options, EXAMPLE, command="complaint", file="a complaint file"):
        return
    complaint = read_complaint(options.file)
    record = with_logs(complaint.record, options)
    answer = answer_complaint(replace(complaint, record=record))
    show(options, answer.as_dict, lambda: in_words(answer))


def in_words(answer: ComplaintAnswer) -> str:
    """Return the answer as text for a terminal."""
    lines = [*wrapped(answer.verdict, "", ""), ""]
    lines.append(f"Missing charge after {answer.parked_days:g} days, of {answer.full_ah:.0f} Ah")
    for share in answer.shares:
        if share.part == "unexplained" and not answer.candidates:
            continue
        lines.append(
            f"  {share.part.replace('_', ' '):<22}{share.ah:6.1f} Ah  {100 * share.share:3.0f} %  "
            f"(8 in 10 cases: {share.low_ah:.1f} to {share.high_ah:.1f} Ah)"
        )
    lines.append(f"  {'total':<22}{answer.total_missing_ah:6.1f} Ah  100 %")
    if answer.candidates:
        lines += ["", "What may be behind it, and the test that tells"]
        for one in answer.candidates:
            lines += wrapped(f"{one.name}: {one.text}", "  - ", "    ")
            lines += wrapped(f"test: {one.test}", "    ", "    ")
    then = "then, by the record alone: the reading contradicts it" if answer.candidates else "then"
    lines += ["", f"Probability of a no-start {then}"]
    lines.append(f"  with the unit         {100 * answer.probability_with_unit:5.0f} %")
    lines.append(f"  without the unit      {100 * answer.probability_without_unit:5.0f} %")
    if answer.probability_without_given_failed is not None:
        lines.append(
            f"  having failed: anyway {100 * answer.probability_without_given_failed:5.0f} %"
        )
    lines += ["", "Warnings", *items(answer.warnings)]
    return "\n".join(lines)
