"""The language and the temperature unit of a visit: the browser's until the visitor chooses."""

from collections.abc import Collection, Mapping
from typing import Final

import streamlit as st

from drainsim.dashboard import visit
from drainsim.language import TEMPERATURE_UNITS, say, screen_languages, spoken
from drainsim.language import speak as speak_here

LANGUAGE, DEGREES = "language", "degrees"  # in the address
_CHOSEN: Final = "kept_tongue"
_LIST_PX, _UNIT_PX = 180, 140


def speak() -> None:
    """Speak the visit's language from here on; at the start of every run and every fragment.

    Either is a thread of its own.
    """
    code, degrees = _now(LANGUAGE), _now(DEGREES)
    if (code, degrees) != (spoken().code, spoken().temperature_unit):
        speak_here(code, temperature_unit=degrees)


def query() -> dict[str, str]:
    """Return what was chosen, as an address holds it."""
    return {name: value for name, value in _chosen().items() if value != _usual(name)}


def read(asked: dict[str, str], *, first: bool) -> None:
    """Take what an address says out of it; on the way back, one that says nothing undoes a choice.

    A visit that begins anew goes on as it was.
    """
    said = _said_in(asked)
    for name in (LANGUAGE, DEGREES):
        asked.pop(name, None)
    if not first:
        _keep(said)


def draw() -> None:
    """Draw the choice of both, at the end of a page."""
    with st.container(horizontal=True, key="tongue"):
        _choice(LANGUAGE, say("Language of the pages"), screen_languages(), _LIST_PX)
        degrees = {unit: f"°{unit}" for unit in TEMPERATURE_UNITS}
        _choice(DEGREES, say("Temperatures here"), degrees, _UNIT_PX)


def _choice(name: str, label: str, options: Mapping[str, str], width: int) -> None:
    key = f"visit_{name}"
    st.session_state[key] = _now(name)
    st.selectbox(
        label,
        list(options),
        format_func=options.__getitem__,
        key=key,
        width=width,
        on_change=_take,
        args=(name, key),
    )


def _take(name: str, key: str) -> None:
    _keep({**_chosen(), name: st.session_state[key]})


def _now(name: str) -> str:
    return _chosen().get(name) or _usual(name)


def _chosen() -> dict[str, str]:
    if _CHOSEN not in st.session_state:
        before: dict[str, str] = visit.memory().get(_CHOSEN, {})
        _keep(before | _said_in(st.query_params))
    chosen: dict[str, str] = st.session_state[_CHOSEN]
    return chosen


def _said_in(asked: Mapping[str, str]) -> dict[str, str]:
    return {
        name: asked[name] for name in (LANGUAGE, DEGREES) if asked.get(name, "") in _offered(name)
    }


def _keep(chosen: dict[str, str]) -> None:
    st.session_state[_CHOSEN] = visit.memory()[_CHOSEN] = chosen


def _offered(name: str) -> Collection[str]:
    return screen_languages() if name == LANGUAGE else TEMPERATURE_UNITS


def _usual(name: str) -> str:
    """Return what the browser asks for, English and °C where it asks for nothing known."""
    locale = (st.context.locale or "").replace("_", "-")
    if name == DEGREES:
        return "F" if locale.endswith("-US") else "C"
    code = locale.partition("-")[0].lower()
    return code if code in screen_languages() else "en"
