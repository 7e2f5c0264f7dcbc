"""A fleet's answers as tables: the vehicles, and the rows to correct."""

import datetime as dt
from collections.abc import Mapping, Sequence

from drainsim.answers.fleet import FleetAnswer
from drainsim.answers.fleet_actions import Action
from drainsim.models.fleet.table import RawTable
from drainsim.models.fleet.vehicles import RowProblem
from drainsim.sheets.spreadsheet import Cell


def vehicle_heading(answer: FleetAnswer) -> list[str]:
    """Return the column names of `vehicle_rows`."""
    on_dates = [f"risk_on_{date.isoformat()}" for date in answer.dates]
    return [
        "id",
        "depot",
        "act_by",
        "action",
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


def vehicle_rows(answer: FleetAnswer, actions: Mapping[str, Action]) -> list[list[Cell]]:
    """Return one row per vehicle, most urgent first; empty days are past those looked at."""
    rows: list[list[Cell]] = []
    for vehicle in answer.vehicles:
        action = actions.get(vehicle.id)
        rows.append(
            [
                vehicle.id,
                vehicle.depot,
                vehicle.act_by,
                action.words if action else "",
                vehicle.risk_today,
                vehicle.planned_return,
                vehicle.risk_on_return,
                *vehicle.risk_on_dates,
                vehicle.days_left_p10,
                vehicle.days_left_p50,
                vehicle.days_left_p90,
                vehicle.days_parked,
                vehicle.charge_today,
                vehicle.cause,
                vehicle.battery_type,
                vehicle.measure_next,
                vehicle.assumed_share,
                "; ".join(vehicle.assumed),
                "; ".join(vehicle.warnings),
                vehicle.row,
            ]
        )
    return rows


def to_correct(
    table: RawTable, problems: Sequence[RowProblem]
) -> tuple[list[str], list[list[Cell]]]:
    """Return heading and rows kept aside: the file's own cells, then row, column and reason."""
    by_row: dict[int, list[RowProblem]] = {}
    for problem in problems:
        by_row.setdefault(problem.row, []).append(problem)
    heading = [*table.headings, "row_in_file", "column_to_correct", "what_is_wrong"]
    rows: list[list[Cell]] = []
    for number, cells in table.rows:
        found = by_row.get(number)
        if not found:
            continue
        own: list[Cell] = [c.date() if isinstance(c, dt.datetime) else c for c in cells]
        own += [None] * (len(table.headings) - len(own))
        why = "; ".join(problem.sentence for problem in found)
        columns = ", ".join(problem.column for problem in found if problem.column)
        rows.append([*own[: len(table.headings)], number, columns, why])
    return heading, rows
