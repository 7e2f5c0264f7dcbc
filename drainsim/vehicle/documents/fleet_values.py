"""One row of a fleet list to its values: every fault of the row at once, every origin kept."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from drainsim.errors import DrainsimError, one_line
from drainsim.files.fleet.cells.cell_kinds import FORMULA, Cell, is_empty
from drainsim.files.fleet.cells.choices import KINDS_AS_FUEL, CellDoubtError, Choices, choice_of
from drainsim.files.fleet.cells.conventions import date_in, number_in
from drainsim.files.fleet.cells.labels import LABELS, PAIR, label_values, says_ah
from drainsim.files.fleet.cells.numbers import CellError, brief, written_number
from drainsim.files.fleet.columns import BY_NAME, Column
from drainsim.files.fleet.headings import Match
from drainsim.files.fleet.understanding import Doubt, doubt_of
from drainsim.files.fleet.words import NEGATIONS, SINCE, plain
from drainsim.language import Said, message
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.keys.schema import BY_COLUMN

LONGEST_NAME: Final = 80
_DAYS_A_YEAR: Final = 365.25
_MOST_APART_YEARS: Final = 1.5  # an age and a fitting date that far apart contradict each other
# Rest voltage of a flat and of a full 12 V lead battery, in round numbers; common practice, no
# source. Only to see that a charge and a voltage cannot belong to one battery.
_EMPTY_V, _FULL_V, _MOST_APART_SHARE = 11.8, 12.75, 0.5
_JOINED: Final = frozenset({"24V", "parallel"})
_FLAT_CURVES: Final = frozenset({"lithium_iron_phosphate_12v"})
_PAIR_V: Final = (18.0, 32.0)  # what two 12 V batteries in series can rest at


@dataclass(frozen=True, slots=True, kw_only=True)
class RowProblem:
    """Why a row could not be used: the cell and what would be right; `asked` where in doubt."""

    row: int
    column: str
    sentence: str
    asked: Doubt | None = None
    number: int | None = None  # of the column, from 0
    vehicle: str = ""

    def in_words(self) -> str:
        """Return which row of a list is wrong, where and why."""
        column = f", column {self.column}" if self.column else ""
        return f"row {self.row}{column}: {self.sentence}"


@dataclass(frozen=True, slots=True)
class Used:
    """A value as it is used: its unit is the column's own, its origin cell or derived."""

    column: str
    value: Any
    origin: str
    heading: str


@dataclass(slots=True)
class RowValues:
    """What a row says: values by column, their origins, notes and faults."""

    row: int
    matches: Sequence[Match]
    values: dict[str, Any] = field(default_factory=dict)
    used: dict[str, Used] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    faults: list[RowProblem] = field(default_factory=list)
    questions: list[Doubt] = field(default_factory=list)  # answered by a default until answered

    def get(self, column: str) -> Any:
        """Return a column's value; None where the row says nothing."""
        return self.values.get(column)

    def take(self, column: str, value: Any, origin: str, heading: str) -> None:
        """Write down a value that is used, with where it came from."""
        self.values[column] = value
        self.used[column] = Used(column, value, origin, heading)

    def place_of(self, column: str) -> int | None:
        """Return which of the list's columns gives one, from 0."""
        return next((n for n, match in enumerate(self.matches) if match.column == column), None)

    def fault(
        self, place: int | None, heading: str, sentence: str, asked: Doubt | None = None
    ) -> None:
        """Write down why a cell of the row cannot be used."""
        said = one_line(sentence)
        self.faults.append(
            RowProblem(row=self.row, column=heading, sentence=said, asked=asked, number=place)
        )

    def refuse(self, column: str, sentence: str) -> None:
        """Write down why a row cannot be used, at the list's column that gives a value."""
        place = self.place_of(column)
        self.fault(place, column if place is None else self.matches[place].heading, sentence)

    def fault_of(self, column: str, sentence: str) -> None:
        """Write down why a value that was read cannot be used."""
        self.fault(self.place_of(column), self.used[column].heading, sentence)

    def warn(self, text: str, **figures: Said) -> None:
        """Write down what to know about the row, as `message` takes it."""
        self.notes.append(message(text, **figures))

    def drop(self, column: str, note: str = "", *, shown: bool = False) -> None:
        """Take out a value that is not used, saying why; `shown` as it was read."""
        self.values.pop(column, None)
        if not shown:
            self.used.pop(column, None)
        if note:
            self.notes.append(note)


def row_values(
    number: int,
    cells: Sequence[Cell],
    matches: Sequence[Match],
    choices: Choices,
    *,
    today: dt.date,
) -> RowValues:
    """Return everything a row says, with all of its faults."""
    found = RowValues(number, matches)
    for place, match in enumerate(matches):
        if match.column is None or place >= len(cells) or is_empty(cells[place]):
            continue
        column, cell = BY_NAME[match.column], cells[place]
        try:
            _take_cell(found, cell, column, match, choices, place)
        except CellDoubtError as doubt:
            asked = doubt_of(match, place, str(doubt), doubt.answers, row=number)
            if doubt.answers:
                sentence = f"{doubt} ({asked.option} answers it)"
            else:
                asked = replace(asked, option=doubt.remedy)
                sentence = f"{doubt} ({doubt.remedy})"
            found.fault(place, match.heading, sentence, asked)
        except (CellError, DrainsimError) as error:
            found.fault(place, match.heading, str(error))
    _standard_from_heading(found)
    _kind_from_fuel(found)
    _age_from_fitting(found, today)
    _parked_by_days(found, today)
    _voltage_of_a_pair(found)
    _two_charges(found)
    _two_batteries(found)
    _future_parking(found, today)
    return found


