"""The errors drainsim raises; every message is one sentence a user can act on.

Every error message is one printable line of at most 750 letters, because messages quote headings,
names and cells of files, which may hold line breaks or terminal controls. What quotes a file
anywhere else goes through `one_line`.
"""

from typing import Final

_HEAD: Final = 500  # letters kept of a sentence that quotes too much; its end says what is right
_TAIL: Final = 250


def one_line(sentence: str) -> str:
    r"""Return a sentence on one line of at most some 750 printable letters.

    Messages quote names, headings and cells of files: those may hold line breaks, terminal
    controls or thousands of letters.

    Examples
    --------
    >>> one_line("column 'a\x1b[2J\nb': empty")
    "column 'a�[2J b': empty"
    """
    if len(sentence) > _HEAD + _TAIL:
        sentence = f"{sentence[:_HEAD]} … {sentence[-_TAIL:]}"
    if sentence.isprintable():
        return sentence
    spaced = (" " if letter.isspace() else letter for letter in sentence)
    return "".join(letter if letter.isprintable() else "\ufffd" for letter in spaced)


class DrainsimError(Exception):
    """Root of everything drainsim raises on purpose."""

    def __init__(self, sentence: str) -> None:
        super().__init__(one_line(sentence))


class OutOfRangeError(DrainsimError, ValueError):
    """A number lies outside what a formula or its source covers."""


class ProfileError(DrainsimError, ValueError):
    """A battery profile or preset file is missing, unreadable or incomplete."""


class ScenarioError(DrainsimError, ValueError):
    """A scenario file, key or value cannot be used."""


class WeatherError(DrainsimError, ValueError):
    """A temperature file is missing, unreadable or has unusable rows."""


class RecordError(DrainsimError, ValueError):
    """A current log, table of circuits or job record cannot be used."""


class FleetError(DrainsimError, ValueError):
    """A fleet list cannot be read as a table of vehicles."""


class ReadingsError(DrainsimError, ValueError):
    """Histories of readings cannot be read."""
