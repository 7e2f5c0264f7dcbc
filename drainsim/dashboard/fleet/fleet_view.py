"""The fleet's answer on the page: words first, then chart, groups, one vehicle, files."""

import datetime as dt
import json
from collections.abc import Callable

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.counts import DayRisk, GroupRisk
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import short_date
from drainsim.dashboard import forms, menu, session
from drainsim.dashboard.fleet.fleet_answers import Answered
from drainsim.dashboard.parts import safety, sheet_language
from drainsim.dashboard.parts.answer_tables import battery_words, label_of_key, said_words
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import glued, plain
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.errors import DrainsimError
from drainsim.figures.fleet import (
    fleet_alt,
    fleet_figure,
    vehicle_alt,
    vehicle_figure,
)
from drainsim.language import say, say_many
from drainsim.sheets.fleet.action_list import action_list_html
from drainsim.sheets.fleet.calendar import act_by_calendar
from drainsim.sheets.fleet.fleet_summary import summary
from drainsim.sheets.fleet.fleet_tables import to_correct_csv, vehicle_heading, vehicle_rows
from drainsim.sheets.fleet.fleet_understood import (
    HEADING,
    left_out,
    rests_on,
    understood_csv,
    understood_rows,
)
from drainsim.sheets.spreadsheet import csv_text, for_spreadsheets, xlsx_bytes
from drainsim.units import percent_from_share, whole_percent
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import Fleet
from drainsim.vehicle.documents.fleet_values import RowProblem
from drainsim.vehicle.keys.scenario import scenario_from_text

_MOST_UNDERSTOOD = 300  # vehicles whose values are shown on the page
_MOST_PROBLEMS = 20


def headline(answer: FleetAnswer, fleet: Fleet) -> None:
    """Draw how many must act, and at once what that rests on."""
    today = answer.settings.today
    now, week = answer.must_act["today"], answer.must_act["within_7_days"]
    limit = percent_from_share(answer.risk)
    with st.container(key="verdict_line"):
        st.markdown(
            say_many(
                "**{number} vehicle needs someone today, {week} by {date}, to stay within "
                "{limit:g}\N{NO-BREAK SPACE}% risk of a no-start.**",
                "**{number} vehicles need someone today, {week} by {date}, to stay within "
                "{limit:g}\N{NO-BREAK SPACE}% risk of a no-start.**",
                now,
                week=week,
                date=short_date(_later(today, 7)),
                limit=limit,
            )
        )
    with st.container(gap="xsmall"):
        for sentence in (*left_out(answer), *rests_on(fleet)):
            st.markdown(plain(sentence))


def expected(answer: FleetAnswer) -> None:
    """Draw how many must act and how many no-starts to expect by when, at what cost."""
    today = answer.settings.today
    now, week = answer.must_act["today"], answer.must_act["within_7_days"]
    cards = st.columns(1 + len(answer.on_dates))
    with cards[0], _card("fleet_act"):
        st.markdown(say("Act today"))
        st.header(say_many("{number} vehicle", "{number} vehicles", now), anchor=False)
        st.markdown(
            say(
                "Within 7 days: **{week}**, within {days} days: **{month}**",
                week=week,
                days=min(30, answer.settings.days_ahead),
                month=answer.must_act["within_30_days"],
            )
        )
        st.markdown(say("of {vehicles} answered", vehicles=len(answer.vehicles)))
    for card, day in zip(cards[1:], answer.on_dates, strict=True):
        with card, _card(f"fleet_day_{(day.date - today).days}"):
            _on_day(day, answer.call_out_price)


def _card(key: str) -> DeltaGenerator:
    return st.container(border=True, key=f"card_{key}", height="stretch", gap="xxsmall")


def _on_day(day: DayRisk, price: float | None) -> None:
    st.markdown(say("No-starts expected on {date}", date=short_date(day.date)))
    st.header(say("{count:.1f}", count=day.count.expected), anchor=False)
    st.markdown(say("8 in 10 cases: **{p10} to {p90}**", p10=day.count.p10, p90=day.count.p90))
    if price is not None:
        low, high = price * day.count.p10, price * day.count.p90
        st.markdown(
            say(
                "Call-outs: **{expected:,.0f}** ({low:,.0f} to {high:,.0f})",
                expected=price * day.count.expected,
                low=low,
                high=high,
            )
        )
    st.markdown(say("if nothing is done"))


