"""What helps most: the cheapest way that gains days, and the next that gains many more."""

from typing import Final

from drainsim.answers.advice import ADVICE
from drainsim.answers.storage.remedies import Preferences, Remedies, Remedy, remedies
from drainsim.answers.storage.risk import LONGEST_DAYS, StandQuestion
from drainsim.answers.words import days_words, together_words
from drainsim.language import Message, joined, message
from drainsim.vehicle.scenario import Scenario

# Ways anyone can take at once; the rest are the storage answer's.
TRIED: Final = ("charge_full", "storage_mode", "maintainer", "unit_off")
_LEAST_GAIN_DAYS: Final = 2
_WHEN_UNKNOWN_DAYS: Final = 180


def helps_most(scenario: Scenario, days: float | None) -> tuple[tuple[Remedy, ...], int]:
    """Return the cheapest way that gains days, the cheapest that gains twice as many, the horizon.

    Parameters
    ----------
    scenario : Scenario
    days : float or None
        The stand they are judged for. [days].

    Raises
    ------
    DrainsimError
        If the scenario cannot be used.
    """
    asked = min(max(int(days or _WHEN_UNKNOWN_DAYS), 1), LONGEST_DAYS)
    without = tuple(key for key in ADVICE if key not in TRIED)
    found = remedies(StandQuestion(scenario=scenario, days=asked), Preferences(without=without))
    return chosen_from(found), found.horizon_days


def chosen_from(found: Remedies) -> tuple[Remedy, ...]:
    """Return of ways by cost the first that gains days, and the first that gains twice as many."""
    chosen: list[Remedy] = []
    for remedy in found.single:
        gained = remedy.days_gained or 0
        least = 2 * (chosen[0].days_gained or 0) if chosen else _LEAST_GAIN_DAYS
        if gained >= least and len(chosen) < 2:
            chosen.append(remedy)
    return tuple(chosen)


def helps_words(chosen: tuple[Remedy, ...], horizon_days: int) -> Message:
    """Return the ways in short and the days each makes safe: "charge the battery: 23 days"."""
    if not chosen:
        return message(
            "nothing simple is enough; the ways by effort stand under May it be left standing?"
        )
    return joined(
        "; ",
        [
            message(
                "{ways}: {days}",
                ways=together_words([in_short(label) for label in one.labels]),
                days=days_words(None if one.days is None else float(one.days), horizon_days),
            )
            for one in chosen
        ],
    )


def in_short(label: Message) -> Message:
    """Return a way without its details, which stand with the storage answer."""
    return message(label.template.partition(": ")[0].partition(" (")[0], **label.figures)
