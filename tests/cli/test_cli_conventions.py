"""What every command does alike: exit codes, standard input and output, help, width."""

import argparse
import io
import json
import shlex
import sys
import types
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from drainsim import __version__
from drainsim.cli.main import build_parser, main
from drainsim.files.answer_schema import answer_commands
from drainsim.files.examples import example_text
from drainsim.files.fleet.example import example_list
from tests.readings_build import readings_csv

SCENARIO = "[battery]\ncapacity_ah = 60\n[run]\ndraws = 100\nhorizon_days = 60\n"
FEW = ["--today", "2026-12-01", "--draws", "100", "--no-actions", "--workers", "1"]
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Return a function that runs a command in an empty folder: (exit code, stdout, stderr)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)

    def command(*words: str, into: str | bytes = b"") -> tuple[int, str, str]:
        raw = into.encode() if isinstance(into, str) else into
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(raw), encoding="utf-8"))
        try:
            code = main(list(words))
        except SystemExit as stop:
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return command


def commands() -> dict[str, argparse.ArgumentParser]:
    """Return the parser of every command."""
    found = next(
        action
        for action in build_parser()._actions
        if isinstance(action, argparse._SubParsersAction)
    )
    return dict(found.choices)


# Exit codes --------------------------------------------------------------------------------------


def test_exit_codes_say_what_the_answer_says(run: Run, tmp_path: Path) -> None:
    """0 a yes, 1 a no, 2 bad input, 3 some rows set aside."""
    job = json.loads(example_text("job_record.json"))
    job["scenario"]["run"] = {"draws": 100}
    for code, settled_a in ((0, 0.0356), (1, 0.08)):
        job["after"]["settled_a"] = settled_a
        assert run("acceptance", "-", into=json.dumps(job))[0] == code
    job["after"]["minutes_after_key_off"] = 5  # cannot tell is no yes
    assert run("acceptance", "-", into=json.dumps(job))[0] == 1
    assert run("acceptance", "-", into="{")[0] == 2
    assert run("circuits", "-", into=example_text("circuits.csv"))[0] == 0
    assert run("circuits", "-", into="name,class\nRadio,accessory\n")[0] == 1
    stand = ["storage", "-", "--days", "50", "--risk", "0.05"]
    assert run(*stand, into=SCENARIO)[0] == 0
    assert run(*stand, "--check", into=SCENARIO)[0] == 1
    assert run("storage", "-", "--days", "3", "--check", into=SCENARIO)[0] == 0


def test_rows_set_aside_are_an_exit_code_of_their_own(run: Run) -> None:
    """A list with a wrong row answers the others and exits with 3; --check says no first."""
    good = "id,capacity_ah,parked_since\na,60,2026-11-30\n"
    wrong = good + "b,sixty,2026-11-30\n"
    assert run("fleet", "-", *FEW, into=good)[0] == 0
    code, out, _ = run("fleet", "-", *FEW, into=wrong)
    assert code == 3
    assert "Kept aside" in out
    assert run("fleet", "-", *FEW, "--check", into=good)[0] == 0
    long = good.replace("2026-11-30", "2026-06-01")
    assert run("fleet", "-", *FEW, "--check", into=long)[0] == 1
    ages = "id,capacity_ah,age_years\na,60,4\n"
    assert run("age", "-", "--set", "run.draws=100", into=ages)[0] == 0
    assert run("age", "-", "--set", "run.draws=100", into=ages + "b,sixty,4\n")[0] == 3


# Standard input and output -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "example"),
    [
        (["park", "-"], SCENARIO),
        (["week", "-"], SCENARIO + "[pattern]\n"),
        (["circuits", "-"], example_text("circuits.csv")),
        (["current-log", "-"], example_text("current_log.csv")),
        (["acceptance", "-"], example_text("job_record.json")),
        (["complaint", "-"], example_text("complaint.json")),
        (["fleet", "-", *FEW], example_list().decode("utf-8-sig").split("\n", 3)),
    ],
)
def test_a_dash_reads_standard_input(
    run: Run, tmp_path: Path, words: list[str], example: str | list[str]
) -> None:
    """The answer is the one to the file."""
    text = example if isinstance(example, str) else "\n".join(example[:3]) + "\n"
    (tmp_path / "file").write_text(text, encoding="utf-8")
    named = run(*("file" if word == "-" else word for word in words), "--json")
    piped = run(*words, "--json", into=text)
    assert piped[0] == named[0]
    assert piped[0] in {0, 1, 3}
    assert _without_names(json.loads(piped[1])) == _without_names(json.loads(named[1]))


def _without_names(value: object) -> object:
    """Return an answer without the name of its file."""
    return json.loads(json.dumps(value).replace('"file', '"-').replace(" file", " -"))


