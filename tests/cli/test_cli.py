"""The command line: answers, and one clear sentence for everything that is not one."""

import csv
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from drainsim.answers.standing.park import park
from drainsim.cli.dashboard import app_file, settings
from drainsim.cli.main import main
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import read_scenario
from tests.build import DRAWS

Run = Callable[..., tuple[int, str, str]]
FEW = ["--set", f"run.draws={DRAWS}"]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a function that runs a command here and gives (exit code, stdout, stderr)."""

    def command(*words: str | Path) -> tuple[int, str, str]:
        try:
            code = main([str(word) for word in words])
        except SystemExit as stop:  # argparse's own way out
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return command


@pytest.fixture
def scenario(tmp_path: Path) -> Callable[[str], Path]:
    """Return a function that writes a scenario file."""

    def write(text: str, name: str = "vehicle.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def in_a_process(*words: str | Path, cwd: Path, **extra: str) -> subprocess.CompletedProcess[str]:
    """Run `python -m drainsim` from another folder, as a user would."""
    root = str(Path(__file__).resolve().parents[2])
    return subprocess.run(
        [sys.executable, "-m", "drainsim", *map(str, words)],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": root, **extra},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_capacity_alone_answers_and_lists_its_assumptions(run: Run, scenario: Any) -> None:
    """`[battery] capacity_ah = 60` gives days, a range, and where every value came from."""
    path = scenario("[battery]\ncapacity_ah = 60\n")
    code, out, err = run("park", path, "--verbose", *FEW)
    assert (code, err) == (0, "")
    assert out.startswith("Expect a no-start after about ")
    few = run("park", path, *FEW)[1]
    assert "battery.capacity_ah = 60 Ah (given)" in few
    assert "vehicle.quiescent_a = 0.04 A (default" in few  # it moves the answer
    left = re.search(r"and (\d+) usual values: --verbose lists them", few)
    assert left is not None
    case = resolve(read_scenario(scenario("[battery]\ncapacity_ah = 60\n")))
    for item in case.assumptions:
        spread = item.name.removeprefix("uncertainty.")
        shown = f"  {item.name} = " in few
        assert shown or int(left[1]) > 0
        assert item.origin != "given" or shown or spread != item.name
        assert (f" {spread} " if spread != item.name else f"  {item.name} = ") in out
    assert "battery.capacity_ah = 60 Ah (given)" in out
    assert "vehicle.quiescent_a = 0.04 A (default" in out
    for label in ("Drain budget", "measure next", "What temperature does", "limited by"):
        assert label in out


def test_python_dash_m_prints_what_main_prints(run: Run, scenario: Any, tmp_path: Path) -> None:
    """The module, run in a process from another folder, gives the same text."""
    path = scenario("[battery]\ncapacity_ah = 60\n")
    process = in_a_process("park", path, *FEW, cwd=tmp_path)
    assert (process.returncode, process.stderr) == (0, "")
    assert process.stdout == run("park", path, *FEW)[1]


def promised_keys(answer: dict[str, Any]) -> None:
    """Assert that the keys scripts rely on are there, with their kinds."""
    number = {"type": ["number", "null"]}
    days = dict.fromkeys(("p50", "p10", "p90", "nominal", "at_start_hour_p50"), number)
    parts = ("vehicle", "unit", "self_discharge", "other", "total")
    ends = ("days_to_half_charge", "days_to_unit_off", "days_to_freezing")
    properties = {
        "days_to_no_start": {"type": "object", "properties": days, "required": list(days)},
        "horizon_days": {"type": "integer"},
        "probability_no_start": {
            "type": "array",
            "minItems": answer["horizon_days"] + 1,
            "maxItems": answer["horizon_days"] + 1,
            "items": {"type": "number", "minimum": 0, "maximum": 1},
        },
        **dict.fromkeys(ends, number),
        "budget_ah_per_day": {
            "type": "object",
            "properties": {part: {"type": "number"} for part in parts},
            "required": list(parts),
        },
        "assumptions": {
            "type": "array",
            "minItems": 20,
            "items": {"type": "object", "required": ["name", "value", "unit", "origin", "source"]},
        },
        "warnings": {"type": "array", "items": {"type": "string"}},
        "most_influential": {
            "type": "array",
            "items": {"type": "object", "required": ["name", "swing_days", "measure_next"]},
        },
    }
    jsonschema.validate(
        answer, {"type": "object", "properties": properties, "required": list(properties)}
    )


def test_json_holds_every_promised_key_and_the_same_numbers(run: Run, scenario: Any) -> None:
    """--json is one document with the promised keys; parts of the budget sum to its total."""
    path = scenario("[battery]\ncapacity_ah = 60\n[unit]\npreset = 'hourly'\n")
    code, out, err = run("park", path, "--json", *FEW)
    assert (code, err) == (0, "")
    answer = json.loads(out)
    promised_keys(answer)
    budget = answer["budget_ah_per_day"]
    parts = (budget[part] for part in ("vehicle", "unit", "self_discharge", "other"))
    assert sum(parts) == pytest.approx(budget["total"], abs=1e-12)
    found = park(resolve(read_scenario(path).with_values({"run.draws": DRAWS})))
    assert answer["days_to_no_start"]["p50"] == found.days_to_no_start.p50
    assert answer["days_to_no_start"]["nominal"] == found.nominal_days
    assert answer["days_to_no_start"]["p90"] == found.days_to_no_start.p90


def test_json_says_null_for_not_within_the_horizon(run: Run, scenario: Any) -> None:
    """A stand that outlasts the horizon is null, never the horizon's number."""
    path = scenario("[battery]\ncapacity_ah = 60\n[run]\nhorizon_days = 5\n")
    answer = json.loads(run("park", path, "--json", *FEW)[1])
    promised_keys(answer)
    assert answer["days_to_no_start"]["nominal"] is None
    assert answer["days_to_no_start"]["p50"] is None
    assert answer["days_to_no_start"]["at_start_hour_p50"] is None
    assert answer["horizon_days"] == 5
    assert "more than 5 days" in run("park", path, *FEW)[1]


