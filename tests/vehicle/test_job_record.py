"""Job records and complaints: checked key by key, the same after being written."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from drainsim.errors import DrainsimError, RecordError
from drainsim.files.examples import example_text
from drainsim.vehicle.documents.complaint import complaint_from_dict, read_complaint
from drainsim.vehicle.documents.job_record import job_record_from_dict, parse_json, read_job_record

EXAMPLE: dict[str, Any] = json.loads(example_text("job_record.json"))


def test_a_record_can_be_reopened(tmp_path: Path) -> None:
    """Written and read again it is the same record, with its prediction."""
    record = job_record_from_dict({**EXAMPLE, "predicted": {"days": 12.5}}, where="a")
    path = tmp_path / "job.json"
    path.write_text(record.to_json(), encoding="utf-8")
    again = read_job_record(path)
    assert again.as_dict() == record.as_dict()
    assert again.predicted == {"days": 12.5}
    assert again.scenario is not None


def changed(**tables: Any) -> dict[str, Any]:
    """Return the example with tables replaced."""
    return {**copy.deepcopy(EXAMPLE), **tables}


@pytest.mark.parametrize(
    ("document", "words"),
    [
        ({}, "format is missing"),
        ({"format": 2}, "newer drainsim"),
        ({"format": True}, "format True"),
        (changed(metre={}), "'metre': unknown key; did you mean meter"),
        (changed(unit={"sleep": 1}), "unit.sleep: unknown key"),
        (changed(unit={"sleep_a": "4 mA"}), "unit.sleep_a.*a number in A"),
        (changed(before={"settled_a": 900}), "before.settled_a.*outside"),
        (changed(mounting={"view_of_sky": "perhaps"}), "use one of yes, no, not checked"),
        (changed(job={"system_v": 18}), "job.system_v: use 12 or 24"),
        (changed(before={"log": "a.csv", "settled_a": 0.1}), "both log and values"),
        (changed(power={"name": "A", "class": "foo"}), "power: column class"),
        (changed(power=[1]), "power: a table"),
        (changed(scenario={"batery": {}}), "scenario: batery: unknown key"),
        (changed(predicted={"x": {"y": 1}}), "predicted.x"),
        (changed(predicted={"x": "y" * 201}), "predicted.x: a number or a short text"),
    ],
)
def test_bad_records_are_one_sentence(document: dict[str, Any], words: str) -> None:
    """The message names the record and the key."""
    with pytest.raises(DrainsimError, match=words) as caught:
        job_record_from_dict(document, where="job.json")
    assert str(caught.value).startswith("job.json: ")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["", "[]", "{", '{"format": NaN}', "[" * 5000])
def test_bad_json_is_one_sentence(text: str) -> None:
    """What is not a JSON object is refused by name."""
    with pytest.raises(RecordError, match=r"job.json: "):
        parse_json(text, where="job.json")


def test_complaint_names_or_holds_its_job(tmp_path: Path) -> None:
    """A job record beside the complaint serves as well as one inside, and nothing else does."""
    inside = json.loads(example_text("complaint.json"))
    (tmp_path / "job.json").write_text(json.dumps(inside["record"]), encoding="utf-8")
    named = {key: value for key, value in inside.items() if key != "record"}
    named["job_record"] = "job.json"
    path = tmp_path / "complaint.json"
    path.write_text(json.dumps(named), encoding="utf-8")
    assert read_complaint(path).record.as_dict() == inside["record"] | {
        "job": {"label": inside["record"]["job"]["label"], "system_v": 12.0},
        "scenario": read_complaint(path).record.as_dict()["scenario"],
    }
    for bad in ({**named, "job_record": "../job.json"}, {**inside, "job_record": "job.json"}):
        with pytest.raises(RecordError, match="job_record"):
            complaint_from_dict(bad, where="c", folder=tmp_path)
    with pytest.raises(RecordError, match="parked_days is missing"):
        complaint_from_dict({**inside, "happened": {}}, where="c")


def test_a_job_is_on_a_12_v_system_unless_it_says_otherwise() -> None:
    """Both that can be, and what is taken where nothing is said."""
    for said, volts in (({}, 12), ({"system_v": 12}, 12), ({"system_v": 24}, 24)):
        assert job_record_from_dict(changed(job=said), where="a").system_v == volts


def test_a_new_reading_belongs_to_the_latest_test() -> None:
    """Of the first test before any retest, else of the last one; the others stay."""
    record = job_record_from_dict(changed(), where="a")
    assert record.with_reading("after", {"settled_a": 0.01}).tables["after"] == {"settled_a": 0.01}
    for reading in (0.02, 0.03):
        record = record.with_retest({"after": {"settled_a": reading}}, where="r")
    again = record.with_reading("after", {"settled_a": 0.04})
    assert [retest.tables["after"]["settled_a"] for retest in again.retests] == [0.02, 0.04]
    assert again.tables == record.tables