def test_standard_input_is_read_once_and_not_empty(run: Run) -> None:
    """Nothing there, or asked for twice: one sentence."""
    code, out, err = run("park", "-")
    assert (code, out) == (2, "")
    assert "nothing came in" in err
    log = example_text("current_log.csv")
    code, _, err = run("current-log", "-", "--base", "-", into=log)
    assert code == 2
    assert "one file only" in err


def test_a_dash_writes_standard_output(run: Run, tmp_path: Path) -> None:
    """The file alone goes to standard output, the words to standard error."""
    (tmp_path / "van.toml").write_text(SCENARIO)
    code, out, err = run("park", "van.toml", "--csv", "course.csv")
    assert code == 0
    assert "written to course.csv" in err
    code, piped, words = run("park", "van.toml", "--csv", "-")
    assert code == 0
    assert piped == (tmp_path / "course.csv").read_text("utf-8")
    assert words.strip() == out.strip()
    assert run("park", "van.toml", "--csv", "-", "--json")[0] == 2
    log = example_text("current_log.csv")
    code, out, _ = run("current-log", "-", "--scenario", "-", into=log)
    assert code == 0
    assert run("park", "-", "--set", "run.draws=100", into=out)[0] == 0
    job = example_text("job_record.json")
    assert run("acceptance", "-", "--save", "-", "--sheet", "-", into=job)[0] == 2


# Help --------------------------------------------------------------------------------------------


def test_help_groups_the_commands_and_shows_examples(run: Run) -> None:
    """Every command stands once in a group; every help has an example that parses."""
    code, out, _ = run("--help")
    assert code == 0
    for name in commands():
        assert sum(line.startswith(f"  {name} ") for line in out.split("\n")) == 1, name
        code, text, _ = run(name, "--help")
        assert code == 0
        example = text.split("example:\n")[1].strip().split("\n")[0]
        words = shlex.split(example.split(" > ")[0])
        assert words[:2] == ["drainsim", name]
        build_parser().parse_args(words[1:])
    for group in ("standing and driving:", "sales:", "fleet:", "installer:", "exit codes:"):
        assert group in out


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["prak"], "did you mean park?"),
        (["acceptence"], "did you mean acceptance?"),
        (["scenario", "--exmaple"], ""),
        (["storage", "x", "--days", "3", "--when", "on_dy"], "did you mean on_day?"),
    ],
)
def test_a_wrong_word_is_answered_with_the_nearest(run: Run, words: list[str], meant: str) -> None:
    """Commands and choices: exit code 2 and what may have been meant."""
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert meant in err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["park", "v.toml", "--set", "x"], "--set x: write it as key=value"),
        (["storage", "v.toml", "--days", "3", "--price", "panel"], "--price panel: write it as"),
        (["storage", "v.toml", "--days", "3", "--effort", "panel=x"], "--effort panel=x: write"),
        (["fleet", "f.csv", "--column", "=id"], "--column =id: write it as HEADING=COLUMN"),
        (["fleet", "f.csv", "--depot-weather", "N"], "--depot-weather N: write it as DEPOT=FILE"),
    ],
)
def test_a_pair_is_refused_alike_everywhere(
    run: Run, tmp_path: Path, words: list[str], says: str
) -> None:
    """NAME=VALUE has one form and one sentence."""
    (tmp_path / "v.toml").write_text(SCENARIO)
    (tmp_path / "f.csv").write_text("id,capacity_ah\na,60\n")
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert says in err


# Width and length --------------------------------------------------------------------------------


