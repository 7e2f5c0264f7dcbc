"""Sentences on a terminal: wrapped, set in, as items of a list."""

import os
import re
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any, Final, TextIO

from drainsim.language import say

WIDTH: Final = 100  # letters of a line where nothing says how wide it is
_NARROWEST: Final = 40
_BRIEF_LINES: Final = 5
# What commands a terminal or turns the direction of writing, but for line ends and tabs.
_COMMANDS: Final = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]|\r(?!\n)"
)


class PlainOutput:
    """A stream that prints text and nothing that commands a terminal.

    Answers quote headings, names and sources of files that someone else may have written.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text, with a mark in the place of every letter that is a command."""
        self._stream.write(_COMMANDS.sub("\ufffd", text))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        """Do everything else as the stream does."""
        return getattr(self._stream, name)


def width() -> int | None:
    """Return the letters of a line: COLUMNS, else the terminal's; None into a file or pipe."""
    columns = os.environ.get("COLUMNS", "")
    if columns.isdecimal() and int(columns) > 0:
        return max(int(columns), _NARROWEST)
    if sys.stdout is not None and sys.stdout.isatty():
        return max(shutil.get_terminal_size().columns, _NARROWEST)
    return None


def wrapped(text: str, begin: str, then: str) -> list[str]:
    """Return the lines of a text in the language spoken, the first with an indent of its own.

    Number plates and units stay whole: no line ends at a hyphen.
    """
    return textwrap.wrap(
        say(text),
        width() or WIDTH,
        initial_indent=begin,
        subsequent_indent=then,
        break_on_hyphens=False,
    )


def folded(text: str) -> str:
    """Return a text whose lines fit the width; into a file or pipe they stay as they are."""
    letters = width()
    if letters is None:
        return text
    lines = []
    for line in text.split("\n"):
        indent = " " * (len(line) - len(line.lstrip()) + 4)
        lines += _fold(line, letters, indent) if len(line) > letters else [line]
    return "\n".join(lines)


def _fold(line: str, letters: int, indent: str) -> list[str]:
    return textwrap.wrap(
        line, letters, subsequent_indent=indent[: letters // 2], break_on_hyphens=False
    )


def brief(text: str) -> str:
    r"""Return the first five lines of a text that say something.

    Examples
    --------
    >>> brief("a\n\nb\nc\nd\ne\nf").split()
    ['a', 'b', 'c', 'd', 'e']
    """
    return "\n".join([line for line in text.split("\n") if line.strip()][:_BRIEF_LINES])


def items(sentences: Iterable[str]) -> list[str]:
    """Return the lines of a list of sentences.

    Examples
    --------
    >>> items(["first", "second"])
    ['  - first', '  - second']
    """
    return [line for sentence in sentences for line in wrapped(sentence, "  - ", "    ")]


def row(label: str, text: str, letters: int = 33) -> str:
    """Return a line of a table: label and text, in the language spoken.

    Examples
    --------
    >>> row("drain", "3 mA", letters=6)
    '  drain  3 mA'
    """
    return f"  {say(label):<{letters}} {say(text)}"


def warning_lines(sentences: Sequence[str]) -> list[str]:
    """Return warnings below their heading, each on a line of its own; nothing where there are none.

    Examples
    --------
    >>> warning_lines(["hot"]), warning_lines([])
    (['', 'Warnings', '  - hot'], [])
    """
    said = [f"  - {say(sentence)}" for sentence in sentences]
    return ["", say("Warnings"), *said] if said else []


def more_words(number: int) -> str:
    """Return that there is more than is printed."""
    return say("... and {number} more: --out DIR writes all of them", number=number)
