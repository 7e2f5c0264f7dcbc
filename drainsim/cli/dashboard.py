"""`drainsim dashboard`: serve the pages on this machine only."""

import argparse
import socket
import sys
from pathlib import Path

from drainsim.cli.options import Commands
from drainsim.errors import DrainsimError

HOSTS = ("localhost", "127.0.0.1")


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser("dashboard", help="open the dashboard in a browser")
    parser.add_argument("--port", type=int, default=8501, help="port on localhost (8501)")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser window")
    parser.set_defaults(run=run)


def app_file() -> Path:
    """Return app.py, from a wheel or beside the package in a checkout."""
    package = Path(__file__).resolve().parents[1]
    for base in (package, package.parent):
        if (base / "app.py").is_file():
            return base / "app.py"
    raise DrainsimError(f"app.py not found in or beside {package}; reinstall drainsim")


def settings(port: int, *, open_browser: bool) -> dict[str, object]:
    """Return the server settings that keep the dashboard local and quiet.

    They repeat `.streamlit/config.toml`, so that they hold from any folder.
    """
    return {
        "server.address": HOSTS[1],
        "server.port": port,
        "server.headless": not open_browser,
        "server.allowedHosts": list(HOSTS),
        "server.maxUploadSize": 5,
        "server.fileWatcherType": "none",
        "browser.gatherUsageStats": False,
        "client.toolbarMode": "minimal",
        "client.showErrorDetails": "none",
        "client.showErrorLinks": False,
        "theme.light.primaryColor": "#1f5f8b",
        "theme.dark.primaryColor": "#8ab8e6",
    }


def run(options: argparse.Namespace) -> None:
    """Start the server and stay until Ctrl-C."""
    if not 1024 <= options.port <= 65535:
        raise DrainsimError(f"--port {options.port}: use a port from 1024 to 65535")
    with socket.socket() as probe:
        if probe.connect_ex((HOSTS[1], options.port)) == 0:
            raise DrainsimError(f"--port {options.port} is in use; choose another with --port")
    from streamlit.web import bootstrap  # only this command needs it, and it takes a while

    chosen = {
        key.replace(".", "_"): value
        for key, value in settings(options.port, open_browser=not options.no_browser).items()
    }
    print(f"drainsim: dashboard on http://localhost:{options.port} (Ctrl-C stops it)", flush=True)
    sys.argv = ["drainsim"]
    bootstrap.load_config_options(chosen)
    bootstrap.run(str(app_file()), False, [], chosen)
