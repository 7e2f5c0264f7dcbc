"""`drainsim acceptance`: did the job come out as budgeted?"""

import argparse
from pathlib import Path

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance, with_log
from drainsim.answers.installer.acceptance_checks import PASS
from drainsim.answers.words import days_words
from drainsim.cli.options import (
    ANSWERED,
    SAYS_NO,
    Commands,
    add_answer_options,
    add_command,
    chosen_language,
    printed_example,
    show,
    write_text,
)
from drainsim.cli.text import items, row, wrapped
from drainsim.files.current_log.reader import read_current_log
from drainsim.language import joined, message, say
from drainsim.sheets.job_sheet import job_sheet
from drainsim.vehicle.documents.job_record import JobRecord, read_job_record, read_retest
from drainsim.vehicle.documents.job_tables import JOB

EXAMPLE = "job_record.json"


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "acceptance",
        "did the installation come out as budgeted?",
        example="acceptance job.json --sheet job.html --save done.json",
    )
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE", help="job record (JSON)")
    parser.add_argument("--example", action="store_true", help="print an invented job record")
    add_log_options(parser)
    parser.add_argument(
        "--retest", type=Path, metavar="R.json", help="add a retest: what was read again, and done"
    )
    add_answer_options(parser, pages=True)
    sheet = parser.add_argument_group("the job's sheet")
    sheet.add_argument("--sheet", type=Path, metavar="OUT.html", help="write a printable sheet")
    parser.add_argument(
        "--save", type=Path, metavar="OUT.json", help="write the record with its predicted days"
    )
    parser.set_defaults(run=run)


def add_log_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that give a current log as a reading of the record."""
    for name, words in (("before", "without the unit"), ("after", "with the unit")):
        parser.add_argument(
            f"--{name}", type=Path, metavar="LOG.csv", help=f"current log {words}, from key off"
        )


def with_logs(record: JobRecord, options: argparse.Namespace) -> JobRecord:
    """Return the record with the logs of the command line as its latest readings."""
    for name in ("before", "after"):
        path = getattr(options, name)
        if path is not None:
            record = with_log(record, name, read_current_log(path))
    return record


def run(options: argparse.Namespace) -> int:
    """Answer and print; only a pass is a yes."""
    if printed_example(options, EXAMPLE, command="acceptance", file="a job record"):
        return ANSWERED
    record = read_job_record(options.file)
    if options.retest:
        record = record.with_retest(read_retest(options.retest), where=str(options.retest))
    answer = acceptance(with_logs(record, options))
    if options.sheet:
        write_text(options.sheet, job_sheet(answer, chosen_language(options)))
    if options.save:
        write_text(options.save, answer.record_with_prediction().to_json())
    show(options, answer.as_dict, lambda: in_words(answer))
    return ANSWERED if answer.verdict == PASS else SAYS_NO


def in_words(answer: AcceptanceAnswer) -> str:
    """Return the answer as text for a terminal."""
    label = answer.record.get(JOB.label)
    lines = [f"{_said(answer.verdict)}: {label or say('job without a label')}", ""]
    for check in answer.checks:
        lines += _of_verdict(check.verdict, check.name, check.text)
        if check.would_tell:
            tell = message("what would tell: {what}", what=check.would_tell)
            lines += wrapped(tell, " " * 15, " " * 17)
    if len(answer.tests) > 1:
        lines += ["", say("Tests of this job")]
        for test in answer.tests:
            lines += _of_verdict(test.verdict, test.name, test.words)
    if answer.to_do:
        lines += ["", say("Check and fix, in this order")]
        for number, step in enumerate(answer.to_do, start=1):
            lines += wrapped(joined(": ", [step.check, step.text]), f"  {number:>2}. ", " " * 6)
    explained = message("The difference: {why}.", why=answer.draw.explained)
    days, horizon = answer.predicted, answer.predicted.horizon_days
    lines += ["", *wrapped(explained, "", "")]
    lines += ["", say("Days until no-start ({basis})", basis=days.basis)]
    rows = [
        (message("without the unit"), days.without_unit),
        (message("with it as budgeted"), days.as_budgeted),
    ]
    if answer.draw.measured_mean_a is not None:
        rows.append((message("with it as measured"), days.as_measured))
    rows.append((message("risk within 5 %, {of}", of=days.at_risk_of), days.at_risk))
    lines += [row(name, days_words(value, horizon), 29) for name, value in rows]
    if answer.warnings:
        lines += ["", say("Warnings"), *items(answer.warnings)]
    return "\n".join(lines)


def _of_verdict(verdict: str, name: str, text: str) -> list[str]:
    """Return the lines of a check or a test, its verdict before it."""
    return wrapped(joined(": ", [name, text]), f"  {_said(verdict):<12} ", " " * 15)


def _said(verdict: str) -> str:
    return say(message(verdict)).upper()
