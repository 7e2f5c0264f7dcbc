"""What helps most: the cheapest way that gains days, and the next that gains many more."""

from typing import Final

from drainsim.answers.advice import ADVICE
from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.storage.remedies import Preferences, Remedy, single_ways
from drainsim.answers.storage.risk import LONGEST_DAYS, StandQuestion
from drainsim.answers.words import days_words, together_words
from drainsim.language import Message, joined, message
from drainsim.vehicle.keys.scenario import Scenario

# Ways anyone can take at once; the rest are the storage answer's.
TRIED: Final = ("charge_full", "storage_mode", "maintainer", "unit_off")
_LEAST_GAIN_DAYS: Final = 2
_WHEN_UNKNOWN_DAYS: Final = 180


def helps_most(scenario: Scenario, answer: ParkAnswer) -> tuple[tuple[Remedy, ...], int]:
    """Return the cheapest way that gains days, the cheapest that gains twice as many, the horizon.

    Parameters
    ----------
    scenario : Scenario
    answer : ParkAnswer
        Its stand as it is; ways are judged for the days after which half have failed.

    Raises
    ------
    DrainsimError
        If the scenario cannot be used.
    """
    days, now = answer.days_to_no_start.p50, answer.days_at_risk
    asked = min(max(int(days or _WHEN_UNKNOWN_DAYS), 1), LONGEST_DAYS)
    ways, horizon_days = single_ways(
        StandQuestion(scenario=scenario, days=asked),
        Preferences(without=tuple(key for key in ADVICE if key not in TRIED)),
        days_now=None if now is None else int(now),
    )
    chosen: list[Remedy] = []
    for remedy in ways:
        gained = remedy.days_gained or 0
        least = 2 * (chosen[0].days_gained or 0) if chosen else _LEAST_GAIN_DAYS
        if gained >= least and len(chosen) < 2:
            chosen.append(remedy)
    return tuple(chosen), horizon_days


def helps_words(chosen: tuple[Remedy, ...], horizon_days: int) -> Message:
    """Return the ways in short and the days each makes safe: "charge the battery: 23 days".

    Parameters
    ----------
    chosen : tuple of Remedy
    horizon_days : int
        How far was looked. [d]
    """
    if not chosen:
        return message('nothing simple is enough; all ways stand under "Leave it?"')
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
