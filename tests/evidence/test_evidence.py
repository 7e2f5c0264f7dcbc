"""Every published value the model is held against; the same checks serve command and page."""

import json
from dataclasses import replace

import pytest

from drainsim.cli import main
from drainsim.errors import DrainsimError
from drainsim.evidence import stored
from drainsim.evidence.check import (
    DEFINITION,
    LIBRARY,
    MEASUREMENT,
    MEMORY,
    OTHER_SOURCE,
    PRACTICE,
    READ,
    SAME_SOURCE,
    Check,
)
from drainsim.evidence.registry import all_checks, published_source_keys, run_checks, summary
from drainsim.evidence.sources import OWN_MEMORY, TM_TRUCK
from drainsim.files.profile import GRADES as PROFILE_GRADES
from drainsim.physics.cranking import cranking_share

CHECKS = all_checks()
BRIEF = (
    "quantity",
    "conditions",
    "published",
    "model",
    "tolerance",
    "passed",
    "source",
    "grade",
    "independence",
)


@pytest.mark.parametrize("check", CHECKS, ids=[check.key for check in CHECKS])
def test_model_lands_on_the_published_value_or_is_known_not_to(check: Check) -> None:
    """A check passes; a value decided against, or a known weakness, really is outside tolerance."""
    result = check.run()
    assert result.model is not None, result.note
    excused = bool(check.expected_to_disagree or check.known_weakness)
    assert result.passed != excused, (
        f"{check.quantity}, {check.conditions}: published {check.published} {check.unit}, "
        f"model {result.model:g}, tolerance {check.tolerance:g} ({check.tolerance_kind})"
    )


def test_breadth_is_what_was_asked_for() -> None:
    """At least 60 checks rest on at least 20 distinct published sources."""
    published = [check for check in CHECKS if check.is_published]
    assert len(published) >= 60
    assert len(published_source_keys(CHECKS)) >= 20
    assert len({check.key for check in CHECKS}) == len(CHECKS)


def test_headline_counts_other_sources_and_measurements_only() -> None:
    """A definition, a shared source and a remembered value do not count as able to prove wrong."""
    rows = [
        replace(_invented(1.0, model), independence=independence, grade=grade)
        for model in (1.0, 2.0)
        for independence in (DEFINITION, SAME_SOURCE, OTHER_SOURCE, MEASUREMENT)
        for grade in (READ, MEMORY, PRACTICE, LIBRARY)
    ]
    counts = summary([row.run() for row in rows])
    assert (counts.independent, counts.independent_passed) == (8, 4)
    assert (counts.remembered, counts.remembered_passed) == (8, 4)
    assert (counts.definitions, counts.same_source, counts.measurements) == (8, 8, 8)


def test_no_two_rows_say_the_same() -> None:
    """Subject, quantity, conditions and source together name one row."""
    said = [(c.subject, c.quantity, c.conditions, c.source_key, c.clause) for c in CHECKS]
    assert len(said) == len(set(said))


def test_memory_and_common_practice_do_not_count_as_published() -> None:
    """A row from memory cites no document, and a document's row is not from memory."""
    for check in CHECKS:
        assert (check.grade == MEMORY) == (check.source == OWN_MEMORY), check.key
        if check.grade in (MEMORY, PRACTICE):
            assert not check.is_published, check.key


def test_every_profile_grade_is_known() -> None:
    """Profile grades and check grades stay two lists that both name memory and common practice."""
    assert {MEMORY, PRACTICE} <= set(PROFILE_GRADES)


def test_every_subject_of_the_issue_has_two_sources() -> None:
    """Each subject is held against at least two independent published sources."""
    by_subject: dict[str, set[str]] = {}
    for check in CHECKS:
        if check.is_published:
            by_subject.setdefault(check.subject, set()).add(check.source_key)
    assert {subject: keys for subject, keys in by_subject.items() if len(keys) < 2} == {}


def test_an_excuse_is_one_or_the_other() -> None:
    """A check is not both decided against and a weakness, and says what follows for the user."""
    for check in CHECKS:
        assert not (check.expected_to_disagree and check.known_weakness), check.key
        if check.expected_to_disagree:
            assert "follows for" in check.expected_to_disagree or (
                "not for" in check.expected_to_disagree
            ), check.key


