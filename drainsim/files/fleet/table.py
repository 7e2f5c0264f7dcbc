"""Read a CSV or XLSX file into headings and rows of cells, nothing interpreted yet."""

import contextlib
import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from charset_normalizer import from_bytes

from drainsim.errors import FleetError
from drainsim.files.fleet.cells.cell_kinds import Cell
from drainsim.files.fleet.layout import NotVehicle, Row, find_area, is_headless, is_turned
from drainsim.files.fleet.limits import MAX_BYTES, MAX_CELL, MAX_COLUMNS, MAX_ROWS, filled
from drainsim.files.fleet.words import COLUMN_OF, plain
from drainsim.files.fleet.workbook import Sheet, read_workbook
from drainsim.files.reading import read_bytes, refuse_long_line
from drainsim.language import marked

__all__ = ["MAX_BYTES", "MAX_CELL", "MAX_ROWS", "Cell", "RawTable", "read_table"]
# What lists of Western Europe are saved as beside UTF-8; Windows first: it is by far the likeliest.
_HIDDEN: Final = marked("hidden row")
_CODE_PAGES: Final = ("cp1252", "cp850", "mac_roman")
_NAMES: Final = {"cp1252": "windows-1252", "cp850": "cp850", "mac_roman": "mac-roman"}
_MICROAMPERES: Final = re.compile(r"(?<![^\W\d_])µA\b")
_SAMPLE: Final = 200_000  # bytes that are looked at for their encoding


@dataclass(frozen=True, slots=True)
class RawTable:
    """Headings, rows as (row number in the file, cells), what was kept aside, and how it was read.

    `parts` are the rows each heading was joined from; `alike` other sheets that seem to hold
    vehicles.
    """

    headings: tuple[str, ...]
    rows: list[Row]
    encoding: str
    delimiter: str
    unread_sheets: tuple[str, ...] = ()
    parts: tuple[tuple[str, ...], ...] = ()
    not_vehicles: tuple[NotVehicle, ...] = ()
    suspects: dict[int, str] = field(default_factory=dict)
    alike: tuple[str, ...] = ()
    sheet: str = ""


def read_table(path: Path, *, sheet: str = "") -> RawTable:
    """Return the table in a CSV or XLSX file; empty rows are passed over.

    Raises
    ------
    FleetError
        Naming the file, the row where it can, and what would be right.
    """
    content = read_bytes(path, error=FleetError, max_bytes=MAX_BYTES)
    return table_from_bytes(content, where=str(path), sheet=sheet)


def table_from_bytes(content: bytes, *, where: str, sheet: str = "") -> RawTable:
    """Return the table in a file's content; same errors as `read_table`."""
    if len(content) > MAX_BYTES:
        raise FleetError(
            f"{where}: {len(content) / 1e6:.0f} MB is too large; at most 50 MB are read"
        )
    if content[:4] == b"PK\x03\x04":
        return _from_sheet(read_workbook(content, where, name=sheet), where)
    if content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise FleetError(f"{where}: an old XLS workbook; save it as XLSX or CSV")
    return _from_csv(content, where)


def _from_sheet(sheet: Sheet, where: str) -> RawTable:
    seen = [(number, cells) for number, cells in sheet.rows if number not in sheet.hidden_rows]
    hidden = [
        NotVehicle(
            number, marked("hidden row"), " ".join(str(next(filter(None, cells), "")).split())[:60]
        )
        for number, cells in sheet.rows
        if number in sheet.hidden_rows
    ]
    table = _table(seen, where, encoding="xlsx", delimiter="")
    aside = sorted([*table.not_vehicles, *hidden], key=lambda one: one.row)
    return replace(
        table,
        not_vehicles=tuple(aside),
        unread_sheets=(*sheet.other_sheets, *(f"{name} (hidden)" for name in sheet.hidden_sheets)),
        alike=sheet.alike,
        sheet=sheet.name,
    )


def decoded_list(content: bytes, where: str) -> tuple[str, str]:
    """Return text and encoding: UTF-8 with or without mark, UTF-16 with mark, else a code page."""
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
        page = _code_page(content)
        return content.decode(page, errors="replace"), _NAMES[page]


def _code_page(content: bytes) -> str:
    """Return the code page in which the text makes most sense.

    First by the words of the headings; then by charset-normalizer, which measures how broken and
    how coherent a text is in each; Windows-1252 where nothing tells.
    """
    lines = [line for line in content[:_SAMPLE].splitlines() if max(line, default=0) > 127]
    words = {word for line in lines for word in re.split(rb"[;,\t|\"\s]+", line)}
    odd_words = sorted(word for word in words if max(word, default=0) > 127)
    sample = b"\n".join(odd_words)  # the same whatever the order of rows and columns
    if not sample:
        return _CODE_PAGES[0]
    whole = b"\n".join(lines)
    odd = {page: _oddness(sample.decode(page, errors="replace")) for page in _CODE_PAGES}
    known = {page: _known_words(whole.decode(page, errors="replace")) for page in _CODE_PAGES}
    best = [p for p in _CODE_PAGES if (known[p], -odd[p]) == max(
        (known[q], -odd[q]) for q in _CODE_PAGES)]  # fmt: skip
    if len(best) > 1:
        found = from_bytes(sample[:20_000], cp_isolation=list(best)).best()
        if found is not None and found.encoding in best and best[0] != "cp1252":
            return found.encoding
    return best[0]


