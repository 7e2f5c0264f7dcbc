"""What day it is, said once, and the days that follow from it.

One clock: `today()`, which DRAINSIM_TODAY replaces in tests and documents. A scenario without a
date parks on the coming 1 December and says so.
"""

import datetime as dt
import os
from typing import Final

from drainsim.errors import ScenarioError

# A day in this variable stands for today: for documents and tests that must stay as they are.
TODAY: Final = "DRAINSIM_TODAY"


def today() -> dt.date:
    """Return today's date, or the one of the variable DRAINSIM_TODAY.

    Raises
    ------
    ScenarioError
        If the variable holds no date.
    """
    told = os.environ.get(TODAY)
    if not told:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(told)
    except ValueError:
        raise ScenarioError(f"{TODAY}={told!r}: a date is needed, like 2026-12-01") from None


def coming(month: int, day: int, *, since: dt.date) -> dt.date:
    """Return the first such day of the year on or after a date.

    Examples
    --------
    >>> coming(12, 1, since=dt.date(2026, 11, 25)).isoformat()
    '2026-12-01'
    >>> coming(12, 1, since=dt.date(2026, 12, 2)).isoformat()
    '2027-12-01'
    """
    this_year = dt.date(since.year, month, day)
    return this_year if this_year >= since else dt.date(since.year + 1, month, day)
