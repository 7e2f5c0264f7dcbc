"""Times of readings as epoch seconds: counts since 1970, ISO with its offset, clocks of a zone."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import pandas as pd

from drainsim.errors import ReadingsError
from drainsim.files.fleet.cells.conventions import order_evidence
from drainsim.files.reading import nearest
from drainsim.files.readings.values import is_numeric, texts_of
from drainsim.language import message
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_DAY, SECONDS_PER_HOUR

UNREADABLE: Final = message("no readable time")
DOUBLED: Final = message(
    "the hour that comes twice when the clocks go back: which of the two is not said"
)
SKIPPED: Final = message("an hour that the zone's clocks skip when they go forward")
NOT_SET: Final = message("a time before 2005 or after 2099: the unit's clock was not set")
_FIRST_S: Final = 1_104_537_600.0  # 2005-01-01
_LAST_S: Final = 4_102_444_800.0  # 2100-01-01
# Count since 1970 → the sizes between which it is one of 1990 to 2099, and its seconds.
_EPOCHS: Final = ((6.3e8, 4.2e9, 1.0), (6.3e11, 4.2e12, 1e-3), (6.3e14, 4.2e15, 1e-6))
_SERIALS: Final = (32_000.0, 73_051.0)  # days as spreadsheets count them
_SERIAL_OF_1970: Final = 25_569.0
_COMPACT: Final = (1.9e13, 2.1e13)  # 20261101103000
_OFFSET: Final = r":\d{2}.*(?:[Zz]|UTC|GMT|[+-]\d{2}(?::?\d{2})?)\s*$"
_CLOCKS: Final = (
    " %H:%M:%S", " %H:%M", " %H:%M:%S.%f", " %I:%M:%S %p", " %I:%M %p", ", %H:%M:%S", ", %H:%M",
    " %H.%M.%S", " %H.%M", "T%H:%M:%S",
)  # fmt: skip
_DAYS: Final = {
    "dmy": ("%d.%m.%Y", "%d/%m/%Y", "%d-%m-%Y", "%d.%m.%y", "%d/%m/%y"),
    "mdy": ("%m/%d/%Y", "%m-%d-%Y", "%d.%m.%Y", "%m/%d/%y", "%d.%m.%y"),
}
_OTHER_DAYS: Final = ("%Y/%m/%d", "%Y.%m.%d", "%d %b %Y", "%d %B %Y", "%b %d, %Y", "%d-%b-%Y")
Cells = pd.Series  # of texts or numbers


@dataclass(frozen=True, slots=True)
class Clock:
    """How the times of a file are meant.

    `zone` is None where nothing says it; `order` "dmy", "mdy" or "" where only the cells tell.
    """

    where: str
    zone: ZoneInfo | None
    order: str = ""


def zone_named(name: str | None) -> ZoneInfo | None:
    """Return a time zone by its name.

    Raises
    ------
    ReadingsError
        If there is none of this name; names the nearest.
    """
    if name is None:
        return None
    known = available_timezones()
    if name not in known:
        by_small = {zone.lower(): zone for zone in known}
        if name.lower() not in by_small:
            near = nearest(name[:60], known)
            hint = near if len(near) < 100 else "write it like Europe/Berlin, or UTC"
            raise ReadingsError(f"--zone {name[:60]}: no such time zone; {hint}")
        name = by_small[name.lower()]
    return ZoneInfo(name)


def order_of(cells: Sequence[str], *, where: str, language: str, said: str) -> str:
    """Return whether day or month comes first in dates like 03/04/2026.

    Parameters
    ----------
    cells : sequence of str
        Some times from all over the file.
    language : str
        Of the headings; English ones do not tell.
    said : {"", "dmy", "mdy"}
        What the user says.

    Raises
    ------
    ReadingsError
        If both fit and nothing tells.
    """
    if said:
        return said
    fitting, needed = order_evidence(cells, year_alone=False)
    both = {"dmy", "mdy"} <= fitting
    if needed and both and language in {"", "en"}:
        shown = next((c for c in cells if re.match(r"\s*\d{1,2}[/-]\d{1,2}[/-]\d", c)), "")
        raise ReadingsError(
            f"{where}: {shown[:30]!r}: day or month first? say --dates day-first or "
            "--dates month-first"
        )
    return "mdy" if "mdy" in fitting and not both and "dmy" not in fitting else "dmy"


def seconds_of(cells: "Cells[Any]", clock: Clock) -> tuple[FloatArray, list[tuple[str, Any]]]:
    """Return epoch seconds (n,), NaN where unknown, and reason → rows that cannot be used.

    A row in the doubled hour of autumn keeps the first of its two times, to say when it was.

    Raises
    ------
    ReadingsError
        If a local time needs a zone and none is given.
    """
    if is_numeric(cells):
        seconds, local = _counts(cells.to_numpy(dtype=float))
    else:
        seconds, local = _texts(cells, clock)
    reasons: list[tuple[str, Any]] = []
    naive = ~np.isnat(local)
    if naive.any():
        first = int(np.flatnonzero(naive)[0])
        if clock.zone is None:
            raise ReadingsError(
                f"{clock.where}: times like {str(cells.iloc[first]).strip()[:30]!r} do not say "
                "their time zone; say it with --zone, like --zone Europe/Berlin or --zone UTC"
            )
        seconds[naive], doubled, skipped = _zoned(local[naive], clock.zone)
        for reason, some in ((DOUBLED, doubled), (SKIPPED, skipped)):
            rows = np.zeros(len(cells), dtype=bool)
            rows[np.flatnonzero(naive)[some]] = True
            reasons.append((reason, rows))
    with np.errstate(invalid="ignore"):
        unset = (seconds < _FIRST_S) | (seconds >= _LAST_S)
    skipped_rows = reasons[1][1] if reasons else np.zeros(len(cells), dtype=bool)
    return seconds, [(NOT_SET, unset), (UNREADABLE, np.isnan(seconds) & ~skipped_rows), *reasons]


def _counts(values: FloatArray) -> tuple[FloatArray, Any]:
    """Return (epoch seconds, local times) of numbers: counts since 1970, or days of a sheet."""
    seconds = np.full(len(values), np.nan)
    local = np.full(len(values), np.datetime64("NaT"), dtype="datetime64[us]")
    for low, high, factor in _EPOCHS:
        some = (values >= low) & (values < high)
        seconds[some] = values[some] * factor
    seconds[(values >= 0.0) & (values < _SERIALS[0])] = 0.0  # counted from when it was switched on
    days = (values >= _SERIALS[0]) & (values < _SERIALS[1])
    if days.any():
        whole = np.round((values[days] - _SERIAL_OF_1970) * SECONDS_PER_DAY)
        local[days] = (whole * 1e6).astype("int64").astype("datetime64[us]")
    compact = (values >= _COMPACT[0]) & (values < _COMPACT[1])
    if compact.any():
        words = pd.Series(values[compact].astype("int64").astype(str))
        local[compact] = _stamps(words, "%Y%m%d%H%M%S")
    return seconds, local


def _texts(cells: "Cells[Any]", clock: Clock) -> tuple[FloatArray, Any]:
    """Return (epoch seconds, local times) of texts."""
    words = texts_of(cells)
    seconds = np.full(len(words), np.nan)
    local = np.full(len(words), np.datetime64("NaT"), dtype="datetime64[us]")
    told = words.str.contains(_OFFSET, regex=True).to_numpy(dtype=bool)
    if told.any():
        some = words[told].str.replace(r"\s*(?:UTC|GMT)$", "Z", regex=True)
        seconds[told] = _epoch(_stamps(some, "ISO8601"))
    rest = ~told
    if rest.any():
        local[rest] = _stamps(words[rest], "ISO8601")
    left = np.flatnonzero(rest & np.isnat(local))
    if len(left):
        numeric = pd.to_numeric(words.iloc[left].str.replace(",", "."), errors="coerce")
        seconds[left], local[left] = _counts(numeric.to_numpy(dtype=float))
        left = left[np.isnan(seconds[left]) & np.isnat(local[left])]
    if len(left):
        local[left] = _in_words(words.iloc[left], clock.order)
    return seconds, local


def _in_words(words: "Cells[Any]", order: str) -> Any:
    """Return local times written as people do, each in the first form that fits it."""
    found = np.full(len(words), np.datetime64("NaT"), dtype="datetime64[us]")
    forms = [
        day + clock for day in (*_DAYS[order or "dmy"], *_OTHER_DAYS) for clock in (*_CLOCKS, "")
    ]
    left = np.arange(len(words))
    while len(left):
        sample = words.iloc[left[:: max(1, len(left) // 20)][:20]]
        form = next((form for form in forms if any(_fits(cell, form) for cell in sample)), None)
        if form is None:
            break
        forms.remove(form)
        found[left] = _stamps(words.iloc[left], form)
        left = left[np.isnat(found[left])]
    return found


def _fits(cell: str, form: str) -> bool:
    try:
        return bool(dt.datetime.strptime(cell, form))
    except ValueError:
        return False


def _stamps(words: "Cells[Any]", form: str) -> Any:
    """Return times of one form as datetime64 in UTC; NaT where it does not fit."""
    try:
        read = pd.to_datetime(words, format=form, errors="coerce", utc=True)
    except (ValueError, OverflowError):  # a year that no clock of pandas has
        return np.full(len(words), np.datetime64("NaT"), dtype="datetime64[us]")
    return read.dt.tz_localize(None).to_numpy(dtype="datetime64[us]")


def _epoch(stamps: Any) -> FloatArray:
    seconds = stamps.astype("int64") / 1e6
    return np.asarray(np.where(np.isnat(stamps), np.nan, seconds))


def _zoned(local: Any, zone: ZoneInfo) -> tuple[FloatArray, Any, Any]:
    """Return (epoch seconds, in a doubled hour, in a skipped hour) of a zone's clock times."""
    if zone.key == "UTC":
        none = np.zeros(len(local), dtype=bool)
        return _epoch(local), none, none
    times = pd.DatetimeIndex(local)
    first = times.tz_localize(zone, ambiguous=np.ones(len(local), dtype=bool), nonexistent="NaT")
    later = times.tz_localize(zone, ambiguous=np.zeros(len(local), dtype=bool), nonexistent="NaT")
    seconds = _epoch(first.tz_convert(None).to_numpy(dtype="datetime64[us]"))
    other = _epoch(later.tz_convert(None).to_numpy(dtype="datetime64[us]"))
    return seconds, np.abs(other - seconds) > SECONDS_PER_HOUR / 60.0, np.isnan(seconds)
