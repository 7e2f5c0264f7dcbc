"""Who does what on which day, where chargers and people are few."""

from collections.abc import Mapping
from typing import Final

import streamlit as st

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.work_plan import EVERY_DAY, Job, Limits, WorkPlan, work_plan
from drainsim.answers.words import short_date
from drainsim.dashboard import forms
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.language import marked, say, spoken
from drainsim.sheets.fleet.fleet_tables import PLAN_HEADING, plan_rows
from drainsim.sheets.spreadsheet import csv_text, for_spreadsheets

_MOST_DEPOTS: Final = 12  # asked about on the page
_MOST_JOBS: Final = 15  # shown; the download has all of them


def draw(answer: FleetAnswer, actions: Mapping[str, Action]) -> None:
    """Draw the plan where it is opened: limits asked for, the first days, and the file."""
    part = st.expander(say("Work plan by depot and day"), key="fleet_plan", on_change=forms.stay)
    if not part.open:
        return
    with part:
        plan = work_plan(answer, actions, _limits(answer), hour_price=_hour_price())
        st.markdown(f"**{plain(plan.in_words)}**")
        st.markdown("\n".join(_words(job) for job in plan.jobs[:_MOST_JOBS]))
        _save(plan)


def _limits(answer: FleetAnswer) -> Limits:
    depots = sorted({vehicle.depot for vehicle in answer.vehicles})
    st.caption(say("Empty: as many as it takes. A person works 6 h a day at vehicles."))
    if len(depots) > _MOST_DEPOTS:
        st.caption(
            say(
                "Asked for the first {most} of {depots} depots.",
                most=_MOST_DEPOTS,
                depots=len(depots),
            )
        )
    chargers: dict[str, int] = {}
    people: dict[str, int] = {}
    for number, depot in enumerate(depots[:_MOST_DEPOTS]):
        left, right = st.columns(2)
        name = plain(depot or say("no depot"))
        for column, words, counts in (
            (left, marked("chargers"), chargers),
            (right, marked("people"), people),
        ):
            with column:
                count = st.number_input(
                    f"{name}: {say(words)}",
                    0,
                    1000,
                    None,
                    1,
                    key=f"plan_{words}_{number}",
                    on_change=forms.stay,
                )
            if count is not None:
                counts[depot] = int(count)
    week = st.checkbox(say("Monday to Friday only"), key="plan_week", on_change=forms.stay)
    return Limits(
        chargers=chargers, people=people, weekdays=frozenset(range(5)) if week else EVERY_DAY
    )


def _hour_price() -> float | None:
    return st.number_input(
        say("Price of an hour of work"),
        0.0,
        1e6,
        None,
        5.0,
        key="plan_hour",
        format="%g",
        on_change=forms.stay,
    )


def _words(job: Job) -> str:
    if job.day is None:
        day = say("no day left")
    else:
        day = say("{date}" if job.in_time else "{date} (late)", date=short_date(job.day))
    what, takes = said(job.action.words), said(job.action.takes)
    return f"- **{day}** " + plain(
        f"{job.action.id}, {job.depot or say('no depot')}: {what}; {takes}"
    )


def _save(plan: WorkPlan) -> None:
    if len(plan.jobs) > _MOST_JOBS:
        st.caption(say("and {number} more in the download", number=len(plan.jobs) - _MOST_JOBS))
    st.download_button(
        say("Work plan (CSV)"),
        for_spreadsheets(csv_text(PLAN_HEADING, plan_rows(plan, spoken()))),
        file_name="work_plan.csv",
        mime="text/csv",
        key="save_work_plan",
        on_click="ignore",
    )
