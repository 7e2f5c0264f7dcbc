"""Page: what do the vehicles' own voltage readings say this morning?"""

import datetime as dt
from collections.abc import Callable, Sequence
from typing import Final

import pandas as pd
import streamlit as st

from drainsim.answers.readings.results import PARKED, VehicleForecast
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.words import short_date
from drainsim.dashboard import forms
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import glued, plain, said, sentence
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.dashboard.readings_question import (
    FORM,
    SETTINGS,
    Answered,
    Question,
    answered_of,
    one_of,
    source,
)
from drainsim.errors import DrainsimError
from drainsim.figures.readings import (
    NIGHTS_TITLE,
    chance_alt,
    chance_figure,
    nights_figure,
    nights_words,
)
from drainsim.language import say, say_many
from drainsim.sheets.fleet.list_file import table_file
from drainsim.sheets.fleet.morning_list import (
    ASIDE_HEADING,
    MORNING_HEADING,
    VEHICLE_HEADING,
    act_soon,
    act_today,
    act_words,
    aside_rows,
    back_test_words,
    changed,
    days_left,
    draining,
    extra_words,
    is_new,
    local_day,
    moment,
    morning_rows,
    range_ma,
    range_percent,
    told_beside,
    unseen,
    unseen_words,
    vehicle_rows,
    zone_of,
)
from drainsim.units import whole_percent

_LOUD: Final = ("Not read", "In the list, kept aside")
_SHOWN: Final = 25  # vehicles or rows told one by one


def _page() -> None:
    st.header(say("What do the vehicles' own readings say this morning?"), anchor=False)
    place = st.container()
    question, example = source()
    with place:
        if example:
            st.caption(
                say(
                    "Invented example: 25 vehicles over six weeks, with three faults, a silent "
                    "unit, a "
                    "charger, a 24 V truck and an exchanged battery. Load your own readings below; "
                    "they stay on this machine."
                )
            )
        try:
            with st.spinner(say("Reading the nights ...")):
                answered = answered_of(question.key, question)
        except DrainsimError as error:
            here = say(
                "On this page, {settings} has what --zone and --dates say.", settings=say(SETTINGS)
            )
            st.error(plain(f"{error}. {here}" if " --" in str(error) else f"{error}."))
            return
        _show(question, answered)
        st.subheader(say("Your readings"), anchor=False)
    safety.defers()


def _show(question: Question, answered: Answered) -> None:
    found, zone = answered.morning, zone_of(question.zone)
    today = local_day(found.now_s, zone)
    acting, soon, drains = act_today(found, today), act_soon(found, today), draining(found)
    fresh = [one for one in drains if is_new(one, found)]
    with st.container(key="answer"):
        st.header(
            say(
                "Act today on {acting} of {vehicles} vehicles; an abnormal drain began in {fresh} "
                "of them.",
                acting=len(acting),
                vehicles=len(found.vehicles),
                fresh=len(fresh),
            ),
            anchor=False,
        )
    st.caption(
        say("As of {now} {zone}. Risk limit 5 %.", now=moment(found.now_s, zone), zone=zone.key)
    )
    _list(acting, soon, today)
    _told(answered)
    safety.cautions()
    _section(
        say("Newly abnormal drain"),
        fresh,
        lambda one: _extra(one, question),
        empty=say("None was found."),
    )
    if drains:
        st.caption(
            plain(
                say(
                    "Voltage cannot tell {what}.",
                    what=drains[0].extra_drain.cannot_tell,
                )
            )
        )
    known = [one for one in drains if one not in fresh]
    _section(say("Abnormal drain, known"), known, lambda one: _extra(one, question), empty="")
    _section(say("Silent or unreadable"), unseen(found), unseen_words, empty=say("None."))
    _section(
        say("Changed since yesterday"),
        changed(found),
        lambda one: one.changed,
        empty=say("Nothing."),
    )
    st.subheader(say("How earlier forecasts came out"), anchor=False)
    st.markdown(plain(" ".join(map(said, back_test_words(found.back_test)))))
    _vehicle(question, answered, [*acting, *soon, *drains], today)
    _save(answered, question)


def _told(answered: Answered) -> None:
    """Draw what was not matched, not read or taken for granted."""
    told = told_beside(answered.morning, answered.readings, answered.fleet, most=_SHOWN)
    for what, words in told:
        tell = st.warning if what in _LOUD else st.caption
        tell(plain(f"{said(what)}: {said(words)}."))


def _list(
    acting: Sequence[VehicleForecast], soon: Sequence[VehicleForecast], today: dt.date
) -> None:
    """Draw whom to act on: a table at a desk, lines on a phone."""
    rows = [
        {
            say("vehicle"): one.id,
            say("act by"): say("today") if one in acting else said(short_date(one.act_by or today)),
            say("risk today"): f"{whole_percent(one.risk_today or 0.0)} %",
            say("no-start"): said(days_left(one.days_to_no_start)),
        }
        for one in (*acting, *soon)
    ]
    if not rows:
        st.markdown(say("Nobody has to act within a week."))
        return
    draw_table(pd.DataFrame(rows), named_by=say("vehicle"))


