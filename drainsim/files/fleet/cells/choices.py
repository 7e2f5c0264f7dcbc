"""A cell's word to the key of a choice: battery types, fuels, kinds, units, climates."""

import difflib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from drainsim.files.fleet.cells.cell_kinds import FORMULA, Cell
from drainsim.files.fleet.cells.numbers import CellError, brief
from drainsim.files.fleet.words import ASKED_WORDS, CHOICES, HINTS, plain
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles

Choices = Mapping[str, Mapping[str, str]]

KINDS_AS_FUEL: Final = ("electric", "hybrid")  # kinds of vehicle that lists keep under "fuel"


class CellDoubtError(CellError):
    """A cell has two plausible readings; `answers` are what a heading's brackets may say.

    Without answers only the cell itself can tell, and `remedy` says what to write there: an answer
    for the whole column would change cells that are not in doubt.
    """

    def __init__(self, question: str, *, answers: tuple[str, ...] = (), remedy: str = "") -> None:
        super().__init__(question)
        self.answers = answers
        self.remedy = remedy


def choices_of(folders: tuple[Path, ...] = ()) -> dict[str, dict[str, str]]:
    """Return column → plain word → key, for every column that takes one of some keys."""
    found = {column: dict(words) for column, words in CHOICES.items()}
    keys = list_profiles(folders)
    found["battery_profile"] |= {plain(key): key for key in keys}
    for column, kind in (("unit", "units"), ("climate", "climates")):
        named = found.setdefault(column, {})
        for key, preset in presets(kind).items():
            named |= {plain(key): key, plain(preset.name): key}
    return found


def fits_choice(cell: Cell, column: str, choices: Choices) -> bool:
    """Say whether a cell belongs under a column of choices, understood or not."""
    word = plain(str(cell))
    kinds = column == "fuel" and choices["vehicle_kind"].get(word) in KINDS_AS_FUEL
    return (
        kinds
        or word in choices[column]
        or word in HINTS.get(column, {})
        or word in ASKED_WORDS.get(column, {})
    )


def choice_of(
    cell: Cell, column: str, choices: Choices, meanings: Mapping[str, str] | None = None
) -> str:
    """Return the key that a cell means.

    Raises
    ------
    CellDoubtError
        If it has two meanings.
    CellError
        If it is none of the choices; the message hints at what would be right.
    """
    known = choices[column]
    word = plain(str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell))
    if meanings and word in meanings:
        said = meanings[word]
        return known.get(plain(said), said) if said else ""
    if cell == FORMULA:
        raise CellError(f"{FORMULA}: open the list in its program, save it and load it again")
    if word in known:
        return known[word]
    if word in ASKED_WORDS.get(column, {}):
        first = sorted(set(known.values()))[-1]
        raise CellDoubtError(
            f"{brief(cell)}: {ASKED_WORDS[column][word]}", answers=(f"{word}: {first}", f"{word}: ")
        )
    hint = HINTS.get(column, {}).get(word)
    if hint:
        raise CellError(f"{brief(cell)}: {hint}")
    keys = sorted(key for key in set(known.values()) if key)
    near = difflib.get_close_matches(word, known, n=1, cutoff=0.8)
    guess = f"; did you mean {known[near[0]] or near[0]}?" if near else ""
    raise CellError(f"{brief(cell)} is not known{guess or '; use one of ' + ', '.join(keys)}")
