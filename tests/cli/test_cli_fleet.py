"""`drainsim fleet`: answers, files, and one clear sentence for everything that is not a list."""

import csv
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from drainsim.cli.main import main
from drainsim.files.fleet.example import example_list
from tests.fleet_build import MIXED, TODAY, answer_to, workbook

Run = Callable[..., tuple[int, str, str]]
FEW = ["--today", TODAY, "--ahead", 60, "--draws", 100, "--workers", 1]
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a function that runs a command here and gives (exit code, stdout, stderr)."""

    def command(*words: object) -> tuple[int, str, str]:
        try:
            code = main([str(word) for word in words])
        except SystemExit as stop:  # argparse's own way out
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return command


@pytest.fixture
def mixed(tmp_path: Path) -> Path:
    """Write the mixed list to a file."""
    path = tmp_path / "fleet.csv"
    path.write_text(MIXED, encoding="utf-8")
    return path


def test_the_example_runs_as_it_is_printed(run: Run, tmp_path: Path) -> None:
    """`--example` prints a list that the command itself answers, mistakes told."""
    code, out, err = run("fleet", "--example")
    assert (code, err) == (0, "")
    assert out == example_list().decode("utf-8-sig")
    path = tmp_path / "example.csv"
    path.write_text(out, encoding="utf-8")
    code, out, err = run("fleet", path, *FEW, "--no-actions")
    assert (code, err) == (3, "")
    assert "vehicles answered" in out
    assert "Kept aside, to be corrected" in out
    assert "no-starts expected" in out


def test_json_is_the_answer(run: Run, mixed: Path) -> None:
    """The same figures as in Python, and every vehicle with its action."""
    code, out, err = run("fleet", mixed, *FEW, "--json", "--on", "2026-12-24")
    assert (code, err) == (0, "")
    document = json.loads(out)
    answer = answer_to(MIXED, dates=(TODAY.replace(month=12, day=24),))
    assert document["on_dates"] == answer.as_dict()["on_dates"]
    assert [v["id"] for v in document["vehicles"]] == [v.id for v in answer.vehicles]
    assert document["vehicles_answered"] == 10
    assert sum(document["actions"].values()) == sum(bool(v["action"]) for v in document["vehicles"])
    assert document["to_correct"] == []


def test_out_writes_every_file(run: Run, tmp_path: Path) -> None:
    """Vehicles, rows to correct, summary, calendar and action list; answered + kept = rows."""
    path = tmp_path / "fleet.csv"
    path.write_text(MIXED + "k;north;flooded;sixty\nl;north;flooded;60\na;again\n", "utf-8")
    out_dir = tmp_path / "new" / "results"
    code, out, err = run("fleet", path, *FEW, "--out", out_dir, "--call-out-price", 150)
    assert (code, err) == (3, f"written to {out_dir}\n")
    assert sorted(file.name for file in out_dir.iterdir()) == [
        "act_by.ics", "action_list.html", "columns.json", "manifest.json", "summary.json",
        "to_correct.csv", "understood.csv", "vehicles.csv",
    ]  # fmt: skip
    vehicles = list(
        csv.DictReader(
            (out_dir / "vehicles.csv").read_text("utf-8-sig").splitlines(), delimiter=";"
        )
    )
    aside = (out_dir / "to_correct.csv").read_text("utf-8-sig").splitlines()[1:]
    assert (len(vehicles), len(aside)) == (11, 2)
    summary = json.loads((out_dir / "summary.json").read_text("utf-8"))
    assert summary["vehicles_answered"] == 11
    assert summary["rows_to_correct"] == 2
    day = summary["on_dates"][0]
    assert day["expected_cost"] == pytest.approx(150 * day["expected_no_starts"], abs=0.1)
    assert "in call-outs" in out
    assert "row 12, column capacity_ah: 'sixty' is not a number" in out


def test_a_what_if_for_all_is_told_as_before_and_after(run: Run, mixed: Path) -> None:
    """Told like "7.2 -> 4.1": half the quiescent current for every vehicle."""
    code, out, _ = run("fleet", mixed, *FEW, "--no-actions", "--set", "vehicle.quiescent_a=0.01")
    assert code == 0
    line = [line for line in out.splitlines() if "->" in line][-1]
    assert "with vehicle.quiescent_a=0.01" in line
    before, after = line.split(": ")[-1].rstrip(".").split(" -> ")
    assert float(after) < float(before)


def test_a_workbook_and_chosen_columns(run: Run, tmp_path: Path) -> None:
    """XLSX works as CSV does; headings can be mapped and left out."""
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(workbook([["Ref", "Power (kW)", "ah"], ["a", 90, 60]], sheets=["old"]))
    code, out, _ = run("fleet", path, *FEW, "--column", "Ref=id", "--column", "ah=")
    assert code == 0
    assert "Columns not used: Power (kW), ah" in out
    assert "Sheets not read: old" in out


WRONG: dict[str, tuple[bytes | None, str]] = {
    "missing": (None, "no such file"),
    "empty": (b"", "empty; a heading row"),
    "binary": (bytes(range(256)) * 10, "not a text file"),
    "no id": (b"colour,wheels\nred,4\n", "no column names the vehicles"),
    "bad workbook": (b"PK\x03\x04" + b"x" * 50, "not a readable XLSX"),
}


def one_sentence(result: tuple[int, str, str], says: str) -> None:
    """Assert exit 2, nothing on stdout, one line on stderr."""
    code, out, err = result
    assert (code, out) == (2, "")
    assert err.startswith("drainsim: ")
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert says in err


@pytest.mark.parametrize("name", WRONG)
def test_unusable_lists_are_one_sentence_and_exit_2(run: Run, tmp_path: Path, name: str) -> None:
    """The file is named with what would be right."""
    content, says = WRONG[name]
    path = tmp_path / "list.csv"
    if content is not None:
        path.write_bytes(content)
    result = run("fleet", path, *FEW)
    one_sentence(result, says)
    assert str(path) in result[2]


def test_a_folder_and_a_file_of_100_mb(run: Run, tmp_path: Path) -> None:
    """Neither is opened."""
    one_sentence(run("fleet", tmp_path, *FEW), "this is a folder")
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        file.truncate(100_000_000)
    one_sentence(run("fleet", large, *FEW), "100 MB is too large")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--risk", "0"], "between 0 and 1"),
        (["--risk", "2"], "between 0 and 1"),
        (["--ahead", "400"], "outside 1 to 365"),
        (["--draws", "99"], "100 to 2000"),
        (["--until", "0"], "between 1 and 60"),
        (["--on", "2020-01-01"], "is not within 60 days"),
        (["--workers", "0"], "from 1 to 61"),
        (["--column", "depot"], "write it as HEADING=COLUMN"),
        (["--column", "nope=id"], "no column 'nope'"),
        (["--column", "depot=colour"], "'colour' is not one of id"),
        (["--set", "unit.reporting=24"], "unknown"),
        (["--set", "battery.age_years=-1"], "outside 0 to"),
        (["--depot-weather", "north"], "write it as DEPOT=FILE"),
        (["--call-out-price", "-5"], "must not be negative"),
    ],
)
def test_wrong_options_are_one_sentence(run: Run, mixed: Path, words: list[str], says: str) -> None:
    """What was given and what would be right."""
    one_sentence(run("fleet", mixed, *FEW, *words), says)


def test_a_doubt_is_asked_and_its_saved_answer_used_again(run: Run, tmp_path: Path) -> None:
    """The option told answers it, --out saves the answer, --columns brings it back."""
    path, out_dir = tmp_path / "list.csv", tmp_path / "out"
    path.write_text("Fahrzeug;Ruhestrom\na;2\nb;3\n", "utf-8")
    code, out, _ = run("fleet", path, *FEW, "--no-actions")
    assert (code, out.split("\n")[0].split(":")[0]) == (3, "Asked")
    option = "--column 'Ruhestrom=quiescent_a [mA]'"
    assert option in " ".join(out.split())
    words = ["--column", "Ruhestrom=quiescent_a [mA]", "--out", out_dir]
    code, out, _ = run("fleet", path, *FEW, "--no-actions", *words)
    assert (code, "Asked" in out, "2 vehicles answered" in out) == (0, False, True)
    understood = (out_dir / "understood.csv").read_text("utf-8-sig")
    assert "a,quiescent_a,0.002,A,cell,2,Ruhestrom" in understood
    saved = ["--columns", out_dir / "columns.json"]
    code, again, _ = run("fleet", path, *FEW, "--no-actions", *saved)
    assert again == out
    path.write_text("Fahrzeug;Ah\na;70\n", "utf-8")
    code, _, err = run("fleet", path, *FEW, "--no-actions", *saved)
    assert (code, err.count("\n")) == (0, 1)
    assert "not in this list: Ruhestrom" in err
    code, out, _ = run("age", path, "--json", *saved)
    assert code == 0


def test_no_list_at_all(run: Run) -> None:
    """The way to an example is named."""
    one_sentence(run("fleet"), "--example")


def test_a_depot_weather_file_that_is_missing_is_told_per_row(run: Run, mixed: Path) -> None:
    """Its vehicles are kept aside with the reason, the others answered."""
    code, out, _ = run("fleet", mixed, *FEW, "--no-actions", "--depot-weather", "north=none.csv")
    assert code == 3
    assert "none.csv" in out
    assert "6 vehicles answered" in out


def test_a_folder_that_cannot_be_written(run: Run, mixed: Path, tmp_path: Path) -> None:
    """One sentence, although the answer was ready."""
    (tmp_path / "file").write_text("", "utf-8")
    one_sentence(run("fleet", mixed, *FEW, "--out", tmp_path / "file" / "x"), "cannot be made")


@pytest.mark.nightly  # by day: two processes in test_fleet.py, a real one in test_cli.py
def test_it_runs_from_any_folder_on_all_cores(tmp_path: Path) -> None:
    """As a user would: a real process, worker processes, 450 rows from standard tools."""
    head, *rows = MIXED.splitlines()
    path = tmp_path / "fleet.csv"
    path.write_text("\n".join([head, *(f"{n}-{r}" for n in range(41) for r in rows)]), "utf-8")
    done = subprocess.run(
        [
            *(sys.executable, "-m", "drainsim", "fleet", "fleet.csv", "--no-actions", "--json"),
            *f"--today {TODAY} --ahead 60 --draws 100 --workers 2".split(),
        ],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["vehicles_answered"] == 410


def test_results_come_in_the_convention_of_the_list(run: Run, mixed: Path, tmp_path: Path) -> None:
    """Semicolons and decimal commas in, the same out; a workbook in, workbooks out."""
    out = tmp_path / "out"
    assert run("fleet", mixed, *FEW, "--no-actions", "--out", out)[0] == 0
    text = (out / "vehicles.csv").read_text("utf-8-sig")
    rows = list(csv.DictReader(text.splitlines(), delimiter=";"))
    shares = [row["charge_today"] for row in rows]
    assert all("." not in share for share in shares)
    assert any("," in share for share in shares)
    assert all(0.0 <= float(share.replace(",", ".")) <= 1.0 for share in shares)
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(workbook([["id", "capacity_ah"], ["a", 60], ["b", "sixty"]]))
    books = tmp_path / "books"
    assert run("fleet", path, *FEW, "--no-actions", "--out", books)[0] == 3
    names = {file.name for file in books.iterdir()}
    assert {"vehicles.xlsx", "to_correct.xlsx"} <= names
    assert not {"vehicles.csv", "to_correct.csv"} & names


def test_what_was_done_is_read_back(run: Run, mixed: Path, tmp_path: Path) -> None:
    """Fill in done_on in one run's result, give it to the next: the risk is what was promised."""
    out = tmp_path / "out"
    code, _, err = run("fleet", mixed, *FEW, "--out", out)
    assert (code, err) == (0, f"written to {out}\n")
    path = out / "vehicles.csv"
    heading, *rows = list(csv.reader(path.read_text("utf-8-sig").splitlines(), delimiter=";"))
    step, done_on = heading.index("step"), heading.index("done_on")
    first = next(row for row in rows if row[step] == "maintainer")
    first[done_on] = str(TODAY)
    lines = [";".join(f'"{cell}"' for cell in row) for row in (heading, *rows)]
    path.write_text("\n".join(lines), encoding="utf-8")
    day = first[heading.index("risk_of")]
    words = ["--json", "--no-actions", "--on", day]
    code, text, err = run("fleet", mixed, *FEW, "--done", path, *words)
    assert (code, err) == (0, "")
    (vehicle,) = (v for v in json.loads(text)["vehicles"] if v["id"] == first[0])
    before, after = (
        float(first[heading.index(name)].replace(",", "."))
        for name in ("risk_before", "risk_after")
    )
    assert after < before
    assert vehicle["risk_on_dates"] == [after]


