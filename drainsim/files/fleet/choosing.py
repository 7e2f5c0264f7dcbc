"""What the user says of a column, in the words of the option `--column` and of saved answers."""

import re
from dataclasses import dataclass
from typing import Final

from drainsim.errors import FleetError
from drainsim.files.fleet.columns import BY_NAME, BY_PUBLIC, SHOWN, unit_of
from drainsim.files.fleet.words import plain

DECIMAL_WORDS: Final = {",": "decimal comma", ".": "decimal point"}
ORDER_WORDS: Final = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the user says of a heading: its column ("" leaves it out), unit and conventions."""

    column: str
    unit: str = ""
    decimal: str = ""
    order: str = ""
    meanings: tuple[tuple[str, str], ...] = ()


def chosen_from(heading: str, text: str) -> Chosen:
    """Return what the user says of a heading, from words like "quiescent_a [mA]".

    Raises
    ------
    FleetError
        If the column, unit or convention is not known.
    """
    found = re.fullmatch(r"\s*([^\[\]]*?)\s*(?:\[(.*)\])?\s*", text, flags=re.DOTALL)
    name, told = (found.group(1), found.group(2) or "") if found else (text, "")
    if not name:
        return Chosen("")
    column = BY_PUBLIC.get(name)
    if column is None:
        raise FleetError(f"column {heading!r}: {name!r} is not one of {', '.join(BY_NAME)}")
    unit = decimal = order = ""
    meanings: list[tuple[str, str]] = []
    for part in filter(None, (one.strip() for one in told.split(","))):
        word = part.lower()
        if word in DECIMAL_WORDS.values():
            decimal = next(key for key, said in DECIMAL_WORDS.items() if said == word)
        elif word in ORDER_WORDS.values():
            order = next(key for key, said in ORDER_WORDS.items() if said == word)
        elif word in ("as planned", "dates as shown", "dates swapped"):
            meanings.append((word.removeprefix("dates ").removeprefix("as "), "yes"))
        elif ":" in part:
            cell, _, key = part.partition(":")
            meanings.append((plain(cell), key.strip()))
        elif unit_of(column, part) is not None:
            unit = part
        elif "%" in column.units and word in {"share", "1"}:
            unit = "1"
        else:
            units = ", ".join(SHOWN.get(unit, unit) for unit in column.units)
            raise FleetError(
                f"column {heading!r}: {part!r} is not a unit of {column.name}; use one of "
                f"{units or 'none'}, or decimal comma, decimal point, day first, month first, "
                "year first"
            )
    return Chosen(column.name, unit, decimal, order, tuple(meanings))


def joined(before: str, said: str) -> str:
    """Return an answer together with those given before to the same column.

    Examples
    --------
    >>> joined("parked_since [day first]", "parked_since [as planned]")
    'parked_since [day first, as planned]'
    """
    name, _, told = said.partition(" [")
    old_name, _, old = before.partition(" [")
    if name != old_name or not old or not told:
        return said
    return f"{name} [{old.rstrip(']')}, {told}"
