"""What one visitor has chosen, kept over page switches and written to the address."""

from typing import Any, Final

import streamlit as st

from drainsim.dashboard import forms
from drainsim.dashboard.cached import case_of
from drainsim.dashboard.what_if.controls import CONTROLS, EITHER, PRESETS
from drainsim.dashboard.what_if.fitting import (
    REPLACING,
    SWITCHES,
    Choices,
    Tables,
    applies,
    chosen_tables,
    stands_at,
)
from drainsim.dashboard.what_if.what_if import (
    changed,
    example,
    from_address,
    scenario_from_bytes,
    shown_values,
    to_address,
    with_fallbacks,
)
from drainsim.errors import DrainsimError
from drainsim.vehicle.compatibility import FEEDS, system_of, unit_at_24v
from drainsim.vehicle.given import given_in
from drainsim.vehicle.scenario import Scenario

_BASE: Final = "kept_baseline"
_CHOICES: Final = "kept_choices"
_SENTENCES: Final = "kept_sentences"
_SHOWN: Final = "kept_shown"
UPLOAD: Final = "scenario_file"
_DECIDE: Final = (*PRESETS, *SWITCHES, "kind", "system")  # about which other controls there are


def start() -> None:
    """Read the address once, at the start of a session, and keep it up to date after.

    Entries of the installer's pages stay where they are: those pages write them.
    """
    state = st.session_state
    asked = dict(st.query_params)
    entries: dict[str, str] = {name: asked.pop(name) for name in forms.PAGES if name in asked}
    if _BASE not in state:
        state[_BASE], state[_CHOICES], state[_SENTENCES] = from_address(asked)
    wanted = to_address(baseline(), choices())
    if asked != wanted:
        st.query_params.from_dict(wanted | entries)


def baseline() -> Scenario:
    """Return the unchanged case."""
    kept: Scenario = st.session_state[_BASE]
    return kept


def choices() -> Choices:
    """Return the choices on top of the baseline, by control name."""
    kept: Choices = st.session_state[_CHOICES]
    return kept


def scenario() -> Scenario:
    """Return the baseline with its choices.

    Raises
    ------
    DrainsimError
        If the choices do not fit together.
    """
    return changed(baseline(), choices())


def sentences() -> list[str]:
    """Return what the visitor should be told about the last address or file."""
    kept: list[str] = st.session_state[_SENTENCES]
    return kept


def shown() -> Choices:
    """Return what every control stands at; the last good state while choices do not fit."""
    try:
        now = scenario()
        values = with_fallbacks(shown_values(case_of(now), now))
    except DrainsimError:
        before = baseline()
        last_good = st.session_state.get(_SHOWN)
        values = dict(last_good or with_fallbacks(shown_values(case_of(before), before)))
        values.update({name: value for name, value in choices().items() if value is not None})
    st.session_state[_SHOWN] = values
    return values


def tables() -> Tables:
    """Return the tables the choices make, before their single values: what decides is in them."""
    return chosen_tables(baseline(), choices())[0]


def choose(name: str, value: Any) -> None:
    """Take a value from the panel, and let go of every value that means nothing beside it."""
    kept, before = choices(), unit_at_24v(tables())
    if name in REPLACING:
        table = CONTROLS[name].key.table
        for other in [one for one in kept if CONTROLS[one].key.table == table]:
            del kept[other]
    kept.pop(EITHER.get(name, ""), None)
    if value is None and baseline_value(name) is None:
        kept.pop(name, None)
    else:
        kept[name] = value
    if name in _DECIDE:
        without = {other: kept[other] for other in kept if other != name}
        plain, _ = chosen_tables(baseline(), without)
        if stands_at(plain, name) == value:
            del kept[name]
    if name == "profile":
        kept.pop("full_resting_v", None)  # a reading of the battery before
    if unit_at_24v(tables()) != before:
        kept.pop("cutoff_v", None)  # a voltage of the other system
    _let_go_of_what_cannot_be(kept)
    st.session_state[_SENTENCES] = []


def _let_go_of_what_cannot_be(kept: Choices) -> None:
    if "fed_from" in kept and kept["fed_from"] not in FEEDS[system_of(tables())]:
        del kept["fed_from"]
    for other in CONTROLS:  # what decides stands before what it decides about
        if other in kept and not applies(other, tables()):
            del kept[other]


def baseline_value(name: str) -> Any:
    """Return what the baseline itself gives for a control, None where it gives nothing."""
    return baseline().get(CONTROLS[name].key)


def is_known(name: str) -> bool:
    """Say whether a value is given, by choice or by the baseline, and not assumed."""
    kept = choices()
    if name in kept:
        return kept[name] is not None
    given = given_in(tables(), CONTROLS[name].key)
    return EITHER.get(name) not in kept and given is not None


def take_widget(name: str, key: str) -> None:
    """Take the value of one of a control's widgets; for on_change."""
    choose(name, st.session_state[key])


def keep_as_baseline() -> None:
    """Make the changed case the baseline; for on_click."""
    st.session_state[_BASE] = scenario()
    _fresh([])


def back_to_baseline() -> None:
    """Forget the choices; for on_click."""
    _fresh([])


def start_over() -> None:
    """Return to the example; for on_click."""
    st.session_state[_BASE] = example()
    _fresh([])


def open_scenario(other: Scenario) -> None:
    """Make another page's vehicle the baseline."""
    st.session_state[_BASE] = other
    _fresh([])


def load_upload() -> None:
    """Make an uploaded scenario the baseline, or say in a sentence why not; for on_change."""
    file = st.session_state.get(UPLOAD)
    if file is None:
        return
    try:
        st.session_state[_BASE] = scenario_from_bytes(file.getvalue(), file.name)
    except DrainsimError as error:
        st.session_state[_SENTENCES] = [f"The file was not loaded. {error}"]
    else:
        _fresh([])


def _fresh(told: list[str]) -> None:
    st.session_state[_CHOICES] = {}
    st.session_state[_SENTENCES] = told
