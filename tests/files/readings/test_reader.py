"""Histories are read as they come: shapes, clocks, units, and nothing lost on the way."""

import datetime as dt
import io
import math
from collections.abc import Callable
from functools import reduce
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
import pytest

from drainsim.answers.readings.state import joined
from drainsim.errors import DrainsimError, ReadingsError
from drainsim.files.readings import sheet
from drainsim.files.readings.history import (
    BEHIND_SWITCH,
    EMPTY,
    ZERO,
    History,
    Readings,
    joined_spans,
)
from drainsim.files.readings.reader import read_readings, readings_from_files
from drainsim.files.readings.times import DOUBLED, NOT_SET, SKIPPED, UNREADABLE
from drainsim.files.readings.words import heading_of

TEN = dt.datetime(2026, 11, 1, 10, tzinfo=dt.UTC).timestamp()
HOUR = 3600.0


def read(
    text: str, *, where: str = "VA-9.csv", zone: str | None = None, dates: str | None = None
) -> Readings:
    """Read a file's text."""
    return readings_from_files([(where, text.encode())], zone=zone, dates=dates)


def accounted(readings: Readings) -> int:
    """Return the rows that were used, set aside or refused."""
    used = sum(h.used for h in readings.histories)
    aside = sum(one.rows for h in readings.histories for one in h.set_aside)
    return used + aside + sum(one.rows for one in readings.refused)


def only(readings: Readings) -> History:
    """Return the one vehicle's history."""
    (history,) = readings.histories
    return history


def reasons(history: History) -> dict[str, int]:
    """Return reason → rows."""
    found: dict[str, int] = {}
    for one in history.set_aside:
        found[one.reason] = found.get(one.reason, 0) + one.rows
    return found


