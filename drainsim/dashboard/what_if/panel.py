"""The what-if panel: every control, the baseline buttons, files in and out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Final

import streamlit as st

from drainsim.dashboard import forms, session
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.parts.slider_box import slider_box
from drainsim.dashboard.what_if.control import Control
from drainsim.dashboard.what_if.controls import (
    CHARGE_BY,
    CONTROLS,
    EITHER,
    NO_UNIT,
    OWN,
    PLACE_BY,
    PRESETS,
    SECTIONS,
)
from drainsim.dashboard.what_if.fitting import SWITCHES, Choices, applies
from drainsim.dashboard.what_if.temperature_file import LARGEST_MB
from drainsim.files.profile import load_profile
from drainsim.language import marked, say
from drainsim.vehicle.batteries.starting_charge import full_reading_range_v
from drainsim.vehicle.compatibility import FEEDS, unit_at_24v

UNKNOWN: Final = marked("I don't know")
_WAY: Final = "kept_way_"  # which of two ways is looked at, typed or not
_AFTER: Final = {"cranking_standard": "cold_cranking_a"}  # asked once the other is known
_MINUTES_PER_HOUR: Final = 60.0
_MOST_SIDE_BY_SIDE: Final = 2
Ways = Mapping[str, tuple[str, ...]]


def draw_heading() -> None:
    """Say what the controls are for: the vehicle, or changes that are compared with it."""
    st.subheader(say("What if ...") if session.compared() else say("The vehicle"), anchor=False)


def draw_controls(values: Choices) -> None:
    """Draw the controls in tabs, each at the value the answer really uses."""
    battery, unit, vehicle, place, chargers = st.tabs(
        [say("Battery"), say("Unit"), say("Vehicle"), say("Place"), say("Chargers")]
    )
    with battery:
        _section("label", values)
        _either("charge_by", say("Charge at parking by"), CHARGE_BY, values)
        _section("batteries", values)
        if values["system"] != "12V":
            st.caption(say("Labels and voltages above are those of one 12 V battery."))
        _section("second", values)
    with unit:
        _section("unit", values)
    with vehicle:
        _section("vehicle", values)
        if values["kind"] == "trailer":
            st.caption(say("A trailer starts nothing: the answer is when its unit goes silent."))
        safety.high_voltage(values["kind"])
    with place:
        _either("temperature_by", say("Where"), PLACE_BY, values)
        _section("place", values)
    with chargers:
        _chargers(values)


def _chargers(values: Choices) -> None:
    """Draw a switch for each charger, and its controls while it is on."""
    for switch in SWITCHES:
        _section(switch, values)
    if not applies("top_up", session.tables()):
        st.caption(
            say(
                "Hybrid and electric vehicles can also be topped up from their traction battery: "
                "choose the kind under *Vehicle*."
            )
        )
    if any(values[switch] for switch in SWITCHES):
        safety.charging()
        safety.high_voltage(values["kind"])


def draw_compare_buttons() -> None:
    """Draw what begins and ends a comparison."""
    if not session.compared():
        st.button(
            say("Compare changes with this"),
            key="compare",
            on_click=session.compare,
            help=say("From then on each change says how many days it brings."),
        )
        return
    with st.container(horizontal=True):
        st.button(
            say("Undo the changes"),
            key="undo",
            on_click=session.undo,
            disabled=not session.choices(),
        )
        st.button(say("Stop comparing"), key="stop_comparing", on_click=session.stop_comparing)


def _section(section: str, values: Choices) -> None:
    draw([control.name for control in SECTIONS[section]], values)


def draw(names: Sequence[str], values: Choices) -> None:
    """Draw the controls that mean something in this state; a page may pick some."""
    tables = session.tables()
    for name in names:
        if applies(name, tables) and (name not in _AFTER or session.is_known(_AFTER[name])):
            control = _offered(CONTROLS[name], values).here()
            _DRAW[control.kind](control, control.see(values[name]))


def ask(names: Sequence[str], values: Choices) -> None:
    """Draw controls as questions, each unanswered until somebody answers it."""
    for name in names:
        if name in _AFTER and not session.is_known(_AFTER[name]):
            continue
        control = _offered(CONTROLS[name], values).here()
        if control.kind == "choice":
            _question(control, values[name])
        elif control.kind == "date":
            _date(control, values[name])
        else:
            unused = name in EITHER and not session.is_known(name)
            _box(control, None if unused else control.see(values[name]), unknown=UNKNOWN)


def ask_where(values: Choices) -> None:
    """Draw the ways of saying where it stands as questions."""
    _either("temperature_by", say("Where"), PLACE_BY, values, ask)


def _question(control: Control, value: Any) -> None:
    """Draw a list that begins with: I don't know."""
    options = {OWN: UNKNOWN} | control.options() | {OWN: UNKNOWN}
    st.session_state[control.name] = value if session.is_known(control.name) else OWN
    st.selectbox(
        say(control.label),
        options=list(options),
        format_func=lambda key: say(str(options.get(key, key))),
        key=control.name,
        on_change=_take_answer,
        args=(control.name,),
    )


