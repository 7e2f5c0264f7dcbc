"""Acceptance of a job: pass, fail, cannot tell, and what would tell."""

import copy
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance, with_log
from drainsim.answers.installer.acceptance_checks import JobCheck
from drainsim.answers.installer.current_log_words import plus_minus
from drainsim.answers.standing.park import park
from drainsim.errors import RecordError
from drainsim.files.current_log.reader import log_from_bytes, read_current_log
from drainsim.files.examples import example_text
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.job_record import job_record_from_dict
from drainsim.vehicle.documents.job_tables import BEFORE
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.build import DRAWS
from tests.synthetic_log import as_csv, parked_log

EXAMPLE: dict[str, Any] = json.loads(example_text("job_record.json"))


def judged(folder: Path | None = None, **changes: Any) -> AcceptanceAnswer:
    """Return the answer to the example with keys of its tables changed; None drops a table."""
    document = copy.deepcopy(EXAMPLE)
    document["scenario"]["run"]["draws"] = DRAWS
    for name, values in changes.items():
        if values is None:
            del document[name]
        elif "log" in values:
            document[name] = values
        else:
            document[name] = {**document.get(name, {}), **values}
    return acceptance(job_record_from_dict(document, where="job.json", folder=folder))


def check(answer: AcceptanceAnswer, name: str) -> JobCheck:
    """Return a check by name."""
    return next(one for one in answer.checks if one.name == name)


def test_the_example_passes() -> None:
    """4.6 mA against a budget of 4.5 mA with a good meter, all else in order."""
    answer = judged()
    assert answer.verdict == "pass", [one.text for one in answer.checks if one.verdict != "pass"]
    assert answer.draw.difference_a == pytest.approx(0.0046)


@pytest.mark.parametrize(
    ("after_a", "resolution_a", "verdict"),
    [
        (0.0356, 0.0001, "pass"),
        (0.0356, 0.001, "cannot tell"),  # steps of 1 mA on a difference of 4.6 mA
        (0.0500, 0.0001, "fail"),  # 19 mA
        (0.0400, 0.010, "cannot tell"),
        (0.0310, 0.0001, "cannot tell"),  # draws nothing: not running?
        (0.0250, 0.0001, "cannot tell"),  # less than before
    ],
)
def test_the_meter_decides_what_can_be_told(
    after_a: float, resolution_a: float, verdict: str
) -> None:
    """The same difference passes with a fine meter and cannot be told with a coarse one."""
    answer = judged(after={"settled_a": after_a}, meter={"resolution_a": resolution_a, "counts": 0})
    assert answer.draw.check.verdict == verdict
    assert bool(answer.draw.check.would_tell) == (verdict == "cannot tell")
    assert answer.verdict == verdict


@pytest.mark.parametrize("more_a", [-0.001, 0.0, 0.0005, 0.001, 0.0045, 0.0055, 0.0060])
def test_a_worse_meter_never_turns_a_verdict_into_a_pass(more_a: float) -> None:
    """The less is known, the less can be told: from PASS or FAIL only to cannot tell."""
    after = {"settled_a": 0.031 + more_a}
    said = [
        judged(before=each, after={**after, **each}).draw.check.verdict
        for each in ({"uncertainty_a": u} for u in (1e-5, 1e-4, 5e-4, 1e-3, 5e-3))
    ]
    known = [verdict for verdict in said if verdict != "cannot tell"]
    assert said == known[:1] * len(known) + ["cannot tell"] * (len(said) - len(known))


def test_a_unit_measured_in_a_24_v_vehicle_costs_what_it_draws_there() -> None:
    """One current flows through both: a steady load of the measured amperes stands as long."""
    pair = {"system": "24V", "capacity_ah": 80.0, "age_years": 2.0, "state_of_charge": 0.9}
    tables = {**EXAMPLE["scenario"], "battery": pair}
    answer = judged(
        job={"system_v": 24}, scenario=tables, unit={"mean_a": 0.0145}, after={"settled_a": 0.045}
    )
    run = {**tables["run"], "draws": DRAWS}
    vehicle = {"preset": "panel_van_diesel", "quiescent_a": 0.045 + 0.01, "wake_ups": []}
    steady = {**tables, "run": run, "vehicle": vehicle}
    del steady["unit"]
    alone = park(resolve(scenario_from_dict(steady))).days_to_no_start.p50
    assert answer.predicted.as_measured == pytest.approx(alone, rel=0.03)
    # The scenario's budget is told at 12 V: at 24 V a switching supply draws half of it.
    of_preset = [
        judged(unit=None, job={"system_v": volts}, scenario={**tables, "battery": battery}).draw
        for volts, battery in ((24, pair), (12, {"capacity_ah": 80.0}))
    ]
    assert of_preset[0].budget_a == pytest.approx(0.5 * of_preset[1].budget_a)


