"""Serve the pages behind the guard, until stopped."""

import ctypes
import gc
import logging
import platform
import sys
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any, Final, cast

import streamlit as st
from starlette.middleware import Middleware
from streamlit.runtime import get_instance

from drainsim.answers.standing.park import park
from drainsim.dashboard.guard import Guard
from drainsim.dashboard.parts.looks import SCRIPT
from drainsim.dashboard.visitor_quota import Uploads
from drainsim.dashboard.what_if.what_if import example
from drainsim.figures.by_date import by_date_figure
from drainsim.language import say
from drainsim.vehicle.case import resolve

_M_ARENA_MAX: Final = -8  # of glibc's malloc.h


def serve(script: Path, config: Mapping[str, object]) -> None:
    """Serve a script with these settings, behind the guard, until stopped."""
    sys.argv = [str(script)]
    _share_one_heap()
    _warm_up()
    hosts = tuple(cast("list[str]", config["server.allowedHosts"]))
    shell = (Path(st.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
    shell += f"<script>{SCRIPT}</script>"
    proxies = cast("list[str]", config["server.corsAllowedOrigins"])
    here = (name for name in hosts if f"https://{name}" not in proxies)
    origins = (*(f"http://{name}:{config['server.port']}" for name in here), *proxies)
    uploads = Uploads(_held_bytes)
    guard = Middleware(Guard, hosts=hosts, origins=origins, shell=shell, uploads=uploads)
    st.App(script, middleware=[guard], on_script_error=_say_so).run(config=config)


def _share_one_heap() -> None:
    """Let all threads allocate from one heap: each run is a thread, and each would keep its own.

    With 50 visitors 255 MB instead of 500 (measured); Python runs one thread at a time anyway.
    """
    if platform.libc_ver()[0] == "glibc":
        ctypes.CDLL(None).mallopt(_M_ARENA_MAX, 1)


def _warm_up() -> None:
    """Load what every page needs, answer once, and set it all aside from the garbage search.

    Streamlit searches for garbage after every run: 73 to 90 ms with all modules loaded, 2 ms when
    they are set aside first (measured). Before the first visitor, so that no session is kept.
    """
    by_date_figure(park(resolve(example()))).to_json()
    told = logging.getLogger("streamlit.runtime.caching.cache_data_api")
    before = told.level
    told.setLevel(logging.ERROR)  # pages loaded before the server runs are meant to be
    for page in sorted((Path(__file__).parent / "pages").glob("*_page.py")):
        import_module(f"drainsim.dashboard.pages.{page.stem}")
    told.setLevel(before)
    gc.collect()
    gc.freeze()


def _held_bytes(session: str) -> int:
    """Return how much the framework holds of a session's files. [bytes]."""
    files = cast("Any", get_instance().uploaded_file_mgr).file_storage.get(session, {})
    return sum(len(file.data) for file in list(files.values()))


def _say_so(error: Exception) -> bool:
    """Tell the visitor in our own words, and the person at the server what it was."""
    logging.getLogger(__name__).error("a page failed", exc_info=error)
    st.error(
        say(
            "This page met an error of its own; nothing you entered caused harm. Reload it, or "
            "start "
            "over from the first page. The server's log holds the details."
        )
    )
    return True
