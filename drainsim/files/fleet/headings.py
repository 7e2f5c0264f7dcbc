"""What the headings of a fleet list mean, from their words alone: column, unit, standard."""

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from drainsim.errors import FleetError
from drainsim.files.fleet.choosing import Chosen, chosen_from
from drainsim.files.fleet.columns import (
    BY_NAME,
    SHOWN,
    Column,
    column_named,
    customary_unit,
    unit_of,
)
from drainsim.files.fleet.heading_parts import date_form, is_unit, split_heading
from drainsim.files.fleet.words import (
    BY_CONTENT,
    COLUMN_OF,
    FOREIGN,
    HEADINGS,
    LITTLE,
    QUANTITIES,
    ROOM_OF,
    SHORT,
    STANDARDS,
    TWO_MEANINGS,
    UNIT_OF,
    WEAK,
    content,
    plain,
)

_BETWEEN: Final = re.compile(r"\s*(?:/|\||;|\n| - | – )\s*")
_OUR_OWN: Final = frozenset({"row_in_file", "column_to_correct", "what_is_wrong"})


@dataclass(frozen=True, slots=True)
class Match:
    """A file's heading understood as a canonical column, with its unit and how sure we are.

    `note` says why a heading that looks like a column is not used; `may_be` the column it may
    mean and `instead` what else it may, which is asked; `weak` that only its cells can bear it out.
    """

    heading: str
    column: str | None
    unit: str | None = None
    factor: float = 1.0
    offset: float = 0.0
    certain: bool = False
    note: str = ""
    may_be: str = ""
    instead: str = ""
    weak: bool = False
    standard: str = ""  # of cold cranking currents
    order: str = ""  # of a date's parts: dmy, mdy, ymd
    swapped: str = ""  # real dates beside text: asked, or as the user says: shown, swapped
    decimal: str = ""  # "," or "."
    decimal_hint: str = ""  # the same, only from the file's separator
    confirmed: bool = False  # said by the user, whatever the cells look like
    asked: str = ""  # the question that must be answered before its cells are used
    answers: tuple[str, ...] = ()  # what may be said to it, as `choosing` reads it in brackets
    numbers: bool = False  # its cells are numbers or dates
    mixed: bool = False  # parts of one among percentages
    meanings: tuple[tuple[str, str], ...] = ()  # cell's word → what the user says it means
    basis: str = "heading"


# What a heading that only says "battery" or "engine" means with a unit beside it.
_NAMED_BY_UNIT: Final = (
    ("ah", "capacity_ah"),
    ("a", "cold_cranking_a"),
    ("v", "resting_voltage_v"),
    ("years", "battery_age_years"),
    ("months", "battery_age_years"),
    ("l", "engine_litres"),
    ("cc", "engine_litres"),
)


@lru_cache(maxsize=4096)
def heading_match(heading: str, parts: tuple[str, ...] = ()) -> Match:
    """Return what a heading means by its words; `parts` are its rows where it has several."""
    if heading in _OUR_OWN:
        return Match(heading, None, certain=True, confirmed=True, note="written by drainsim")
    texts = [heading, *(part for part in reversed(parts) if part), *_BETWEEN.split(heading)]
    noted = None
    for text in dict.fromkeys(texts):
        match = _match(text, heading, split_heading(heading)[1] if text in parts else [])
        if match and (match.column or match.instead):
            return match
        noted = noted or match
    if noted:
        return noted
    near = _nearest(split_heading(heading)[0])
    if near:
        return _with_unit(heading, near, split_heading(heading)[1], certain=False)
    return Match(heading, None)


def _match(text: str, heading: str, beside: Sequence[str] = ()) -> Match | None:
    """Return the match of one way to read a heading, None where it says nothing."""
    words, inside = split_heading(text)
    inside = [*inside, *(one for one in beside if one not in inside)]
    for tokens in _ways(words.split()):
        for read in (_as_named, _beside_a_unit, _of_a_room):
            match = read(heading, tokens, inside)
            if match is not None:
                return match
    said_units = [word for one in inside for word in plain(one).split()]
    told = {*words.split(), *said_units}
    if "a" in words.split() and told <= {"a", *STANDARDS} and len(told) > 1:
        return _with_unit(heading, BY_NAME["cold_cranking_a"], [words, *inside], certain=False)
    for tokens in _ways(words.split()):
        units = [token for token in tokens if token in UNIT_OF]
        meant = _by_content(tokens, units, said_units)
        if meant:
            own = [token for token in units if unit_of(BY_NAME[meant], token)]
            return _with_unit(heading, BY_NAME[meant], [*inside, *own], certain=False)
    return None


def _as_named(heading: str, tokens: list[str], inside: Sequence[str]) -> Match | None:
    """Return the match of words that name a column as a whole."""
    said = " ".join(tokens)
    column = column_named(said)
    if column is None:
        return _asked(heading, said, inside) if said in TWO_MEANINGS else None
    weak = said in WEAK
    by_unit = _by_unit(column, inside) if weak else None
    if by_unit is not None:
        return _with_unit(heading, by_unit, inside, certain=True)
    ends = [] if said == plain(column.name) else [tokens[-1], tokens[0]]
    own = [end for end in ends if unit_of(column, end)]
    return _with_unit(heading, column, [*inside, *own], certain=True, weak=weak)


