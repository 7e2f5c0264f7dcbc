"""`drainsim forecast`: the morning list, its files, and the state between mornings."""

import csv
import datetime as dt
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from drainsim.answers.readings.history.stands import LATER
from drainsim.answers.readings.posterior.fault import FOUND_FROM
from drainsim.cli.main import main
from tests.readings_build import LAST, after, before, readings_csv

Run = Callable[..., tuple[int, str, str]]
FEW = ["--draws", 100, "--workers", 1]
LIST = "id;capacity_ah;engine_litres\nVA-1;60;1,6\nVA-2;60;1,6\nVA-9;70;2,0\n"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a function that runs the command here and gives (exit code, stdout, stderr)."""

    def command(*words: object) -> tuple[int, str, str]:
        try:
            code = main(["forecast", *(str(word) for word in words)])
        except SystemExit as stop:  # argparse's own way out
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return command


@pytest.fixture(scope="module")
def text() -> str:
    """Return three vehicles' readings, the last with a fault."""
    return readings_csv()


@pytest.fixture
def file(tmp_path: Path, text: str) -> Path:
    """Write them to a file."""
    path = tmp_path / "readings.csv"
    path.write_text(text, "utf-8")
    return path


def by_id(out: str) -> dict[str, dict[str, Any]]:
    """Return a printed answer's vehicles by their ids."""
    return {vehicle["id"]: vehicle for vehicle in json.loads(out)["vehicles"]}


def test_the_faulty_vehicle_is_named_with_its_range(run: Run, file: Path) -> None:
    """And only that one, with a unit behind every number, in lines of 80 letters."""
    code, out, err = run(file, *FEW)
    assert (code, err) == (0, "")
    found = out[out.index("Newly abnormal drain") : out.index("Silent or unreadable")]
    assert "VA-3: draws" in found
    assert "mA (8 in 10:" in found
    assert "VA-1" not in found
    assert found.count("Voltage cannot tell which circuit") == 1
    for title in ("Act today (2026-11-18)", "Changed since yesterday", "How earlier forecasts"):
        assert title in out