@pytest.mark.parametrize(
    ("table", "key"),
    [("constant_check", "voltage_v"), ("sense_check", "key_on_v"), ("power", "after_sleep_v")],
)
def test_readings_of_24_v_do_not_pass_as_12_v(table: str, key: str) -> None:
    """25.2 V is above any 12 V vehicle's regulated voltage (15.5 V: workshop manuals)."""
    with pytest.raises(RecordError, match=rf"{table}.{key} = 25.2 V .* job.system_v = 24"):
        judged(**{table: {key: 25.2}})


@pytest.mark.parametrize("mean", [False, True])
def test_a_reading_between_wake_ups_leaves_them_in(mean: bool) -> None:
    """A meter read at rest sees no wake-ups: they are still drawn. A log's mean holds them."""
    tables = {**EXAMPLE["scenario"], "vehicle": {"preset": "modern_connected"}}
    before = {"settled_a": 0.02, **({"mean_a": 0.032} if mean else {})}
    answer = judged(scenario=tables, before=before)
    vehicle = {"preset": "modern_connected", "quiescent_a": 0.02}
    if mean:
        vehicle |= {"quiescent_a": 0.032, "wake_ups": []}
    alone = {**tables, "vehicle": vehicle, "measured": {"keys": "vehicle.quiescent_a"}}
    del alone["unit"]
    told = park(resolve(scenario_from_dict(alone))).days_to_no_start.p50
    assert answer.predicted.without_unit == told


def test_a_log_says_the_same_named_in_the_record_or_kept_in_it(tmp_path: Path) -> None:
    """A vehicle that sleeps after a minute is asleep in a log of half an hour, however given."""
    time = np.arange(0.0, 1800.0, 2.0)
    record = job_record_from_dict(EXAMPLE, where="job.json", folder=tmp_path)
    for name, settled in (("before", 0.0310), ("after", 0.0357)):
        steps = 0.0001 * (np.arange(len(time)) % 3)
        (tmp_path / f"{name}.csv").write_bytes(
            as_csv(time, np.where(time < 60, 1.0, settled + steps))
        )
        log = read_current_log(tmp_path / f"{name}.csv")
        record = with_log(record, name, log)
    named = judged(tmp_path, before={"log": "before.csv"}, after={"log": "after.csv"})
    kept = acceptance(record)
    assert named.draw.check.verdict == kept.draw.check.verdict == "pass"
    assert kept.draw.difference_a == named.draw.difference_a


def test_a_24_v_scenario_is_a_24_v_job() -> None:
    """What the record says once counts everywhere: limits are those of the vehicle's voltage."""
    tables = {**EXAMPLE["scenario"], "battery": {"system": "24V", "capacity_ah": 80.0}}
    assert "system_v" in EXAMPLE["job"]
    job = {key: value for key, value in EXAMPLE["job"].items() if key != "system_v"}
    document = {**EXAMPLE, "job": job, "scenario": tables}
    silent = acceptance(job_record_from_dict(document, where="job.json"))
    said = acceptance(
        job_record_from_dict({**document, "job": {**job, "system_v": 24}}, where="job.json")
    )
    assert silent.checks == said.checks
    assert check(silent, "constant power after 60 min").verdict == "fail"  # 12.5 V of 24 V


def test_what_feeds_the_unit_counts_in_the_days() -> None:
    """A unit on an auxiliary battery behind an isolator takes nothing from the starting one."""
    apart = {"system": "auxiliary", "capacity_ah": 80.0, "isolator": "yes"}
    tables = {**EXAMPLE["scenario"], "battery": apart, "unit": {"fed_from": "auxiliary"}}
    predicted = judged(scenario=tables).predicted
    assert predicted.as_measured == predicted.without_unit


