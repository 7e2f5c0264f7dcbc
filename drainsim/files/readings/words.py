"""What a heading of a history means: the trade's words in six languages, from two tables."""

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Final
from zoneinfo import available_timezones

from drainsim.files.fleet.heading_parts import split_heading
from drainsim.files.fleet.words import HEADINGS, LITTLE, SHORT, UNIT_OF, content, plain, words_in

_TABLE: Final[dict[str, Any]] = tomllib.loads(
    resources.files("drainsim").joinpath("data/readings_words.toml").read_text("utf-8")
)
# Our column → the column of fleet lists whose words mean the same here.
_SHARED: Final = {
    "vehicle": "id",
    "voltage": "resting_voltage_v",
    "battery_temperature": "resting_temperature_c",
    "air_temperature": "temperature_c",
}
MEASURED: Final = (
    "voltage",
    "ignition",
    "battery_temperature",
    "air_temperature",
    "cranking_minimum",
    "voltmeter",
)
_UTC: Final = frozenset(words_in(_TABLE["lists"]["utc"]))
ON: Final = frozenset(words_in(_TABLE["lists"]["on"]))
OFF: Final = frozenset(words_in(_TABLE["lists"]["off"]))
_UNITS: Final = frozenset({"v", "mv", "°c", "°f", "k", "s"})
_BRACKETS: Final = re.compile(r"\s*[(\[{<][^)\]}>]{0,40}[)\]}>]")
_TOKEN: Final = re.compile(r"[^\s_:|,]+")
_LONGEST: Final = 4  # words of a quantity beside a vehicle's name


def _phrases(column: str) -> dict[str, tuple[str, ...]]:
    """Return language → what a heading may say, a vehicle's or list's own words first."""
    own = {lang: words_in(words) for lang, words in _TABLE["headings"][column].items()}
    named = _SHARED.get(column, column)
    shared = HEADINGS.get(named, {})
    return {
        language: (*shared.get(language, ()), *own.get(language, ()))
        for language in dict.fromkeys([*shared, *own])
    } | {"": (plain(named), plain(column))}


_PHRASES: Final = {column: _phrases(column) for column in _TABLE["headings"]}


def _by_phrase() -> dict[str, dict[str, tuple[int, str]]]:
    """Return phrase → column → (rank within its language, language)."""
    found: dict[str, dict[str, tuple[int, str]]] = {}
    for column, languages in _PHRASES.items():
        for language, phrases in languages.items():
            for rank, phrase in enumerate(phrases):
                found.setdefault(phrase, {}).setdefault(column, (rank, language))
    return found


_COLUMNS_OF: Final = _by_phrase()


def _in_any_order() -> dict[frozenset[str], dict[str, tuple[int, str]]]:
    """Return the words of a phrase → what it means, where all phrases of these words agree."""
    found: dict[frozenset[str], list[dict[str, tuple[int, str]]]] = {}
    for phrase, columns in _COLUMNS_OF.items():
        if len(content(phrase.split())) > 1:
            found.setdefault(content(phrase.split()), []).append(columns)
    return {
        words: told[0] for words, told in found.items()
        if all(columns.keys() == told[0].keys() for columns in told)
    }  # fmt: skip


_IN_ANY_ORDER: Final = _in_any_order()


@dataclass(frozen=True, slots=True)
class Heading:
    """What a heading may mean: column → rank; its unit, the zone it says, its languages."""

    text: str
    columns: tuple[tuple[str, int], ...] = ()
    unit: str = ""
    zone: str = ""
    languages: frozenset[str] = frozenset()

    def rank(self, column: str) -> int | None:
        """Return how well it fits a column, the smaller the better; None where it does not."""
        return dict(self.columns).get(column)


@lru_cache(maxsize=20_000)
def heading_of(text: str) -> Heading:
    """Return what a heading may mean by its words.

    Examples
    --------
    >>> heading_of("Batteriespannung [mV]").unit, heading_of("timestamp_utc").zone
    ('mv', 'UTC')
    >>> [column for column, _ in heading_of("Date").columns]
    ['date']
    """
    words, inside = split_heading(text[:200])
    beside = [word for one in inside for word in plain(one).split()]
    tokens = words.split()
    utc = any(word in _UTC for word in (*tokens, *beside))
    units = [unit for word in (*beside, *tokens[-1:]) if (unit := UNIT_OF.get(word)) in _UNITS]
    bare = [token for token in tokens if token not in _UTC]
    for way in _ways(bare):
        found = _COLUMNS_OF.get(" ".join(way)) or _IN_ANY_ORDER.get(content(way))
        if found:
            return Heading(
                text,
                tuple((column, rank) for column, (rank, _) in found.items()),
                next((unit for unit in units if unit), ""),
                _zone_in(inside, utc=utc),
                frozenset(language for _, language in found.values() if language),
            )
    return Heading(text, unit=next((unit for unit in units if unit), ""))


def _zone_in(inside: list[str], *, utc: bool) -> str:
    """Return the zone that a heading says or has in brackets; "" for none."""
    named = (one for one in inside if "/" in one and one in available_timezones())
    return "UTC" if utc else next(named, "")


def _ways(tokens: list[str]) -> list[list[str]]:
    """Return the words of a heading as written, then lengthened, then without unit and fill."""
    ways = [tokens, [full for token in tokens if (full := SHORT.get(token, token))]]
    if len(tokens) > 1 and (tokens[-1] in UNIT_OF or tokens[-1] == "ms"):
        ways += [tokens[:-1], [SHORT.get(token, token) for token in tokens[:-1]]]
    ways.append([token for token in ways[-1] if token not in LITTLE])
    return [way for way in ways if way]


def vehicle_in(text: str) -> tuple[str, str, str]:
    """Return (vehicle, column, unit) of a heading that names a vehicle, and maybe a quantity.

    Examples
    --------
    >>> vehicle_in("VA-1"), vehicle_in("VA-1 ignition"), vehicle_in("Spannung VA-2 (mV)")
    (('VA-1', 'voltage', ''), ('VA-1', 'ignition', ''), ('VA-2', 'voltage', 'mv'))
    """
    unit = heading_of(text).unit
    base = _BRACKETS.sub("", text).strip()
    places = [found.span() for found in _TOKEN.finditer(base)]
    for count in range(min(_LONGEST, len(places) - 1), 0, -1):
        before, behind = base[: places[-count][0]], base[places[count - 1][1] :]
        for name, said in (
            (before, base[len(before) :]),
            (behind, base[: len(base) - len(behind)]),
        ):
            quantity = _quantity(said)
            if quantity and name.strip(" _:|,-"):
                return name.strip(" _:|,"), quantity, unit
    return base, "voltage", unit


def _quantity(said: str) -> str:
    """Return the measured column that words beside a vehicle's name mean; "" for none."""
    if UNIT_OF.get(plain(said)) in {"v", "mv"}:
        return "voltage"
    found = dict(heading_of(said).columns)
    return next((column for column in MEASURED if column in found), "")


def language_of(headings: list[Heading]) -> str:
    """Return the language that most headings are in; "" where none leads."""
    counts: dict[str, int] = {}
    for heading in headings:
        for language in heading.languages if len(heading.languages) == 1 else ():
            counts[language] = counts.get(language, 0) + 1
    best = sorted(counts, key=lambda language: -counts[language])
    leads = len(best) == 1 or (len(best) > 1 and counts[best[0]] > counts[best[1]])
    return best[0] if leads else ""
