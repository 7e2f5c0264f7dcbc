"""Results of a list as a file in the list's own convention: separator, decimal mark, XLSX."""

from collections.abc import Iterable, Sequence

from drainsim.sheets.spreadsheet import Cell, csv_text, for_spreadsheets, xlsx_bytes
from drainsim.vehicle.documents.fleet_rows import Fleet


def decimal_of(fleet: Fleet) -> str:
    """Return the decimal mark the list is written with; a point where it shows none."""
    shown = {match.decimal for match in fleet.matches} - {""}
    hinted = {match.decimal_hint for match in fleet.matches} - {""}
    return "," if (shown or hinted) == {","} else "."


def list_file(
    stem: str, heading: Sequence[str], rows: Iterable[Sequence[Cell]], fleet: Fleet
) -> tuple[str, bytes]:
    """Return a file's name and content: XLSX for a workbook, else CSV written as the list is.

    Dates are written year first in every CSV: nobody reads them otherwise.
    """
    delimiter = "" if fleet.table.encoding == "xlsx" else fleet.table.delimiter or ","
    return table_file(stem, heading, rows, delimiter=delimiter, decimal=decimal_of(fleet))


def table_file(
    stem: str,
    heading: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    *,
    delimiter: str,
    decimal: str,
) -> tuple[str, bytes]:
    """Return a file's name and content: XLSX without a delimiter, else CSV for spreadsheets."""
    if not delimiter:
        return f"{stem}.xlsx", xlsx_bytes(stem, heading, rows)
    text = csv_text(heading, rows, delimiter=delimiter, decimal=decimal)
    return f"{stem}.csv", for_spreadsheets(text).encode()
