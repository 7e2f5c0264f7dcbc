"""Reads histories of readings from files and folders as they come."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from drainsim.errors import DrainsimError, ReadingsError
from drainsim.files.reading import STANDARD, read_bytes
from drainsim.files.readings.block import Block, Found, blocks_of
from drainsim.files.readings.gather import histories_of
from drainsim.files.readings.history import Readings, Refused
from drainsim.files.readings.layout import Layout, layout_of
from drainsim.files.readings.sheet import MAX_BYTES, OddRowsError, Sheet, sheets_of
from drainsim.files.readings.times import Clock, order_of, zone_named
from drainsim.files.readings.words import language_of

DATE_ORDERS: Final = {"day-first": "dmy", "month-first": "mdy"}
_KINDS: Final = (".csv", ".txt", ".tsv", ".xlsx")
_MOST_FILES: Final = 20_000


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the user says of all files."""

    zone: ZoneInfo | None
    order: str


def read_readings(
    paths: Sequence[Path], *, zone: str | None = None, dates: str | None = None
) -> Readings:
    """Return the histories in files and folders, folders with what lies below them.

    Parameters
    ----------
    paths : sequence of Path
        CSV and XLSX files, or folders of them; one file a vehicle is called like the vehicle.
    zone : str, optional
        Time zone of times that do not say theirs, like Europe/Berlin.
    dates : {"day-first", "month-first"}, optional
        How dates like 03/04/2026 are meant.

    Raises
    ------
    ReadingsError
        If a file given by name cannot be read, or none in the folders; one sentence. A file of a
        folder that cannot be read is kept aside with its reason.
    """
    asked = _asked(zone, dates)
    found, blocks = Found(), []
    style = None
    for path, of_folder in _files(paths, found):
        try:
            content = read_bytes(path, error=ReadingsError, max_bytes=MAX_BYTES)
            sheets, blocks_here = _read(content, str(path), path.stem, asked, found)
        except DrainsimError as error:
            if not of_folder:
                raise
            sentence = str(error).removeprefix(f"{path}: ")
            found.refused.append(Refused(str(path), 0, 0, sentence))
            continue
        blocks += blocks_here
        style = style or sheets[0]
    if not blocks and found.refused and not any(one.rows for one in found.refused):
        first = found.refused[0]
        raise ReadingsError(f"{first.where}: {first.reason}")
    return _readings(blocks, found, style)


def readings_from_files(
    files: Sequence[tuple[str, bytes]], *, zone: str | None = None, dates: str | None = None
) -> Readings:
    """Return the histories in files given as (name, content); same errors as `read_readings`."""
    found, asked = Found(), _asked(zone, dates)
    blocks: list[Block] = []
    style = None
    for name, content in files:
        sheets, here = _read(content, name, Path(name).stem, asked, found)
        blocks += here
        style = style or sheets[0]
    return _readings(blocks, found, style)


def _asked(zone: str | None, dates: str | None) -> _Asked:
    if dates is not None and dates not in DATE_ORDERS:
        raise ReadingsError(f"--dates {dates[:40]}: use one of {', '.join(DATE_ORDERS)}")
    return _Asked(zone_named(zone), DATE_ORDERS.get(dates or "", ""))


def _files(paths: Sequence[Path], found: Found) -> Iterator[tuple[Path, bool]]:
    """Yield the files to read, and whether each is one of a folder."""
    for path in paths:
        if path == STANDARD or not path.is_dir():
            yield path, False
            continue
        inside = sorted(
            Path(place) / name
            for place, _, names in os.walk(path)
            for name in names
            if not name.startswith(".")
        )
        wanted = [file for file in inside if file.suffix.lower() in _KINDS]
        if len(wanted) > _MOST_FILES:
            raise ReadingsError(f"{path}: {len(wanted)} files; at most {_MOST_FILES} are read")
        if not wanted:
            raise ReadingsError(f"{path}: no CSV or XLSX file in this folder")
        others = [file.name for file in inside if file not in set(wanted)]
        if others:
            found.note(f"{path}: not read: {', '.join(others)[:200]}")
        for file in wanted:
            yield file, True


def _read(
    content: bytes, where: str, stem: str, asked: _Asked, found: Found
) -> tuple[list[Sheet], list[Block]]:
    """Return a file's sheets and blocks; a sheet without readings is told beside others."""
    sheets = sheets_of(content, where)
    blocks: list[Block] = []
    read, errors = [], []
    for sheet in sheets:
        place = f"{where}, sheet {sheet.name}" if len(sheets) > 1 else where
        try:
            layout = layout_of(sheet, place, sheet.name if len(sheets) > 1 else stem)
        except ReadingsError as error:
            errors.append(error)
            continue
        blocks += _sheet_blocks(sheet, layout, place, asked, found)
        read.append(sheet)
        for note in layout.notes:
            found.note(note)
    if not read:
        raise errors[0]
    for reason in errors:
        found.note(f"not read: {reason}")
    return read, blocks


def _sheet_blocks(
    sheet: Sheet, layout: Layout, where: str, asked: _Asked, found: Found
) -> list[Block]:
    rows = sheet.spread(layout.below)
    times = [row[layout.time] for row in rows if layout.time < len(row)]
    language = language_of(list(layout.known))
    order = order_of(times, where=where, language=language, said=asked.order)
    clock = Clock(where, zone_named(layout.zone or None) or asked.zone, order)
    found.decimals.append(_decimal(rows, layout))
    refused, notes = len(found.refused), dict(found.notes)

    def blocks(*, careful: bool) -> list[Block]:
        return [
            block
            for frame in sheet.frames(layout.below, len(layout.headings), layout.texts, careful)
            for block in blocks_of(frame, layout, clock, found)
        ]

    try:
        return blocks(careful=False)
    except OddRowsError:
        del found.refused[refused:]  # the same rows come again
        found.notes = notes
        return blocks(careful=True)


def _decimal(rows: list[list[str]], layout: Layout) -> str:
    """Return the decimal mark of the measured columns; a point where none shows."""
    places = [place for one in layout.series for place, _ in one.columns.values()]
    cells = [row[n] for row in rows[:100] for n in places if n < len(row)]
    commas = sum("," in cell for cell in cells)
    return "," if commas > sum("." in cell for cell in cells) else "."


def _readings(blocks: list[Block], found: Found, style: Sheet | None) -> Readings:
    rows = sum(len(block.time_s) for block in blocks) + sum(one.rows for one in found.refused)
    notes = [
        f"{sentence} ({count} of them)" if count > 1 else sentence
        for sentence, count in found.notes.items()
    ]
    return Readings(
        histories=histories_of(blocks, found),
        refused=tuple(found.refused),
        rows=rows,
        notes=tuple(notes),
        delimiter=style.delimiter if style else ",",
        decimal=found.decimals[0] if found.decimals else ".",
    )
