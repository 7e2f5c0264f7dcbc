"""Answers in plain words, the same in every window."""

import datetime as dt
from collections.abc import Sequence
from statistics import median
from typing import Final

from drainsim.answers.standing.park import DaysRange, ParkAnswer
from drainsim.language import Celsius, Message, counted_message, joined, marked, message
from drainsim.units import HOURS_PER_DAY, MINUTES_PER_HOUR
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.places.solar import SOLAR

FROZEN_CAUTION: Final = message(
    "A deeply discharged battery can freeze: never charge or jump-start a frozen one."
)
_JUNE: Final = 6  # in the south winter is ahead then
_TOGETHER: Final = (
    "{part0}",
    marked("{part0} and {part1}"),
    marked("{part0} and {part1} and {part2}"),
)
_MONTHS: Final = (
    marked("Jan"),
    marked("Feb"),
    marked("Mar"),
    marked("Apr"),
    marked("May"),
    marked("Jun"),
    marked("Jul"),
    marked("Aug"),
    marked("Sep"),
    marked("Oct"),
    marked("Nov"),
    marked("Dec"),
)


def placed_words(scenario: Scenario) -> Message:
    """Return how a scenario's solar panel lies, or one that is added to it.

    Examples
    --------
    >>> from drainsim.vehicle.keys.scenario import scenario_from_dict
    >>> placed_words(scenario_from_dict({"battery": {}}))
    'lying flat'
    >>> placed_words(scenario_from_dict({"battery": {}, "solar": {"tilt_deg": 30, "shading": 0.2}}))
    'tilted 30° toward the equator, 20 % of its sunshine lost to shade'
    """
    tilt_deg = scenario.get_or_default(SOLAR.tilt_deg)
    shading = scenario.get_or_default(SOLAR.shading)
    lies = (
        message("tilted {tilt:.0f}° toward the equator", tilt=tilt_deg)
        if tilt_deg
        else message("lying flat")
    )
    if not shading:
        return lies
    return message(
        "{lies}, {shade:.0f} % of its sunshine lost to shade", lies=lies, shade=100 * shading
    )


def days_words(days: float | None, horizon_days: int) -> Message:
    """Return "34 days", "3.5 days", "2.4 hours" or "5 minutes", or "more than 180 days".

    Parameters
    ----------
    days : float, optional
        None past the horizon. [d]
    horizon_days : int
        How far was looked. [d]

    Examples
    --------
    >>> days_words(34.2, 180), days_words(3.46, 180), days_words(0.1, 180), days_words(None, 180)
    ('34 days', '3.5 days', '2.4 hours', 'more than 180 days')
    >>> days_words(1 / 24, 180), days_words(0.0035, 180)
    ('1 hour', '5 minutes')
    """
    if days is None:
        return message("more than {days} days", days=horizon_days)
    if 0.0 < days < 1.0:
        return _short_words(days)
    if 0.0 < days < 10.0:
        return message("{days:.1f} days", days=days)
    return counted_message("{number} day", "{number} days", round(days))


def _short_words(days: float) -> Message:
    """Return a stand below one day in hours, below one hour in minutes."""
    shown = _two_figures(days, below_days=days)
    whole, number = shown.is_integer(), round(shown)
    if HOURS_PER_DAY * days < 1.0:
        if whole:
            return counted_message("{number} minute", "{number} minutes", number)
        return message("{minutes:g} minutes", minutes=shown)
    if whole:
        return counted_message("{number} hour", "{number} hours", number)
    return message("{hours:g} hours", hours=shown)


def _two_figures(days: float, *, below_days: float) -> float:
    """Return days in the unit a stand of `below_days` is told in, with two figures."""
    hours = HOURS_PER_DAY * days
    minutes = HOURS_PER_DAY * below_days < 1.0
    return float(f"{MINUTES_PER_HOUR * hours if minutes else hours:.2g}")


def range_words(days: DaysRange, horizon_days: int) -> Message:
    """Return "17 to 52 days" for the middle 80 % of cases.

    Parameters
    ----------
    days : DaysRange
    horizon_days : int
        How far was looked. [d]

    Examples
    --------
    >>> range_words(DaysRange(p10=17.0, p50=31.0, p90=None), 180)
    '17 to more than 180 days'
    """
    return span_words(days.p10, days.p90, horizon_days)


def span_words(low: float | None, high: float | None, horizon_days: int) -> Message:
    """Return "17 to 52 days" from two numbers of days, None past the horizon.

    Parameters
    ----------
    low, high : float, optional
        Ends of the range. [d]
    horizon_days : int
        How far was looked. [d]

    Examples
    --------
    >>> span_words(17.0, 52.0, 180), span_words(0.1, 0.2, 180), span_words(None, None, 180)
    ('17 to 52 days', '2.4 to 4.8 hours', 'more than 180 days')
    >>> span_words(0.0, 0.0035, 180)
    '0 to 5 minutes'
    """
    if low is None:
        return days_words(None, horizon_days)
    end = days_words(high, horizon_days)
    if high is not None and 0.0 < high < 1.0:
        return message("{low:g} to {high}", low=_two_figures(low, below_days=high), high=end)
    if 0.0 < low < 10.0:
        return message("{low:.1f} to {high}", low=low, high=end)
    return message("{low:.0f} to {high}", low=low, high=end)