def _invented(published: float | tuple[float, float], model: float, **more: object) -> Check:
    fields: dict[str, object] = {
        "key": "invented",
        "subject": "none",
        "quantity": "none",
        "conditions": "none",
        "published": published,
        "unit": "V",
        "tolerance": 0.1,
        "tolerance_reason": "test",
        "source": TM_TRUCK,
        "grade": READ,
        "independence": OTHER_SOURCE,
        "model": lambda: model,
    }
    return Check(**{**fields, **more})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("published", "model", "kind", "passed"),
    [
        (12.0, 12.1, "absolute", True),
        (12.0, 12.11, "absolute", False),
        (12.0, 13.2, "relative", True),
        (12.0, 13.21, "relative", False),
        ((10.0, 12.0), 11.0, "absolute", True),
        ((10.0, 12.0), 12.2, "absolute", False),
        ((10.0, 12.0), 9.0, "relative", True),
        (12.0, float("inf"), "relative", False),
        (12.0, float("nan"), "absolute", False),
    ],
)
def test_tolerance_is_the_border(
    published: float | tuple[float, float], model: float, kind: str, passed: bool
) -> None:
    """Just inside passes, just outside fails, for values and ranges, absolute and relative."""
    assert _invented(published, model, tolerance_kind=kind).run().passed is passed


@pytest.mark.parametrize(
    ("bound", "model", "passed"),
    [
        ("at least", 11.85, False),
        ("at least", 11.95, True),
        ("at least", 40.0, True),
        ("at most", 12.15, False),
        ("at most", 12.05, True),
        ("at most", 2.0, True),
    ],
)
def test_a_bound_is_open_to_one_side(bound: str, model: float, passed: bool) -> None:
    """A least value fails below it only, a greatest above it only, each with its tolerance."""
    assert _invented(12.0, model, bound=bound).run().passed is passed


def test_a_model_that_refuses_fails_with_its_reason() -> None:
    """An error of the model is a failed check that says why, not a crash."""

    def refuse() -> float:
        return float(cranking_share(99.0, curve=[[0.0, 0.5], [20.0, 1.0]]))

    result = replace(_invented(1.0, 0.0), model=refuse).run()
    assert not result.passed
    assert "temperature_c=99" in result.note


@pytest.mark.parametrize(
    "wrong",
    [
        {"grade": "hearsay"},
        {"tolerance": -1.0},
        {"tolerance_reason": ""},
        {"published": (1.0, 2.0), "bound": "at least"},
    ],
)
def test_a_check_that_says_nothing_is_refused(wrong: dict[str, object]) -> None:
    """Grade, tolerance and its reason are needed."""
    with pytest.raises(ValueError, match="invented"):
        _invented(**{"published": 1.0, "model": 1.0, **wrong})  # type: ignore[arg-type]


def test_json_has_the_agreed_keys(capsys: pytest.CaptureFixture[str]) -> None:
    """`drainsim evidence --json` prints every check with the keys other tools rely on."""
    assert main(["evidence", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert len(document["checks"]) == len(CHECKS)
    for row in document["checks"]:
        assert all(key in row for key in BRIEF)
        assert isinstance(row["model"], float)
    assert document["summary"]["checks"] == len(CHECKS)
    assert document["must_not_be_used"]
    assert [row["key"] for row in document["checks"]] == [check.key for check in CHECKS]


def test_text_names_failures_sources_and_limits(capsys: pytest.CaptureFixture[str]) -> None:
    """The text shows passes and failures in words, the sources, the counts and the limits."""
    assert main(["evidence"]) == 0
    text = capsys.readouterr().out
    counts = summary(run_checks())
    flowing = " ".join(text.split())
    assert f"All {counts.checks} checks: {counts.passed} pass" in flowing
    assert f"{counts.independent} checks can prove the model wrong" in flowing
    assert f"{counts.published_sources} distinct published sources" in flowing
    for word in ("FAIL", "DISAGREES", "pass ", "WHERE IT MUST NOT BE USED", "known weakness:"):
        assert word in text
    assert all(len(line) <= 100 for line in text.splitlines())


def test_one_subject_alone(capsys: pytest.CaptureFixture[str]) -> None:
    """--subject shows that subject's checks only."""
    assert main(["evidence", "--json", "--subject", "freezing"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert {row["subject"] for row in document["checks"]} == {"freezing"}


def test_an_unknown_subject_is_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    """A misspelt subject names the nearest one."""
    assert main(["evidence", "--subject", "frezing"]) == 2
    assert "did you mean freezing?" in capsys.readouterr().err
    with pytest.raises(DrainsimError, match="frezing"):
        run_checks("frezing")


def test_stored_results_speak() -> None:
    """Twin, weather and sensitivity files are there and turn into sentences with units."""
    assert "80 %" in stored.twin_words()[0]
    assert "days" in stored.weather_words()[0]
    assert "quiescent current" in stored.sensitivity_words()[0]
