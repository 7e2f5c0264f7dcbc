"""Files as people keep them: encodings, separators, quotation marks, workbooks."""

import datetime as dt
import io
import zipfile
from pathlib import Path

import openpyxl
import pytest

from drainsim.errors import FleetError
from drainsim.files.fleet import table as tables
from drainsim.files.fleet.table import MAX_BYTES, read_table, table_from_bytes
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.unit import UNIT
from tests.fleet_build import fleet_of, tables_of, workbook

UMLAUT = "id;depot;engine_litres\nZug 1;Münster – Süd;1,6\n"


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le-mark", "utf-16-be-mark"]
)
def test_encodings(encoding: str) -> None:
    """Letters beyond ASCII arrive whole, whatever program saved the list."""
    if encoding.endswith("-mark"):
        raw = ("\ufeff" + UMLAUT).encode(encoding.removesuffix("-mark"))
    else:
        raw = UMLAUT.encode(encoding)
    assert fleet_of(raw).vehicles[0].depot == "Münster – Süd"


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(delimiter: str, end: str) -> None:
    """Any usual separator and line end gives the same table."""
    text = end.join(["id,depot,engine_litres", "a,north,1.6", "", " , , ", "b,south,2.0", ""])
    fleet = fleet_of(text.replace(",", delimiter))
    assert [(v.id, v.depot) for v in fleet.vehicles] == [("a", "north"), ("b", "south")]
    assert [v.row for v in fleet.vehicles] == [2, 5]  # as the file counts, empty lines included


def test_the_separator_line_of_a_spreadsheet_is_passed_over() -> None:
    """A line "sep=;" before the headings is no heading."""
    fleet = fleet_of("sep=;\nid;depot\na;north, upper yard\n")
    assert [(v.id, v.depot, v.row) for v in fleet.vehicles] == [("a", "north, upper yard", 3)]


def test_quoted_cells_may_hold_separators_and_lines() -> None:
    """Quotation marks work as usual."""
    fleet = fleet_of('id,depot\n"a","north, ""old"" yard"\n"b","two\nlines"\n')
    assert [v.depot for v in fleet.vehicles] == ['north, "old" yard', "two lines"]


@pytest.mark.parametrize("stray", ['"b;north;60', 'b;"north;60', 'b;"no"rth;60'])
def test_a_stray_quotation_mark_swallows_no_rows(stray: str) -> None:
    """Every other line is still read as its own row."""
    fleet = fleet_of(f"id;depot;capacity_ah\na;x;60\n{stray}\nc;y;70\nd;z;80\n")
    rows = {vehicle.row for vehicle in fleet.vehicles} | {p.row for p in fleet.problems}
    assert rows == {2, 3, 4, 5}
    assert {"a", "c", "d"} <= {vehicle.id for vehicle in fleet.vehicles}


def test_cells_without_a_heading_are_a_shifted_row() -> None:
    """An unquoted decimal comma moves all cells after it: that row is not guessed at."""
    fleet = fleet_of("id,capacity_ah,engine_litres\na,60,1.6\nb,60,1,6\nc,60\nd,60,1.6,,\n")
    assert [v.id for v in fleet.vehicles] == ["a", "c", "d"]
    (problem,) = fleet.problems
    assert (problem.row, problem.sentence.split(";")[0]) == (3, "4 cells under 3 headings")


DATED = [
    ["id", "Parked since", "Capacity (Ah)", "Report interval (h)", "Needed on"],
    ["a", dt.datetime(2026, 11, 20, 8, 30), 60, 6.5, dt.date(2026, 12, 24)],
    [None, None, None, None, None],
    [4711, "20.11.2026", "70", None, "24.12.2026"],
]  # fmt: skip


def test_workbooks_with_real_dates_and_numbers() -> None:
    """Date cells, text dates, numbers and numeric ids all arrive."""
    fleet = fleet_of(workbook(DATED))
    assert fleet.problems == ()
    a, b = fleet.vehicles
    assert (a.id, b.id, a.row, b.row) == ("a", "4711", 2, 4)
    assert a.parked_from == b.parked_from == dt.date(2026, 11, 20)
    assert a.planned_return == b.planned_return == dt.date(2026, 12, 24)
    assert a.scenario.get(UNIT.report_interval_h) == 6.5
    assert b.scenario.get(BATTERY.capacity_ah) == 70.0


def _formula_book(stored: str) -> bytes:
    """Return a workbook whose capacity is a formula; openpyxl itself stores no values."""
    plain = workbook([["id", "capacity_ah"], ["a", "=30*2"], ["b", 70]])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(plain)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            if name.endswith("sheet1.xml"):
                assert b"<v></v>" in part or b"<v />" in part or b"<v/>" in part
                for empty in (b"<v></v>", b"<v />", b"<v/>"):
                    part = part.replace(empty, stored.encode())
            new.writestr(name, part)
    return out.getvalue()


