"""Read a CSV or XLSX file into headings and rows of cells, nothing interpreted yet."""

import contextlib
import csv
import datetime as dt
import io
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TypeAlias, TypeVar

from drainsim.errors import FleetError
from drainsim.files.reading import read_bytes, refuse_long_line

Cell: TypeAlias = str | float | int | bool | dt.datetime | dt.date | None
Row = TypeVar("Row", bound="Sequence[Cell]")

MAX_BYTES: Final = 50_000_000
MAX_ROWS: Final = 200_000
MAX_COLUMNS: Final = 200
MAX_CELL: Final = 2_000
MAX_CELLS: Final = 6_000_000  # 200,000 rows of 30 columns
MAX_SHEET_ROWS: Final = 1_048_576  # what a sheet can hold; common practice, no source
_MAX_UNPACKED_BYTES: Final = 400_000_000
_FORMULA: Final = "formula without a stored value"  # what a cell says instead
_MAX_TREE_BYTES: Final = 10_000_000  # of a part that is held in memory as a whole
_READ_IN_PIECES: Final = ("xl/worksheets/", "xl/sharedStrings", "xl/media/")
_MAX_PACKING: Final = 200  # times an XLSX part may unpack to before it is taken for a trap


@dataclass(frozen=True, slots=True)
class RawTable:
    """Headings, rows as (row number in the file, cells), and how the text was read."""

    headings: tuple[str, ...]
    rows: list[tuple[int, list[Cell]]]
    encoding: str
    delimiter: str
    unread_sheets: tuple[str, ...] = ()


def read_table(path: Path) -> RawTable:
    """Return the table in a CSV or XLSX file; empty rows are passed over.

    Raises
    ------
    FleetError
        Naming the file, the row where it can, and what would be right.
    """
    content = read_bytes(path, error=FleetError, max_bytes=MAX_BYTES)
    return table_from_bytes(content, where=str(path))


def table_from_bytes(content: bytes, *, where: str) -> RawTable:
    """Return the table in a file's content; same errors as `read_table`."""
    if len(content) > MAX_BYTES:
        raise FleetError(
            f"{where}: {len(content) / 1e6:.0f} MB is too large; at most 50 MB are read"
        )
    if content[:4] == b"PK\x03\x04":
        return _from_xlsx(content, where)
    if content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise FleetError(f"{where}: an old XLS workbook; save it as XLSX or CSV")
    return _from_csv(content, where)


def _decode(content: bytes, where: str) -> tuple[str, str]:
    """Return text and encoding: UTF-8 with or without mark, UTF-16 with mark, else Windows-1252."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return content.decode("utf-16"), "utf-16"
        except UnicodeDecodeError:
            raise FleetError(f"{where}: broken UTF-16 text; save the file as UTF-8 CSV") from None
    if b"\x00" in content:
        raise FleetError(f"{where}: not a text file; give a CSV or XLSX file")
    try:
        return content.decode("utf-8-sig"), "utf-8"
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace"), "windows-1252"


def _from_csv(content: bytes, where: str) -> RawTable:
    refuse_long_line(content, where=where, error=FleetError)
    text, encoding = _decode(content, where)
    head = next((line for line in io.StringIO(text) if line.strip()), "")
    named = head.strip().strip('"').lower()  # how spreadsheets name their separator
    skip = len(named) == 5 and named.startswith("sep=")
    delimiter = named[-1] if skip else max(",;\t|", key=head.count)
    headings: tuple[str, ...] = ()
    rows: list[tuple[int, list[Cell]]] = []
    for number, cells in _csv_rows(text, delimiter, where):
        if skip or not any(cell.strip() for cell in cells):
            skip = skip and not any(cell.strip() for cell in cells)
            continue
        if not headings:
            headings = _headings(cells, where)
            continue
        rows.append((number, [_unmasked(cell) for cell in cells]))
        if len(rows) > MAX_ROWS:
            raise FleetError(f"{where}: more than {MAX_ROWS} rows; split the file")
    return _checked(RawTable(headings, rows, encoding, delimiter), where)


def _csv_rows(text: str, delimiter: str, where: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (line number, cells); with a stray quotation mark every line is read on its own.

    Read on, such a mark would swallow the rows after it.
    """
    whole = None
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    with contextlib.suppress(csv.Error):
        whole = list(_filled(((reader.line_num, cells) for cells in reader), where))
    del reader  # and its copy of the text
    yield from _filled(_lines_alone(text, delimiter, where), where) if whole is None else whole