def _asked(heading: str, said: str, units: Sequence[str]) -> Match:
    """Return the match of words with two meanings, which is asked about."""
    name, other, a_unit_decides = TWO_MEANINGS[said]
    found = _with_unit(heading, BY_NAME[name], units, certain=False)
    if a_unit_decides and found.unit:
        return replace(found, certain=True)
    return replace(found, column=None, may_be=found.column or "", instead=other)


def _beside_a_unit(heading: str, tokens: list[str], inside: Sequence[str]) -> Match | None:
    """Return the match of words that name a column once their unit is taken out."""
    for start, end in _unit_places(tokens):
        unit = " ".join(tokens[start:end])
        named = " ".join(t for t in (*tokens[:start], *tokens[end:]) if t not in LITTLE)
        weak, units = named in WEAK, [unit, *inside]
        column = column_named(named)
        if column is not None and weak and not unit_of(column, unit):
            column = _by_unit(column, [unit])
        if named in TWO_MEANINGS and unit_of(BY_NAME[TWO_MEANINGS[named][0]], unit):
            return _asked(heading, named, units)
        if column is None:
            of_a_room = _of_a_room(heading, named.split(), units)
            if of_a_room and of_a_room.unit:
                return of_a_room
            continue
        if unit_of(column, unit):
            return _with_unit(heading, column, units, certain=True, weak=weak)
        if column.name == "cold_cranking_a" and unit in STANDARDS:
            return _with_unit(heading, column, units, certain=True)
    return None


def _of_a_room(heading: str, tokens: list[str], inside: Sequence[str]) -> Match | None:
    """Return the match of words of which the first or last says whose they are."""
    if len(tokens) < 2:
        return None
    for end, others in ((tokens[0], tokens[1:]), (tokens[-1], tokens[:-1])):
        of, rest = ROOM_OF.get(end), " ".join(t for t in others if t not in LITTLE)
        inner = _match(rest, heading) if of and rest else None
        name = (inner.column or inner.may_be) if inner else ""
        if of and inner and name and _belongs(BY_NAME[name], of):
            units = [inner.unit, *inside] if inner.unit else inside
            return _with_unit(heading, BY_NAME[name], units, certain=True, weak=inner.weak)
    return None


def _by_content(tokens: list[str], units: list[str], said_units: list[str]) -> str | None:
    """Return the column that words mean in any order, with their units or without them."""
    rest = [token for token in tokens if token not in units]
    meant = BY_CONTENT.get(content(tokens)) or _by_quantity(rest, [*units, *said_units])
    bare = BY_CONTENT.get(content(rest))
    if meant is None and bare and all(unit_of(BY_NAME[bare], unit) for unit in units):
        return bare
    return meant


def _by_quantity(rest: Sequence[str], units: Sequence[str]) -> str | None:
    """Return the column of words with the quantity that a unit stands for: "V at rest"."""
    for unit in units:
        for quantity in QUANTITIES.get(UNIT_OF.get(unit, ""), ()):
            name = BY_CONTENT.get(content([*rest, quantity]))
            if rest and name and unit_of(BY_NAME[name], unit):
                return name
    return None


def _belongs(column: Column, of: str) -> bool:
    room = column.room
    if column.name in {"battery_fitted", "resting_voltage_at"}:
        room = "battery"
    if column.name in {"depot", "id", "parked_from", "planned_return"} and of == "vehicle":
        return True
    return room == of


def _ways(tokens: list[str]) -> Iterator[list[str]]:
    """Yield the words of a heading as written, then lengthened, then without little words."""
    if not tokens:
        return
    yield tokens
    full = [t for t in (SHORT.get(token, token) for token in tokens) if t]
    if full and full != tokens:
        yield full
    bare = [token for token in full if token not in LITTLE]
    if bare and bare != full:
        yield bare


def _unit_places(tokens: list[str]) -> Iterator[tuple[int, int]]:
    for start in range(len(tokens)):
        for end in (start + 1, start + 2):
            if end <= len(tokens) and end - start < len(tokens):
                said = " ".join(tokens[start:end])
                if said in UNIT_OF or said in STANDARDS or said == "a":
                    yield start, end


def _with_unit(
    heading: str, column: Column, said: Sequence[str], *, certain: bool, weak: bool = False
) -> Match:
    """Return a match with the unit that is said; a foreign unit makes it no match."""
    if column.name == "parked_from" and "d" in _plain_units(said):
        column = BY_NAME["parked_days"]  # "parked since (days)" counts them
    unit, standard, order = None, "", ""
    for text in _pieces(said, column):
        known = unit_of(column, text)
        words = plain(text)
        if known and unit is None:
            unit = known
        elif known:
            continue
        elif words in STANDARDS and column.name == "cold_cranking_a":
            standard = STANDARDS[words]
        elif date_form(text):
            order = date_form(text)
        elif column.kind == "number" and (words in UNIT_OF or words in FOREIGN):
            units = ", ".join(SHOWN.get(unit, unit) for unit in column.units)
            note = f"{text!r} is not a unit of {column.name}; use one of {units}"
            return Match(heading, None, note=note)
    basis = "heading"
    if unit is None and plain(heading) in {plain(column.name), plain(column.public)}:
        unit = customary_unit(column) or None  # its own name says our unit
    factor, offset = column.units[unit] if unit else (1.0, 0.0)
    weak = weak and heading.strip().lower() not in {column.name, column.public}
    return Match(
        heading, column.name, unit, factor, offset, certain=certain, weak=weak,
        standard=standard, order=order, basis=basis,
    )  # fmt: skip


