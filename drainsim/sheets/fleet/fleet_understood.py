"""How a fleet list was understood: every value as used, what each column means, what is asked."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_vehicle import values_as_used
from drainsim.answers.words import counted
from drainsim.errors import DrainsimError, one_line
from drainsim.files.fleet.cells.cell_kinds import is_empty
from drainsim.files.fleet.columns import BY_NAME, COLUMNS, customary_unit, shown_unit
from drainsim.files.fleet.headings import Match
from drainsim.language import Message, counted_message, message
from drainsim.sheets.spreadsheet import Cell, csv_text
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import (
    KEY_INPUTS,
    UNDATED_VOLTAGE,
    Fleet,
    FleetSettings,
    FleetVehicle,
)
from drainsim.vehicle.documents.fleet_values import RowProblem
from drainsim.vehicle.keys.schema import BY_COLUMN

HEADING = ("vehicle", "key", "value", "unit", "origin", "row", "column_heading")


def understood_csv(fleet: Fleet, settings: FleetSettings, answer: FleetAnswer | None = None) -> str:
    """Return `understood_rows` as CSV text with its heading."""
    return csv_text(HEADING, understood_rows(fleet, settings, answer))


def understood_rows(
    fleet: Fleet, settings: FleetSettings, answer: FleetAnswer | None = None
) -> list[list[Cell]]:
    """Return one row per vehicle and key: value, unit, origin, row in the file, heading.

    Origin is cell (the list says it), derived (reckoned from another cell) or default. Vehicles
    whose values do not go together are left out: their rows are kept aside.

    Parameters
    ----------
    fleet, settings
    answer : FleetAnswer, optional
        Holds the defaults that were used; without it they are worked out.
    """
    rows: list[list[Cell]] = []
    by_row = {one.row: one.as_used for one in answer.vehicles} if answer else {}
    for vehicle in fleet.vehicles:
        as_used = by_row.get(vehicle.row) if answer else _resolved(vehicle, settings)
        if as_used is None:
            continue
        rows += _said(vehicle)
        told = {used.column for used in vehicle.used}
        values = dict(as_used)
        for column in COLUMNS:
            said = BY_COLUMN.get(column.name)
            if said in values and column.name not in told:
                rows.append(_row(vehicle, column.name, values[said], "default", ""))
        if "parked_from" not in told and BY_COLUMN["parked_from"] not in values:
            rows.append(_row(vehicle, "parked_from", vehicle.parked_from, "default", ""))
    return rows


def _resolved(vehicle: FleetVehicle, settings: FleetSettings) -> tuple[tuple[str, Any], ...] | None:
    try:
        return values_as_used(resolve(vehicle.scenario, profile_folders=settings.profile_folders))
    except DrainsimError:
        return None


def _said(vehicle: FleetVehicle) -> list[list[Cell]]:
    return [
        _row(vehicle, used.column, used.value, used.origin, used.heading)
        for used in vehicle.used
        if used.column != "id"
    ]


def _row(vehicle: FleetVehicle, name: str, value: Any, origin: str, heading: str) -> list[Cell]:
    column = BY_NAME[name]
    shown: Cell = value
    if isinstance(value, float):
        shown = f"{value:.10g}"
    elif name == "unit" and value == "":
        shown = "none"
    elif value is not None and not isinstance(value, str | int | dt.date):
        shown = str(value)
    unit = BY_COLUMN[name].unit if name in BY_COLUMN else customary_unit(column)
    return [vehicle.id, column.public, shown, unit, origin, vehicle.row, heading]


def list_record(fleet: Fleet, problems: Iterable[RowProblem] | None = None) -> dict[str, Any]:
    """Return the mapping of the list's columns, what is asked, and rows aside, for JSON.

    Parameters
    ----------
    fleet : Fleet
    problems : iterable of RowProblem, optional
        All rows that could not be answered; by default those that could not be read.
    """
    return {
        "columns": [
            _column(number, match)
            for number, match in enumerate(fleet.matches)
            if _holds(fleet, number)
        ],
        "not_vehicles": [
            {"row": one.row, "reason": one.reason, "text": one.text}
            for one in fleet.table.not_vehicles
        ],
        "doubts": [doubt.as_dict() for doubt in fleet.doubts],
        "rejected": rejected(fleet.problems if problems is None else problems),
        "unread_sheets": list(fleet.table.unread_sheets),
        "values": value_counts(fleet.vehicles),
    }


def _column(number: int, match: Match) -> dict[str, Any]:
    used = match.column is not None and not match.asked
    return {
        "heading": match.heading,
        "column_number": number + 1,
        "meaning": BY_NAME[match.column].public if match.column else None,
        "unit": shown_unit(match.unit) or None,
        "used": used,
        "sure": match.certain and not match.asked,
        "decided_by": match.basis if match.column else None,
        "numbers": match.numbers or (match.column is not None),
        "note": match.note or match.asked or None,
    }


def _holds(fleet: Fleet, number: int) -> bool:
    return bool(fleet.matches[number].heading) or any(
        number < len(cells) and not is_empty(cells[number]) for _, cells in fleet.table.rows
    )


def rejected(problems: Iterable[RowProblem]) -> list[dict[str, Any]]:
    """Return the rows that are kept aside, each with all of its reasons."""
    rows: dict[int, dict[str, Any]] = {}
    for problem in problems:
        row = rows.setdefault(
            problem.row, {"row": problem.row, "vehicle": problem.vehicle, "reasons": []}
        )
        where = f"{problem.column}: " if problem.column else ""
        row["reasons"].append(f"{where}{problem.sentence}")
        row["vehicle"] = row["vehicle"] or problem.vehicle
    return [rows[number] for number in sorted(rows)]


def value_counts(vehicles: Sequence[FleetVehicle]) -> Mapping[str, int]:
    """Return how many deciding values come from the list, how many are assumed, by vehicles."""
    assumed = sum(len(vehicle.assumed) for vehicle in vehicles)
    return {
        "from_list": len(vehicles) * len(KEY_INPUTS) - assumed,
        "assumed": assumed,
        "vehicles_mostly_assumed": sum(vehicle.mostly_assumed for vehicle in vehicles),
    }


def rests_on(fleet: Fleet) -> list[Message]:
    """Return what an answer to the list must say before anything else, in sentences."""
    told = []
    mostly = value_counts(fleet.vehicles)["vehicles_mostly_assumed"]
    if mostly:
        told.append(
            message(
                "{mostly} of {vehicles}: fewer than half of the {values} values that decide come "
                "from the list; the rest is assumed, so the answer about them is a rough one.",
                mostly=mostly,
                vehicles=counted(len(fleet.vehicles), "vehicle"),
                values=len(KEY_INPUTS),
            )
        )
    undated = sum(UNDATED_VOLTAGE in vehicle.notes for vehicle in fleet.vehicles)
    if undated:
        told.append(
            message(
                "{vehicles}: the resting voltage has no date and is taken as read at parking; if "
                "it was read later, give the day in a column “voltage date”.",
                vehicles=counted(undated, "vehicle"),
            )
        )
    if fleet.unused_numbers:
        told.append(
            message(
                "Not used although they hold numbers or dates: {headings}. Say what they mean if "
                "they matter.",
                headings=one_line(", ".join(fleet.unused_numbers)),
            )
        )
    hidden = sum(one.reason == "hidden row" for one in fleet.table.not_vehicles)
    if hidden:
        rows = counted(hidden, "hidden row")
        told.append(message("{rows} of the sheet not answered.", rows=rows))
    return told


def left_out(answer: FleetAnswer) -> list[Message]:
    """Return how many rows of the list the answer leaves out, in one sentence, if any."""
    rows = len({problem.row for problem in answer.problems})
    told = counted_message(
        "{number} row is kept aside, to be corrected: it is not in this answer.",
        "{number} rows are kept aside, to be corrected: they are not in this answer.",
        rows,
    )
    return [told] if rows else []
