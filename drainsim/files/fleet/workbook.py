"""Read the sheet of an XLSX workbook that holds the list: as it is shown, not as it is stored.

Hidden sheets are passed over, hidden rows told, merged cells filled; a unit or per cent that only
the number format shows is written behind the number.
"""

import datetime as dt
import io
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import FleetError
from drainsim.files.fleet.cells.cell_kinds import FORMULA, Cell
from drainsim.files.fleet.heading_parts import is_unit
from drainsim.files.fleet.headings import heading_match
from drainsim.files.fleet.layout import find_area
from drainsim.files.fleet.limits import MAX_COLUMNS, MAX_SHEET_ROWS, filled

_MAX_UNPACKED_BYTES: Final = 400_000_000
_MAX_TREE_BYTES: Final = 10_000_000  # of a part that is held in memory as a whole
_READ_IN_PIECES: Final = ("xl/worksheets/", "xl/sharedStrings", "xl/media/")
_MAX_PACKING: Final = 200  # times an XLSX part may unpack to before it is taken for a trap
_MAX_MERGED: Final = 20_000  # ranges of merged cells that are filled
_MOST_SHEETS: Final = 12  # looked at for the one that holds the list
_PIECE: Final = 1_000_000
_ROW: Final = re.compile(rb"<(?:\w+:)?row\b[^>]*>")
_MERGE: Final = re.compile(
    rb'<(?:\w+:)?mergeCell\b[^>]*\bref="([A-Z]{1,3})(\d+):([A-Z]{1,3})(\d+)"'
)
_HIDDEN: Final = re.compile(rb'\bhidden="(?:1|true)"')
_NUMBER: Final = re.compile(rb'\br="(\d+)"')
_QUOTED: Final = re.compile(r'"([^"]*)"|\\(.)')


@dataclass(frozen=True, slots=True)
class Sheet:
    """Rows of a sheet as shown, numbers of hidden ones, and names of sheets that are not read."""

    rows: list[tuple[int, list[Cell]]]
    name: str
    hidden_rows: frozenset[int] = frozenset()
    other_sheets: tuple[str, ...] = ()
    hidden_sheets: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()  # other sheets that seem to hold vehicles, too


def read_workbook(content: bytes, where: str, *, name: str = "") -> Sheet:
    """Return the sheet that holds the list; formulas count by their stored values.

    Parameters
    ----------
    content : bytes
    where : str
        Name of the file, for messages.
    name : str
        The sheet to read; by default the first visible one with a column of vehicles.

    Raises
    ------
    FleetError
        If it is no workbook, a trap, or has no such sheet.
    """
    try:
        _refuse_traps(content, where)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and validations, which are not read
            return _sheet(content, where, name)
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


def _sheet(content: bytes, where: str, name: str) -> Sheet:
    import openpyxl  # only here: it takes a while to import

    book = openpyxl.load_workbook(
        io.BytesIO(content), read_only=True, data_only=True, keep_links=False
    )
    names = [sheet.title for sheet in book.worksheets]
    if name and name not in names:
        raise FleetError(f"{where}: no sheet {name!r}; it has: {', '.join(names)}")
    shown = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
    wanted = [s for s in book.worksheets if s.title == name] or shown or book.worksheets
    first = best = None
    alike = []
    for sheet in wanted[:_MOST_SHEETS]:
        area = find_area(list(_few_rows(sheet, where)))
        is_list = bool(area.rows) and any(
            heading_match(heading, parts).column == "id" and len(area.headings) > 1
            for heading, parts in zip(area.headings, area.parts, strict=True)
        )
        if is_list and best is not None:
            alike.append(sheet.title)
        best = best or (sheet if is_list else None)
        first = first or (sheet if area.headings else None)
    sheet = best or first or wanted[0]
    hidden = frozenset(_hidden_rows(content, _part(sheet)))
    rows = list(filled(_shown_rows(content, sheet, where), where))
    others = tuple(s.title for s in shown if s.title != sheet.title)
    unseen = tuple(s.title for s in book.worksheets if s not in shown and s.title != sheet.title)
    return Sheet(rows, sheet.title, hidden, others, unseen, tuple(alike))


def _few_rows(sheet: Any, where: str) -> Iterator[tuple[int, list[Cell]]]:
    """Yield the first rows of a sheet that hold something, enough to see what it is."""
    count = 0
    for number, cells in _numbered(sheet, where):
        row: list[Cell] = [_cell(cell.value) for cell in cells]
        if any(value is not None for value in row):
            count += 1
            yield number, row
        if count >= 60 or number > 1000:
            return


def _shown_rows(content: bytes, sheet: Any, where: str) -> Iterator[tuple[int, list[Cell]]]:
    """Yield (row number, cells) of a sheet as shown, one column more than are allowed."""
    part = _part(sheet)
    formulas = _unanswered_formulas(content, sheet.title, where) if _holds(content, part) else {}
    fill = _Merged(_merged_ranges(content, part))
    for number, values in _numbered(sheet, where):
        cells: list[Cell] = [_shown(cell) for cell in values]
        for column in formulas.get(number, ()):
            cells[column] = FORMULA
        fill(number, cells)
        while cells and cells[-1] is None:
            cells.pop()
        yield number, cells


