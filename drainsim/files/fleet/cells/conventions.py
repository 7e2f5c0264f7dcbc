"""How a column writes its values, decided from its heading and all of its cells.

Number convention, unit and date order hold for the whole column; where two readings stay
plausible the column (or the cell that does not go with it) is asked about.
"""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import Cell, is_empty
from drainsim.files.fleet.cells.choices import CellDoubtError
from drainsim.files.fleet.cells.dates import readings_of_date
from drainsim.files.fleet.cells.numbers import CellError, Written, brief, written_number
from drainsim.files.fleet.choosing import ORDER_WORDS
from drainsim.files.fleet.columns import BY_NAME, CUSTOMARY, Column, shown_unit
from drainsim.files.fleet.headings import Match
from drainsim.language import marked

SHARES: Final = frozenset({"state_of_charge", "health", "second_health"})
_MARKS: Final = ("decimal comma", "decimal point")
_MONTHS: Final = 12
_LEAST_PER_CENT: Final = 5.0  # a bare number below is a slip, not a percentage of charge
_OLD_YEARS: Final = 6.0  # where all are older, the numbers may be months
_OLDEST_YEARS: Final = 15.0


@dataclass(frozen=True, slots=True)
class Numbers:
    """The cells of a column that are numbers: each with its cell, as written."""

    cells: tuple[tuple[Cell, Written], ...]

    @property
    def bare(self) -> list[Written]:
        """Numbers without a unit of their own, zeros aside."""
        return [w for _, w in self.cells if not w.unit and any(w.readings)]


def numbers_in(column: Column, cells: Iterable[Cell]) -> Numbers:
    """Return the cells that are numbers of a column."""
    found = []
    for cell in cells:
        if is_empty(cell):
            continue
        try:
            found.append((cell, written_number(cell, column)))
        except CellError:
            continue
    return Numbers(tuple(found))


def decimal_evidence(numbers: Iterable[Numbers]) -> str:
    """Return "," or "." as the decimal mark that cells prove; "" where they do not or differ."""
    comma = point = False
    for part in numbers:
        for _, written in part.cells:
            comma |= written.point is None
            point |= written.comma is None
    return "" if comma == point else "," if comma else "."


def exists(column: Column, value: float, unit: str) -> bool:
    """Say whether a number in a unit is a value such a column can have."""
    factor, offset = column.units.get(unit, (1.0, 0.0))
    low, high = column.exists
    return low <= value * factor + offset <= high


def _any_exists(column: Column, written: Written, unit: str, decimal: str) -> bool:
    return any(exists(column, value, unit) for value in _by_decimal(written, decimal))


def _by_decimal(written: Written, decimal: str) -> tuple[float, ...]:
    chosen = {",": written.comma, ".": written.point}.get(decimal)
    return written.readings if chosen is None else (chosen,)


def with_unit(match: Match, column: Column, unit: str, basis: str) -> Match:
    """Return a match whose bare numbers are in a unit."""
    factor, offset = column.units.get(unit, (1.0, 0.0))
    return replace(match, unit=unit, factor=factor, offset=offset, basis=basis)


def decided_unit(match: Match, column: Column, numbers: Numbers) -> Match:
    """Return a match with the unit of its bare numbers decided, or with what must be asked."""
    if match.confirmed or not column.usual:
        return match
    if column.name in SHARES:
        return _decided_share(match, numbers)
    bare = numbers.bare
    if not bare:
        return match
    if match.unit:
        odd = [w for w in bare if _other_units(column, w, match)]
        if len(odd) * 2 <= len(bare):
            return match
        return _ask(match, column, odd[0], [match.unit, *_other_units(column, odd[0], match)])
    return _unit_of_others(match, column, numbers) or _unit_by_size(match, column, bare)


def _unit_of_others(match: Match, column: Column, numbers: Numbers) -> Match | None:
    """Return a match with the unit that some cells say, where the bare ones can be in it."""
    said, bare = {w.unit for _, w in numbers.cells if w.unit}, numbers.bare
    if len(said) != 1 or len(bare) == len(numbers.cells):
        return None
    (unit,) = said
    if not all(_any_exists(column, w, unit, match.decimal) for w in bare):
        return None
    if unit == "°f" and len(bare) > len(numbers.cells) - len(bare):
        return _ask(match, column, bare[0], ["°c", "°f"])  # -4 °F is -20 °C
    return with_unit(match, column, unit, marked("the cells that say their unit"))


