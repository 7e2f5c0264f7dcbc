"""A cell's number as it may be meant: with a decimal comma, with a decimal point, its unit."""

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import CELLS_KEPT, FORMULA, Cell, number_of
from drainsim.files.fleet.columns import BY_NAME, SHOWN, Column, unit_of
from drainsim.files.fleet.words import CHOICES, STANDARDS, plain

_SPACES: Final = "\u00a0\u202f\u2009 "
_GROUPS: Final = {mark: re.compile(f"([{re.escape(mark)}'’{_SPACES}])") for mark in ",."}
_NUMBER: Final = re.compile(
    r"^(?P<about>(?:~|≈|ca\.?|circa|approx\.?|about|env\.?|etwa|ungefähr)\s*)?"
    r"(?P<sign>[+\-−–]?)\s?(?P<digits>[0-9.,][0-9.,'’\u00a0\u202f\u2009 ]*?)"
    r"(?P<power>[eE][+-]?[0-9]{1,3})?\s*(?P<unit>[^0-9]{0,24}|[cC][mM]3)$"
)
_TIMES: Final = re.compile(
    r"^(?P<n>\d{1,4}(?:[.,]\d{1,2})?)\s*(?:x|×|mal|times|fois|veces|volte|keer|reports?)?\s*"
    r"(?:/|per|a|pro|am|par|por|al|je|un|each)\s*"
    r"(?P<unit>day|d|tag|jour|dia|día|giorno|dag|h|hour|stunde|std|heure|hora|ora|uur)$"
)
_PAIR: Final = re.compile(r"^2\s*[x×*]\s*(?P<ah>\d{2,3})\s*(?:ah)?$", re.IGNORECASE)
_CLOCK: Final = re.compile(r"^(?P<h>\d{1,3}):(?P<m>[0-5]\d)(?::00)?$")
_EVERY: Final = re.compile(
    r"^(?:every|all[e]?|toutes les|tous les|cada|ogni|elke|iedere|jede)\s+(?P<rest>.*)$"
)
_REMARK: Final = re.compile(r"\s*\([^()0-9]{0,30}\)\s*$|\s*\*+\s*$")
_HOURS_OF: Final = {"d": 24.0, "h": 1.0}
_NAMED_INTERVALS: Final = {
    "hourly": 1.0,
    "daily": 24.0,
    **dict.fromkeys(("weekly", "wochentlich", "hebdomadaire", "semanal", "wekelijks"), 168.0),
}


@dataclass(frozen=True, slots=True)
class Written:
    """A number as written: its readings (comma as decimal mark, point as decimal mark), unit.

    A reading is None where the marks do not fit it; `unit` is a plain unit of the column or "".
    """

    comma: float | None
    point: float | None
    unit: str = ""
    standard: str = ""
    fuel: str = ""
    pair: bool = False  # of two batteries, like 2x70 Ah

    @property
    def readings(self) -> tuple[float, ...]:
        """What it may be, each once."""
        return tuple(dict.fromkeys(v for v in (self.point, self.comma) if v is not None))


class CellError(ValueError):
    """A cell cannot be used; the message says what would be right."""


def written_number(cell: Cell, column: Column) -> Written:
    """Return a cell's number as written.

    Raises
    ------
    CellError
        If it is not a finite number, or its unit is not one of the column's.
    """
    value = number_of(cell)
    if value is not None:
        _refuse_endless(cell, value)
        return Written(value, value)
    if not isinstance(cell, str):
        raise CellError(f"{brief(cell)} is not a number")
    return _written(cell, column.name)


@lru_cache(maxsize=CELLS_KEPT)
def _written(cell: str, name: str) -> Written:
    column = BY_NAME[name]
    if cell == FORMULA:
        raise CellError(f"{FORMULA}: open the list in its program, save it and load it again")
    text = cell.strip()
    if column.name != "cold_cranking_a":  # where brackets hold the standard
        text = _REMARK.sub("", text).strip()
    if column.name == "report_interval_h":
        every = _interval(text)
        if every is not None:
            return Written(every, every, "h")
        text = _EVERY.sub(r"\g<rest>", text.lower())
    if column.name == "capacity_ah" and (pair := _PAIR.match(text)):
        one = float(pair["ah"])
        return Written(one, one, "ah", pair=True)
    fuel = ""
    if column.name == "engine_litres":
        text, fuel = _without_fuel(text)
    return _with_its_unit(text, fuel, cell, column)