def test_the_daily_course_is_written_as_csv(run: Run, scenario: Any, tmp_path: Path) -> None:
    """--csv writes a row a day beside the printed answer."""
    target = tmp_path / "course.csv"
    path = scenario("[battery]\ncapacity_ah = 60\n[run]\nhorizon_days = 30\n")
    code, out, _ = run("park", path, "--csv", target, *FEW)
    assert code == 0
    assert out
    with target.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["day"]) for row in rows] == list(range(31))
    assert float(rows[0]["state_of_charge"]) > float(rows[30]["state_of_charge"])


@pytest.mark.parametrize("target", ["gone/course.csv", "."])
def test_a_csv_that_cannot_be_written_is_one_sentence(
    run: Run, scenario: Any, tmp_path: Path, target: str
) -> None:
    """A missing folder, or a folder in place of the file, is exit 2, and nothing is left behind."""
    path = scenario("[battery]\ncapacity_ah = 60\n")
    before = sorted(tmp_path.iterdir())
    code, _, err = run("park", path, "--csv", tmp_path / target, *FEW)
    assert code == 2
    assert "cannot be written" in err
    assert sorted(tmp_path.iterdir()) == before


def test_set_changes_one_value_of_the_file(run: Run, scenario: Any) -> None:
    """--set gives what the file with that value gives."""
    plain = scenario("[battery]\ncapacity_ah = 60\n")
    older = scenario("[battery]\ncapacity_ah = 60\nage_years = 6\n", "older.toml")
    changed = run("park", plain, "--json", "--set", "battery.age_years=6", *FEW)[1]
    assert json.loads(changed) == json.loads(run("park", older, "--json", *FEW)[1])
    assert json.loads(changed) != json.loads(run("park", plain, "--json", *FEW)[1])


def test_the_example_answers_when_piped_back(run: Run, scenario: Any) -> None:
    """`drainsim scenario --example` is a file `drainsim park` takes."""
    code, example, _ = run("scenario", "--example")
    assert code == 0
    code, out, err = run("park", scenario(example), "--json", *FEW)
    assert (code, err) == (0, "")
    answer = json.loads(out)
    promised_keys(answer)
    origins = {item["name"]: item["origin"] for item in answer["assumptions"]}
    assert origins["battery.capacity_ah"] == "given"
    assert origins["unit.preset"] == "given"


