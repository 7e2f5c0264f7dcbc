"""The fleet's table on the page: filters, columns, and the vehicle that is picked."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any, Final

import pandas as pd
import streamlit as st

from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import short_date
from drainsim.dashboard import forms
from drainsim.dashboard.parts.answer_tables import battery_words
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.language import marked, say
from drainsim.units import whole_percent

_FORM: Final = "fleet"
_WHEN: Final = (
    marked("all vehicles"),
    marked("today"),
    marked("within 7 days"),
    marked("within 30 days"),
    marked("nothing to do"),
)
_MOST_SHOWN: Final = 20_000
_CARDS: Final = 5  # drawn at first
_MANY: Final = "kept_fleet_cards"
_TAPPED: Final = "vehicle"


def table(answer: FleetAnswer, actions: Mapping[str, Action]) -> VehicleAnswer | None:
    """Draw the list, as cards on a phone, and its filters; return the vehicle picked in it."""
    place = st.container()
    with st.expander(say("Search and filter"), key="fleet_filter"):
        shown = _filtered(answer)
    with place:
        st.caption(
            say(
                "{shown} of {vehicles} vehicles, most urgent first.",
                shown=len(shown),
                vehicles=len(answer.vehicles),
            )
        )
        picked = _cards(shown, actions, answer.settings.today)
        return _rows(shown, answer, actions) or picked


def _rows(
    shown: list[VehicleAnswer], answer: FleetAnswer, actions: Mapping[str, Action]
) -> VehicleAnswer | None:
    """Draw the table; return the vehicle ticked in it."""
    with st.container(key="fleet_list", gap="xsmall"):
        event = st.dataframe(
            vehicle_frame(shown[:_MOST_SHOWN], answer, actions),
            hide_index=True,
            key="fleet_table",
            height=430,
            on_select=forms.stay,
            selection_mode="single-row",
            placeholder="–",
            column_config=_columns(answer),
            alt=say("Vehicles with act-by date, what to do, risks, days left and cause"),
        )
        st.caption(say("A click on a heading sorts; tick a row to look at that vehicle below."))
        if len(shown) > _MOST_SHOWN:
            st.caption(
                say(
                    "The table holds the first {most}; the download has all of them.",
                    most=_MOST_SHOWN,
                )
            )
    rows = event["selection"]["rows"]
    return shown[rows[0]] if rows and rows[0] < len(shown) else None


def _cards(
    shown: list[VehicleAnswer], actions: Mapping[str, Action], today: dt.date
) -> VehicleAnswer | None:
    """Draw the first vehicles as cards, which only a phone shows; return the one tapped."""
    many = st.session_state.get(_MANY, _CARDS)
    with st.container(key="fleet_cards", gap="small"):
        for number, vehicle in enumerate(shown[:many]):
            with st.container(border=True, key=f"fleet_card_{number}", gap="xxsmall"):
                _card(vehicle, actions.get(vehicle.id), today)
                st.button(
                    say("Look at it below"),
                    key=f"fleet_look_{number}",
                    on_click=_take,
                    args=(vehicle.id,),
                )
        if len(shown) > many:
            st.button(say("More vehicles"), key="fleet_more", on_click=_more)
    tapped = forms.entries(_FORM).get(_TAPPED)
    return next((vehicle for vehicle in shown if vehicle.id == tapped), None)


def _card(vehicle: VehicleAnswer, action: Action | None, today: dt.date) -> None:
    place = f", {plain(vehicle.depot)}" if vehicle.depot else ""
    if vehicle.act_by is None:
        when = say("nothing to do")
    elif vehicle.act_by == today:
        when = say("by {date} (today)", date=short_date(vehicle.act_by))
    else:
        when = say("by {date}", date=short_date(vehicle.act_by))
    st.markdown(f"**{plain(vehicle.id)}**{place}: **{when}**")
    if vehicle.needs_someone:
        words = said(instruction(vehicle, action))
        st.markdown(plain(f"{words[:1].upper()}{words[1:]}."))
    st.markdown(
        plain(
            say(
                "Risk today {risk_today} %: {cause}",
                risk_today=whole_percent(vehicle.risk_today),
                cause=vehicle.cause,
            )
        )
    )


def _take(vehicle: str) -> None:
    forms.entries(_FORM)[_TAPPED] = vehicle


def _more() -> None:
    forms.stay()
    st.session_state[_MANY] = st.session_state.get(_MANY, _CARDS) + 2 * _CARDS


def _filtered(answer: FleetAnswer) -> list[VehicleAnswer]:
    first, second, third, fourth = st.columns([1.2, 1, 1, 1])
    with first:
        words = st.text_input(
            say("Search"),
            placeholder=say("vehicle, depot, cause"),
            **forms.bound(_FORM, "search", ""),
        )
    with second:
        named = sorted({v.depot for v in answer.vehicles if v.depot})
        depots = st.multiselect(
            say("Depot"),
            named,
            placeholder=say("all"),
            **forms.bound(_FORM, "depots", [], among=named),
        )
    with third:
        found = sorted({v.battery_type for v in answer.vehicles})
        kinds = st.multiselect(
            say("Battery type"),
            found,
            format_func=battery_words,
            placeholder=say("all"),
            **forms.bound(_FORM, "kinds", [], among=found),
        )
    with fourth:
        when = st.selectbox(
            say("When to act"),
            _WHEN,
            format_func=say,
            **forms.bound(_FORM, "when", _WHEN[0], among=_WHEN),
        )
    wanted = (words or "").casefold().split()
    return [
        vehicle
        for vehicle in answer.vehicles
        if (not depots or vehicle.depot in depots)
        and (not kinds or vehicle.battery_type in kinds)
        and _in_time(vehicle, when, answer.settings.today)
        and all(
            word in f"{vehicle.id} {vehicle.depot} {said(vehicle.cause)}".casefold()
            for word in wanted
        )
    ]


def _in_time(vehicle: VehicleAnswer, when: str, today: dt.date) -> bool:
    if when == _WHEN[0]:
        return True
    if vehicle.act_by is None or when == _WHEN[4]:
        return vehicle.act_by is None and when == _WHEN[4]
    days = (vehicle.act_by - today).days
    return days <= {_WHEN[1]: 0, _WHEN[2]: 7, _WHEN[3]: 30}[when]


def vehicle_frame(
    vehicles: Sequence[VehicleAnswer], answer: FleetAnswer, actions: Mapping[str, Action]
) -> pd.DataFrame:
    """Return the table's rows; risks in per cent, None for a day past those looked at."""
    rows = []
    for vehicle in vehicles:
        action = actions.get(vehicle.id)
        row: dict[str, object] = {
            say("act by"): vehicle.act_by,
            say("vehicle"): vehicle.id,
            say("what to do"): said(action.words) if action else "",
            say("depot"): vehicle.depot,
            say("risk today"): whole_percent(vehicle.risk_today),
        }
        for date, risk in zip(answer.dates, vehicle.risk_on_dates, strict=True):
            row[say("risk {date}", date=short_date(date))] = whole_percent(risk)
        back = vehicle.risk_on_return
        row |= {
            say("planned return"): vehicle.planned_return,
            say("risk on return"): None if back is None else whole_percent(back),
            say("days left P10"): vehicle.days_left_p10,
            say("days left P50"): vehicle.days_left_p50,
            say("days left P90"): vehicle.days_left_p90,
            say("cause"): said(vehicle.cause),
            say("battery type"): battery_words(vehicle.battery_type),
            say("measure next"): say(vehicle.measure_next),
            say("assumed"): whole_percent(vehicle.assumed_share),
            say("warnings"): "; ".join(map(said, vehicle.warnings)),
        }
        rows.append(row)
    return pd.DataFrame(rows)


def _columns(answer: FleetAnswer) -> dict[str, Any]:
    per_cent = st.column_config.NumberColumn(format="%.0f %%", width=135)
    days = st.column_config.NumberColumn(
        format="%.0f", width=115, help=say("empty: past the look-ahead")
    )
    date = st.column_config.DateColumn(format=say("D MMM YYYY"), width=115)
    risks = [say("risk today"), say("risk on return"), say("assumed")]
    risks += [say("risk {date}", date=short_date(day)) for day in answer.dates]
    return {
        **dict.fromkeys(risks, per_cent),
        **dict.fromkeys([say("days left P10"), say("days left P50"), say("days left P90")], days),
        say("act by"): date,
        say("planned return"): date,
        say("vehicle"): st.column_config.TextColumn(width=110, pinned=True),
        say("what to do"): st.column_config.TextColumn(width=320),
        say("cause"): st.column_config.TextColumn(width=300),
    }