def _take_answer(name: str) -> None:
    said = st.session_state[name]
    session.choose(name, None if said == OWN and name not in PRESETS else said)


def _offered(control: Control, values: Choices) -> Control:
    """Return a control with only what goes together with the others."""
    name = control.name
    if name in _RULES_OUT:
        out = {option for option, ruled in _RULES_OUT[name].items() if ruled(values)}
        kept = {key: label for key, label in control.options().items() if key not in out}
        return replace(control, options=lambda: kept)
    if name == "fed_from":
        feeds = control.options()
        kept = {key: feeds[key] for key in FEEDS[values["system"]]}
        return replace(control, options=lambda: kept)
    if name == "cutoff_v" and unit_at_24v(session.tables()):
        return replace(control, high=float(control.key.high))
    if name == "full_resting_v":
        low_v, high_v = full_reading_range_v(load_profile(values["profile"]))
        return replace(control, low=max(control.low, low_v), high=min(control.high, high_v))
    if name == "engine_litres" and values["kind"] == "motorcycle":
        return replace(control, low=control.key.low, high=2.5, step=0.05)
    if name == "warmest_month_c":
        return replace(control, low=max(control.low, values["coldest_month_c"]))
    if name == "coldest_month_c" and session.is_known("warmest_month_c"):
        return replace(control, high=min(control.high, values["warmest_month_c"]))
    if name == "top_up_every_h":  # a top-up ends before the next
        longest_h = values["top_up_minutes"] / _MINUTES_PER_HOUR
        return replace(control, steps=tuple(h for h in control.steps if h >= longest_h))
    if name == "top_up_minutes":
        return replace(
            control, high=min(control.high, _MINUTES_PER_HOUR * values["top_up_every_h"])
        )
    return control


def _common(control: Control) -> dict[str, Any]:
    return {
        "key": control.name,
        "help": say(control.note) or None,
        "on_change": session.take_widget,
        "args": (control.name, control.name, control.seen),
    }


def _slider(control: Control, value: Any) -> None:
    number = int if control.whole else float
    slider_box(
        say(control.label),
        number(value),
        key=control.name,
        low=number(control.low),
        high=number(control.high),
        step=number(control.step),
        take=partial(session.take_widget, control.name, seen=control.seen),
        note=say(control.note) or None,
    )


def _steps(control: Control, value: Any) -> None:
    slider_box(
        say(control.label),
        float(value),
        key=control.name,
        low=control.steps[0],
        high=control.steps[-1],
        step=1.0,
        steps=control.steps,
        take=partial(session.take_widget, control.name, seen=control.seen),
        note=say(control.note) or None,
    )


def _box(control: Control, value: Any, *, unknown: str = "") -> None:
    # Empty unless given: what is assumed instead stands in the placeholder.
    given = value if session.is_known(control.name) else None
    st.session_state[control.name] = given
    held = control.low if given is None else given  # as a slider, it stretches to what was loaded
    st.number_input(
        say(control.label),
        min_value=min(control.low, held),
        max_value=max(control.high, held),
        value=None,  # the box may be emptied
        step=control.step,
        placeholder=_placeholder(control, value, unknown),
        **_common(control),
    )