def workbook(sheets: dict[str, list[list[object]]]) -> bytes:
    """Return a workbook with rows on each sheet."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


A_ROW_A_READING = "vehicle,timestamp,voltage\nVA-9,{0},12.45\nVA-9,{1},12.40\n"


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (f"{TEN:.0f}", f"{TEN + HOUR:.0f}"),
        (f"{TEN * 1e3:.0f}", f"{(TEN + HOUR) * 1e3:.0f}"),
        (f"{TEN:.3f}", f"{TEN + HOUR:.3f}"),
        ("2026-11-01T10:00:00Z", "2026-11-01T12:00:00+01:00"),
        ("2026-11-01 10:00:00.000+0000", "2026-11-01T06:00-05:00"),
        ("2026-11-01 10:00 UTC", f"{TEN + HOUR:.0f}"),
    ],
)
def test_times_that_say_their_zone_need_none(first: str, second: str) -> None:
    """Counts since 1970 in seconds or milliseconds and ISO with offset mean one moment each."""
    history = only(read(A_ROW_A_READING.format(first, second)))
    assert history.time_s.tolist() == [TEN, TEN + HOUR]
    assert history.voltage_v.tolist() == [12.45, 12.40]


@pytest.mark.parametrize(
    "written",
    ["2026-11-01 11:00", "01.11.2026 11:00:00", "1.11.2026 11:00", "2026/11/01 11:00:00",
     "20261101110000", "46327.4583333", "01.11.26 11:00"],
)  # fmt: skip
def test_a_local_time_is_never_guessed(written: str) -> None:
    """Without a zone one sentence asks for it; with one the clock there is meant (+1 h)."""
    text = f"vehicle;time;voltage\nVA-9;{written};12,4\n"
    with pytest.raises(ReadingsError, match=r"do not say their time zone; say it with --zone"):
        read(text)
    assert only(read(text, zone="Europe/Berlin")).time_s.tolist() == [TEN]
    assert only(read(text, zone="UTC")).time_s.tolist() == [TEN + HOUR]


def test_a_heading_may_say_utc() -> None:
    """Then times without an offset need no zone, and a zone given does not move them."""
    text = "vehicle,time_utc,voltage\nVA-9,2026-11-01 10:00,12.4\n"
    for zone in (None, "America/New_York"):
        assert only(read(text, zone=zone)).time_s.tolist() == [TEN]


def test_a_heading_may_name_the_zone() -> None:
    """It says better than anybody which clock the times are of."""
    text = "vehicle,time (Europe/Berlin),voltage\nVA-9,2026-11-01 11:00,12.4\n"
    for zone in (None, "America/New_York"):
        assert only(read(text, zone=zone)).time_s.tolist() == [TEN]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Battery voltage, external", "voltage"), ("Voltage external (V)", "voltage"),
        ("Temperatura della batteria", "battery_temperature"),
        ("Min. voltage cranking", "cranking_minimum"),
        ("Internal battery voltage", "own_cell"), ("Zündung (0/1)", "ignition"),
        ("Server time", "received"), ("Registration No.", "vehicle"), ("Messzeitpunkt", "time"),
    ],
)  # fmt: skip
def test_headings_in_any_order(heading: str, column: str) -> None:
    """Shortened, with brackets, in another order: the words count."""
    assert [name for name, _ in heading_of(heading).columns][:1] == [column]


def test_the_doubled_hour_of_autumn_is_kept_aside() -> None:
    """02:30 on 25 October 2026 comes twice in Berlin; 02:30 on 29 March not at all."""
    # European summer time ends on the last Sunday of October, begins on the last of March.
    times = ["2026-10-25 01:30", "2026-10-25 02:30", "2026-10-25 03:30", "2026-03-29 02:30"]
    rows = "".join(f"VA-9,{time},12.4\n" for time in times)
    readings = read("vehicle,time,voltage\n" + rows, zone="Europe/Berlin")
    history = only(readings)
    assert np.diff(history.time_s).tolist() == [3 * HOUR]  # the clock shows two hours
    assert reasons(history) == {DOUBLED: 1, SKIPPED: 1}
    doubled = next(one for one in history.set_aside if one.reason == DOUBLED)
    there = dt.datetime(2026, 10, 25, 2, 30, tzinfo=ZoneInfo("Europe/Berlin"))
    assert doubled.start_s == there.timestamp()
    assert accounted(readings) == readings.rows == 4


def test_an_unknown_zone_is_one_sentence() -> None:
    """It names the nearest."""
    with pytest.raises(ReadingsError, match=r"--zone Europe/Berln: .*did you mean Europe/Berlin"):
        read(A_ROW_A_READING.format(1, 2), zone="Europe/Berln")


def test_day_or_month_first_is_asked_where_nothing_tells() -> None:
    """A day above 12 anywhere in the file tells, German headings tell, English ones do not."""
    rows = "VA-9,03/04/2026 10:00,12.4\nVA-9,04/04/2026 10:00,12.4\n"
    with pytest.raises(ReadingsError, match=r"day or month first\? say --dates day-first"):
        read("vehicle,time,voltage\n" + rows, zone="UTC")
    third_of_april = dt.datetime(2026, 4, 3, 10, tzinfo=dt.UTC).timestamp()
    fourth_of_march = dt.datetime(2026, 3, 4, 10, tzinfo=dt.UTC).timestamp()
    german = read("Fahrzeug,Zeitpunkt,Spannung\n" + rows, zone="UTC")
    assert only(german).time_s[0] == third_of_april
    told = read("vehicle,time,voltage\n" + rows, zone="UTC", dates="month-first")
    assert only(told).time_s[0] == fourth_of_march
    later = "".join(f"VA-9,04/{day}/2026 10:00,12.4\n" for day in range(10, 20))
    shown = read("vehicle,time,voltage\n" + rows + later, zone="UTC")
    assert only(shown).time_s[0] == fourth_of_march


HEADINGS = {
    "en": ("Vehicle ID", "Timestamp", "External voltage (V)", "Ignition", "Battery temperature"),
    "de": ("Kennzeichen", "Zeitstempel", "Bordspannung [V]", "Zündung", "Batterietemperatur"),
    "fr": ("Immatriculation", "Horodatage", "Tension batterie", "Contact", "Température batterie"),
    "es": ("Matrícula", "Fecha y hora", "Voltaje", "Contacto", "Temperatura batería"),
    "it": ("Targa", "Data e ora", "Tensione batteria", "Quadro", "Temperatura batteria"),
    "nl": ("Kenteken", "Tijdstip", "Accuspanning", "Contact", "Accutemperatuur"),
}


@pytest.mark.parametrize("language", HEADINGS)
def test_headings_of_six_languages(language: str) -> None:
    """The columns a depot's export has are known by the words it uses."""
    heading = ";".join(HEADINGS[language])
    text = f"{heading}\nVA-9;2026-11-01 10:00:00+00:00;12,45;1;4,5\n"
    history = only(read(text, where="x.csv"))
    assert history.vehicle_id == "VA-9"
    assert history.voltage_v.tolist() == [12.45]
    assert history.ignition.tolist() == [1.0]
    assert history.battery_temperature_c.tolist() == [4.5]


