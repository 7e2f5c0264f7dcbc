"""Rows of a fleet list to vehicles; a row with a mistake is kept aside with its reason."""

import datetime as dt
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from drainsim.errors import DrainsimError, FleetError, one_line
from drainsim.files.fleet.cells import (
    CellError,
    choice_from,
    date_from,
    day_first_of,
    is_empty,
    numbers_from,
)
from drainsim.files.fleet.columns import BY_NAME, Column
from drainsim.files.fleet.headings import Match, match_headings
from drainsim.files.fleet.table import Cell, RawTable
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles
from drainsim.units import share_from_percent
from drainsim.vehicle.scenario import Scenario
from drainsim.vehicle.schema import SCENARIO, Field, Table

LONGEST_NAME: Final = 80
DEFAULT_UNIT: Final = "hourly"
_LONGEST_STAND_DAYS: Final = 730
_LEAST_PER_CENT: Final = 5.0  # a bare number below is a slip, not a percentage of charge
# What a row should say for a sharp answer, in the order in which it usually matters.
KEY_INPUTS: Final = {
    "vehicle quiescent current": ("quiescent_a",),
    "charge or resting voltage": ("state_of_charge", "resting_voltage_v"),
    "battery age": ("battery_age_years",),
    "battery capacity": ("capacity_ah", "reserve_capacity_min", "cold_cranking_a"),
    "place": ("climate", "temperature_c"),
    "unit": ("unit", "sleep_a", "report_charge_as"),
    "engine": ("engine_litres",),
    "day of parking": ("parked_from",),
}
_PROFILE_NAMES: Final = {
    "agm": "agm",
    "absorbed glass mat": "agm",
    "efb": "enhanced_flooded",
    "enhanced flooded": "enhanced_flooded",
    "flooded": "flooded_calcium",
    "wet": "flooded_calcium",
    "calcium": "flooded_calcium",
    "lead acid": "flooded_calcium",
    "lead-acid": "flooded_calcium",
    "antimony": "flooded_antimony",
    "gel": "gel",
    "lifepo4": "lithium_iron_phosphate_12v",
    "lfp": "lithium_iron_phosphate_12v",
}
_FUELS: Final = {
    "petrol": "petrol",
    "gasoline": "petrol",
    "gas": "petrol",
    "p": "petrol",
    "diesel": "diesel",
    "d": "diesel",
}
_SYSTEMS: Final = {
    "12v": "12V",
    "12 v": "12V",
    "12": "12V",
    "single": "12V",
    "24v": "24V",
    "24 v": "24V",
    "24": "24V",
    "series": "24V",
    "parallel": "parallel",
    "auxiliary": "auxiliary",
}
_VEHICLE_KINDS: Final = {
    "engine": "engine",
    "car": "engine",
    "van": "engine",
    "truck": "engine",
    "motorcycle": "motorcycle",
    "motorbike": "motorcycle",
    "hybrid": "hybrid",
    "electric": "electric",
    "ev": "electric",
    "trailer": "trailer",
}
_NO_UNIT: Final = {"none": "", "no": "", "no unit": "", "without": ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetSettings:
    """What applies to the whole list: the day of the question and the run."""

    today: dt.date
    days_ahead: int = 180
    draws: int = 200
    seed: int = 1
    profile_folders: tuple[Path, ...] = ()
    depot_weather: Mapping[str, Path] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse settings that no run can serve."""
        if not 1 <= self.days_ahead <= 365:
            raise FleetError(f"days ahead = {self.days_ahead} is outside 1 to 365 days")
        if not 100 <= self.draws <= 2000 or self.draws % 5:
            raise FleetError(f"draws = {self.draws}: 100 to 2000 in steps of 5")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class RowProblem:
    """Why a row could not be used: the cell, and what would be right."""

    row: int
    column: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fleet:
    """A list read: vehicles to answer, rows kept aside, and how headings were understood."""

    vehicles: tuple[FleetVehicle, ...]
    problems: tuple[RowProblem, ...]
    matches: tuple[Match, ...]
    table: RawTable
    where: str
    day_first: Mapping[int, bool | None]  # number of each column of dates → how it writes them


def fleet_from_table(
    table: RawTable,
    settings: FleetSettings,
    *,
    where: str,
    chosen: Mapping[str, str] | None = None,
    day_first: Mapping[int, bool | None] | None = None,
) -> Fleet:
    """Return the vehicles of a table.

    Parameters
    ----------
    table : RawTable
    settings : FleetSettings
    where : str
        Name of the file, for messages.
    chosen : mapping, optional
        Heading → canonical column decided by the user.
    day_first : mapping, optional
        How each column of dates is written, where the table is a part of a list that tells.

    Raises
    ------
    FleetError
        If no column names the vehicles, or headings contradict each other. Mistakes in rows
        do not raise: they come back in `problems`.
    """
    try:
        matches = match_headings(table.headings, chosen=chosen)
    except FleetError as error:
        raise FleetError(f"{where}: {error}") from None
    by_column = {match.column: n for n, match in enumerate(matches) if match.column}
    if "id" not in by_column:
        raise FleetError(
            f"{where}: no column names the vehicles; call one 'id' (found: "
            f"{', '.join(table.headings)[:200]})"
        )
    reader = _RowReader(settings, matches, by_column, table)
    reader.day_first |= {
        name: day_first[n] for name, n in by_column.items() if day_first and n in day_first
    }
    vehicles, problems = [], []
    seen: dict[str, int] = {}
    for number, cells in table.rows:
        try:
            reader.count_cells(cells)
            vehicle = reader.vehicle(number, cells)
            if vehicle.id in seen:
                raise _RowError("id", f"{vehicle.id!r} is already in row {seen[vehicle.id]}")
            seen[vehicle.id] = number
            vehicles.append(vehicle)
        except _RowError as problem:
            heading = reader.heading(problem.column)
            sentence = one_line(problem.sentence)
            problems.append(RowProblem(row=number, column=heading, sentence=sentence))
    return Fleet(
        vehicles=tuple(vehicles),
        problems=tuple(problems),
        matches=tuple(matches),
        table=table,
        where=where,
        day_first={by_column[name]: first for name, first in reader.day_first.items()},
    )


class _RowError(Exception):
    """A row cannot be used because of one column."""

    def __init__(self, column: str, sentence: str) -> None:
        super().__init__(sentence)
        self.column, self.sentence = column, sentence


class _RowReader:
    """Turns rows into vehicles, with what all rows share looked up once."""

    def __init__(
        self,
        settings: FleetSettings,
        matches: Sequence[Match],
        by_column: Mapping[str, int],
        table: RawTable,
    ) -> None:
        self.settings, self.matches, self.by_column, self.table = (
            settings,
            matches,
            by_column,
            table,
        )
        self.day_first = {
            name: day_first_of(cells[n] for _, cells in table.rows if n < len(cells))
            for name, n in by_column.items()
            if BY_NAME[name].kind == "date"
        }
        keys = list_profiles(settings.profile_folders)
        self.choices = {
            "battery_profile": {**_PROFILE_NAMES, **{k.replace("_", " "): k for k in keys}},
            "fuel": _FUELS,
            "battery_system": _SYSTEMS,
            "vehicle_kind": _VEHICLE_KINDS,
            "unit": {**_names("units"), **_NO_UNIT},
            "climate": _names("climates"),
        }

    def heading(self, column: str) -> str:
        """Return the file's own heading of a column."""
        number = self.by_column.get(column)
        return self.table.headings[number] if number is not None else column

    def count_cells(self, cells: Sequence[Cell]) -> None:
        """Refuse a row whose cells stand under no heading: an unquoted comma moved them."""
        most = len(self.table.headings)
        if self.table.delimiter and any(not is_empty(cell) for cell in cells[most:]):
            raise _RowError(
                "",
                f"{len(cells)} cells under {most} headings; put quotation marks round a cell that "
                "holds the separator",
            )

    def value(self, column: str, cells: Sequence[Cell]) -> Any:
        """Return a column's value in a row, checked; None where the cell is empty or missing."""
        number = self.by_column.get(column)
        if number is None or number >= len(cells) or is_empty(cells[number]):
            return None
        cell, spec = cells[number], BY_NAME[column]
        try:
            if spec.kind == "date":
                return date_from(cell, day_first=self.day_first[column])
            if spec.kind == "number":
                return self._number(cell, spec, self.matches[number])
            if column in self.choices:
                return choice_from(cell, self.choices[column])
            return _name(cell)
        except (CellError, DrainsimError) as error:
            raise _RowError(column, str(error)) from None

    def _number(self, cell: Cell, column: Column, match: Match) -> float:
        """Return a number in range; where a comma may be either, the reading that is in range."""
        readings = numbers_from(cell, column, match, decimal_comma=self.table.delimiter == ";")
        if column.name == "state_of_charge":
            readings = tuple(_share_of_full(cell, value, match) for value in readings)
        field_ = _FIELDS[column.key]
        fitting = [value for value in readings if field_.low <= value <= field_.high]
        if len(fitting) > 1:
            raise CellError(f"{cell!r} can be read in two ways; write it without the comma")
        value = fitting[0] if fitting else readings[0]
        return float(field_.check(value, where=match.heading))

    def vehicle(self, number: int, cells: Sequence[Cell]) -> FleetVehicle:
        """Return the vehicle of a row."""
        values = {name: self.value(name, cells) for name in BY_NAME}
        if not values["id"]:
            raise _RowError("id", "empty; every vehicle needs an id")
        today = self.settings.today
        notes: list[str] = []
        parked = values["parked_from"] or today
        starts = self._starts(values, parked, notes)
        back = self._planned_return(values["planned_return"], parked, notes)
        horizon = (today - starts).days + self.settings.days_ahead
        if not 1 <= horizon <= _LONGEST_STAND_DAYS:
            raise _RowError(
                "parked_from",
                f"{starts} is too far from today ({today}): a stand of at most "
                f"{_LONGEST_STAND_DAYS} days can be looked at",
            )
        depot = values["depot"] or ""
        tables = self._tables(values, depot, notes)
        tables["site"]["parked_from"] = starts
        tables["run"] = {
            "horizon_days": horizon,
            "draws": self.settings.draws,
            "seed": zlib.crc32(f"{self.settings.seed}:{values['id']}".encode()),
            "weather_seed": self.settings.seed,
        }
        weather = self.settings.depot_weather.get(depot)
        folder = None if weather is None else weather.parent
        scenario = Scenario(tables=tables, where=f"row {number}", folder=folder)
        return FleetVehicle(
            id=values["id"],
            depot=depot,
            row=number,
            scenario=scenario,
            parked_from=parked,
            starts=starts,
            planned_return=back,
            assumed=tuple(
                name
                for name, columns in KEY_INPUTS.items()
                if all(values[column] is None for column in columns)
            ),
            notes=tuple(notes),
        )

    def _planned_return(
        self, back: dt.date | None, parked: dt.date, notes: list[str]
    ) -> dt.date | None:
        """Return the day a vehicle is needed; None without one, or where it has passed."""
        today, ahead = self.settings.today, self.settings.days_ahead
        if back is not None and back < today:
            notes.append(f"planned return {back} is in the past and not used")
            return None
        if back is not None and back < parked:
            raise _RowError("planned_return", f"{back} is before it is parked ({parked})")
        if back is not None and (back - today).days > ahead:
            raise _RowError(
                "planned_return", f"{back} is more than {ahead} days ahead; look further ahead"
            )
        return back

    def _starts(self, values: Mapping[str, Any], parked: dt.date, notes: list[str]) -> dt.date:
        """Return the day the charge is known for."""
        read_at = values["resting_voltage_at"]
        if values["resting_voltage_v"] is None:
            if read_at is not None:
                notes.append("a date of the voltage but no voltage")
            return parked
        if read_at is None:
            notes.append("undated resting voltage taken as read at parking")
            return parked
        if read_at > self.settings.today:
            raise _RowError("resting_voltage_at", f"{read_at} is in the future")
        if read_at < parked:
            notes.append(f"voltage of {read_at} is from before parking, taken as read at parking")
            return parked
        later: dt.date = read_at
        return later

    def _tables(
        self, values: Mapping[str, Any], depot: str, notes: list[str]
    ) -> dict[str, dict[str, Any]]:
        """Return the scenario tables of a row, without run settings."""
        tables: dict[str, dict[str, Any]] = {"battery": {}, "vehicle": {}, "site": {}}
        skip = set()
        if values["resting_voltage_v"] is not None and values["state_of_charge"] is not None:
            notes.append("state of charge not used: the resting voltage says it")
            skip.add("state_of_charge")
        if values["temperature_c"] is not None and values["climate"] is not None:
            notes.append("climate not used: a temperature is given")
            skip.add("climate")
        if any(values[name] is not None for name in ("trips_per_week", "trip_minutes")):
            tables["pattern"] = {}
        if values["unit"] != "":  # "" says: no unit fitted
            tables["unit"] = {}
        for name, column in BY_NAME.items():
            value = values[name]
            table, _, key = column.key.partition(".")
            if value is None or not key or name in skip or table not in tables or value == "":
                continue
            tables[table][key] = value
        if "unit" in tables and not {"preset", "sleep_a"} & set(tables["unit"]):
            tables["unit"]["preset"] = DEFAULT_UNIT
        weather = self.settings.depot_weather.get(depot)
        if weather is not None and "temperature_c" in tables["site"]:
            notes.append("the depot's weather file not used: a temperature is given")
        elif weather is not None:
            if tables["site"].pop("climate", None) is not None:
                notes.append("climate not used: the depot has a weather file")
            tables["site"]["epw" if weather.suffix.lower() == ".epw" else "hourly_csv"] = (
                weather.name
            )
        return tables


def _share_of_full(cell: Cell, value: float, match: Match) -> float:
    """Return a charge as a share: nobody means 85 times full, nor 0.85 %."""
    if 1.0 < value < _LEAST_PER_CENT and "%" not in str(cell):
        raise CellError(
            f"{str(cell)!r} is more than full and hardly a percentage; write 0.85, or 85 %"
        )
    if 1.0 < value <= 100.0:
        return share_from_percent(value)
    # a spreadsheet's per cent cell: shown as 85 %, stored as 0.85
    under_per_cent = match.factor != 1.0 and value <= match.factor and "%" not in str(cell)
    return value / match.factor if under_per_cent else value


def _names(kind: str) -> dict[str, str]:
    """Return keys and full names of presets → key."""
    found = {key.replace("_", " "): key for key in presets(kind)}
    found.update({preset.name.lower(): key for key, preset in presets(kind).items()})
    return found


def _name(cell: Cell) -> str:
    """Return a name as one line of printable text."""
    text = str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)
    clean = "".join(letter if letter.isprintable() else " " for letter in text)
    clean = " ".join(clean.split())
    if len(clean) > LONGEST_NAME:
        raise CellError(f"{clean[:30]!r}… has {len(clean)} characters; at most {LONGEST_NAME}")
    return clean


def _fields(table: Table, prefix: str) -> dict[str, Field]:
    found = {f"{prefix}{entry.key}": entry for entry in table.fields}
    for inner in table.tables:
        found.update(_fields(inner, f"{prefix}{inner.name}."))
    return found


_FIELDS: Final = _fields(SCENARIO, "")