def _placeholder(control: Control, value: Any, unknown: str) -> str:
    """Return what stands in an empty box: what is assumed, where that is a number."""
    if value is None:
        return say(unknown or control.empty or marked("not known yet"))
    return say("{value:g} assumed", value=value)


def _choice(control: Control, value: Any) -> None:
    options = control.options()
    st.session_state[control.name] = value
    st.selectbox(
        say(control.label),
        options=list(options),
        format_func=lambda key: say(str(options.get(key, key))),
        **_common(control),
    )


def _toggle(control: Control, value: Any) -> None:
    st.session_state[control.name] = value
    st.toggle(say(control.label), **_common(control))


def _file(control: Control, value: Any) -> None:
    st.file_uploader(
        say(control.label),
        type=["csv", "epw"],
        key=control.name,
        help=say(control.note) or None,
        on_change=session.take_temperature_file,
        max_upload_size=LARGEST_MB,
    )
    if value is not None:
        st.caption(say("In use: {file}", file=plain(control.words(value))))


def _date(control: Control, value: Any) -> None:
    st.session_state[control.name] = value
    st.date_input(say(control.label), format=say("YYYY-MM-DD"), **_common(control))


_DRAW: Final = {
    "slider": _slider,
    "steps": _steps,
    "box": _box,
    "choice": _choice,
    "date": _date,
    "file": _file,
    "switch": _toggle,
}
# Choices left out where they would not go together: a trailer has a unit and one battery system.
_RULES_OUT: Final[dict[str, dict[str, Callable[[Choices], bool]]]] = {
    "unit": {NO_UNIT: lambda values: values["kind"] == "trailer"},
    "system": {"auxiliary": lambda values: values["kind"] == "trailer"},
    "kind": {
        "trailer": lambda values: values["unit"] == NO_UNIT or values["system"] == "auxiliary"
    },
}


def _either(
    key: str,
    label: str,
    ways: Ways,
    values: Choices,
    draw_first: Callable[[Sequence[str], Choices], None] = draw,
) -> None:
    """Draw the choice between ways of saying the same thing, and the controls of one of them.

    All but the first stay empty, and the first in use, until they are typed: a way that is only
    looked at says nothing about the vehicle.
    """
    first = next(iter(ways))
    st.session_state[key] = way = _way(key, ways)
    how: dict[str, Any] = {
        "format_func": say,
        "key": key,
        "on_change": _switch,
        "args": (key, ways),
    }
    if len(ways) > _MOST_SIDE_BY_SIDE:
        st.selectbox(label, list(ways), **how)
    else:
        st.radio(label, list(ways), horizontal=True, **how)
    if way == first:
        draw_first(ways[first], values)
        return
    deciding = ways[way][0]
    for name in ways[way]:
        if name == deciding or session.is_known(deciding):
            control = _offered(CONTROLS[name], values).here()
            kind = "file" if control.kind == "file" else "box"
            _DRAW[kind](control, control.see(values[name]) if session.is_known(name) else None)


def _way(key: str, ways: Ways) -> str:
    """Return the way that holds all that is known; the one looked at, where it does."""
    first, *others = ways
    known = {name for way in others for name in ways[way] if session.is_known(name)}
    fitting = [way for way in ways if known <= set(ways[way])] or [first]
    looked_at = st.session_state.get(_WAY + key)
    if looked_at in fitting:
        return str(looked_at)
    return next((way for way in fitting if ways[way][0] in known), fitting[0])


def _switch(key: str, ways: Ways) -> None:
    """Look at another way, and let go of what is known by those before."""
    forms.stay()
    st.session_state[_WAY + key] = way = st.session_state[key]
    before = {name for names in [*ways.values()][1:] for name in names} - set(ways[way])
    for name in before:
        if session.is_known(name):
            session.choose(name, None)