def test_the_schema_is_printed_and_accepts_the_example(run: Run) -> None:
    """`drainsim scenario --schema` is a JSON Schema."""
    code, out, _ = run("scenario", "--schema")
    assert code == 0
    jsonschema.Draft202012Validator.check_schema(json.loads(out))
    jsonschema.validate({"battery": {"capacity_ah": 60}}, json.loads(out))


def test_profiles_are_listed_with_their_sources(run: Run) -> None:
    """The list names types and presets; the JSON form carries value, source and grade."""
    code, out, _ = run("profiles")
    assert code == 0
    for word in ("flooded_calcium", "agm", "hourly", "temperate", "compact_petrol"):
        assert f"  {word} " in out
    document = json.loads(run("profiles", "--json")[1])
    for profile in document["battery_profiles"].values():
        for figure in profile["figures"].values():
            assert figure["source"]
            assert figure["grade"]


def test_a_users_folder_of_profiles_is_used(
    run: Run, scenario: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--profiles and DRAINSIM_PROFILES both make an own battery type known."""
    from drainsim.files.profile import list_profiles

    folder = tmp_path / "mine"
    folder.mkdir()
    text = list_profiles()["agm"].read_text("utf-8")
    (folder / "big_van.toml").write_text(text, encoding="utf-8")
    path = scenario("[battery]\nprofile = 'big_van'\ncapacity_ah = 60\n")
    code, _, err = run("park", path, *FEW)
    assert code == 2
    assert "big_van" in err
    assert run("park", path, "--profiles", folder, *FEW)[0] == 0
    assert "big_van" in run("profiles", "--profiles", folder)[1]
    monkeypatch.setenv("DRAINSIM_PROFILES", str(folder))
    assert run("park", path, *FEW)[0] == 0
    code, _, err = run("profiles", "--profiles", tmp_path / "gone")
    assert code == 2
    assert "no such folder of battery profiles" in err


def test_a_broken_profile_names_its_own_file(run: Run, scenario: Any, tmp_path: Path) -> None:
    """What is wrong with a user's profile points at the profile, key and all."""
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "odd.toml").write_text("format = 1\nname = 'x'\n", encoding="utf-8")
    path = scenario("[battery]\nprofile = 'odd'\n")
    code, _, err = run("park", path, "--profiles", folder)
    assert code == 2
    assert f"{folder / 'odd.toml'}: chemistry is missing" in err


