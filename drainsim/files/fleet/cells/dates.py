"""A cell's date as it may be meant: which order of day, month and year fits it."""

import datetime as dt
import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import CELLS_KEPT, Cell, number_of
from drainsim.files.fleet.cells.numbers import CellError, brief
from drainsim.files.fleet.words import MONTH_OF, plain

ORDERS: Final = ("dmy", "mdy", "ymd")
_THREE: Final = re.compile(r"^(\d{1,4})\s*([./-])\s*(\d{1,2})\s*\2\s*(\d{1,4})\.?(?:[T ,].*)?$")
_EIGHT: Final = re.compile(r"^(\d{8})$")
_TWO: Final = re.compile(r"^(\d{1,2})\s*[./-]\s*(\d{4})$|^(\d{4})\s*[./-]\s*(\d{1,2})$")
_WEEKDAY: Final = re.compile(r"^[^\W\d_]{2,10}[.,]?\s+(?=\d)")
_FIRST_SERIAL, _LAST_SERIAL = 36526, 73050  # 2000-01-01 and 2099-12-31 as spreadsheets count
_EPOCH: Final = dt.date(1899, 12, 30)  # day 0 of spreadsheets' serial dates, from 1900-03-01 on


def readings_of_date(cell: Cell, *, year_alone: bool = False) -> dict[str, dt.date]:
    """Return the dates a cell may mean, by order; one entry "" where the order does not matter.

    Parameters
    ----------
    cell : str, number or date
    year_alone : bool
        A year (its middle) or a month (its 15th) is enough.

    Raises
    ------
    CellError
        If it is no date in any order.
    """
    if isinstance(cell, dt.datetime):
        return {"": _sane(cell.date(), cell)}
    if isinstance(cell, dt.date):
        return {"": _sane(cell, cell)}
    return dict(_read(cell, year_alone))


@lru_cache(maxsize=CELLS_KEPT, typed=True)
def _read(cell: Cell, year_alone: bool) -> dict[str, dt.date]:
    number = number_of(cell)
    text = str(int(number)) if number is not None and number.is_integer() else str(cell).strip()
    text = _WEEKDAY.sub("", " ".join(text.split())) if not _is_month_first(text) else text
    if year_alone and (year := _year(text, cell)):
        return {"": year}
    if text.isdecimal() and _FIRST_SERIAL <= int(text[:9]) <= _LAST_SERIAL and len(text) == 5:
        return {"": _EPOCH + dt.timedelta(days=int(text))}
    found = _THREE.match(text)
    if found:
        return _orders(found.group(1), found.group(3), found.group(4), found.group(2), cell)
    found = _EIGHT.match(text)
    if found:
        return _eight(text, cell)
    named = _named_month(text, cell)
    if named:
        return {"": named}
    raise CellError(f"{brief(cell)} is not a date; write it like 2026-12-01")


def _is_month_first(text: str) -> bool:
    return plain(text.split(" ")[0].rstrip(".,")) in MONTH_OF if text else False


def _year(text: str, cell: Cell) -> dt.date | None:
    if re.fullmatch(r"(?:19|20)\d\d", text):
        return _sane(dt.date(int(text), 7, 1), cell, first=1990)
    two = _TWO.match(text)
    if two:
        month, year = (two.group(1), two.group(2)) if two.group(1) else (two.group(4), two.group(3))
        return _built(int(year), int(month), 15, cell)
    words = plain(text).split()
    if len(words) == 2 and words[0] in MONTH_OF and re.fullmatch(r"\d{4}|\d{2}", words[1]):
        return _built(_full(words[1]), MONTH_OF[words[0]], 15, cell)
    return None


def _named_month(text: str, cell: Cell) -> dt.date | None:
    words = [
        w for w in plain(text).split() if w not in {"de", "del", "the", "of", "le", "el", "il"}
    ]
    words = [re.sub(r"^(\d{1,2})(?:st|nd|rd|th|er|e|°)$", r"\1", word) for word in words][:3]
    if len(words) < 3:
        return None
    places = [n for n, word in enumerate(words) if word in MONTH_OF]
    if len(places) != 1 or not all(w.isdigit() for n, w in enumerate(words) if n != places[0]):
        return None
    first, second = (w for n, w in enumerate(words) if n != places[0])
    if len(first) == 4:
        first, second = second, first
    if len(second) not in {2, 4}:
        return None
    return _built(_full(second), MONTH_OF[words[places[0]]], int(first), cell)


def _orders(first: str, second: str, third: str, mark: str, cell: Cell) -> dict[str, dt.date]:
    if len(first) >= 3:
        orders: tuple[str, ...] = ("ymd",)
    elif len(third) >= 3:
        orders = ("dmy",) if mark == "." else ("dmy", "mdy")
    elif mark == ".":
        orders = ("dmy",)
    else:
        orders = ORDERS
    return _fitting(first, second, third, orders, cell)


def _fitting(
    first: str, second: str, third: str, orders: Iterable[str], cell: Cell
) -> dict[str, dt.date]:
    parts = (first, second, third)
    found: dict[str, dt.date] = {}
    wrong = CellError(f"{brief(cell)}: there is no such day; write it like 2026-12-01")
    for order in orders:
        year, month, day = (parts[order.index(letter)] for letter in "ymd")
        if len(year) not in {2, 4} or len(day) > 2 or len(month) > 2:
            continue
        try:
            found[order] = _sane(dt.date(_full(year), int(month), int(day)), cell)
        except ValueError as error:
            wrong = error if isinstance(error, CellError) else wrong
    if not found:
        raise wrong
    return found


def _eight(text: str, cell: Cell) -> dict[str, dt.date]:
    found: dict[str, dt.date] = {}
    for order, cut in (("ymd", (4, 6)), ("dmy", (2, 4)), ("mdy", (2, 4))):
        parts = text[: cut[0]], text[cut[0] : cut[1]], text[cut[1] :]
        try:
            found |= _fitting(*parts, (order,), cell)
        except CellError:
            continue
    if not found:
        raise CellError(f"{brief(cell)} is not a date; write it like 2026-12-01")
    return found


def _full(year: str) -> int:
    return int(year) + (2000 if len(year) == 2 else 0)


def _built(year: int, month: int, day: int, cell: Cell) -> dt.date:
    try:
        date = dt.date(year, month, day)
    except ValueError:
        raise CellError(f"{brief(cell)}: there is no such day; write it like 2026-12-01") from None
    return _sane(date, cell)


def _sane(date: dt.date, cell: Cell, *, first: int = 2000) -> dt.date:
    if not first <= date.year <= 2099:
        raise CellError(f"{brief(cell)} is not between {first} and 2099")
    return date
