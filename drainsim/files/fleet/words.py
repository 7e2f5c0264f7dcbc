"""The trade words of fleet lists in six languages, from the one table `data/fleet_words.toml`."""

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import Any, Final

_MARKS: Final = re.compile(r"[^0-9a-z°%]+")
_LETTERS: Final = str.maketrans({"ß": "ss", "³": "3", "µ": "u", "μ": "u", "œ": "oe", "ø": "o"})


@lru_cache(maxsize=20_000)
def plain(text: str) -> str:
    """Return words as they are compared: small letters without accents and marks.

    Examples
    --------
    >>> plain("Kältestartstrom (EN)"), plain("N° d'immatriculation"), plain("µA")
    ('kaltestartstrom en', 'n° d immatriculation', 'ua')
    """
    text = text.replace("#", " no ").replace("№", " no ")
    folded = unicodedata.normalize("NFKD", text.translate(_LETTERS).casefold())
    bare = "".join(c for c in folded if not unicodedata.combining(c))
    return _MARKS.sub(" ", bare.translate(_LETTERS)).strip()


def words_in(text: str) -> tuple[str, ...]:
    """Return the words of a table's entry, which commas part."""
    return tuple(word for part in text.split(",") if (word := plain(part)))


def spread(table: Mapping[str, str]) -> dict[str, str]:
    """Return each word of a table of comma-separated words → its key.

    Examples
    --------
    >>> spread({"h": "hours, Std."})
    {'hours': 'h', 'std': 'h'}
    """
    return {word: key for key, words in table.items() for word in words_in(words)}


def _by_column(entries: list[dict[str, str]], told: str) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for entry in entries:
        found.setdefault(entry["column"], {}).update(
            dict.fromkeys(words_in(entry["words"]), entry[told])
        )
    return found


_TABLE: Final[dict[str, Any]] = tomllib.loads(
    resources.files("drainsim").joinpath("data/fleet_words.toml").read_text("utf-8")
)
# Canonical column → language → what its heading may say, the likeliest first.
HEADINGS: Final[dict[str, dict[str, tuple[str, ...]]]] = {
    column: {language: words_in(words) for language, words in languages.items()}
    for column, languages in _TABLE["headings"].items()
}
COLUMN_OF: Final[dict[str, str]] = {
    word: column
    for column, languages in HEADINGS.items()
    for words in (*languages.values(), (plain(column),))
    for word in words
}
LITTLE: Final = frozenset(words_in(_TABLE["lists"]["little"]))  # say nothing in a heading
# Words that only join or date: left out where the order of the others does not matter.
_FILL: Final = frozenset(words_in(_TABLE["lists"]["fill"]))
FOREIGN: Final = frozenset(words_in(_TABLE["lists"]["foreign_units"]))  # no remark, no unit of ours
# Words before or behind a column's own name → the room of the scenario it must be in.
ROOM_OF: Final = {word: room for room, words in _TABLE["rooms"].items() for word in words_in(words)}
DRIVERS: Final = frozenset(words_in(_TABLE["lists"]["drivers"]))  # who never names a vehicle
EXAMPLES: Final = frozenset(words_in(_TABLE["lists"]["examples"]))  # names of a template's row
SINCE: Final = frozenset(words_in(_TABLE["lists"]["since"]))  # say that a day has passed
# Unit → what a heading calls its quantity, in every language.
QUANTITIES: Final = {unit: words_in(words) for unit, words in _TABLE["quantities"].items()}
NEGATIONS: Final = frozenset(words_in(_TABLE["lists"]["negations"]))  # begin "not measured"
# A heading that two things may bear → (the column it could be, the other thing, whether a unit of
# the column says that it is the first).
TWO_MEANINGS: Final[dict[str, tuple[str, str, bool]]] = {
    word: (entry["column"], entry["other"], entry.get("a_unit_decides", False))
    for entry in _TABLE["two_meanings"]
    for word in words_in(entry["words"])
}
WEAK: Final = frozenset(words_in(_TABLE["lists"]["weak"]))  # its cells must bear it out
NOTHING: Final = frozenset(words_in(_TABLE["lists"]["nothing"]))
TOTALS: Final = frozenset(words_in(_TABLE["lists"]["totals"]))
NOTES: Final = frozenset(words_in(_TABLE["lists"]["notes"]))
SHORT: Final[dict[str, str]] = _TABLE["short"]
STANDARDS: Final[dict[str, str]] = _TABLE["standards"]
UNITS: Final[dict[str, tuple[str, ...]]] = {
    unit: words_in(words) for unit, words in _TABLE["units"].items()
}
UNIT_OF: Final = {word: unit for unit, words in UNITS.items() for word in words}
CHOICES: Final[dict[str, dict[str, str]]] = {
    column: spread(words) for column, words in _TABLE["choices"].items()
}
# What a cell says that no choice covers → the hint; what it says that may mean two things.
HINTS: Final = _by_column(_TABLE["hints"], "hint")
ASKED_WORDS: Final = _by_column(_TABLE["asked"], "question")
MONTH_OF: Final = {
    word: int(n) for n, words in _TABLE["months"].items() for word in words_in(words)
}


def content(words: Sequence[str]) -> frozenset[str]:
    """Return the words of a heading that carry its meaning, in any order, without plurals.

    Examples
    --------
    >>> sorted(content(["geparkt", "seit"])), sorted(content(["consumo", "en", "reposo"]))
    (['geparkt'], ['consumo', 'reposo'])
    """
    bare = [word for word in words if word not in _FILL and word not in LITTLE]
    return frozenset(word[:-1] if len(word) > 4 and word.endswith("s") else word for word in bare)


def _by_content() -> dict[frozenset[str], str]:
    """Return meaning words → column, where one column alone has them and no doubt hangs on them."""
    found: dict[frozenset[str], set[str]] = {}
    for phrase, column in COLUMN_OF.items():
        found.setdefault(content(phrase.split()), set()).add(column)
    for phrase in (*TWO_MEANINGS, *WEAK):
        found.setdefault(content(phrase.split()), set()).add("")
    return {
        words: next(iter(columns))
        for words, columns in found.items()
        if words and len(columns) == 1 and "" not in columns
    }


BY_CONTENT: Final = _by_content()


def headings_in_words() -> str:
    """Return every heading that is recognised, a paragraph a column, a line a language."""
    parts = []
    for column, languages in _TABLE["headings"].items():
        lines = [f"  {language}  {words}" for language, words in languages.items()]
        parts.append("\n".join([column, *lines]))
    return "\n".join(parts)
