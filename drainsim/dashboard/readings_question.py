"""What the readings' page is asked, the files it is asked of, and the answers it keeps."""

import dataclasses
import io
import zipfile
from typing import Final
from zoneinfo import available_timezones

import streamlit as st

from drainsim.answers.readings.morning import DRAWS, forecast_one, morning
from drainsim.answers.readings.results import Morning, VehicleForecast
from drainsim.answers.readings.vehicle_case import Setting
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.dashboard import forms, visit
from drainsim.dashboard.fleet.fleet_answers import digest
from drainsim.dashboard.visitor_quota import LARGEST_MB
from drainsim.files.fleet.table import table_from_bytes
from drainsim.files.readings.example import EXAMPLE_LIST, EXAMPLE_READINGS
from drainsim.files.readings.history import Readings, last_reading_s
from drainsim.files.readings.reader import DATE_ORDERS, readings_from_files
from drainsim.language import marked, say
from drainsim.sheets.fleet.morning_list import (
    local_day,
    zone_of,
)
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, fleet_from_table

FORM: Final = "readings"
SETTINGS: Final = marked("Vehicle list, time zone, dates")
_NO_ZONE: Final = marked("times say their zone")
_NO_ORDER: Final = marked("as the file tells")

Files = tuple[tuple[str, bytes], ...]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Question:
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
class Answered:
    """A morning, and what it was read from."""

    readings: Readings
    fleet: Fleet | None
    morning: Morning


def source() -> tuple[Question, bool]:
    """Draw what is asked for; return it, and whether the example answers."""
    _uploader(
        "files",
        say("Voltage readings (CSV or XLSX: one row a reading, one column or one file a vehicle)"),
    )
    kept = _kept("files")
    with st.expander(say(SETTINGS), key="readings_settings"):
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
            **forms.bound(FORM, "zone", _NO_ZONE, among=zones),
        )
        order = st.selectbox(
            say("Dates like 03/04/2026"),
            orders,
            format_func=say,
            **forms.bound(FORM, "dates", _NO_ORDER, among=orders),
        )
    if not kept:
        example = tuple((path.name, path.read_bytes()) for path in (EXAMPLE_READINGS, EXAMPLE_LIST))
        return Question(files=example[:1], listed=example[1:], zone=None, dates=None), True
    st.button(say("Back to the invented readings"), key="readings_example", on_click=_back)
    return (
        Question(
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
        max_upload_size=LARGEST_MB,
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
    forms.entries(FORM)[place] = visit.keep_file(pack.getvalue(), place)
    forms.entries(FORM).pop("vehicle", None)


def _kept(place: str) -> Files:
    """Return the files that were uploaded; none, said so, where the visit holds them no longer."""
    key = forms.entries(FORM).get(place)
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
    forms.replace_entries(FORM, {})


@st.cache_resource(max_entries=4, show_spinner=False)
def answered_of(key: str, _question: Question) -> Answered:
    """Return the answer to a question, worked out once for all who ask it."""
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
    return Answered(readings=readings, fleet=fleet, morning=found)


@st.cache_resource(max_entries=50, show_spinner=False)
def one_of(key: str, vehicle: str, _question: Question) -> VehicleForecast:
    """Return one vehicle's forecast with what was known before its readings."""
    answered = answered_of(key, _question)
    fleet = answered.fleet
    told = {one.id: one.scenario for one in fleet.vehicles} if fleet else {}
    history = next(one for one in answered.readings.histories if one.vehicle_id == vehicle)
    listed = next(one for one in answered.morning.vehicles if one.id == vehicle)
    setting = Setting(
        now_s=answered.morning.now_s, draws=DRAWS, risk=DEFAULT_RISK, zone=_question.zone
    )
    found = forecast_one(history, told.get(vehicle), setting=setting)
    return dataclasses.replace(listed, before=found.before)
