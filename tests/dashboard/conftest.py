"""A served dashboard for all browser tests of a process, and a headless browser a test module.

The browser cannot stay open longer: its library leaves a running event loop, which others' tests
would stumble over.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from streamlit.components.v2 import manifest_scanner

from tests.dashboard.serving import ROOT, free_port, missing, wait_until_healthy

_CHROMIUM = ("chromium", "chromium-browser", "google-chrome", "chrome")
_QUIET = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Start the dashboard as a user would and return its address."""
    port = free_port()
    folder = tmp_path_factory.mktemp("dashboard")  # its settings must hold from any folder
    log = folder / "server.log"
    with log.open("w") as out:
        server = subprocess.Popen(
            [sys.executable, "-m", "drainsim", "dashboard", "--port", str(port), "--no-browser"],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=out,
            stderr=subprocess.STDOUT,
        )
        try:
            wait_until_healthy(server, port, log)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait(20)


@pytest.fixture(scope="session", autouse=True)
def _components_looked_for_once() -> Iterator[None]:
    """Let the toolkit's page tests keep what they look for among all packages at each opening."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            manifest_scanner,
            "scan_component_manifests",
            cache(manifest_scanner.scan_component_manifests),
        )
        yield


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Return a headless browser that talks to nobody on its own."""
    program = next((found for name in _CHROMIUM if (found := shutil.which(name))), None)
    if program is None:
        missing("Chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=_QUIET)
        yield opened
        opened.close()
