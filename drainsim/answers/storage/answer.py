"""May it be left standing for N days? With what would turn a no into a yes."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from drainsim import __version__, dates
from drainsim.answers.advice_plans import has_sun
from drainsim.answers.storage.later import first_holding_month, has_seasons
from drainsim.answers.storage.remedies import Preferences, Remedies, remedies
from drainsim.answers.storage.risk import WHEN_WORDS, StandQuestion
from drainsim.answers.storage.searching.inverse import (
    Holds,
    LongestStand,
    all_inverse,
    for_ever,
    holds,
    longest_stand,
)
from drainsim.answers.storage.searching.searches import maintainer_search, panel_search
from drainsim.answers.storage.searching.solving import Solved, solve
from drainsim.answers.storage.sunshine import SmallPanel, small_panel
from drainsim.language import Message, Said, message, risk_words
from drainsim.vehicle.case import Case

YES: Final = "yes"
YES_IF: Final = "yes_if"
NO: Final = "no"
_NO_SUN: Final = message(
    "no solar panel was tried: the latitude is not known here; give it (and the share of clear "
    "sky, if known)"
)
_NOTHING_STARTED: Final = message(
    "nothing is started from this battery: a no-start means here that the unit goes silent"
)
_BEGUN: Final = message(
    "the day of parking has passed: days count from it, and ways as if taken then; a fleet list "
    "says what to do today"
)
_OTHER_BATTERY: Final = message(
    "no solar panel was tried: a panel charges the auxiliary battery that feeds the unit, not the "
    "one that starts"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StorageAnswer:
    """The answer to one storage question.

    `solved` holds the inverse answers for the days asked, `for_ever` those for a stand without
    end (every day of two years); both are empty where they were not asked for.
    """

    question: StandQuestion
    case: Case
    holds: Holds
    longest: LongestStand
    remedies: Remedies
    solved: tuple[Solved, ...]
    for_ever: tuple[Solved, ...]
    small_panel: SmallPanel | None
    later: dt.date | None  # of a no: the first month's start from which it holds as it is
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        """Return the answer in one line."""
        return f"<StorageAnswer: {self.sentence}>"

    @property
    def verdict(self) -> str:
        """One of "yes", "yes_if" (a remedy holds) and "no"."""
        if self.holds.holds:
            return YES
        return YES_IF if self.remedies.cheapest else NO

    @property
    def sentence(self) -> Message:
        """The answer in one sentence."""
        said: dict[str, Said] = {
            "days": self.question.days,
            "day": self.case.site.parked_from.isoformat(),
            "risk": risk_words(self.holds.risk),
        }
        if self.verdict == YES:
            return message(
                "Yes: after {days} days from {day} the risk of a no-start is {risk}.", **said
            )
        cheapest = self.remedies.cheapest
        if cheapest is not None:
            return message(
                "Not as it is, the risk is {risk}. Yes, if you {ways}.", **said, ways=cheapest.what
            )
        limit = self.holds.limit
        no = message(
            "No: after {days} days from {day} the risk of a no-start is {risk}, because {reason}",
            **said,
            reason=limit.sentence if limit else message("nothing tried is enough"),
        )
        if self.later is not None:
            return message(
                "{no}; begun on {day} it holds as it is.", no=no, day=self.later.isoformat()
            )
        if has_seasons(self.question):
            return message(
                "{no}; begun in none of the next twelve months does it hold as it is.", no=no
            )
        return message("{no}.", no=no)

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "verdict": self.verdict,
            "sentence": self.sentence,
            "days": self.question.days,
            "parked_from": self.case.site.parked_from.isoformat(),
            "asked_risk": self.question.risk,
            "risk_is": WHEN_WORDS[self.question.when],
            "stand": self.holds.as_dict(),
            "longest_stand": self.longest.as_dict(),
            "probability_no_start_by_day": [
                round(float(p), 6) for p in self.longest.probability_by_day
            ],
            "inverse": [solved.as_dict() for solved in self.solved],
            "for_ever": [solved.as_dict() for solved in self.for_ever],
            "small_panel": self.small_panel.in_words if self.small_panel else None,
            "remedies": self.remedies.as_dict(),
            "holds_if_begun_on": self.later.isoformat() if self.later else None,
            "assumptions": [item.as_dict() for item in self.case.assumptions],
            "warnings": list(self.warnings),
        }


def storage(
    question: StandQuestion,
    preferences: Preferences | None = None,
    *,
    inverse: bool = True,
    unending: bool = False,
) -> StorageAnswer:
    """Return whether the vehicle may stand, and what would make it hold.

    Parameters
    ----------
    question : StandQuestion
    preferences : Preferences, optional
        The user's prices and what is out of the question.
    inverse : bool
        Also solve for every input that could be chosen.
    unending : bool
        Also solve for a maintainer and a panel that make the stand endless; takes some seconds.

    Notes
    -----
    With a charger, a panel or top-ups the last day stands for every day, as for the ways.

    Raises
    ------
    DrainsimError
        If the scenario or a preference cannot be used.
    """
    case = question.case()
    if case.charging_a is not None:  # as a charger among the ways is judged
        question = question.all_along
    held = holds(question)
    sunny = has_sun(question.scenario, case)
    no_sun = [] if sunny else [_NO_SUN if case.auxiliary is None else _OTHER_BATTERY]
    silent = [] if case.vehicle.starts else [_NOTHING_STARTED]
    begun = [_BEGUN] if case.site.parked_from < dates.today() else []
    endless = for_ever(question)
    found_for_ever: list[Solved] = []
    if unending:
        found_for_ever.append(solve(maintainer_search(endless)))
        if sunny:
            found_for_ever.append(solve(panel_search(endless)))
    ways = remedies(question, preferences)
    hopeless = not held.holds and ways.cheapest is None
    return StorageAnswer(
        question=question,
        case=case,
        holds=held,
        longest=longest_stand(question),
        remedies=ways,
        solved=all_inverse(question) if inverse else (),
        for_ever=tuple(found_for_ever),
        small_panel=small_panel(question) if sunny else None,
        later=first_holding_month(question) if hopeless and has_seasons(question) else None,
        warnings=(*case.warnings, *begun, *silent, *_warnings(question, held), *no_sun),
    )


def _warnings(question: StandQuestion, held: Holds) -> Iterator[Message]:
    """Return what the one figure of the last day would hide."""
    if held.worst_risk > max(question.risk, held.risk + 2.0 * held.risk_error):
        yield message(
            "coming back earlier is riskier: on day {day} the risk is {worst:.0f} %, on the "
            "last day {last:.0f} %",
            day=held.worst_day,
            worst=100 * held.worst_risk,
            last=100 * held.risk,
        )
    if held.any_time_risk > max(question.risk, held.risk + 2.0 * held.risk_error):
        yield message(
            "counted at any hour up to day {day}, cold nights included, the risk is "
            "{percent:.0f} %",
            day=question.days,
            percent=100 * held.any_time_risk,
        )
    if held.frozen >= 0.005:
        yield message(
            "the battery can freeze (in {percent:.0f} % of the cases): never charge or "
            "jump-start a frozen battery, thaw it first and have it tested",
            percent=100 * held.frozen,
        )
