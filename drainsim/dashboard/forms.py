"""Entries of a page's own form: kept over page switches and in the address.

A phone under a dashboard loses its connection; what was typed must not go with it. Entries are
JSON, packed into one query parameter a page.
"""

import base64
import binascii
import json
import zlib
from typing import Any, Final

import streamlit as st

PAGES: Final = ("circuits", "job", "complaint", "trips", "ageing", "plan")
KEEP: Final[dict[str, Any]] = {"persist_state": "session"}  # a widget over a visit elsewhere
_KEPT: Final = "kept_form_"
_TOLD: Final = "kept_form_sentences"
_READ: Final = "kept_forms_read"
_MOST_PACKED: Final = 12_000  # characters in the address
_MOST_BYTES: Final = 100_000


def remember() -> None:
    """Take entries from the address, once a session."""
    state = st.session_state
    if _READ in state:
        return
    state[_READ] = True
    for page in PAGES:
        packed = st.query_params.get(page)
        if not packed:
            continue
        entries = unpacked(packed)
        if entries is None:
            del st.query_params[page]
            tell(page, "The address holds entries that cannot be read; the form starts empty.")
        else:
            state[_KEPT + page] = entries


def entries(page: str) -> dict[str, Any]:
    """Return a page's entries; change them in place, then call `write`."""
    kept: dict[str, Any] = st.session_state.setdefault(_KEPT + page, {})
    return kept


def replace_entries(page: str, fresh: dict[str, Any]) -> None:
    """Put other entries in place of a page's."""
    st.session_state[_KEPT + page] = fresh


def sentences(*pages: str) -> list[str]:
    """Return what to tell on these pages about their address or last file."""
    told: dict[str, str] = st.session_state.get(_TOLD, {})
    return [told[page] for page in pages if page in told]


def tell(page: str, sentence: str | None) -> None:
    """Keep a sentence to be shown on a page from the next run on, None to forget it."""
    told: dict[str, str] = st.session_state.setdefault(_TOLD, {})
    if sentence:
        told[page] = sentence
    else:
        told.pop(page, None)


def write(page: str) -> bool:
    """Write a page's entries to the address; False where they are too long for it."""
    kept = st.session_state.get(_KEPT + page) or {}
    filled = {name: entry for name, entry in kept.items() if entry not in ({}, [], None)}
    text = packed(filled) if filled else ""
    fits = len(text) <= _MOST_PACKED
    if not (text and fits):
        st.query_params.pop(page, None)  # a reload must not bring back what is no longer there
    elif st.query_params.get(page) != text:
        st.query_params[page] = text
    return fits


def kept_number(page: str, name: str, usual: float, *, low: float, high: float) -> float:
    """Return a number the page keeps, the usual one where what is kept cannot be.

    Whole numbers are asked for where the usual one is whole.
    """
    value = entries(page).get(name)
    right = int if isinstance(usual, int) else (int, float)
    if isinstance(value, bool) or not isinstance(value, right) or not low <= value <= high:
        entries(page).pop(name, None)
        return usual
    return value


def take(page: str, name: str, key: str, usual: Any) -> None:
    """Keep what a widget stands at, nothing where that is the usual; for on_change."""
    value = st.session_state[key]
    if value == usual:
        entries(page).pop(name, None)
    else:
        entries(page)[name] = value


def packed(entries: dict[str, Any]) -> str:
    """Return entries as text for an address.

    Examples
    --------
    >>> unpacked(packed({"a": 1.5}))
    {'a': 1.5}
    """
    raw = json.dumps(entries, separators=(",", ":"), ensure_ascii=False).encode()
    return base64.urlsafe_b64encode(zlib.compress(raw, 9)).decode().rstrip("=")


def unpacked(text: str) -> dict[str, Any] | None:
    """Return entries from an address, None where it holds none; nothing in it is trusted."""
    if len(text) > _MOST_PACKED:
        return None
    try:
        raw = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
        unzip = zlib.decompressobj()
        plain = unzip.decompress(raw, _MOST_BYTES)
        if unzip.unconsumed_tail:
            return None
        found = json.loads(plain)
        packed(found)  # what no address can hold is not taken from one
    except (binascii.Error, zlib.error, ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None
