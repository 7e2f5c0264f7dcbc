"""Page: will the battery last another winter? One vehicle first, then the fleet list."""

from typing import Final

import pandas as pd
import streamlit as st

from drainsim.answers.driving.ageing import MOST_WINTERS, AgeingAnswer
from drainsim.answers.driving.ageing_words import ageing_verdict, coldest_words, winter_words
from drainsim.answers.fleet.ageing_list import (
    YEAR,
    AgeingList,
    ageing_list,
    ageing_of,
    list_verdict,
)
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.dashboard import forms, menu, session
from drainsim.dashboard.cached import KEPT, read_again
from drainsim.dashboard.fleet import fleet_input
from drainsim.dashboard.parts import answer_view, safety
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.dashboard.parts.slider_box import slider_box
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.dashboard.what_if import panel
from drainsim.errors import DrainsimError
from drainsim.figures.ageing import ageing_alt, ageing_figure
from drainsim.language import Message, say
from drainsim.sheets.spreadsheet import csv_text, for_spreadsheets
from drainsim.units import percent_from_share, share_from_percent
from drainsim.vehicle.documents.fleet_rows import Fleet
from drainsim.vehicle.keys.scenario import Scenario

_FORM: Final = "ageing"
_WINTERS: Final = 5
_RISK_PERCENT: Final = 100.0 * DEFAULT_RISK
_LEAST_PERCENT, _MOST_PERCENT = 0.5, 50.0
_ASK_FIRST: Final = 2000  # vehicles; more are answered at the press of a button


@st.cache_data(max_entries=50, ttl=KEPT, show_spinner=False)
def _aged(text: str, where: str, winters: int, risk: float) -> AgeingAnswer:
    return ageing_of(read_again(text, where), winters=winters, risk=risk)


@st.cache_resource(max_entries=4, show_spinner=False)
def _list(_fleet: Fleet, key: str, winters: int, risk: float) -> AgeingList:
    del key  # says which list it is
    return ageing_list(_fleet, winters=winters, risk=risk)


def _ask() -> tuple[int, float]:
    """Draw the question; return winters ahead and the risk limit, 0 to 1."""
    winters = int(forms.kept(_FORM, "winters", _WINTERS, low=1, high=MOST_WINTERS))
    limits = {"low": _LEAST_PERCENT, "high": _MOST_PERCENT}
    slider_box(
        say("Winters ahead"),
        winters,
        key="ageing_winters",
        low=1,
        high=MOST_WINTERS,
        step=1,
        take=lambda key: forms.take(_FORM, "winters", key, _WINTERS),
    )
    percent = st.number_input(
        say("Risk limit [%]"),
        _LEAST_PERCENT,
        _MOST_PERCENT,
        step=0.5,
        format="%g",
        help=say("Replace before the winter whose coldest start fails with more than this."),
        **forms.bound(_FORM, "risk_percent", _RISK_PERCENT, key="ageing_risk", **limits),
    )
    return winters, share_from_percent(percent)


def _answered(winters: int, risk: float) -> tuple[Scenario, AgeingAnswer] | None:
    try:
        scenario = session.scenario()
        return scenario, _aged(scenario.to_toml(), scenario.where, winters, risk)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return None


def _winters(answer: AgeingAnswer) -> pd.DataFrame:
    def percent(share: float) -> str:
        return f"{percent_from_share(share):.0f} %"

    return pd.DataFrame(
        {
            say("winter"): winter_words(winter.year),
            say("cranking health"): percent(winter.cranking_health),
            say("8 in 10 cases"): say(
                "{low:.0f} to {high:.0f} %",
                low=percent_from_share(winter.cranking_health_low),
                high=percent_from_share(winter.cranking_health_high),
            ),
            say("capacity"): percent(winter.capacity_health),
            say("risk of its coldest start"): percent(winter.risk),
        }
        for winter in answer.winters
    )


def _show(answer: AgeingAnswer) -> None:
    st.markdown(plain(coldest_words(answer)))
    draw_chart(
        ageing_figure(answer, palette()),
        key="ageing_chart",
        alt=ageing_alt(answer),
    )
    draw_table(_winters(answer), named_by=say("winter"))


def _values(scenario: Scenario, answer: AgeingAnswer) -> None:
    answer_view.values_part(answer.case)
    st.download_button(
        say("Download this scenario (TOML)"),
        scenario.with_values(YEAR).to_toml(),
        file_name="ageing.toml",
        mime="application/toml",
        key="ageing_toml",
        on_click="ignore",
    )


def _fleet(winters: int, risk: float) -> None:
    """Draw the list the fleet page holds, the most urgent first."""
    st.subheader(say("Which batteries of the fleet?"), anchor=False)
    try:
        fleet, listed, example = fleet_input.kept_fleet()
    except DrainsimError as error:
        st.error(plain(str(error)))
        return
    if example:
        st.caption(say("Invented example of about 120 vehicles."))
        st.button(
            say("Load your own list on the fleet page"),
            key="ageing_fleet",
            on_click=menu.go,
            args=("fleet",),
        )
    else:
        st.caption(plain(say("List of the fleet page: {name}.", name=listed.name)))
    many = len(fleet.vehicles)
    if many > _ASK_FIRST and not st.button(
        say("Answer {many} vehicles", many=many), key="ageing_list_answer"
    ):
        return
    with st.spinner(say("Looking at {many} batteries ...", many=many)):
        found = _list(fleet, repr(listed), winters, risk)
    if found.vehicles:
        st.markdown(f"**{said(list_verdict(found.vehicles, winters=winters))}**")
        st.dataframe(
            _batteries(found),
            hide_index=True,
            key="ageing_list",
            height=320,
        )
        st.download_button(
            say("List of batteries (CSV)"),
            _csv(found),
            file_name="batteries.csv",
            mime="text/csv",
            key="ageing_csv",
            on_click="ignore",
        )
    if found.problems:
        st.caption(
            say(
                "Rows left out: {rows}; the fleet page says what to correct.",
                rows=len({problem.row for problem in found.problems}),
            )
        )


def _batteries(found: AgeingList) -> pd.DataFrame:
    return pd.DataFrame(
        {
            say(name): say(value) if isinstance(value, Message) else value
            for name, value in row.items()
        }
        for row in found.rows()
    )


def _csv(found: AgeingList) -> str:
    rows = found.rows()
    return for_spreadsheets(csv_text(list(rows[0]), [list(row.values()) for row in rows]))


def _page() -> None:
    st.header(say("Will it last another winter?"), anchor=False)
    for sentence in forms.sentences(_FORM):
        st.error(plain(sentence))
    verdict = st.container(key="verdict_place")  # on a phone above what is asked, and in sight
    left, right = st.columns([1, 2.1], gap="medium")
    with left, st.container(border=True):
        winters, risk = _ask()
        panel.draw(["age_years", "climate"], session.shown())
    with right, st.container():
        found = _answered(winters, risk)
        if found:
            verdict.markdown(f"**{plain(ageing_verdict(found[1]))}**")
            _show(found[1])
    with st.container():
        if found:
            safety.warnings(found[1].warnings)
            safety.cautions()
    with st.container():
        _fleet(winters, risk)
    with st.container():
        if found:
            _values(*found)
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
