"""Page: which circuit to connect to?"""

from itertools import count
from typing import Any, Final

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim.answers.installer.circuit.circuit_verdict import ACCEPTED, RoleVerdict
from drainsim.answers.installer.circuit.circuits import CircuitsAnswer, choose_circuits
from drainsim.answers.words import days_words
from drainsim.dashboard import forms, session
from drainsim.dashboard.cached import KEPT, read_again
from drainsim.dashboard.installer import installer_parts as parts
from drainsim.dashboard.installer.circuit_form import (
    POWER,
    ROLES,
    SENSE,
    asked,
    complete,
    fields,
    in_words,
    verdict_on,
)
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.errors import DrainsimError
from drainsim.files.circuits import circuits_csv, circuits_from_bytes, circuits_from_rows
from drainsim.files.examples import example_text
from drainsim.language import Celsius, marked, message, say
from drainsim.vehicle.keys.scenario import Scenario

_PAGE: Final = "circuits"
_JOB: Final = "job"
_UPLOAD: Final = "circuits_file"
_CHOSEN: Final = "circuit_chosen"
_HANDED_ON: Final = "circuits_handed_on"
_CLASS_OF: Final = {POWER: "always_hot", SENSE: "ignition"}  # of a circuit meant for it
_MARKS: Final = {
    "refuses": ":material/remove: ",
    "unknown": ":material/help: ",
    "consequence": ":material/priority_high: ",
    "condition": ":material/build: ",
    "speaks for": ":material/add: ",
}


def _rows() -> list[dict[str, Any]]:
    """Return the circuits typed so far; anything odd in an address is left out."""
    rows = forms.entries(_PAGE).get("rows")
    usable = isinstance(rows, list) and all(isinstance(row, dict) for row in rows)
    return rows if isinstance(rows, list) and usable else []


def _add(role: str, name: str) -> None:
    rows = _rows()
    taken = {str(row.get("name")) for row in rows}
    number = next(n for n in count(1) if f"{name} {n}" not in taken)
    rows.append({"name": f"{name} {number}", "class": _CLASS_OF[role]})
    forms.entries(_PAGE)["rows"] = rows
    st.session_state[_CHOSEN] = len(rows) - 1


def _remove(index: int) -> None:
    rows = _rows()
    if index < len(rows):
        del rows[index]
    st.session_state[_CHOSEN] = max(0, index - 1)


def _take_text(raw: bytes, where: str) -> None:
    try:
        circuits = circuits_from_bytes(raw, where=where)
    except DrainsimError as error:
        forms.tell(_PAGE, message("The table was not loaded. {error}", error=str(error)))
        return
    forms.tell(_PAGE, None)
    forms.replace_entries(
        _PAGE, {**_settings(), "rows": [circuit.as_dict() for circuit in circuits]}
    )
    st.session_state[_CHOSEN] = 0


def _settings() -> dict[str, Any]:
    return {key: value for key, value in forms.entries(_PAGE).items() if key != "rows"}


def _take_example() -> None:
    _take_text(example_text("circuits.csv").encode(), "invented example")


def _take_upload() -> None:
    file = st.session_state.get(_UPLOAD)
    if file is not None:
        _take_text(file.getvalue(), file.name)


def _form(rows: list[dict[str, Any]]) -> None:
    """Draw the ways to begin a circuit, and which one is being read."""
    with st.container(horizontal=True):
        for role, key in ((POWER, "add_circuit"), (SENSE, "add_sense")):
            label = say("Circuit: {role}", role=say(ROLES[role]))
            name = say("Circuit")
            st.button(label, key=key, on_click=_add, args=(role, name), icon=":material/add:")
        if not rows:
            st.button(
                say("Show an invented example"), key="example_circuits", on_click=_take_example
            )
    if not rows:
        return
    parts.caution("restraint")
    index = st.session_state.get(_CHOSEN, 0)
    st.session_state[_CHOSEN] = index if 0 <= index < len(rows) else 0
    if len(rows) > 1:
        st.selectbox(
            say("Circuit"),
            options=range(len(rows)),
            format_func=lambda i: str(rows[i].get("name", ""))[:80] if i < len(rows) else "",
            key=_CHOSEN,
        )


