"""How large a fleet list may be, in rows, columns and cells."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, TypeVar

from drainsim.errors import FleetError
from drainsim.files.fleet.cells.cell_kinds import Cell

Row = TypeVar("Row", bound="Sequence[Cell]")

MAX_BYTES: Final = 50_000_000
MAX_ROWS: Final = 200_000
MAX_COLUMNS: Final = 200
MAX_CELL: Final = 2_000
MAX_CELLS: Final = 6_000_000  # 200,000 rows of 30 columns
MAX_SHEET_ROWS: Final = 1_048_576  # what a sheet can hold; common practice, no source


def filled(rows: Iterable[tuple[int, Row]], where: str) -> Iterator[tuple[int, Row]]:
    """Yield the rows that are not empty; refuse a file with more of them than memory is for."""
    count = held = 0
    for number, row in rows:
        if not any(cell.strip() if isinstance(cell, str) else cell is not None for cell in row):
            continue
        count += 1
        held += len(row)
        if count > MAX_ROWS + 30:  # beside titles, headings and a line that names the separator
            raise FleetError(f"{where}: more than {MAX_ROWS} rows; split the file")
        if held > MAX_CELLS:
            raise FleetError(
                f"{where}: more than {MAX_CELLS / 1e6:g} million cells; take out columns or split "
                "the file"
            )
        yield number, row