def counted(number: int, noun: str) -> Message:
    """Return "1 vehicle", "2 vehicles"; the catalogue finds both forms by the noun.

    Parameters
    ----------
    number : int
    noun : str
        Of one, in English.

    Examples
    --------
    >>> counted(1, "row"), counted(2, "row")
    ('1 row', '2 rows')
    """
    return counted_message(f"{{number}} {noun}", f"{{number}} {noun}s", number)


def celsius(temperature_c: float) -> Message:
    """Return whole degrees, without a minus before nought.

    Examples
    --------
    >>> celsius(-0.3), celsius(-17.6)
    ('0 °C', '-18 °C')
    """
    return message("{temperature}", temperature=Celsius(temperature_c))


def together_words(parts: Sequence[str]) -> Message:
    """Return "a and b", of up to three texts.

    Examples
    --------
    >>> together_words(["charge it", "park it warm"])
    'charge it and park it warm'
    """
    named = {f"part{place}": part for place, part in enumerate(parts)}
    return message(_TOGETHER[len(named) - 1], **named)


def date_after(parked_from: dt.date, days: float) -> dt.date:
    """Return the calendar day a number of days after parking.

    Parameters
    ----------
    parked_from : date
    days : float
        Parts of a day are left out. [d]
    """
    return parked_from + dt.timedelta(days=int(days))


def short_date(date: dt.date) -> Message:
    """Return a date as people write it: 2 Dec 2026.

    Examples
    --------
    >>> short_date(dt.date(2026, 12, 2))
    '2 Dec 2026'
    """
    return joined(" ", [day_and_month(date), str(date.year)])


def day_and_month(date: dt.date) -> Message:
    """Return a date without its year: 2 Dec."""
    return message("{day:.0f} {month}", day=date.day, month=message(_MONTHS[date.month - 1]))


def parked_words(case: Case) -> Message:
    """Return the day of parking, and whether it is only the default."""
    day = short_date(case.site.parked_from)
    by_name = {item.name: item for item in case.assumptions}
    if by_name[SITE.parked_from].origin != "default":
        return day
    if case.site.parked_from.month == _JUNE:
        return message("{day} (no date given: the coming 1 June)", day=day)
    return message("{day} (no date given: the coming 1 December)", day=day)


def verdict(answer: ParkAnswer) -> Message:
    """Return the answer in one sentence."""
    horizon = answer.case.horizon_days
    days = answer.days_to_no_start
    if not answer.case.vehicle.starts:
        return _silence_verdict(answer)
    if days.p90 == 0.0:  # nearly all cases
        return message(
            "It would not start right now: charge or replace the battery before parking."
        )
    if days.p50 is None and days.p10 is None:
        return message(
            "It should start at any time within {days} days; nothing ends the stand.", days=horizon
        )
    risky = answer.days_at_risk
    safe = (
        message("No stand is safe at 5 % risk.")
        if risky == 0.0
        else message("Up to {days} the risk stays within 5 %.", days=days_words(risky, horizon))
    )
    if days.p50 is None:
        first = message(
            "It should start for {days}, but not surely.", days=days_words(None, horizon)
        )
    else:
        first = message(
            "Expect a no-start after about {days} (8 in 10 cases: {range}).",
            days=days_words(days.p50, horizon),
            range=range_words(days, horizon),
        )
    return joined(" ", [first, safe])


def end_words(answer: ParkAnswer) -> Message:
    """Return what ends the stand: "no-start", for a trailer "silent unit"."""
    return message("no-start") if answer.case.vehicle.starts else message("silent unit")


def _silence_verdict(answer: ParkAnswer) -> Message:
    """Return the answer for a trailer: nobody starts it, the unit falls silent."""
    horizon, days = answer.case.horizon_days, answer.days_to_no_start
    told = days_words(days.p50, horizon)
    if days.p50 is None and days.p10 is None:
        return message("The unit keeps reporting for {days}.", days=told)
    spread = range_words(days, horizon)
    if days.p50 is None:
        return message(
            "The unit should report for {days}, but not surely (8 in 10 cases: {range}).",
            days=told,
            range=spread,
        )
    return message(
        "The unit goes silent after about {days} (8 in 10 cases: {range}); nothing is started from "
        "this battery.",
        days=told,
        range=spread,
    )


def swing_words(answer: ParkAnswer) -> Message:
    """Return what the days beside an input's values are, and what of them may be chance."""
    chance = median([2.0 * swing.chance_days for swing in answer.swings] or [0.0])
    return message(
        "medians of the fifth of the cases with its lowest and of that with its highest values; "
        "differences up to about {days} may be chance",
        days=days_words(chance, answer.case.horizon_days),
    )


def difference_words(before: float | None, after: float | None, horizon_days: int) -> Message:
    """Return what a change does: "+11 days", "no change", "from 34 days to more than 180 days".

    Parameters
    ----------
    before, after : float, optional
        None past the horizon. [d]
    horizon_days : int
        How far was looked. [d]

    Examples
    --------
    >>> difference_words(34.0, 45.2, 180), difference_words(34.0, None, 180)
    ('+11 days', 'from 34 days to more than 180 days')
    """
    if before is None and after is None:
        return message("no change: both more than {days} days", days=horizon_days)
    if before is None or after is None:
        return message(
            "from {before} to {after}",
            before=days_words(before, horizon_days),
            after=days_words(after, horizon_days),
        )
    change = after - before
    if abs(change) < 0.05:
        return message("no change")
    if abs(change) < 10:
        return message("{days:+.1f} days", days=change)
    return message("{days:+.0f} days", days=change)
