"""Page: what does a current log say?"""

from typing import Any, Final

import pandas as pd
import streamlit as st

from drainsim.answers.installer.circuit.fuse_drop import fuse_drop
from drainsim.answers.installer.current_log import (
    LOG_OF,
    CurrentLogAnswer,
    current_log,
    measured_scenario,
)
from drainsim.answers.installer.current_log_words import every_words, ma, plus_minus
from drainsim.answers.installer.wake_up_cost import WakeUpCost, wake_up_cost
from drainsim.dashboard import forms, menu, session, visit
from drainsim.dashboard.cached import KEPT, read_again
from drainsim.dashboard.installer import installer_parts as parts
from drainsim.dashboard.installer import job_form
from drainsim.dashboard.installer.circuit_form import FUSE_TYPES
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.dashboard.visitor_quota import LARGEST_MB
from drainsim.errors import DrainsimError
from drainsim.figures.current_log import current_log_alt, current_log_figure
from drainsim.files.current_log.columns import CURRENT_UNITS, TIME_UNITS
from drainsim.files.current_log.reader import CurrentLog, log_from_bytes
from drainsim.files.examples import example_text
from drainsim.language import marked, message, say
from drainsim.units import ah_from_as, ma_from_a
from drainsim.vehicle.keys.scenario import Scenario

_UPLOAD: Final = "log_file"
_FORM: Final = "log"
_EXAMPLE: Final = "example"  # in place of a file
_GUESS: Final = "guess"
_SAID: Final = ("time_column", "current_column", "unit", "time_unit")
_LOG_OF_WORDS: Final = {
    "vehicle": marked("the vehicle without the added unit"),
    "total": marked("vehicle and unit together"),
    "unit": marked("the unit alone"),
}


def _take_upload() -> None:
    file = st.session_state.get(_UPLOAD)
    if file is not None:
        forms.replace_entries(_FORM, {"file": visit.keep_file(file.getvalue(), file.name)})


def _take_example() -> None:
    forms.replace_entries(_FORM, {"file": _EXAMPLE})


def _log() -> tuple[bytes, str] | None:
    """Return content and name of the log asked about; said where it is gone."""
    key = forms.entries(_FORM).get("file")
    if key == _EXAMPLE:
        return example_text("current_log.csv").encode(), "invented example"
    found = visit.kept_file(key)
    if key and found is None:
        st.warning(say(visit.GONE))
    return found


@st.cache_data(max_entries=5, show_spinner=False)
def _read(
    raw: bytes, where: str, mapping: tuple[tuple[str, str], ...], report_every_min: float | None
) -> tuple[CurrentLog, CurrentLogAnswer]:
    log = log_from_bytes(raw, where=where, **dict(mapping))
    return log, current_log(log, report_every_min=report_every_min)


def _mapping(entries: dict[str, Any]) -> None:
    """Draw the fields that decide where the heading does not."""
    with st.expander(say("Say which column is which, where the guess is wrong")):
        parts.text(say("Time column"), entries, "time_column", key="log_time_column")
        parts.text(say("Current column"), entries, "current_column", key="log_current_column")
        parts.side_by_side(
            lambda: parts.choice(
                say("Unit of the current"),
                entries,
                "unit",
                {_GUESS: marked("as the heading says"), **{unit: unit for unit in CURRENT_UNITS}},
                key="log_unit",
                default=_GUESS,
            ),
            lambda: parts.choice(
                say("Unit of the time"),
                entries,
                "time_unit",
                {_GUESS: marked("as the heading says"), **{unit: unit for unit in TIME_UNITS}},
                key="log_time_unit",
                default=_GUESS,
            ),
        )
        parts.number(
            say("The unit reports every [min]"),
            entries,
            "report_every_min",
            key="log_report",
            low=0.1,
            high=10_000,
            step=1.0,
        )


def _result(log: CurrentLog, answer: CurrentLogAnswer) -> None:
    with st.container(key="verdict_line"):
        st.markdown(f"**{plain(answer.verdict)}**")
    draw_chart(
        current_log_figure(answer, log, palette()),
        key="log_chart",
        alt=current_log_alt(answer),
    )
    draw_table(stage_table(answer), named_by=say("from"))
    draw_table(findings_table(answer), named_by=say("what"))
    safety.warnings(answer.warnings)


def stage_table(answer: CurrentLogAnswer) -> pd.DataFrame:
    """Return the stages as words."""
    return pd.DataFrame(
        [
            {
                say("from"): say("{minutes:.1f} min", minutes=stage.start_s / 60),
                say("for"): say("{minutes:.1f} min", minutes=stage.duration_s / 60),
                say("current"): said(ma(stage.current_a)),
            }
            for stage in answer.stages
        ],
        columns=[say("from"), say("for"), say("current")],
    )


def findings_table(answer: CurrentLogAnswer) -> pd.DataFrame:
    """Return what was found as words."""
    found = answer.findings
    rows = [
        (say("settled"), said(plus_minus(found.settled_a, found.settled_uncertainty_a))),
        (say("mean asleep"), said(ma(found.mean_a))),
        (
            say("meter's step"),
            said(ma(found.resolution_a)) if found.resolution_a else say("not visible"),
        ),
    ]
    for name, group in (
        (say("wake-ups"), answer.wake_ups),
        (say("unit reports"), answer.unit_reports),
    ):
        if group is not None:
            rows.append(
                (
                    name,
                    say(
                        "{count}, {every}, {charge:.3g} mAh each",
                        count=group.count,
                        every=every_words(group),
                        charge=ma_from_a(ah_from_as(group.charge_as)),
                    ),
                )
            )
    if answer.voltage_v is not None:
        rows.append((say("voltage asleep"), say("{volts:.2f} V", volts=answer.voltage_v)))
    return pd.DataFrame(rows, columns=[say("what"), say("value")])