# Wrong files of the issue, and some more: text of the file, what the sentence must say.
WRONG: dict[str, tuple[str, str]] = {
    "bad TOML": ("[battery\ncapacity_ah = 60", "not valid TOML"),
    "twice the same key": ("[battery]\nhealth = 1\nhealth = 1", "not valid TOML"),
    "unknown key": (
        "[battery]\ncapacity_a = 60",
        "battery.capacity_a: unknown key; did you mean capacity_ah?",
    ),
    "unknown table": ("[batery]\n", "batery: unknown key; did you mean battery?"),
    "no battery": ("[unit]\n", "battery is missing"),
    "negative capacity": (
        "[battery]\ncapacity_ah = -60",
        "battery.capacity_ah = -60 Ah is outside 1 to 400 Ah",
    ),
    "480 V": (
        "[battery]\nresting_voltage_v = 480",
        "battery.resting_voltage_v = 480 V is outside 6 to 16 V",
    ),
    "NaN": ("[battery]\ncapacity_ah = nan", "battery.capacity_ah = nan: a finite number in Ah"),
    "text in a number": (
        "[battery]\ncapacity_ah = 'sixty'",
        "battery.capacity_ah = 'sixty': a number in Ah is needed",
    ),
    "date as text": (
        "[battery]\n[site]\nparked_from = '1.12.2026'",
        "site.parked_from = '1.12.2026': a date is needed, written like 2026-12-01",
    ),
    "date with a time": (
        "[battery]\n[site]\nparked_from = 2026-12-01T07:00:00",
        "a date is needed, written like 2026-12-01",
    ),
    "date of another millennium": (
        "[battery]\n[site]\nparked_from = 0001-01-01",
        "outside the years 1900 to 2199",
    ),
    "impossible date": ("[battery]\n[site]\nparked_from = 2026-02-30", "not valid TOML"),
    "two temperatures": (
        "[battery]\n[site]\ntemperature_c = 5\nclimate = 'temperate'",
        "site has temperature_c and climate; keep one",
    ),
    "charge and voltage": (
        "[battery]\nstate_of_charge = 0.9\nresting_voltage_v = 12.6",
        "both state_of_charge and resting_voltage_v",
    ),
    "charge in per cent": (
        "[battery]\nstate_of_charge = 90",
        "battery.state_of_charge = 90 is outside 0 to 1",
    ),
    "charging voltage": ("[battery]\nresting_voltage_v = 14.0", "14 V is above the 12.6"),
    "dead cell": ("[battery]\nresting_voltage_v = 9.0", "9 V is below 10.5 V"),
    "ladder upside down": (
        "[battery]\n[unit]\ncutoff_v = 12.4\nladder = [{ below_v = 12.0, report_interval_h = 6 }]",
        "must step down",
    ),
    "resume below cut-off": (
        "[battery]\n[unit]\ncutoff_v = 11.5\nresume_v = 11.0",
        "must be above 11.5 V",
    ),
    "impossible reserve": (
        "[battery]\ncapacity_ah = 60\nreserve_capacity_min = 20",
        "does not go with",
    ),
    "report longer than its interval": (
        "[battery]\n[unit]\nreport_interval_h = 0.01\nreport = { attach_s = 60, attach_a = 0.1 }",
        "make the interval longer",
    ),
    "milliamperes": (
        "[battery]\n[vehicle]\nquiescent_a = 'thirty'",
        "vehicle.quiescent_a = 'thirty': a number in A",
    ),
    "too many draws": (
        "[battery]\n[run]\ndraws = 100000000",
        "run.draws = 100000000 is outside 100 to 20000",
    ),
    "half a draw": ("[battery]\n[run]\ndraws = 200.5", "run.draws = 200.5: a whole number"),
    "unknown profile": ("[battery]\nprofile = 'agn'", "did you mean agm"),
    "unknown climate": ("[battery]\n[site]\nclimate = 'temprate'", "did you mean temperate"),
    "weather file gone": ("[battery]\n[site]\nhourly_csv = 'gone.csv'", "gone.csv: no such file"),
    "weather file a folder": ("[battery]\n[site]\nepw = '.'", "this is a folder"),
    "unnamed load": ("[battery]\n[[other]]\ncurrent_a = 1", "other[1]: name is missing"),
    "deep nesting": ("[battery]\ncapacity_ah = " + "[" * 30_000, "nested too deeply"),
    "deep repetition": ("battery = [{" + "a." * 20_000 + "a = 1}]", "a key of more than 32 parts"),
    "endless number": ("[battery]\ncapacity_ah = " + "9" * 4000, "is outside 1 to 400 Ah"),
}


def one_sentence(code: int, out: str, err: str) -> None:
    """Assert exit 2, nothing on stdout, one line on stderr, no traceback."""
    assert code == 2
    assert out == ""
    assert err.startswith("drainsim: ")
    assert err.count("\n") == 1
    assert err.endswith("\n")
    assert "Traceback" not in err
    assert len(err) < 900


@pytest.mark.parametrize("name", WRONG)
def test_wrong_files_are_one_clear_sentence(run: Run, scenario: Any, name: str) -> None:
    """The sentence names the file, the key and what would be right."""
    text, says = WRONG[name]
    path = scenario(text)
    code, out, err = run("park", path)
    one_sentence(code, out, err)
    assert says in err
    assert str(path) in err or str(path.parent) in err


def test_what_is_not_a_scenario_file_is_one_clear_sentence(run: Run, tmp_path: Path) -> None:
    """Missing, a folder, 100 MB, not text, a device: each says which file and why."""
    huge = tmp_path / "huge.toml"
    with huge.open("wb") as file:
        file.truncate(100_000_000)
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\x80\x81battery")
    for path, says in (
        (tmp_path / "gone.toml", "no such file"),
        (tmp_path, "this is a folder; give a file"),
        (huge, "100 MB is too large"),
        (binary, "not UTF-8 text"),
        (Path("/dev/null"), "not a regular file"),
        (tmp_path / ("x" * 400), "cannot be read"),
    ):
        code, out, err = run("park", path)
        one_sentence(code, out, err)
        assert str(path) in err
        assert says in err


