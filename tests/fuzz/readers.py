"""Every reader of a file, word or address, with valid seeds and what must hold for any input."""

import base64
import contextlib
import datetime as dt
import functools
import io
import json
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from drainsim.answers.installer.current_log import current_log
from drainsim.dashboard.forms import packed, unpacked
from drainsim.dashboard.what_if.what_if import from_address, to_address
from drainsim.errors import DrainsimError
from drainsim.files.circuits import circuits_csv, circuits_from_bytes
from drainsim.files.current_log.reader import log_from_bytes
from drainsim.files.examples import example_text
from drainsim.files.fleet.cells.dates import readings_of_date
from drainsim.files.fleet.cells.numbers import CellError, written_number
from drainsim.files.fleet.columns import COLUMNS
from drainsim.files.fleet.headings import heading_match
from drainsim.files.fleet.saved import columns_from_text, columns_text, for_headings
from drainsim.files.fleet.table import table_from_bytes
from drainsim.files.profile import list_profiles, read_profile
from drainsim.files.readings.reader import readings_from_files
from drainsim.files.readings.state_file import state_from_bytes, state_text
from drainsim.files.weather import read_epw, read_hourly_csv
from drainsim.sheets.fleet.fleet_tables import to_correct_csv
from drainsim.sheets.fleet.fleet_understood import list_record, rests_on, understood_rows
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.code import CodedQuestion, decode_question, encode_question
from drainsim.vehicle.documents.complaint import complaint_from_dict
from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table
from drainsim.vehicle.documents.job_record import job_record_from_dict, parse_json
from drainsim.vehicle.documents.trips import read_trips
from drainsim.vehicle.keys.scenario import (
    Scenario,
    read_scenario,
    scenario_from_dict,
    scenario_from_text,
    settings_from_words,
)
from drainsim.vehicle.keys.schema import example_toml
from tests.fleet_build import workbook