def _with_its_unit(text: str, fuel: str, cell: str, column: Column) -> Written:
    """Return what a number and the unit behind it say."""
    found = _NUMBER.match(text)
    if not found or not any(letter.isdigit() for letter in found["digits"]):
        raise CellError(f"{brief(cell)} is not a number{_number_hint(text, column)}")
    unit, standard = _unit(found["unit"], column, cell)
    digits, power = found["digits"].strip(), found["power"] or ""
    comma, point = _read(digits, ",", power), _read(digits, ".", power)
    if comma is None and point is None:
        raise CellError(
            f"{brief(cell)} is not a number: its commas, points or blanks do not group thousands; "
            "write it like 1250 or 12.5"
        )
    sign = -1.0 if found["sign"] in {"-", "−", "–"} else 1.0
    _refuse_endless(cell, comma, point)
    return Written(
        None if comma is None else sign * comma,
        None if point is None else sign * point,
        unit,
        standard,
        fuel,
    )


def _refuse_endless(cell: Cell, *readings: float | None) -> None:
    if not all(reading is None or math.isfinite(reading) for reading in readings):
        raise CellError(f"{brief(cell)} is not a finite number")


def _number_hint(text: str, column: Column) -> str:
    if re.search(r"\d\s*(?:-|–|to|bis|à|\.\.)\s*\d", text):
        return "; it looks like a range: write the value that was measured"
    if text[:1] in "<>≤≥":
        return "; write the value that was measured, not a bound"
    if column.name == "report_interval_h":
        return "; write hours between reports, like 6 h or 15 min"
    return ""


def _without_fuel(text: str) -> tuple[str, str]:
    """Return an engine's size and the fuel that stands behind it, like "2.0 Diesel"."""
    words = text.split()
    said = CHOICES["fuel"].get(plain(words[-1])) if len(words) > 1 else None
    return (" ".join(words[:-1]), said) if said and len(plain(words[-1])) > 1 else (text, "")


def _interval(text: str) -> float | None:
    """Return hours between reports from words like "4x/day"."""
    words = plain(text)
    named = _NAMED_INTERVALS.get(words) or _NAMED_INTERVALS.get(CHOICES["unit"].get(words, ""))
    if named:
        return named
    clock = _CLOCK.match(text)
    if clock:
        hours = int(clock["h"]) + int(clock["m"]) / 60.0
        return hours if hours > 0 else None
    found = _TIMES.match(text.lower().strip())
    if not found:
        return None
    times = float(found["n"].replace(",", "."))
    per = _HOURS_OF["d" if found["unit"][0] in "dtjg" else "h"]
    return per / times if times > 0 else None


def _unit(text: str, column: Column, cell: Cell) -> tuple[str, str]:
    """Return (plain unit, standard) of what stands behind a number."""
    text = text.strip()
    standard = ""
    if column.name == "cold_cranking_a" and text:
        words = [plain(word) for word in re.split(r"[\s()]+", text) if plain(word)]
        known = [STANDARDS[word] for word in words if word in STANDARDS]
        if known:
            standard = known[0]
            text = " ".join(word for word in words if word not in STANDARDS)
    if not text:
        return "", standard
    unit = unit_of(column, text.strip("()[] "))
    if unit is None:
        raise CellError(
            f"{brief(cell)}: {text!r} is not a unit of {column.name}{_unit_hint(text, column)}"
        )
    return unit, standard


def _unit_hint(text: str, column: Column) -> str:
    words = plain(text)
    if column.name == "state_of_charge" and words in {"v", "volt", "volts"}:
        return "; a voltage belongs under resting_voltage_v"
    if column.name == "capacity_ah" and words in {"a", "amp", "amps"}:
        return "; a cold cranking current belongs under cold_cranking_a"
    units = [SHOWN.get(unit, unit) for unit in column.units]
    return f"; use {', '.join(units)}" if units else ""


def _read(digits: str, decimal: str, power: str) -> float | None:
    """Return digits read with a decimal mark; None where the other marks group no thousands."""
    other = "." if decimal == "," else ","
    whole, mark, fraction = digits.partition(decimal)
    if mark and not fraction.isdigit():
        return None
    groups = _GROUPS[other].split(whole)
    if len(groups) == 1:
        if whole and not whole.isdigit():
            return None
        if not whole and not fraction:
            return None
    else:
        marks, parts = set(groups[1::2]), groups[0::2]
        fits = (
            len(marks) == 1
            and re.fullmatch(r"[1-9]\d{0,2}", parts[0])
            and all(re.fullmatch(r"\d{3}", part) for part in parts[1:])
        )
        if not fits:
            return None
        whole = "".join(parts)
    if len(whole) + len(fraction) > 40:
        return math.inf if len(whole) > 300 else float(f"{whole or 0}.{fraction[:40] or 0}{power}")
    try:
        return float(f"{whole or 0}.{fraction or 0}{power}")
    except (ValueError, OverflowError):
        return None


def brief(cell: Cell) -> str:
    """Return a cell as a message quotes it."""
    text = str(cell)
    return repr(text if len(text) <= 40 else text[:37] + "...")