def test_limits_of_a_depot_make_a_plan(run: Run, mixed: Path, tmp_path: Path) -> None:
    """Printed, in the JSON and as a table; a depot that is not there is a sentence."""
    out = tmp_path / "out"
    words = ["fleet", mixed, *FEW, "--chargers", "north=1", "--people", "yard=1"]
    code, text, err = run(*words, "--hour-price", 40, "--call-out-price", 150, "--out", out)
    assert (code, err) == (0, f"written to {out}\n")
    assert "Plan: " in text
    assert "Acting costs" in text
    assert (out / "work_plan.csv").is_file()
    code, text, _ = run(*words, "--json")
    assert len(json.loads(text)["work_plan"]["jobs"]) == sum(json.loads(text)["actions"].values())
    one_sentence(run("fleet", mixed, *FEW, "--chargers", "nroth=1"), "no such depot")
    one_sentence(run("fleet", mixed, *FEW, "--chargers", "north=two"), "whole number")


def test_the_headline_counts_what_the_list_has(run: Run, tmp_path: Path) -> None:
    """Rows kept aside stand beside the vehicles answered; no return is counted where none is given.

    "nächste Miete" is a hire firm's next trip, "offen" leaves it open (German words, from memory).
    """
    path = tmp_path / "list.csv"
    rows = ["id;Ah;quiescent_a;nächste Miete", "a;60;0,03;offen", "b;60;0,03;", "c;sechzig;0,03;"]
    path.write_text("\n".join(rows), encoding="utf-8")
    code, out, _ = run("fleet", path, *FEW, "--no-actions")
    assert code == 3
    assert "2 vehicles answered" in out
    assert "1 row is kept aside, to be corrected: it is not in this answer." in out
    assert "planned return" not in out.partition("Understood:")[0]
    path.write_text("\n".join([*rows, "d;60;0,03;20.12.2026"]), encoding="utf-8")
    assert "of them before the planned return." in run("fleet", path, *FEW, "--no-actions")[1]