def test_what_would_tell_tells() -> None:
    """The meter asked for, given, turns cannot tell into pass."""
    vague = judged(meter={"resolution_a": 0.001, "counts": 0})
    assert vague.draw.check.verdict == "cannot tell"
    room = vague.draw.limit_a - (vague.draw.difference_a or 0.0)
    each = {"uncertainty_a": room / 2.0}
    assert judged(before=each, after=each).draw.check.verdict == "pass"


def test_readings_taken_too_early_or_not_at_all() -> None:
    """Before 45 min, without a reading or without a meter nothing can be told."""
    for name in ("before", "after"):
        early = judged(**{name: {"minutes_after_key_off": 20}})
        assert early.draw.check.verdict == "cannot tell"
        assert "sleep" in early.draw.check.would_tell
        assert judged(**{name: None}).draw.check.verdict == "cannot tell"
    assert "resolution" in judged(meter=None).draw.check.would_tell


def test_logs_give_the_mean_and_its_verdict(tmp_path: Path) -> None:
    """Before and after logs of whole periods are held against the mean budget."""
    for name, settled in (("before", 0.0310), ("after", 0.0360)):
        raw = as_csv(*parked_log(settled_a=settled, noise_a=0.0005, resolution_a=0.0001))
        (tmp_path / f"{name}.csv").write_bytes(raw)
    answer = judged(tmp_path, before={"log": "before.csv"}, after={"log": "after.csv"})
    assert answer.draw.compared == "mean"
    assert answer.draw.check.verdict == "pass"
    # Both logs hold the same wake-ups to 0.45 A, so their part falls out but for 20 s of 600 s.
    assert answer.draw.difference_a == pytest.approx(0.005 * (1 - 20 / 600), abs=0.0003)
    short = log_from_bytes(as_csv(*parked_log(hours=0.5)), where="short")
    record = job_record_from_dict({**EXAMPLE, "before": {"log": "x.csv"}}, where="j")
    assert acceptance(record, logs={"before": short}).draw.check.verdict == "cannot tell"
    with pytest.raises(RecordError, match="beside the record"):
        judged(tmp_path, before={"log": "../before.csv"})
    with pytest.raises(RecordError, match="needs a record on disk"):
        judged(before={"log": "before.csv"})


@pytest.mark.parametrize(
    ("name", "changes", "verdict"),
    [
        ("sense wire", {"sense_check": {"key_off_v": 3.0}}, "fail"),
        ("sense wire", {"sense_check": {"key_on_v": 6.0}}, "fail"),
        ("sense wire", {"sense_check": None}, "cannot tell"),
        ("constant power after 60 min", {"constant_check": {"voltage_v": 0.2}}, "fail"),
        ("constant power after 60 min", {"constant_check": {"minutes_after_key_off": 15}},
         "cannot tell"),
        ("first start-up outdoors", {"first_start": {"connection_min": 12}}, "fail"),
        ("first start-up outdoors", {"first_start": {"position_min": 25}}, "fail"),
        ("first start-up outdoors", {"first_start": {"outdoors": "no"}}, "cannot tell"),
        ("mounting and routing", {"mounting": {"view_of_sky": "no"}}, "fail"),
        ("mounting and routing", {"mounting": None}, "cannot tell"),
        ("cautions acknowledged", {"cautions": {"series_meter": "not checked"}}, "cannot tell"),
        ("fuse and wire", {"connection": {"fuse_a": 15}}, "fail"),
        ("fuse and wire", {"connection": {"fuse_a": 0.3}}, "fail"),
        ("fuse and wire", {"connection": {"length_m": 50, "wire_mm2": 0.5}}, "fail"),
        ("circuit for constant power", {"power": {"after_sleep_v": 0.0}}, "fail"),
        ("circuit for constant power", {"power": {"name": "Airbag"}}, "fail"),
        ("circuit for ignition sense", {"sense": {"off_v": 12.0}}, "fail"),
        ("days it must stand", {"job": {"days_needed": 100}}, "fail"),
    ],
)  # fmt: skip
def test_every_check_can_fail_or_stay_open(
    name: str, changes: dict[str, Any], verdict: str
) -> None:
    """A wrong or missing reading turns its own check, and the job with it."""
    answer = judged(**changes)
    assert check(answer, name).verdict == verdict
    assert answer.verdict == verdict
    if verdict == "cannot tell":
        assert check(answer, name).would_tell


