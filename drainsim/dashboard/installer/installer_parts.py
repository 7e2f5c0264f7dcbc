"""Parts the installer's pages share: cautions at the step, verdicts, fields for thumbs."""

from collections.abc import Callable
from typing import Any, Final

import streamlit as st

from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.what_if.control import Scale
from drainsim.language import marked, say

RULES: Final = "<style> .stMainBlockContainer { max-width: 60rem; } </style>"
# Never by colour alone: picture and word.
_PICTURES: Final = {
    marked("accepted"): ":material/check_circle:",
    marked("pass"): ":material/check_circle:",
    marked("refused"): ":material/cancel:",
    marked("fail"): ":material/cancel:",
    marked("cannot tell"): ":material/help:",
}
CAUTIONS: Final = {
    "restraint": marked(
        "**Never splice, tap, probe or measure resistance on restraint (airbag, belt), braking, "
        "steering or emergency wiring.** Colour is no proof. Wait as long as the vehicle maker "
        "says after disconnecting."
    ),
    "battery": marked(
        "**Batteries give off explosive gas and hold acid:** air, no sparks or flames, eye "
        "protection, no metal tools or jewellery across the terminals. Never charge a frozen one."
    ),
    "fuse": marked(
        "**Fuse before wire:** the fuse belongs close to the source and goes in last. A fuse "
        "larger than the wire carries lets the cable burn."
    ),
    "series": marked(
        "**Never open a meter or switch in the battery lead while the engine runs,** and operate "
        "no loads through it. Bridge it while the vehicle goes to sleep."
    ),
    "high_voltage": marked(
        "**Hybrid and electric vehicles: stay with the 12 V side.** Orange cables are high voltage "
        "and only for trained people; disconnecting 12 V does not make them dead."
    ),
}


def caution(name: str) -> None:
    """Draw one caution, at the step where it matters."""
    st.markdown(f":material/warning: {say(CAUTIONS[name])}")


def sentence_with_verdict(verdict: str, text: object) -> None:
    """Draw a verdict as picture and word, then its text."""
    st.markdown(f"{_PICTURES[verdict]} **{say(verdict)}**: {plain(text)}")


def number(
    label: str,
    entries: dict[str, Any],
    name: str,
    *,
    key: str,
    low: float,
    high: float,
    step: float = 0.1,
    note: str = "",
    scale: Scale | None = None,
) -> None:
    """Draw a number field that may stay empty; its value goes into the entries.

    A value loaded from beyond the limits stretches them: it is neither hidden nor moved.
    Limits and step are in the unit shown, which `scale` makes of the one kept.
    """
    value = entries.get(name)
    if isinstance(value, int | float) and not isinstance(value, bool):
        shown = round(scale.from_scenario(value) if scale else value, 9)
        st.session_state[key] = float(shown)
        low, high = min(low, shown), max(high, shown)  # what counts is shown
    else:
        st.session_state[key] = None
    st.number_input(
        label,
        min_value=float(low),
        max_value=float(high),
        step=float(step),
        format="%g",
        placeholder=say("not known"),
        help=note or None,
        key=key,
        on_change=_take,
        args=(entries, name, key, scale),
    )


def text(label: str, entries: dict[str, Any], name: str, *, key: str) -> None:
    """Draw a text field."""
    st.session_state[key] = str(entries.get(name) or "")[:80]
    st.text_input(label, key=key, max_chars=80, on_change=_take, args=(entries, name, key))


def choice(
    label: str,
    entries: dict[str, Any],
    name: str,
    options: dict[str, str],
    *,
    key: str,
    default: str,
) -> None:
    """Draw a choice; `options` maps values to their labels, in English."""
    value = entries.get(name)
    st.session_state[key] = value if value in options else default
    st.selectbox(
        label,
        options=list(options),
        format_func=lambda one: say(options[one]),
        key=key,
        on_change=_take,
        args=(entries, name, key),
    )


def question(label: str, entries: dict[str, Any], name: str, *, key: str) -> None:
    """Draw a question answered by yes, no or not checked."""
    answers = (marked("not checked"), marked("yes"), marked("no"))
    value = entries.get(name)
    st.session_state[key] = value if value in answers else answers[0]
    st.radio(
        label,
        answers,
        format_func=say,
        key=key,
        horizontal=True,
        on_change=_take,
        args=(entries, name, key),
    )


def _take(entries: dict[str, Any], name: str, key: str, scale: Scale | None = None) -> None:
    value = st.session_state[key]
    if value in (None, ""):
        entries.pop(name, None)
    else:
        entries[name] = round(scale.to_scenario(value), 12) if scale else value


def side_by_side(*fields: Callable[[], None]) -> None:
    """Draw fields in a row that breaks on a narrow screen."""
    columns = st.columns(len(fields), vertical_alignment="bottom")
    for column, field in zip(columns, fields, strict=True):
        with column:
            field()
