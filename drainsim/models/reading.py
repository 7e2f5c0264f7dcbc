"""Read TOML files and name what is wrong in one sentence."""

import difflib
import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from drainsim.errors import DrainsimError

MAX_TOML_BYTES = 1_000_000
MAX_KEY_PARTS = 32
_BLANKS = re.compile(r"[ \t]+")
_BETWEEN_KEYS = re.compile(r"[\n,=\[\]{}#]+")


def read_bytes(path: Path, *, error: type[DrainsimError], max_bytes: int) -> bytes:
    """Return a file's content, or raise `error` saying why it cannot be read."""
    try:
        if path.is_dir():
            raise error(f"{path}: this is a folder; give a file")
        if not path.exists():
            raise error(f"{path}: no such file")
        if not path.is_file():
            raise error(f"{path}: not a regular file")
        size = path.stat().st_size
        if size > max_bytes:
            raise error(
                f"{path}: {size / 1e6:.0f} MB is too large; at most {max_bytes / 1e6:g} MB are read"
            )
        return path.read_bytes()
    except (OSError, ValueError) as reason:
        if isinstance(reason, DrainsimError):
            raise
        detail = getattr(reason, "strerror", None) or str(reason)
        raise error(f"{path}: cannot be read: {detail}") from None


def read_text(path: Path, *, error: type[DrainsimError], max_bytes: int = MAX_TOML_BYTES) -> str:
    """Return a text file's content, or raise `error` saying why it cannot be read."""
    raw = read_bytes(path, error=error, max_bytes=max_bytes)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        raise error(
            f"{path}: byte {reason.start} is not UTF-8 text; save the file as UTF-8"
        ) from None


def parse_toml(text: str, *, where: str, error: type[DrainsimError]) -> dict[str, Any]:
    """Return a TOML document as a dictionary, or raise `error` with line and column."""
    for token in _BETWEEN_KEYS.split(_BLANKS.sub("", text)):
        if token.count(".") > MAX_KEY_PARTS and sum(map(bool, token.split("."))) > MAX_KEY_PARTS:
            # each further part costs the TOML reader more time than the one before
            raise error(f"{where}: not valid TOML: a key of more than {MAX_KEY_PARTS} parts")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise error(f"{where}: not valid TOML: brackets are nested too deeply") from None
    except ValueError as reason:  # tomllib's own errors, and numbers of thousands of digits
        raise error(f"{where}: not valid TOML: {reason}") from None


def nearest(word: str, known: Iterable[str]) -> str:
    """Return " (nearest: …)" for a misspelt key, or all valid keys when none is near."""
    candidates = list(known)
    close = difflib.get_close_matches(word, candidates, n=1, cutoff=0.6)
    if close:
        return f"did you mean {close[0]}?"
    return "valid keys: " + ", ".join(sorted(candidates))