def test_days_are_predicted_and_kept_in_the_record() -> None:
    """More draw never means more days; the saved record holds the prediction."""
    answer = judged()
    days = answer.predicted
    assert days.without_unit is not None
    assert days.as_budgeted is not None
    assert days.without_unit > days.as_budgeted
    assert days.at_risk is not None
    assert days.at_risk <= days.as_budgeted
    saved = answer.record_with_prediction()
    again = job_record_from_dict(json.loads(saved.to_json()), where="again")
    assert again.predicted["days_with_unit_as_budgeted"] == days.as_budgeted
    assert again.predicted["verdict"] == "pass"
    heavy = judged(after={"settled_a": 0.08})
    assert heavy.predicted.as_measured is not None
    assert heavy.predicted.as_measured < days.as_budgeted


def test_readings_of_a_waking_vehicle_give_neither_number_nor_cause() -> None:
    """20 min after key off, 26.5 mA more: no cause, no days passed on the budget."""
    answer = judged(after={"settled_a": 0.0575, "minutes_after_key_off": 20})
    assert answer.draw.check.verdict == "cannot tell"
    assert answer.draw.difference_a is None
    assert answer.draw.explained == "not known, so no cause can be named"
    assert answer.predicted.as_measured is None
    days = check(answer, "days it must stand")
    assert days.verdict == "cannot tell"
    assert days.value is not None
    assert days.value >= 14.0  # the budget would do, but it was not measured
    assert days.would_tell == answer.draw.check.would_tell
    # Too few days even on the budget: that much is known.
    worse = judged(after={"minutes_after_key_off": 20}, job={"days_needed": 100})
    assert check(worse, "days it must stand").verdict == "fail"


def test_a_vehicle_that_was_awake_does_not_set_the_days() -> None:
    """A first reading taken early, or above the second, is not what the vehicle draws asleep."""
    for changes in (
        {"before": {"settled_a": 0.3, "minutes_after_key_off": 10}},
        {"before": {"settled_a": 0.3}},
    ):
        answer = judged(**changes)
        assert answer.draw.vehicle_a is None
        assert "vehicle's draw as measured" not in answer.predicted.basis
    assert judged().draw.vehicle_a == pytest.approx(0.031)


@pytest.mark.parametrize("after_a", [0.0310, 0.0250, 0.0362])
def test_what_cannot_be_told_has_no_cause(after_a: float) -> None:
    """Next to nothing, less than before, or across the limit: no cause is named for it."""
    answer = judged(after={"settled_a": after_a}, meter={"counts": 4})
    assert answer.draw.check.verdict == "cannot tell"
    for cause in ("kept awake", "deeper", "reception"):
        assert cause not in answer.draw.explained


def test_after_a_fail_what_to_do_comes_in_order() -> None:
    """What can burn first, then the sense wire that keeps a unit awake, then the draw."""
    answer = judged(
        after={"settled_a": 0.08},
        connection={"fuse_a": 15},
        sense_check={"key_off_v": 3.0},
    )
    asked = list(dict.fromkeys(step.check for step in answer.to_do))
    assert asked == ["fuse and wire", "sense wire", "draw of the unit"]
    draw = [step.text for step in answer.to_do if step.check == "draw of the unit"]
    assert "hour after locking" in draw[0]
    assert "retests" in draw[-1]
    assert judged().to_do == ()
    for one in answer.checks:
        assert bool(one.to_do) == (one.verdict == "fail"), one.name


@pytest.mark.parametrize(
    ("value_a", "uncertainty_a", "shown"),
    [
        (0.021987, 0.000073, "22.0 ± 0.1 mA"),
        (0.0046, 0.00083, "4.6 ± 0.9 mA"),
        (0.0031, 0.00012, "3.10 ± 0.12 mA"),
        (0.0031, 0.013, "3 ± 13 mA"),
        (-0.006, 0.0008, "-6.0 ± 0.8 mA"),
        (0.0, 0.0005, "0.0 ± 0.5 mA"),
        (1.2345, 0.0101, "1234 ± 11 mA"),
        (0.00042, 0.000004, "0.420 ± 0.004 mA"),
    ],
)
def test_no_more_figures_than_a_meter_knows(
    value_a: float, uncertainty_a: float, shown: str
) -> None:
    """One figure of the uncertainty (two after a 1), three of the reading, rounded up."""
    assert plus_minus(value_a, uncertainty_a) == shown


