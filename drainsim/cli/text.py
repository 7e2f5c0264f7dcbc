"""Sentences on a terminal: wrapped, set in, as items of a list."""

import re
import textwrap
from collections.abc import Iterable
from typing import Any, Final, TextIO

from drainsim.vehicle.documents.fleet_rows import RowProblem

WIDTH: Final = 100  # letters of a line
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


def wrapped(text: str, begin: str, then: str) -> list[str]:
    """Return the lines of a text; the first begins with one indent, the others with another."""
    return textwrap.wrap(text, WIDTH, initial_indent=begin, subsequent_indent=then)


def items(sentences: Iterable[str]) -> list[str]:
    """Return the lines of a list of sentences.

    Examples
    --------
    >>> items(["first", "second"])
    ['  - first', '  - second']
    """
    return [line for sentence in sentences for line in wrapped(sentence, "  - ", "    ")]


def row_words(problem: RowProblem) -> str:
    """Return which row of a list is wrong, where and why."""
    column = f", column {problem.column}" if problem.column else ""
    return f"row {problem.row}{column}: {problem.sentence}"
