"""Files are written whole or not at all, by one function."""

import ast
import os
import stat
from pathlib import Path

import pytest

from drainsim.errors import DrainsimError
from drainsim.files.writing import write_bytes, write_text

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
    # os.open of the null device when our reader has left; opening a part of a workbook to read.
    assert sorted(entry.split(":")[0] for entry in found) == [
        "cli/main.py",
        "files/fleet/table.py",
    ]