def _later(today: dt.date, days: int) -> dt.date:
    return today + dt.timedelta(days=days)


def chart(answer: FleetAnswer, changed: FleetAnswer | None) -> None:
    """Draw expected no-starts against time, with band and the changed fleet."""
    draw_chart(
        fleet_figure(answer, palette(), changed=changed),
        key="fleet_chart",
        alt=fleet_alt(answer),
    )


def groups(answer: FleetAnswer) -> None:
    """Draw expected no-starts by depot and by battery type on the stated days."""
    left, right = st.columns(2)
    for column, heading, by_day, named in (
        (left, say("By depot"), answer.by_depot, str),
        (right, say("By battery type"), answer.by_battery, battery_words),
    ):
        with column:
            st.subheader(heading, anchor=False)
            frame = _group_frame(answer, by_day, named)
            if len(frame):
                draw_table(frame, named_by=say("name"))


def _group_frame(
    answer: FleetAnswer,
    by_day: tuple[tuple[GroupRisk, ...], ...],
    named: Callable[[str], str],
) -> pd.DataFrame:
    rows = []
    for group in by_day[-1] if by_day else ():
        row: dict[str, object] = {
            say("name"): plain(named(group.name)),
            say("vehicles"): group.vehicles,
        }
        for date, day in zip(answer.dates, by_day, strict=True):
            same = next(one for one in day if one.name == group.name)
            row[say("no-starts {date}", date=short_date(date))] = say(
                "{count:.1f}", count=same.expected
            )
        rows.append(row)
    return pd.DataFrame(rows)


def vehicle_details(vehicle: VehicleAnswer, action: Action | None, answer: FleetAnswer) -> None:
    """Draw one vehicle, and the way to its own page."""
    ahead = answer.settings.days_ahead
    left, right = st.columns([1, 1.4], gap="medium")
    with left, st.container(border=True, key="fleet_vehicle"):
        st.text(f"{vehicle.id}{f', {vehicle.depot}' if vehicle.depot else ''}")
        st.markdown(
            say("Days left (8 in 10 cases): **{vehicle}**", vehicle=_days_left(vehicle, ahead))
        )
        if vehicle.act_by:
            st.markdown(say("Act by **{act_by}**", act_by=short_date(vehicle.act_by)))
        if action and not action.promises:
            st.markdown(say("First: **{words}**", words=plain(action.words)))
        elif action:
            st.markdown(
                say(
                    "To do: **{words}**; risk on {until} {risk_before} → {risk_after}; "
                    "takes "
                    "{takes}",
                    words=plain(action.words),
                    until=short_date(action.until),
                    risk_before=_percent(action.risk_before),
                    risk_after=_percent(action.risk_after),
                    takes=plain(action.takes),
                )
            )
        st.markdown(
            say(
                "Charge today: {charge_today} ± {charge_today_sd}",
                charge_today=_percent(vehicle.charge_today),
                charge_today_sd=_percent(vehicle.charge_today_sd),
            )
        )
        st.markdown(say("Why: {cause}", cause=plain(vehicle.cause)))
        if vehicle.assumed:
            st.markdown(
                say(
                    "Assumed, not read from the list: {assumed}",
                    assumed=plain(", ".join(map(said_words, vehicle.assumed))),
                )
            )
        safety.warnings(vehicle.warnings)
        st.button(
            say("Open this vehicle on the first page"),
            key="fleet_open",
            type="primary",
            on_click=_open,
            args=(vehicle,),
        )
    with right:
        draw_chart(
            vehicle_figure(vehicle, palette(), today=answer.settings.today, risk=answer.risk),
            key="fleet_vehicle_chart",
            alt=vehicle_alt(vehicle, answer.risk),
        )


def _percent(share: float) -> str:
    return glued(f"{whole_percent(share)} %")


def _open(vehicle: VehicleAnswer) -> None:
    try:
        scenario = scenario_from_text(vehicle.toml, where=f"vehicle {vehicle.id}")
        resolve(scenario)
    except DrainsimError as error:
        forms.tell("fleet", str(error))
        return
    session.open_scenario(scenario)
    menu.go("")


