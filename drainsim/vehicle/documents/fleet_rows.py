"""Rows of a fleet list to vehicles; a row with a mistake is kept aside with its reason."""

import datetime as dt
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from drainsim.errors import FleetError
from drainsim.files.fleet.cells.cell_kinds import Cell, is_empty
from drainsim.files.fleet.cells.choices import choices_of
from drainsim.files.fleet.headings import Match
from drainsim.files.fleet.table import RawTable
from drainsim.files.fleet.understanding import Doubt, Understanding, understand
from drainsim.language import marked
from drainsim.vehicle.documents.fleet_values import RowProblem, RowValues, Used, row_values
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.keys.schema import BY_COLUMN
from drainsim.vehicle.run import RUN

__all__ = ["Fleet", "FleetSettings", "FleetVehicle", "RowProblem", "fleet_from_table"]
DEFAULT_UNIT: Final = "hourly"
DEFAULT_DRAWS: Final = 200  # cases per vehicle
UNDATED_VOLTAGE: Final = marked("undated resting voltage taken as read at parking")
_LONGEST_STAND_DAYS: Final = 730
# What a row should say for a sharp answer, in the order in which it usually matters.
KEY_INPUTS: Final = {
    marked("vehicle quiescent current"): ("quiescent_a",),
    marked("charge or resting voltage"): ("state_of_charge", "resting_voltage_v"),
    marked("battery age"): ("battery_age_years", "health"),
    marked("battery capacity"): ("capacity_ah", "reserve_capacity_min", "cold_cranking_a"),
    marked("place"): ("climate", "temperature_c"),
    marked("unit"): ("unit", "sleep_a", "report_charge_as"),
    marked("engine"): ("engine_litres",),
    marked("day of parking"): ("parked_from",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetSettings:
    """What applies to the whole list: the day of the question and the run."""

    today: dt.date
    days_ahead: int = RUN.horizon_days.default
    draws: int = DEFAULT_DRAWS
    seed: int = 1
    profile_folders: tuple[Path, ...] = ()
    depot_weather: Mapping[str, Path] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse settings that no run can serve."""
        if not 1 <= self.days_ahead <= 365:
            raise FleetError(f"days ahead = {self.days_ahead} is outside 1 to 365 days")
        if not 100 <= self.draws <= 2000 or self.draws % 5:
            raise FleetError(f"draws = {self.draws}: give 100 to 2000 in steps of 5")


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetVehicle:
    """One vehicle of the list, ready to be resolved."""

    id: str
    depot: str
    row: int
    scenario: Scenario
    parked_from: dt.date
    starts: dt.date  # day its charge is known for: parking, or a later voltage reading
    planned_return: dt.date | None
    assumed: tuple[str, ...]
    notes: tuple[str, ...]
    used: tuple[Used, ...] = ()

    @property
    def mostly_assumed(self) -> bool:
        """Say whether fewer than half of its deciding values come from the list."""
        return len(self.assumed) * 2 > len(KEY_INPUTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fleet:
    """A list read: vehicles to answer, rows kept aside, how it was understood, what is asked."""

    vehicles: tuple[FleetVehicle, ...]
    problems: tuple[RowProblem, ...]
    matches: tuple[Match, ...]
    table: RawTable
    where: str
    doubts: tuple[Doubt, ...] = ()

    @property
    def unused_numbers(self) -> tuple[str, ...]:
        """Headings of columns that hold numbers or dates and are not used."""
        return tuple(
            match.heading or f"(column {number + 1}, without a heading)"
            for number, match in enumerate(self.matches)
            if match.numbers and match.column is None and not match.confirmed
        )


def fleet_from_table(
    table: RawTable,
    settings: FleetSettings,
    *,
    where: str,
    chosen: Mapping[str, str] | None = None,
    understood: Understanding | None = None,
) -> Fleet:
    """Return the vehicles of a table.

    Parameters
    ----------
    table : RawTable
    settings : FleetSettings
    where : str
        Name of the file, for messages.
    chosen : mapping, optional
        Heading → column and conventions decided by the user, as `headings.chosen_from` reads them.
    understood : Understanding, optional
        What its columns mean, where the table is a part of a list that was understood as a whole.

    Raises
    ------
    FleetError
        If no column names the vehicles, or a choice cannot be. Mistakes in rows and doubts do not
        raise: they come back in `problems` and `doubts`.
    """
    choices = choices_of(settings.profile_folders)
    if understood is None:
        try:
            understood = understand(table, choices, chosen=chosen)
        except FleetError as error:
            raise FleetError(f"{where}: {error}") from None
    matches = understood.matches
    if all(match.column != "id" for match in matches):
        raise FleetError(
            f"{where}: no column names the vehicles; call one 'id' (found: "
            f"{', '.join(table.headings)[:200]})"
        )
    reader = _Reader(settings, matches, table, choices)
    vehicles, problems = [], []
    doubts = [*understood.doubts, *_doubts_of_sheets(table)]
    asked = {doubt.number for doubt in understood.doubts}
    open_: dict[int | None, list[Doubt]] = {}
    for number, cells in table.rows:
        vehicle, faults, questions = reader.vehicle(number, cells)
        vehicles += [vehicle] if vehicle else []
        problems += faults
        doubts += [fault.asked for fault in faults if fault.asked and fault.number not in asked]
        for question in questions:
            open_.setdefault(question.number, []).append(question)
    doubts += [
        asked_of[0] if len(asked_of) == 1 else replace(asked_of[0], row=None)
        for asked_of in open_.values()
    ]
    return Fleet(
        vehicles=tuple(vehicles),
        problems=tuple(problems),
        matches=matches,
        table=table,
        where=where,
        doubts=tuple(doubts),
    )


def _doubts_of_sheets(table: RawTable) -> list[Doubt]:
    return [
        Doubt(
            question=f"sheet {name!r} seems to hold vehicles, too; only {table.sheet!r} is read",
            option=f"--sheet '{name}' reads that one instead",
        )
        for name in table.alike
    ]


class _Reader:
    """Turns rows into vehicles, with what all rows share looked up once."""

    def __init__(
        self,
        settings: FleetSettings,
        matches: Sequence[Match],
        table: RawTable,
        choices: Mapping[str, Mapping[str, str]],
    ) -> None:
        self.settings, self.matches, self.table = settings, matches, table
        self.choices = choices
        self.seen: dict[str, int] = {}  # names of vehicles, with their rows
        self.kept_aside: dict[str, int] = {}  # and of rows that could not be used

    def vehicle(
        self, number: int, cells: Sequence[Cell]
    ) -> tuple[FleetVehicle | None, list[RowProblem], list[Doubt]]:
        """Return the vehicle of a row, None with all that is wrong; questions that hold not up."""
        found = row_values(number, cells, self.matches, self.choices, today=self.settings.today)
        name, place = found.get("id"), found.place_of("id")
        self._shifted(found, cells)
        if number in self.table.suspects:
            found.refuse("id", self.table.suspects[number])
        elif not name and all(fault.number != place for fault in found.faults):
            found.refuse("id", "empty; every vehicle needs an id")
        elif name in self.seen:
            found.refuse("id", f"{name!r} is already in row {self.seen[name]}")
        vehicle = self._built(found)
        if vehicle is not None:
            self.seen[name] = number
            return vehicle, [], found.questions
        if name in self.kept_aside and name not in self.seen:
            found.refuse("id", f"{name!r} is already in row {self.kept_aside[name]}")
        if name:
            self.kept_aside.setdefault(name, number)
        named = [replace(fault, vehicle=str(name or "")) for fault in found.faults]
        return None, named, found.questions

    def _shifted(self, found: RowValues, cells: Sequence[Cell]) -> None:
        """Refuse a row whose cells stand under no heading: an unquoted comma moved them."""
        most = len(self.table.headings)
        if self.table.delimiter and any(not is_empty(cell) for cell in cells[most:]):
            sentence = (
                f"{len(cells)} cells under {most} headings; put quotation marks round a cell that "
                "holds the separator"
            )
            found.fault(None, "", sentence)

    def _built(self, found: RowValues) -> FleetVehicle | None:
        today = self.settings.today
        parked = found.get("parked_from") or today
        starts = self._starts(found, parked)
        back = self._planned_return(found, parked)
        horizon = (today - starts).days + self.settings.days_ahead
        if horizon < 1:
            found.refuse(
                "parked_from",
                f"{starts} is not before {today + dt.timedelta(days=self.settings.days_ahead)}, "
                "the last day looked at: look further ahead",
            )
        if horizon > _LONGEST_STAND_DAYS:
            found.refuse(
                "parked_from",
                f"{starts} is too far from today ({today}): a stand of at most "
                f"{_LONGEST_STAND_DAYS} days can be looked at",
            )
        if found.faults:
            return None
        depot = found.get("depot") or ""
        tables = self._tables(found, depot)
        tables["site"]["parked_from"] = starts
        tables["run"] = {
            "horizon_days": horizon,
            "draws": self.settings.draws,
            "seed": zlib.crc32(f"{self.settings.seed}:{found.get('id')}".encode()),
            "weather_seed": self.settings.seed,
        }
        weather = self.settings.depot_weather.get(depot)
        folder = None if weather is None else weather.parent
        scenario = Scenario(tables=tables, where=f"row {found.row}", folder=folder)
        return FleetVehicle(
            id=found.get("id"),
            depot=depot,
            row=found.row,
            scenario=scenario,
            parked_from=parked,
            starts=starts,
            planned_return=back,
            assumed=tuple(
                name
                for name, columns in KEY_INPUTS.items()
                if all(found.get(column) is None for column in columns)
            ),
            notes=tuple(found.notes),
            used=tuple(found.used.values()),
        )

    def _planned_return(self, found: RowValues, parked: dt.date) -> dt.date | None:
        """Return the day a vehicle is needed; None without one, or where it has passed."""
        back: dt.date | None = found.get("planned_return")
        today, ahead = self.settings.today, self.settings.days_ahead
        if back is None:
            return None
        if back < today:
            found.warn("planned return {day} is in the past and not used", day=str(back))
            return None
        if back < parked:
            found.refuse("planned_return", f"{back} is before it is parked ({parked})")
        elif (back - today).days > ahead:
            found.warn(
                "planned return {day} is more than {ahead} days ahead: answered for the first "
                "{ahead} days only; look further ahead, up to 365 days",
                day=str(back),
                ahead=ahead,
            )
        return back

    def _starts(self, found: RowValues, parked: dt.date) -> dt.date:
        """Return the day the charge is known for."""
        read_at: dt.date | None = found.get("resting_voltage_at")
        if found.get("resting_voltage_v") is None:
            if read_at is not None:
                found.warn("a date of the voltage but no voltage")
            return parked
        if read_at is None:
            if parked < self.settings.today:
                found.warn(UNDATED_VOLTAGE)
            return parked
        if read_at > self.settings.today:
            found.refuse("resting_voltage_at", f"{read_at} is in the future")
            return parked
        if read_at < parked:
            found.warn(
                "voltage of {day} is from before parking, taken as read at parking",
                day=str(read_at),
            )
            return parked
        return read_at

    def _tables(self, found: RowValues, depot: str) -> dict[str, dict[str, Any]]:
        """Return the scenario tables of a row, without run settings."""
        _drop_unneeded(found)
        tables: dict[str, dict[str, Any]] = {"battery": {}, "vehicle": {}, "site": {}}
        if found.get("trips_per_week") is not None or found.get("trip_minutes") is not None:
            tables["pattern"] = {}
        if found.get("unit") != "":  # "" says: no unit fitted
            tables["unit"] = {}
        for name, value in list(found.values.items()):
            said = BY_COLUMN.get(name)
            if said is None or value == "":
                continue
            if said.table not in tables:
                found.drop(name, f"{name} not used: no unit is fitted")
                continue
            tables[said.table][said.key] = value
        if "unit" in tables and not {"preset", "sleep_a"} & set(tables["unit"]):
            tables["unit"]["preset"] = DEFAULT_UNIT
        self._depot_weather(found, depot, tables)
        return tables

    def _depot_weather(
        self, found: RowValues, depot: str, tables: dict[str, dict[str, Any]]
    ) -> None:
        weather = self.settings.depot_weather.get(depot)
        if weather is not None and "temperature_c" in tables["site"]:
            found.warn("the depot's weather file not used: a temperature is given")
        elif weather is not None:
            if tables["site"].pop("climate", None) is not None:
                found.drop("climate", "climate not used: the depot has a weather file")
            tables["site"]["epw" if weather.suffix.lower() == ".epw" else "hourly_csv"] = (
                weather.name
            )


def _drop_unneeded(found: RowValues) -> None:
    """Take out what means nothing beside the row's other values."""
    if found.get("resting_voltage_v") is not None and found.get("state_of_charge") is not None:
        told = "state of charge not used: the resting voltage says it"
        found.drop("state_of_charge", told, shown=True)
    if found.get("temperature_c") is not None and found.get("climate") is not None:
        found.drop("climate", "climate not used: a temperature is given")
    for name in ("resting_temperature_c", "rested_h"):
        if found.get(name) is not None and found.get("resting_voltage_v") is None:
            found.drop(name, f"{name} not used: no resting voltage is given")
    if found.get("cranking_standard") is not None and found.get("cold_cranking_a") is None:
        found.drop("cranking_standard")
