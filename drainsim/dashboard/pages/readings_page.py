"""Page: what do the vehicles' own voltage readings say this morning?"""

import dataclasses
import datetime as dt
import io
import zipfile
from collections.abc import Callable, Sequence
from typing import Final
from zoneinfo import available_timezones

import pandas as pd
import streamlit as st

from drainsim.answers.readings.morning import DRAWS, forecast_one, morning
from drainsim.answers.readings.results import PARKED, Morning, VehicleForecast
from drainsim.answers.readings.vehicle_case import Setting
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.words import short_date
from drainsim.dashboard import forms, safety, visit
from drainsim.dashboard.chart import draw_chart, palette
from drainsim.dashboard.fleet.fleet_answers import digest
from drainsim.dashboard.plain_text import glued, plain, said, sentence
from drainsim.dashboard.words_table import draw_table
from drainsim.errors import DrainsimError
from drainsim.figures.readings import (
    NIGHTS_TITLE,
    chance_alt,
    chance_figure,
    nights_figure,
    nights_words,
)
from drainsim.files.fleet.table import table_from_bytes
from drainsim.files.readings.example import EXAMPLE_LIST, EXAMPLE_READINGS
from drainsim.files.readings.history import Readings, last_reading_s
from drainsim.files.readings.reader import DATE_ORDERS, readings_from_files
from drainsim.language import marked, say, say_many
from drainsim.sheets.list_file import table_file
from drainsim.sheets.morning_list import (
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
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, fleet_from_table

_FORM: Final = "readings"
_LARGEST_MB: Final = 50
_LOUD: Final = ("Not read", "In the list, kept aside")
_SHOWN: Final = 25  # vehicles or rows told one by one
_SETTINGS: Final = marked("Vehicle list, time zone, dates")
_NO_ZONE: Final = marked("times say their zone")
_NO_ORDER: Final = marked("as the file tells")

Files = tuple[tuple[str, bytes], ...]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _Question:
    """Everything a morning depends on."""

    files: Files
    listed: Files
    zone: str | None
    dates: str | None

    @property
    def key(self) -> str:
        """What names it: contents by their digests."""
        parts = [(name, digest(content)) for name, content in (*self.files, *self.listed)]
        return repr((parts, self.zone, self.dates))


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _Answered:
    readings: Readings
    fleet: Fleet | None
    morning: Morning


def _source() -> tuple[_Question, bool]:
    """Draw what is asked for; return it, and whether the example answers."""
    _uploader(
        "files",
        say("Voltage readings (CSV or XLSX: one row a reading, one column or one file a vehicle)"),
    )
    kept = _kept("files")
    with st.expander(say(_SETTINGS), key="readings_settings"):
        _uploader(
            "list",
            say(
                "List of the same vehicles (CSV or XLSX); without it each is taken as the usual car"
            ),
        )
        zones = [_NO_ZONE, *sorted(available_timezones())]
        orders = [_NO_ORDER, *DATE_ORDERS]
        zone = st.selectbox(
            say("Time zone of times that do not say theirs"),
            zones,
            format_func=lambda one: say(one) if one == _NO_ZONE else one,
            **forms.bound(_FORM, "zone", _NO_ZONE, among=zones),
        )
        order = st.selectbox(
            say("Dates like 03/04/2026"),
            orders,
            format_func=say,
            **forms.bound(_FORM, "dates", _NO_ORDER, among=orders),
        )
    if not kept:
        example = tuple((path.name, path.read_bytes()) for path in (EXAMPLE_READINGS, EXAMPLE_LIST))
        return _Question(files=example[:1], listed=example[1:], zone=None, dates=None), True
    st.button(say("Back to the invented readings"), key="readings_example", on_click=_back)
    return (
        _Question(
            files=kept,
            listed=_kept("list"),
            zone=None if zone == _NO_ZONE else zone,
            dates=None if order == _NO_ORDER else order,
        ),
        False,
    )


def _uploader(place: str, label: str) -> None:
    st.file_uploader(
        label,
        type=["csv", "xlsx", "txt", "tsv"],
        accept_multiple_files=place == "files",
        key=f"readings_{place}",
        on_change=_take,
        args=(place,),
        max_upload_size=_LARGEST_MB,
    )


def _take(place: str) -> None:
    """Keep what was uploaded for the visit; several files as one."""
    found = st.session_state.get(f"readings_{place}")
    files = found if isinstance(found, list) else [found] if found is not None else []
    if not files:
        return
    pack = io.BytesIO()
    with zipfile.ZipFile(pack, "w") as archive:
        for number, file in enumerate(files):
            archive.writestr(f"{number}/{file.name.rpartition('/')[2][:80]}", file.getvalue())
    forms.entries(_FORM)[place] = visit.keep_file(pack.getvalue(), place)
    forms.entries(_FORM).pop("vehicle", None)


def _kept(place: str) -> Files:
    """Return the files that were uploaded; none, said so, where the visit holds them no longer."""
    key = forms.entries(_FORM).get(place)
    kept = visit.kept_file(key)
    if kept is None:
        if key:
            st.warning(say(visit.GONE))
        return ()
    with zipfile.ZipFile(io.BytesIO(kept[0])) as archive:
        return tuple(
            ("".join(c for c in name.partition("/")[2] if c.isprintable()), archive.read(name))
            for name in archive.namelist()
        )


def _back() -> None:
    forms.replace_entries(_FORM, {})


@st.cache_resource(max_entries=4, show_spinner=False)
def _answered(key: str, _question: _Question) -> _Answered:
    del key  # says everything the answer depends on
    readings = readings_from_files(_question.files, zone=_question.zone, dates=_question.dates)
    fleet = None
    for name, content in _question.listed:
        last_s = last_reading_s(readings.histories) or 0.0
        today = local_day(last_s, zone_of(_question.zone))
        table = table_from_bytes(content, where=name)
        fleet = fleet_from_table(table, FleetSettings(today=today), where=name)
    told = {one.id: one.scenario for one in fleet.vehicles} if fleet else None
    found = morning(readings.histories, told, zone=_question.zone)
    return _Answered(readings=readings, fleet=fleet, morning=found)


@st.cache_resource(max_entries=50, show_spinner=False)
def _one(key: str, vehicle: str, _question: _Question) -> VehicleForecast:
    """Return one vehicle's forecast with what was known before its readings."""
    answered = _answered(key, _question)
    fleet = answered.fleet
    told = {one.id: one.scenario for one in fleet.vehicles} if fleet else {}
    history = next(one for one in answered.readings.histories if one.vehicle_id == vehicle)
    listed = next(one for one in answered.morning.vehicles if one.id == vehicle)
    setting = Setting(
        now_s=answered.morning.now_s, draws=DRAWS, risk=DEFAULT_RISK, zone=_question.zone
    )
    found = forecast_one(history, told.get(vehicle), setting=setting)
    return dataclasses.replace(listed, before=found.before)


def _page() -> None:
    st.header(say("What do the vehicles' own readings say this morning?"), anchor=False)
    place = st.container()
    question, example = _source()
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
                answered = _answered(question.key, question)
        except DrainsimError as error:
            here = say(
                "On this page, {settings} has what --zone and --dates say.", settings=say(_SETTINGS)
            )
            st.error(plain(f"{error}. {here}" if " --" in str(error) else f"{error}."))
            return
        _show(question, answered)
        st.subheader(say("Your readings"), anchor=False)
    safety.defers()


def _show(question: _Question, answered: _Answered) -> None:
    found, zone = answered.morning, zone_of(question.zone)
    today = local_day(found.now_s, zone)
    acting, soon, drains = act_today(found, today), act_soon(found, today), draining(found)
    fresh = [one for one in drains if is_new(one, found)]
    st.markdown(
        say(
            "### Act today on {acting} of {vehicles} vehicles; an abnormal drain began in {fresh} "
            "of "
            "them.",
            acting=len(acting),
            vehicles=len(found.vehicles),
            fresh=len(fresh),
        )
    )
    st.caption(
        say("As of {now} {zone}. Risk limit 5 %.", now=moment(found.now_s, zone), zone=zone.key)
    )
    _told(answered)
    _list(acting, soon, today)
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


def _told(answered: _Answered) -> None:
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


def _extra(vehicle: VehicleForecast, question: _Question) -> str:
    extra = vehicle.extra_drain
    words = f"{said(extra_words(vehicle, zone_of(question.zone)))}."
    return (
        f"{words} {say('Measure next: {what}.', what=extra.tells_next)}"
        if extra.tells_next
        else words
    )


def _vehicle(
    question: _Question, answered: _Answered, first: Sequence[VehicleForecast], today: dt.date
) -> None:
    """Draw one vehicle: nights, risk, what was learned, stands, what was set aside."""
    st.subheader(say("One vehicle"), anchor=False)
    urgent = list(dict.fromkeys(one.id for one in first))
    names = [*urgent, *(one.id for one in answered.morning.vehicles if one.id not in urgent)]
    name = st.selectbox(
        say("Vehicle"), names, **forms.bound(_FORM, "vehicle", names[0], among=names)
    )
    found = _one(question.key, name, question)
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


def _save(answered: _Answered, question: _Question) -> None:
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
