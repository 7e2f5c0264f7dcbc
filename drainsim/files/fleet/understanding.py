"""What the columns of a list mean, decided from headings and all cells; doubts are asked.

One step of its own between the table of cells (`table`) and the vehicles (`vehicles`).
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from drainsim.files.fleet.cell_kinds import Cell, is_empty, number_of
from drainsim.files.fleet.choices import Choices, fits_choice
from drainsim.files.fleet.columns import BY_NAME, Column
from drainsim.files.fleet.conventions import (
    Numbers,
    decided_unit,
    decimal_evidence,
    exists,
    numbers_in,
    order_evidence,
)
from drainsim.files.fleet.dates import readings_of_date
from drainsim.files.fleet.headings import Match, match_headings, rank
from drainsim.files.fleet.numbers import CellError
from drainsim.files.fleet.table import RawTable

_SYSTEMS_V: Final = frozenset({12.0, 24.0})
_NAMED_VOLTAGE: Final = ("rest", "ruhe", "repos", "reposo", "riposo", "ocv", "open", "leerlauf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A question about a column or a row, and the option that answers it.

    `row` is None where a whole column is meant, `number` (from 0) where it is no column.
    """

    question: str
    option: str
    heading: str = ""
    number: int | None = None
    row: int | None = None
    answers: tuple[tuple[str, str], ...] = ()  # label → what it says of the heading

    def as_dict(self) -> dict[str, object]:
        """Return it as JSON-ready data; columns count from 1."""
        column = None if self.number is None else self.number + 1
        return {
            "where": {
                "row": self.row,
                "column": self.heading or None,
                "column_number": column,
            },
            "question": self.question,
            "option": self.option,
        }


@dataclass(frozen=True, slots=True)
class Understanding:
    """Each heading's match, decided, and what must be asked about columns."""

    matches: tuple[Match, ...]
    doubts: tuple[Doubt, ...]


def option_for(heading: str, column: str, answer: str = "") -> str:
    """Return the option of the command line that says what a heading means."""
    name = BY_NAME[column].public if column else ""
    said = f"{heading}={name}{f' [{answer}]' if answer else ''}"
    quoted = said.replace("'", "'\\''")
    return f"--column '{quoted}'"


def doubt_of(
    match: Match, number: int, question: str, answers: Sequence[str], *, row: int | None = None
) -> Doubt:
    """Return a question about a column that is understood but for what its brackets may say."""
    name = match.column or ""
    said = tuple((answer, f"{BY_NAME[name].public} [{answer}]") for answer in answers)
    option = " or ".join(option_for(match.heading, name, answer) for answer in answers[:2])
    return Doubt(
        question=question, option=option, heading=match.heading, number=number, row=row,
        answers=said,
    )  # fmt: skip


def understand(
    table: RawTable, choices: Choices, *, chosen: Mapping[str, str] | None = None
) -> Understanding:
    """Return what the columns of a table mean.

    Parameters
    ----------
    table : RawTable
    choices : mapping
        From `choices.choices_of`.
    chosen : mapping, optional
        Heading → column and conventions, decided by the user.

    Raises
    ------
    FleetError
        If a choice names a heading or column that is not there.
    """
    matches = match_headings(table.headings, chosen=chosen, parts=table.parts)
    columns = [
        [cells[n] for _, cells in table.rows if n < len(cells) and not is_empty(cells[n])]
        for n in range(len(matches))
    ]
    matches = [
        _borne_out(match, cells, choices) for match, cells in zip(matches, columns, strict=True)
    ]
    matches = _nominal_voltages(matches, columns)
    matches, doubts = _claims_settled(matches, columns)
    matches = _written(matches, columns, table.delimiter)
    matches = _dated(matches, columns)
    doubts += _two_meanings(matches, columns)
    matches = [
        replace(match, numbers=match.column is None and _holds_numbers(cells))
        for match, cells in zip(matches, columns, strict=True)
    ]
    for number, match in enumerate(matches):
        if match.asked and match.column:
            doubts.append(doubt_of(match, number, match.asked, match.answers))
    return Understanding(tuple(matches), tuple(doubts))


