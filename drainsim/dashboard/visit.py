"""What a browser's visit holds beyond the address of one page: loaded files, the doors' vehicles.

A reload ends Streamlit's session. What is kept here outlasts it, under a cookie no script and no
other site can read, and which the browser forgets when it is closed. Never in an address: a link
that is passed on opens nobody's list.
"""

import hashlib
import re
import secrets
import threading
import time
from collections import OrderedDict
from typing import Any, Final

import streamlit as st

from drainsim.language import marked

GONE: Final = marked(
    "The file this address asks about is no longer held here: load it again. It never was part of "
    "the address."
)
COOKIE: Final = "drainsim_visit"
_TOKEN: Final = re.compile(r"[\w-]{22,64}")
_HELD_S: Final = 12 * 3600.0  # since it was last used
_MOST_VISITS: Final = 200
_MOST_FILES: Final = 4  # of one visit
_MOST_BYTES: Final = 500_000_000  # of all visits
_OWN: Final = "kept_visit"  # where there is no cookie: lasts as long as the session
_DIGEST: Final = 16

Memory = dict[str, Any]


def new_token() -> str:
    """Return a name for a visit that nobody can guess."""
    return secrets.token_urlsafe(24)


def token_in(cookies: str) -> str | None:
    """Return the visit a Cookie header names.

    Examples
    --------
    >>> token_in("a=b; drainsim_visit=0123456789abcdefghijklmn")
    '0123456789abcdefghijklmn'
    >>> token_in("drainsim_visit=x")
    """
    for part in cookies.split(";"):
        name, _, value = part.strip().partition("=")
        if name == COOKIE and _TOKEN.fullmatch(value):
            return value
    return None


def memory() -> Memory:
    """Return what this visit holds; change it in place."""
    token = token_in(f"{COOKIE}={st.context.cookies.get(COOKIE, '')}")
    if token is None:
        own: Memory = st.session_state.setdefault(_OWN, {})
        return own
    return _visits().of(token)


def keep_file(content: bytes, name: str) -> str:
    """Keep a file for this visit; return what names it in an address."""
    key = hashlib.sha256(content).hexdigest()[:_DIGEST]
    files: OrderedDict[str, tuple[bytes, str]] = memory().setdefault("files", OrderedDict())
    files[key] = content, "".join(letter for letter in name if letter.isprintable())[:80]
    while len(files) > _MOST_FILES:
        files.popitem(last=False)
    _visits().bound()
    return key


def kept_file(key: object) -> tuple[bytes, str] | None:
    """Return content and name of a file this visit holds, None where it is gone."""
    found: tuple[bytes, str] | None = memory().get("files", {}).get(key)
    return found


def forget_file(key: object) -> None:
    """Let go of a file."""
    memory().get("files", {}).pop(key, None)


class _Visits:
    """Every visit's memory: those longest unused go first."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: OrderedDict[str, tuple[float, Memory]] = OrderedDict()

    def of(self, token: str) -> Memory:
        now = time.monotonic()
        with self._lock:
            _, held = self._held.pop(token, (now, {}))
            self._held[token] = now, held
            while self._oldest_s(now) > _HELD_S or len(self._held) > _MOST_VISITS:
                self._held.popitem(last=False)
        return held

    def bound(self) -> None:
        """Let go of the visits longest unused until the files of the others fit."""
        with self._lock:
            while len(self._held) > 1 and self._bytes() > _MOST_BYTES:
                self._held.popitem(last=False)

    def _oldest_s(self, now: float) -> float:
        return now - next(iter(self._held.values()))[0]

    def _bytes(self) -> int:
        files = (held.get("files", {}) for _, held in self._held.values())
        return sum(len(content) for one in files for content, _ in one.values())


@st.cache_resource(show_spinner=False)
def _visits() -> _Visits:
    return _Visits()
