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
from drainsim.answers.words import counted, short_date
from drainsim.dashboard import forms, menu, safety, session, sheet_language
from drainsim.dashboard.answer_tables import in_words, label_of_key
from drainsim.dashboard.chart import draw_chart, palette
from drainsim.dashboard.fleet.fleet_answers import Answered
from drainsim.dashboard.plain_text import glued, plain
from drainsim.dashboard.words_table import draw_table
from drainsim.errors import DrainsimError
from drainsim.figures.fleet import (
    fleet_alt,
    fleet_figure,
    vehicle_alt,
    vehicle_figure,
)
from drainsim.sheets.action_list import action_list_html
from drainsim.sheets.calendar import act_by_calendar
from drainsim.sheets.fleet_summary import summary
from drainsim.sheets.fleet_tables import to_correct_csv, vehicle_heading, vehicle_rows
from drainsim.sheets.fleet_understood import HEADING, understood_csv, understood_rows
from drainsim.sheets.spreadsheet import csv_text, for_spreadsheets, xlsx_bytes
from drainsim.units import percent_from_share, whole_percent
from drainsim.vehicle.case import resolve
from drainsim.vehicle.scenario import scenario_from_text

_MOST_UNDERSTOOD = 300  # vehicles whose values are shown on the page
_MOST_PROBLEMS = 20


def headline(answer: FleetAnswer) -> None:
    """Draw how many must act."""
    today = answer.settings.today
    now, week = answer.must_act["today"], answer.must_act["within_7_days"]
    limit = percent_from_share(answer.risk)
    st.markdown(
        f"**{counted(now, 'vehicle')} {'needs' if now == 1 else 'need'} someone today, {week} by "
        f"{short_date(_later(today, 7))}, to stay "
        f"{glued(f'within {limit:g} %')} risk of a no-start.**"
    )


def expected(answer: FleetAnswer) -> None:
    """Draw how many must act and how many no-starts to expect by when, at what cost."""
    today = answer.settings.today
    now, week = answer.must_act["today"], answer.must_act["within_7_days"]
    cards = st.columns(1 + len(answer.on_dates))
    with cards[0], _card("fleet_act"):
        st.markdown("Act today")
        st.header(counted(now, "vehicle"), anchor=False)
        st.markdown(
            f"Within 7 days: **{week}**, within 30 days: **{answer.must_act['within_30_days']}**"
        )
        st.markdown(f"of {len(answer.vehicles)} answered")
    for card, day in zip(cards[1:], answer.on_dates, strict=True):
        with card, _card(f"fleet_day_{(day.date - today).days}"):
            _on_day(day, answer.call_out_price)


def _card(key: str) -> DeltaGenerator:
    return st.container(border=True, key=key, height="stretch", gap="xxsmall")


def _on_day(day: DayRisk, price: float | None) -> None:
    st.markdown(f"No-starts expected on {short_date(day.date)}")
    st.header(f"{day.count.expected:.1f}", anchor=False)
    st.markdown(f"8 in 10 cases: **{day.count.p10} to {day.count.p90}**")
    if price is not None:
        low, high = price * day.count.p10, price * day.count.p90
        st.markdown(f"Call-outs: **{price * day.count.expected:,.0f}** ({low:,.0f} to {high:,.0f})")
    st.markdown("if nothing is done")


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
        (left, "By depot", answer.by_depot, str),
        (right, "By battery type", answer.by_battery, in_words),
    ):
        with column:
            st.subheader(heading, anchor=False)
            frame = _group_frame(answer, by_day, named)
            if len(frame):
                draw_table(frame, named_by="name")


def _group_frame(
    answer: FleetAnswer,
    by_day: tuple[tuple[GroupRisk, ...], ...],
    named: Callable[[str], str],
) -> pd.DataFrame:
    rows = []
    for group in by_day[-1] if by_day else ():
        row: dict[str, object] = {"name": plain(named(group.name)), "vehicles": group.vehicles}
        for date, day in zip(answer.dates, by_day, strict=True):
            same = next(one for one in day if one.name == group.name)
            row[f"no-starts {short_date(date)}"] = f"{same.expected:.1f}"
        rows.append(row)
    return pd.DataFrame(rows)