def test_what_is_done_is_told_and_several_weeks_go_together(run: Run, tmp_path: Path) -> None:
    """A step of the first week still counts in the third; one in both files counts once."""
    path = tmp_path / "list.csv"
    path.write_text("id;Ah;quiescent_a;parked\na;60;0,03;2026-11-01\nb;60;0,03;2026-11-01\n")
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    first.write_text("id;step;done_on\na;charge_full;2026-11-10\n")
    second.write_text("id;step;done_on\na;charge_full;2026-11-10\nb;charge_full;2026-11-20\n")
    words = ["fleet", path, *FEW, "--no-actions", "--done", first, "--done", second]
    code, out, _ = run(*words)
    assert code == 0
    assert "Goes on from 2 steps marked as done: a, b." in out
    document = json.loads(run(*words, "--json")[1])
    charge = {vehicle["id"]: vehicle["charge_today"] for vehicle in document["vehicles"]}
    assert charge["b"] > charge["a"] > 0.6  # unmarked it is 0.85 less 24 days of 36 mA: 0.5


def test_tables_speak_the_language_of_the_pages(run: Run, tmp_path: Path) -> None:
    """Sentences in the yard's language, headings and steps as they are for `--done`."""
    path, out = tmp_path / "list.csv", tmp_path / "out"
    path.write_text("id;depot;Ah;quiescent_a;parked\na;Kiel;60;0,06;2026-11-01\n")
    words = ["fleet", path, *FEW, "--out", out, "--chargers", "Kiel=1", "--lang", "de"]
    assert run(*words)[0] == 0
    for name in ("vehicles.csv", "work_plan.csv"):
        with (out / name).open(encoding="utf-8-sig") as file:
            (row,) = csv.DictReader(file, delimiter=";")
        assert row["id"] == "a"
        assert "voll laden" in row["action"] or "Erhaltungslader" in row["action"]
        assert "Person" in row["takes"]
        assert "person" not in row["takes"]
    plan = out / "work_plan.csv"  # filled in, it says what was done
    text = plan.read_text("utf-8-sig")
    (marked,) = csv.DictReader(text.splitlines(), delimiter=";")
    step = f";{marked['step']};"
    plan.write_text(text.replace(step, f"{step}2026-11-24", 1), "utf-8-sig")
    assert "Goes on from 1 step" in run("fleet", path, *FEW, "--done", plan)[1]
    with (out / "vehicles.csv").open(encoding="utf-8-sig") as file:
        (row,) = csv.DictReader(file, delimiter=";")
    assert row["step"] in {"charge_full", "maintainer", "charge_full+storage_mode"}
    assert "Ruhestrom" in row["cause"]
    assert len(row["days_left_p50"].partition(",")[2]) <= 1


def test_brief_is_the_answer(run: Run, tmp_path: Path) -> None:
    """What a list leaves open fills no line of the five: who needs someone is among them."""
    path = tmp_path / "list.csv"
    path.write_text("id;Ruhespannung;parked;Fahrten\na;12,4;2026-11-01;7\nb;x;;3\n", "utf-8")
    code, out, _ = run("fleet", path, *FEW, "--no-actions", "--brief")
    assert code == 3
    lines = out.splitlines()
    assert len(lines) == 5
    assert lines[0].startswith("1 vehicle answered")
    assert "needs someone today" in out or "need someone today" in out
    whole = run("fleet", path, *FEW, "--no-actions")[1]
    assert "fewer than half" in whole
