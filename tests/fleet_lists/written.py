"""Writes the lists of this folder as the files their keepers would send."""

import datetime as dt
import json
import re
import zipfile
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import column_index_from_string, get_column_letter

LISTS = {path.stem: path for path in sorted((Path(__file__).parent / "lists").glob("*.json"))}


def load(name: str) -> dict[str, Any]:
    """Return one list with its expectation."""
    content: dict[str, Any] = json.loads(LISTS[name].read_text(encoding="utf-8"))
    return content


def write(content: dict[str, Any], stem: Path) -> Path:
    """Write a list beside `stem`, as text or as a workbook, and return the file's path."""
    if "csv" in content:
        path = stem.with_suffix(".csv")
        text = "".join(line + content["csv"]["newline"] for line in content["csv"]["lines"])
        path.write_bytes(text.encode(content["csv"]["encoding"]))
        return path
    path = stem.with_suffix(".xlsx")
    book = Workbook()
    book.remove(book.active)
    calculated = {}
    for number, sheet in enumerate(content["xlsx"], start=1):
        page = book.create_sheet(sheet["name"])
        for row, cells in enumerate(sheet["rows"], start=1):
            for column, cell in enumerate(cells, start=1):
                if cell in (None, ""):
                    continue
                target = page.cell(row, column)
                form = sheet.get("formats", {}).get(get_column_letter(column))
                if isinstance(cell, dict):
                    form = cell.get("format", form)
                    if "formula" in cell and "value" in cell:
                        calculated[number, target.coordinate] = cell["value"]
                    cell = _value(cell)
                target.value = cell
                if form and not isinstance(cell, str):
                    target.number_format = form
        for area in sheet.get("merged", []):
            page.merge_cells(area)
        for row in sheet.get("hidden_rows", []):
            page.row_dimensions[row].hidden = True
        for letter in sheet.get("hidden_columns", []):
            page.column_dimensions[letter].hidden = True
        if sheet.get("hidden"):
            page.sheet_state = "hidden"
    book.active = next(i for i, sheet in enumerate(content["xlsx"]) if not sheet.get("hidden"))
    book.save(path)
    if calculated:
        _fill_in(path, calculated)
    return path


def _value(cell: dict[str, Any]) -> Any:
    """Return what openpyxl writes for a date, a time of day, a formula or a formatted value."""
    if "date" in cell:
        return dt.datetime.fromisoformat(cell["date"])
    if "time" in cell:
        return dt.time.fromisoformat(cell["time"])
    return cell.get("formula", cell.get("value"))


def _fill_in(path: Path, calculated: dict[tuple[int, str], Any]) -> None:
    """Store results beside formulas, as a spreadsheet program does and openpyxl does not."""
    with zipfile.ZipFile(path) as book:
        parts = {item: book.read(item) for item in book.namelist()}
    for (number, coordinate), value in calculated.items():
        part = f"xl/worksheets/sheet{number}.xml"
        kind = ' t="str"' if isinstance(value, str) else ""
        pattern = rf'<c r="{coordinate}"([^>]*?)><f>(.*?)</f><v ?/?>(</v>)?</c>'
        filled, times = re.subn(
            pattern,
            lambda hit, k=kind, v=value, at=coordinate: (
                f'<c r="{at}"{hit[1]}{k}><f>{hit[2]}</f><v>{v}</v></c>'
            ),
            parts[part].decode(),
        )
        assert times == 1, (part, coordinate)
        parts[part] = filled.encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for item, data in parts.items():
            book.writestr(item, data)


def place(where: dict[str, Any]) -> tuple[int | None, int | None]:
    """Return (row, column number) of a question's place; (None, None) is the whole list."""
    if "cell" in where:
        letters, row = re.fullmatch(r"([A-Z]+)(\d+)", where["cell"]).groups()  # type: ignore[union-attr]
        return int(row), column_index_from_string(letters)
    if "column" in where:
        return None, column_index_from_string(where["column"])
    return where.get("row"), None