@pytest.mark.parametrize("columns", [60, 80])
def test_lines_fit_the_columns(run: Run, monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    """COLUMNS folds every line and loses no word; a pipe without it keeps its lines."""
    wide = run("park", "-", into=SCENARIO)[1]
    assert max(map(len, wide.split("\n"))) > columns
    monkeypatch.setenv("COLUMNS", str(columns))
    narrow = run("park", "-", into=SCENARIO)[1]
    assert max(map(len, narrow.split("\n"))) <= columns
    assert narrow.split() == wide.split()


def test_brief_is_five_lines_of_the_whole(run: Run) -> None:
    """The first five lines that say something, the verdict first."""
    for words, text in ((["park"], SCENARIO), (["complaint"], example_text("complaint.json"))):
        whole = run(*words, "-", into=text)[1]
        lines = run(*words, "-", "--brief", into=text)[1].strip("\n").split("\n")
        assert len(lines) == 5
        assert all(line in whole for line in lines)
        assert lines[0] == whole.split("\n")[0]
    assert run("park", "-", "--brief", "--json", into=SCENARIO)[0] == 2


# JSON --------------------------------------------------------------------------------------------

_JOB = json.loads(example_text("job_record.json"))
_JOB["scenario"]["run"] = {"draws": 100}
_COMPLAINT = json.loads(example_text("complaint.json"))
_LIST = "id,capacity_ah,parked_since\na,60,2026-06-01\nb,sixty,2026-06-01\n"
_SHORT_LOG = "\n".join(example_text("current_log.csv").split("\n")[:120]) + "\n"
ANSWERS: list[tuple[list[str], str]] = [
    (["park", "-"], SCENARIO),
    (["park", "-", "--set", "run.horizon_days=5"], SCENARIO),
    (["week", "-"], SCENARIO + "[pattern]\n"),
    (["age", "-", "--set", "run.draws=100"], "id,capacity_ah,age_years\na,60,4\nb,x,4\n"),
    (["storage", "-", "--days", "50"], SCENARIO),
    (["storage", "-", "--days", "3", "--by-month"], SCENARIO),
    (["quote", "-", "--days", "20", "--draws", "100"], _LIST),
    (
        ["catalogue", "--vehicles", "compact_petrol", "--climates", "temperate", "--draws", "100"],
        "",
    ),
    (["fleet", "-", *FEW], _LIST),
    (["forecast", "-", "--draws", "100", "--workers", "1"], readings_csv(vehicles=1, days=15)),
    (["circuits", "-"], example_text("circuits.csv")),
    (["circuits", "-"], "name,class\nAirbag,always_hot\n"),
    (["current-log", "-"], example_text("current_log.csv")),
    (["current-log", "-"], _SHORT_LOG),
    (["fuse-drop", "--type", "mini", "--rating", "5", "--mv", "0.3"], ""),
    (["acceptance", "-"], json.dumps(_JOB)),
    (["acceptance", "-"], json.dumps({"format": 1})),
    (["complaint", "-"], json.dumps(_COMPLAINT)),
    (["complaint", "-"], json.dumps({**_COMPLAINT, "battery_test": {"resting_v": 11.3}})),
    (["complaint", "-"], json.dumps({**_COMPLAINT, "battery_test": {}})),
    (["profiles"], ""),
    (["evidence", "--subject", "freezing"], ""),
]


@pytest.mark.parametrize(("words", "text"), ANSWERS)
def test_json_has_the_version_and_keeps_to_its_schema(
    run: Run, words: list[str], text: str
) -> None:
    """Every answer is valid by `drainsim schema`, and holds no key the schema does not name."""
    code, out, _ = run(*words, "--json", into=text)
    assert code in {0, 1, 3}
    answer = json.loads(out)
    schema = json.loads(run("schema", words[0])[1])
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(answer, schema)
    assert answer["drainsim_version"] == __version__
    assert set(answer) <= set(schema["properties"])


def test_every_command_with_json_has_a_schema(run: Run) -> None:
    """And only those; a wrong name is answered with the nearest."""
    with_json = {name for name, one in commands().items() if "--json" in one._option_string_actions}
    assert with_json == set(answer_commands()) == {words[0] for words, _ in ANSWERS}
    assert "did you mean park?" in run("schema", "prak")[2]


# Other systems -----------------------------------------------------------------------------------


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
@pytest.mark.parametrize(
    ("words", "text"),
    [
        (["circuits", "-"], example_text("circuits.csv")),
        (["current-log", "-"], example_text("current_log.csv")),
        (["acceptance", "-"], json.dumps(_JOB, indent=1)),
        (["fleet", "-", *FEW], _LIST),
    ],
)
def test_other_line_ends_give_the_same_answer(
    run: Run, words: list[str], text: str, ending: str
) -> None:
    """Files of other systems end their lines otherwise."""
    plain = run(*words, "--json", into=text)
    assert run(*words, "--json", into=text.replace("\n", ending)) == plain


def test_a_scenario_of_another_system_answers(run: Run, tmp_path: Path) -> None:
    """Windows line ends, a byte order mark, a folder with blanks and letters beyond ASCII."""
    folder = tmp_path / "Fuhrpark Köln"
    folder.mkdir()
    path = folder / "Transporter 7.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SCENARIO.replace("\n", "\r\n").encode())
    named = run("park", str(path), "--csv", str(folder / "Verlauf März.csv"), "--json")
    assert named[:2] == run("park", "-", "--json", into=SCENARIO)[:2]
    assert (folder / "Verlauf März.csv").read_bytes().count(b"\r") == 0


def test_completion_needs_no_extra_to_run(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked by a shell without the extra installed, the command still answers."""
    monkeypatch.setenv("_ARGCOMPLETE", "1")
    monkeypatch.setitem(sys.modules, "argcomplete", None)
    assert run("profiles")[0] == 0


def test_completion_is_asked_only_by_a_shell(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """The parser of all commands is handed over; without the shell's word it is not."""
    asked: list[argparse.ArgumentParser] = []
    fake = types.SimpleNamespace(autocomplete=asked.append)
    monkeypatch.setitem(sys.modules, "argcomplete", fake)
    run("profiles")
    assert not asked
    monkeypatch.setenv("_ARGCOMPLETE", "1")
    run("profiles")
    assert [one.prog for one in asked] == ["drainsim"]
