"""Which row of a history holds the headings, and what each column is.

A row a reading, a column a vehicle, or a file a vehicle.
"""

import re
from dataclasses import dataclass, field
from typing import Final

from drainsim.errors import ReadingsError
from drainsim.files.fleet.cells.cell_kinds import is_empty
from drainsim.files.readings.sheet import MOST_COLUMNS, Sheet
from drainsim.files.readings.words import MEASURED, Heading, heading_of, vehicle_in

_CLOCK: Final = re.compile(r"^\d{1,2}[:.h]\d{2}([:.]\d{2}([.,]\d+)?)?(\s*[AaPp]\.?[Mm]\.?)?$")
_TIME: Final = re.compile(r"^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}\b|^\d{9,16}$|^\d{8}T\d{4}")
_NUMBER: Final = re.compile(r"^\s*[+-]?\d+(?:[.,]\d*)?\s*[^\d\s]{0,3}\s*$")
_LEAST: Final = 2  # columns of a history without headings: a time and a voltage


@dataclass(frozen=True, slots=True)
class Series:
    """The measured columns of one vehicle: quantity → (column, unit); "" where rows name it."""

    vehicle: str
    columns: dict[str, tuple[int, str]]


@dataclass(frozen=True, slots=True)
class Layout:
    """Where a sheet's times, vehicles and values stand; `below` is the row of its headings."""

    headings: tuple[str, ...]
    below: int
    time: int
    clock: int | None  # beside a column of dates
    vehicle: int | None
    series: tuple[Series, ...]
    zone: str  # that a heading of the times says; "" for none
    known: tuple[Heading, ...]
    notes: list[str] = field(default_factory=list)

    @property
    def texts(self) -> list[int]:
        """The columns that are read as texts whatever they hold."""
        return [n for n in (self.vehicle, self.clock) if n is not None]


def layout_of(sheet: Sheet, where: str, vehicle: str) -> Layout:
    """Return where everything stands in a sheet.

    Parameters
    ----------
    sheet : Sheet
    where : str
        For messages.
    vehicle : str
        Whose history it is where the rows do not say it: the name of the file or sheet.

    Raises
    ------
    ReadingsError
        If no column holds times or voltages.
    """
    place = _heading_row(sheet)
    if place is None:
        return _headless(sheet, where, vehicle)
    number, cells = sheet.first[place]
    while cells and not cells[-1]:
        cells = cells[:-1]
    if len(cells) > MOST_COLUMNS:
        raise ReadingsError(f"{where}: {len(cells)} columns; at most {MOST_COLUMNS} are read")
    known = tuple(heading_of(cell) for cell in cells)
    rows = sheet.spread(number)[:200]
    time, clock = _times(known, rows, where)
    taken = {time, clock}
    named = _best(known, "vehicle", taken)
    taken.add(named)
    columns = _measured(known, taken)
    if columns:
        own = "" if named is not None else _named_above(sheet, place) or vehicle
        series: tuple[Series, ...] = (Series(own, columns),)
        used = taken | {column for column, _ in columns.values()}
    elif named is None:
        series = _vehicles_in(known, rows, taken)
        used = taken | {column for one in series for column, _ in one.columns.values()}
    else:
        series, used = (), taken
    if not series:
        raise ReadingsError(
            f"{where}: no column of voltages; name one voltage_v (found: "
            f"{', '.join(filter(None, cells))[:200]})"
        )
    unread = [cells[n] for n in range(len(cells)) if n not in used and cells[n]]
    notes = [f"{where}: columns not read: {', '.join(unread)[:200]}"] if unread else []
    zone = next((z for n in (time, clock) if n is not None and (z := known[n].zone)), "")
    return Layout(tuple(cells), number, time, clock, named, series, zone, known, notes)


def _heading_row(sheet: Sheet) -> int | None:
    """Return the place of the row with most known headings, one of a time among them."""
    best, most = None, 0
    for place, (_, cells) in enumerate(sheet.first):
        found = [heading_of(cell) for cell in dict.fromkeys(cells) if cell and len(cell) <= 80]
        timed = any(h.rank("time") is not None or h.rank("date") is not None for h in found)
        score = sum(bool(h.columns) for h in found) if timed and len(cells) >= _LEAST else 0
        if score > most:
            best, most = place, score
    return best


