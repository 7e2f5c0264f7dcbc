"""A fleet's answers as tables: the vehicles, and the rows to correct."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Final

from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.work_plan import WorkPlan
from drainsim.files.fleet.cells.cell_kinds import Cell as ListCell
from drainsim.files.fleet.cells.cell_kinds import is_empty
from drainsim.files.fleet.cells.conventions import date_in
from drainsim.files.fleet.cells.numbers import CellError, written_number
from drainsim.files.fleet.columns import BY_NAME, shown_unit
from drainsim.files.fleet.headings import Match
from drainsim.language import Language, language
from drainsim.sheets.spreadsheet import Cell, csv_text
from drainsim.vehicle.documents.fleet_rows import Fleet, RowProblem


def vehicle_heading(answer: FleetAnswer) -> list[str]:
    """Return the column names of `vehicle_rows`."""
    on_dates = [f"risk_on_{date.isoformat()}" for date in answer.dates]
    return [
        "id",
        "depot",
        "act_by",
        "action",
        "step",
        "done_on",
        "takes",
        "risk_of",
        "risk_before",
        "risk_after",
        "risk_today",
        "planned_return",
        "risk_on_return",
        *on_dates,
        "days_left_p10",
        "days_left_p50",
        "days_left_p90",
        "days_parked",
        "charge_today",
        "cause",
        "battery_profile",
        "measure_next",
        "assumed_share",
        "assumed",
        "warnings",
        "row",
    ]


def vehicle_rows(
    answer: FleetAnswer, actions: Mapping[str, Action], say: Language | None = None
) -> list[list[Cell]]:
    """Return one row per vehicle, most urgent first; empty days are past those looked at.

    `say` speaks the sentences (English if left out); headings and keys never change.
    """
    say = say or language("en")
    rows: list[list[Cell]] = []
    for vehicle in answer.vehicles:
        action = actions.get(vehicle.id)
        rows.append(
            [
                vehicle.id,
                vehicle.depot,
                vehicle.act_by,
                say(instruction(vehicle, action)) if vehicle.needs_someone else "",
                "+".join(action.keys) if action else "",
                None,  # to be filled in: `--done` goes on from there
                say(action.takes) if action else "",
                action.until if action else None,
                action.risk_before if action else None,
                action.risk_after if action else None,
                vehicle.risk_today,
                vehicle.planned_return,
                vehicle.risk_on_return,
                *vehicle.risk_on_dates,
                _rounded(vehicle.days_left_p10),
                _rounded(vehicle.days_left_p50),
                _rounded(vehicle.days_left_p90),
                vehicle.days_parked,
                round(vehicle.charge_today, 3),
                say(vehicle.cause),
                vehicle.battery_type,
                say(vehicle.measure_next),
                vehicle.assumed_share,
                "; ".join(map(say, vehicle.assumed)),
                "; ".join(map(say.said, vehicle.warnings)),
                vehicle.row,
            ]
        )
    return rows


def _rounded(days: float | None) -> float | None:
    return None if days is None else round(days, 1)


PLAN_HEADING: Final = (
    "day", "depot", "id", "in_time", "act_by", "action", "step", "done_on", "takes", "effect",
)  # fmt: skip


def plan_rows(plan: WorkPlan, say: Language | None = None) -> list[list[Cell]]:
    """Return one row per action, day by day, in a language; those without a day last."""
    say = say or language("en")
    return [
        [
            job.day,
            job.depot,
            job.action.id,
            job.in_time,
            job.action.act_by,
            say(job.action.words),
            "+".join(job.action.keys),
            None,
            say(job.action.takes),
            say(job.action.effect),
        ]
        for job in plan.jobs
    ]


def to_correct(fleet: Fleet, problems: Sequence[RowProblem]) -> tuple[list[str], list[list[Cell]]]:
    """Return heading and rows kept aside: the file's own cells, then row, column and reason.

    Corrected and read again they mean the same as in the whole list: dates that could be read
    there are written year first.
    """
    by_row: dict[int, list[RowProblem]] = {}
    for problem in problems:
        by_row.setdefault(problem.row, []).append(problem)
    kept = [(number, cells) for number, cells in fleet.table.rows if number in by_row]
    width = max([len(fleet.table.headings), *(len(cells) for _, cells in kept)])
    spare = width - len(fleet.table.headings)
    heading = [*fleet.table.headings, *[""] * spare]
    rows: list[list[Cell]] = []
    for number, cells in kept:
        own = [_as_read(fleet, column, cell) for column, cell in enumerate(cells)]
        why = "; ".join(problem.sentence for problem in by_row[number])
        columns = ", ".join(problem.column for problem in by_row[number] if problem.column)
        rows.append([*own, *[None] * (width - len(own)), number, columns, why])
    return [*heading, "row_in_file", "column_to_correct", "what_is_wrong"], rows


def to_correct_csv(fleet: Fleet, problems: Sequence[RowProblem]) -> str:
    """Return the rows kept aside as a CSV written the way the list was."""
    heading, rows = to_correct(fleet, problems)
    return csv_text(heading, rows, delimiter=fleet.table.delimiter or ",")


def _as_read(fleet: Fleet, place: int, cell: ListCell) -> Cell:
    """Return a cell to be written again without loss, readable without the rest of the list."""
    match = fleet.matches[place] if place < len(fleet.matches) else None
    column = BY_NAME[match.column] if match and match.column else None
    if match and column and not is_empty(cell):
        try:
            if column.kind == "date":
                return date_in(cell, column, match)
            if column.kind == "number" and not isinstance(cell, bool):
                return _number_as_read(cell, match)
        except CellError:
            pass
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, float):
        return repr(int(cell)) if cell.is_integer() else repr(cell)
    return cell


def _number_as_read(cell: ListCell, match: Match) -> Cell:
    """Return a number with the unit and mark that only the whole column decided."""
    written = written_number(cell, BY_NAME[match.column or ""])
    number = str(cell) if not isinstance(cell, float) else f"{cell:.15g}"
    if len(written.readings) > 1:
        chosen = {",": written.comma, ".": written.point}.get(match.decimal)
        number = number if chosen is None else f"{chosen:.15g}"
    by_column = not match.basis.startswith(("heading", "the usual", "chosen"))
    unit = match.unit if by_column and not written.unit and not match.asked else ""
    return f"{number} {shown_unit(unit)}" if unit and unit != "share" else number
