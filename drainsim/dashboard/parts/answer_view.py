"""One answer on the page: what to do by when, one chart, and the rest where it is opened."""

import datetime as dt
import json
from collections.abc import Callable
from typing import Final

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim import dates
from drainsim.answers.standing.first_words import act_words, bar_words, half_words
from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.standing.tables import course_csv
from drainsim.answers.words import days_words, difference_words, short_date, swing_words
from drainsim.dashboard import forms, tongue
from drainsim.dashboard.cached import helps_for
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.answer_tables import (
    assumptions_table,
    end_points,
    swing_table,
    temperature_table,
)
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import glued, in_english, plain, said, sentence
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.errors import DrainsimError
from drainsim.figures.budget import budget_alt, budget_figure
from drainsim.figures.by_date import PARTS, by_date_alt, by_date_figure
from drainsim.figures.course import shown_days
from drainsim.figures.swing import swing_alt, swing_figure
from drainsim.language import say
from drainsim.units import whole_percent
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.scenario import Scenario

CHART: Final = "answer_chart"


def headline(answer: ParkAnswer, need_on: dt.date | None) -> DeltaGenerator:
    """Draw what to do by when, when half have failed and the bar of both.

    Returns the place of what helps most, which takes longer: see `helps`.
    """
    with st.container(key="answer", gap="xsmall"):
        st.header(said(act_words(answer)), anchor=False)
        st.markdown(f"{said(half_words(answer))}.")
        if need_on is not None:
            st.markdown(glued(_return_words(answer, need_on)))
        _bar(answer)
        place = st.empty()
        if _to_come(answer):  # no old answer stands meanwhile
            place.markdown(say("**What helps most:** working it out ..."))
        safety.cautions(answer.warnings)
    return place


def _return_words(answer: ParkAnswer, need_on: dt.date) -> str:
    """Return the risk on the day the vehicle is needed."""
    day = (need_on - answer.case.site.parked_from).days
    risks = answer.course.probability_no_start
    if not 0 <= day < len(risks):
        return say(
            "{date} lies outside the {days} days looked at.",
            date=short_date(need_on),
            days=answer.case.horizon_days,
        )
    percent = whole_percent(float(risks[day]))
    return say("On {date} the risk is **{percent} %**.", date=short_date(need_on), percent=percent)


def _bar(answer: ParkAnswer) -> None:
    """Draw the stand as one bar: safe, unsure, past it; our own words and numbers only."""
    end = shown_days(answer)
    days = answer.days_to_no_start
    safe = end if answer.days_at_risk is None else min(answer.days_at_risk, end)
    last = end if days.p90 is None else min(max(days.p90, safe), end)
    widths = [100.0 * part / end for part in (safe, last - safe, end - last)]
    words = [said(one) for one in bar_words(answer)]
    parts = "".join(
        f'<i class="{name}" style="width:{width:.2f}%"></i>'
        for name, width in zip(_PARTS, widths, strict=True)
    )
    half = "" if days.p50 is None else f'<b style="left:{100.0 * days.p50 / end:.2f}%"></b>'
    key = "".join(
        f'<span><i class="{name}"></i>{said}</span>'
        for name, said, width in zip(_PARTS, words, widths, strict=True)
        if width > 0.0
    )
    st.html(
        f'<div class="stand"><div role="img" aria-label="{", ".join(words)}">{parts}{half}</div>'
        f"<p>{key}</p></div>"
    )


_PARTS: Final = ("safe", "unsure", "past")


def helps(place: DeltaGenerator, answer: ParkAnswer, scenario: Scenario) -> None:
    """Draw what helps most; nothing where nothing is needed, or it stands already."""
    if not _to_come(answer):
        return
    try:
        words = helps_for(scenario, answer)
    except DrainsimError as error:
        words = str(error)
    place.markdown(say("**What helps most:** {words}.", words=plain(words)))


def _to_come(answer: ParkAnswer) -> bool:
    """Say whether something is needed, of a stand that is still to be prepared."""
    return answer.days_at_risk is not None and answer.case.site.parked_from >= dates.today()


def against(before: float | None, after: float | None, horizon_days: int) -> str:
    """Return what a change did, in words: "+11 days (before: 36 days)"."""
    change = difference_words(before, after, horizon_days)
    if before is None or after is None:
        return f"**{said(change)}**"  # it names both already
    days = days_words(before, horizon_days)
    return say("**{change}** (before: {days})", change=change, days=days)