def _circuit(rows: list[dict[str, Any]], answer: CircuitsAnswer | None) -> None:
    """Draw what decides next about the circuit being read, why, and all of its fields."""
    index = st.session_state[_CHOSEN]
    row = rows[index]
    place = st.container(key="circuit_asked")
    every = st.expander(
        say("All readings of this circuit"),
        key="circuit_fields",
        on_change=forms.stay,
        expanded=answer is None,
    )
    if every.open:
        with every:
            fields(row, index)
            st.button(
                say("Remove this circuit"),
                key="remove_circuit",
                on_click=_remove,
                args=(index,),
                icon=":material/delete:",
            )
    if answer is None:
        return
    with place:
        role, one = verdict_on(answer, str(row.get("name", "")).strip())
        if one.deciding_reading and not every.open:
            st.markdown(say("**Read next**"))
            asked(row, index, one.deciding_reading)
        parts.sentence_with_verdict(one.verdict, f"{one.circuit.name}: {say(ROLES[role])}")
        _reasons(one)
        if role == POWER:
            parts.caution("fuse")
            if row.get("class") == "battery_direct":
                parts.caution("battery")
            if one.verdict == ACCEPTED:
                _numbers(one, answer)


def _reasons(one: RoleVerdict) -> None:
    for reason in one.reasons:
        st.markdown(f"{_MARKS[reason.effect]}{plain(in_words(reason.text))}")


@st.cache_data(max_entries=50, ttl=KEPT, show_spinner=False)
def _kept_answer(
    csv_text: str, scenario_text: str, where: str, system_v: int | None, minimum_v: float | None
) -> CircuitsAnswer:
    return choose_circuits(
        circuits_from_bytes(csv_text.encode(), where="circuits"),
        scenario=read_again(scenario_text, where),
        system_v=system_v,
        minimum_v=minimum_v,
    )


def _answer(rows: list[dict[str, Any]], scenario: Scenario) -> CircuitsAnswer:
    circuits = circuits_from_rows([complete(row) for row in rows], where="circuits")
    settings = _settings()
    system = settings.get("system_v")
    minimum = settings.get("minimum_v")
    return _kept_answer(
        circuits_csv(circuits),
        scenario.to_toml(),
        scenario.where,
        int(system) if system in ("12", "24") else None,
        float(minimum) if isinstance(minimum, int | float) and minimum > 0 else None,
    )


def _summary(place: DeltaGenerator, answer: CircuitsAnswer, rows: list[dict[str, Any]]) -> None:
    """Draw both choices where they stay in sight, and hand them on."""
    power, sense = answer.chosen_power, answer.chosen_sense
    with place.container(border=True, key="circuits_summary", gap="xsmall"):
        for words, chosen in ((ROLES[POWER], power), (ROLES[SENSE], sense)):
            name = chosen.circuit.name if chosen else say("no circuit accepted")
            st.markdown(f"{say(words)}: **{plain(name)}**")
        if power and sense:
            st.button(
                say("Use both for the job"),
                key="use_circuits",
                on_click=_use,
                args=(rows, power.circuit.name, sense.circuit.name),
                type="primary",
            )


def _use(rows: list[dict[str, Any]], power: str, sense: str) -> None:
    """Put both circuits into the job's record; for on_click."""
    job = forms.entries(_JOB)
    for key, name in (("power", power), ("sense", sense)):
        job[key] = next(
            (complete(row) for row in rows if str(row.get("name", "")).strip() == name),
            {"name": name, "class": "battery_direct"},
        )
    forms.tell(_PAGE, None)
    st.session_state[_HANDED_ON] = power, sense


def _verdicts(verdicts: tuple[RoleVerdict, ...], role: str) -> None:
    st.subheader(say(ROLES[role]), anchor=False)
    for one in verdicts:
        with st.expander(plain(f"{say(one.verdict)}: {one.circuit.name}")):
            parts.sentence_with_verdict(one.verdict, one.circuit.name)
            _reasons(one)
            if one.deciding_reading:
                st.markdown(
                    say(
                        "**Read next: {reading}**",
                        reading=plain(in_words(one.deciding_reading)),
                    )
                )