def _numbered(sheet: Any, where: str) -> Iterator[tuple[int, tuple[Any, ...]]]:
    """Yield the rows of a sheet that are there, refusing numbers that no sheet has."""
    sheet.reset_dimensions()  # what the file says of its size may be wrong
    gap: object = None
    for number, row in enumerate(sheet.iter_rows(max_col=MAX_COLUMNS + 1), start=1):
        if number > MAX_SHEET_ROWS:
            raise FleetError(f"{where}: a row beyond the {MAX_SHEET_ROWS} a sheet can have")
        if row is gap:  # the library fills gaps between rows with one and the same tuple
            continue
        if not any(cell.value is not None for cell in row):
            gap = row
        yield number, row


def _unanswered_formulas(content: bytes, title: str, where: str) -> dict[int, list[int]]:
    """Return the cells, by row, whose formula has no stored value: else they would look empty."""
    import openpyxl

    answers, formulas = (
        openpyxl.load_workbook(
            io.BytesIO(content), read_only=True, data_only=stored, keep_links=False
        )[title]
        for stored in (True, False)
    )
    found: dict[int, list[int]] = {}
    asked = {
        (number, column)
        for number, cells in _numbered(formulas, where)
        for column, cell in enumerate(cells)
        if cell.data_type == "f"
    }
    answered = {
        (number, column)
        for number, cells in _numbered(answers, where)
        for column, cell in enumerate(cells)
        if cell.value is not None and (number, column) in asked
    }
    for number, column in sorted(asked - answered):
        found.setdefault(number, []).append(column)
    return found


def _pieces(content: bytes, name: str) -> Iterator[bytes]:
    """Yield a part of a workbook in overlapping pieces, without unpacking all of it at once."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive, archive.open(name) as part:
        before = b""
        while piece := part.read(_PIECE):
            yield before + piece
            before = piece[-200:]


def _holds(content: bytes, name: str) -> bool:
    return any(b"<f" in piece or b":f>" in piece for piece in _pieces(content, name))


def _hidden_rows(content: bytes, name: str) -> Iterator[int]:
    """Yield the numbers of rows that are hidden, by a filter or by hand."""
    for piece in _pieces(content, name):
        if b"hidden=" not in piece:
            continue
        for tag in _ROW.findall(piece):
            number = _NUMBER.search(tag)
            if number and _HIDDEN.search(tag):
                yield int(number.group(1)[:9])


def _merged_ranges(content: bytes, name: str) -> list[tuple[int, int, int, int]]:
    """Return (first row, last row, first column, last column) of merged cells, from 1 and 0."""
    found = set()
    for piece in _pieces(content, name):
        if b"mergeCell" in piece:
            for left, top, right, bottom in _MERGE.findall(piece):
                found.add((int(top[:9]), int(bottom[:9]), _place(left), _place(right)))
    return sorted(found)[:_MAX_MERGED]


def _place(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number - 1


class _Merged:
    """Fills what merged cells show into every cell of theirs, row by row."""

    def __init__(self, ranges: Sequence[tuple[int, int, int, int]]) -> None:
        self.coming = list(reversed(ranges))
        self.open: list[tuple[int, int, int, Cell]] = []

    def __call__(self, number: int, cells: list[Cell]) -> None:
        while self.coming and self.coming[-1][0] <= number:
            top, bottom, left, right = self.coming.pop()
            if top == number and left < len(cells) and cells[left] is not None:
                self.open.append((bottom, left, min(right, MAX_COLUMNS), cells[left]))
        self.open = [entry for entry in self.open if entry[0] >= number]
        for _, left, right, value in self.open:
            for place in range(left, min(right + 1, len(cells))):
                if cells[place] is None:
                    cells[place] = value


def _part(sheet: Any) -> str:
    """Return where a sheet lies in its workbook."""
    return str(sheet._worksheet_path).lstrip("/")


def _cell(value: object) -> Cell:
    if value is None or isinstance(value, str | bool | int | float | dt.datetime | dt.date):
        return value
    return str(value)


def _shown(cell: Any) -> Cell:
    """Return a cell with the unit or per cent that its number format shows."""
    value = _cell(cell.value)
    if isinstance(value, bool) or not isinstance(value, int | float) or not cell.has_style:
        return value
    form = str(cell.number_format).split(";")[0]
    if form == "General":
        return value
    said = "".join(quoted or single for quoted, single in _QUOTED.findall(form)).strip()
    bare = _QUOTED.sub("", form)
    if "%" in bare:
        return f"{100 * value:.12g} %"
    if said and is_unit(said):
        return f"{value:.15g} {said}"
    if re.fullmatch(r"0{2,12}", bare) and float(value).is_integer() and 0 <= value < 1e12:
        return f"{int(value):0{len(bare)}d}"
    return value
