"""What an answer rests on, as lines for a terminal."""

from collections.abc import Collection
from typing import Final

from drainsim.language import Message, joined, message, say
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.assumption import Assumption, shown
from drainsim.vehicle.vehicle import VEHICLE

# The table, or the key, behind a swing that is not called like its key.
_BEHIND: Final = {"unit_a": "unit", "season": "site", "oil": str(VEHICLE.oil_grade)}
_KNOWN: Final = {"given", "measured"}  # origins of what the user said


def assumption_lines(case: Case, matter: Collection[str] = (), *, verbose: bool) -> list[str]:
    """Return what the answer rests on: everything, or what was given and what matters.

    `matter` holds the names of the swings that move the answer most.
    """
    lines = ["", say("Assumptions (place: {place})", place=case.site.description)]
    spreads = [item for item in case.assumptions if item.name.startswith("uncertainty.")]
    others = [item for item in case.assumptions if item not in spreads]
    if not verbose:
        shown_ = [one for one in others if one.origin in _KNOWN or _moves(one.name, matter)]
        left = len(case.assumptions) - len(shown_)
        lines += [f"  {say(item.in_words())}" for item in shown_]
        more = say("and {left} usual values: --verbose lists them, --json holds them", left=left)
        return [*lines, f"  {more}"]
    lines += [f"  {say(item.in_words())}" for item in others]
    of_cases = joined(", ", [_short(item) for item in spreads])
    return [*lines, "  " + say("spreads of the cases: {spreads}", spreads=of_cases)]


def _moves(name: str, swings: Collection[str]) -> bool:
    """Say whether an assumption is behind one of the swings: by its key, or by its table."""
    table, _, key = name.partition(".")
    return key in swings or any(_BEHIND.get(one) in (table, name) for one in swings)


def _short(item: Assumption) -> Message:
    """Return a spread without the words all spreads share."""
    parts = [item.name.removeprefix("uncertainty."), shown(item.value), item.unit]
    given = [message("(given)")] if item.origin == "given" else []
    return joined(" ", [*filter(None, parts), *given])