@pytest.mark.parametrize(
    "word",
    [
        "nonsense",
        "=",
        "battery.age_years",
        "age_years=4",
        "battery.agee=4",
        "battery.age_years=old",
        "battery.age_years=nan",
        "battery.capacity_ah=1\nx=2",
        "a.b.c.d=1",
        "battery=1",
    ],
)
def test_nonsense_after_set_is_one_clear_sentence(run: Run, scenario: Any, word: str) -> None:
    """Whatever follows --set, the answer is a sentence."""
    code, out, err = run("park", scenario("[battery]\n"), "--set", word)
    one_sentence(code, out, err)


def test_wrong_files_give_no_traceback_in_a_real_process(scenario: Any, tmp_path: Path) -> None:
    """The same through `python -m drainsim`, in an ASCII terminal."""
    process = in_a_process(
        "park", scenario(WRONG["NaN"][0]), cwd=tmp_path, PYTHONIOENCODING="ascii"
    )
    one_sentence(process.returncode, process.stdout, process.stderr)


def test_a_terminal_without_degree_signs_still_gets_its_answer(
    scenario: Any, tmp_path: Path
) -> None:
    """Letters an ASCII terminal cannot show are replaced, the answer stands."""
    path = scenario("[battery]\ncapacity_ah = 60\n")
    process = in_a_process("park", path, *FEW, cwd=tmp_path, PYTHONIOENCODING="ascii")
    assert (process.returncode, process.stderr) == (0, "")
    assert process.stdout.startswith("Expect a no-start after about ")


@pytest.mark.parametrize(
    "words", [[], ["parc"], ["park"], ["scenario"], ["dashboard", "--port", "x"]]
)
def test_wrong_commands_say_how_to_call_it(run: Run, words: list[str]) -> None:
    """Usage on stderr, exit 2."""
    code, out, err = run(*words)
    assert code == 2
    assert out == ""
    assert err.startswith("usage: drainsim")


def test_help_and_version_exit_with_0(run: Run) -> None:
    """--help names every command, --version the package's."""
    code, out, _ = run("--help")
    assert code == 0
    for command in ("park", "profiles", "scenario", "dashboard"):
        assert command in out
    assert run("--version")[1].startswith("drainsim ")


@pytest.mark.parametrize("port", ["80", "70000", "-1"])
def test_the_dashboard_refuses_ports_it_cannot_use(run: Run, port: str) -> None:
    """Ports outside 1024 to 65535 are a sentence, not a server."""
    code, out, err = run("dashboard", f"--port={port}")
    one_sentence(code, out, err)


def test_the_dashboard_stays_on_this_machine() -> None:
    """Address, allowed hosts and statistics are set by the command itself."""
    chosen = settings(8501, open_browser=False)
    assert chosen["server.address"] == "127.0.0.1"
    assert set(chosen["server.allowedHosts"]) == {"localhost", "127.0.0.1"}
    assert chosen["browser.gatherUsageStats"] is False
    assert app_file().name == "app.py"
    behind = settings(8501, open_browser=False, proxy_name="stand.example.org")
    assert behind["server.address"] == "127.0.0.1"  # the proxy is on this machine
    assert set(behind["server.allowedHosts"]) == {"localhost", "127.0.0.1", "stand.example.org"}


@pytest.mark.parametrize("name", ["https://stand.example.org", "a b", "", "x:8501", "*"])
def test_the_dashboard_refuses_a_proxy_name_that_is_none(run: Run, name: str) -> None:
    """A host name is one name: no scheme, no port, no pattern."""
    code, out, err = run("dashboard", "--port=8599", f"--proxy-name={name}")
    one_sentence(code, out, err)


def test_a_reader_that_leaves_early_is_no_error(scenario: Any, tmp_path: Path) -> None:
    """Piping into `head` ends quietly."""
    path = scenario("[battery]\ncapacity_ah = 60\n")
    root = str(Path(__file__).resolve().parents[2])
    process = subprocess.run(
        f"'{sys.executable}' -m drainsim park '{path}' --json --set run.draws={DRAWS} | head -1",
        shell=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": root},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (process.stdout, process.stderr) == ("{\n", "")
