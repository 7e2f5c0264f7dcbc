"""The printable sheet of a job: readings, connection, checks, cautions, predicted days."""

from dataclasses import dataclass
from typing import Any, Final

from drainsim.answers.installer.acceptance import AcceptanceAnswer
from drainsim.answers.installer.acceptance_checks import CANNOT_TELL, FAIL, PASS
from drainsim.answers.installer.circuits import CAUTIONS
from drainsim.answers.installer.current_log_words import ma, plus_minus
from drainsim.answers.words import days_words
from drainsim.files.circuits import Circuit
from drainsim.sheets.html_page import page
from drainsim.vehicle.documents.job_tables import CAUTIONS as ACKNOWLEDGED
from drainsim.vehicle.documents.job_tables import CONNECTION, JOB, MOUNTING, READINGS
from drainsim.vehicle.parameter import Keys

# Never by colour alone: sign and word too.
_SIGNS: Final = {PASS: "✓ pass", FAIL: "✗ fail", CANNOT_TELL: "? cannot tell"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line of the sheet; a check has a sign and, where it cannot tell, what would."""

    name: str
    text: str
    sign: str = ""
    would_tell: str = ""


def job_sheet(answer: AcceptanceAnswer) -> str:
    """Return the sheet as one HTML page that needs nothing from outside."""
    record = answer.record
    return page(
        "job.html",
        title=str(record.get(JOB.label) or "Installation record"),
        date=str(record.get(JOB.date) or "date: ____________"),
        system_v=record.system_v,
        sign=_SIGNS[answer.verdict],
        sections=[
            ("Checks", _checks(answer)),
            ("Tests of this job", _tests(answer)),
            ("Check and fix, in this order", _to_do(answer)),
            ("Readings", _rows(_readings(answer))),
            ("Connection", _rows(_connection(answer))),
            ("Days until it will not start", _rows(_days(answer))),
            ("Mounting and routing", _rows(_questions(answer, MOUNTING))),
            ("Cautions acknowledged", _rows(_questions(answer, ACKNOWLEDGED))),
        ],
        cautions=CAUTIONS,
    )


def _rows(pairs: list[tuple[str, str]]) -> list[Row]:
    return [Row(name=name, text=text) for name, text in pairs]


def _checks(answer: AcceptanceAnswer) -> list[Row]:
    return [
        Row(
            name=check.name,
            text=check.text,
            sign=_SIGNS[check.verdict],
            would_tell=check.would_tell or "",
        )
        for check in answer.checks
    ]


def _tests(answer: AcceptanceAnswer) -> list[Row]:
    """Return first test and retests side by side; a single test is the sheet itself."""
    if len(answer.tests) < 2:
        return []
    return [
        Row(name=test.name, text=test.words, sign=_SIGNS[test.verdict]) for test in answer.tests
    ]


def _to_do(answer: AcceptanceAnswer) -> list[Row]:
    return [
        Row(name=f"{number}. {step.check}", text=step.text)
        for number, step in enumerate(answer.to_do, start=1)
    ]


def _readings(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    record, draw = answer.record, answer.draw
    rows = []
    for name, label in (("before", "without the unit"), ("after", "with the unit")):
        keys = READINGS[name]
        settled = record.number(keys.settled_a)
        text = ma(settled) if settled is not None else ""
        if record.get(keys.log):
            text = f"log {record.get(keys.log)!s}"
        minutes = record.number(keys.minutes_after_key_off)
        if minutes is not None:
            text += f", {minutes:g} min after key off"
        if text:
            rows.append((label, text))
    if draw.difference_a is not None:
        rows.append(("difference", plus_minus(draw.difference_a, draw.uncertainty_a)))
    rows.append(
        ("budget", f"{ma(draw.sleep_budget_a)} asleep, {ma(draw.mean_budget_a)} on average")
    )
    rows.append(("explained", draw.explained))
    return rows


def _connection(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    record = answer.record
    rows: list[tuple[str, str]] = []
    for label, circuit in (("constant power", record.power), ("ignition sense", record.sense)):
        if circuit is not None:
            rows.append((label, _circuit(circuit)))
    for asked, label in (
        (CONNECTION.fuse_a, "own fuse"),
        (CONNECTION.wire_mm2, "supply wire"),
        (CONNECTION.length_m, "length, one way"),
    ):
        value = record.number(asked)
        if value is not None:
            rows.append((label, f"{value:g} {asked.unit}"))
    return rows


def _circuit(circuit: Circuit) -> str:
    parts = [circuit.name, circuit.kind.replace("_", " ")]
    if circuit.slot:
        parts.append(f"slot {circuit.slot}")
    if circuit.fuse_a is not None:
        parts.append(f"fuse {circuit.fuse_a:g} A")
    for key, label in (("off_v", "key off"), ("after_sleep_v", "asleep"), ("on_v", "key on")):
        value: Any = getattr(circuit, key)
        if value is not None:
            parts.append(f"{label} {value:g} V")
    if circuit.cranking_v is not None:
        parts.append(f"cranking {circuit.cranking_v:g} V")
    return ", ".join(parts)


def _days(answer: AcceptanceAnswer) -> list[tuple[str, str]]:
    days = answer.predicted
    rows: list[tuple[str, str]] = [
        ("without the unit", days_words(days.without_unit, days.horizon_days)),
        ("with it as budgeted", days_words(days.as_budgeted, days.horizon_days)),
    ]
    if answer.draw.measured_mean_a is not None:
        rows.append(("with it as measured", days_words(days.as_measured, days.horizon_days)))
    rows.append(
        (f"risk within 5 %, {days.at_risk_of}", days_words(days.at_risk, days.horizon_days))
    )
    rows.append(("basis", days.basis))
    return rows


def _questions(answer: AcceptanceAnswer, questions: type[Keys]) -> list[tuple[str, str]]:
    return [
        (str(answer.record.get(each) or "not checked"), each.meaning)
        for each in questions.TABLE.fields
    ]