@st.fragment
def chart(answer: ParkAnswer, before: ParkAnswer | None, need_on: dt.date | None) -> None:
    """Draw one chart against the date, and the choice of which."""
    tongue.speak()
    part = st.segmented_control(
        say("Chart"),
        list(PARTS),
        format_func=lambda key: say(PARTS[key]),
        default="risk",
        required=True,
        key="chart_part",
        label_visibility="collapsed",
        persist_state="session",
    )
    marks = {say("today"): dates.today()}
    if need_on is not None:
        marks[say("needed")] = need_on
    figure = by_date_figure(answer, part or "risk", palette(), before=before, marks=marks)
    draw_chart(figure, key=CHART, alt=by_date_alt(answer, part or "risk"))


def details(answer: ParkAnswer, before: ParkAnswer | None, scenario: Scenario) -> None:
    """Draw the rest, each part when it is opened."""
    _part(say("Measure this next"), "more_measure", lambda: _measure(answer))
    _part(say("Where the charge goes"), "more_budget", lambda: _budget(answer, before))
    _part(
        say("When each thing ends"),
        "more_ends",
        lambda: draw_table(end_points(answer, before), named_by=say("what ends")),
    )
    _part(
        say("What cold does"),
        "more_cold",
        lambda: draw_table(temperature_table(answer), named_by=say("effect")),
    )
    values_part(answer.case)
    _part(say("Save"), "more_save", lambda: downloads(answer, scenario))


def _part(label: str, key: str, draw: Callable[[], object]) -> None:
    """Draw a part's line, and the part where it is open: a closed one costs nothing."""
    part = st.expander(label, key=key, on_change=forms.stay)
    if part.open:
        with part:
            draw()


def _budget(answer: ParkAnswer, before: ParkAnswer | None) -> None:
    figure = budget_figure(answer, palette(), baseline=before)
    draw_chart(figure, key="budget_chart", alt=budget_alt(answer))


def _measure(answer: ParkAnswer) -> None:
    """Draw which input moves the answer most, and what would pin it down."""
    top = answer.swings[0] if answer.swings else None
    if top is None or not top.matters:
        st.markdown(say("No single input moves the answer by more than chance."))
    else:
        st.markdown(
            plain(
                say(
                    "{advice}: the {label} alone moves the answer by {days:.0f} days.",
                    advice=sentence(top.advice),
                    label=say(top.label),
                    days=top.swing_days,
                )
            )
        )
        draw_chart(swing_figure(answer, palette()), key="swing_chart", alt=swing_alt(answer))
        st.caption(say("At the ends of a bar: {what}.", what=swing_words(answer)))
    st.dataframe(swing_table(answer), hide_index=True, key="swing_table")


def values_part(case: Case) -> None:
    """Draw the line behind which every value used stands, and where it came from."""
    label = say("Every value used, and where it came from")
    _part(label, "more_values", lambda: _values(case))


def _values(case: Case) -> None:
    in_english(say("Sources, files' values and keys without a name are quoted in English."))
    st.dataframe(
        assumptions_table(case),
        hide_index=True,
        key="assumptions",
        height=380,
        column_config={
            say("value"): st.column_config.TextColumn(width="small"),
            say("unit"): st.column_config.TextColumn(width=60),
            say("origin"): st.column_config.TextColumn(width=80),
            say("source"): st.column_config.TextColumn(width="large"),
        },
    )


def downloads(answer: ParkAnswer, scenario: Scenario) -> None:
    """Draw the buttons that save the scenario and the answer."""
    with st.container(horizontal=True):
        st.download_button(
            say("This case (TOML)"),
            scenario.to_toml(),
            file_name="scenario.toml",
            mime="application/toml",
            key="save_scenario",
            on_click="ignore",
        )
        st.download_button(
            say("Daily course (CSV)"),
            course_csv(answer),
            file_name="course.csv",
            mime="text/csv",
            key="save_course",
            on_click="ignore",
        )
        st.download_button(
            say("Whole answer (JSON)"),
            json.dumps(answer.as_dict(), indent=2, allow_nan=False, ensure_ascii=False),
            file_name="answer.json",
            mime="application/json",
            key="save_answer",
            on_click="ignore",
        )
