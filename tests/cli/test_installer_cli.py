"""The installer's commands: examples run as printed, JSON parses, errors are one sentence."""

import json
import re
from pathlib import Path

import pytest

from drainsim.cli.main import main
from drainsim.language import language
from drainsim.vehicle.keys.scenario import read_scenario
from tests.synthetic_log import as_csv, parked_log

EXAMPLES = {
    "circuits": "circuits.csv",
    "current-log": "log.csv",
    "acceptance": "job.json",
    "complaint": "complaint.json",
}


@pytest.fixture
def example(tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str) -> Path:
    """Return the command's own example, written to a file as a user would."""
    assert main([command, "--example"]) == 0
    path = tmp_path / EXAMPLES[command]
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    return path


@pytest.mark.parametrize("command", EXAMPLES)
def test_examples_run(command: str, example: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each example is marked invented, answers in words and in JSON, and shows its units."""
    assert "nvented" in example.read_text("utf-8")
    assert main([command, str(example)]) == 0
    words = capsys.readouterr().out
    assert re.search(r"\d m?A\b", words)
    assert main([command, str(example), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["warnings"] is not None


@pytest.mark.parametrize("command", EXAMPLES)
def test_bad_files_are_one_sentence(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No file, a folder, a missing file and rubbish: exit code 2 and one line."""
    rubbish = tmp_path / "rubbish"
    rubbish.write_bytes(b"\x00\xff\xfe rubbish")
    for words in ([], [str(tmp_path)], [str(tmp_path / "none")], [str(rubbish)]):
        assert main([command, *words]) == 2
        error = capsys.readouterr().err
        assert error.startswith("drainsim: ")
        assert error.count("\n") == 1


@pytest.mark.parametrize("command", ["current-log"])
def test_a_log_becomes_a_scenario(
    command: str, example: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The written scenario answers `park` and calls the draw measured."""
    out = tmp_path / "out.toml"
    assert main([command, str(example), "--scenario", str(out)]) == 0
    assert read_scenario(out).origins["vehicle.quiescent_a"] == "measured"
    capsys.readouterr()
    assert main(["park", str(out), "--set", "run.draws=100", "--json"]) == 0
    named = {item["name"]: item for item in json.loads(capsys.readouterr().out)["assumptions"]}
    assert named["vehicle.quiescent_a"]["origin"] == "measured"


@pytest.mark.parametrize("command", ["acceptance"])
def test_a_job_is_saved_and_reopened(
    command: str, example: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The saved record gives the same verdict; the sheet is written whole."""
    saved, page = tmp_path / "saved.json", tmp_path / "job.html"
    assert main([command, str(example), "--save", str(saved), "--sheet", str(page)]) == 0
    first = capsys.readouterr().out
    assert json.loads(saved.read_text("utf-8"))["predicted"]["verdict"] == "pass"
    assert page.read_text("utf-8").endswith("</html>\n")
    assert main([command, str(saved)]) == 0
    assert capsys.readouterr().out == first


def test_a_sheet_speaks_a_language_the_terminal_does_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Polish on paper, in °F; the terminal stays English, and so does JSON."""
    job, sheet = tmp_path / "job.json", tmp_path / "job.html"
    assert main(["acceptance", "--example"]) == 0
    job.write_text(capsys.readouterr().out)
    asked = ["acceptance", str(job), "--sheet", str(sheet), "--lang", "pl", "--temperature", "F"]
    assert main(asked) == 0
    assert "PASS" in capsys.readouterr().out
    text = sheet.read_text("utf-8")
    assert 'lang="pl"' in text
    assert "185 °F" in text
    assert language("pl")("draw of the unit") in text
    assert main([*asked, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["checks"][0]["name"] == "draw of the unit"


def test_fuse_drop_prints_what_cannot_be_seen(capsys: pytest.CaptureFixture[str]) -> None:
    """The current comes with its range and the meter's blind spot."""
    words = ["fuse-drop", "--type", "medium", "--rating", "10", "--mv", "0.3"]
    assert main([*words, "--looking-for-ma", "5"]) == 0
    assert "5 mA cannot be seen" in capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["current_a"] == pytest.approx(0.039, abs=0.001)
    assert main(["fuse-drop", "--type", "glass", "--rating", "10", "--mv", "1"]) == 2


@pytest.mark.parametrize("command", ["acceptance"])
def test_logs_and_a_retest_come_from_the_command_line(
    command: str, example: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Logs replace the readings; a retest is printed, saved and put on the sheet beside it."""
    logs = []
    for name, settled in (("before", 0.0310), ("after", 0.0500)):
        raw = as_csv(*parked_log(settled_a=settled, noise_a=0.0005, resolution_a=0.0001))
        (tmp_path / f"{name}.csv").write_bytes(raw)
        logs += [f"--{name}", str(tmp_path / f"{name}.csv")]
    saved, page = tmp_path / "saved.json", tmp_path / "job.html"
    main([command, str(example), *logs, "--save", str(saved)])
    assert "FAIL" in capsys.readouterr().out
    retest = tmp_path / "retest.json"
    retest.write_text(
        json.dumps({"done": "new unit", "after": {"settled_a": 0.0355, "uncertainty_a": 0.0002,
                    "mean_a": 0.049, "minutes_after_key_off": 60}}), "utf-8"
    )  # fmt: skip
    main([command, str(saved), "--retest", str(retest), "--save", str(saved), "--sheet", str(page)])
    out = capsys.readouterr().out
    assert out.startswith("PASS")
    assert "first test" in out
    assert "new unit" in out
    assert "retest 1" in page.read_text("utf-8")
    assert len(json.loads(saved.read_text("utf-8"))["retests"]) == 1


@pytest.mark.parametrize("command", ["complaint"])
def test_a_complaint_takes_logs(
    command: str, example: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The vehicle's draw of the log is the one the odds rest on."""
    path = tmp_path / "before.csv"
    path.write_bytes(as_csv(*parked_log(settled_a=0.02, noise_a=0.0005, resolution_a=0.0001)))
    assert main([command, str(example), "--before", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    # 0.45 A for 20 s of every 600 s above 20 mA.
    assert found["vehicle_mean_a"] == pytest.approx(0.02 + 0.43 * 20 / 600, rel=0.05)


def test_a_log_says_what_wake_ups_cost(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In words and in JSON alike."""
    path = tmp_path / "log.csv"
    path.write_bytes(as_csv(*parked_log()))
    assert main(["current-log", str(path)]) == 0
    assert "% of the drain; without them" in " ".join(capsys.readouterr().out.split())
    assert main(["current-log", str(path), "--json"]) == 0
    cost = json.loads(capsys.readouterr().out)["wake_up_cost"]
    assert cost["days_without"] > cost["days_with"]


def test_german_verdicts_stand_apart_from_what_they_are_of(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Long words of a language do not run into the next column; a retest that is open is no FAIL.

    A meter in steps of 10 mA cannot tell 5 mA: "nicht zu sagen".
    """
    assert main(["acceptance", "--example"]) == 0
    record = json.loads(capsys.readouterr().out)
    record["meter"] = {"kind": "clamp", "resolution_a": 0.01, "accuracy_percent": 2, "counts": 1}
    record["retests"] = [{"date": "2026-12-02", "after": record["after"]}]
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record), "utf-8")
    assert main(["acceptance", str(path), "--lang", "de"]) == 1
    told = capsys.readouterr().out
    assert "NICHT ZU SAGEN Stromaufnahme" in told
    assert "NICHT ZU SAGEN Nachprüfung 1" in told
    assert "nicht bestanden" not in told
    assert "vorgesehen 36 Tage" in told or "vorgesehen  " in told
    assert re.search(r"auf 0,\d mA\s+genau", told)