def _lines_alone(text: str, delimiter: str, where: str) -> Iterator[tuple[int, list[str]]]:
    for number, line in enumerate(io.StringIO(text, newline=None), start=1):
        line = line.rstrip("\n")
        try:
            yield from (
                (number, cells) for cells in csv.reader([line], delimiter=delimiter, strict=True)
            )
        except csv.Error as error:
            if len(line) > csv.field_size_limit():
                raise FleetError(
                    f"{where}: row {number}: not a readable CSV row ({error})"
                ) from None
            yield number, line.split(delimiter)


def _filled(rows: Iterable[tuple[int, Row]], where: str) -> Iterator[tuple[int, Row]]:
    """Yield the rows that are not empty; refuse a file with more of them than memory is for."""
    count = held = 0
    for number, row in rows:
        if not any(cell.strip() if isinstance(cell, str) else cell is not None for cell in row):
            continue
        count += 1
        held += len(row)
        if count > MAX_ROWS + 2:  # beside the heading and a line that names the separator
            raise FleetError(f"{where}: more than {MAX_ROWS} rows; split the file")
        if held > MAX_CELLS:
            raise FleetError(
                f"{where}: more than {MAX_CELLS / 1e6:g} million cells; take out columns or split "
                "the file"
            )
        yield number, row


def _unmasked(cell: str) -> str:
    """Return a cell without the apostrophe that our own exports put before formulas."""
    return cell[1:] if cell[:1] == "'" and cell[1:].lstrip()[:1] in tuple("=+-@") else cell


def _from_xlsx(content: bytes, where: str) -> RawTable:
    """Read the first sheet, formulas by their stored values."""
    try:
        _refuse_traps(content, where)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and validations, which are not read
            return _first_sheet(content, where)
    except FleetError:
        raise
    except (zipfile.BadZipFile, KeyError, ValueError, IndexError, OSError, EOFError) as error:
        raise FleetError(f"{where}: not a readable XLSX workbook ({error})") from None
    except (SyntaxError, TypeError, AttributeError, RecursionError) as error:  # broken XML inside
        raise FleetError(f"{where}: a damaged XLSX workbook ({type(error).__name__})") from None
    except (NotImplementedError, RuntimeError, zlib.error) as error:  # packed in another way
        raise FleetError(f"{where}: this workbook is locked or packed oddly ({error})") from None


