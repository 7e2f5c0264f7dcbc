"""What the columns of a list mean, decided from headings and all cells; doubts are asked.

One step of its own between the table of cells (`table`) and the vehicles (`vehicles`).
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from drainsim.errors import one_line
from drainsim.files.fleet.cells.bearing import (
    borne_out,
    choices_by_cells,
    completed_by_cells,
    holds_dates,
    holds_numbers,
    named_by_cells,
    nominal_voltages,
    whose_sleep,
)
from drainsim.files.fleet.cells.cell_kinds import Cell, is_empty, number_of
from drainsim.files.fleet.cells.choices import Choices
from drainsim.files.fleet.cells.conventions import (
    Numbers,
    decided_unit,
    decimal_evidence,
    exists,
    numbers_in,
    order_evidence,
    seem_swapped,
)
from drainsim.files.fleet.cells.dates import readings_of_date
from drainsim.files.fleet.cells.numbers import CellError
from drainsim.files.fleet.choosing import chosen_from
from drainsim.files.fleet.columns import BY_NAME, Column
from drainsim.files.fleet.headings import Match, as_chosen, match_headings, rank
from drainsim.files.fleet.language import language_of
from drainsim.files.fleet.table import RawTable
from drainsim.language import marked


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

    def __post_init__(self) -> None:
        """Keep the question one printable line: it quotes headings and cells of files."""
        object.__setattr__(self, "question", one_line(self.question))

    def as_dict(self) -> dict[str, object]:
        """Return it as JSON-ready data; columns count from 1."""
        column = None if self.number is None else self.number + 1
        return {
            "where": {"row": self.row, "column": self.heading or None, "column_number": column},
            "question": self.question,
            "option": self.option,
        }


@dataclass(frozen=True, slots=True)
class Understanding:
    """Each heading's match, decided, and what must be asked about columns."""

    matches: tuple[Match, ...]
    doubts: tuple[Doubt, ...]


def unnamed(number: int) -> str:
    """Return what the options call a column without a heading, counted from 0.

    Examples
    --------
    >>> unnamed(5)
    '(column 6)'
    """
    return f"(column {number + 1})"


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
    names = [heading or unnamed(n) for n, heading in enumerate(table.headings)]
    said = {heading: text for heading, text in (chosen or {}).items() if heading in names}
    strangers = {h: text for h, text in (chosen or {}).items() if h not in names}
    matches = match_headings(table.headings, chosen=strangers, parts=table.parts)
    matches = [
        replace(as_chosen(name, chosen_from(name, said[name])), heading=match.heading)
        if name in said
        else match
        for name, match in zip(names, matches, strict=True)
    ]
    columns = [
        [cells[n] for _, cells in table.rows if n < len(cells) and not is_empty(cells[n])]
        for n in range(len(matches))
    ]
    matches = [
        completed_by_cells(match, cells) for match, cells in zip(matches, columns, strict=True)
    ]
    matches = [
        borne_out(match, cells, choices) for match, cells in zip(matches, columns, strict=True)
    ]
    matches = nominal_voltages(matches, columns)
    matches, doubts = _claims_settled(matches, columns)
    matches = named_by_cells(matches, columns, len(table.rows))
    matches = choices_by_cells(matches, columns, choices)
    matches = _written(matches, columns, table.delimiter)
    matches = _dated(matches, columns)
    matches = whose_sleep(matches, columns)
    doubts += _two_meanings(matches, columns)
    doubts += _without_heading(matches, columns)
    matches = [
        replace(match, numbers=match.column is None and holds_numbers(cells))
        for match, cells in zip(matches, columns, strict=True)
    ]
    for number, match in enumerate(matches):
        if match.asked and match.column:
            doubts.append(doubt_of(match, number, match.asked, match.answers))
    return Understanding(tuple(matches), tuple(doubts))


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
            question = f"columns {heads} both mean the {BY_NAME[name].spoken}: which one counts?"
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
    twice = running = False
    if name == "id":
        running = [number_of(cell) for cell in cells] == list(range(1, len(cells) + 1)) or [
            str(cell) for cell in cells
        ] == [str(n) for n in range(1, len(cells) + 1)]
        counts = Counter(str(cell) for cell in cells)
        twice = len(counts) * 10 < len(cells) * 9
    return (match.basis != "chosen", not cells, twice, running, rank(match))


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
    found = [
        replace(match, swapped="asked")
        if match.column
        and BY_NAME[match.column].kind == "date"
        and not match.swapped
        and seem_swapped(cells)
        else match
        for match, cells in zip(matches, columns, strict=True)
    ]
    language = language_of([match.heading for match in matches])
    evidence = {
        n: order_evidence(columns[n], year_alone=match.column == "battery_fitted")
        for n, match in enumerate(matches)
        if match.column and BY_NAME[match.column].kind == "date"
    }
    for n, (fitting, _) in evidence.items():
        if not found[n].order and len(fitting) == 1:
            found[n] = replace(found[n], order=next(iter(fitting)))
    told = {found[n].order for n in evidence if found[n].order}
    for n, match in enumerate(matches):  # dates that are not used tell how dates are written
        if match.column is None and holds_dates(columns[n]):
            fitting, _ = order_evidence(columns[n], year_alone=False)
            told |= fitting if len(fitting) == 1 else frozenset()
    for n, (fitting, needed) in evidence.items():
        match = found[n]
        if match.order or not needed or not fitting:
            continue
        rest = frozenset(told) & fitting
        if language not in {"", "en"}:
            fitting -= {"mdy"}  # day first in all of them but some English
            rest = rest - {"mdy"} or (fitting if len(fitting) == 1 else rest)
        if len(rest) == 1:
            listed = marked("the other dates of the list")
            basis = listed if told & rest else marked("the headings' language")
            found[n] = replace(match, order=next(iter(rest)), basis=basis)
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


def _without_heading(matches: Sequence[Match], columns: Sequence[Sequence[Cell]]) -> list[Doubt]:
    """Return the questions about columns of numbers that have no heading."""
    return [
        Doubt(
            question=f"{str(cells[0])[:40]} in column {number + 1}, which has no heading: what "
            "is it?",
            option=f"--column '{unnamed(number)}=cold_cranking_a', for example, says what it is",
            number=number,
        )
        for number, (match, cells) in enumerate(zip(matches, columns, strict=True))
        if match.column is None and not match.confirmed and not match.heading
        and holds_numbers(cells)
    ]  # fmt: skip


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
        name, spoken = BY_NAME[match.may_be].public, BY_NAME[match.may_be].spoken
        doubts.append(
            Doubt(
                question=f"{str(cells[0])[:40]} under {match.heading!r}: {spoken} or "
                f"{match.instead}?",
                option=f"{option_for(match.heading, match.may_be)} (nothing after = leaves it out)",
                heading=match.heading,
                number=number,
                answers=((spoken, name), (match.instead, "")),
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