def _headless(sheet: Sheet, where: str, vehicle: str) -> Layout:
    """Return the layout of two columns without headings: times and voltages."""
    number, cells = next(iter(sheet.first), (0, ()))
    filled = [cell for cell in cells if cell]
    if len(filled) == _LEAST and _TIME.match(filled[0]) and _NUMBER.match(filled[1]):
        time, voltage = (cells.index(cell) for cell in filled)
        note = f"{where}: no headings: the first column was taken as time, the second as voltage"
        return Layout(
            tuple(cells), number - 1, time, None, None,
            (Series(vehicle, {"voltage": (voltage, "")}),), "", (), [note],
        )  # fmt: skip
    raise ReadingsError(
        f"{where}: no column of times found; write headings above the columns, like "
        "vehicle,time,voltage_v, or time and one column a vehicle"
    )


def _times(known: tuple[Heading, ...], rows: list[list[str]], where: str) -> tuple[int, int | None]:
    """Return the columns of the time and, beside a date, of the clock."""
    date, clock = _best(known, "date", set()), _best(known, "clock", set())
    if date is not None and clock is not None and date != clock and _mostly(rows, clock, _CLOCK):
        return date, clock
    timed = [n for n, heading in enumerate(known) if heading.rank("time") is not None]
    timed = [n for n in timed if not _mostly(rows, n, _CLOCK)] or timed
    if timed:
        return min(
            timed, key=lambda n: (known[n].zone != "UTC", known[n].rank("time") or 0, n)
        ), None
    if date is not None:
        return date, None
    raise ReadingsError(f"{where}: no column of times; name one time")


def _mostly(rows: list[list[str]], column: int, form: re.Pattern[str]) -> bool:
    cells = [row[column] for row in rows if column < len(row) and row[column]]
    return bool(cells) and sum(bool(form.match(cell)) for cell in cells) * 2 > len(cells)


def _best(known: tuple[Heading, ...], column: str, taken: set[int | None]) -> int | None:
    """Return the column whose heading fits best; the first of equal ones."""
    ranks = {n: h.rank(column) for n, h in enumerate(known) if n not in taken}
    fitting = [(rank, n) for n, rank in ranks.items() if rank is not None]
    return min(fitting)[1] if fitting else None


def _measured(known: tuple[Heading, ...], taken: set[int | None]) -> dict[str, tuple[int, str]]:
    """Return quantity → (column, unit) of the headings; empty without a voltage among them."""
    found: dict[str, tuple[int, str]] = {}
    used = set(taken) | {
        n for n, heading in enumerate(known)
        if heading.rank("own_cell") is not None or heading.rank("received") is not None
    }  # fmt: skip
    for quantity in ("cranking_minimum", "voltmeter", *MEASURED, "weak_voltage"):
        place = _best(known, quantity, used)
        name = "voltage" if quantity == "weak_voltage" else quantity
        if place is None or name in found:
            continue
        found[name] = (place, known[place].unit)
        used.add(place)
    return found if {"voltage", "voltmeter"} & found.keys() else {}


def _vehicles_in(
    known: tuple[Heading, ...], rows: list[list[str]], taken: set[int | None]
) -> tuple[Series, ...]:
    """Return the vehicles that columns are named after, each with its columns."""
    found: dict[str, dict[str, tuple[int, str]]] = {}
    for n, heading in enumerate(known):
        if n in taken or not heading.text or heading.columns:
            continue
        cells = [row[n] for row in rows if n < len(row) and not is_empty(row[n])]
        name, quantity, unit = vehicle_in(heading.text)
        fits = sum(_NUMBER.match(cell) is not None for cell in cells) * 2 > len(cells)
        if (fits or not cells or quantity == "ignition") and quantity:
            found.setdefault(name, {}).setdefault(quantity, (n, unit))
    return tuple(Series(name, columns) for name, columns in found.items())


def _named_above(sheet: Sheet, place: int) -> str:
    """Return the vehicle that a row above the headings names, like "Vehicle: VA-1"."""
    for _, cells in sheet.first[:place]:
        filled = [cell for cell in cells if cell]
        if len(filled) == 1 and ":" in filled[0]:
            filled = [part.strip() for part in filled[0].split(":", 1)]
        if len(filled) == _LEAST and heading_of(filled[0].rstrip(":")).rank("vehicle") is not None:
            return filled[1]
    return ""