def _known_words(text: str) -> int:
    """Count the cells of a text that are headings with a letter beyond ASCII."""
    cells = (cell for line in text.split("\n")[:30] for cell in _split(line))
    microamperes = len(_MICROAMPERES.findall(text))
    return microamperes + sum(not cell.isascii() and plain(cell) in COLUMN_OF for cell in cells)


def _split(line: str) -> list[str]:
    for mark in ";\t|":
        line = line.replace(mark, ",")
    return [cell.strip(' "') for cell in line.split(",")]


def _oddness(text: str) -> int:
    """Count letters beyond ASCII that no word of a Western list has, or not in that place."""
    odd = 0
    for place, letter in enumerate(text):
        if letter.isascii():
            continue
        before = text[place - 1] if place else " "
        if letter in "\ufffd" or "\u2500" <= letter <= "\u25ff" or "\x80" <= letter < "\xa0":
            odd += 3
        elif letter.isalpha():
            last = place + 1 == len(text) or not text[place + 1].isalpha()
            odd += last and letter.lower() in "êâîôûëïñ"
            odd += letter.lower() not in "äöüßéèêëàâîïôûùçñáíóúìòœæåøãõýÿŷ" or (
                before.islower() and letter.isupper()
            )
        else:
            odd += letter not in "°µ€–—’‘“”„«»·…²³±×½§©®ªº¿¡\xa0\u202f" or before.islower()
    return odd


def _from_csv(content: bytes, where: str) -> RawTable:
    refuse_long_line(content, where=where, error=FleetError)
    text, encoding = decoded_list(content, where)
    lines = [line for line in io.StringIO(text[:_SAMPLE]) if line.strip()][:30]
    head = lines[0] if lines else ""
    named = head.strip().strip('"').lower()  # how spreadsheets name their separator
    skip = len(named) == 5 and named.startswith("sep=")
    delimiter = named[-1] if skip else delimiter_of(lines)
    rows: list[Row] = []
    for number, cells in _csv_rows(text, delimiter, where):
        if skip:
            skip = False
            continue
        rows.append((number, [_unmasked(cell) for cell in cells]))
    return _table(rows, where, encoding=encoding, delimiter=delimiter)


def delimiter_of(lines: list[str]) -> str:
    """Return the separator: what stands most evenly in the first lines, titles aside."""

    def evenness(mark: str) -> tuple[int, int]:
        counts = [line.count(mark) for line in lines]
        usual = max(set(counts), key=lambda n: (counts.count(n) * (n > 0), n), default=0)
        return (counts.count(usual) if usual else 0, usual)

    scores = {mark: evenness(mark) for mark in ",;\t|"}
    full = {mark: lines and all(mark in line for line in lines) for mark in scores}
    sure = [mark for mark in ";\t|" if full[mark] or scores[mark][0] * 2 > len(lines)]
    if sure:  # a comma beside them is one of numbers or words
        return max(sure, key=lambda mark: scores[mark])
    return max(scores, key=lambda mark: scores[mark])


def _csv_rows(text: str, delimiter: str, where: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (row number, cells); with a stray quotation mark every line is read on its own.

    Read on, such a mark would swallow the rows after it. A quoted line break begins no new row.
    """
    whole = None
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    with contextlib.suppress(csv.Error):
        whole = list(filled(enumerate(reader, start=1), where))
    del reader  # and its copy of the text
    yield from filled(_lines_alone(text, delimiter, where), where) if whole is None else whole


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


def _unmasked(cell: str) -> Cell:
    """Return a cell without the apostrophe that our own exports put before formulas."""
    return cell[1:] if cell[:1] == "'" and cell[1:].lstrip()[:1] in tuple("=+-@") else cell


def _table(rows: list[Row], where: str, *, encoding: str, delimiter: str) -> RawTable:
    """Return the table in rows of cells, sizes checked."""
    for number, cells in rows:
        if len(cells) > MAX_COLUMNS and any(cell not in (None, "") for cell in cells[MAX_COLUMNS:]):
            raise FleetError(f"{where}: {len(cells)} columns; at most {MAX_COLUMNS} are read")
        if any(isinstance(cell, str) and len(cell) > MAX_CELL for cell in cells):
            raise FleetError(f"{where}: row {number}: a cell of more than {MAX_CELL} characters")
    if not rows:
        raise FleetError(f"{where}: empty; a heading row and one row per vehicle are needed")
    area = find_area(rows)
    if is_turned(rows, area):
        raise FleetError(
            f"{where}: the headings stand in the first column and the vehicles beside each other; "
            "turn rows and columns (copy, paste transposed) and load it again"
        )
    if is_headless(area):
        raise FleetError(
            f"{where}: no headings: the first row holds numbers already; write above each column "
            "what it is, like id, depot, capacity_ah"
        )
    if not area.rows:
        raise FleetError(f"{where}: a heading row but no vehicles below it")
    if len(area.rows) > MAX_ROWS:
        raise FleetError(f"{where}: more than {MAX_ROWS} rows; split the file")
    return RawTable(
        area.headings, area.rows, encoding, delimiter, parts=area.parts,
        not_vehicles=area.not_vehicles, suspects=area.suspects,
    )  # fmt: skip