def _unit_by_size(match: Match, column: Column, bare: Sequence[Written]) -> Match:
    """Return a match with the unit in which all bare numbers can exist, or asked."""
    can = {
        unit: [_any_exists(column, w, unit, match.decimal) for w in bare] for unit in column.usual
    }
    fitting = [unit for unit, fits in can.items() if all(fits)]
    if column.name == "battery_age_years":
        return _decided_age(match, column, bare, fitting)
    if column.name in CUSTOMARY and column.usual[0] in fitting:
        return with_unit(match, column, column.usual[0], "the usual unit")
    if len(fitting) == 1:
        return with_unit(match, column, fitting[0], "what its numbers can be")
    possible = fitting or [unit for unit, fits in can.items() if any(fits)]
    if len(possible) < 2:
        return with_unit(match, column, possible[0] if possible else column.usual[0], "its numbers")
    return _ask(match, column, bare[0], possible)


def _decided_age(
    match: Match, column: Column, bare: Sequence[Written], fitting: Sequence[str]
) -> Match:
    values = [value for w in bare for value in _by_decimal(w, match.decimal)[:1]]
    smallest, largest = min(values), max(values)
    if largest <= _OLDEST_YEARS and (smallest <= _OLD_YEARS or any(v % 1 for v in values)):
        return with_unit(match, column, "years", "the usual unit")
    if largest > _OLDEST_YEARS and "months" in fitting and smallest > _OLD_YEARS:
        return with_unit(match, column, "months", "what its numbers can be")
    most = max(bare, key=lambda w: max(w.readings))
    return _ask(match, column, most, ["years", "months"])


def _decided_share(match: Match, numbers: Numbers) -> Match:
    """Return how a column writes shares: as per cent or as parts of one, for the whole column."""
    values = [w.readings[0] for w in numbers.bare]
    column = BY_NAME[match.column or ""]
    if not values:
        return match
    if any(value > 1.0 for value in values) and (
        match.unit == "%" or any(value >= _LEAST_PER_CENT for value in values)
    ):
        mixed = any(0.0 < value < 1.0 for value in values)
        basis = match.basis if match.unit else marked("its other cells")
        return replace(with_unit(match, column, "%", basis), mixed=mixed)
    whole = all(value in {0.0, 1.0} for value in values)
    if match.unit == "%" or whole:
        first = numbers.bare[0]
        return _ask(match, column, first, ["%", "share"])
    return replace(
        match, unit="share", factor=1.0, offset=0.0, basis=marked("what its numbers can be")
    )


def _other_units(column: Column, written: Written, match: Match) -> list[str]:
    """Return the units in which a bare number can exist where it cannot in the heading's."""
    unit = match.unit or ""
    if _any_exists(column, written, unit, match.decimal):
        return []
    return [
        other
        for other in dict.fromkeys((*column.usual, *column.units))
        if other != unit and _any_exists(column, written, other, match.decimal)
    ]


def _ask(match: Match, column: Column, written: Written, units: Sequence[str]) -> Match:
    number = f"{written.readings[0]:g}"
    named = " or ".join(shown_unit(unit) for unit in dict.fromkeys(units))
    if column.name in SHARES:
        named = f"{number} % or {100 * written.readings[0]:g} %"
    return replace(
        match,
        asked=f"{number} under {match.heading!r}: {named}?",
        answers=tuple(shown_unit(unit) for unit in dict.fromkeys(units)),
        unit=None,
    )


def number_in(cell: Cell, column: Column, match: Match) -> float | None:
    """Return a cell's number in our unit, None for a 0 that stands for "not measured".

    Raises
    ------
    CellDoubtError
        If it has two plausible readings.
    CellError
        If it is not a number of this column.
    """
    written = written_number(cell, column)
    if column.zero_is_blank and not any(written.readings):
        return 0.0 if dict(match.meanings).get("0") == "0" else None
    if match.asked and not written.unit:
        raise CellDoubtError(match.asked, answers=match.answers)
    nominal = str(cell).strip().lower().removesuffix("v").strip() in {"12", "24"}
    if column.name == "resting_voltage_v" and nominal and not match.confirmed:
        raise CellDoubtError(
            f"{brief(cell)} under {match.heading!r}: measured, or the nominal voltage?",
            answers=("V",),
        )
    value = _value_in(cell, written, column, match)
    low, high = column.exists
    if match.unit and not written.unit and column.name not in SHARES and not low <= value <= high:
        others = _other_units(column, written, match)
        if others:
            names = " or ".join(shown_unit(unit) for unit in (match.unit, *others))
            raise CellDoubtError(
                f"{brief(cell)} under {match.heading!r}: {names}?",
                remedy=f"write the unit into the cell, as in {str(cell).strip()[:20]} "
                f"{shown_unit(others[0])}",
            )
    return float(f"{value:.12g}")  # without the noise of conversions


