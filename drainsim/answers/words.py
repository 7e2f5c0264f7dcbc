"""Answers in plain words, the same in every window."""

import datetime as dt
from statistics import median
from typing import Final

from drainsim.answers.standing.park import DaysRange, ParkAnswer
from drainsim.units import HOURS_PER_DAY, MINUTES_PER_HOUR
from drainsim.vehicle.case import Case
from drainsim.vehicle.scenario import Scenario
from drainsim.vehicle.site import SITE
from drainsim.vehicle.solar import SOLAR

FROZEN_CAUTION: Final = (
    "A deeply discharged battery can freeze: never charge or jump-start a frozen one."
)


def placed_words(scenario: Scenario) -> str:
    """Return how a scenario's solar panel lies, or one that is added to it.

    Examples
    --------
    >>> from drainsim.vehicle.scenario import scenario_from_dict
    >>> placed_words(scenario_from_dict({"battery": {}}))
    'lying flat'
    >>> placed_words(scenario_from_dict({"battery": {}, "solar": {"tilt_deg": 30, "shading": 0.2}}))
    'tilted 30° toward the equator, 20 % of its sunshine lost to shade'
    """
    tilt_deg = scenario.get_or_default(SOLAR.tilt_deg)
    shading = scenario.get_or_default(SOLAR.shading)
    lies = f"tilted {tilt_deg:.0f}° toward the equator" if tilt_deg else "lying flat"
    return f"{lies}, {100 * shading:.0f} % of its sunshine lost to shade" if shading else lies


def days_words(days: float | None, horizon_days: int) -> str:
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
        return f"more than {horizon_days} days"
    if days == 0.0:
        return "0 days"
    if days < 1.0:
        per_day, unit = _short_unit(days)
        return counted_words(f"{per_day * days:.2g}", unit)
    return f"{days:.1f} days" if days < 10 else f"{days:.0f} days"


def _short_unit(days: float) -> tuple[float, str]:
    """Return how many of the unit a day has, and the unit a stand below one day is told in."""
    if HOURS_PER_DAY * days < 1.0:
        return HOURS_PER_DAY * MINUTES_PER_HOUR, "minute"
    return HOURS_PER_DAY, "hour"


def range_words(days: DaysRange, horizon_days: int) -> str:
    """Return "17 to 52 days" for the middle 80 % of cases.

    Examples
    --------
    >>> range_words(DaysRange(p10=17.0, p50=31.0, p90=None), 180)
    '17 to more than 180 days'
    """
    return span_words(days.p10, days.p90, horizon_days)


def span_words(low: float | None, high: float | None, horizon_days: int) -> str:
    """Return "17 to 52 days" from two numbers of days, None past the horizon.

    Examples
    --------
    >>> span_words(17.0, 52.0, 180), span_words(0.1, 0.2, 180), span_words(None, None, 180)
    ('17 to 52 days', '2.4 to 4.8 hours', 'more than 180 days')
    >>> span_words(0.0, 0.0035, 180)
    '0 to 5 minutes'
    """
    if low is None:
        return days_words(None, horizon_days)
    if high is not None and 0.0 < high < 1.0:
        begin = f"{_short_unit(high)[0] * low:.2g}"
    else:
        begin = f"{low:.1f}" if 0.0 < low < 10.0 else f"{low:.0f}"
    return f"{begin} to {days_words(high, horizon_days)}"


def counted(number: int, noun: str) -> str:
    """Return "1 vehicle", "2 vehicles".

    Examples
    --------
    >>> counted(1, "row"), counted(2, "row")
    ('1 row', '2 rows')
    """
    return counted_words(str(number), noun)


def counted_words(number: str, noun: str) -> str:
    """Return "1 hour", "2.4 hours" from a number already written.

    Examples
    --------
    >>> counted_words("1", "hour"), counted_words("2.4", "hour")
    ('1 hour', '2.4 hours')
    """
    return f"{number} {noun}" if number == "1" else f"{number} {noun}s"