def _refuse_traps(content: bytes, where: str) -> None:
    """Refuse a workbook that would unpack to more than memory is for."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = archive.infolist()
        for part in parts:
            packing = part.file_size / max(part.compress_size, 1)
            if part.file_size > _MAX_TREE_BYTES and packing > _MAX_PACKING:
                raise FleetError(f"{where}: a part of this workbook unpacks without end")
            if part.file_size > _MAX_TREE_BYTES and not part.filename.startswith(_READ_IN_PIECES):
                raise FleetError(f"{where}: {part.filename[:60]!r} in this workbook is too large")
        unpacked = sum(part.file_size for part in parts)
        if unpacked > _MAX_UNPACKED_BYTES:
            raise FleetError(f"{where}: unpacks to {unpacked / 1e6:.0f} MB; save it as CSV")
        manifest = archive.read("[Content_Types].xml")
    # The workbook's own part is held as a whole, whatever it is called.
    for entry in re.findall(rb"<[^>]*main\+xml[^>]*>", manifest):
        if b"&" in entry or any(name.encode() in entry for name in _READ_IN_PIECES):
            raise FleetError(f"{where}: not a readable XLSX workbook (parts in odd places)")


def _first_sheet(content: bytes, where: str) -> RawTable:
    import openpyxl  # only here: it takes a while to import

    book = openpyxl.load_workbook(
        io.BytesIO(content), read_only=True, data_only=True, keep_links=False
    )
    sheet = book.worksheets[0]
    headings: tuple[str, ...] = ()
    rows: list[tuple[int, list[Cell]]] = []
    formulas = _unanswered_formulas(content, where)
    for number, cells in _filled(_sheet_rows(sheet, formulas, where), where):
        if not headings:
            headings = _headings(["" if cell is None else str(cell) for cell in cells], where)
            continue
        rows.append((number, cells))
        if len(rows) > MAX_ROWS:
            raise FleetError(f"{where}: more than {MAX_ROWS} rows; split the file")
    others = tuple(other.title for other in book.worksheets[1:])
    return _checked(RawTable(headings, rows, "xlsx", "", others), where)


def _sheet_rows(
    sheet: Any, formulas: Mapping[int, Sequence[int]], where: str
) -> Iterator[tuple[int, list[Cell]]]:
    """Yield (row number, cells) of a sheet, one column more than are allowed."""
    for number, values in _numbered(sheet, where, values_only=True):
        cells: list[Cell] = [_cell(value) for value in values]
        for column in formulas.get(number, ()):
            cells[column] = _FORMULA
        while cells and cells[-1] is None:
            cells.pop()
        yield number, cells


def _numbered(
    sheet: Any, where: str, *, values_only: bool
) -> Iterator[tuple[int, tuple[Any, ...]]]:
    """Yield the rows of a sheet, refusing numbers that no sheet has: they would never end."""
    sheet.reset_dimensions()  # what the file says of its size may be wrong
    rows = sheet.iter_rows(max_col=MAX_COLUMNS + 1, values_only=values_only)
    for number, row in enumerate(rows, start=1):
        if number > MAX_SHEET_ROWS:
            raise FleetError(f"{where}: a row beyond the {MAX_SHEET_ROWS} a sheet can have")
        yield number, row


def _unanswered_formulas(content: bytes, where: str) -> dict[int, list[int]]:
    """Return the cells, by row, whose formula has no stored value: else they would look empty."""
    import openpyxl

    answers, formulas = (
        openpyxl.load_workbook(
            io.BytesIO(content), read_only=True, data_only=stored, keep_links=False
        ).worksheets[0]
        for stored in (True, False)
    )
    if not _holds(content, _part(formulas), b"<f"):
        return {}
    found: dict[int, list[int]] = {}
    pairs = zip(
        _numbered(answers, where, values_only=True),
        _numbered(formulas, where, values_only=False),
        strict=True,
    )
    for (number, values), (_, cells) in pairs:
        for column, (value, cell) in enumerate(zip(values, cells, strict=True)):
            if value is None and cell.data_type == "f":
                found.setdefault(number, []).append(column)
    return found


def _holds(content: bytes, name: str, mark: bytes) -> bool:
    """Say whether a part of a workbook holds a mark, without unpacking all of it at once."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive, archive.open(name) as part:
        before = b""
        while piece := part.read(1_000_000):
            if mark in before + piece:
                return True
            before = piece[-len(mark) :]
    return False


def _part(sheet: Any) -> str:
    """Return where a sheet lies in its workbook."""
    return str(sheet._worksheet_path).lstrip("/")


def _cell(value: object) -> Cell:
    if value is None or isinstance(value, str | bool | int | float | dt.datetime | dt.date):
        return value
    return str(value)


def _headings(cells: list[str], where: str) -> tuple[str, ...]:
    if len(cells) > MAX_COLUMNS:
        raise FleetError(f"{where}: {len(cells)} columns; at most {MAX_COLUMNS} are read")
    return tuple(" ".join(_unmasked(cell).split())[:80] for cell in cells)


def _checked(table: RawTable, where: str) -> RawTable:
    if not table.headings:
        raise FleetError(f"{where}: empty; a heading row and one row per vehicle are needed")
    if not table.rows:
        raise FleetError(f"{where}: a heading row but no vehicles below it")
    for number, cells in table.rows:
        if any(isinstance(cell, str) and len(cell) > MAX_CELL for cell in cells):
            raise FleetError(f"{where}: row {number}: a cell of more than {MAX_CELL} characters")
    return table
