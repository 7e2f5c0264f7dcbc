"""One cell of a fleet list to a number, a date or a choice; each mistake is one sentence."""

import datetime as dt
import math
import re
from collections.abc import Iterable, Mapping

from drainsim.files.fleet.columns import Column, unit_factor
from drainsim.files.fleet.headings import Match
from drainsim.files.fleet.table import Cell

EMPTY = frozenset({"", "-", "–", "?", "n/a", "na", "nan", "none given", "unknown", "#n/a", "null"})
_NUMBER = re.compile(r"^([+-]?[0-9][0-9.,' \u00a0\u202f]*(?:[eE][+-]?[0-9]+)?)\s*([^0-9]*)$")
_EITHER = re.compile(r"^[+-]?[1-9]\d{0,2},\d{3}$")  # decimals or thousands
_ISO = re.compile(r"^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ].*)?$")
_DAY_MONTH = re.compile(r"^(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d{2})(?:[T ].*)?$")


class CellError(ValueError):
    """A cell cannot be used; the message says what would be right."""


def is_empty(cell: Cell) -> bool:
    """Say whether a cell holds nothing."""
    if cell is None or (isinstance(cell, float) and math.isnan(cell)):
        return True
    return isinstance(cell, str) and cell.strip().lower() in EMPTY


def numbers_from(
    cell: Cell, column: Column, match: Match, *, decimal_comma: bool = False
) -> tuple[float, ...]:
    """Return a cell as a number in the column's own unit; two where "4,500" may be either.

    Understands decimal commas, thousands separators and a unit behind the number, which wins
    over the heading's.

    Parameters
    ----------
    decimal_comma : bool
        The file's way of writing: one comma is a decimal comma whatever follows it.

    Raises
    ------
    CellError
        If it is not a finite number, or its unit is not one of the column's.
    """
    readings: tuple[float, ...]
    if isinstance(cell, (bool, dt.date)):
        raise CellError(f"{cell} is not a number")
    if isinstance(cell, int | float):
        readings, unit = (float(cell),), ""
    else:
        found = _NUMBER.match(str(cell).strip())
        if not found:
            raise CellError(f"{_brief(cell)} is not a number")
        number, unit = found.group(1).strip(), found.group(2).strip()
        readings = (_plain_number(number, cell),)
        if not decimal_comma and _EITHER.match(number):
            readings += (_plain_number(number.replace(",", ""), cell),)
    if not all(math.isfinite(value) for value in readings):
        raise CellError(f"{_brief(cell)} is not a finite number")
    factor, offset = match.factor, match.offset
    if unit:
        own = unit_factor(column, unit)
        if own is None:
            raise CellError(f"{_brief(cell)}: {unit!r} is not a unit of {column.name}")
        factor, offset = own
    return tuple(value * factor + offset for value in readings)


def _plain_number(text: str, cell: Cell) -> float:
    compact = re.sub(r"[' \u00a0\u202f]", "", text)
    comma, point = compact.rfind(","), compact.rfind(".")
    if comma >= 0 and point >= 0:
        thousands, decimal = (".", ",") if comma > point else (",", ".")
        compact = compact.replace(thousands, "").replace(decimal, ".")
    elif compact.count(",") == 1:
        compact = compact.replace(",", ".")
    elif compact.count(",") > 1:
        compact = compact.replace(",", "")
    try:
        return float(compact)
    except ValueError:
        raise CellError(f"{_brief(cell)} is not a number") from None


def day_first_of(cells: Iterable[Cell]) -> bool | None:
    """Return whether a column writes day before month; None where nothing tells."""
    for cell in cells:
        found = _DAY_MONTH.match(cell.strip()) if isinstance(cell, str) else None
        if found and found.group(2) == ".":
            return True
        if found and int(found.group(1)) > 12:
            return True
        if found and int(found.group(3)) > 12:
            return False
    return None


def date_from(cell: Cell, *, day_first: bool | None) -> dt.date:
    """Return a cell as a date.

    Raises
    ------
    CellError
        If it is not a date, or 03/04/2026 could be either and no other row of the column tells.
    """
    if isinstance(cell, dt.datetime):
        return _sane(cell.date(), cell)
    if isinstance(cell, dt.date):
        return _sane(cell, cell)
    if not isinstance(cell, str):
        raise CellError(f"{_brief(cell)} is not a date; write it like 2026-12-01")
    text = cell.strip()
    iso, european = _ISO.match(text), _DAY_MONTH.match(text)
    if iso:
        year, month, day = (int(part) for part in iso.groups())
    elif european:
        first, _, second, year_text = european.groups()
        if day_first is None and first != second:
            raise CellError(f"{_brief(cell)}: day or month first? write it like 2026-12-01")
        day, month = (int(first), int(second)) if day_first else (int(second), int(first))
        year = int(year_text) + (2000 if len(year_text) == 2 else 0)
    else:
        raise CellError(f"{_brief(cell)} is not a date; write it like 2026-12-01")
    try:
        return _sane(dt.date(year, month, day), cell)
    except ValueError as error:
        if isinstance(error, CellError):
            raise
        raise CellError(f"{_brief(cell)}: there is no such day") from None


def _sane(date: dt.date, cell: Cell) -> dt.date:
    if not 2000 <= date.year <= 2099:
        raise CellError(f"{_brief(cell)} is not between 2000 and 2099")
    return date


def choice_from(cell: Cell, choices: Mapping[str, str]) -> str:
    """Return the key of a choice, by key or by any of its names.

    Parameters
    ----------
    choices : mapping
        Name in small letters → key.

    Raises
    ------
    CellError
        If it is none of them.
    """
    wanted = " ".join(str(cell).strip().lower().replace("_", " ").split())
    if wanted in choices:
        return choices[wanted]
    keys = ", ".join(sorted(set(choices.values())))
    raise CellError(f"{_brief(cell)} is not known; use one of {keys}")


def _brief(cell: Cell) -> str:
    text = str(cell)
    return repr(text if len(text) <= 40 else text[:37] + "...")