def _take_cell(
    found: RowValues,
    cell: Cell,
    column: Column,
    match: Match,
    choices: Choices,
    place: int,
) -> None:
    """Read one cell into a row's values."""
    batteries = column.name == "capacity_ah" or match.basis == LABELS
    if batteries and says_ah(cell):
        _take_battery(found, cell, match, choices, place)
    elif column.kind == "number":
        _take_number(found, cell, column, match, place)
    elif column.kind == "choice":
        _take_choice(found, cell, column, match, choices)
    else:
        value = date_in(cell, column, match) if column.kind == "date" else _name(cell)
        found.take(column.name, value, "cell", match.heading)


def _take_battery(found: RowValues, cell: Cell, match: Match, choices: Choices, place: int) -> None:
    """Read a label, or what is written like a capacity alone: "ca. 70 Ah"."""
    try:
        said = label_values(cell, choices)
    except CellError as error:
        try:
            _take_number(found, cell, BY_NAME["capacity_ah"], match, place)
        except CellError:
            raise error from None
        return
    if said.pop(PAIR, None):
        found.values[PAIR] = True
    for name, value in said.items():
        if isinstance(value, float):
            value = float(BY_COLUMN[name].check(value, where=match.heading))
        found.take(name, value, "cell", match.heading)


def _take_choice(
    found: RowValues, cell: Cell, column: Column, match: Match, choices: Choices
) -> None:
    kind = choices["vehicle_kind"].get(plain(str(cell)))
    if column.name == "fuel" and kind in KINDS_AS_FUEL:
        found.take("_kind_as_fuel", kind, "derived", match.heading)
        return
    value = choice_of(cell, column.name, choices, dict(match.meanings))
    if value != "" or column.name == "unit":
        origin = "derived" if match.basis.startswith("12 or 24") else "cell"
        found.take(column.name, value, origin, match.heading)


def _take_number(found: RowValues, cell: Cell, column: Column, match: Match, place: int) -> None:
    number = None if _says_nothing(cell) else number_in(cell, column, match)
    if number is None:
        found.notes.append(f"{match.heading} {brief(cell)}: taken as not measured")
        if not _says_nothing(cell) and dict(match.meanings).get("0") is None:
            question = f"{brief(cell)} under {match.heading!r}: not measured, or really 0?"
            found.questions.append(doubt_of(match, place, question, ("0: ", "0: 0"), row=found.row))
        return
    value = _in_range(number, column, match)
    written = written_number(cell, column)
    standard = written.standard or match.standard
    if written.pair:
        found.values[PAIR] = True
    if written.fuel and found.get("fuel") is None:
        found.take("fuel", written.fuel, "cell", match.heading)
    if column.name == "cold_cranking_a" and standard:
        found.take("cranking_standard", standard, "cell", match.heading)
    found.take(column.name, value, "cell", match.heading)


def _says_nothing(cell: Cell) -> bool:
    """Say whether a cell says in words that there is no number."""
    if not isinstance(cell, str) or any(letter.isdigit() for letter in cell):
        return False
    words = plain(cell).split()
    return bool(words) and words[0] in NEGATIONS


def _in_range(value: float, column: Column, match: Match) -> float:
    """Return a number that a scenario accepts; a pair's voltage is looked at later."""
    if column.name == "resting_voltage_v" and _PAIR_V[0] <= value <= _PAIR_V[1]:
        return value
    if column.name == "parked_days":
        low, high = column.exists
        if not low <= value <= high:
            raise CellError(f"{value:g} d is outside {low:g} to {high:g} d; days it has stood")
        return value
    checked: float = BY_COLUMN[column.name].check(value, where=match.heading)
    return float(checked)


def _standard_from_heading(found: RowValues) -> None:
    standard = found.get("cranking_standard")
    if standard is None or standard in {"SAE", "EN", "DIN", "JIS"}:
        return
    found.refuse(
        "cold_cranking_a",
        f"a rating by {standard} is not known here; convert it to EN, SAE, DIN or JIS, or leave "
        "it out",
    )


def _kind_from_fuel(found: RowValues) -> None:
    """Take a fuel "electric" or "hybrid" as the kind of vehicle."""
    said = found.used.pop("_kind_as_fuel", None)
    found.values.pop("_kind_as_fuel", None)
    if said is None:
        return
    if found.get("vehicle_kind") in (None, said.value):
        found.take("vehicle_kind", said.value, "derived", said.heading)
        found.notes.append(f"{said.heading} {said.value!r} taken as the kind of vehicle")
    else:
        found.notes.append(
            f"{said.heading} {said.value!r} not used: the kind of vehicle is "
            f"{found.get('vehicle_kind')}"
        )