def celsius(temperature_c: float) -> str:
    """Return whole degrees, without a minus before nought.

    Examples
    --------
    >>> celsius(-0.3), celsius(-17.6)
    ('0 °C', '-18 °C')
    """
    return f"{round(temperature_c)} °C"


def date_after(parked_from: dt.date, days: float) -> dt.date:
    """Return the calendar day a number of days after parking."""
    return parked_from + dt.timedelta(days=int(days))


def short_date(date: dt.date) -> str:
    """Return a date as people write it: 2 Dec 2026.

    Examples
    --------
    >>> short_date(dt.date(2026, 12, 2))
    '2 Dec 2026'
    """
    return f"{date.day} {date:%b %Y}"


def parked_words(case: Case) -> str:
    """Return the day of parking, and whether it is only the default."""
    parked = case.site.parked_from
    by_name = {item.name: item for item in case.assumptions}
    if by_name[SITE.parked_from].origin != "default":
        return short_date(parked)
    return f"{short_date(parked)} (no date given: the coming {parked.day} {parked:%B})"


def verdict(answer: ParkAnswer) -> str:
    """Return the answer in one sentence."""
    horizon = answer.case.horizon_days
    days = answer.days_to_no_start
    if not answer.case.vehicle.starts:
        return _silence_verdict(answer)
    if days.p90 == 0.0:  # nearly all cases
        return "It would not start right now: charge or replace the battery before parking."
    if days.p50 is None and days.p10 is None:
        return f"It should start at any time within {horizon} days; nothing ends the stand."
    risky = answer.days_at_risk
    safe = (
        "No stand is safe at 5 % risk."
        if risky == 0.0
        else f"Up to {days_words(risky, horizon)} the risk stays within 5 %."
    )
    if days.p50 is None:
        return f"It should start for {days_words(None, horizon)}, but not surely. {safe}"
    return (
        f"Expect a no-start after about {days_words(days.p50, horizon)} "
        f"(8 in 10 cases: {range_words(days, horizon)}). {safe}"
    )


def end_words(answer: ParkAnswer) -> str:
    """Return what ends the stand: "no-start", for a trailer "silent unit"."""
    return "no-start" if answer.case.vehicle.starts else "silent unit"


def _silence_verdict(answer: ParkAnswer) -> str:
    """Return the answer for a trailer: nobody starts it, the unit falls silent."""
    horizon, days = answer.case.horizon_days, answer.days_to_no_start
    if days.p50 is None and days.p10 is None:
        return f"The unit keeps reporting for {days_words(None, horizon)}."
    if days.p50 is None:
        return (
            f"The unit should report for {days_words(None, horizon)}, but not surely "
            f"(8 in 10 cases: {range_words(days, horizon)})."
        )
    return (
        f"The unit goes silent after about {days_words(days.p50, horizon)} "
        f"(8 in 10 cases: {range_words(days, horizon)}); nothing is started from this battery."
    )


def swing_words(answer: ParkAnswer) -> str:
    """Return what the days beside an input's values are, and what of them may be chance."""
    chance = median([2.0 * swing.chance_days for swing in answer.swings] or [0.0])
    return (
        "medians of the fifth of the cases with its lowest and of that with its highest values; "
        f"differences up to about {days_words(chance, answer.case.horizon_days)} may be chance"
    )


def difference_words(before: float | None, after: float | None, horizon_days: int) -> str:
    """Return what a change does: "+11 days", "no change", "from 34 days to more than 180 days".

    Examples
    --------
    >>> difference_words(34.0, 45.2, 180), difference_words(34.0, None, 180)
    ('+11 days', 'from 34 days to more than 180 days')
    """
    if before is None and after is None:
        return f"no change: both more than {horizon_days} days"
    if before is None or after is None:
        return f"from {days_words(before, horizon_days)} to {days_words(after, horizon_days)}"
    change = after - before
    if abs(change) < 0.05:
        return "no change"
    shown = f"{change:+.1f}" if abs(change) < 10 else f"{change:+.0f}"
    return f"{shown} days"
