"""`drainsim dashboard`: serve the pages on this machine only.

A team reaches them through a reverse proxy on the same machine, which asks who they are.
"""

import argparse
import re
import socket
from pathlib import Path

from drainsim.cli.options import Commands, add_command
from drainsim.errors import DrainsimError

HOSTS = ("localhost", "127.0.0.1")
_HOST_NAME = re.compile(r"[a-z0-9]([a-z0-9.-]{0,251}[a-z0-9])?")


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands, "dashboard", "open the dashboard in a browser", example="dashboard --port 8501"
    )
    parser.add_argument("--port", type=int, default=8501, help="port on localhost (8501)")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser window")
    parser.add_argument(
        "--proxy-name",
        metavar="NAME",
        help="also answer to this host name, for a reverse proxy on this machine that asks "
        "visitors to log in; the port itself stays closed to others",
    )
    parser.set_defaults(run=run)


def app_file() -> Path:
    """Return app.py, from a wheel or beside the package in a checkout."""
    package = Path(__file__).resolve().parents[1]
    for base in (package, package.parent):
        if (base / "app.py").is_file():
            return base / "app.py"
    raise DrainsimError(f"app.py not found in or beside {package}; reinstall drainsim")


def settings(port: int, *, open_browser: bool, proxy_name: str | None = None) -> dict[str, object]:
    """Return the server settings that keep the dashboard local and quiet.

    They repeat `.streamlit/config.toml`, so that they hold from any folder.
    """
    from drainsim.dashboard.visitor_quota import LARGEST_MB

    proxy = [proxy_name] if proxy_name else []
    return {
        "server.address": HOSTS[1],
        "server.port": port,
        "server.headless": not open_browser,
        "server.allowedHosts": [*HOSTS, *proxy],
        "server.corsAllowedOrigins": [f"https://{name}" for name in proxy],
        "server.maxUploadSize": LARGEST_MB,
        "server.fileWatcherType": "none",
        "browser.gatherUsageStats": False,
        "runner.magicEnabled": False,
        "runner.postScriptGC": False,  # a search of all memory after every move; Python's own stays
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
    name = _checked_name(options.proxy_name)
    config = settings(options.port, open_browser=not options.no_browser, proxy_name=name)
    print(f"drainsim: dashboard on http://localhost:{options.port} (Ctrl-C stops it)", flush=True)
    from drainsim.dashboard.serve import serve  # only this command needs it, and it takes a while

    serve(app_file(), config)


def _checked_name(name: str | None) -> str | None:
    if name is not None and not _HOST_NAME.fullmatch(name.lower()):
        raise DrainsimError(
            f"--proxy-name {name!r}: use a host name such as stand.example.org, without https:// "
            "and without a port"
        )
    return name.lower() if name else None