def test_lines_fit_a_terminal(run: Run, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """80 columns where the terminal has so many."""
    monkeypatch.setenv("COLUMNS", "80")
    assert max(map(len, run(file, *FEW)[1].splitlines())) <= 80


def test_json_holds_what_the_words_say(run: Run, file: Path) -> None:
    """Ids are the file's own, times ISO, shares between 0 and 1, ranges in order."""
    code, out, _ = run(file, *FEW, "--json")
    answer = json.loads(out)
    assert code == 0
    vehicles = by_id(out)
    assert list(vehicles) == ["VA-1", "VA-2", "VA-3"]
    for vehicle in vehicles.values():
        assert dt.datetime.fromisoformat(vehicle["parked_since"]) < LAST
        for key in ("charge", "drain_a"):
            assert vehicle[key]["p10"] <= vehicle[key]["p50"] <= vehicle[key]["p90"]
        assert 0.0 <= vehicle["charge"]["p50"] <= 1.0
        assert vehicle["readings_used"] == 24 * 24
    assert vehicles["VA-3"]["extra_drain"]["probability"] >= FOUND_FROM
    assert vehicles["VA-1"]["extra_drain"]["probability"] < FOUND_FROM
    assert answer["now"] == f"{LAST:%Y-%m-%dT%H:%M:%SZ}"
    assert answer["back_test"]["voltage_7_days"]["count"] > 0


def test_a_morning_before_sees_nothing_of_what_came_later(
    run: Run, file: Path, text: str, tmp_path: Path
) -> None:
    """`--now` answers as a file would that ended then; what came later is told as set aside."""
    then = LAST - dt.timedelta(days=4)
    short = tmp_path / "short.csv"
    short.write_text(before(text, then), "utf-8")
    now = ["--now", f"{then:%Y-%m-%dT%H:%M:%SZ}", *FEW, "--json"]
    whole, cut = (json.loads(run(one, *now)[1])["vehicles"] for one in (file, short))
    for vehicle in whole:
        (later,) = (one for one in vehicle["set_aside"] if one["reason"] == LATER)
        vehicle["set_aside"].remove(later)
        assert later["rows"] == 4 * 24
        assert later["from"] > f"{then:%Y-%m-%dT%H:%M:%SZ}"
    assert whole == cut


def test_a_fleet_list_is_matched_by_id(run: Run, file: Path, tmp_path: Path) -> None:
    """A vehicle in one file but not the other is told, in words and in JSON."""
    listed = tmp_path / "fleet.csv"
    listed.write_text(LIST, "utf-8")
    code, out, _ = run(file, *FEW, "--vehicles", listed)
    assert code == 0
    assert "In the readings, not in the list: VA-3" in out
    assert "In the list, without readings: VA-9" in out
    answer = json.loads(run(file, *FEW, "--vehicles", listed, "--json")[1])
    assert (answer["not_in_list"], answer["without_readings"]) == (["VA-3"], ["VA-9"])


def test_the_next_morning_reads_only_new_rows(run: Run, text: str, tmp_path: Path) -> None:
    """With the state of the morning before, the answer is that of a run from the beginning.

    Also where the whole file is given again, rows without a time and zeros among them.
    """
    then = LAST - dt.timedelta(days=2)
    odd = "VA-1,soon,12.4,0\n"
    zeros = [f"VA-2,{LAST - dt.timedelta(hours=h):%Y-%m-%dT%H:59:00Z},0,\n" for h in (70, 50, 30)]
    all_rows = text + "".join(zeros)
    old, new, whole = (tmp_path / name for name in ("old.csv", "new.csv", "whole.csv"))
    old.write_text(before(all_rows, then) + odd, "utf-8")
    new.write_text(after(all_rows, then), "utf-8")
    whole.write_text(all_rows + odd, "utf-8")
    state = tmp_path / "morning.json"
    expected = by_id(run(whole, *FEW, "--json")[1])
    assert sum(len(vehicle["set_aside"]) for vehicle in expected.values()) == 2
    for again in (new, whole):
        state.unlink(missing_ok=True)
        assert run(old, *FEW, "--state", state)[0] == 0
        assert by_id(run(again, *FEW, "--state", state, "--json")[1]) == expected


@pytest.mark.parametrize("content", ["", "{}", '{"format": 1, "battery": {}}', "id,ah\na,60\n"])
def test_a_foreign_state_is_one_sentence_and_stays(
    run: Run, file: Path, tmp_path: Path, content: str
) -> None:
    """The file that was named by mistake is not written over."""
    state = tmp_path / "other.json"
    state.write_text(content, "utf-8")
    code, out, err = run(file, *FEW, "--state", state)
    assert (code, out) == (2, "")
    assert "not a forecast state" in err
    assert state.read_text("utf-8") == content


def test_all_results_in_a_folder(run: Run, text: str, tmp_path: Path) -> None:
    """Tables come as the readings came: semicolons and decimal commas, or a workbook."""
    path = tmp_path / "r.csv"
    path.write_text(text.replace(",", ";").replace(".", ","), "utf-8")
    run(path, *FEW, "--out", tmp_path / "o")
    names = {file.name for file in (tmp_path / "o").iterdir()}
    assert names == {
        "morning.csv", "vehicles.csv", "set_aside.csv", "summary.json", "manifest.json"
    }  # fmt: skip
    written = (tmp_path / "o" / "vehicles.csv").read_text("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(written), delimiter=";"))
    assert [row["id"] for row in rows] == ["VA-1", "VA-2", "VA-3"]
    assert 0.0 < float(rows[0]["charge"].replace(",", ".")) < 1.0
    assert "," in rows[0]["charge"]
    summary = json.loads((tmp_path / "o" / "summary.json").read_text("utf-8"))
    assert summary["vehicles"] == 3
    assert summary["extra_drain"] == ["VA-3"]
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(text)):
        book.active.append(row)
    book.save(tmp_path / "r.xlsx")
    run(tmp_path / "r.xlsx", *FEW, "--out", tmp_path / "x")
    sheet = openpyxl.load_workbook(tmp_path / "x" / "vehicles.xlsx").active
    assert [cell.value for cell in sheet["A"]][1:] == ["VA-1", "VA-2", "VA-3"]


def test_exit_codes(run: Run, file: Path, text: str, tmp_path: Path) -> None:
    """0 an answer, 1 with --check where someone must act, 2 bad input, 3 rows of no vehicle."""
    assert run(file, *FEW)[0] == 0
    empty = readings_csv(vehicles=1, days=20, parked_days=18, extra_a=1.5)
    (tmp_path / "e.csv").write_text(empty, "utf-8")
    assert run(tmp_path / "e.csv", *FEW, "--check")[0] == 1
    (tmp_path / "odd.csv").write_text(f"{text},2026-11-01T10:00:00Z,12.4,0\n", "utf-8")
    code, out, _ = run(tmp_path / "odd.csv", *FEW)
    assert code == 3
    assert "no vehicle is named in this row" in " ".join(out.split())
    for words in (
        ["none.csv"],
        [file, "--now", "yesterday"],
        [file, "--now", "2026-11-18T06:00"],
        [file, "--zone", "Nowhere"],
        [file, "--risk", "2"],
        [file, "--draws", "7"],
    ):
        code, out, err = run(*words)
        assert (code, out) == (2, ""), words
        assert err.startswith("drainsim: ")
        assert err.count("\n") == 1