def _pieces(said: Sequence[str], column: Column) -> Iterator[str]:
    """Yield what stands in brackets, word by word where it is no unit as a whole."""
    for text in said:
        if ":" in text:  # how times are written, like h:mm
            continue
        if unit_of(column, text) or date_form(text) or not is_unit(text):
            yield text
        else:
            yield from plain(text).split()


def _by_unit(column: Column, inside: Sequence[str]) -> Column | None:
    """Return the column of the same room that a unit in brackets means: a "battery" in Ah."""
    units = _plain_units(inside)
    room = column.room
    for unit, name in _NAMED_BY_UNIT:
        if unit in units and BY_NAME[name].room == room and room != "unit":
            return BY_NAME[name]
    return None


def _plain_units(said: Sequence[str]) -> set[str | None]:
    return {UNIT_OF.get(word) for text in said for word in plain(text).split()}


def _nearest(words: str) -> Column | None:
    """Return the column of a misspelt heading: every word close to one of a known heading."""
    tokens = words.split()
    for near in difflib.get_close_matches(words, COLUMN_OF, n=5, cutoff=0.86):
        others = near.split()
        if len(others) == len(tokens) and all(
            difflib.SequenceMatcher(None, a, b).ratio() >= 0.75
            for a, b in zip(tokens, others, strict=True)
        ):
            return BY_NAME[COLUMN_OF[near]]
    return None


def known_heading(text: str) -> bool:
    """Say whether a cell's text is the heading of something known."""
    if not text or len(text) > 80:
        return False
    match = _match(text, text)
    return bool(match and (match.column or match.instead or match.note))


def rank(match: Match) -> tuple[bool, int]:
    """Return how well a heading fits its column: the smaller, the better."""
    if match.column is None:
        return (True, 0)
    if match.heading.strip().lower() == match.column:
        return (False, -1)
    words = split_heading(match.heading)[0]
    places = [said.index(words) for said in HEADINGS[match.column].values() if words in said]
    return (not match.certain, min(places, default=99))


def match_headings(
    headings: Sequence[str],
    *,
    chosen: Mapping[str, str] | None = None,
    parts: Sequence[tuple[str, ...]] = (),
) -> list[Match]:
    """Return what each heading of a file means by its words and by the user's choices.

    Several may mean one column; `understanding.understand` settles that.

    Parameters
    ----------
    headings : sequence of str
    chosen : mapping, optional
        Heading → column with its conventions, as `chosen_from` reads them. Wins over the words.
    parts : sequence of tuple of str, optional
        The rows a heading was joined from.

    Raises
    ------
    FleetError
        If a chosen heading or column does not exist, or its heading has a foreign unit.
    """
    said = {heading: chosen_from(heading, text) for heading, text in (chosen or {}).items()}
    for heading in said:
        if heading not in headings:
            raise FleetError(f"no column {heading!r} in the file; it has: {', '.join(headings)}")
    rows = list(parts) or [()] * len(headings)
    return [
        as_chosen(heading, said[heading])
        if heading in said
        else heading_match(heading, tuple(part))
        for heading, part in zip(headings, rows, strict=True)
    ]


def as_chosen(heading: str, said: Chosen) -> Match:
    """Return what the user says of a heading; a foreign unit in it is refused."""
    if not said.column:
        return Match(heading, None, certain=True, confirmed=True, basis="chosen")
    column = BY_NAME[said.column]
    words, inside = split_heading(heading)
    own = [] if said.unit else [*inside, *_own_units(words, column)]
    match = _with_unit(heading, column, own, certain=True)
    if match.column is None:
        raise FleetError(f"column {heading!r}: {match.note}")
    unit, factor, offset = match.unit, match.factor, match.offset
    if said.unit == "1":
        unit, factor, offset = "1", 1.0, 0.0
    elif said.unit:
        unit = unit_of(column, said.unit)
        factor, offset = column.units[unit or ""]
    return Match(
        heading, column.name, unit, factor, offset, certain=True, standard=match.standard,
        order=said.order or match.order,
        swapped=_swapped(said), decimal=said.decimal, confirmed=bool(said.unit),
        meanings=said.meanings, basis="chosen",
    )  # fmt: skip


def _swapped(said: Chosen) -> str:
    return next((word for word, _ in said.meanings if word in {"shown", "swapped"}), "")


def _own_units(words: str, column: Column) -> list[str]:
    return [token for token in words.split() if len(token) <= 3 and unit_of(column, token)][:1]
