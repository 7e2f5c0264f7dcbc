"""Page: does the driving keep it charged?"""

from typing import Any, Final

import pandas as pd
import streamlit as st

from drainsim.answers.week import WeekAnswer, week
from drainsim.answers.week_words import more_driving_words, week_verdict
from drainsim.dashboard import safety, session
from drainsim.dashboard.answer_view import palette
from drainsim.dashboard.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.figures.week import balance_alt, balance_figure, weeks_alt, weeks_figure
from drainsim.models.case import resolve
from drainsim.models.scenario import Scenario, scenario_from_text
from drainsim.models.schema_systems import KINDS, SYSTEMS
from drainsim.units import percent_from_share

_DRAWS: Final = 200  # enough for the band
_CHART = {"displayModeBar": False, "displaylogo": False}
_SYSTEM_NAMES: Final = {
    "12V": "one 12 V battery",
    "24V": "24 V, two in series",
    "parallel": "two in parallel",
    "auxiliary": "with an auxiliary battery",
}
_KIND_NAMES: Final = {
    "engine": "car, van or truck with an engine",
    "motorcycle": "motorcycle",
    "hybrid": "hybrid",
    "electric": "electric",
    "trailer": "trailer",
}


@st.cache_data(max_entries=50, show_spinner=False)
def _week(text: str, where: str) -> WeekAnswer:
    return week(resolve(scenario_from_text(text, where=where)))


def _asked(base: Scenario) -> Scenario:
    """Draw the controls and return the scenario they make of the one from the first page."""
    trips = int(st.number_input("Trips a week", 0, 100, 10, key="week_trips"))
    minutes = float(st.slider("Minutes a trip", 2, 120, 15, key="week_minutes"))
    screens_a = float(
        st.slider("Heated screens and seats, below 3 °C [A]", 0, 120, 20, key="week_screens_a")
    )
    load_a = float(st.slider("Other consumers while driving [A]", 0, 120, 25, key="week_load_a"))
    idle = st.slider("Time at idle [%]", 0, 100, 25, key="week_idle") / 100.0
    alternator_a = float(
        st.slider("Alternator rating [A]", 10, 300, 90, step=5, key="week_alternator_a")
    )
    smart = st.toggle("Smart charging: only up to 80 %", key="week_smart")
    system = st.selectbox(
        "Batteries", SYSTEMS, format_func=_SYSTEM_NAMES.__getitem__, key="week_system"
    )
    kind = st.selectbox("Vehicle", KINDS, format_func=_KIND_NAMES.__getitem__, key="week_kind")
    pattern: dict[str, Any] = {
        "trips_per_week": trips,
        "trip_minutes": minutes,
        "heated_screens_a": screens_a,
        "load_a": load_a,
        "idle_share": idle,
        "alternator_a": alternator_a,
        "regulation": "smart" if smart else "usual",
    }
    asked = base.with_table("pattern", pattern)
    return asked.with_values({"battery.system": system, "vehicle.kind": kind, "run.draws": _DRAWS})


def _answered(scenario: Scenario) -> WeekAnswer | None:
    try:
        with st.spinner("Driving a year ..."):
            return _week(scenario.to_toml(), scenario.where)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return None


def _seasons(answer: WeekAnswer) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "season": season.name,
            "battery": f"{season.temperature_c:.0f} °C",
            "charge": f"{percent_from_share(season.charge):.0f} %",
            "lowest": f"{percent_from_share(season.lowest_charge):.0f} %",
            "lowest, 1 case in 10 below": f"{percent_from_share(season.low_lowest_charge):.0f} %",
            "net": f"{round(season.balance.net, 1) + 0.0:+.1f} Ah/week",
        }
        for season in answer.seasons
    )


def _show(answer: WeekAnswer) -> None:
    first, second, third = st.columns(3)
    first.metric(
        "Lowest charge in ordinary weeks", f"{percent_from_share(answer.lowest_charge):.0f} %"
    )
    second.metric(
        "Charge when parked",
        f"{percent_from_share(answer.parked_charge):.0f} %",
    )
    extra = answer.extra_minutes_per_week
    third.metric("Drive more", "none is enough" if extra is None else f"{extra:.0f} min a week")
    st.markdown(plain(f"Drive more: {more_driving_words(answer)}."))
    st.markdown(plain(f"Limited by: {answer.limited_by}."))
    colours = palette()
    st.plotly_chart(
        weeks_figure(answer, colours), key="weeks_chart", config=_CHART, alt=weeks_alt(answer)
    )
    st.plotly_chart(
        balance_figure(answer, colours),
        key="balance_chart",
        config=_CHART,
        alt=balance_alt(answer),
    )
    st.dataframe(_seasons(answer), hide_index=True, key="week_seasons")


def _mind(answer: WeekAnswer) -> None:
    for warning in answer.warnings:
        st.markdown(f":material/warning: {plain(f'{warning[:1].upper()}{warning[1:]}.')}")
    safety.cautions()


def _page() -> None:
    st.header("Does the driving keep it charged?", anchor=False)
    st.caption(
        "Battery, unit, vehicle and place come from the first page; here the trips are added. "
        "Most no-starts are vehicles that are driven a little."
    )
    left, right = st.columns([1, 2.1], gap="medium")
    with left, st.container(border=True):
        try:
            scenario = _asked(session.scenario())
        except DrainsimError as error:
            st.error(plain(str(error)))
            scenario = None
    answer = _answered(scenario) if scenario is not None else None
    with right, st.container():
        if answer is not None:
            st.markdown(f"**{plain(week_verdict(answer))}**")
            _show(answer)
    with st.container():
        if answer is not None:
            _mind(answer)
            st.download_button(
                "Download this scenario (TOML)",
                scenario.to_toml() if scenario is not None else "",
                file_name="week.toml",
                key="week_toml",
            )
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
