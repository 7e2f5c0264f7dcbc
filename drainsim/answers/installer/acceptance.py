"""Did the job come out as budgeted, and will the vehicle still start?

Acceptance has three answers. The difference of two readings, its uncertainty and the budget's
limit decide; "cannot tell" always says what would tell.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final

from drainsim import __version__
from drainsim.answers.installer.acceptance_checks import (
    CANNOT_TELL,
    FAIL,
    PASS,
    JobCheck,
    caution_check,
    circuit_checks,
    connection_check,
    constant_check,
    first_start_check,
    mounting_check,
    sense_check,
)
from drainsim.answers.installer.acceptance_days import (
    PredictedDays,
    days_needed,
    predicted_days,
    scenario_of,
)
from drainsim.answers.installer.circuit.circuit_numbers import refuse_too_high
from drainsim.answers.installer.current_log import CurrentLogAnswer, current_log
from drainsim.answers.installer.current_log_words import plus_minus
from drainsim.answers.installer.draw_check import (
    SAID,
    DrawCheck,
    MeasuredDraw,
    draw_check,
    reading_from_table,
)
from drainsim.errors import RecordError
from drainsim.files.circuits import VOLTAGES
from drainsim.files.current_log.reader import CurrentLog, read_current_log
from drainsim.files.reading import file_within
from drainsim.language import Message, joined, message
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.job_record import JobRecord
from drainsim.vehicle.documents.job_tables import BUDGET, CONSTANT, JOB, METER, READINGS, SENSE

_SYMBOL: Final = {PASS: 0, CANNOT_TELL: 1, FAIL: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to check or fix, and the check that asks for it."""

    check: str
    text: str

    def as_dict(self) -> dict[str, Any]:
        """Return the step as JSON-ready data."""
        return {"check": self.check, "text": self.text}


@dataclass(frozen=True, slots=True, kw_only=True)
class TestResult:
    """One test of a job, for the line it has beside the others."""

    __test__ = False  # for pytest, which takes the name for one of its own

    name: str  # first test, retest 1 ...
    date: str
    done: str
    verdict: str
    difference_a: float | None
    uncertainty_a: float | None
    not_passed: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the test as JSON-ready data."""
        return {**asdict(self), "not_passed": list(self.not_passed)}

    @property
    def words(self) -> Message:
        """Return what came out, and what was done before it."""
        parts = [self.date]
        if self.difference_a is not None:
            drawn = plus_minus(self.difference_a, self.uncertainty_a)
            parts.append(message("{current} more", current=drawn))
        if self.not_passed:
            parts.append(message("open: {checks}", checks=joined(", ", self.not_passed)))
        if self.done:
            parts.append(message("done before: {what}", what=self.done))
        return joined("; ", filter(None, parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptanceAnswer:
    """All checks of a job, the draw first, as they stand after the latest test."""

    record: JobRecord  # as it stands after the latest retest
    whole: JobRecord  # as it is kept, first test and retests
    tests: tuple[TestResult, ...]  # the first and every retest, the latest last
    verdict: str  # pass, fail or cannot tell
    draw: DrawCheck
    checks: tuple[JobCheck, ...]
    to_do: tuple[Step, ...]  # what to check and fix, in this order: what can hurt comes first
    predicted: PredictedDays
    warnings: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "verdict": self.verdict,
            "draw": self.draw.as_dict(),
            "checks": [check.as_dict() for check in self.checks],
            "to_do": [step.as_dict() for step in self.to_do],
            "tests": [test.as_dict() for test in self.tests],
            "predicted": self.predicted.as_dict(),
            "warnings": list(self.warnings),
        }

    def record_with_prediction(self) -> JobRecord:
        """Return the record with the predicted days written in, to be saved and reopened."""
        return replace(self.whole, predicted={**self.predicted.as_dict(), "verdict": self.verdict})


def acceptance(
    record: JobRecord, *, logs: Mapping[str, CurrentLog] | None = None
) -> AcceptanceAnswer:
    """Return whether a job passes, fails, or cannot be told yet, and what would tell.

    Parameters
    ----------
    record : JobRecord
    logs : mapping, optional
        Logs already read, by "before" and "after"; otherwise the files the record names. They
        belong to the latest test.

    Notes
    -----
    The verdict is that of the latest retest; the first test and the retests between are judged
    alike and stay beside it.
    """
    tests = record.tests()
    judged = [_judged(one, {}) for one in tests[:-1]]
    judged.append(_judged(tests[-1], logs or {}))
    said = [("", ""), *((retest.date, retest.done) for retest in record.retests)]
    said[0] = (str(record.get(JOB.date) or ""), "")
    results = tuple(
        TestResult(
            name=message("retest {number}", number=number) if number else message("first test"),
            date=date,
            done=done,
            verdict=one.verdict,
            difference_a=one.draw.difference_a,
            uncertainty_a=one.draw.uncertainty_a,
            not_passed=tuple(check.name for check in one.checks if check.verdict != PASS),
        )
        for number, (one, (date, done)) in enumerate(zip(judged, said, strict=True))
    )
    return replace(judged[-1], whole=record, tests=results)


def _judged(record: JobRecord, logs: Mapping[str, CurrentLog]) -> AcceptanceAnswer:
    """Return the answer to one test of a job."""
    _refuse_other_voltages(record)
    case = resolve(scenario_of(record))
    before = reading_of(record, "before", logs)
    after = reading_of(record, "after", logs)
    draw = draw_check(record, case, before=before, after=after)
    predicted = predicted_days(record, case, draw=draw)
    wiring = (*circuit_checks(record), connection_check(record))
    supply = (constant_check(record), sense_check(record))
    start, mounting = first_start_check(record), mounting_check(record)
    days = days_needed(record, predicted, draw)
    checks = (draw.check, *wiring, *supply, start, mounting, caution_check(record), *days)
    # What can hurt first, then what may be behind a draw too high, then the rest.
    by_danger = (*wiring, mounting, *supply, draw.check, start, *days)
    worst = max((check.verdict for check in checks), key=lambda one: _SYMBOL[one])
    return AcceptanceAnswer(
        record=record,
        whole=record,
        tests=(),
        verdict=worst,
        draw=draw,
        checks=checks,
        to_do=tuple(
            Step(check=check.name, text=text) for check in by_danger for text in check.to_do
        ),
        predicted=predicted,
        warnings=tuple(dict.fromkeys([*before.notes, *after.notes, *case.warnings])),
    )


def _refuse_other_voltages(record: JobRecord) -> None:
    """Refuse readings that are none of the job's system, which its limits would let pass."""
    read = {str(said): record.number(said) for said in (*SENSE.TABLE.fields, CONSTANT.voltage_v)}
    for name, circuit in (("power", record.power), ("sense", record.sense)):
        read |= {f"{name}.{key}": getattr(circuit, key, None) for key in VOLTAGES}
    for name, volts in read.items():
        what = f"{record.where}: {name} ="
        refuse_too_high(volts, record.system_v, what=what, say_24="say job.system_v = 24")