def test_a_retest_stands_beside_the_first_test() -> None:
    """Failed, put right, read again: the verdict is the latest, the record keeps both."""
    first = judged(after={"settled_a": 0.05}, connection={"fuse_a": 15}).whole
    again = {
        "date": "2026-11-25",
        "done": "supply moved to the battery",
        "after": {"settled_a": 0.0356, "minutes_after_key_off": 70},
        "connection": {"fuse_a": 2, "wire_mm2": 0.75, "length_m": 2},
    }
    answer = acceptance(first.with_retest(again, where="r.json"))
    assert answer.verdict == "pass"
    assert [test.verdict for test in answer.tests] == ["fail", "pass"]
    assert answer.tests[0].difference_a == pytest.approx(0.019)
    assert answer.tests[1].difference_a == pytest.approx(0.0046)
    assert "fuse and wire" in answer.tests[0].not_passed
    assert "supply moved" in answer.tests[1].words
    saved = json.loads(answer.record_with_prediction().to_json())
    assert saved["after"]["settled_a"] == 0.05
    assert saved["retests"][0]["after"]["settled_a"] == 0.0356
    reopened = acceptance(job_record_from_dict(saved, where="again"))
    assert reopened.as_dict()["tests"] == answer.as_dict()["tests"]
    # What was not read again stays open or wrong.
    half = acceptance(first.with_retest({"after": again["after"]}, where="r.json"))
    assert half.tests[1].not_passed == ("fuse and wire",)


@pytest.mark.parametrize(
    ("retests", "words"),
    [
        ({}, "retests: a list"),
        ([{"done": "looked at it"}], "nothing was read again"),
        ([{"after": {"settled_a": 99}}], r"retest 1: after.settled_a"),
        ([{"job": {}}], "retest 1: 'job': unknown key"),
        ([7], "retest 1: a table"),
    ],
)
def test_bad_retests_are_one_sentence(retests: Any, words: str) -> None:
    """A retest is checked as the record is, and named by its number."""
    with pytest.raises(RecordError, match=words):
        job_record_from_dict({**EXAMPLE, "retests": retests}, where="j")


def test_a_log_given_as_a_reading_stays_in_the_record() -> None:
    """The values in the record judge as the log itself; a log that does not sleep is refused."""
    logs = {
        name: log_from_bytes(
            as_csv(*parked_log(settled_a=settled, noise_a=0.0005, resolution_a=0.0001)), where=name
        )
        for name, settled in (("before", 0.0310), ("after", 0.0360))
    }
    record = judged().whole
    direct = acceptance(record, logs=logs)
    kept = record
    for name, log in logs.items():
        kept = with_log(kept, name, log)
    again = acceptance(job_record_from_dict(kept.as_dict(), where="j"))
    assert again.draw.compared == "mean"
    assert again.draw.difference_a == pytest.approx(direct.draw.difference_a)
    assert again.draw.uncertainty_a == pytest.approx(direct.draw.uncertainty_a)
    bare = job_record_from_dict({**record.as_dict(), "meter": {}}, where="j")
    without = with_log(bare, "before", logs["before"]).number(BEFORE.uncertainty_a)
    known = kept.number(BEFORE.uncertainty_a)
    assert known is not None
    assert without is not None
    assert known - without == pytest.approx(0.01 * 0.031, rel=0.02)  # 1 % of the reading
    short = log_from_bytes(as_csv(*parked_log(hours=0.5)), where="short")
    with pytest.raises(RecordError, match="short: no after reading: Not asleep yet"):
        with_log(record, "after", short)


def test_a_vehicle_that_empties_itself_is_not_cured_by_fewer_reports() -> None:
    """With 14 A parked the cause is named; an ordinary vehicle gets the ways that give days."""
    changes = {"before": {"settled_a": 14.0}, "after": {"settled_a": 14.005}}
    (advice,) = check(judged(**changes), "days it must stand").to_do
    assert "14 A" in advice
    assert "report" not in advice
    (advice,) = check(judged(job={"days_needed": 100}), "days it must stand").to_do
    assert "fewer reports" in advice
