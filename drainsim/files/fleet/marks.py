"""What was marked as done in an earlier run's tables: the columns id, step and done_on."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from drainsim.errors import FleetError
from drainsim.files.fleet.cells.cell_kinds import is_empty
from drainsim.files.fleet.cells.dates import readings_of_date
from drainsim.files.fleet.cells.numbers import CellError
from drainsim.files.fleet.table import RawTable, read_table

MARKS: Final = ("id", "step", "done_on")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One vehicle's step and the day it was done; `where` names file and row for messages."""

    where: str
    id: str
    step: str
    day: dt.date


def read_marks(paths: Iterable[Path]) -> list[Mark]:
    """Return `all_marks` of files."""
    return all_marks((read_table(path), str(path)) for path in paths)


def all_marks(tables: Iterable[tuple[RawTable, str]]) -> list[Mark]:
    """Return `marks_of` tables with their names; what stands in two of them counts once."""
    found = [mark for table, where in tables for mark in marks_of(table, where=where)]
    return list({(mark.id, mark.step, mark.day): mark for mark in found}.values())


def marks_of(table: RawTable, *, where: str) -> list[Mark]:
    """Return the rows of a table of vehicles or work whose `done_on` is filled in.

    Raises
    ------
    FleetError
        If a column is missing, a date cannot be read or may be two, or a row names no step.
    """
    headings = [heading.strip().casefold().replace(" ", "_") for heading in table.headings]
    missing = [name for name in MARKS if name not in headings]
    if missing:
        raise FleetError(
            f"{where}: no column {', '.join(missing)}; it is the vehicles or work_plan file "
            "of an earlier --out, with the column done_on filled in"
        )
    places = [headings.index(name) for name in MARKS]
    found = []
    for number, cells in table.rows:
        padded = [*cells, *[None] * len(headings)]
        id_, step, day = (padded[place] for place in places)
        if is_empty(day):
            continue
        row = f"{where}, row {number}"
        if is_empty(step):
            raise FleetError(f"{row}: done_on without a step: say which one was done")
        try:
            readings = set(readings_of_date(day).values())
        except CellError as error:
            raise FleetError(f"{row}, column done_on: {error}") from None
        if len(readings) != 1:
            raise FleetError(
                f"{row}, column done_on: {day!r} may be two days; write it as 2026-12-01"
            )
        name = f"{id_:g}" if isinstance(id_, float) else str(id_).strip().removeprefix("'")
        found.append(Mark(where=row, id=name, step=str(step).strip(), day=readings.pop()))
    return found
