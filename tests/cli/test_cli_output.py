"""What the commands write: UTF-8 always, and one sentence where it cannot be written."""

import contextlib
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from drainsim.cli import main
from drainsim.cli.text import wrapped
from drainsim.files.profile import list_profiles

ROOT = Path(__file__).resolve().parents[2]
FULL = Path("/dev/full")  # every write ends in "no space left", as on a full disk
SCENARIO = "[battery]\ncapacity_ah = 60\n[run]\ndraws = 100\nhorizon_days = 30\n"


def drainsim(
    *words: str, cwd: Path, to: Path | None = None, **extra: str
) -> tuple[int, bytes, str]:
    """Run the command in a process of its own; return exit code, output and errors."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **extra}
    with open(to or os.devnull, "wb") as file:
        done = subprocess.run(
            [sys.executable, "-m", "drainsim", *words],
            cwd=cwd,
            env=environment,
            stdout=file if to else subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
    return done.returncode, done.stdout or b"", done.stderr.decode("utf-8")


def inside(monkeypatch: pytest.MonkeyPatch, cwd: Path, *words: str) -> tuple[int, bytes, str]:
    """Run the command in this process, where starting another would prove nothing more."""
    file, err = io.BytesIO(), io.StringIO()
    out = io.TextIOWrapper(file, write_through=True)
    monkeypatch.chdir(cwd)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(words)
    return code, file.getvalue(), err.getvalue()


@pytest.mark.skipif(not FULL.exists(), reason="no /dev/full on this system")
@pytest.mark.parametrize(
    "words",
    [
        ["park", "v.toml"],
        pytest.param(["park", "v.toml", "--json"], marks=pytest.mark.nightly),
        pytest.param(["scenario", "--example"], marks=pytest.mark.nightly),
    ],
)
def test_a_full_disk_is_one_sentence(tmp_path: Path, words: list[str]) -> None:
    """A full disk is one sentence."""
    (tmp_path / "v.toml").write_text(SCENARIO)
    code, _, err = drainsim(*words, cwd=tmp_path, to=FULL)
    assert code == 2
    assert err == "drainsim: the output cannot be written: No space left on device\n"


@pytest.mark.parametrize("encoding", [pytest.param("cp1252", marks=pytest.mark.nightly), "ascii"])
def test_output_is_utf8_under_any_code_page_and_reads_back(tmp_path: Path, encoding: str) -> None:
    """The printed example and list hold °, Ü and the like; the commands read them again."""
    extra = {"PYTHONIOENCODING": encoding, "LC_ALL": "C", "PYTHONUTF8": "0"}
    code, out, _ = drainsim("scenario", "--example", cwd=tmp_path, **extra)
    assert code == 0
    assert "°C" in out.decode("utf-8")
    (tmp_path / "s.toml").write_bytes(out)
    code, out, err = drainsim("park", "s.toml", "--set", "run.draws=100", cwd=tmp_path, **extra)
    assert (code, err) == (0, "")
    assert "°C" in out.decode("utf-8")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
@pytest.mark.parametrize(
    ("example", "words"),
    [
        (["scenario", "--example"], ["park"]),
        (["circuits", "--example"], ["circuits"]),
        (["current-log", "--example"], ["current-log"]),
        (["acceptance", "--example"], ["acceptance"]),
        (["complaint", "--example"], ["complaint"]),
    ],
)
def test_every_file_is_read_as_utf16_too(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    encoding: str,
    example: list[str],
    words: list[str],
) -> None:
    """Some shells write UTF-16 for `>`; the answer is the one to the UTF-8 file."""
    _, out, _ = inside(monkeypatch, tmp_path, *example)
    name = "file"
    (tmp_path / name).write_bytes(out)
    plain = inside(monkeypatch, tmp_path, *words, name)
    (tmp_path / name).write_bytes(out.decode("utf-8").encode(encoding))
    assert inside(monkeypatch, tmp_path, *words, name) == plain
    assert plain[0] == 0


def test_half_a_letter_of_utf16_is_one_sentence(tmp_path: Path) -> None:
    """Half a letter of utf16 is one sentence."""
    (tmp_path / "v.toml").write_bytes(SCENARIO.encode("utf-16")[:-1])
    code, _, err = drainsim("park", "v.toml", cwd=tmp_path)
    assert code == 2
    assert "is not UTF-16 text; save the file as UTF-8" in err
    assert len(err.splitlines()) == 1


_COMMANDS = ("\x1b]0;owned\x07", "\x1b[2J", "\x9b31m", "\u202e", "\r", "\x08")


@pytest.mark.parametrize("command", _COMMANDS)
def test_nothing_a_file_holds_commands_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """Headings, names and a profile's sources are printed as letters, in words and as JSON."""
    listed = (
        f'id;capacity_ah;"No{command}te";depot\na{command}b;60;x;"de{command}pot"\nc;sixty;y;z\n'
    )
    (tmp_path / "fleet.csv").write_text(listed, encoding="utf-8", newline="")
    plain = next(iter(list_profiles().values())).read_text("utf-8")
    escaped = "".join(f"\\u{ord(letter):04x}" for letter in command)
    name, old = (
        next(line for line in plain.splitlines() if line.startswith("name = ")),
        'source = "',
    )
    own = plain.replace(name, f'name = "Mine{escaped}"').replace(old, old + escaped)
    (tmp_path / "mine.toml").write_text(own, encoding="utf-8")
    few = ["--today", "2026-12-01", "--draws", "100", "--no-actions", "--workers", "1"]
    for words in (
        ["fleet", "fleet.csv", *few],
        ["fleet", "fleet.csv", *few, "--json"],
        ["profiles", "--profiles", "."],
        ["profiles", "--profiles", ".", "--json"],
    ):
        code, out, err = inside(monkeypatch, tmp_path, *words)
        assert code in (0, 2, 3), err
        text = out.decode("utf-8").replace("\r\n", "\n")  # at a line's end it moves nothing
        assert "Mine" in text or "pot" in text or "kept" in err
        for letter in command[:1]:
            assert letter not in text
            assert letter not in err


def test_a_number_plate_is_not_broken_at_its_hyphen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the width, KI-VN 104 never ends a line with "KI-"."""
    for letters in range(40, 100):
        monkeypatch.setenv("COLUMNS", str(letters))
        plates = ", ".join(f"KI-VN {number}" for number in range(100, 130))
        lines = wrapped(plates, "", "  ")
        assert not any(line.endswith("-") for line in lines)