def vehicle_details(vehicle: VehicleAnswer, action: Action | None, answer: FleetAnswer) -> None:
    """Draw one vehicle, and the way to its own page."""
    ahead = answer.settings.days_ahead
    left, right = st.columns([1, 1.4], gap="medium")
    with left, st.container(border=True, key="fleet_vehicle"):
        st.text(f"{vehicle.id}{f', {vehicle.depot}' if vehicle.depot else ''}")
        st.markdown(f"Days left (8 in 10 cases): **{_days_left(vehicle, ahead)}**")
        if vehicle.act_by:
            st.markdown(f"Act by **{short_date(vehicle.act_by)}**")
        if action and not action.promises:
            st.markdown(f"First: **{plain(action.words)}**")
        elif action:
            st.markdown(
                f"Cheapest step: **{plain(action.words)}**; risk on {short_date(action.until)} "
                f"{_percent(action.risk_before)} → {_percent(action.risk_after)}; "
                f"takes {plain(action.takes)}"
            )
        st.markdown(
            f"Charge today: {_percent(vehicle.charge_today)} ± {_percent(vehicle.charge_today_sd)}"
        )
        st.markdown(f"Why: {plain(vehicle.cause)}")
        if vehicle.assumed:
            st.markdown(
                f"Assumed, not read from the list: {plain(in_words(', '.join(vehicle.assumed)))}"
            )
        safety.warnings(vehicle.warnings)
        st.button(
            "Open this vehicle on the first page",
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
        return f"more than {ahead}" if value is None else f"{value:.0f}"

    return f"{days(vehicle.days_left_p10)} to {days(vehicle.days_left_p90)}"


def to_correct(found: Answered) -> None:
    """Draw the rows kept aside, with column and reason."""
    problems = found.answer.problems
    if not problems:
        st.caption("Every row of the list was answered.")
        return
    rows = len({problem.row for problem in problems})
    st.subheader(f"{counted(rows, 'row')} to correct", anchor=False)
    st.caption(
        "These rows are not in the answer. Download them, correct them and load the file again."
    )
    st.markdown(
        "\n".join(
            f"- **Row {p.row}**{plain(f', {p.column}') if p.column else ''}: {plain(p.sentence)}"
            for p in problems[:_MOST_PROBLEMS]
        )
    )
    if len(problems) > _MOST_PROBLEMS:
        st.caption(f"and {len(problems) - _MOST_PROBLEMS} more in the download")
    _download(
        "Rows to correct (CSV)",
        lambda: for_spreadsheets(to_correct_csv(found.fleet, problems)),
        "to_correct.csv",
        "text/csv",
    )


def understood(found: Answered) -> None:
    """Draw every value of every vehicle as it was used, with its origin."""
    with st.expander("Every value as it was used: from the list, reckoned, or assumed"):
        if len(found.answer.vehicles) > _MOST_UNDERSTOOD:
            st.caption(
                f"Shown for up to {_MOST_UNDERSTOOD} vehicles; the download has all of them."
            )
            return
        rows = understood_rows(found.fleet, found.answer.settings, found.answer)
        frame = pd.DataFrame(rows, columns=list(HEADING)).rename(columns=in_words)
        frame["value"] = frame["value"].astype(str).map(in_words)
        frame["key"] = frame["key"].map(label_of_key)
        st.dataframe(frame, hide_index=True, key="fleet_understood")


def downloads(found: Answered) -> None:
    """Draw the buttons that save the answer; each file is made when it is asked for."""
    answer, actions = found.answer, found.actions

    heading = vehicle_heading(answer)
    with st.container(horizontal=True):
        say = sheet_language.ask("fleet")
    with st.container(horizontal=True):
        _download(
            "Vehicles (CSV)",
            lambda: for_spreadsheets(csv_text(heading, vehicle_rows(answer, actions))),
            "vehicles.csv",
            "text/csv",
        )
        _download(
            "Every value as used (CSV)",
            lambda: for_spreadsheets(understood_csv(found.fleet, answer.settings, answer)),
            "understood.csv",
            "text/csv",
        )
        _download(
            "Vehicles (XLSX)",
            lambda: xlsx_bytes("vehicles", heading, vehicle_rows(answer, actions)),
            "vehicles.xlsx",
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        )
        _download(
            "Action list to print (HTML)",
            lambda: action_list_html(answer, actions, say),
            "action_list.html",
            "text/html",
        )
        _download(
            "Calendar of act-by dates (ICS)",
            lambda: act_by_calendar(answer.vehicles, actions, today=answer.settings.today, say=say),
            "act_by.ics",
            "text/calendar",
        )
        _download(
            "Summary (JSON)",
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