def test_formulas_count_by_their_stored_value() -> None:
    """What the spreadsheet last showed is what is read."""
    fleet = fleet_of(_formula_book("<v>60</v>"))
    assert fleet.problems == ()
    assert fleet.vehicles[0].scenario.get(BATTERY.capacity_ah) == 60.0


def test_a_formula_without_a_stored_value_is_not_an_empty_cell() -> None:
    """A default must not slip in where the list says something."""
    fleet = fleet_of(_formula_book(""))
    assert [v.id for v in fleet.vehicles] == ["b"]
    assert "formula without a stored value" in fleet.problems[0].sentence


def test_other_sheets_are_named_not_forgotten() -> None:
    """Only the first sheet is read, and the others can be told."""
    table = table_from_bytes(workbook(DATED, sheets=["2025", "spare"]), where="x")
    assert table.unread_sheets == ("2025", "spare")


def test_a_workbook_with_a_wrong_size_is_read_to_its_end() -> None:
    """Some programs write the sheet's size as one cell."""
    plain = workbook([["id"], *[[f"v{n}"] for n in range(30)]])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(plain)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, part.replace(b'ref="A1:A31"', b'ref="A1"'))
    assert len(table_from_bytes(out.getvalue(), where="x").rows) == 30


def _zip(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def _broken_xml() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook(DATED))) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, part[:-40] if name.endswith("sheet1.xml") else part)
    return out.getvalue()


WRONG: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "empty; a heading row and one row per vehicle"),
    "blank lines": (b"\n \n;;;\n", "empty; a heading row"),
    "headings only": (b"id,depot\n", "no vehicles below it"),
    "picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not a text file"),
    "old workbook": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 100, "save it as XLSX or CSV"),
    "half a zip": (workbook(DATED)[:500], "not a readable XLSX"),
    "zip of something": (_zip(a=b"b"), "not a readable XLSX"),
    "zip bomb": (_zip(**{"xl/worksheets/sheet1.xml": b"0" * 30_000_000}), "unpacks without end"),
    "broken sheet": (_broken_xml(), "a damaged XLSX workbook"),
    "broken UTF-16": (b"\xff\xfei\x00d\x00\x00\xd8", "broken UTF-16"),
    "endless cell": (b"id,depot\na," + b"x" * 3000, "row 2: a cell of more than 2000 characters"),
    "endless line": (b'id,depot\na,"' + b"x" * 200_000, "row 2: not a readable CSV row"),
    "wide": (b",".join(b"c%d" % n for n in range(300)) + b"\n1", "300 columns; at most 200"),
    "wide workbook": (workbook([[f"c{n}" for n in range(300)], [1]]), "columns; at most 200"),
    "too large": (b"id\n" + b"x" * MAX_BYTES, "at most 50 MB are read"),
}


@pytest.mark.parametrize("name", WRONG)
def test_unusable_files_are_one_sentence(name: str) -> None:
    """What cannot be read is named, with what would be right."""
    content, says = WRONG[name]
    with pytest.raises(FleetError, match=r"list\.csv") as caught:
        fleet_of(content)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_list_of_too_many_rows_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """One more than are read: how many they may be, and what to do."""
    assert tables.MAX_ROWS == 200_000
    monkeypatch.setattr(tables, "MAX_ROWS", 1000)
    assert len(fleet_of(b"id\n" + b"x\n" * 1000).problems) == 999  # one name
    with pytest.raises(FleetError, match="more than 1000 rows; split the file"):
        fleet_of(b"id\n" + b"x\n" * 1001)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    """A path without a file says so."""
    with pytest.raises(FleetError, match="no such file"):
        read_table(tmp_path / "none.csv")
    with pytest.raises(FleetError, match="this is a folder"):
        read_table(tmp_path)


def test_a_file_too_large_is_not_read_at_all(tmp_path: Path) -> None:
    """100 MB are refused by their size (a sparse file: nothing of it is read)."""
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    with pytest.raises(FleetError, match="100 MB is too large"):
        read_table(path)


def test_a_workbook_of_odd_things_is_read() -> None:
    """A cell merged over rows counts for each of them; filters do not stand in the way."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["id", "depot"])
    sheet.append(["a", "north"])
    sheet.append(["b", None])
    sheet.merge_cells("B2:B3")
    sheet.auto_filter.ref = "A1:B3"
    out = io.BytesIO()
    book.save(out)
    assert [v.depot for v in fleet_of(out.getvalue()).vehicles] == ["north", "north"]


def test_a_decimal_comma_of_a_semicolon_file_may_have_three_places() -> None:
    """In such a file 12,625 mA is no thousand."""
    assert tables_of("id;sleep_a (mA)\na;4,500")["unit"]["sleep_a"] == pytest.approx(0.0045)
