"""Page: which circuit to connect to?"""

from itertools import count
from typing import Any, Final

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim.answers.installer.circuit_verdict import RoleVerdict
from drainsim.answers.installer.circuits import CircuitsAnswer, choose_circuits
from drainsim.answers.words import days_words
from drainsim.dashboard import forms, safety, session
from drainsim.dashboard import installer_parts as parts
from drainsim.dashboard.cached import KEPT
from drainsim.dashboard.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.files.circuits import circuits_csv, circuits_from_bytes, circuits_from_rows
from drainsim.files.examples import example_text
from drainsim.vehicle.scenario import Scenario, scenario_from_text

_PAGE: Final = "circuits"
_UPLOAD: Final = "circuits_file"
_CHOSEN: Final = "circuit_chosen"
_CLASSES: Final = {
    "always_hot": "always hot",
    "battery_direct": "battery, direct",
    "retained": "retained (dies after key off)",
    "accessory": "accessory",
    "ignition": "ignition",
    "safety": "safety: restraint, braking, steering, emergency",
}
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


def _add() -> None:
    rows = _rows()
    taken = {str(row.get("name")) for row in rows}
    number = next(n for n in count(1) if f"Circuit {n}" not in taken)
    rows.append({"name": f"Circuit {number}", "class": "always_hot"})
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
        forms.tell(_PAGE, f"The table was not loaded. {error}")
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
    with st.container(horizontal=True):
        st.button("Add a circuit", key="add_circuit", on_click=_add, icon=":material/add:")
        if not rows:
            st.button("Show an invented example", key="example_circuits", on_click=_take_example)
    if not rows:
        return
    index = st.session_state.get(_CHOSEN, 0)
    st.session_state[_CHOSEN] = index if 0 <= index < len(rows) else 0
    st.selectbox(
        "Circuit to fill in",
        options=range(len(rows)),
        format_func=lambda i: str(rows[i].get("name", ""))[:80] if i < len(rows) else "",
        key=_CHOSEN,
    )
    _fields(rows[st.session_state[_CHOSEN]], st.session_state[_CHOSEN])


def _fields(row: dict[str, Any], index: int) -> None:
    """Draw the fields of one circuit, thumb-sized, in the order of the work."""

    def volts(label: str, name: str, note: str = "") -> None:
        parts.number(label, row, name, key=f"c{index}_{name}", low=-1, high=60, note=note)

    def other(label: str, name: str, *, low: float, high: float, step: float = 0.1) -> None:
        parts.number(label, row, name, key=f"c{index}_{name}", low=low, high=high, step=step)

    with st.container(border=True, key="circuit_fields"):
        parts.text("Name", row, "name", key=f"c{index}_name")
        parts.choice("Class", row, "class", _CLASSES, key=f"c{index}_class", default="always_hot")
        parts.caution("restraint")
        parts.choice(
            "Restraint, braking, steering or emergency circuit?",
            row,
            "safety_circuit",
            {"": "as its name and class say", "no": "no, I looked it up", "yes": "yes"},
            key=f"c{index}_safety",
            default="",
        )
        if row.get("class") == "battery_direct":
            parts.caution("battery")
        st.markdown("**Fuse and present load**")
        parts.side_by_side(
            lambda: other("Fuse [A]", "fuse_a", low=0.1, high=500, step=1.0),
            lambda: other("Present load [A]", "load_a", low=0, high=500),
        )
        parts.choice(
            "Fuse type",
            row,
            "fuse_type",
            {"medium": "medium blade", "mini": "mini blade"},
            key=f"c{index}_fuse_type",
            default="medium",
        )
        st.markdown("**Voltages read**")
        parts.side_by_side(
            lambda: volts("Key off, at once [V]", "off_v"),
            lambda: volts("After sleep, 45 min or more [V]", "after_sleep_v"),
        )
        parts.side_by_side(
            lambda: volts("Key on [V]", "on_v"),
            lambda: volts("While cranking, lowest [V]", "cranking_v"),
        )
        parts.side_by_side(
            lambda: volts("Loaded [V]", "loaded_v", "a lamp or the unit connected"),
            lambda: other("Loaded at [A]", "loaded_at_a", low=0.001, high=100),
        )
        st.markdown("**Wire from here to the unit**")
        parts.caution("fuse")
        parts.side_by_side(
            lambda: other("Section [mm²]", "wire_mm2", low=0.05, high=120, step=0.25),
            lambda: other("Length, one way [m]", "length_m", low=0, high=50, step=0.5),
        )
        other("Control unit it keeps awake [A], 0 for none", "wakes_module_a", low=0, high=50)
        st.button(
            "Remove this circuit",
            key="remove_circuit",
            on_click=_remove,
            args=(index,),
            icon=":material/delete:",
        )


@st.cache_data(max_entries=50, ttl=KEPT, show_spinner=False)
def _kept_answer(
    csv_text: str, scenario_text: str, where: str, system_v: int | None, minimum_v: float | None
) -> CircuitsAnswer:
    return choose_circuits(
        circuits_from_bytes(csv_text.encode(), where="circuits"),
        scenario=scenario_from_text(scenario_text, where=where),
        system_v=system_v,
        minimum_v=minimum_v,
    )


