"""Read files of bounded size and name what is wrong in one sentence.

A file named in a file lies in its folder or below it, links followed: a scenario that someone
sends must not read what lies elsewhere. Paths given on the command line are the user's own and
may lead anywhere. Uploads have no folder and cannot name files at all.
"""

import difflib
import os
import re
import stat
import sys
import tomllib
from collections.abc import Callable, Iterable
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, TypeVar

from drainsim.errors import DrainsimError

MAX_TOML_BYTES = 1_000_000
MAX_KEY_PARTS = 32
MAX_LINE_BYTES = 1_000_000  # a longer line is no table's row: its cells would fill the memory
_BLANKS = re.compile(r"[ \t]+")
_BETWEEN_KEYS = re.compile(r"[\n,=\[\]{}#]+")

_Content = TypeVar("_Content")

STANDARD = Path("-")  # standard input, or output


def key_and_value(
    word: str, *, where: str, form: str, error: type[DrainsimError]
) -> tuple[str, str]:
    """Return the two sides of a word that is NAME=VALUE, or raise `error` saying its form."""
    name, equals, value = word.partition("=")
    if not equals or not name.strip():
        raise error(f"{where} {word[:60]}: write it as {form}")
    return name.strip(), value


def read_bytes(path: Path, *, error: type[DrainsimError], max_bytes: int) -> bytes:
    """Return a file's content, or raise `error` saying why it cannot be read.

    A pipe or device is refused without waiting for it, and no more than `max_bytes` are read
    whatever size the file claims. The path "-" is standard input.
    """
    limit = f"at most {max_bytes / 1e6:g} MB are read"
    if path == STANDARD:
        return _standard_input(limit, error=error, max_bytes=max_bytes)
    try:
        if path.is_dir():
            raise error(f"{path}: this is a folder; give a file")
        if not path.exists():
            raise error(f"{path}: no such file")
        if not path.is_file():
            raise error(f"{path}: not a regular file")
        with open(os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0)), "rb") as file:
            state = os.fstat(file.fileno())  # what was opened, should the name have changed hands
            if not stat.S_ISREG(state.st_mode):
                raise error(f"{path}: not a regular file")
            if state.st_size > max_bytes:
                raise error(f"{path}: {state.st_size / 1e6:.0f} MB is too large; {limit}")
            content = file.read(max_bytes + 1)
        if len(content) > max_bytes:
            raise error(f"{path}: too large; {limit}")
        return content
    except (OSError, ValueError) as reason:
        if isinstance(reason, DrainsimError):
            raise
        detail = getattr(reason, "strerror", None) or str(reason)
        raise error(f"{path}: cannot be read: {detail}") from None


def _standard_input(limit: str, *, error: type[DrainsimError], max_bytes: int) -> bytes:
    """Return what comes in on standard input; a second reader finds nothing left."""
    content = b"" if sys.stdin is None else sys.stdin.buffer.read(max_bytes + 1)
    if len(content) > max_bytes:
        raise error(f"standard input: too large; {limit}")
    if not content:
        raise error("standard input: nothing came in (it can be read for one file only)")
    return content


def read_text(path: Path, *, error: type[DrainsimError], max_bytes: int = MAX_TOML_BYTES) -> str:
    """Return a text file's content, or raise `error` saying why it cannot be read."""
    raw = read_bytes(path, error=error, max_bytes=max_bytes)
    refuse_long_line(raw, where=str(path), error=error)
    return decoded(raw, where=str(path), error=error)


def kept_unchanged(
    most: int,
) -> Callable[[Callable[[Path], _Content]], Callable[[Path], _Content]]:
    """Let a reader give what it gave before, of so many files, until time or size of one changes.

    What is given again is shared: nobody may change it.
    """

    def keeping(read: Callable[[Path], _Content]) -> Callable[[Path], _Content]:
        @lru_cache(maxsize=most)
        def kept(path: Path, _changed_ns: int, _size: int) -> _Content:
            return read(path)

        @wraps(read)
        def reader(path: Path) -> _Content:
            try:
                state = path.stat()
            except OSError:
                return read(path)  # which says what is wrong
            return kept(path, state.st_mtime_ns, state.st_size)

        return reader

    return keeping


def decoded(raw: bytes, *, where: str, error: type[DrainsimError]) -> str:
    """Return the text of a file: UTF-16 where its byte order mark says so, else UTF-8.

    Some shells write UTF-16 when a command's output is sent to a file.
    """
    wide = is_utf16(raw)
    try:
        return raw.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as reason:
        kind = "UTF-16" if wide else "UTF-8"
        raise error(
            f"{where}: byte {reason.start} is not {kind} text; save the file as UTF-8"
        ) from None


def decoded_or_western(raw: bytes, *, where: str, error: type[DrainsimError]) -> tuple[str, bool]:
    """Return the text of a file, and whether it is in an older Western encoding, not UTF."""
    try:
        return decoded(raw, where=where, error=error), False
    except error:
        if is_utf16(raw):
            raise
        return raw.decode("cp1252", errors="replace"), True


def is_utf16(raw: bytes) -> bool:
    """Say whether a byte order mark of UTF-16 begins a file."""
    return raw.startswith((b"\xff\xfe", b"\xfe\xff"))


def refuse_long_line(raw: bytes, *, where: str, error: type[DrainsimError]) -> None:
    """Raise `error` if a line is longer than any row of a table can be."""
    start = 0
    while len(raw) - start > MAX_LINE_BYTES:
        window = start, start + MAX_LINE_BYTES
        end = max(raw.rfind(b"\n", *window), raw.rfind(b"\r", *window))
        if end < 0:
            raise error(
                f"{where}: a line of more than {MAX_LINE_BYTES / 1e6:g} MB; is it a text file with "
                "one row a line?"
            )
        start = end + 1


def file_within(folder: Path, name: str, *, where: str, error: type[DrainsimError]) -> Path:
    """Return the path of a file that another file names.

    A file passed on must not reach what lies elsewhere: the name is relative to the folder of
    the file that holds it, and the file lies in that folder or below it, links followed.

    Raises
    ------
    DrainsimError
        Of the type `error`, if the name leads out of the folder.
    """
    plain = name.replace("\\", "/")
    parts = plain.split("/")
    if plain.startswith("/") or ":" in parts[0] or ".." in parts or "\x00" in name:
        raise error(
            f"{where}: {name[:60]!r}: name a file in the folder of this file or below it, without "
            "'..' and not from the root"
        )
    try:
        inside = (folder / name).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # links that go round in a circle
        inside = False
    if not inside:
        raise error(
            f"{where}: {name[:60]!r} is a link that leads out of this file's folder; put the file "
            "itself there"
        )
    return folder / name


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