LONGEST_SENTENCE = 900  # letters of a message: a screenful; a file's name may be part of it
TODAY = dt.date(2026, 12, 1)
_HOURS = [f"{dt.datetime(2026, 11, 1) + dt.timedelta(hours=h):%Y-%m-%d %H:%M}" for h in range(60)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """A reader; `wrap` packs a seed's plain content the way the reader wants it."""

    seeds: tuple[bytes, ...]
    read: Callable[[bytes], object]
    wrap: Callable[[bytes], bytes] = bytes


def outcome(reader: Reader, content: bytes) -> str:
    """Return "answer", what the reader tells beside it, or the sentence of the refusal.

    Anything else is raised.

    Raises
    ------
    AssertionError
        If a refusal is not one printable sentence.
    """
    try:
        answer = reader.read(content)
    except DrainsimError as error:
        sentence = str(error)
        assert sentence.isprintable(), f"not one printable line: {sentence[:300]!r}"
        assert 10 <= len(sentence) < LONGEST_SENTENCE, f"{len(sentence)} letters: {sentence[:300]}"
        return sentence
    return str(answer or "answer")


@functools.cache
def _place() -> Path:
    shared = Path("/dev/shm")
    return Path(tempfile.mkdtemp(prefix="drainsim-fuzz-", dir=shared if shared.is_dir() else None))


def _file(content: bytes, name: str) -> Path:
    path = _place() / name
    path.write_bytes(content)
    return path


def _answers(scenario: Scenario) -> None:
    """Resolve a scenario; what it writes must read back to the same values."""
    again = scenario_from_text(scenario.to_toml(), where="written back", folder=scenario.folder)
    assert again.tables == scenario.tables, "to_toml does not read back"
    resolve(scenario)


def _scenario(content: bytes) -> None:
    _answers(read_scenario(_file(content, "scenario.toml")))


def _words(content: bytes) -> None:
    words = content.decode("utf-8", errors="replace").split("\n")
    base = scenario_from_dict({"battery": {"capacity_ah": 60.0}, "unit": {"preset": "hourly"}})
    _answers(base.with_values(settings_from_words(words)))


def _profile(content: bytes) -> None:
    profile = read_profile(_file(content, "mine.toml"))
    for folder in (_place(),):
        tables = {"battery": {"profile": profile.key, "capacity_ah": 60.0}}
        resolve(scenario_from_dict(tables), profile_folders=[folder])


def _fleet(content: bytes) -> str:
    table = table_from_bytes(content, where="fleet.csv")
    settings = FleetSettings(today=TODAY)
    fleet = fleet_from_table(table, settings, where="fleet.csv")
    for problem in fleet.problems:
        assert 5 <= len(problem.sentence) < LONGEST_SENTENCE
        assert problem.sentence.isprintable(), f"not one printable line: {problem.sentence!r}"
    for vehicle in fleet.vehicles[:1]:
        resolve(vehicle.scenario)
    record = list_record(fleet)
    json.dumps(record, allow_nan=False)
    for sentence in (*rests_on(fleet), *(doubt["question"] for doubt in record["doubts"])):
        assert 5 <= len(sentence) < LONGEST_SENTENCE, f"{len(sentence)}: {sentence[:300]!r}"
    for one in fleet.table.not_vehicles:
        assert one.reason
        assert one.row >= 1
    # every row below the heading is answered, kept aside with a reason, or no vehicle
    rows = {number for number, _ in table.rows}
    assert rows == {v.row for v in fleet.vehicles} | {p.row for p in fleet.problems}
    for row in understood_rows(replace(fleet, vehicles=fleet.vehicles[:1]), settings):
        assert row[4] in {"cell", "derived", "default"}
    to_correct_csv(fleet, fleet.problems)
    return " ".join(problem.sentence for problem in fleet.problems)


def _columns(content: bytes) -> None:
    said = columns_from_text(content.decode("utf-8", "replace"), where="columns.json")
    again = columns_from_text(columns_text(said), where="written back")
    assert again == said, "columns_text does not read back"
    table = table_from_bytes(_ASKED.encode(), where="fleet.csv")
    here, _ = for_headings(said, table.headings)
    fleet_from_table(table, FleetSettings(today=TODAY), where="fleet.csv", chosen=here)


def _heading(content: bytes) -> str:
    """Read a text as a heading, as a cell of every kind of column and as a date."""
    text = " ".join(content.decode("utf-8", "replace").split())
    match = heading_match.__wrapped__(text)
    told = [match.note]
    for column in COLUMNS:
        try:
            if column.kind == "number":
                written_number(text, column)
            elif column.kind == "date":
                readings_of_date(text, year_alone=column.name == "battery_fitted")
        except CellError as error:
            told.append(str(error))
    assert all(len(sentence) < LONGEST_SENTENCE for sentence in told)
    return f"{match.column} {match.unit}"


def _circuits(content: bytes) -> None:
    circuits = circuits_from_bytes(content, where="circuits.csv")
    again = circuits_from_bytes(circuits_csv(circuits).encode(), where="written back")
    assert again == circuits, "circuits_csv does not read back"


def _readings(content: bytes) -> str:
    readings = readings_from_files([("VA-9.csv", content)], zone="Europe/Berlin")
    aside = [part for history in readings.histories for part in history.set_aside]
    used = sum(history.used for history in readings.histories)
    counted = used + sum(part.rows for part in aside) + sum(one.rows for one in readings.refused)
    assert counted == readings.rows, f"{counted} of {readings.rows} rows"
    for history in readings.histories:
        assert np.isfinite(history.time_s).all()
        assert (np.diff(history.time_s) > 0.0).all()
        assert not (np.abs(history.voltage_v) > 60.0).any()
    for sentence in (*readings.notes, *(one.reason for one in (*readings.refused, *aside))):
        assert 5 <= len(sentence) < LONGEST_SENTENCE, f"{len(sentence)}: {sentence[:300]!r}"
    return " ".join(sorted({part.reason for part in aside} | {r.reason for r in readings.refused}))


def _state(content: bytes) -> None:
    state = state_from_bytes(content, where="morning.json")
    again = state_from_bytes(state_text(state).encode(), where="written back")
    assert again == state, "state_text does not read back"


def _log(content: bytes) -> None:
    current_log(log_from_bytes(content, where="log.csv"))


def _text(content: bytes) -> str:
    return content.decode("utf-8", errors="surrogateescape")


def _job(content: bytes) -> None:
    record = job_record_from_dict(parse_json(_text(content), where="job.json"), where="job.json")
    written = record.to_json().encode().decode()
    again = job_record_from_dict(parse_json(written, where="again"), where="again")
    assert again.tables == record.tables, "to_json does not read back"
    if record.scenario:
        resolve(record.scenario)


def _complaint(content: bytes) -> None:
    document = parse_json(_text(content), where="complaint.json")
    complaint_from_dict(document, where="complaint.json").record.to_json().encode()


def _trips(content: bytes) -> None:
    base = scenario_from_dict({"battery": {"capacity_ah": 60.0}})
    for history in read_trips(_file(content, "trips.csv"))[:2]:
        resolve(history.applied_to(base))


def _hourly(content: bytes) -> None:
    air = read_hourly_csv(_file(content, "air.csv"))
    with contextlib.suppress(DrainsimError):  # a record that does not cover the date
        air.window_c(dt.datetime(2026, 11, 2, 7), 24, lead_h=20)
    air.window_c(air.first or dt.datetime(2026, 1, 1), 24)


def _epw(content: bytes) -> None:
    read_epw(_file(content, "air.epw")).window_c(dt.datetime(2026, 1, 1, 7), 24)


def _query(content: bytes) -> str:
    pairs = (part.partition("=") for part in content.decode("utf-8", "replace").split("&"))
    base, choices, told = from_address({name: value for name, _, value in pairs})
    for sentence in told:
        assert len(sentence) < LONGEST_SENTENCE, f"{len(sentence)} letters: {sentence[:300]}"
        assert sentence.isprintable(), f"not one printable line: {sentence[:300]!r}"
    again = from_address(to_address(base, choices))
    assert (again[0].tables, again[1]) == (base.tables, choices), "the address does not read back"
    return " ".join(told)


def _packed_base(content: bytes) -> bytes:
    return b"base=" + base64.urlsafe_b64encode(zlib.compress(content, 1)).rstrip(b"=")


def _entries(content: bytes) -> None:
    entries = unpacked(content.decode("utf-8", "replace"))
    if entries is not None:
        again = unpacked(packed(entries))
        assert again is None or again == entries, "the form's entries do not read back"


def _packed_entries(content: bytes) -> bytes:
    return base64.urlsafe_b64encode(zlib.compress(content, 1)).rstrip(b"=")


def _code(content: bytes) -> None:
    asked = decode_question(content.decode("utf-8", errors="replace"))
    again = decode_question(encode_question(asked))
    assert again.scenario.tables == asked.scenario.tables, "the code does not read back"


def _packed_code(content: bytes) -> bytes:
    from drainsim.vehicle.documents.code import _DICTIONARY

    packer = zlib.compressobj(1, zlib.DEFLATED, 15, 9, zlib.Z_DEFAULT_STRATEGY, _DICTIONARY)
    body = packer.compress(content) + packer.flush()
    return b"D1-" + base64.urlsafe_b64encode(body).rstrip(b"=")


@functools.cache
def _workbook_parts() -> dict[str, bytes]:
    rows = [
        ["Vehicle no", "Capacity (Ah)", "Quiescent current (mA)", "Parked since", "Depot"],
        ["VA-1", 60, 25.5, dt.date(2026, 11, 20), "north"],
        ["VA-2", "70,5", None, "20.11.2026", "=1+1"],
    ]
    with zipfile.ZipFile(io.BytesIO(workbook(rows))) as archive:
        return {part: archive.read(part) for part in archive.namelist()}


def _readings_sheet() -> bytes:
    """Return the XML of a sheet of readings."""
    rows = [
        ["Vehicle", "Time", "Voltage (V)"],
        ["VA-1", dt.datetime(2026, 11, 20, 10), 12.4],
        ["VA-2", "2026-11-20 11:00", "12,3 V"],
        ["VA-3", 46346.5, 12100],
    ]
    with zipfile.ZipFile(io.BytesIO(workbook(rows))) as archive:
        parts = archive.namelist()
        strings = archive.read("xl/sharedStrings.xml") if "xl/sharedStrings.xml" in parts else b""
        names = {_SHEET: archive.read(_SHEET), "xl/sharedStrings.xml": strings}
    whole = {**_workbook_parts(), **{name: body for name, body in names.items() if body}}
    return b"".join(_JOINT + name.encode() + b"-->" + body for name, body in whole.items())


_SHEET = "xl/worksheets/sheet1.xml"
_JOINT = b"\n<!--part:"


def _plain_workbook() -> bytes:
    """Return the parts of a workbook as one text, each under its name."""
    parts = _workbook_parts().items()
    return b"".join(_JOINT + name.encode() + b"-->" + content for name, content in parts)


def _zipped(content: bytes) -> bytes:
    """Return a workbook of the parts in a text, or of one sheet's XML with the usual parts."""
    if _JOINT not in content:
        parts = {**_workbook_parts(), _SHEET: content}.items()
        content = b"".join(_JOINT + name.encode() + b"-->" + body for name, body in parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for piece in content.split(_JOINT):
            name, _, body = piece.partition(b"-->")
            if name:
                label = name[:100].decode("utf-8", "replace").replace("\x00", "0")
                if label not in archive.namelist():
                    archive.writestr(label, body)
    return out.getvalue()


def _lines(text: str, first: int) -> bytes:
    return ("\n".join(text.splitlines()[:first]) + "\n").encode()


def _without_comments(text: str) -> bytes:
    kept = (line.split("  # ")[0] for line in text.splitlines() if not line.startswith("#"))
    return "\n".join(line for line in kept if line).encode()


_TOML = b"""format = 1
[battery]
profile = "agm"
capacity_ah = 60
resting_voltage_v = 12.5
age_years = 3
[unit]
preset = "hourly_with_ladder"
sleep_a = 0.004
[vehicle]
preset = "compact_petrol"
quiescent_a = 0.03
[site]
climate = "temperate"
parked_from = 2026-12-01
start_hour = 7
[run]
draws = 200
horizon_days = 60
"""
_WEEK = b"""[battery]
capacity_ah = 60
[vehicle]
engine_litres = 2.0
fuel = "diesel"
wake_ups = [{ every_h = 6, duration_s = 30.0, current_a = 1.5 }]
[solar]
panel_w = 10
latitude_deg = 52.0
[maintainer]
[pattern]
trips = [{ days = "Mon-Fri", start = "07:30", minutes = 20 }, { start = "17:05", minutes = 25 }]
weeks = 4
[site]
temperature_c = -5.5
[measured]
keys = "battery.capacity_ah"
"""
_TITLED = """Fuhrpark Nord;;;;;;
;;;;;;
Fahrzeug;Standort;Batterie;;;Ruhestrom;Abgestellt seit
;;Typ;Ah;A (EN);mA;
B-1;Mühlenhof;AGM;70;640;28,5;20.11.2026
B-2;Großmarkt;EFB 60Ah;1.050;540 A EN;1.250;2026-11-02
B-3;Großmarkt;nass;80;720;0;46340
Summe;;;210;;;
Stand: 25.11.2026;;;;;;
"""
_ASKED = """Vehicle\tSoC\tReport interval\tRuhestrom\tFuel\tParked since\tBattery fitted\tAge
A1\t85\t15\t2\tgas\t03/04/2026\t2021\t7
A2\t0.9\t4x/day\t3 mA\telectric\t26-11-25\t05/2024\t8
A3\t1\t00:30\t\tdiesel\t2 Nov 2026\t14.03.2025\t9
"""
_TRIPS = b"""vehicle,start,end
VA-1,2026-11-02 07:30,2026-11-02 07:50
VA-1,2026-11-03 17:00,2026-11-03 17:25
VA-2,2026-11-03 17:00,2026-11-03 17:25
"""
_TRIP_MINUTES = b"id;trip_start;minutes\nVA-1;2026-11-02T07:30+01:00;20,5\nVA-1;2026-11-09;5\n"
_QUESTION = b"# drainsim 0.1.0 days=90 risk=0.05 when=on_day date=2026-12-01\n"
_ELAPSED = b"t [s]\tI [A]\tU [V]\n" + b"".join(
    b"%d\t%s\t12.6\n" % (10 * n, b"3.1" if n < 20 else b"0.025") for n in range(90)
)
_READINGS = b"""vehicle,timestamp,voltage,ignition,air temperature,cranking minimum,voltmeter
VA-1,1790000000,12.45,0,4.5,,
VA-1,1790003600,14.1,on,,9.6,
VA-2,2026-09-21T10:00:00+02:00,12450,off,-3,,12.52
VA-2,2026-09-21T10:00:00Z,0,,,,
VA-2,2026-10-25 02:30,12.4,,,,
"""
_READINGS_WIDE = """Zeit;VA-1 Spannung (mV);VA-2;VA-2 Zündung
01.10.2026 10:00;12450;12,4;aus
01.10.2026 11:00;;12,3;ein
01.10.2026 12:00;12300;null;
""".encode("cp1252")
_READINGS_CLOCK = b"""Immatriculation: AA-1
Date\tHeure\tTension (V)
14/04/2026\t10:00\t12,45
15/04/2026\t10:00\t12,40 V
"""
_CIRCUITS = example_text("circuits.csv").encode()
_JOB = example_text("job_record.json").encode()


def _readers() -> dict[str, Reader]:
    hourly = "\n".join(f"{when},{n % 9 - 3.5}" for n, when in enumerate(_HOURS))
    row = "2026,1,1,{},0,?9?9,{},-1.0,85,99900,0,0,300\n"
    epw = "LOCATION,Invented,-,-,TMY,000000,52.4,13.1,1.0,81.0\n" + 7 * "HEADING,0\n"
    epw += "".join(row.format(n % 24 + 1, n % 9 - 3.5) for n in range(8760 // 60))
    base = example_text("invented_fleet.csv")
    coded = CodedQuestion(
        scenario=scenario_from_text(_TOML.decode(), where="seed"),
        days=30, risk=0.05, when="on_day", date=TODAY, version="0.1.0",
    )  # fmt: skip
    profiles = tuple(path.read_bytes() for path in list_profiles().values())
    query = b"age_years=4&capacity_ah=70&quiescent_ma=25.5&climate=temperate&unit=hourly"
    pair = b"system=24V&second_health_percent=60&fed_from=whole&maintainer=on&maintainer_h=8.5"
    topped = b"kind=electric&top_up=on&top_up_every_h=48&top_up_minutes=20&traction_percent=assumed"
    return {
        "scenario": Reader(seeds=(_TOML, _WEEK, _without_comments(example_toml())), read=_scenario),
        "set": Reader(
            seeds=(
                b"battery.age_years=4\nvehicle.fuel=diesel",
                b'site.parked_from=2027-01-10\nbattery.profile="agm"',
                b"vehicle.wake_ups=[{every_h=6, duration_s=30, current_a=1.5}]\n"
                b"measured.keys=battery.capacity_ah",
            ),
            read=_words,
        ),
        "profile": Reader(seeds=profiles, read=_profile),
        "fleet-csv": Reader(
            seeds=(
                _lines(base, 5),
                _lines(base, 9).replace(b";", b","),
                b"id,ah\na,60\n",
                _TITLED.encode(),
                _TITLED.encode("cp850", "replace"),
                _ASKED.encode(),
            ),
            read=_fleet,
        ),
        "fleet-columns": Reader(
            seeds=(
                columns_text({"Ruhestrom": "quiescent_a [mA, decimal comma]", "x": ""}).encode(),
                columns_text(
                    {"Gas": "fuel [gas: petrol]", "Am": "parked_since [day first]"}
                ).encode(),
            ),
            read=_columns,
        ),
        "fleet-heading": Reader(
            seeds=tuple(
                heading.encode()
                for heading in (
                    "Ruhestrom [mA]",
                    "Battery / Ah",
                    "mA quiescent current",
                    "Kältestart (A EN)",
                    "Date de pose (jj/mm/aaaa)",
                    "SoC %",
                    "V at rest",
                    "Batt. fitted",
                )
            ),
            read=_heading,
        ),
        "fleet-xlsx": Reader(
            seeds=(_workbook_parts()[_SHEET], _workbook_parts()[_SHEET], _plain_workbook()),
            read=_fleet,
            wrap=_zipped,
        ),
        "circuits": Reader(
            seeds=(_CIRCUITS, b"name;class;wire_awg;off_v\nA;always_hot;18;12,6\n"), read=_circuits
        ),
        "current-log": Reader(
            seeds=(
                _lines(example_text("current_log.csv"), 200),
                _ELAPSED,
                _ELAPSED.replace(b".", b",").replace(b"\t", b";"),
                b"clock,I\n" + b"".join(b"23:%02d:%02d,12 mA\n" % divmod(n, 60) for n in range(90)),
            ),
            read=_log,
        ),
        "readings": Reader(
            seeds=(
                _READINGS,
                _READINGS_WIDE,
                _READINGS_CLOCK,
                b"1790000000,12.4\n1790003600,12.5\n",
            ),
            read=_readings,
        ),
        "readings-xlsx": Reader(seeds=(_readings_sheet(),), read=_readings, wrap=_zipped),
        "forecast-state": Reader(
            seeds=(state_text({"now_s": 1.5, "vehicles": {"VA-1": {"time_s": "eJw="}}}).encode(),),
            read=_state,
        ),
        "job-record": Reader(seeds=(_JOB,), read=_job),
        "complaint": Reader(seeds=(example_text("complaint.json").encode(),), read=_complaint),
        "trips": Reader(seeds=(_TRIPS, _TRIP_MINUTES), read=_trips),
        "hourly-csv": Reader(
            seeds=(
                f"time,temperature_c\n{hourly}\n".encode(),
                b"temp_f\n" + b"31.5\n" * 60,
                f"datum;x;temp_c\n{hourly}".replace(",", ";0;").replace(".", ",").encode(),
            ),
            read=_hourly,
        ),
        "epw": Reader(seeds=(epw.encode(),), read=_epw),
        "address": Reader(
            seeds=(
                query,
                b"parked_from=2027-01-10&state_of_charge=85&vehicle=own&epw=1",
                pair + b"&solar=on&panel_w=20&temperature_c=-5&latitude_deg=52",
                topped,
            ),
            read=_query,
        ),
        "address-base": Reader(seeds=(_TOML, _WEEK), read=_query, wrap=_packed_base),
        "address-form": Reader(seeds=(_JOB, b'{"a": 1}'), read=_entries, wrap=_packed_entries),
        "code": Reader(
            seeds=(_QUESTION + _TOML, _QUESTION + coded.scenario.to_toml().encode()),
            read=_code,
            wrap=_packed_code,
        ),
    }


READERS = _readers()