def _numbers(chosen: RoleVerdict, answer: CircuitsAnswer) -> None:
    figures = answer.numbers[chosen.circuit.name]
    rows = [
        (say("own fuse"), figures.required_fuse_a, "A"),
        (say("wire, at least"), figures.wire_needed_mm2, "mm²"),
        (say("drop at peak, {hot}", hot=Celsius(20.0)), figures.drop_normal_v, "V"),
        (say("drop at peak, {hot}", hot=Celsius(85.0)), figures.drop_hot_v, "V"),
        (say("limit for the drop"), figures.drop_limit_v, "V"),
        (say("source resistance"), figures.source_ohm, "ohm"),
        (say("spare in the fuse"), figures.spare_a, "A"),
        (say("lowest at the unit while cranking"), figures.lowest_cranking_v, "V"),
    ]
    table = pd.DataFrame(
        [
            {
                say("what"): name,
                say("value"): say("not known")
                if value is None
                else say("{value:.3g} {unit}", value=value, unit=unit),
            }
            for name, value, unit in rows
        ]
    )
    draw_table(table, named_by=say("what"))


def _result(answer: CircuitsAnswer) -> None:
    every = st.expander(
        say("Every circuit for both purposes"), key="circuits_all", on_change=forms.stay
    )
    if every.open:
        with every:
            _verdicts(answer.constant_power, POWER)
            _verdicts(answer.ignition_sense, SENSE)
    st.markdown(
        say(
            "Days until no-start with the vehicle on the first page: **{days}**",
            days=days_words(answer.days_to_no_start, answer.horizon_days),
        )
    )
    with st.expander(say("Starting profiles of ISO 16750-2 against the unit's minimum")):
        profile = pd.DataFrame(
            [
                {
                    say("level"): say(level.level),
                    say("lowest"): say("{volts:g} V", volts=level.lowest_v),
                    say("then"): say(
                        "{volts:g} V for {seconds:g} s", volts=level.hold_v, seconds=level.hold_s
                    ),
                    say("below the minimum"): say("{seconds:.3g} s", seconds=level.below_minimum_s),
                }
                for level in answer.starting_profile
            ]
        )
        draw_table(profile, named_by=say("level"))
    safety.warnings(answer.warnings)


def _answered(rows: list[dict[str, Any]], pinned: DeltaGenerator) -> None:
    """Draw the verdict in its place, then what decides next, then the rest."""
    try:
        answer = _answer(rows, session.scenario())
    except DrainsimError as error:
        pinned.error(plain(in_words(str(error))))
        _circuit(rows, None)
        return
    _summary(pinned, answer, rows)
    _circuit(rows, answer)
    _result(answer)
    st.download_button(
        say("Circuits (CSV)"),
        circuits_csv(circuits_from_rows([complete(row) for row in rows], where="circuits")),
        file_name="circuits.csv",
        mime="text/csv",
        key="save_circuits",
        on_click="ignore",
    )


def _supply() -> None:
    """Draw what is known of the system and of the unit's own limit."""
    settings = forms.entries(_PAGE)
    with st.expander(say("System voltage and the unit's own limit")):
        parts.side_by_side(
            lambda: parts.choice(
                say("System"),
                settings,
                "system_v",
                {"auto": marked("from the readings"), "12": "12 V", "24": "24 V"},
                key="circuits_system",
                default="auto",
            ),
            lambda: parts.number(
                say("Unit works down to [V]"),
                settings,
                "minimum_v",
                key="circuits_min",
                low=3,
                high=24,
            ),
        )


def _page() -> None:
    st.html(parts.RULES)
    st.header(say("Which circuit?"), anchor=False)
    st.caption(
        say(
            "One circuit at a time: the page asks for the reading that decides next. Entries stay "
            "in "
            "its address: reload it after a lost connection."
        )
    )
    for sentence in forms.sentences(_PAGE):
        st.error(plain(sentence))
    if handed := st.session_state.pop(_HANDED_ON, None):
        power, sense = map(plain, handed)
        st.toast(say("The job has {power} and {sense}.", power=power, sense=sense))
    rows = _rows()
    pinned = st.container()
    _form(rows)
    if rows:
        _answered(rows, pinned)
    parts.caution("high_voltage")
    _supply()
    st.file_uploader(
        say("Load a table of circuits (CSV)"),
        type=["csv"],
        key=_UPLOAD,
        on_change=_take_upload,
        max_upload_size=1,
    )
    safety.defers()
    if not forms.fits(_PAGE):
        st.caption(say("Too many entries for the address: save them as CSV."))


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
