"""What the cells of columns say about their meaning where the headings say too little."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import Cell, number_of
from drainsim.files.fleet.cells.choices import Choices, fits_choice
from drainsim.files.fleet.cells.conventions import numbers_in
from drainsim.files.fleet.cells.labels import LABELS, is_label, says_ah
from drainsim.files.fleet.columns import BY_NAME
from drainsim.files.fleet.heading_parts import is_unit
from drainsim.files.fleet.headings import Match, heading_match
from drainsim.files.fleet.words import DRIVERS, ROOM_OF, plain
from drainsim.language import marked

_FEWEST_NAMES: Final = 3  # rows by which a column without a heading shows that it names them
_LEAST_KNOWN: Final = 2  # headings of other columns that show that the first row holds headings
_RESTLESS_A: Final = 0.012  # more than units draw asleep; common practice, no source
_DATE: Final = re.compile(r"^\s*\d{1,4}([./-])\d{1,2}\1\d{1,4}(?:[ T].*)?$")
_SYSTEMS_V: Final = frozenset({12.0, 24.0})
_NAMED_VOLTAGE: Final = ("rest", "ruhe", "repos", "reposo", "riposo", "ocv", "open", "leerlauf")


def holds_dates(cells: Sequence[Cell]) -> bool:
    """Say whether most cells of a column are dates of three parts or real ones."""
    some = cells[:200]
    dates = sum(isinstance(c, dt.date) or bool(_DATE.match(str(c))) for c in some)
    return bool(some) and dates * 2 > len(some)


def holds_numbers(cells: Sequence[Cell]) -> bool:
    """Say whether most cells of a column begin with a figure or are dates."""
    some = cells[:500]
    figures = sum(
        number_of(cell) is not None or not isinstance(cell, str) or cell.strip()[:1].isdigit()
        for cell in some
    )
    return bool(some) and figures * 2 > len(some)


def completed_by_cells(match: Match, cells: Sequence[Cell]) -> Match:
    """Return the match of a heading that its cells' unit completes: "at rest" over "28 mA"."""
    if match.column or match.may_be or match.confirmed or not match.heading or match.note:
        return match
    units = {unit for cell in cells[:200] if isinstance(cell, str) and (unit := _unit_behind(cell))}
    if len(units) != 1 or "(" in match.heading:
        return match
    found = heading_match(f"{match.heading} ({units.pop()})")
    return replace(found, heading=match.heading, unit=None) if found.column else match


def _unit_behind(cell: str) -> str:
    found = re.fullmatch(r"\s*[\d.,]+\s*([a-zA-Zµ%°]{1,3})\s*", cell)
    return found.group(1) if found and is_unit(found.group(1)) else ""


def choices_by_cells(
    matches: list[Match], columns: Sequence[Sequence[Cell]], choices: Choices
) -> list[Match]:
    """Return the matches with columns of fuels, battery types or systems known by their cells."""
    for number, match in enumerate(matches):
        cells = columns[number][:500]
        if match.column or match.may_be or match.confirmed or len(cells) < _FEWEST_NAMES:
            continue
        taken = {one.column for one in matches}
        for name in ("battery_profile", "fuel", "vehicle_kind"):
            if name not in taken and all(fits_choice(cell, name, choices) for cell in cells):
                matches[number] = Match(match.heading, name, basis=marked("its cells"))
                break
    return matches


def borne_out(match: Match, cells: Sequence[Cell], choices: Choices) -> Match:
    """Return a match of a heading that says little, kept only if its cells are such values."""
    if match.column is None or not cells or match.basis == "chosen":
        return match
    column = BY_NAME[match.column]
    some = cells[:500]
    if not match.weak and column.kind != "text":
        return match
    if column.kind == "text":
        wrong = holds_dates(some) or (match.weak and holds_numbers(some))
        return replace(match, column=None) if wrong else match
    if column.name == "battery_profile" and sum(is_label(cell) for cell in some) * 2 > len(some):
        return replace(match, basis=LABELS)
    if column.kind == "choice":
        fit = sum(fits_choice(cell, column.name, choices) for cell in some)
    else:
        fit = len(numbers_in(column, some).cells)
    if fit * 2 > len(some) or (fit and len(some) <= 2):
        return match
    if column.name == "battery_profile" and sum(map(says_ah, some)) * 2 > len(some):
        return Match(match.heading, "capacity_ah", certain=False, basis=marked("its cells"))
    for other in ("battery_profile", "vehicle_kind", "fuel", "battery_system"):
        if other != match.column and all(fits_choice(cell, other, choices) for cell in some):
            return Match(match.heading, other, certain=False, basis=marked("its cells"))
    note = f"its cells are no values of {column.name}"
    return replace(match, column=None, certain=False, note=note, unit=None)


def nominal_voltages(matches: Sequence[Match], columns: Sequence[Sequence[Cell]]) -> list[Match]:
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
                match.heading,
                "battery_system",
                certain=match.certain,
                basis=marked("12 or 24 everywhere"),
            )
    return found


def named_by_cells(
    matches: list[Match], columns: Sequence[Sequence[Cell]], rows: int
) -> list[Match]:
    """Return the matches with a column of names found by its cells where no heading says it.

    The first column that is filled in every row, differs in every row and means nothing else.
    """
    known = sum(match.column is not None for match in matches)
    if any(m.column == "id" for m in matches) or rows < _FEWEST_NAMES or known < _LEAST_KNOWN:
        return matches
    free = [
        n
        for n, match in enumerate(matches)
        if match.column is None
        and not match.confirmed
        and not match.may_be
        and len(columns[n]) == rows == len({str(cell) for cell in columns[n]})
        and not any(isinstance(cell, float | dt.date) for cell in columns[n])
        and not DRIVERS & set(plain(match.heading).split())
    ]
    texts = [n for n in free if not holds_numbers(columns[n])]
    for place in (texts or free)[:1]:
        heading = matches[place].heading
        matches[place] = Match(heading, "id", basis=marked("its cells, different in every row"))
    return matches


def whose_sleep(matches: list[Match], columns: Sequence[Sequence[Cell]]) -> list[Match]:
    """Return the matches with a "sleep current" that no unit has taken as in doubt."""
    found = list(matches)
    for number, match in enumerate(matches):
        said = {ROOM_OF.get(word) for word in plain(match.heading).split()}
        own_name = plain(match.heading) in {"sleep a", "unit sleep a"}
        if match.column != "sleep_a" or match.basis == "chosen" or "unit" in said or own_name:
            continue
        part = numbers_in(BY_NAME["sleep_a"], columns[number])
        values = sorted(
            (min(w.readings) * BY_NAME["sleep_a"].units[w.unit][0])
            if w.unit
            else min(w.readings) * match.factor
            for _, w in part.cells
        )
        if values and not match.asked and values[len(values) // 2] > _RESTLESS_A:
            found[number] = replace(
                match, column=None, may_be="quiescent_a", instead="the unit's sleep current"
            )
    return found