def _holds_numbers(cells: Sequence[Cell]) -> bool:
    """Say whether most cells of a column begin with a figure or are dates."""
    some = cells[:500]
    figures = sum(
        number_of(cell) is not None or not isinstance(cell, str) or cell.strip()[:1].isdigit()
        for cell in some
    )
    return bool(some) and figures * 2 > len(some)


def _borne_out(match: Match, cells: Sequence[Cell], choices: Choices) -> Match:
    """Return a match of a heading that says little, kept only if its cells are such values."""
    if not match.weak or match.column is None or not cells:
        return match
    column = BY_NAME[match.column]
    if column.kind == "text":
        return match
    some = cells[:500]
    if column.kind == "choice":
        fit = sum(fits_choice(cell, column.name, choices) for cell in some)
    else:
        fit = len(numbers_in(column, some).cells)
    if fit * 2 > len(some) or (fit and len(some) <= 2):
        return match
    for other in ("capacity_ah", "battery_profile", "vehicle_kind", "fuel", "battery_system"):
        if other == match.column or (other == "capacity_ah" and match.column != "battery_profile"):
            continue
        rival = BY_NAME[other]
        if rival.kind == "number":
            numbers = numbers_in(rival, some).cells
            hits = sum(written.unit == "ah" for _, written in numbers)
        else:
            hits = sum(fits_choice(cell, other, choices) for cell in some)
        if hits == len(some):
            return Match(match.heading, other, certain=False, basis="its cells")
    note = f"its cells are no values of {column.name}"
    return replace(match, column=None, certain=False, note=note, unit=None)


def _nominal_voltages(matches: Sequence[Match], columns: Sequence[Sequence[Cell]]) -> list[Match]:
    """Return the matches with a voltage that is 12 or 24 everywhere taken as the system."""
    found = list(matches)
    for number, match in enumerate(matches):
        if match.column != "resting_voltage_v" or match.basis == "chosen":
            continue
        numbers = numbers_in(BY_NAME["resting_voltage_v"], columns[number])
        values = {w.readings[0] for _, w in numbers.cells}
        if not values or len(numbers.cells) < len(columns[number]) or not values <= _SYSTEMS_V:
            continue
        if any(word in match.heading.lower() for word in _NAMED_VOLTAGE):
            question = f"{min(values):g} under {match.heading!r} everywhere: the system's voltage?"
            found[number] = replace(match, asked=question, answers=("V",))
        else:
            found[number] = Match(
                match.heading, "battery_system", certain=match.certain, basis="12 or 24 everywhere"
            )
    return found


def _claims_settled(
    matches: Sequence[Match], columns: Sequence[Sequence[Cell]]
) -> tuple[list[Match], list[Doubt]]:
    """Return each column claimed once; two headings of numbers for one are asked about."""
    found, doubts = list(matches), []
    claims: dict[str, list[int]] = {}
    for number, match in enumerate(matches):
        if match.column:
            claims.setdefault(match.column, []).append(number)
    for name, rivals in claims.items():
        if len(rivals) < 2:
            continue
        rivals.sort(key=lambda n: _preference(matches[n], columns[n], name))
        first, others = rivals[0], rivals[1:]
        picked = matches[first].basis == "chosen"
        equal = [n for n in others if matches[n].certain == matches[first].certain]
        asks = BY_NAME[name].kind in {"number", "date"} and not picked and bool(equal)
        if asks and columns[first] and any(columns[n] for n in equal):
            heads = " and ".join(repr(matches[n].heading) for n in (first, *equal))
            question = f"columns {heads} both mean {BY_NAME[name].public}: which one counts?"
            for n in (first, *equal):
                option = option_for(matches[n].heading, name)
                doubts.append(
                    Doubt(
                        question=question,
                        option=option,
                        heading=matches[n].heading,
                        number=n,
                        answers=(
                            (f"{matches[n].heading} counts", BY_NAME[name].public),
                            (f"{matches[n].heading} does not", ""),
                        ),
                    )
                )
                found[n] = replace(matches[n], column=None, note="asked which one counts")
        for n in others:
            if found[n].column:
                note = f"{name} is read from {matches[first].heading!r}"
                found[n] = replace(matches[n], column=None, note=note)
    return found, doubts


