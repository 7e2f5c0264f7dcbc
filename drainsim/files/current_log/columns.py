"""Which column of a meter's file is the time, which the current, and in which unit."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, TypedDict, Unpack

from drainsim.errors import RecordError
from drainsim.files.reading import nearest
from drainsim.units import SECONDS_PER_DAY, SECONDS_PER_HOUR

CURRENT_UNITS: Final = {"A": 1.0, "mA": 1e-3, "uA": 1e-6}
TIME_UNITS: Final = {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": SECONDS_PER_HOUR, "d": SECONDS_PER_DAY}
_CURRENT_WORDS: Final = ("current", "amps", "ampere", "amperes", "strom", "corriente", "courant")
_TIME_WORDS: Final = ("time", "timestamp", "elapsed", "datetime", "zeit", "uhrzeit", "seconds")
_DATE_WORDS: Final = ("date", "datum", "day")
_VALUE_WORDS: Final = ("value", "reading", "measurement", "messwert")
_VOLTAGE_WORDS: Final = ("voltage", "volt", "volts", "spannung")


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Numbers of the columns; `date` beside a separate clock column, None where there is none.

    `unit` and `time_unit` are None where the heading does not say them.
    """

    time: int
    current: int
    date: int | None
    voltage: int | None
    unit_column: int | None
    unit: str | None
    time_unit: str | None


class Said(TypedDict, total=False):
    """What the user says where a heading leaves a choice: names of columns, and units.

    `unit` is a key of `CURRENT_UNITS`, `time_unit`, of an elapsed time, one of `TIME_UNITS`.
    """

    time_column: str | None
    current_column: str | None
    unit: str | None
    time_unit: str | None


def _words(name: str) -> list[str]:
    return [word for word in re.split(r"[^0-9a-zA-Zµμ°]+", name) if word]


def _unit_of(name: str) -> str | None:
    for word in _words(name):
        if word.lower() in {"ma", "milliamps", "milliamperes"}:
            return "mA"
        if word.lower() in {"ua", "µa", "μa", "microamps"}:
            return "uA"
        if word in {"A", "a", "amps", "Amps", "ampere", "Ampere", "amperes", "Amperes"}:
            return "A"
    return None


def _time_unit_of(name: str) -> str | None:
    for word in reversed(_words(name.lower())):
        if word in {"s", "sec", "secs", "second", "seconds"}:
            return "s"
        if word in {"ms", "msec", "milliseconds"}:
            return "ms"
        if word in {"min", "mins", "minute", "minutes"}:
            return "min"
        if word in {"h", "hour", "hours"}:
            return "h"
        if word in {"d", "days"}:
            return "d"
    return None


def _has(name: str, wanted: Sequence[str]) -> bool:
    return any(word in wanted for word in _words(name.lower()))


def choose_columns(heading: Sequence[str], *, where: str, **said: Unpack[Said]) -> Columns:
    """Return which column is what, from the user's mapping or the heading.

    Raises
    ------
    RecordError
        If a named column does not exist, or the heading leaves more than one choice.
    """
    names = [name.strip() for name in heading]
    chosen, unit = said.get("current_column"), said.get("unit")
    current = (
        _named(names, chosen, "--current-column", where)
        if chosen
        else _current_column(names, where)
    )
    date = next((i for i, name in enumerate(names) if _words(name.lower()) in (["date"],)), None)
    if date is None:
        date = next((i for i, n in enumerate(names) if _has(n, _DATE_WORDS)), None)
    chosen = said.get("time_column")
    time = (
        _named(names, chosen, "--time-column", where)
        if chosen
        else _time_column(names, where, current)
    )
    if date == time or (date is not None and _has(names[date], _TIME_WORDS)):
        date = None
    voltage = [
        i
        for i, name in enumerate(names)
        if i not in {time, current}
        and (_has(name, _VOLTAGE_WORDS) or _words(name.lower())[-1:] == ["v"])
    ]
    units = [i for i, name in enumerate(names) if _words(name.lower()) in (["unit"], ["units"])]
    return Columns(
        time=time,
        current=current,
        date=date,
        voltage=voltage[0] if len(voltage) == 1 else None,
        unit_column=units[0] if len(units) == 1 and unit is None else None,
        unit=unit or _unit_of(names[current]),
        time_unit=said.get("time_unit") or _time_unit_of(names[time]),
    )


def _named(names: list[str], wanted: str, option: str, where: str) -> int:
    if wanted in names:
        return names.index(wanted)
    lowered = [name.lower() for name in names]
    if wanted.strip().lower() in lowered:
        return lowered.index(wanted.strip().lower())
    hint = nearest(wanted, [name for name in names if name]).replace("valid keys", "columns")
    raise RecordError(f"{where}: no column {wanted[:60]!r} ({option}); {hint[:200]}")


def _current_column(names: list[str], where: str) -> int:
    found = [i for i, name in enumerate(names) if _has(name, _CURRENT_WORDS)]
    if not found:
        found = [i for i, name in enumerate(names) if _unit_of(name)]
    if not found:
        found = [i for i, name in enumerate(names) if _words(name.lower())[:1] == ["i"]]
    if not found:
        found = [i for i, name in enumerate(names) if _has(name, _VALUE_WORDS)]
    if len(found) == 1:
        return found[0]
    shown = ", ".join(names)[:200]
    if found:
        several = " and ".join(names[i] for i in found)[:120]
        raise RecordError(
            f"{where}: columns {several} could all be the current; say which with --current-column"
        )
    raise RecordError(
        f"{where}: no column is recognised as the current; say which with --current-column "
        f"(found: {shown})"
    )


def _time_column(names: list[str], where: str, current: int) -> int:
    others = [i for i in range(len(names)) if i != current]
    tests: tuple[Callable[[str], bool], ...] = (
        lambda name: _has(name, _TIME_WORDS),
        lambda name: _has(name, _DATE_WORDS),
        lambda name: _words(name.lower())[:1] == ["t"] or _time_unit_of(name) is not None,
    )
    for test in tests:
        found = [i for i in others if test(names[i])]
        if len(found) == 1:
            return found[0]
        if found:
            several = " and ".join(names[i] for i in found)[:120]
            raise RecordError(
                f"{where}: columns {several} could all be the time; say which with --time-column"
            )
    if len(names) == 2:
        return others[0]
    raise RecordError(
        f"{where}: no column is recognised as the time; say which with --time-column "
        f"(found: {', '.join(names)[:200]})"
    )