def reading_of(record: JobRecord, name: str, logs: Mapping[str, CurrentLog]) -> MeasuredDraw:
    """Return a reading from the record's values, or from a log."""
    file = record.get(READINGS[name].log)
    if name in logs:
        log = logs[name]
    elif file is None:
        return reading_from_table(record, name)
    elif record.folder is None:
        raise RecordError(f"{record.where}: {name}.log needs a record on disk, beside its log")
    elif Path(str(file)).name != str(file):
        raise RecordError(
            f"{record.where}: {name}.log: {str(file)[:60]!r} must be a file name beside the record"
        )
    else:
        where = f"{record.where}: {name}.log"
        path = file_within(record.folder, str(file), where=where, error=RecordError)
        log = read_current_log(path)
    answer = _log_answer(record, name, log)
    found = answer.findings
    values = _values_from_log(record, answer)
    said = answer.warnings if values else (answer.verdict,)
    return MeasuredDraw(
        settled_a=values.get("settled_a"),
        uncertainty_a=values.get("uncertainty_a"),
        mean_a=found.mean_a if values else None,
        asleep=bool(values),
        from_log=True,
        notes=tuple(message("{what}: {text}", what=message(SAID[name]), text=t) for t in said),
    )


def _log_answer(record: JobRecord, name: str, log: CurrentLog) -> CurrentLogAnswer:
    """Return what a log holds; the unit's reports are looked for only after it was fitted."""
    interval = record.number(BUDGET.report_interval_min)
    return current_log(log, report_every_min=interval if name == "after" else None)


def _values_from_log(record: JobRecord, answer: CurrentLogAnswer) -> dict[str, float]:
    """Return what a record holds of a log instead of the log; empty while it is not asleep.

    The meter's own accuracy, which no log holds, comes from the record.
    """
    found = answer.findings
    if found.settled_a is None or found.settled_uncertainty_a is None:
        return {}
    accuracy = (record.number(METER.accuracy_percent) or 0.0) / 100.0
    values = {
        "settled_a": found.settled_a,
        "uncertainty_a": found.settled_uncertainty_a + accuracy * abs(found.settled_a),
        "minutes_after_key_off": found.span_s / 60.0,
    }
    return values if found.mean_a is None else {**values, "mean_a": found.mean_a}


def with_log(record: JobRecord, name: str, log: CurrentLog) -> JobRecord:
    """Return a record that keeps a log's values as its latest reading.

    Parameters
    ----------
    record : JobRecord
    name : str
        Of the reading: "before" or "after".
    log : CurrentLog

    Raises
    ------
    RecordError
        If the log ends before the vehicle sleeps: it then holds no reading.
    """
    answer = _log_answer(record, name, log)
    values = _values_from_log(record, answer)
    if not values:
        raise RecordError(f"{log.where}: no {name} reading: {answer.verdict}")
    return record.with_reading(name, values)
