"""What the headings of a fleet list mean: columns, units in headings, what is in doubt."""

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from drainsim.errors import FleetError
from drainsim.files.fleet.columns import BY_NAME, COLUMNS, Column, unit_factor

_UNIT_IN_BRACKETS: Final = re.compile(r"[\(\[]\s*([^\)\]]{1,12})\s*[\)\]]\s*$")


@dataclass(frozen=True, slots=True)
class Match:
    """A file's heading understood as a canonical column, with its unit and how sure we are.

    `note` says why a heading that looks like a column is not used.
    """

    heading: str
    column: str | None
    unit: str | None = None
    factor: float = 1.0
    offset: float = 0.0
    certain: bool = False
    note: str = ""


def split_heading(heading: str) -> tuple[str, str]:
    """Return (words, unit) of a heading; the unit is what stands in brackets at the end.

    Examples
    --------
    >>> split_heading("Quiescent current (mA)"), split_heading("engine_litres")
    (('quiescent current', 'mA'), ('engine litres', ''))
    """
    found = _UNIT_IN_BRACKETS.search(heading)
    unit = found.group(1) if found else ""
    rest = heading[: found.start()] if found else heading
    words = re.sub(r"[^0-9a-z°µ%³]+", " ", rest.lower().replace("-", " ")).strip()
    return words, unit


def match_headings(
    headings: Sequence[str], *, chosen: Mapping[str, str] | None = None
) -> list[Match]:
    """Return what each heading of a file means, every column at most once.

    Parameters
    ----------
    headings : sequence of str
    chosen : mapping, optional
        Heading → canonical column, decided by the user; "" leaves a column out. Wins over the
        suggestions.

    Raises
    ------
    FleetError
        If a chosen column does not exist or its heading has a foreign unit, or if two headings
        claim one column of numbers or dates for certain.
    """
    chosen = dict(chosen or {})
    for heading, name in chosen.items():
        if name and name not in BY_NAME:
            raise FleetError(f"column {heading!r}: {name!r} is not one of {', '.join(BY_NAME)}")
        if heading not in headings:
            raise FleetError(f"no column {heading!r} in the file; it has: {', '.join(headings)}")
    matches = [_match(heading, chosen.get(heading)) for heading in headings]
    for heading, match in zip(headings, matches, strict=True):
        if chosen.get(heading) and match.column is None:
            raise FleetError(f"column {heading!r}: {match.note}")
    claims: dict[str, list[int]] = {}
    for number, match in enumerate(matches):
        if match.column:
            claims.setdefault(match.column, []).append(number)
    for name, rivals in claims.items():
        rivals.sort(key=lambda n: (matches[n].heading not in chosen, _rank(matches[n])))
        first, *others = (matches[n] for n in rivals)
        for number, other in zip(rivals[1:], others, strict=True):
            both_sure = first.certain and other.certain
            picked = first.heading in chosen and other.heading not in chosen
            if both_sure and not picked and BY_NAME[name].kind != "text":
                raise FleetError(
                    f"columns {first.heading!r} and {other.heading!r} both mean {name}; "
                    "keep one, or say which"
                )
            note = f"{name} is read from {first.heading!r}"
            matches[number] = Match(other.heading, None, note=note)
    return matches


def suggested(headings: Sequence[str]) -> list[Match]:
    """Return what each heading seems to mean; several may claim one column.

    For a mapping that a user goes through: nothing raises.
    """
    taken: set[str] = set()
    found = [_match(heading, None) for heading in headings]
    for number in sorted(range(len(found)), key=lambda n: _rank(found[n])):
        match = found[number]
        if match.column in taken:
            note = f"{match.column} is read from another column"
            found[number] = Match(match.heading, None, note=note)
        elif match.column:
            taken.add(match.column)
    return found


def _rank(match: Match) -> tuple[bool, int]:
    """Return how well a heading fits its column: the smaller, the better."""
    if match.column is None:
        return (True, 0)
    if match.heading.strip().lower() == match.column:
        return (False, -1)
    column, words = BY_NAME[match.column], split_heading(match.heading)[0]
    names = [column.name.replace("_", " "), *column.words]
    fits = [n for n, name in enumerate(names) if words.startswith(split_heading(name)[0])]
    return (not match.certain, min(fits, default=len(names)))


def _match(heading: str, chosen: str | None) -> Match:
    words, unit = split_heading(heading)
    if chosen is not None:
        return _with_unit(heading, BY_NAME.get(chosen), words, unit, certain=True)
    raw = heading.strip().lower()
    if raw in BY_NAME:
        return Match(heading, raw, certain=True)
    for column in COLUMNS:
        names = {split_heading(column.name)[0], *(split_heading(w)[0] for w in column.words)}
        if words in names:
            return _with_unit(heading, column, words, unit, certain=True)
        stem, _, last = words.rpartition(" ")
        if stem in names and unit_factor(column, last) is not None:
            return _with_unit(heading, column, words, last, certain=True)
    known = {split_heading(w)[0]: c for c in COLUMNS for w in (c.name, *c.words)}
    near = difflib.get_close_matches(words, known, n=1, cutoff=0.82)
    return _with_unit(heading, known[near[0]] if near else None, words, unit, certain=False)


def _with_unit(
    heading: str, column: Column | None, words: str, unit: str, *, certain: bool
) -> Match:
    """Return a match with the unit's conversion; a foreign unit makes it no match."""
    if column is None:
        return Match(heading, None)
    if not unit:
        last = words.rpartition(" ")[2]
        canonical = split_heading(column.name)[0]
        unit = last if words != canonical and unit_factor(column, last) else ""
    if not unit or not column.units:
        return Match(heading, column.name, certain=certain)
    found = unit_factor(column, unit)
    if found is None:
        units = ", ".join(column.units)
        note = f"{unit!r} is not a unit of {column.name}; use one of {units}"
        return Match(heading, None, note=note)
    return Match(heading, column.name, unit, *found, certain=certain)
