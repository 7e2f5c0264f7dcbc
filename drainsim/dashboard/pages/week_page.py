"""Page: does the driving keep it charged?"""

from functools import partial
from typing import Any, Final

import pandas as pd
import streamlit as st

from drainsim.answers.driving.week import WeekAnswer, week
from drainsim.answers.driving.week_words import more_driving_words, week_verdict
from drainsim.dashboard import forms, session
from drainsim.dashboard.cached import KEPT, read_again
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.parts.slider_box import slider_box
from drainsim.dashboard.what_if import panel
from drainsim.errors import DrainsimError
from drainsim.figures.week import balance_alt, balance_figure, weeks_alt, weeks_figure
from drainsim.language import Celsius, say, spoken
from drainsim.units import percent_from_share, share_from_percent
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario

_FORM: Final = "trips"


@st.cache_data(max_entries=50, ttl=KEPT, show_spinner=False)
def _week(text: str, where: str) -> WeekAnswer:
    return week(resolve(read_again(text, where)))


def _asked(base: Scenario) -> Scenario:
    """Draw the page's own controls and return the scenario they make of the first page's."""
    if base.has("pattern"):
        st.caption(say("These stand in place of the driving the first page's scenario describes."))
    trips = _number("trips", say("Trips a week"), 10, 0, 100, box=True)
    minutes = _number("minutes", say("Minutes a trip"), 15, 2, 120)
    screens_a = _number(
        "screens_a",
        say("Heated screens and seats, below {cold} [A]", cold=Celsius(3.0)),
        20,
        0,
        120,
    )
    load_a = _number("load_a", say("Other consumers while driving [A]"), 25, 0, 120)
    idle = _number("idle", say("Time at idle [%]"), 25, 0, 100)
    alternator_a = _number("alternator_a", say("Alternator rating [A]"), 90, 10, 300, step=5)
    smart = _smart()
    pattern: dict[str, Any] = {
        "trips_per_week": trips,
        "trip_minutes": float(minutes),
        "heated_screens_a": float(screens_a),
        "load_a": float(load_a),
        "idle_share": share_from_percent(idle),
        "alternator_a": float(alternator_a),
        "regulation": "smart" if smart else "usual",
    }
    return base.with_table("pattern", pattern)


def _number(
    name: str, label: str, usual: int, low: int, high: int, *, step: int = 1, box: bool = False
) -> int:
    """Draw a number that the address keeps."""
    key = f"week_{name}"
    value = int(forms.kept(_FORM, name, usual, low=low, high=high))
    take = partial(_take, name, usual)
    if box:
        st.session_state[key] = value
        st.number_input(label, low, high, step=step, key=key, on_change=take, args=(key,))
    else:
        slider_box(label, value, key=key, low=low, high=high, step=step, take=take)
    return value


def _take(name: str, usual: int, key: str) -> None:
    forms.take(_FORM, name, key, usual)


def _smart() -> bool:
    key = "week_smart"
    label = say("Smart charging: only up to 80 %")
    return st.toggle(label, **forms.bound(_FORM, "smart", usual=False, key=key))


def _answered(scenario: Scenario) -> WeekAnswer | None:
    try:
        with st.spinner(say("Driving a year ...")):
            return _week(scenario.to_toml(), scenario.where)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return None


def _seasons(answer: WeekAnswer) -> pd.DataFrame:
    return pd.DataFrame(
        {
            say("season"): say(season.name),
            say("battery"): spoken().temperature(season.temperature_c),
            say("charge"): f"{percent_from_share(season.charge):.0f} %",
            say("lowest"): f"{percent_from_share(season.lowest_charge):.0f} %",
            say(
                "lowest, 1 case in 10 below"
            ): f"{percent_from_share(season.low_lowest_charge):.0f} %",
            say("net"): say(
                "{net:+.1f} Ah/week", net=round(float(season.balance.net_ah()), 1) + 0.0
            ),
        }
        for season in answer.seasons
    )


def _show(answer: WeekAnswer) -> None:
    first, second, third = st.columns(3)
    first.metric(
        say("Lowest charge in ordinary weeks"), f"{percent_from_share(answer.lowest_charge):.0f} %"
    )
    second.metric(
        say("Charge when parked"),
        f"{percent_from_share(answer.parked_charge):.0f} %",
    )
    extra = answer.extra_minutes_per_week
    third.metric(
        say("Drive more"),
        say("not enough") if extra is None else say("{minutes:.0f} min a week", minutes=extra),
    )
    more = more_driving_words(answer)
    st.markdown(plain(say("Drive more: {what}.", what=more)))
    if answer.limited_by not in more:
        st.markdown(plain(say("Limited by: {what}.", what=answer.limited_by)))
    if answer.auxiliary is not None:
        _auxiliary(answer.auxiliary)
    colours = palette()
    draw_chart(weeks_figure(answer, colours), key="weeks_chart", alt=weeks_alt(answer))
    draw_chart(
        balance_figure(answer, colours),
        key="balance_chart",
        alt=balance_alt(answer),
    )
    st.dataframe(_seasons(answer), hide_index=True, key="week_seasons")


def _auxiliary(beside: WeekAnswer) -> None:
    st.markdown(plain(say("Auxiliary battery. {verdict}", verdict=week_verdict(beside))))
    percent = f"{percent_from_share(beside.parked_charge):.0f} %"
    st.markdown(plain(f"{say('Charge when parked')}: {percent}"))
    st.markdown(plain(say("Drive more: {what}.", what=more_driving_words(beside))))


def _mind(answer: WeekAnswer) -> None:
    safety.warnings(answer.warnings)
    safety.cautions()


def _page() -> None:
    st.header(say("Does the driving keep it charged?"), anchor=False)
    for sentence in forms.sentences(_FORM):
        st.error(plain(sentence))
    verdict = st.container(key="verdict_place")  # on a phone above what is asked, and in sight
    left, right = st.columns([1, 2.1], gap="medium")
    with left, st.container(border=True):
        try:
            scenario = _asked(session.scenario())
        except DrainsimError as error:
            st.error(plain(str(error)))
            scenario = None
        panel.draw(["system", "kind"], session.shown())
    answer = _answered(scenario) if scenario is not None else None
    if answer is not None:
        verdict.markdown(f"**{plain(week_verdict(answer))}**")
    with right, st.container():
        if answer is not None:
            _show(answer)
    with st.container():
        if answer is not None:
            _mind(answer)
            st.download_button(
                say("Download this scenario (TOML)"),
                scenario.to_toml() if scenario is not None else "",
                file_name="week.toml",
                mime="application/toml",
                key="week_toml",
                on_click="ignore",
            )
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
