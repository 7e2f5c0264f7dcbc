"""Start the dashboard as a user would, for the browser tests."""

import os
import socket
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_MS = 180_000  # generous: a busy machine may be slow, no test is about speed


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