def _save(log: CurrentLog, answer: CurrentLogAnswer, asked: tuple[Any, ...]) -> None:
    """Say what the wake-ups cost, and hand the log's values to the vehicle as measured."""
    log_of = st.selectbox(
        say("The log measured"),
        options=LOG_OF,
        format_func=lambda one: say(_LOG_OF_WORDS[one]),
        **forms.bound(_FORM, "of", LOG_OF[0], among=LOG_OF),
    )
    try:
        scenario = measured_scenario(answer, base=session.scenario(), log_of=log_of)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return
    with st.spinner(say("Weighing the wake-ups ...")):
        cost = _cost(asked, session.scenario().to_toml(), log_of)
    if cost is not None:
        st.markdown(plain(cost.words))
    st.button(
        say("Use these values in the answer"),
        key="use_measured",
        type="primary",
        on_click=_use,
        args=(scenario,),
        help=say("The answer is then for this vehicle, with the log's draw as measured."),
    )
    with st.container(horizontal=True):
        for name, words in job_form.READINGS.items():
            st.button(
                say("Use it in the job: {words}", words=say(words)),
                key=f"use_in_job_{name}",
                on_click=_use_in_job,
                args=(name, log),
            )
    st.download_button(
        say("Scenario with these values as measured (TOML)"),
        scenario.to_toml(),
        file_name="measured.toml",
        mime="application/toml",
        key="save_measured",
        on_click="ignore",
    )
    st.caption(say("With measured values the range on the first page narrows."))


def _use_in_job(name: str, log: CurrentLog) -> None:
    if job_form.take_log(name, lambda: log):
        job_form.go_to(job_form.CURRENT)
    menu.go("job")


def _use(scenario: Scenario) -> None:
    session.open_scenario(scenario)
    menu.go("")


@st.cache_data(max_entries=20, ttl=KEPT, show_spinner=False)
def _cost(asked: tuple[Any, ...], scenario_text: str, log_of: str) -> WakeUpCost | None:
    """Return what the wake-ups cost the vehicle of the first page."""
    _, answer = _read(*asked)
    base = read_again(scenario_text, message("the vehicle of the first page"))
    return wake_up_cost(answer, base=base, log_of=log_of)


def _fuse_drop() -> None:
    st.subheader(say("No log? Millivolts across a fuse"), anchor=False)
    kind, rating = st.columns(2)
    fuse = kind.selectbox(
        say("Fuse type"),
        list(FUSE_TYPES),
        format_func=lambda one: say(FUSE_TYPES[one]),
        **forms.bound(_FORM, "fuse", "medium", among=FUSE_TYPES, key="drop_kind"),
    )
    ratings = [5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0]
    amperes = rating.selectbox(
        say("Rating [A]"),
        ratings,
        **forms.bound(_FORM, "rating", 10.0, among=ratings, key="drop_rating"),
    )
    left, right = st.columns(2)
    drop = left.number_input(
        say("Reading [mV]"),
        0.0,
        200.0,
        step=0.1,
        **forms.bound(_FORM, "mv", 0.3, low=0.0, high=200.0, key="drop_mv"),
    )
    step = right.number_input(
        say("Meter's step [mV]"),
        0.001,
        10.0,
        format="%g",
        **forms.bound(_FORM, "step", 0.1, low=0.001, high=10.0, key="drop_step"),
    )
    try:
        answer = fuse_drop(kind=fuse, rating_a=amperes, drop_mv=drop, resolution_mv=step)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return
    st.markdown(f"**{plain(answer.verdict)}**")
    safety.warnings(answer.warnings)


def _page() -> None:
    st.html(parts.RULES)
    st.header(say("What does the current log say?"), anchor=False)
    parts.caution("series")
    parts.caution("high_voltage")
    st.caption(
        say(
            "CSV of time and current from any meter or clamp, begun at key off: doors and bonnet "
            "latched, locked, key away. Leave it for an hour or more."
        )
    )
    st.file_uploader(
        say("Current log (CSV)"),
        type=["csv", "txt", "tsv"],
        key=_UPLOAD,
        on_change=_take_upload,
        max_upload_size=LARGEST_MB,
    )
    kept = _log()
    if kept is None:
        st.button(say("Show an invented example"), key="example_log", on_click=_take_example)
    with st.container():
        if kept is not None:
            entries = forms.entries(_FORM)
            _mapping(entries)
            mapping = tuple(
                (key, str(entries[key])) for key in _SAID if entries.get(key) not in (None, _GUESS)
            )
            asked = (*kept, mapping, forms.kept(_FORM, "report_every_min", 0.0) or None)
            try:
                with st.spinner(say("Reading the log ...")):
                    log, answer = _read(*asked)
            except DrainsimError as error:
                st.error(plain(str(error)))
            else:
                _result(log, answer)
                if answer.findings.asleep:
                    _save(log, answer, asked)
    _fuse_drop()
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