def _preference(match: Match, cells: Sequence[Cell], name: str) -> tuple[object, ...]:
    """Return what sorts rivals for one column: chosen, filled, without doubles, best heading."""
    twice = False
    if name == "id":
        counts = Counter(str(cell) for cell in cells)
        twice = len(counts) * 10 < len(cells) * 9
    return (match.basis != "chosen", not cells, twice, rank(match))


def _written(
    matches: Sequence[Match], columns: Sequence[Sequence[Cell]], delimiter: str
) -> list[Match]:
    """Return the matches with number convention and unit decided."""
    numbers: dict[int, Numbers] = {
        n: numbers_in(BY_NAME[match.column], columns[n])
        for n, match in enumerate(matches)
        if match.column and BY_NAME[match.column].kind == "number"
    }
    whole_file = decimal_evidence(numbers.values())
    hint = {";": ",", ",": "."}.get(delimiter, "")
    found = list(matches)
    for n, part in numbers.items():
        column = BY_NAME[matches[n].column or ""]
        own = _both_marks(part)
        decimal = matches[n].decimal or decimal_evidence([part])
        if not decimal and not own:
            decimal = whole_file
        match = replace(matches[n], decimal=decimal, decimal_hint="" if own else hint)
        found[n] = match if match.asked else decided_unit(match, column, part)
    return found


def _both_marks(part: Numbers) -> bool:
    """Say whether a column proves both decimal marks, so that neither holds for all."""
    comma = any(written.point is None for _, written in part.cells)
    return comma and any(written.comma is None for _, written in part.cells)


def _dated(matches: Sequence[Match], columns: Sequence[Sequence[Cell]]) -> list[Match]:
    """Return the matches with the order of their dates decided, or asked."""
    found = list(matches)
    evidence = {
        n: order_evidence(columns[n], year_alone=match.column == "battery_fitted")
        for n, match in enumerate(matches)
        if match.column and BY_NAME[match.column].kind == "date"
    }
    for n, (fitting, _) in evidence.items():
        if not matches[n].order and len(fitting) == 1:
            found[n] = replace(matches[n], order=next(iter(fitting)))
    told = {found[n].order for n in evidence if found[n].order}
    for n, (fitting, needed) in evidence.items():
        match = found[n]
        if match.order or not needed or not fitting:
            continue
        rest = told & fitting
        if len(rest) == 1:
            found[n] = replace(match, order=rest.pop(), basis="the other dates of the list")
            continue
        example = _two_days(columns[n], match.column == "battery_fitted")
        orders = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
        named = ", ".join(orders[order] for order in ("dmy", "mdy", "ymd") if order in fitting)
        found[n] = replace(
            match,
            asked=f"{example} under {match.heading!r}: {named.replace(', ', ' or ')}?",
            answers=tuple(named.split(", ")),
        )
    return found


def _two_days(cells: Sequence[Cell], year_alone: bool) -> str:
    for cell in cells:
        try:
            if len(set(readings_of_date(cell, year_alone=year_alone).values())) > 1:
                return str(cell)
        except CellError:
            continue
    return ""


def _two_meanings(matches: Sequence[Match], columns: Sequence[Sequence[Cell]]) -> list[Doubt]:
    """Return the questions about headings that two things may bear."""
    taken = {match.column for match in matches}
    doubts = []
    for number, (match, cells) in enumerate(zip(matches, columns, strict=True)):
        if not match.may_be or match.may_be in taken or not cells:
            continue
        if not _plausible(BY_NAME[match.may_be], cells):
            continue
        name = BY_NAME[match.may_be].public
        doubts.append(
            Doubt(
                question=f"{str(cells[0])[:40]} under {match.heading!r}: {name} or "
                f"{match.instead}?",
                option=f"{option_for(match.heading, match.may_be)} (nothing after = leaves it out)",
                heading=match.heading,
                number=number,
                answers=((name, name), (match.instead, "")),
            )
        )
    return doubts


def _plausible(column: Column, cells: Sequence[Cell]) -> bool:
    if column.kind == "date":
        for cell in cells[:50]:
            try:
                readings_of_date(cell, year_alone=column.name == "battery_fitted")
            except CellError:
                continue
            return True
        return False
    numbers = numbers_in(column, cells[:50]).cells
    units = column.usual or ("",)
    return any(exists(column, v, u) for _, w in numbers for v in w.readings for u in units)