def test_every_column_that_is_measured() -> None:
    """Ignition in words, temperatures in °F, dips and a voltmeter beside the unit's voltage."""
    heading = "id,time,voltage,ignition,battery temperature (°F),air temperature,cranking minimum"
    text = (
        f"{heading},voltmeter\n"
        "VA-9,2026-11-01T10:00Z,12.4,off,50,4.5,,\n"
        "VA-9,2026-11-01T11:00Z,14.1,on,32,,9.6,\n"
        "VA-9,2026-11-01T12:00Z,,,,,,12.52\n"
    )
    history = only(read(text))
    assert history.ignition[:2].tolist() == [0.0, 1.0]
    assert history.battery_temperature_c[:2] == pytest.approx([10.0, 0.0])
    assert history.air_temperature_c[0] == 4.5
    assert history.cranking_minimum_v[1] == 9.6
    assert history.voltmeter_v[2] == 12.52
    assert math.isnan(history.voltage_v[2])


def test_one_column_a_vehicle() -> None:
    """Ids come from the headings, units and quantities beside them are taken off."""
    text = (
        "time;VA-1;VA-2 (mV);VA-3 ignition;VA-3 voltage\n"
        f"{TEN:.0f};12,4;12400;1;13,9\n{TEN + HOUR:.0f};12,3;;0;12,6\n"
        f"{TEN + 2 * HOUR:.0f};0;12300;;\n"
    )
    readings = read(text)
    by_id = {history.vehicle_id: history for history in readings.histories}
    assert list(by_id) == ["VA-1", "VA-2", "VA-3"]
    assert by_id["VA-1"].voltage_v.tolist() == [12.4, 12.3]
    assert reasons(by_id["VA-1"]) == {ZERO: 1}
    assert by_id["VA-2"].voltage_v.tolist() == [12.4, 12.3]  # an empty cell is no reading
    assert by_id["VA-3"].ignition.tolist() == [1.0, 0.0]
    assert accounted(readings) == readings.rows == 7


def test_one_file_a_vehicle_in_a_folder(tmp_path: Path) -> None:
    """The file's name, or a row above the headings, names the vehicle; months are joined."""
    (tmp_path / "2026-10").mkdir()
    (tmp_path / "2026-10" / "VA-1.csv").write_text(f"time,voltage\n{TEN - HOUR:.0f},12.5\n")
    (tmp_path / "VA-1.csv").write_text(f"time,voltage\n{TEN:.0f},12.4\n")
    (tmp_path / "export.csv").write_text(f"Vehicle: VA-2\n\ntime,value\n{TEN:.0f},12.3\n")
    (tmp_path / "notes.pdf").write_bytes(b"%PDF")
    (tmp_path / "broken.csv").write_text("nothing here\n")
    readings = read_readings([tmp_path])
    by_id = {history.vehicle_id: history.voltage_v.tolist() for history in readings.histories}
    assert by_id == {"VA-1": [12.5, 12.4], "VA-2": [12.3]}
    (refused,) = readings.refused
    assert refused.where.endswith("broken.csv")
    assert "headings" in refused.reason
    assert any("notes.pdf" in note for note in readings.notes)
    with pytest.raises(ReadingsError, match=r"broken\.csv"):
        read_readings([tmp_path / "broken.csv"])


def test_a_workbook_with_a_sheet_a_vehicle() -> None:
    """Sheets are called like the vehicles; a spreadsheet's clock times need the zone."""
    moment = dt.datetime(2026, 11, 1, 11, 0)
    content = workbook({
        "VA-1": [["time", "voltage"], [moment, 12.4]],
        "VA-2": [["Zeit", "Spannung (mV)"], [moment, 12300]],
        "Notes": [["printed by hand"]],
    })  # fmt: skip
    readings = readings_from_files([("w.xlsx", content)], zone="Europe/Berlin")
    assert [h.vehicle_id for h in readings.histories] == ["VA-1", "VA-2"]
    assert [h.time_s.tolist() for h in readings.histories] == [[TEN], [TEN]]
    assert [h.voltage_v.tolist() for h in readings.histories] == [[12.4], [12.3]]
    assert any("sheet Notes" in note for note in readings.notes)


