"""Versions of file formats: older are brought up to date, newer are told, none is missing."""

import json
from collections.abc import Callable
from importlib import resources
from typing import Any

import pytest

from drainsim.errors import DrainsimError, RecordError, ScenarioError
from drainsim.files import formats
from drainsim.files.examples import example_text
from drainsim.files.profile import list_profiles, read_profile
from drainsim.files.readings.state_file import state_from_bytes, state_text
from drainsim.vehicle.documents.code import decode_question
from drainsim.vehicle.documents.complaint import complaint_from_dict
from drainsim.vehicle.documents.job_record import job_record_from_dict
from drainsim.vehicle.keys.scenario import scenario_from_dict, scenario_from_text
from drainsim.vehicle.keys.schema import example_toml, scenario_json_schema

BATTERY = {"battery": {"capacity_ah": 60.0}}


def _profile(version: int, folder: Any) -> object:
    text = next(iter(list_profiles().values())).read_text("utf-8")
    path = folder / "mine.toml"
    path.write_text(text.replace("format = 1", f"format = {version}"), "utf-8")
    return read_profile(path)


READ: dict[str, Callable[[int, Any], object]] = {
    "scenario": lambda version, _: scenario_from_dict({"format": version, **BATTERY}),
    "battery profile": _profile,
    "job record": lambda version, _: job_record_from_dict({"format": version}, where="job.json"),
    "complaint": lambda version, _: complaint_from_dict(
        {**json.loads(example_text("complaint.json")), "format": version}, where="c.json"
    ),
    "forecast state": lambda version, _: state_from_bytes(
        state_text({"now_s": 0.0}).replace('"format": 1', f'"format": {version}').encode(),
        where="m.json",
    ),
}


@pytest.mark.parametrize("kind", READ)
def test_a_newer_version_says_so_and_todays_is_read(kind: str, tmp_path: Any) -> None:
    """One sentence: it was written by a newer drainsim, update."""
    newest = formats.NEWEST[kind]
    assert READ[kind](newest, tmp_path)
    with pytest.raises(DrainsimError, match=r"written by a newer drainsim .*; update drainsim"):
        READ[kind](newest + 1, tmp_path)


def test_every_kind_is_held_to_its_version() -> None:
    """A kind added to the table is added here, or stands in data files that are checked below."""
    assert set(READ) | {"preset file"} == set(formats.NEWEST)


@pytest.mark.parametrize("kind", ["climates", "units", "vehicles", "sunshine"])
def test_preset_files_state_their_version(kind: str) -> None:
    """The version stands before the first table."""
    text = resources.files("drainsim").joinpath("data", f"{kind}.toml").read_text("utf-8")
    head = text[: text.index("\n[")]
    assert f"\nformat = {formats.NEWEST['preset file']}\n" in head


@pytest.mark.parametrize(
    "version", [True, 0, -1, 1.0, "1", None, [1], pytest.param(10**5000, id="long")]
)
def test_what_is_no_version_is_refused(version: Any) -> None:
    """A version is a whole number from 1; 1.0, true and text are none."""
    with pytest.raises(RecordError, match=r"^job\.json: (format |written by a newer)"):
        job_record_from_dict({"format": version}, where="job.json")


def test_an_older_document_goes_through_every_migration(monkeypatch: pytest.MonkeyPatch) -> None:
    """Version 1 becomes 2, then 3; a document of version 3 is left alone."""
    monkeypatch.setitem(formats.NEWEST, "tyre", 3)
    steps = {
        ("tyre", 1): lambda old: {"pressure_bar": old["bar"]},
        ("tyre", 2): lambda old: {"pressure_kpa": 100 * old["pressure_bar"]},
    }
    for step, change in steps.items():
        monkeypatch.setitem(formats.MIGRATIONS, step, change)

    def read(**document: Any) -> dict[str, Any]:
        return formats.newest_of(document, "tyre", where="t", error=RecordError)

    assert read(format=1, bar=2) == {"pressure_kpa": 200}
    assert read(format=2, pressure_bar=2) == {"pressure_kpa": 200}
    assert read(format=3, pressure_kpa=200) == {"pressure_kpa": 200}


def test_there_is_a_way_up_from_every_version() -> None:
    """Raising a version without a migration would shut older files out."""
    for kind, newest in formats.NEWEST.items():
        assert all((kind, older) in formats.MIGRATIONS for older in range(1, newest))


def test_a_scenario_may_lack_its_version_and_always_writes_it() -> None:
    """Files from before versions keep their meaning; what is written states one."""
    without = scenario_from_dict(BATTERY)
    assert without.tables == scenario_from_dict({"format": 1, **BATTERY}).tables
    assert without.to_toml().startswith("format = 1\n")
    assert scenario_from_text(without.to_toml(), where="again").tables == without.tables
    assert "\nformat = 1" in example_toml()
    assert scenario_json_schema()["properties"]["format"]["maximum"] == formats.NEWEST["scenario"]


def test_a_code_of_a_newer_drainsim_says_so() -> None:
    """The letter and number a code begins with are its version."""
    with pytest.raises(ScenarioError, match="newer drainsim"):
        decode_question("D2-eNrLSM3JyVcozy/KSQEAGgsEXQ")
    with pytest.raises(ScenarioError, match="it begins with D1-"):
        decode_question("X2-eNrLSM3JyVcozy/KSQEAGgsEXQ")