def _value_in(cell: Cell, written: Written, column: Column, match: Match) -> float:
    """Return the one value that "4,500" can have, in our unit."""
    low, high = column.exists
    factor, offset = _scale(cell, written, column, match)
    values = [reading * factor + offset for reading in _by_decimal(written, match.decimal)]
    fitting = [value for value in values if low <= value <= high]
    by_mark = {",": written.comma, ".": written.point}
    if len(values) == 1:
        other = by_mark["." if match.decimal == "," else ","]
        if fitting or other is None or match.confirmed:
            return values[0]
        if not low <= other * factor + offset <= high:
            return values[0]
    elif len(fitting) == 1:
        return fitting[0]
    else:
        hinted = by_mark.get(match.decimal_hint)
        if fitting and hinted is not None and hinted == min(written.readings):
            return hinted * factor + offset
    raise CellDoubtError(
        f"{brief(cell)} can be read in two ways, {min(written.readings):g} or "
        f"{max(written.readings):g}",
        answers=_MARKS,
    )


def _scale(cell: Cell, written: Written, column: Column, match: Match) -> tuple[float, float]:
    """Return factor and offset from a cell's number to our unit."""
    if written.unit:
        return column.units[written.unit]
    if column.name not in SHARES:
        return match.factor, match.offset
    part = written.readings[0]
    if match.unit == "%":
        if (0.0 < part < 1.0 or (part == 1.0 and match.mixed)) and not match.confirmed:
            raise CellDoubtError(
                f"{brief(cell)} under {match.heading!r}: {part:g} % or {100 * part:g} %?",
                answers=("%",),
            )
        return 0.01, 0.0
    if part >= _LEAST_PER_CENT:
        return 0.01, match.offset
    if part > 1.0 and (column.name == "state_of_charge" or part >= 1.2):
        raise CellError(
            f"{str(cell)!r} is more than full and hardly a percentage; write 0.85, or 85 %"
        )
    return match.factor, match.offset


def order_evidence(cells: Iterable[Cell], *, year_alone: bool) -> tuple[frozenset[str], bool]:
    """Return the orders of day, month and year that fit all cells, and whether any needs one.

    Cells that begin with a year of four digits, and real dates, need none.
    """
    fitting: frozenset[str] = frozenset({"dmy", "mdy", "ymd"})
    needed = False
    pointed = False
    for cell in cells:
        if is_empty(cell):
            continue
        try:
            readings = readings_of_date(cell, year_alone=year_alone)
        except CellError:
            continue
        text = str(cell).strip()
        if "" in readings or text[:4].isdigit():
            continue
        if "." in text:
            pointed = True
            continue
        needed = needed or len(set(readings.values())) > 1
        fitting &= frozenset(readings)
    if pointed and len(fitting) > 1 and "dmy" in fitting:
        fitting = frozenset({"dmy"})
    return fitting, needed


SWAP_ANSWERS: Final = ("dates as shown", "dates swapped")


def seem_swapped(cells: Sequence[Cell]) -> bool:
    """Say whether a spreadsheet seems to have read some dates with day and month exchanged.

    Opened under the other convention, dates whose day is 12 or less become real dates, exchanged,
    and the rest stays text.
    """
    real = [cell for cell in cells if isinstance(cell, dt.date)]
    texts = [cell for cell in cells if isinstance(cell, str) and not is_empty(cell)]
    if not real or not texts or any(date.day > _MONTHS for date in real):
        return False
    firsts = [re.match(r"^\s*(\d{1,2})[./-](\d{1,2})[./-]\d{2,4}", text) for text in texts]
    return all(found and int(found.group(1)) > _MONTHS for found in firsts)


def _unswapped(cell: dt.date, match: Match) -> dt.date:
    shown = cell.date() if isinstance(cell, dt.datetime) else cell
    other = shown.replace(month=shown.day, day=shown.month)
    if match.swapped == "swapped" or other == shown:
        return other
    raise CellDoubtError(
        f"{shown} beside dates that stayed text: {shown} or {other}, day and month exchanged when "
        "the sheet was opened?",
        answers=SWAP_ANSWERS,
    )


def date_in(cell: Cell, column: Column, match: Match) -> dt.date:
    """Return a cell's date.

    Raises
    ------
    CellDoubtError
        If it may be two days and the column does not say which.
    CellError
        If it is no date.
    """
    if isinstance(cell, dt.date) and cell.day <= 12 and match.swapped in {"asked", "swapped"}:
        return _unswapped(cell, match)
    readings = readings_of_date(cell, year_alone=column.name == "battery_fitted")
    days = set(readings.values())
    if len(days) == 1:
        return days.pop()
    if match.order in readings:
        return readings[match.order]
    if match.asked:
        raise CellDoubtError(match.asked, answers=match.answers)
    named = " or ".join(str(day) for day in sorted(days))
    raise CellDoubtError(
        f"{brief(cell)}: day or month first? {named}",
        answers=tuple(ORDER_WORDS[order] for order in readings),
    )
