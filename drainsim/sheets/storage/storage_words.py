"""The customer's sheet as words: everything it says, in one language, before any layout."""

import datetime as dt
import unicodedata
from dataclasses import dataclass
from typing import Final

from drainsim import __version__, dates
from drainsim.answers.advice import ADVICE
from drainsim.answers.storage.answer import NO, YES, StorageAnswer
from drainsim.answers.storage.later import has_seasons
from drainsim.answers.storage.remedies import Remedy
from drainsim.answers.storage.searching.limits import SENTENCES
from drainsim.errors import OutOfRangeError
from drainsim.language import MONTHS, Language, language
from drainsim.sheets.storage.storage_assumptions import assumption_words
from drainsim.sheets.storage.storage_chart import ChartData
from drainsim.vehicle.documents.code import CodedQuestion, encode_question
from drainsim.vehicle.places.site import SITE, dated, has_climate

PAPERS: Final = ("A4", "Letter")
LONGEST_NAME: Final = 300
_MOST_WAYS: Final = 5
_LONGEST_CODE: Final = 600  # characters that still fit on the page


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOptions:
    """How the sheet looks and who hands it out; names are plain text, whatever they contain."""

    language: str = "en"
    temperature_unit: str = "C"
    paper: str = "A4"
    company: str = ""
    contact: str = ""
    date: dt.date | None = None

    def __post_init__(self) -> None:
        """Refuse names that cannot be laid out, and unknown paper."""
        if self.paper not in PAPERS:
            raise OutOfRangeError(f"paper {self.paper!r}: use A4 or Letter")
        for name, text in (("company", self.company), ("contact", self.contact)):
            if len(text) > LONGEST_NAME:
                raise OutOfRangeError(
                    f"{name}: {len(text)} characters; at most {LONGEST_NAME} fit on the sheet"
                )
            if any(unicodedata.category(letter) in {"Cc", "Cs"} for letter in text):
                raise OutOfRangeError(f"{name}: one line of text is needed, without control codes")

    @property
    def say(self) -> Language:
        """Return the language the sheet speaks."""
        return language(self.language, temperature_unit=self.temperature_unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One row of the table of ways."""

    what: str
    days: str
    risk: str
    lost: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWords:
    """Everything on the sheet, translated and unescaped."""

    language: str
    paper: str
    title: str
    company: str
    contact: str
    question: str
    large: str
    answer: str
    ranges: tuple[str, ...]
    chart_title: str
    chart: ChartData
    ways_title: str
    ways_heading: Way | None
    ways: tuple[Way, ...]
    mind: tuple[str, ...]
    before_title: str
    before: tuple[str, ...]
    after_title: str
    after: tuple[str, ...]
    assumptions_title: str
    assumptions: tuple[str, ...]
    code_title: str
    code: str
    footer: str


def sheet_words(answer: StorageAnswer, options: SheetOptions | None = None) -> SheetWords:
    """Return the words of a customer's sheet.

    Raises
    ------
    OutOfRangeError
        If an option cannot be used.
    """
    options = options or SheetOptions()
    say, date = options.say, options.date or dates.today()
    ways = _ways(answer, say)
    code_title, code = _code(answer, say, date)
    return SheetWords(
        language=options.language,
        paper=options.paper,
        title=say("May it be left standing?"),
        company=options.company,
        contact=options.contact,
        question=_question(answer, say),
        large=large_words(answer, say),
        answer=answer_words(answer, say),
        ranges=_ranges(answer, say),
        chart_title=say("Risk that it does not start, by days parked"),
        chart=_chart(answer, say),
        ways_title=_ways_title(answer, say) if ways else "",
        ways_heading=Way(
            what=say("What to do"),
            days=say("Days until the risk is reached"),
            risk=say("Risk until then"),
            lost=say("What is lost"),
        )
        if ways
        else None,
        ways=ways,
        mind=_mind(answer, say),
        before_title=say("Before it stands"),
        before=_before(answer, say),
        after_title=say("After it stood"),
        after=_after(say),
        assumptions_title=say("What this answer assumes"),
        assumptions=assumption_words(answer, say),
        code_title=code_title,
        code=code,
        footer=say(
            "Calculated with drainsim {version} on {date}. An estimate from the stated values, not "
            "a warranty: batteries differ.",
            version=__version__,
            date=say.day(date),
        ),
    )


def _question(answer: StorageAnswer, say: Language) -> str:
    site, days = answer.case.site, answer.question.days
    last = site.parked_from + dt.timedelta(days=days)
    return say.many(
        "Standing from {start} for {number:.0f} day, until {end}.",
        "Standing from {start} for {number:.0f} days, until {end}.",
        days,
        start=say.day(site.parked_from),
        end=say.day(last),
    )


def large_words(answer: StorageAnswer, say: Language) -> str:
    """Return the large word of the answer, in this language."""
    if answer.verdict == YES:
        return say("Yes")
    return say("No, because …") if answer.verdict == NO else say("No, not as it is")


def answer_words(answer: StorageAnswer, say: Language) -> str:
    """Return the sentence that ends the large word."""
    risk = say.risk(answer.holds.risk)
    if answer.verdict == YES:
        return say(
            "It should start at the end. Risk that it does not: {risk}; up to {asked} was "
            "accepted.",
            risk=risk,
            asked=say.risk(answer.question.risk),
        )
    cheapest = answer.remedies.cheapest
    if cheapest is not None:
        return say(
            "Yes, if this is done: {what}. As it is now, the risk that it does not start is "
            "{risk}.",
            what=way_words(cheapest, say),
            risk=risk,
        )
    limit = answer.holds.limit
    reason = say(SENTENCES[limit.key], percent=limit.percent) if limit else ""
    said = say(
        "{reason}. Risk that it does not start: {risk}. None of the usual ways is enough.",
        reason=reason,
        risk=risk,
    )
    if answer.later is not None:
        later = say("Begun on {date} it holds as it is.", date=say.day(answer.later))
    elif has_seasons(answer.question):
        later = say("Begun in none of the next twelve months does it hold as it is.")
    else:
        return said
    return f"{said} {later}"


def _ranges(answer: StorageAnswer, say: Language) -> tuple[str, ...]:
    """Return the range of days, and the date to recharge by."""
    longest = answer.longest
    horizon = longest.horizon_days
    if longest.days_to_no_start.p10 is None:
        first = say(
            "In 9 of 10 cases it starts at any hour for more than {days:.0f} days.", days=horizon
        )
    elif longest.days_to_no_start.p90 is None:
        first = say(
            "In 8 of 10 cases the first failed start falls between day {low:.0f} and a day later "
            "than {days:.0f}.",
            low=longest.days_to_no_start.p10,
            days=horizon,
        )
    else:
        first = say(
            "In 8 of 10 cases the first failed start falls between day {low:.0f} and day "
            "{high:.0f}.",
            low=longest.days_to_no_start.p10,
            high=longest.days_to_no_start.p90,
        )
    asked = say.risk(answer.question.risk)
    if longest.days is None:
        second = say(
            "The risk stays within {asked} for {days:.0f} days.", asked=asked, days=horizon
        )
    elif longest.days < 1:
        second = say("There is no stand whose risk stays within {asked}.", asked=asked)
    else:
        date = say.day(longest.recharge_by) if longest.recharge_by else ""
        second = say.many(
            "The risk stays within {asked} for {number:.0f} day: recharge by {date}.",
            "The risk stays within {asked} for {number:.0f} days: recharge by {date}.",
            int(longest.days),
            asked=asked,
            date=date,
        )
    return first, second


def way_words(remedy: Remedy, say: Language) -> str:
    """Return a way, or two joined, in this language."""
    return say("; and ").join(map(say, remedy.labels))


def _ways(answer: StorageAnswer, say: Language) -> tuple[Way, ...]:
    """Return the rows: what holds, cheapest first; if nothing does, what helps most."""
    if answer.verdict == YES:
        return ()
    found = list(answer.remedies.holding)
    if not found:
        helping = [r for r in answer.remedies.single if r.risk < answer.remedies.risk_now]
        found = sorted(helping, key=lambda remedy: remedy.risk)
    horizon = answer.remedies.horizon_days
    return tuple(
        Way(
            what=way_words(remedy, say),
            days=say("over {days:.0f}", days=horizon)
            if remedy.days is None
            else say("{days:.0f}", days=remedy.days),
            risk=say.risk(remedy.risk),
            lost="; ".join(
                say(ADVICE[key].lost, **remedy.figures) for key in remedy.keys if ADVICE[key].lost
            )
            or say("nothing"),
        )
        for remedy in found[:_MOST_WAYS]
    )


def _ways_title(answer: StorageAnswer, say: Language) -> str:
    if answer.verdict == NO:
        return say("What helps most, though it is not enough")
    return say("What helps")


def _mind(answer: StorageAnswer, say: Language) -> tuple[str, ...]:
    """Return what the answer alone would hide."""
    held, found = answer.holds, []
    if not answer.case.vehicle.starts:
        found.append(
            say(
                "Nothing is started from this battery: that it does not start means here that the "
                "unit goes silent."
            )
        )
    if held.worst_risk > max(answer.question.risk, held.risk + 2.0 * held.risk_error):
        found.append(
            say(
                "Coming back earlier is riskier: on day {day:.0f} the risk is {risk}.",
                day=held.worst_day,
                risk=say.risk(held.worst_risk),
            )
        )
    if held.frozen > 0.0005:
        found.append(
            say("The battery can freeze while it stands (risk {risk}).", risk=say.risk(held.frozen))
        )
    if answer.case.solar and answer.case.solar.latitude_deg < 0 and _northern(answer):
        found.append(
            say(
                "The temperatures are of a northern climate, the sunshine is southern: they are "
                "half a year apart."
            )
        )
    small = answer.small_panel
    if small is not None and small.fails and answer.verdict != YES:
        found.append(
            say(
                "A small solar panel ({watts:.0f} W) fails here in {month}: it brings about "
                "{brings:.2f} Ah a day, {lost:.2f} Ah a day are lost.",
                watts=small.panel_w,
                month=say(MONTHS[small.month - 1]),
                brings=small.brings_ah_day,
                lost=small.lost_ah_day,
            )
        )
    return tuple(found)


def _northern(answer: StorageAnswer) -> bool:
    """Say whether temperatures come from a climate preset: all are of the northern half."""
    return has_climate(answer.question.scenario.tables)


def _before(answer: StorageAnswer, say: Language) -> tuple[str, ...]:
    found = [
        say("Charge the battery fully, with a charger made for its type, in a ventilated place."),
        say("Switch off lamps, cameras and anything plugged in; close doors and boot, lock it."),
        say("Write down the date and, after a night's rest, the battery voltage."),
    ]
    way = None if answer.verdict == YES else answer.remedies.cheapest
    powered = way is None or way.changes.get("unit", "as it is") is not None
    if answer.case.unit.fitted and powered:
        found.append(say("Set the unit as agreed and check that it reports."))
    if answer.verdict != YES:
        found.append(say("If the battery is disconnected: earth lead off first and on again last."))
    return tuple(found)


def _after(say: Language) -> tuple[str, ...]:
    return (
        say(
            "A deeply discharged battery can freeze. Never charge or jump-start a frozen battery: "
            "it can burst. Let it thaw and have it tested."
        ),
        say(
            "It does not start: stop after two attempts and charge the battery; keep flames and "
            "sparks away and protect your eyes."
        ),
        say(
            "It starts: drive for at least an hour or connect a charger overnight; a short trip "
            "does not replace what was lost."
        ),
    )


def _code(answer: StorageAnswer, say: Language, date: dt.date) -> tuple[str, str]:
    """Return the code's caption and the code, or only a sentence where it is too long."""
    question = answer.question
    code = encode_question(
        CodedQuestion(
            scenario=dated(question.scenario),
            days=question.days,
            risk=question.risk,
            when=question.when,
            date=date,
            version=__version__,
        )
    )
    if len(code) > _LONGEST_CODE:
        return say("The scenario is too long for a code: keep its file with this sheet."), ""
    if any(question.scenario.get(file) is not None for file in (SITE.hourly_csv, SITE.epw)):
        return say("To repeat this answer (the temperature file is needed as well):"), code
    return say("To repeat this answer:"), code


def _chart(answer: StorageAnswer, say: Language) -> ChartData:
    longest, days = answer.longest, answer.question.days
    last = min(longest.horizon_days, max(2 * days, 14))
    return ChartData(
        days=tuple(range(last + 1)),
        risk=tuple(float(p) for p in longest.probability_by_day[: last + 1]),
        asked_risk=answer.question.risk,
        asked_days=days,
        x_label=say("days parked"),
        asked_label=say("accepted: {risk}", risk=say.risk(answer.question.risk)),
        days_label=say("day {day:.0f}", day=days),
        alt=say(
            "Curve of the risk over {days:.0f} days: {risk} on day {day:.0f}.",
            days=last,
            risk=say.risk(float(longest.probability_by_day[days])),
            day=days,
        ),
    )
