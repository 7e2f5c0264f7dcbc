"""What one visitor has chosen, kept over page switches and written to the address."""

from typing import Any, Final

import streamlit as st

from drainsim.dashboard import visit
from drainsim.dashboard.cached import case_of
from drainsim.dashboard.what_if.control import ASSUMED, Scale
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
from drainsim.dashboard.what_if.temperature_file import lend
from drainsim.dashboard.what_if.what_if import (
    changed,
    example,
    from_address,
    own_vehicle,
    scenario_from_bytes,
    shown_values,
    to_address,
    with_fallbacks,
)
from drainsim.errors import DrainsimError
from drainsim.language import marked, message
from drainsim.vehicle.compatibility import FEEDS, system_of, unit_at_24v
from drainsim.vehicle.keys.given import given_in
from drainsim.vehicle.keys.scenario import Scenario

_BASE: Final = "kept_baseline"
_CHOICES: Final = "kept_choices"
_SENTENCES: Final = "kept_sentences"
_SHOWN: Final = "kept_shown"
_COMPARES: Final = "kept_compares"
_TABLES: Final = "kept_tables"
_COMPARED: Final = "compare"  # in the address
_NOT_LOADED: Final = marked("The file was not loaded. {error}")
UPLOAD: Final = "scenario_file"
_FILE: Final = "temperature_file"
Vehicle = tuple[Scenario, Choices, bool]
_DECIDE: Final = (*PRESETS, *SWITCHES, "kind", "system")  # about which other controls there are


def query(one: Vehicle | None = None) -> dict[str, str]:
    """Return the part of an address that opens a vehicle, this one where none is given."""
    base, chosen, compare = one or vehicle()
    found = to_address(base, chosen)
    return {**found, _COMPARED: "on"} if compare else found


def read(asked: dict[str, str]) -> None:
    """Take the vehicle an address says; what cannot be used becomes a sentence."""
    state = st.session_state
    state[_COMPARES] = asked.pop(_COMPARED, "") == "on"
    gone = [] if _lent(asked.get(_FILE, "")) else [visit.GONE]
    if gone:
        del asked[_FILE]
    base, chosen, told = from_address(asked)
    if not _lent(str(base.get(CONTROLS[_FILE].key) or "")):
        base, gone = base.with_values({CONTROLS[_FILE].key: None}), [visit.GONE]
    state[_BASE], state[_CHOICES], state[_SENTENCES] = base, chosen, told + gone


def _lent(value: str) -> bool:
    """Say whether a temperature file named in an address is this visit's, or none is named."""
    if value in {"", ASSUMED}:
        return True
    kept = visit.kept_file(value.partition("/")[0])
    return kept is not None and lend(value.partition("/")[0], *kept) == value


def take_temperature_file() -> None:
    """Take an uploaded temperature file, or say in a sentence why not; for on_change."""
    file = st.session_state.get(_FILE)
    if file is None:
        return
    content = file.getvalue()
    key = visit.keep_file(content, file.name)
    try:
        choose(_FILE, lend(key, content, file.name))
    except DrainsimError as error:
        visit.forget_file(key)
        st.session_state[_SENTENCES] = [message(_NOT_LOADED, error=str(error))]


def vehicle() -> Vehicle:
    """Return the vehicle asked about: baseline, choices on it, whether both are compared."""
    return baseline(), dict(choices()), compared()


def take_vehicle(base: Scenario, chosen: Choices, compare: bool) -> None:
    """Ask about another vehicle; as `vehicle` returned it."""
    st.session_state[_BASE], st.session_state[_COMPARES] = base, compare
    _fresh([])
    st.session_state[_CHOICES] = dict(chosen)


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
    """Return the tables the choices make, before their single values: what decides is in them.

    Made once for each state, as every control asks for them.
    """
    now = (baseline(), dict(choices()))
    made: Tables
    before, made = st.session_state.get(_TABLES, (None, {}))
    if before != now:
        made = chosen_tables(*now)[0]
        st.session_state[_TABLES] = now, made
    return made


def choose(name: str, value: Any) -> None:
    """Take a value from the panel, and let go of every value that means nothing beside it."""
    kept, before = choices(), unit_at_24v(tables())
    if name in REPLACING:
        table = CONTROLS[name].key.table
        for other in [one for one in kept if CONTROLS[one].key.table == table]:
            del kept[other]
    _let_go_of(EITHER.get(name, ()), kept)
    if value is None and baseline_value(name) is None:
        kept.pop(name, None)
    else:
        kept[name] = value
    if name in _DECIDE:
        without = {other: kept[other] for other in kept if other != name}
        plain, _ = chosen_tables(baseline(), without)
        if stands_at(plain, name) == value:
            del kept[name]
    if name == "cold_cranking_a" and value is None:
        kept.pop("cranking_standard", None)  # of the current that is gone
    if name == "profile":
        kept.pop("full_resting_v", None)  # a reading of the battery before
    if unit_at_24v(tables()) != before:
        kept.pop("cutoff_v", None)  # a voltage of the other system
    _let_go_of_what_cannot_be(kept)
    st.session_state[_SENTENCES] = []


def _let_go_of(names: tuple[str, ...], kept: Choices) -> None:
    for name in names:
        kept.pop(name, None)


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
    return given is not None and not any(other in kept for other in EITHER.get(name, ()))


def take_widget(name: str, key: str, seen: Scale | None = None) -> None:
    """Take the value of one of a control's widgets, which shows it as `seen`; for on_change."""
    value = st.session_state[key]
    choose(name, round(seen.to_scenario(value), 6) if seen and value is not None else value)


def compared() -> bool:
    """Say whether what is changed is compared with the vehicle before."""
    return bool(st.session_state.get(_COMPARES))


def compare() -> None:
    """Compare what is changed from now on with the vehicle as it stands; for on_click."""
    st.session_state[_BASE] = scenario()
    _fresh([])
    st.session_state[_COMPARES] = True


def stop_comparing() -> None:
    """Go on with the changed vehicle alone; for on_click."""
    st.session_state[_COMPARES] = False


def undo() -> None:
    """Forget the choices; for on_click."""
    _fresh([])


def start_over() -> None:
    """Return to the example; for on_click."""
    open_scenario(example())


def ask_own() -> None:
    """Begin with a vehicle of which nothing is known yet, unless one is there; for on_click."""
    if is_example():
        open_scenario(own_vehicle())


def is_example() -> bool:
    """Say whether nobody has said anything of a vehicle yet."""
    return not choices() and baseline().tables == example().tables


def open_scenario(other: Scenario) -> None:
    """Ask about another vehicle."""
    take_vehicle(other, {}, compare=False)


def load_upload() -> None:
    """Make an uploaded scenario the baseline, or say in a sentence why not; for on_change."""
    file = st.session_state.get(UPLOAD)
    if file is None:
        return
    try:
        open_scenario(scenario_from_bytes(file.getvalue(), file.name))
    except DrainsimError as error:
        st.session_state[_SENTENCES] = [
            message("The file was not loaded. {error}", error=str(error))
        ]


def _fresh(told: list[str]) -> None:
    st.session_state[_CHOICES] = {}
    st.session_state[_SENTENCES] = told