def test_several_files_are_read_as_one() -> None:
    """A vehicle's months come in files of their own, in any order."""
    files = [
        ("b.csv", f"id,time,voltage\nA,{TEN + HOUR:.0f},12.3\n".encode()),
        ("a.csv", f"Fahrzeug;Zeitstempel;Spannung\nA;{TEN:.0f};12,4\n".encode()),
    ]
    readings = readings_from_files(files)
    assert only(readings).voltage_v.tolist() == [12.4, 12.3]
    assert readings.rows == 2


def test_a_row_without_a_voltage_is_kept_for_its_ignition() -> None:
    """It counts as set aside: a voltage was wanted and not measured."""
    text = f"id,time,voltage,ignition\nA,{TEN:.0f},0,on\nA,{TEN + HOUR:.0f},,off\n"
    readings = read(text)
    history = only(readings)
    assert history.ignition.tolist() == [1.0, 0.0]
    assert (history.used, reasons(history)) == (0, {ZERO: 1, EMPTY: 1})
    assert accounted(readings) == readings.rows == 2


@pytest.mark.parametrize("cell", ["", "null", "NULL", "n/a", "-", "nan"])
def test_null_is_not_measured(cell: str) -> None:
    """It is kept aside, not read as a voltage; nor is 0."""
    readings = read(f"id,time,voltage\nVA-9,{TEN:.0f},{cell}\nVA-9,{TEN + HOUR:.0f},0\n")
    history = only(readings)
    assert len(history.time_s) == 0
    assert sorted(reasons(history).values()) == [1, 1]
    assert accounted(readings) == 2


def test_volts_and_millivolts() -> None:
    """12,450 and 12.45 are one voltage whatever the heading says; no vehicle has 1,000 V."""
    for heading in ("voltage", "voltage (V)", "voltage_mv"):
        text = f"id,time,{heading}\nA,{TEN:.0f},12450\nA,{TEN + HOUR:.0f},12400\n"
        readings = read(text)
        assert only(readings).voltage_v.tolist() == [12.45, 12.4]
        assert any("taken as mV" in n for n in readings.notes) == (heading != "voltage_mv")
    mixed = read(f"id,time,voltage\nA,{TEN:.0f},12.45 V\nA,{TEN + HOUR:.0f},12400 mV\n")
    assert only(mixed).voltage_v.tolist() == [12.45, 12.4]


@pytest.mark.parametrize("cell", ["65535", "-1", "99.9", "0.3", "1e9", "inf"])
def test_what_is_no_vehicle_s_voltage_is_kept_aside(cell: str) -> None:
    """Marks of a unit that measured nothing."""
    readings = read(f"id,time,voltage\nA,{TEN:.0f},{cell}\nA,{TEN + HOUR:.0f},12.4\n")
    assert only(readings).voltage_v.tolist() == [12.4]
    assert accounted(readings) == readings.rows == 2


def test_late_batches_and_doubles() -> None:
    """Rows are sorted by measured time; what is sent again is kept aside, the first counts."""
    times = [2, 0, 1, 1, 2, 3]
    volts = [12.2, 12.0, 12.1, 12.1, 12.9, 12.3]
    rows = "".join(
        f"A,{TEN + HOUR * t:.0f},{v},{TEN + 9 * HOUR:.0f}\n"
        for t, v in zip(times, volts, strict=True)
    )
    readings = read("id,time,voltage,received at\n" + rows)
    history = only(readings)
    assert history.voltage_v.tolist() == [12.0, 12.1, 12.2, 12.3]
    assert (np.diff(history.time_s) == HOUR).all()
    assert sum(reasons(history).values()) == 2
    assert accounted(readings) == readings.rows == 6


def test_events_of_one_moment_are_joined() -> None:
    """A row that only has the ignition completes the one of the same time."""
    text = f"id,time,voltage,ignition\nA,{TEN:.0f},12.4,\nA,{TEN:.0f},,off\n"
    history = only(read(text))
    assert (history.voltage_v.tolist(), history.ignition.tolist()) == ([12.4], [0.0])