def _days_left(vehicle: VehicleAnswer, ahead: int) -> str:
    def days(value: float | None) -> str:
        return say("more than {days}", days=ahead) if value is None else f"{value:.0f}"

    low, high = days(vehicle.days_left_p10), days(vehicle.days_left_p90)
    return say("{low} to {high}", low=low, high=high)


def to_correct(found: Answered) -> None:
    """Draw the rows kept aside, with column and reason."""
    problems = found.answer.problems
    if not problems:
        st.caption(say("Every row of the list was answered."))
        return
    rows = len({problem.row for problem in problems})
    st.subheader(
        say_many("{number} row to correct", "{number} rows to correct", rows), anchor=False
    )
    st.caption(
        say(
            "These rows are not in the answer. Download them, correct them and load the file again."
        )
    )
    st.markdown("\n".join(_problem(p) for p in problems[:_MOST_PROBLEMS]))
    if len(problems) > _MOST_PROBLEMS:
        st.caption(say("and {number} more in the download", number=len(problems) - _MOST_PROBLEMS))
    _download(
        say("Rows to correct (CSV)"),
        lambda: for_spreadsheets(to_correct_csv(found.fleet, problems)),
        "to_correct.csv",
        "text/csv",
    )


def _problem(problem: RowProblem) -> str:
    row = say("Row {row}", row=str(problem.row))
    column = plain(f", {problem.column}") if problem.column else ""
    return f"- **{row}**{column}: {plain(problem.sentence)}"


def understood(found: Answered) -> None:
    """Draw every value of every vehicle as it was used, with its origin."""
    with st.expander(say("Every value as it was used: from the list, reckoned, or assumed")):
        if len(found.answer.vehicles) > _MOST_UNDERSTOOD:
            st.caption(
                say(
                    "Shown for up to {most} vehicles; the download has all of them.",
                    most=_MOST_UNDERSTOOD,
                )
            )
            return
        rows = understood_rows(found.fleet, found.answer.settings, found.answer)
        frame = pd.DataFrame(rows, columns=list(HEADING))
        frame["value"] = frame["value"].astype(str).map(said_words)
        frame["key"] = frame["key"].map(label_of_key)
        frame["origin"] = frame["origin"].map(say)
        st.dataframe(frame.rename(columns=said_words), hide_index=True, key="fleet_understood")


def downloads(found: Answered) -> None:
    """Draw the buttons that save the answer; each file is made when it is asked for."""
    answer, actions = found.answer, found.actions

    heading = vehicle_heading(answer)
    with st.container(horizontal=True):
        chosen = sheet_language.ask("fleet")
    with st.container(horizontal=True):
        _download(
            say("Vehicles (CSV)"),
            lambda: for_spreadsheets(csv_text(heading, vehicle_rows(answer, actions, chosen))),
            "vehicles.csv",
            "text/csv",
        )
        _download(
            say("Every value as used (CSV)"),
            lambda: for_spreadsheets(understood_csv(found.fleet, answer.settings, answer)),
            "understood.csv",
            "text/csv",
        )
        _download(
            say("Vehicles (XLSX)"),
            lambda: xlsx_bytes("vehicles", heading, vehicle_rows(answer, actions, chosen)),
            "vehicles.xlsx",
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        )
        _download(
            say("Action list to print (HTML)"),
            lambda: action_list_html(answer, actions, chosen),
            "action_list.html",
            "text/html",
        )
        _download(
            say("Calendar of act-by dates (ICS)"),
            lambda: act_by_calendar(
                answer.vehicles, actions, today=answer.settings.today, say=chosen
            ),
            "act_by.ics",
            "text/calendar",
        )
        _download(
            say("Summary (JSON)"),
            lambda: json.dumps(summary(found.fleet, answer, actions, None), indent=2) + "\n",
            "summary.json",
            "application/json",
        )


def _download(label: str, content: Callable[[], str | bytes], file: str, mime: str) -> None:
    st.download_button(
        label,
        content,
        file_name=file,
        mime=mime,
        key=f"save_{file.replace('.', '_')}",
        on_click="ignore",
    )