def _answer(rows: list[dict[str, Any]], scenario: Scenario) -> CircuitsAnswer:
    circuits = circuits_from_rows(rows, where="circuits")
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


def _summary(place: DeltaGenerator, answer: CircuitsAnswer) -> None:
    """Draw both choices where a phone shows them without scrolling."""
    with place.container(border=True, key="circuits_summary"):
        for role, chosen in (
            ("Constant power", answer.chosen_power),
            ("Ignition sense", answer.chosen_sense),
        ):
            name = chosen.circuit.name if chosen else "no circuit accepted"
            st.markdown(f"{role}: **{plain(name)}**")


def _verdicts(verdicts: tuple[RoleVerdict, ...], answer: CircuitsAnswer, role: str) -> None:
    chosen = answer.chosen_power if role == "power" else answer.chosen_sense
    heading = "Constant power" if role == "power" else "Ignition sense"
    st.subheader(heading, anchor=False)
    if chosen and role == "power":
        st.markdown(f"**{plain(chosen.circuit.name)}** needs")
        _numbers(chosen, answer)
    for number, one in enumerate(verdicts):
        label = f"{one.verdict}: {one.circuit.name}"
        with st.expander(plain(label), expanded=number == 0):
            parts.sentence_with_verdict(one.verdict, one.circuit.name)
            for reason in one.reasons:
                st.markdown(f"{_MARKS[reason.effect]}{plain(reason.text)}")
            if one.deciding_reading:
                st.markdown(f"**Read next: {plain(one.deciding_reading)}**")


def _numbers(chosen: RoleVerdict, answer: CircuitsAnswer) -> None:
    figures = answer.numbers[chosen.circuit.name]
    rows = [
        ("own fuse", figures.required_fuse_a, "A"),
        ("wire, at least", figures.wire_needed_mm2, "mm²"),
        ("drop at peak, 20 °C", figures.drop_normal_v, "V"),
        ("drop at peak, 85 °C", figures.drop_hot_v, "V"),
        ("limit for the drop", figures.drop_limit_v, "V"),
        ("source resistance", figures.source_ohm, "ohm"),
        ("spare in the fuse", figures.spare_a, "A"),
        ("lowest at the unit while cranking", figures.lowest_cranking_v, "V"),
    ]
    table = pd.DataFrame(
        [
            {"what": name, "value": "not known" if value is None else f"{value:.3g} {unit}"}
            for name, value, unit in rows
        ]
    )
    st.table(table.set_index("what"))


def _result(answer: CircuitsAnswer) -> None:
    _verdicts(answer.constant_power, answer, "power")
    _verdicts(answer.ignition_sense, answer, "sense")
    st.markdown(
        f"Days until no-start with the vehicle on the first page: "
        f"**{days_words(answer.days_to_no_start, answer.horizon_days)}**"
    )
    with st.expander("Starting profiles of ISO 16750-2 against the unit's minimum"):
        profile = pd.DataFrame(
            [
                {
                    "level": level.name,
                    "lowest": f"{level.lowest_v:g} V",
                    "then": f"{level.hold_v:g} V for {level.hold_s:g} s",
                    "below the minimum": f"{level.below_minimum_s:.3g} s",
                }
                for level in answer.starting_profile
            ]
        )
        st.table(profile.set_index("level"))
    safety.warnings(answer.warnings)


def _page() -> None:
    st.html(parts.RULES)
    st.header("Which circuit?", anchor=False)
    st.caption(
        "Type in what you read at each candidate; leave empty what you did not. Entries stay in "
        "the address of this page: reload it after a lost connection."
    )
    parts.caution("high_voltage")
    for sentence in forms.sentences(_PAGE):
        st.error(plain(sentence))
    settings = forms.entries(_PAGE)
    parts.side_by_side(
        lambda: parts.choice(
            "System",
            settings,
            "system_v",
            {"auto": "from the readings", "12": "12 V", "24": "24 V"},
            key="circuits_system",
            default="auto",
        ),
        lambda: parts.number(
            "Unit works down to [V]", settings, "minimum_v", key="circuits_min", low=3, high=24
        ),
    )
    rows = _rows()
    summary = st.container()
    with st.container():
        _form(rows)
    with st.container():
        if rows:
            try:
                answer = _answer(rows, session.scenario())
            except DrainsimError as error:
                summary.error(plain(str(error)))
            else:
                _summary(summary, answer)
                _result(answer)
                st.download_button(
                    "Circuits (CSV)",
                    circuits_csv(circuits_from_rows(rows, where="circuits")),
                    file_name="circuits.csv",
                    mime="text/csv",
                    key="save_circuits",
                    on_click="ignore",
                )
    st.file_uploader(
        "Load a table of circuits (CSV)",
        type=["csv"],
        key=_UPLOAD,
        on_change=_take_upload,
        max_upload_size=1,
    )
    safety.defers()
    if not forms.fits(_PAGE):
        st.caption("Too many entries for the address: save them as CSV.")


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
