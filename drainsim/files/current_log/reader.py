"""Reads a log of time and current, as any meter or clamp may write it."""

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Unpack

import numpy as np
import pandas as pd

from drainsim.errors import RecordError
from drainsim.files.current_log.cells import MISSING, Place, current_of, numbers_of
from drainsim.files.current_log.columns import CURRENT_UNITS, TIME_UNITS, Said, choose_columns
from drainsim.files.current_log.times import seconds_of, straightened
from drainsim.files.reading import decoded_or_western, read_bytes, refuse_long_line
from drainsim.language import message
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_DAY

MAX_LOG_BYTES: Final = 100_000_000
FEWEST_SAMPLES: Final = 20
_MOST_COLUMNS: Final = 200
_LONGEST_DAYS: Final = 3660.0  # ten years; a later time is a wrong column or unit
_PREAMBLE_LINES: Final = 60
_HIGHEST_A: Final = 3000.0  # no vehicle battery gives more
# Digits, and what stands between them in numbers, times and readings with their unit.
_LIKE_DATA: Final = re.compile(r"^[+-]?[\d.,]*\d[\d:.,/ TZ+eE-]*( ?[AaPp][Mm]| ?(A|mA|uA|µA|V))?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentLog:
    """A checked log: time from its first row, current drawn positive."""

    time_s: FloatArray
    current_a: FloatArray
    voltage_v: FloatArray | None
    printed_a: float  # step of the last printed digit, 0 if unknown
    unit: str
    where: str
    notes: tuple[str, ...]  # what was guessed, missing or put right
    turned: bool  # the meter's sign was turned round


def read_current_log(path: Path, **said: Unpack[Said]) -> CurrentLog:
    """Return the log in a file; see `log_from_bytes`."""
    raw = read_bytes(path, error=RecordError, max_bytes=MAX_LOG_BYTES)
    return log_from_bytes(raw, where=str(path), **said)


def log_from_bytes(raw: bytes, *, where: str, **said: Unpack[Said]) -> CurrentLog:
    """Return the log in a file's bytes.

    Parameters
    ----------
    raw : bytes
        UTF-8, UTF-16 with a byte order mark, or an older Western encoding. Comma, semicolon,
        tab or bar between columns, decimal point or comma, lines before the heading allowed.
    where : str
        Name for messages.
    **said
        Columns and units where the heading leaves a choice; see `columns.Said`.

    Raises
    ------
    RecordError
        One sentence: file, row, column, and what would be right.
    """
    unit, time_unit = said.get("unit"), said.get("time_unit")
    if unit is not None and unit not in CURRENT_UNITS:
        raise RecordError(f"--unit {unit}: use one of {', '.join(CURRENT_UNITS)}")
    if time_unit is not None and time_unit not in TIME_UNITS:
        raise RecordError(f"--time-unit {time_unit}: use one of {', '.join(TIME_UNITS)}")
    if len(raw) > MAX_LOG_BYTES:
        raise RecordError(
            f"{where}: {len(raw) / 1e6:.0f} MB is too large; at most {MAX_LOG_BYTES / 1e6:g} MB"
        )
    refuse_long_line(raw, where=where, error=RecordError)
    notes: list[str] = []
    text = _decoded(raw, where, notes)
    delimiter, heading_row, heading = _layout(text, where, notes)
    columns = choose_columns(heading, where=where, **said)
    wanted = [columns.time, columns.current, columns.date, columns.voltage, columns.unit_column]
    text = text.split("\n", heading_row + 1)[-1]
    body = text.encode()
    del text, raw  # a long log is there once, not five times
    table = _table(body, where, delimiter, heading_row, heading).reset_index(drop=True)
    cells = {i: table[i] for i in {w for w in wanted if w is not None}}
    del table, body
    first_row = heading_row + 2  # as a spreadsheet numbers rows
    place = Place(where=where, first_row=first_row, heading=heading)
    current, printed, used = current_of(cells, columns, place, notes)
    seconds = seconds_of(cells, columns, place, notes)
    voltage = None
    if columns.voltage is not None:
        voltage, _ = numbers_of(cells[columns.voltage], columns.voltage, place)
    return _assembled(
        seconds, current, voltage, printed=printed, unit=used, place=place, notes=notes
    )


def _decoded(raw: bytes, where: str, notes: list[str]) -> str:
    """Return text; a byte order mark decides, else UTF-8, else an older Western encoding."""
    text, older = decoded_or_western(raw, where=where, error=RecordError)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if older:
        notes.append(message("the file is not UTF-8; it was read as an older Western encoding"))
    if "\x00" in text[:100_000]:
        raise RecordError(f"{where}: not a text file; export the log as CSV")
    if not text.strip():
        raise RecordError(f"{where}: the file is empty; a heading and rows of numbers are needed")
    return text


def _layout(text: str, where: str, notes: list[str]) -> tuple[str, int, list[str]]:
    """Return delimiter, line number of the heading (from 0) and its names."""
    lines = text[:200_000].splitlines()[: _PREAMBLE_LINES + 40]
    filled = [line for line in lines if line.strip()]
    if not filled:
        raise RecordError(f"{where}: the first {len(lines)} lines are empty; begin with a heading")
    body = filled[len(filled) // 2 :]  # preamble lines stand at the top
    counts = {mark: min(line.count(mark) for line in body) for mark in ";\t|,"}
    delimiter = next((mark for mark in ";\t|," if counts[mark] > 0), None)
    if delimiter is None:
        raise RecordError(
            f"{where}: no columns found; separate time and current by comma, semicolon or tab"
        )
    rows = [next(csv.reader([line], delimiter=delimiter), []) for line in lines]
    data = [_holds_readings(row) for row in rows]
    start = next((i for i in range(len(rows)) if data[i] and any(data[i + 1 : i + 4])), None)
    if start is None:
        raise RecordError(
            f"{where}: no rows with a time and a number found below a heading such as "
            "time_s,current_a"
        )
    names = next(([c.strip() for c in row] for row in rows[:start][::-1] if any(row)), [])
    number = max((i for i in range(start) if any(rows[i])), default=-1)
    width = len(rows[start])
    if len(names) < 2 or any(cell.strip() for cell in rows[start][len(names) :]):
        if names:
            raise RecordError(
                f"{where}: row {start + 1} has {width} fields, the heading above it {len(names)}"
                + ("; a decimal comma needs semicolons between columns" if delimiter == "," else "")
            )
        names = ["time", "current"] if width == 2 else [f"column {i + 1}" for i in range(width)]
        notes.append(
            message(
                "there is no heading row; {names} were taken in turn", names=", ".join(names)[:80]
            )
        )
    names += [""] * (width - len(names))  # a delimiter at the end of every row
    if len(names) > _MOST_COLUMNS:
        raise RecordError(f"{where}: {len(names)} columns; at most {_MOST_COLUMNS} are read")
    return delimiter, number, names


def _holds_readings(row: list[str]) -> bool:
    """Say whether a row looks like a time and a number, and not like words."""
    filled = [cell.strip() for cell in row if cell.strip()]
    like = sum(bool(_LIKE_DATA.match(cell)) for cell in filled)
    return like >= 1 and like + sum(cell.lower() in MISSING for cell in filled) >= 2


def _table(
    body: bytes, where: str, delimiter: str, heading_row: int, heading: list[str]
) -> pd.DataFrame:
    """Return all cells as text, blank lines left out, index = line under the heading."""
    try:
        table = pd.read_csv(
            io.BytesIO(body),
            sep=delimiter,
            header=None,
            names=list(range(len(heading))),
            dtype=str,
            keep_default_na=False,
            skip_blank_lines=False,
            index_col=False,
            on_bad_lines="error",
        )
    except pd.errors.ParserError as error:
        found = re.search(r"Expected (\d+) fields in line (\d+), saw (\d+)", str(error))
        if not found:
            raise RecordError(f"{where}: not a readable CSV file: a quote is left open") from None
        expected, line, saw = map(int, found.groups())
        hint = "; a decimal comma needs semicolons between the columns" if delimiter == "," else ""
        raise RecordError(
            f"{where}: row {heading_row + 1 + line} has {saw} fields where the heading has "
            f"{expected}{hint}"
        ) from None
    except pd.errors.EmptyDataError:
        raise RecordError(f"{where}: there are no rows under the heading") from None
    blank = table.iloc[:, 0].fillna("").str.strip().eq("")
    for column in range(1, len(heading)):
        if not blank.any():
            break
        blank &= table.iloc[:, column].fillna("").str.strip().eq("")
    return table.loc[~blank]


def _assembled(
    seconds: FloatArray,
    current: FloatArray,
    voltage: FloatArray | None,
    *,
    printed: float,
    unit: str,
    place: Place,
    notes: list[str],
) -> CurrentLog:
    """Put time in order, sign right, missing samples aside; say what was done."""
    known = np.isfinite(current)
    missing = int((~known).sum())
    if missing:
        at = int(np.flatnonzero(~known)[0])
        notes.append(
            message(
                "{missing} of {samples} samples have no number (first in row {row}): overload or "
                "not measured",
                missing=missing,
                samples=len(current),
                row=str(place.first_row + at),
            )
        )
    high = np.flatnonzero(known & (np.abs(np.where(known, current, 0.0)) > _HIGHEST_A))
    if len(high):
        raise RecordError(
            f"{place.where}: row {place.first_row + int(high[0])}: {current[high[0]]:g} A is "
            f"beyond any vehicle ({_HIGHEST_A:g} A); is the unit right?"
        )
    if int(known.sum()) < FEWEST_SAMPLES:
        raise RecordError(
            f"{place.where}: {int(known.sum())} samples with a number; at least {FEWEST_SAMPLES} "
            "are needed"
        )
    time = straightened(seconds, place, notes)
    if not time[-1] <= _LONGEST_DAYS * SECONDS_PER_DAY:
        raise RecordError(
            f"{place.where}: the log would last {time[-1] / SECONDS_PER_DAY:.3g} days, at most "
            f"{_LONGEST_DAYS:g} are read; is the time column in another unit?"
        )
    time = time[known]
    drawn = current[known]
    turned = float(np.median(drawn[len(drawn) // 2 :])) < 0.0
    if turned:
        drawn = -drawn
        notes.append(message("the meter counts discharge as negative; the sign was turned"))
    backwards = float((drawn < -max(3.0 * printed, 0.002)).mean())
    if backwards > 0.001:
        notes.append(
            message(
                "{percent:.1f} % of the samples have the other sign: the battery was being "
                "charged, or the clamp was not zeroed",
                percent=100 * backwards,
            )
        )
    return CurrentLog(
        time_s=time,
        current_a=drawn,
        voltage_v=None if voltage is None else voltage[known],
        printed_a=printed,
        unit=unit,
        where=place.where,
        notes=tuple(notes),
        turned=turned,
    )
