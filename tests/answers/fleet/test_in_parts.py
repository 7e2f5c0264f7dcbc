"""Workers of a long list end with the process that started them, however that ends."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import pytest

from drainsim.answers.fleet.in_parts import in_parts

ROOT = Path(__file__).resolve().parents[3]
LONG_S = 600.0  # longer than any test may take: who ends earlier was ended
PATIENCE_S = 60.0  # of the test, on a busy machine


def note_and_wait(part: Sequence[Path], *, seconds: float) -> int:
    """Write down that this worker is at work on its part, and stay at it."""
    (part[0] / f"{os.getpid()}.pid").touch()
    time.sleep(seconds)
    return os.getpid()


def run_for_ever(folder: Path) -> None:
    """Start two workers that do not end by themselves."""
    for _ in in_parts([folder] * 1000, partial(note_and_wait, seconds=LONG_S), workers=2):
        pass


def _until_at_work(folder: Path) -> list[int]:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        found = [int(path.stem) for path in folder.glob("*.pid")]
        if len(found) == 2:
            return found
        time.sleep(0.05)
    raise AssertionError("the workers did not start")


def _alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
@pytest.mark.parametrize("how", ["SIGTERM", "SIGKILL", "SIGINT"])
def test_workers_end_with_the_process_that_started_them(tmp_path: Path, how: str) -> None:
    """Ended, killed or interrupted in the middle of a part: no worker lives on."""
    words = (
        "import signal, pathlib, sys;"
        "signal.signal(signal.SIGINT, signal.default_int_handler);"
        "from tests.answers.fleet.test_in_parts import run_for_ever;"
        "run_for_ever(pathlib.Path(sys.argv[1]))"
    )
    parent = subprocess.Popen(
        [sys.executable, "-c", words, str(tmp_path)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    workers = _until_at_work(tmp_path)
    try:
        parent.send_signal(getattr(signal, how))
        parent.wait(PATIENCE_S)
        end = time.monotonic() + PATIENCE_S
        while any(map(_alive, workers)) and time.monotonic() < end:
            time.sleep(0.05)
        assert not any(map(_alive, workers))
    finally:
        for pid in (parent.pid, *workers):
            if _alive(pid):
                os.kill(pid, signal.SIGKILL)


def test_who_has_had_enough_does_not_wait_for_the_rest() -> None:
    """The first answers are taken, the others dropped; nothing runs on."""
    parts = in_parts([0.0] * 500 + [LONG_S] * 1000, _wait_first, workers=2)
    first = next(parts)
    parts.close()
    assert first == 0.0


def _wait_first(part: Sequence[float]) -> float:
    time.sleep(part[0])
    return part[0]