def _age_from_fitting(found: RowValues, today: dt.date) -> None:
    """Calculate the battery's age from the day it was fitted."""
    fitted, said = found.get("battery_fitted"), found.get("battery_age_years")
    if fitted is None:
        return
    if fitted.year == today.year and (fitted.month, fitted.day) == (7, 1):
        fitted = min(fitted, today)  # this year: its middle may still be to come
    age = (today - fitted).days / _DAYS_A_YEAR
    if age < 0:
        found.fault_of("battery_fitted", f"{fitted} is in the future: when was it fitted?")
    elif said is not None and abs(said - age) > _MOST_APART_YEARS:
        found.fault_of(
            "battery_fitted",
            f"fitted on {fitted} is {age:.1f} years ago but its age is given as {said:g} years; "
            "keep one of them",
        )
    elif said is None and age > BATTERY.age_years.high:
        found.fault_of("battery_fitted", f"{fitted} is more than 20 years ago")
    elif said is None:
        heading = found.used["battery_fitted"].heading
        found.take("battery_age_years", round(age, 2), "derived", heading)


def _parked_by_days(found: RowValues, today: dt.date) -> None:
    """Count the day of parking back from today; a date beside it must agree within a day."""
    stood = found.get("parked_days")
    if stood is None:
        return
    heading = found.used["parked_days"].heading
    day, said = today - dt.timedelta(days=int(stood)), found.get("parked_from")
    if said is None:
        found.take("parked_from", day, "derived", heading)
    elif abs((said - day).days) > 1:
        found.fault_of(
            "parked_days",
            f"{stood:g} days before {today} is {day}, but it is parked since {said}; keep one",
        )


def _voltage_of_a_pair(found: RowValues) -> None:
    """Take the voltage across two batteries of a 24 V system as half of it each.

    Two batteries that rest at it are in series, whether or not the row says so.
    """
    volts = found.get("resting_voltage_v")
    if volts is None or volts < _PAIR_V[0]:
        return
    said = found.used["resting_voltage_v"]
    if PAIR in found.values and found.get("battery_system") is None:
        found.take("battery_system", "24V", "derived", said.heading)
    if found.get("battery_system") == "24V":
        found.take("resting_voltage_v", volts / 2, "derived", said.heading)
        found.notes.append(f"{volts:g} V across the pair taken as {volts / 2:g} V each")
        return
    found.fault_of(
        "resting_voltage_v",
        f"{volts:g} V is a 24 V system's voltage: say 24V in a column 'system', or write the "
        "voltage of one battery",
    )


def _two_batteries(found: RowValues) -> None:
    """Take "2x70 Ah" as one battery's 70 Ah where the row says how the two are joined."""
    if found.values.pop(PAIR, None) is None or found.get("battery_system") in _JOINED:
        return
    capacity_ah = found.used["capacity_ah"].value
    sentence = f"two of {capacity_ah:g} Ah: say 24V (in series) or parallel in a column 'system'"
    found.fault_of("capacity_ah", sentence)


def _two_charges(found: RowValues) -> None:
    """Ask where a state of charge and a resting voltage cannot both be right."""
    share, volts = found.get("state_of_charge"), found.get("resting_voltage_v")
    if share is None or volts is None or found.get("battery_profile") in _FLAT_CURVES:
        return
    by_voltage = min(max((volts - _EMPTY_V) / (_FULL_V - _EMPTY_V), 0.0), 1.0)
    if abs(by_voltage - share) > _MOST_APART_SHARE:
        found.fault_of(
            "state_of_charge",
            f"{100 * share:.3g} % and {volts:.4g} V contradict each other: keep one of them",
        )


def _future_parking(found: RowValues, today: dt.date) -> None:
    """Ask where a vehicle is parked "since" a day still to come; any other such day is noted."""
    parked, place = found.get("parked_from"), found.place_of("parked_from")
    if parked is None or place is None or parked <= today:
        return
    match = found.matches[place]
    past = bool(set(plain(match.heading).split()) & SINCE)
    if past and "planned" not in dict(match.meanings):
        question = f"{parked} under {match.heading!r} is still to come: planned, or a slip?"
        asked = doubt_of(match, place, question, ("as planned",), row=found.row)
        found.fault(place, match.heading, f"{question} ({asked.option})", asked)
    else:
        found.notes.append(f"parked from {parked}, in the future: the stand begins that day")


def _name(cell: Cell) -> str:
    """Return a name as one line of printable text."""
    if cell == FORMULA:
        raise CellError(f"{FORMULA}: open the list in its program, save it and load it again")
    text = str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        text = cell.date().isoformat()
    clean = "".join(letter if letter.isprintable() else " " for letter in text)
    clean = " ".join(clean.split())
    if len(clean) > LONGEST_NAME:
        raise CellError(f"{clean[:30]!r}… has {len(clean)} characters; at most {LONGEST_NAME}")
    return clean