def test_a_clock_that_was_not_set() -> None:
    """Times of 1970 and 2000 are those of a unit just switched on; no time is no time."""
    times = ["1970-01-01T00:01Z", "2000-01-01T03:00Z", "61", "soon", "", f"{TEN:.0f}"]
    readings = read("id,time,voltage\n" + "".join(f"A,{time},12.4\n" for time in times))
    history = only(readings)
    assert history.time_s.tolist() == [TEN]
    assert reasons(history) == {NOT_SET: 3, UNREADABLE: 2}
    assert accounted(readings) == readings.rows == 6


def test_a_unit_behind_the_switch_is_named() -> None:
    """0 V whenever the ignition is off; zeros now and then are not that."""
    behind = "".join(
        f"A,{TEN + n * HOUR:.0f},{13.9 if n % 3 else 0},{int(n % 3 > 0)}\n" for n in range(60)
    )
    history = only(read("id,time,voltage,ignition\n" + behind))
    assert reasons(history) == {BEHIND_SWITCH: 20}
    assert len(history.time_s) == 60  # the ignition of all counts
    alone = "".join(f"A,{TEN + n * HOUR:.0f},{13.9 if n % 3 else 0}\n" for n in range(60))
    assert reasons(only(read("id,time,voltage\n" + alone))) == {BEHIND_SWITCH: 20}
    parked = "".join(f"A,{TEN + n * HOUR:.0f},{12.4 if n % 3 else 0}\n" for n in range(60))
    assert reasons(only(read("id,time,voltage\n" + parked))) == {ZERO: 20}


@pytest.mark.parametrize("ignition", [True, False])
def test_a_unit_behind_the_switch_is_named_however_it_is_read(ignition: bool) -> None:
    """Ten hours at a time, with fewer zeros in each than show it, and an hour read twice."""
    heading = "id,time,voltage" + (",ignition" if ignition else "") + "\n"
    rows = [
        f"A,{TEN + n * HOUR:.0f},{13.9 if n % 3 else 0}{f',{int(n % 3 > 0)}' if ignition else ''}\n"
        for n in range(60)
    ]
    parts = [only(read(heading + "".join(rows[n : n + 11]))) for n in range(0, 60, 10)]
    assert BEHIND_SWITCH not in reasons(parts[0])
    whole, found = only(read(heading + "".join(rows))), reduce(joined, parts)
    assert found.set_aside == whole.set_aside
    assert found.time_s.tolist() == whole.time_s.tolist()


@pytest.mark.parametrize("step", [0.1, 0.01, 0.0125, 0.05, 0.001])
def test_the_step_is_found_from_the_data(step: float) -> None:
    """Whatever the unit rounds to, and however the file prints it."""
    rng = np.random.default_rng(3)
    values = np.round((12.4 + 0.3 * rng.standard_normal(4000)) / step) * step
    rows = "".join(f"A,{TEN + n * 60:.0f},{v:.4f}\n" for n, v in enumerate(values))
    assert only(read("id,time,voltage\n" + rows)).step_v == pytest.approx(step)


def test_a_few_readings_show_the_last_decimal() -> None:
    """Two voltmeter readings do not say that their difference is the step."""
    text = f"id,time,voltage\nA,{TEN:.0f},12.62\nA,{TEN + HOUR:.0f},12.42\n"
    assert only(read(text)).step_v == 0.01


def test_rows_of_no_vehicle_are_refused_with_their_place() -> None:
    """An empty id, too many cells, headings again: which row, how many, why."""
    text = (
        f"id,time,voltage\nA,{TEN:.0f},12.4\n,{TEN:.0f},12.4\nid,time,voltage\n"
        f"A,{TEN + HOUR:.0f},12.3,7,8\n\nA,{TEN + 2 * HOUR:.0f},12.2\n"
    )
    readings = read(text)
    assert only(readings).voltage_v.tolist() == [12.4, 12.2]
    assert {(one.row, one.rows) for one in readings.refused} == {(3, 1), (4, 1), (5, 1)}
    assert accounted(readings) == readings.rows == 5


