"""Sentences on a terminal: wrapped, set in, as items of a list."""

import textwrap
from collections.abc import Iterable
from typing import Final

from drainsim.vehicle.documents.fleet_rows import RowProblem

WIDTH: Final = 100  # letters of a line


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
