"""The file a morning leaves for the next one: versioned, whole or not at all, checked by a sum."""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from drainsim.errors import ReadingsError
from drainsim.files.formats import KEY, NEWEST, newest_of
from drainsim.files.reading import decoded, read_bytes
from drainsim.files.writing import write_text

KIND: Final = "forecast state"
_MAX_BYTES: Final = 400_000_000
_SUM: Final = "sha256"
_STATE: Final = "state"
_KEYS: Final = {"kind", _SUM, _STATE}


def write_state(path: Path, state: Mapping[str, Any]) -> None:
    """Write what a morning leaves for the next one.

    Raises
    ------
    DrainsimError
        If the place cannot be written to.
    """
    write_text(path, state_text(state))


def state_text(state: Mapping[str, Any]) -> str:
    """Return the text of a state file: a line each for what it is, its sum and the state."""
    body = _plain(state)
    head = f'{{"{KEY}": {NEWEST[KIND]}, "kind": "{KIND}", "{_SUM}": "{_sum(body)}",\n'
    return f'{head}"{_STATE}": {body}}}\n'


def read_state(path: Path) -> dict[str, Any] | None:
    """Return what the morning before left; None where there is no file yet.

    Raises
    ------
    ReadingsError
        If it is no such file, was changed since, or was written by a newer drainsim.
    """
    if not path.exists():
        return None
    raw = read_bytes(path, error=ReadingsError, max_bytes=_MAX_BYTES)
    return state_from_bytes(raw, where=str(path))


def state_from_bytes(raw: bytes, *, where: str) -> dict[str, Any]:
    """Return the state in a file's content; same errors as `read_state`."""
    anew = "name a file that --state wrote, or a new one to begin from all readings"
    try:
        document = json.loads(decoded(raw, where=where, error=ReadingsError), parse_constant=str)
    except (ValueError, RecursionError) as error:
        if isinstance(error, ReadingsError):
            raise
        raise ReadingsError(f"{where}: not a {KIND}; {anew}") from None
    if not isinstance(document, dict) or document.get("kind") != KIND:
        raise ReadingsError(f"{where}: not a {KIND}; {anew}")
    found = newest_of(document, KIND, where=where, error=ReadingsError)
    state = found.get(_STATE)
    if found.keys() != _KEYS or not isinstance(state, dict) or not _fits(state, found[_SUM]):
        raise ReadingsError(f"{where}: this {KIND} was changed or is cut off; {anew}")
    return state


def _fits(state: dict[str, Any], told: object) -> bool:
    try:
        return _sum(_plain(state)) == told
    except ValueError:  # an infinite number
        return False


def _plain(state: Mapping[str, Any]) -> str:
    return json.dumps(state, allow_nan=False, ensure_ascii=True, separators=(",", ":"))


def _sum(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()
