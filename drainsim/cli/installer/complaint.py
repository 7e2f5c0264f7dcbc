"""`drainsim complaint`: how much of a no-start was the unit?"""

import argparse
from dataclasses import replace
from pathlib import Path

from drainsim.answers.installer.complaint import PARTS, ComplaintAnswer, answer_complaint
from drainsim.cli.installer.acceptance import add_log_options, with_logs
from drainsim.cli.options import Commands, add_answer_options, add_command, printed_example, show
from drainsim.cli.text import items, wrapped
from drainsim.language import joined, message, say
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
    missing = say(
        "Missing charge after {days:g} days, of {full:.0f} Ah",
        days=answer.parked_days,
        full=answer.full_ah,
    )
    lines = [*wrapped(answer.verdict, "", ""), "", missing]
    for share in answer.shares:
        if share.part == "unexplained" and not answer.candidates:
            continue
        name = say(PARTS[share.part])
        told = say(
            "{ah:6.1f} Ah  {percent:3.0f} %  (8 in 10 cases: {low:.1f} to {high:.1f} Ah)",
            ah=share.ah,
            percent=100 * share.share,
            low=share.low_ah,
            high=share.high_ah,
        )
        lines.append(f"  {name:<21} {told}")
    total = say(
        "{ah:6.1f} Ah  {percent:3.0f} %",
        ah=answer.total_missing_ah,
        percent=100 * answer.missing_share,
    )
    lines.append(f"  {say('total'):<21} {total}")
    if answer.candidates:
        lines += ["", say("What may be behind it, and the test that tells")]
        for one in answer.candidates:
            lines += wrapped(joined(": ", [one.name, one.text]), "  - ", "    ")
            lines += wrapped(message("test: {test}", test=one.test), "    ", "    ")
    then = say(
        "Probability of a no-start then, by the record alone: the reading contradicts it"
        if answer.candidates
        else "Probability of a no-start then"
    )
    odds = [
        (say("with the unit"), answer.probability_with_unit),
        (say("without the unit"), answer.probability_without_unit),
        (say("having failed: anyway"), answer.probability_without_given_failed),
    ]
    lines += ["", then]
    lines += [f"  {name:<21} {100 * chance:5.0f} %" for name, chance in odds if chance is not None]
    lines += ["", say("Warnings"), *items(answer.warnings)]
    return "\n".join(lines)
