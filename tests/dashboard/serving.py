"""Start the dashboard as a user would, for the browser tests."""

import os
import socket
import subprocess
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_MS = 180_000  # generous: a busy machine may be slow, no test is about speed
IDLE = "[data-testid=stApp][data-test-script-state=notRunning]"
# Notes whether the server has replied to what was last sent to it; for `add_init_script`.
WATCHED = """window.unanswered = false;
window.WebSocket = class extends WebSocket {
    constructor(...asked) {
        super(...asked);
        this.addEventListener('message', () => { window.unanswered = false; });
    }
    send(data) { window.unanswered = true; super.send(data); }
};"""
# No question on its way, no script running, no part of the page still to come.
_CALM = """idle => document.querySelector(idle) && !window.unanswered
    && !document.querySelector('[data-testid=stSkeleton]')"""
_SAME = 5  # readings in a row, each of a calm page, that count as the last


def missing(what: str) -> None:
    """Fail where the check is owed (CI), skip with the reason elsewhere."""
    message = f"{what} is missing: install it to run the browser tests"
    if os.environ.get("CI"):
        pytest.fail(message)
    pytest.skip(message)


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_until_healthy(server: "subprocess.Popen[bytes]", port: int, log: Path) -> None:
    """Return once the server answers; fail with its log if it stops."""
    until = time.monotonic() + PATIENCE_MS / 1000
    while time.monotonic() < until:
        if server.poll() is not None:
            pytest.fail(f"the dashboard stopped:\n{log.read_text()}")
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health") as reply:
                if reply.read() == b"ok":
                    return
        except OSError:
            time.sleep(0.1)
    pytest.fail(f"the dashboard did not come up:\n{log.read_text()}")


def settled(tab: Any, read: Callable[[], Any]) -> Any:
    """Return what is read once it stays the same while nothing runs.

    Charts, grids and late parts are drawn after the page's script has ended, on a busy machine
    long after: no pause of a fixed length is the right one. Asks for a tab with `WATCHED`.
    """
    until = time.monotonic() + PATIENCE_MS / 1000
    last, same = None, 0
    while time.monotonic() < until:
        tab.wait_for_timeout(60)
        tab.wait_for_function(_CALM, arg=IDLE)
        now = read()
        same = same + 1 if now == last else 1
        if same == _SAME:
            return now
        last = now
    pytest.fail(f"the page did not come to rest; last seen: {last}")
