"""Tables as CSV and XLSX that are safe to open in a spreadsheet."""

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Sequence
from typing import Final, TypeAlias

Cell: TypeAlias = str | float | int | bool | dt.date | None

_FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n")
_NUMBER: Final = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?")
_LONGEST_CELL: Final = 32_000  # a spreadsheet holds 32,767 characters


def harmless(text: str) -> str:
    """Return text that no spreadsheet takes for a formula.

    Examples
    --------
    >>> harmless("=HYPERLINK(1)"), harmless("van 7")
    ("'=HYPERLINK(1)", 'van 7')
    >>> harmless("-5,5")  # a number is no formula
    '-5,5'
    """
    shown = "".join(letter if letter.isprintable() else " " for letter in text)[:_LONGEST_CELL]
    risky = text.startswith(_FORMULA_STARTS) or shown.lstrip().startswith(_FORMULA_STARTS)
    return f"'{shown}" if risky and not _NUMBER.fullmatch(shown) else shown


def csv_text(
    heading: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    *,
    delimiter: str = ",",
    decimal: str = ".",
) -> str:
    """Return a table as CSV text; numbers stay numbers, texts cannot become formulas."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n", delimiter=delimiter)
    writer.writerow([harmless(name) for name in heading])
    for row in rows:
        writer.writerow([_plain(cell, decimal) for cell in row])
    return out.getvalue()


def for_spreadsheets(csv: str) -> str:
    """Return CSV text as a file: spreadsheets take it for UTF-8 only with a mark at its head."""
    return f"\ufeff{csv}"


def xlsx_bytes(title: str, heading: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a table as an XLSX workbook of one sheet with a fixed heading row."""
    import openpyxl  # only here: it takes a while to import
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook(write_only=False)
    sheet = book.create_sheet(title[:31], 0)
    del book[book.sheetnames[1]]
    widths = [len(name) for name in heading]
    sheet.append([harmless(name) for name in heading])
    for row in rows:
        cells = [harmless(cell) if isinstance(cell, str) else cell for cell in row]
        widths = [max(width, len(str(cell))) for width, cell in zip(widths, cells, strict=True)]
        sheet.append(cells)
        for cell in sheet[sheet.max_row]:
            if isinstance(cell.value, str):
                cell.data_type = "s"  # text, whatever it looks like
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = sheet.dimensions
    for number, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = min(max(width + 2, 9), 60)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _plain(cell: Cell, decimal: str) -> str | float | int:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        number = float(f"{cell:.6g}")
        return number if decimal == "." else f"{number}".replace(".", decimal)
    return cell if isinstance(cell, int) else harmless(str(cell))