def _section(
    title: str,
    vehicles: Sequence[VehicleForecast],
    words: Callable[[VehicleForecast], str],
    *,
    empty: str,
) -> None:
    if not vehicles and not empty:
        return
    st.subheader(title, anchor=False)
    lines = [f"- **{plain(one.id)}**: {plain(words(one))}" for one in vehicles[:_SHOWN]]
    if len(vehicles) > _SHOWN:
        more = say("and {number} more: all are in the list to save", number=len(vehicles) - _SHOWN)
        lines.append(f"- {more}")
    st.markdown("\n".join(lines) or empty)


def _extra(vehicle: VehicleForecast, question: Question) -> str:
    extra = vehicle.extra_drain
    words = f"{said(extra_words(vehicle, zone_of(question.zone)))}."
    return (
        f"{words} {say('Measure next: {what}.', what=extra.tells_next)}"
        if extra.tells_next
        else words
    )


def _vehicle(
    question: Question, answered: Answered, first: Sequence[VehicleForecast], today: dt.date
) -> None:
    """Draw one vehicle: nights, risk, what was learned, stands, what was set aside."""
    st.subheader(say("One vehicle"), anchor=False)
    urgent = list(dict.fromkeys(one.id for one in first))
    names = [*urgent, *(one.id for one in answered.morning.vehicles if one.id not in urgent)]
    name = st.selectbox(
        say("Vehicle"), names, **forms.bound(FORM, "vehicle", names[0], among=names)
    )
    found = one_of(question.key, name, question)
    zone = zone_of(question.zone)
    since = moment(found.parked_since_s, zone)
    told = [say(found.status)] if found.status != PARKED or not since else []
    told += [say("parked since {since}", since=since)] if since else []
    told += [said(act_words(found))] if found.chance_by_day else []
    st.markdown(plain(sentence(f"{'; '.join(told)}.")))
    if found.reason:
        st.caption(plain(found.reason))
    if found.nights is not None:
        words = f"{say(NIGHTS_TITLE)}: {nights_words(found.nights)}."
        draw_chart(nights_figure(found.nights, palette()), key="readings_nights", alt=words)
    if found.chance_by_day:
        chart = chance_figure(found, palette(), today=today, risk=DEFAULT_RISK)
        draw_chart(chart, key="readings_risk", alt=chance_alt(found))
        _learned(found)
    with st.expander(say("Stands and what was set aside"), key="readings_stands"):
        stands = [
            say("{begin} to {end}", begin=moment(begin, zone), end=moment(end, zone))
            for begin, end in found.stands[-20:]
        ]
        _bullets(say("Stood"), stands, say("no stand was found"))
        aside = [
            f"{plain(part.reason)}: {say_many('{number} reading', '{number} readings', part.rows)}"
            for part in found.set_aside
        ]
        _bullets(say("Set aside"), aside, say("nothing"))


def _bullets(title: str, lines: Sequence[str], empty: str) -> None:
    st.markdown(f"{title}\n\n" + ("\n".join(f"- {line}" for line in lines) or empty))


def _learned(found: VehicleForecast) -> None:
    """Draw charge, drain and days before and after the readings."""
    before = found.before
    rows = {
        say("charge"): (range_percent(before["charge"]), range_percent(found.charge)),
        say("drain"): (range_ma(before["drain_a"]), range_ma(found.drain_a)),
        say("no-start"): (days_left(before["days_to_no_start"]), days_left(found.days_to_no_start)),
    }
    st.caption(say("What the readings taught"))
    frame = pd.DataFrame(
        {name: map(said, both) for name, both in rows.items()},
        index=[say("if parked now, without readings"), say("with them")],
    )
    st.table(frame.T.map(glued))


def _save(answered: Answered, question: Question) -> None:
    zone, found, readings = zone_of(question.zone), answered.morning, answered.readings
    with st.container(horizontal=True):
        for label, stem, heading, rows in (
            (say("Morning list"), "morning", MORNING_HEADING, morning_rows(found, zone)),
            (say("All vehicles"), "vehicles", VEHICLE_HEADING, vehicle_rows(found, zone)),
            (say("Set aside"), "set_aside", ASIDE_HEADING, aside_rows(found, readings, zone)),
        ):
            name, content = table_file(
                stem, heading, rows, delimiter=readings.delimiter, decimal=readings.decimal
            )
            st.download_button(
                f"{label} ({name.rpartition('.')[2].upper()})",
                content,
                file_name=name,
                key=f"readings_save_{stem}",
                on_click="ignore",
            )


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
