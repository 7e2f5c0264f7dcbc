"""The printable sheet of a job: readings, connection, checks, cautions, predicted days."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, TypeAlias

from drainsim.answers.installer.acceptance import AcceptanceAnswer
from drainsim.answers.installer.acceptance_checks import CANNOT_TELL, FAIL, PASS
from drainsim.answers.installer.circuit.circuits import CAUTIONS
from drainsim.answers.installer.current_log_words import ma, plus_minus
from drainsim.answers.words import days_words
from drainsim.files.circuits import Circuit
from drainsim.language import Language, Message, joined, language, marked, message
from drainsim.sheets.html_page import page
from drainsim.vehicle.documents.job_tables import CAUTIONS as ACKNOWLEDGED
from drainsim.vehicle.documents.job_tables import (
    CONNECTION,
    JOB,
    MOUNTING,
    NO,
    READINGS,
    YES,
)
from drainsim.vehicle.keys.parameter import Keys

# Never by colour alone: sign and word too.
_SIGNS: Final = {
    PASS: marked("✓ pass"),
    FAIL: marked("✗ fail"),
    CANNOT_TELL: marked("? cannot tell"),
}
_ANSWERED: Final = {YES: marked("yes"), NO: marked("no")}
_OPEN: Final = marked("not checked")
Line: TypeAlias = tuple[str, str]  # a name and its text


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line of the sheet; a check has a sign and, where it cannot tell, what would."""

    name: str
    text: str
    sign: str = ""
    would_tell: str = ""


def job_sheet(answer: AcceptanceAnswer, say: Language | None = None) -> str:
    """Return the sheet as one HTML page that needs nothing from outside.

    Parameters
    ----------
    answer : AcceptanceAnswer
    say : Language, optional
        English if left out.
    """
    say, record = say or language("en"), answer.record
    return page(
        "job.html",
        title=str(record.get(JOB.label) or say("Installation record")),
        language=say.code,
        system=say(
            "{date}, {volts} V system",
            date=str(record.get(JOB.date) or say("date: ____________")),
            volts=record.system_v,
        ),
        sign=say(_SIGNS[answer.verdict]),
        sections=[
            (say("Checks"), _checks(answer, say)),
            (say("Tests of this job"), _tests(answer, say)),
            (say("Check and fix, in this order"), _to_do(answer, say)),
            (say("Readings"), _rows(_readings(answer), say)),
            (say("Connection"), _rows(_connection(answer), say)),
            (say("Days until it will not start"), _rows(_days(answer), say)),
            (say("Mounting and routing"), _rows(_questions(answer, MOUNTING), say)),
            (say("Cautions acknowledged"), _rows(_questions(answer, ACKNOWLEDGED), say)),
        ],
        cautions_title=say("Cautions"),
        cautions=[say(caution) for caution in CAUTIONS],
        signed=say("installer"),
        footer=say(
            "A model's estimate with stated assumptions, not a promise. It gives way to the "
            "vehicle, battery and unit makers' instructions, to local codes and to licensed "
            "practice."
        ),
    )


def _rows(lines: Iterable[Line], say: Language) -> list[Row]:
    return [Row(name=say.said(name), text=say.said(text)) for name, text in lines]


def _checks(answer: AcceptanceAnswer, say: Language) -> list[Row]:
    return [
        Row(
            name=say(check.name),
            text=say(check.text),
            sign=say(_SIGNS[check.verdict]),
            would_tell=say("what would tell: {what}", what=check.would_tell)
            if check.would_tell
            else "",
        )
        for check in answer.checks
    ]


def _tests(answer: AcceptanceAnswer, say: Language) -> list[Row]:
    """Return first test and retests side by side; a single test is the sheet itself."""
    if len(answer.tests) < 2:
        return []
    return [
        Row(name=say(test.name), text=say(test.words), sign=say(_SIGNS[test.verdict]))
        for test in answer.tests
    ]


def _to_do(answer: AcceptanceAnswer, say: Language) -> list[Row]:
    return [
        Row(name=f"{number}. {say(step.check)}", text=say(step.text))
        for number, step in enumerate(answer.to_do, start=1)
    ]


def _readings(answer: AcceptanceAnswer) -> list[Line]:
    record, draw = answer.record, answer.draw
    rows: list[Line] = []
    for name, label in (
        ("before", message("without the unit")),
        ("after", message("with the unit")),
    ):
        keys = READINGS[name]
        settled, log = record.number(keys.settled_a), record.get(keys.log)
        minutes = record.number(keys.minutes_after_key_off)
        parts = [message("log {file}", file=str(log))] if log else []
        if settled is not None and not log:
            parts.append(ma(settled))
        if minutes is not None:
            parts.append(message("{minutes:g} min after key off", minutes=minutes))
        if parts:
            rows.append((label, joined(", ", parts)))
    if draw.difference_a is not None:
        drawn = plus_minus(draw.difference_a, draw.uncertainty_a)
        rows.append((message("difference"), drawn))
    budget = message(
        "{sleep} asleep, {mean} on average",
        sleep=ma(draw.sleep_budget_a),
        mean=ma(draw.mean_budget_a),
    )
    return [*rows, (message("budget"), budget), (message("explained"), draw.explained)]


def _connection(answer: AcceptanceAnswer) -> list[Line]:
    record = answer.record
    rows: list[Line] = []
    for label, circuit in (
        (message("constant power"), record.power),
        (message("ignition sense"), record.sense),
    ):
        if circuit is not None:
            rows.append((label, _circuit(circuit)))
    for asked, label in (
        (CONNECTION.fuse_a, message("own fuse")),
        (CONNECTION.wire_mm2, message("supply wire")),
        (CONNECTION.length_m, message("length, one way")),
    ):
        value = record.number(asked)
        if value is not None:
            rows.append((label, message("{value:g} {unit}", value=value, unit=asked.unit)))
    return rows


def _circuit(circuit: Circuit) -> Message:
    parts = [circuit.name, message(circuit.kind.replace("_", " "))]
    if circuit.slot:
        parts.append(message("slot {slot}", slot=circuit.slot))
    for template, value in (
        (marked("fuse {value:g} A"), circuit.fuse_a),
        (marked("key off {value:g} V"), circuit.off_v),
        (marked("asleep {value:g} V"), circuit.after_sleep_v),
        (marked("key on {value:g} V"), circuit.on_v),
        (marked("cranking {value:g} V"), circuit.cranking_v),
    ):
        if value is not None:
            parts.append(message(template, value=value))
    return joined(", ", parts)


def _days(answer: AcceptanceAnswer) -> list[Line]:
    days = answer.predicted
    rows: list[Line] = [
        (message("without the unit"), days_words(days.without_unit, days.horizon_days)),
        (message("with it as budgeted"), days_words(days.as_budgeted, days.horizon_days)),
    ]
    if answer.draw.measured_mean_a is not None:
        measured = days_words(days.as_measured, days.horizon_days)
        rows.append((message("with it as measured"), measured))
    return [
        *rows,
        (
            message("risk within 5 %, {of}", of=days.at_risk_of),
            days_words(days.at_risk, days.horizon_days),
        ),
        (message("basis"), days.basis),
    ]


def _questions(answer: AcceptanceAnswer, questions: type[Keys]) -> list[Line]:
    said = ((answer.record.get(each), each) for each in questions.TABLE.fields)
    return [
        (message(_ANSWERED.get(str(answered), _OPEN)), message(each.meaning))
        for answered, each in said
    ]
