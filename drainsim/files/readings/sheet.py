"""A file of readings as sheets: headings, what stands above them, and rows in frames of columns."""

import csv
import datetime as dt
import io
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim.errors import ReadingsError
from drainsim.files.fleet.limits import MAX_COLUMNS
from drainsim.files.fleet.table import decoded_list, delimiter_of
from drainsim.files.fleet.workbook import read_workbook
from drainsim.files.reading import refuse_long_line

MAX_BYTES: Final = 100_000_000
MAX_ROWS: Final = 4_000_000  # of a file
MOST_COLUMNS: Final = 5_000
_ABOVE: Final = 30  # rows in which headings are looked for
_SAMPLE: Final = 300_000  # letters in which they are looked for
_CHUNK_CELLS: Final = 1_000_000  # cells read at a time
_SPREAD: Final = 2_000  # rows looked at all over a file

Rows = np.ndarray[Any, np.dtype[np.int64]]  # numbers of rows as a spreadsheet counts them
Frame = tuple[Rows, pd.DataFrame]


class OddRowsError(Exception):
    """Rows that the quick reader cannot read: to be read line by line."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Rows of a file or of one sheet of a workbook, the first of them cell by cell.

    `frames` yields all rows below a row of the file, columns numbered from 0 and one more than
    are wanted; the named columns as texts. `spread` returns rows from all over the file.
    """

    name: str  # of a workbook's sheet; "" for a text file
    first: tuple[tuple[int, list[str]], ...]
    delimiter: str  # "" in a workbook
    frames: Callable[[int, int, Sequence[int], bool], Iterator[Frame]]
    spread: Callable[[int], list[list[str]]]


def sheets_of(content: bytes, where: str) -> list[Sheet]:
    """Return the sheets of a CSV or XLSX file's content.

    Raises
    ------
    ReadingsError, FleetError
        If it is neither, too large, or a trap.
    """
    if len(content) > MAX_BYTES:
        raise ReadingsError(
            f"{where}: {len(content) / 1e6:.0f} MB is too large; at most {MAX_BYTES / 1e6:g} MB "
            "a file are read: split it"
        )
    if content[:4] == b"PK\x03\x04":
        return _of_workbook(content, where)
    if content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise ReadingsError(f"{where}: an old XLS workbook; save it as XLSX or CSV")
    refuse_long_line(content, where=where, error=ReadingsError)
    text, encoding = decoded_list(content, where)
    if not text.strip():
        raise ReadingsError(f"{where}: empty; a heading row and one row a reading are needed")
    body = content if encoding == "utf-8" else text.encode()
    return [_of_text(body, text[:_SAMPLE], where)]


def _of_text(body: bytes, sample: str, where: str) -> Sheet:
    lines = [line for line in io.StringIO(sample) if line.strip()][:_ABOVE]
    named = lines[0].strip().strip('"').lower()  # how spreadsheets name their separator
    told = len(named) == 5 and named.startswith("sep=")
    delimiter = named[-1] if told else delimiter_of(lines)
    first: list[tuple[int, list[str]]] = []
    for number, line in enumerate(io.StringIO(sample), start=1):
        if len(first) > _ABOVE:
            break
        if line.strip() and not (told and number == 1):
            first.append((number, _cells(line, delimiter)))

    def frames(below: int, width: int, texts: Sequence[int], careful: bool) -> Iterator[Frame]:
        if careful:
            return _line_by_line(body, where, delimiter, below=below, width=width)
        return _quickly(body, where, delimiter, below=below, width=width, texts=texts)

    def spread(below: int) -> list[list[str]]:
        return [_cells(line, delimiter) for line in _lines_all_over(body, below)]

    return Sheet("", tuple(first), delimiter, frames, spread)


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        row = next(csv.reader([line.strip("\r\n")], delimiter=delimiter, strict=True))
        return [cell.strip() for cell in row]
    except (csv.Error, StopIteration):
        return [cell.strip(' "\r\n') for cell in line.split(delimiter)]


