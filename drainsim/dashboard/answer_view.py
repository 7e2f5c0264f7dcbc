"""One answer on the page: the number first, then charts, end points and assumptions."""

import json

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim.answers.standing.park import DEFAULT_RISK, ParkAnswer
from drainsim.answers.standing.tables import course_csv
from drainsim.answers.words import (
    days_words,
    difference_words,
    parked_words,
    range_words,
    swing_words,
    verdict,
)
from drainsim.dashboard import safety
from drainsim.dashboard.answer_tables import (
    assumptions_table,
    end_points,
    on_date,
    swing_table,
    temperature_table,
)
from drainsim.dashboard.chart import draw_chart, palette
from drainsim.dashboard.plain_text import plain
from drainsim.figures.budget import budget_alt, budget_figure
from drainsim.figures.course import course_alt, course_figure
from drainsim.figures.risk import risk_alt, risk_figure
from drainsim.figures.swing import swing_alt, swing_figure
from drainsim.units import percent_from_share
from drainsim.vehicle.case import Case
from drainsim.vehicle.scenario import Scenario


def headline(answer: ParkAnswer, baseline: ParkAnswer | None) -> None:
    """Draw the answer in a sentence, then with its range, its date and the difference."""
    st.markdown(f"**{verdict(answer)}**")
    first, second, third = st.columns([1, 1, 2])
    with first, _card("answer"):
        _expected(answer, baseline)
    with second, _card("safe_stand"):
        _within_risk(answer, baseline)
    with third, _card("mind"):
        _mind(answer)


def _card(key: str) -> DeltaGenerator:
    return st.container(border=True, key=key, height="stretch", gap="xxsmall")


def against(before: float | None, after: float | None, horizon_days: int) -> str:
    """Return what a change did, in words: "+11 days against the baseline (36 days)"."""
    words = f"**{difference_words(before, after, horizon_days)}** against the baseline"
    if before is None or after is None:
        return words  # it names both already
    return f"{words} ({days_words(before, horizon_days)})"


def _expected(answer: ParkAnswer, baseline: ParkAnswer | None) -> None:
    horizon, days = answer.case.horizon_days, answer.days_to_no_start
    never = days.p50 is None
    starts = answer.case.vehicle.starts
    ends, lasts = ("a no-start", "start") if starts else ("the unit to go silent", "report")
    st.markdown(f"It should {lasts} for" if never else f"Expect {ends} after about")
    st.header(days_words(days.p50, horizon), anchor=False)
    st.markdown(f"8 in 10 cases: **{range_words(days, horizon)}**")
    date = on_date(answer.case.site.parked_from, days.p50)
    parked = f"Parked {parked_words(answer.case)}"
    st.markdown(f"{parked}, so {date}" if date else parked)
    if baseline is not None:
        st.markdown(against(baseline.days_to_no_start.p50, days.p50, horizon))
    if not never:
        st.markdown(f"Ends by: {answer.limited_by}")


def _within_risk(answer: ParkAnswer, baseline: ParkAnswer | None) -> None:
    horizon, safe = answer.case.horizon_days, answer.days_at_risk
    st.markdown(f"The risk stays within {percent_from_share(DEFAULT_RISK):.0f} % for")
    st.header(days_words(safe, horizon), anchor=False)
    date = on_date(answer.case.site.parked_from, safe)
    if safe:
        st.markdown(f"Until {date}")
    if baseline is not None:
        st.markdown(against(baseline.days_at_risk, safe, horizon))
    costly = "a no-start" if answer.case.vehicle.starts else "silence"
    st.markdown(f"Plan with this one where {costly} is costly")


def _mind(answer: ParkAnswer) -> None:
    if answer.warnings:
        st.markdown("**Take care**")
    safety.warnings(answer.warnings)
    safety.cautions()


def charts(answer: ParkAnswer, baseline: ParkAnswer | None) -> None:
    """Draw the course, the risk, the budget and the swings."""
    colours = palette()
    draw_chart(
        course_figure(answer, colours, baseline=baseline),
        key="course_chart",
        alt=course_alt(answer),
    )
    left, right = st.columns(2)
    with left:
        draw_chart(
            risk_figure(answer, colours, baseline=baseline),
            key="risk_chart",
            alt=risk_alt(answer),
        )
    with right:
        draw_chart(
            budget_figure(answer, colours, baseline=baseline),
            key="budget_chart",
            alt=budget_alt(answer),
        )


def details(answer: ParkAnswer, baseline: ParkAnswer | None) -> None:
    """Draw what to measure next, the end points and what temperature does."""
    st.subheader("Measure this next", anchor=False)
    top = answer.swings[0] if answer.swings else None
    if top is None or not top.matters:
        st.markdown("No single input moves the answer by more than chance.")
    else:
        st.markdown(
            plain(
                f"{top.advice[:1].upper()}{top.advice[1:]}: the {top.label} alone moves the "
                f"answer by {top.swing_days:.0f} days."
            )
        )
        draw_chart(swing_figure(answer, palette()), key="swing_chart", alt=swing_alt(answer))
        st.caption(f"At the ends of a bar: {swing_words(answer)}.")
    with st.expander("The same as a table, with what would pin each input down"):
        st.dataframe(swing_table(answer), hide_index=True)
    st.subheader("What ends when", anchor=False)
    st.table(end_points(answer, baseline).set_index("what ends"))
    st.subheader("What temperature does: four effects", anchor=False)
    st.table(temperature_table(answer).set_index("effect"))


def assumptions(case: Case) -> None:
    """Draw every value used and where it came from."""
    st.subheader("Every value used, and where it came from", anchor=False)
    st.dataframe(
        assumptions_table(case),
        hide_index=True,
        key="assumptions",
        height=380,
        column_config={
            "value": st.column_config.TextColumn(width="small"),
            "unit": st.column_config.TextColumn(width=60),
            "origin": st.column_config.TextColumn(width=80),
            "source": st.column_config.TextColumn(width="large"),
        },
    )


def downloads(answer: ParkAnswer, scenario: Scenario) -> None:
    """Draw the buttons that save the scenario and the answer."""
    with st.container(horizontal=True):
        st.download_button(
            "Scenario (TOML)",
            scenario.to_toml(),
            file_name="scenario.toml",
            mime="application/toml",
            key="save_scenario",
            on_click="ignore",
        )
        st.download_button(
            "Daily course (CSV)",
            course_csv(answer),
            file_name="course.csv",
            mime="text/csv",
            key="save_course",
            on_click="ignore",
        )
        st.download_button(
            "Whole answer (JSON)",
            json.dumps(answer.as_dict(), indent=2, allow_nan=False, ensure_ascii=False),
            file_name="answer.json",
            mime="application/json",
            key="save_answer",
            on_click="ignore",
        )
