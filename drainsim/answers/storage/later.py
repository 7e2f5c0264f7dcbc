"""Where nothing makes a stand hold: from which month on the same stand does, as it is."""

import datetime as dt
from typing import Final

from drainsim.answers.storage.risk import StandQuestion, risk_of
from drainsim.answers.storage.searching.batch import stands_of
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN

_MONTHS: Final = 12
_FEW: Final = 100  # draws of a first look
_CLEARLY: Final = 0.3  # a first look so far above the limit is not looked at again


def has_seasons(question: StandQuestion) -> bool:
    """Say whether a later start may be milder, and the place's temperatures reach as far."""
    get = question.scenario.get
    return get(SITE.temperature_c) is None and get(SITE.hourly_csv) is None


def first_holding_month(question: StandQuestion) -> dt.date | None:
    """Return the first of the next twelve months' first days from which the stand holds as it is.

    None says that it holds from none of them; ask `has_seasons` first.
    """
    parked = question.resolved().site.parked_from
    begins = [_first_of_month(parked, ahead) for ahead in range(1, _MONTHS + 1)]
    asked = question.all_along
    cases = [asked.resolved({SITE.parked_from: begin}) for begin in begins]
    draws = min(cases[0].draws, _FEW)
    few = [asked.resolved({SITE.parked_from: begin, RUN.draws: draws}) for begin in begins]
    rough = stands_of(few, rough=True, mornings_only=asked.by_mornings)
    for begin, case, seen in zip(begins, cases, rough, strict=True):
        if risk_of(seen, asked.when)[0] > asked.risk + _CLEARLY:
            continue
        (stand,) = stands_of([case], mornings_only=asked.by_mornings)
        if risk_of(stand, asked.when)[0] <= asked.risk:
            return begin
    return None


def _first_of_month(day: dt.date, ahead: int) -> dt.date:
    """Return the first day of a later month.

    Examples
    --------
    >>> _first_of_month(dt.date(2026, 12, 1), 5)
    datetime.date(2027, 5, 1)
    """
    months = 12 * day.year + day.month - 1 + ahead
    return dt.date(months // 12, months % 12 + 1, 1)
