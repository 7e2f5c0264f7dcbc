"""`drainsim acceptance`: did the job come out as budgeted?"""

import argparse
from pathlib import Path

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance
from drainsim.answers.words import days_words
from drainsim.cli.options import Commands, print_json, printed_example, write_text
from drainsim.cli.text import items, wrapped
from drainsim.sheets.job_sheet import job_sheet
from drainsim.vehicle.documents.job_record import read_job_record

EXAMPLE = "job_record.json"


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser("acceptance", help="did the installation come out as budgeted?")
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE", help="job record (JSON)")
    parser.add_argument("--example", action="store_true", help="print an invented job record")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    parser.add_argument("--sheet", type=Path, metavar="OUT.html", help="write a printable sheet")
    parser.add_argument(
        "--save", type=Path, metavar="OUT.json", help="write the record with its predicted days"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    if printed_example(options, EXAMPLE, command="acceptance", file="a job record"):
        return
    answer = acceptance(read_job_record(options.file))
    if options.sheet:
        write_text(options.sheet, job_sheet(answer))
    if options.save:
        write_text(options.save, answer.record_with_prediction().to_json())
    if options.json:
        print_json(answer.as_dict())
    else:
        print(in_words(answer))


def in_words(answer: AcceptanceAnswer) -> str:
    """Return the answer as text for a terminal."""
    label = answer.record.get("job", "label")
    lines = [f"{answer.verdict.upper()}: {label or 'job without a label'}", ""]
    for check in answer.checks:
        text = f"{check.name}: {check.text}"
        lines += wrapped(text, f"  {check.verdict.upper():<13}", " " * 15)
        if check.would_tell:
            lines += wrapped(f"what would tell: {check.would_tell}", " " * 15, " " * 17)
    if answer.to_do:
        lines += ["", "Check and fix, in this order"]
        for number, step in enumerate(answer.to_do, start=1):
            lines += wrapped(f"{step.check}: {step.text}", f"  {number:>2}. ", " " * 6)
    lines += ["", *wrapped(f"The difference: {answer.draw.explained}.", "", "")]
    days, horizon = answer.predicted, answer.predicted.horizon_days
    lines += ["", f"Days until no-start ({days.basis})"]
    rows = [("without the unit", days.without_unit), ("with it as budgeted", days.as_budgeted)]
    if answer.draw.measured_mean_a is not None:
        rows.append(("with it as measured", days.as_measured))
    rows.append((f"risk within 5 %, {days.at_risk_of}", days.at_risk))
    lines += [f"  {name:<30}{days_words(value, horizon)}" for name, value in rows]
    if answer.warnings:
        lines += ["", "Mind", *items(answer.warnings)]
    return "\n".join(lines)
