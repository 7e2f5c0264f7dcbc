"""Answers about a list's columns, kept in a file for the next export of the same shape."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from drainsim.errors import FleetError
from drainsim.files.fleet.choosing import chosen_from
from drainsim.files.reading import read_text

VERSION: Final = 1
_FORMAT: Final = "drainsim columns"
_MAX_BYTES: Final = 200_000
_MOST: Final = 400  # headings
_KEYS: Final = {"format", "version", "columns"}


def columns_text(chosen: Mapping[str, str]) -> str:
    """Return answers as the text of a file: heading → column and conventions."""
    document = {"format": _FORMAT, "version": VERSION, "columns": dict(chosen)}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def read_columns(path: Path) -> dict[str, str]:
    """Return the answers in a file.

    Raises
    ------
    FleetError
        If it is no such file, or says something that cannot be.
    """
    return columns_from_text(
        read_text(path, error=FleetError, max_bytes=_MAX_BYTES), where=str(path)
    )


def columns_from_text(text: str, *, where: str) -> dict[str, str]:
    """Return the answers in a file's text; same errors as `read_columns`."""
    right = f"write it as the page or --out does: columns.json, format {_FORMAT!r}"
    try:
        document: Any = json.loads(text)
    except (ValueError, RecursionError):
        raise FleetError(f"{where}: not a JSON file; {right}") from None
    if not isinstance(document, dict) or document.get("format") != _FORMAT:
        raise FleetError(f"{where}: no answers about columns; {right}")
    if document.get("version") != VERSION or isinstance(document.get("version"), bool):
        raise FleetError(f"{where}: version {document.get('version')!r} is not {VERSION}; {right}")
    strays = sorted(set(map(str, document)) - _KEYS)
    columns = document.get("columns")
    if strays or not isinstance(columns, dict) or len(columns) > _MOST:
        what = f"unknown key {strays[0]!r}" if strays else "'columns' is no table of headings"
        raise FleetError(f"{where}: {what}; {right}")
    for heading, said in columns.items():
        if not isinstance(said, str):
            raise FleetError(f"{where}: column {heading!r}: text is needed; {right}")
        try:
            chosen_from(heading, said)
        except FleetError as error:
            raise FleetError(f"{where}: {error}") from None
    return dict(columns)


def for_headings(
    saved: Mapping[str, str], headings: tuple[str, ...]
) -> tuple[dict[str, str], list[str]]:
    """Return the answers that apply to a list, and the headings it does not have."""
    here = {heading: said for heading, said in saved.items() if heading in headings}
    return here, [heading for heading in saved if heading not in headings]