def _lines_all_over(body: bytes, below: int) -> list[str]:
    """Return some lines below a row, from the beginning to the end of a file."""
    start = 0
    for _ in range(below):
        start = body.find(b"\n", start) + 1 or len(body)
    step = max((len(body) - start) // _SPREAD, 1)
    found, at = [], start
    while at < len(body):
        end = body.find(b"\n", at)
        end = len(body) if end < 0 else end
        found.append(body[at:end].decode("utf-8", "replace"))
        beyond = max(end + 1, at + step)
        at = beyond if beyond == end + 1 else (body.find(b"\n", beyond) + 1 or len(body))
    return found


def _quickly(
    body: bytes, where: str, delimiter: str, *, below: int, width: int, texts: Sequence[int]
) -> Iterator[Frame]:
    """Yield frames by the quick reader; numbers come as numbers where all cells are."""
    size = max(_CHUNK_CELLS // (width + 1), 1_000)
    try:
        reader = pd.read_csv(
            io.BytesIO(body), sep=delimiter, header=None, names=list(range(width + 1)),
            index_col=False, skiprows=below, dtype=dict.fromkeys(texts, str),
            keep_default_na=False, na_values=[""], skip_blank_lines=False, chunksize=size,
            encoding="utf-8", encoding_errors="replace", low_memory=False,
        )  # fmt: skip
        number = below + 1
        while True:
            with warnings.catch_warnings():
                warnings.simplefilter(
                    "error", pd.errors.ParserWarning
                )  # of cells beyond those that are wanted
                frame = next(reader, None)
            if frame is None:
                return
            _refuse_many(number + len(frame) - below, where)
            yield np.arange(number, number + len(frame)), frame.reset_index(drop=True)
            number += len(frame)
    except pd.errors.EmptyDataError:
        return
    except (pd.errors.ParserError, pd.errors.ParserWarning, ValueError, OverflowError) as error:
        if isinstance(error, ReadingsError):
            raise
        raise OddRowsError from None


def _line_by_line(
    body: bytes, where: str, delimiter: str, *, below: int, width: int
) -> Iterator[Frame]:
    """Yield frames of texts, every line read on its own: stray marks reach no further."""
    text = io.TextIOWrapper(io.BytesIO(body), "utf-8", "replace", newline=None)
    size = max(_CHUNK_CELLS // (width + 1), 1_000)
    rows: list[list[str]] = []
    numbers: list[int] = []
    for number, line in enumerate(text, start=1):
        if number <= below:
            continue
        _refuse_many(number - below, where)
        cells = _cells(line, delimiter)
        if len(cells) > width:  # what is too much is one cell more
            cells = [*cells[:width], delimiter.join(cells[width:])]
        rows.append(cells + [""] * (width + 1 - len(cells)))
        numbers.append(number)
        if len(rows) >= size:
            yield np.array(numbers), pd.DataFrame(rows, dtype=str)
            rows, numbers = [], []
    if rows:
        yield np.array(numbers), pd.DataFrame(rows, dtype=str)


def _refuse_many(rows: int, where: str) -> None:
    if rows > MAX_ROWS:
        raise ReadingsError(f"{where}: more than {MAX_ROWS / 1e6:g} million rows; split the file")


def _of_workbook(content: bytes, where: str) -> list[Sheet]:
    """Return every visible sheet of a workbook."""
    best = read_workbook(content, where)
    found = [_of_rows(best.name, best.rows, where)]
    for name in best.other_sheets:
        found.append(_of_rows(name, read_workbook(content, where, name=name).rows, where))
    return found


def _of_rows(name: str, rows: list[tuple[int, list[Any]]], where: str) -> Sheet:
    texts = [(number, [_text(cell) for cell in cells]) for number, cells in rows]
    if any(len(cells) > MAX_COLUMNS for _, cells in texts):
        raise ReadingsError(
            f"{where}: sheet {name!r}: more than {MAX_COLUMNS} columns; save it as CSV"
        )

    def frames(below: int, width: int, _texts: Sequence[int], _careful: bool) -> Iterator[Frame]:
        wanted = [(number, cells) for number, cells in texts if number > below]
        if wanted:
            padded = [
                [
                    *cells[:width],
                    *[""] * (width - len(cells)),
                    ";".join(filter(None, cells[width:])),
                ]
                for _, cells in wanted
            ]
            yield np.array([number for number, _ in wanted]), pd.DataFrame(padded, dtype=str)

    def spread(below: int) -> list[list[str]]:
        wanted = [cells for number, cells in texts if number > below]
        return wanted[:: max(len(wanted) // _SPREAD, 1)]

    return Sheet(name, tuple(texts[:_ABOVE]), "", frames, spread)


def _text(cell: Any) -> str:
    """Return a workbook's cell as a text file would hold it; times to the nearest second."""
    if cell is None:
        return ""
    if isinstance(cell, dt.datetime):
        rounded = cell + dt.timedelta(microseconds=500_000) if cell.year < dt.MAXYEAR else cell
        return rounded.replace(microsecond=0).isoformat(sep=" ")
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return str(cell).strip()