def test_cells_beyond_the_headings_are_not_dropped_in_silence() -> None:
    """Also where the first row has them, which sets the width for a quick reader."""
    rows = [f"A,{TEN + n * HOUR:.0f},12.{n},,9\n" for n in range(2)]
    rows += [f"A,{TEN + n * HOUR:.0f},12.{n}\n" for n in range(2, 6)]
    readings = read("id,time,voltage\n" + "".join(rows))
    assert only(readings).voltage_v.tolist() == [12.2, 12.3, 12.4, 12.5]
    assert sum(one.rows for one in readings.refused) == 2


def test_a_stray_quotation_mark_swallows_no_rows() -> None:
    """Every line is then read on its own."""
    first, second, third = (f"A,{TEN + n * HOUR:.0f},{12.4 - 0.1 * n}\n" for n in range(3))
    text = f'id,time,voltage\n{first}"{second}{third}'
    assert only(read(text)).voltage_v.tolist() == [12.4, 12.3, 12.2]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "empty"),
        ("\n\n\n", "empty"),
        ("a,b\n1,2\n", "headings"),
        ("id,time,colour\nA,1790000000,red\n", "no column of voltages"),
        ("time,voltage\n2026-11-01T10:00Z,12,4\n2026-11-01T11:00Z,12,5\n", "semicolons"),
        ("PK\x03\x04 not a workbook", "workbook"),
    ],
)
def test_what_is_no_history_is_one_sentence(text: str, sentence: str) -> None:
    """It names the file and what would be right."""
    with pytest.raises(DrainsimError, match=sentence) as caught:
        read(text, where="f.csv")
    assert str(caught.value).startswith("f.csv")


def test_two_columns_without_headings_are_time_and_voltage() -> None:
    """And it is said that they were taken so."""
    readings = read(f"{TEN:.0f},12.4\n{TEN + HOUR:.0f},12.3\n")
    assert only(readings).vehicle_id == "VA-9"
    assert only(readings).voltage_v.tolist() == [12.4, 12.3]
    assert any("no headings" in note for note in readings.notes)


@pytest.mark.parametrize("again", [0, 5], ids=["new rows only", "some rows twice"])
def test_spans_read_in_two_goes_are_those_of_one(again: int) -> None:
    """So a morning with a state tells what a run from the beginning tells."""
    rows = [f"A,{TEN + n * 5 * HOUR:.0f},{'0' if n % 7 else '12.4'}\n" for n in range(60)]
    head = "id,time,voltage\n"
    first, second = (only(read(head + "".join(part))) for part in (rows[:31], rows[31 - again :]))
    whole = only(read(head + "".join(rows)))
    spans = joined_spans([*first.set_aside, *second.set_aside])
    assert [(one.start_s, one.end_s) for one in spans] == [
        (one.start_s, one.end_s) for one in whole.set_aside
    ]
    if not again:
        assert spans == whole.set_aside


def test_rows_refused_before_a_stray_mark_are_counted_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A file that is begun quickly and then read line by line is not read twice."""
    monkeypatch.setattr(sheet, "_CHUNK_CELLS", 1)
    rows = [f"{'' if n == 5 else 'A'},{TEN + n * HOUR:.0f},12.4\n" for n in range(2_500)]
    rows[2_000] = '"' + rows[2_000]
    readings = read("id,time,voltage\n" + "".join(rows))
    assert [(one.row, one.rows) for one in readings.refused] == [(7, 1)]
    assert len(only(readings).time_s) == 2_499
    assert readings.rows == 2_500


def _shuffled(rng: np.random.Generator) -> str:
    odd = ["", "null", "0", "12.4", "12400", "x", "65535", "13.9 V"]
    times = ["1970-01-01T00:00Z", "soon", "", *(f"{TEN + HOUR * n:.0f}" for n in range(9))]
    names = ["A", "B", "", "C"]
    rows = [
        f"{rng.choice(names)},{rng.choice(times)},{rng.choice(odd)},{rng.choice(['', '1', 'off'])}"
        for _ in range(200)
    ]
    return "id,time,voltage,ignition\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("change", [str, str.upper, lambda text: text.replace(",", ";")])
def test_rows_read_are_used_set_aside_or_refused(seed: int, change: Callable[[str], str]) -> None:
    """Whatever the mixture, the counts add up to the rows of the file, however it is ordered."""
    text = change(_shuffled(np.random.default_rng(seed)))
    readings = read(text)
    assert accounted(readings) == readings.rows == 200
    for history in readings.histories:
        assert (np.diff(history.time_s) > 0.0).all()
