"""Files are written whole or not at all, by one function."""

import ast
import hashlib
import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from drainsim.errors import DrainsimError
from drainsim.files.writing import MANIFEST, whole_folder, write_bytes, write_text

PACKAGE = Path(__file__).resolve().parents[2] / "drainsim"


def _fails(*_: object, **__: object) -> None:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("step", ["fsync", "replace", "fdopen", "open"])
def test_a_crash_in_the_middle_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Whatever step fails, the file before is whole and nothing lies beside it."""
    path = tmp_path / "job.json"
    write_text(path, "before")
    monkeypatch.setattr(os, step, _fails)
    with pytest.raises(DrainsimError, match=r"job\.json: cannot be written: No space left"):
        write_text(path, "after")
    monkeypatch.undo()
    assert path.read_text("utf-8") == "before"
    assert [entry.name for entry in tmp_path.iterdir()] == ["job.json"]


def test_an_interruption_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C while writing is passed on; nothing is left behind."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    path = tmp_path / "job.json"
    write_text(path, "before")
    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_text(path, "after")
    assert path.read_text("utf-8") == "before"
    assert len(list(tmp_path.iterdir())) == 1


def test_the_content_is_on_the_disk_before_it_takes_the_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Flushed first, then renamed: a power cut leaves one or the other, never an empty file."""
    done: list[str] = []
    sync, replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda fd: (done.append("fsync"), sync(fd)))
    monkeypatch.setattr(os, "replace", lambda a, b: (done.append("replace"), replace(a, b)))
    write_text(tmp_path / "a", "x")
    assert done == ["fsync", "replace"]


@pytest.mark.parametrize("mask", [0o022, 0o077, 0o002])
def test_permissions_are_those_of_any_new_file(tmp_path: Path, mask: int) -> None:
    """As the umask says, new file or not."""
    before = os.umask(mask)
    try:
        write_text(tmp_path / "a", "x")
        write_text(tmp_path / "a", "y")
        (tmp_path / "b").write_text("x", "utf-8")
    finally:
        os.umask(before)
    modes = [stat.S_IMODE((tmp_path / name).stat().st_mode) for name in "ab"]
    assert modes[0] == modes[1]


def test_a_link_is_followed_and_kept(tmp_path: Path) -> None:
    """Writing to a link writes to what it names."""
    (tmp_path / "real").write_text("before", "utf-8")
    (tmp_path / "link").symlink_to("real")
    write_text(tmp_path / "link", "after")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text("utf-8") == "after"


def test_devices_pipes_and_folders_are_not_replaced(tmp_path: Path) -> None:
    """To be renamed over is the end of a device; it is refused and still there."""
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "round").symlink_to("round")
    for path in (tmp_path / "pipe", tmp_path, Path("/dev/null"), tmp_path / "round"):
        with pytest.raises(DrainsimError, match="cannot be written"):
            write_bytes(path, b"x")
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)


def test_nothing_in_the_package_writes_files_in_another_way() -> None:
    """Outside `files.writing` nothing opens a file to write."""
    ways = {"write_text", "write_bytes", "open", "mkstemp", "NamedTemporaryFile", "to_csv"}
    found = []
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = node.func
            method = isinstance(called, ast.Attribute) and called.attr in ways
            plain_open = isinstance(called, ast.Name) and called.id == "open"
            if (method or plain_open) and path.name not in {"writing.py", "reading.py"}:
                found.append(f"{path.relative_to(PACKAGE)}:{node.lineno}")
    # os.open of the null device when our reader has left; opening a part of a workbook to read;
    # a table as the text of a CSV in memory; the one place that hands files to `files.writing`.
    assert sorted(entry.split(":")[0] for entry in found) == [
        "answers/standing/tables.py",
        "api.py",
        "cli/main.py",
        "cli/options.py",
        "files/fleet/workbook.py",
    ]


def _results(folder: Path, word: str) -> None:
    with whole_folder(folder) as fresh:
        for name in ("a.csv", "b.json"):
            write_text(fresh / name, word)


def _belong_together(folder: Path) -> bool:
    """Say what the manifest says: are these the files of one run?"""
    manifest = folder / MANIFEST
    if not manifest.exists():
        return False
    listed = json.loads(manifest.read_text("utf-8"))["files"]
    return all(
        hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
        for name, digest in listed.items()
    )


def test_a_folder_of_results_comes_together_and_keeps_what_else_is_there(tmp_path: Path) -> None:
    """A folder of results comes together and keeps what else is there."""
    write_text(tmp_path / "notes.txt", "mine")
    for word in ("first", "second"):
        _results(tmp_path, word)
        assert (tmp_path / "a.csv").read_text() == (tmp_path / "b.json").read_text() == word
        assert _belong_together(tmp_path)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"notes.txt", "a.csv", "b.json", MANIFEST}


def test_a_failure_while_writing_keeps_the_results_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A failure while writing keeps the results before."""
    _results(tmp_path, "before")
    monkeypatch.setattr(os, "fsync", _fails)
    with pytest.raises(DrainsimError, match=r"a\.csv: cannot be written: No space left") as error:
        _results(tmp_path, "after")
    assert ".drainsim-" not in str(error.value)
    monkeypatch.undo()
    assert (tmp_path / "a.csv").read_text() == (tmp_path / "b.json").read_text() == "before"
    assert _belong_together(tmp_path)
    assert not list(tmp_path.glob(".drainsim-*"))


_KILLED = """
import os, signal, sys
from pathlib import Path
from drainsim.files.writing import whole_folder, write_text
swaps, replace = 0, os.replace
def killing(old, new):
    global swaps
    replace(old, new)
    if Path(new).parent == Path(sys.argv[1]):
        swaps += 1
        if swaps == int(sys.argv[2]):
            os.kill(os.getpid(), signal.SIGKILL)
os.replace = killing
with whole_folder(Path(sys.argv[1])) as fresh:
    for name in ("a.csv", "b.json"):
        write_text(fresh / name, "after")
"""


@pytest.mark.parametrize("swaps", [1, 2, 3])
def test_after_a_kill_old_and_new_are_told_apart_and_the_rest_is_removed(
    tmp_path: Path, swaps: int
) -> None:
    """Killed at any step: the manifest tells whether the files are of one run."""
    _results(tmp_path, "before")
    environment = {**os.environ, "PYTHONPATH": str(PACKAGE.parent)}
    words = [sys.executable, "-c", _KILLED, str(tmp_path), str(swaps)]
    assert subprocess.run(words, env=environment).returncode == -9
    texts = {(tmp_path / name).read_text() for name in ("a.csv", "b.json")}
    assert _belong_together(tmp_path) == (swaps == 3)
    assert len(texts) == (2 if swaps == 1 else 1)
    for left in tmp_path.glob(".drainsim-*"):
        os.utime(left, (0, 0))  # long ago
    _results(tmp_path, "again")
    assert _belong_together(tmp_path)
    assert not list(tmp_path.glob(".drainsim-*"))
