"""Entries of a page's own question: kept over page switches and, packed, in the page's address.

A phone under a dashboard loses its connection; what was typed must not go with it. Entries are
JSON. `address` writes them and reads them back.
"""

import base64
import binascii
import datetime as dt
import json
import zlib
from collections.abc import Collection
from typing import Any, Final

import streamlit as st

from drainsim.language import message

_KEPT: Final = "kept_form_"
_TOLD: Final = "kept_form_sentences"
_STAYED: Final = "kept_stayed"
_MOST_PACKED: Final = 12_000  # characters in the address
_MOST_BYTES: Final = 100_000
NO_DATE: Final = dt.date.min  # the usual of a date that may be missing: none
_UNREADABLE: Final = message(
    "The address holds entries that cannot be read; the form starts empty."
)


def entries(page: str) -> dict[str, Any]:
    """Return a page's entries; change them in place."""
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


def text(page: str) -> str:
    """Return a page's entries as its address holds them, "" where there are none."""
    filled = {name: one for name, one in entries(page).items() if one not in ({}, None)}
    return packed(filled) if filled else ""


def fits(page: str) -> bool:
    """Say whether a page's entries are short enough for an address."""
    return len(text(page)) <= _MOST_PACKED


def read(page: str, asked: str) -> None:
    """Put the entries of an address in place of a page's."""
    found = unpacked(asked) if asked else {}
    tell(page, _UNREADABLE if found is None else None)
    replace_entries(page, found or {})


def kept(
    page: str,
    name: str,
    usual: Any,
    *,
    low: float | None = None,
    high: float | None = None,
    among: Collection[Any] | None = None,
) -> Any:
    """Return what a page keeps under a name, the usual where what is kept cannot be.

    Parameters
    ----------
    page, name : str
    usual : object
        A date (`NO_DATE` where it may be missing), text, number, switch, list or None. Whole
        numbers are asked for where the usual one is whole.
    low, high : float, optional
        Of a number; a list has at most `high` members.
    among : collection, optional
        What it, or each of a list, may be.
    """
    value = entries(page).get(name)
    if isinstance(value, str) and isinstance(usual, dt.date):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            value = None
    if value is not None and _may_be(value, usual, low, high, among):
        return value
    return None if usual is NO_DATE else usual


def _may_be(
    value: Any,
    usual: Any,
    low: float | None,
    high: float | None,
    among: Collection[Any] | None,
) -> bool:
    if isinstance(usual, list):
        most = len(value) if high is None else high
        return (
            isinstance(value, list)
            and len(value) <= most
            and all(one in (among or ()) for one in value)
        )
    if among is not None:
        return not isinstance(value, dict | list) and value in among
    if isinstance(usual, bool | str):
        return isinstance(value, type(usual))
    right = int if isinstance(usual, int) else (int, float)
    if isinstance(value, bool) or not isinstance(value, right):
        return False
    return (low is None or low <= value) and (high is None or value <= high)


def bound(page: str, name: str, usual: Any, *, key: str = "", **limits: Any) -> dict[str, Any]:
    """Return a widget's key and callback: it stands at what the page keeps, see `kept`.

    The widget needs no value of its own.
    """
    key = key or f"{page}_{name}"
    value = kept(page, name, usual, **limits)
    if isinstance(usual, float):
        value = float(value)
    st.session_state[key] = list(value) if isinstance(value, list) else value
    return {"key": key, "on_change": take, "args": (page, name, key, usual)}


def take(page: str, name: str, key: str, usual: Any) -> None:
    """Keep what a widget stands at, nothing where that is the usual; for on_change."""
    value = st.session_state[key]
    if value == usual or (value is None and usual is NO_DATE):
        entries(page).pop(name, None)
    else:
        entries(page)[name] = value.isoformat() if isinstance(value, dt.date) else value


def stay() -> None:
    """Say that a widget moved nothing the address holds; for on_change.

    What it sends may still carry the address before the last step, which is no step back.
    """
    st.session_state[_STAYED] = True


def stayed() -> bool:
    """Say, once, whether such a widget was moved."""
    return bool(st.session_state.pop(_STAYED, False))


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
