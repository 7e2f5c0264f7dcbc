"""Unit conversions, done once at the edges; everything inside is A, V, Ah, °C and hours."""

from math import floor
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

SECONDS_PER_HOUR: Final = 3600.0
MINUTES_PER_HOUR: Final = 60.0
HOURS_PER_DAY: Final = 24.0
SECONDS_PER_DAY: Final = 86_400.0
DAYS_PER_YEAR: Final = 365.0  # of climates and the sun, which know no leap day
ABSOLUTE_ZERO_C: Final = -273.15
_TIE: Final = 1e-9  # of a share that is a half but for its last binary digit

_Amount = TypeVar("_Amount", float, NDArray[np.float64])


def ah_from_as(charge_as: _Amount) -> _Amount:
    """Return ampere-hours from ampere-seconds."""
    return charge_as / SECONDS_PER_HOUR


def a_from_ma(current_ma: float) -> float:
    """Return amperes from milliamperes."""
    return current_ma / 1000.0


def ma_from_a(current_a: _Amount) -> _Amount:
    """Return milliamperes from amperes."""
    return current_a * 1000.0


def celsius_from_fahrenheit(temperature_f: _Amount) -> _Amount:
    """Return degrees Celsius from degrees Fahrenheit."""
    return (temperature_f - 32.0) / 1.8


def fahrenheit_from_celsius(temperature_c: _Amount) -> _Amount:
    """Return degrees Fahrenheit from degrees Celsius."""
    return temperature_c * 1.8 + 32.0


def percent_from_share(share: _Amount) -> _Amount:
    """Return per cent from a share of one."""
    return share * 100.0


def whole_percent(share: float) -> int:
    """Return whole per cent, halves upward: the same on every page, print and card.

    Examples
    --------
    >>> whole_percent(0.225), whole_percent(0.905), whole_percent(0.0)
    (23, 91, 0)
    """
    return floor(100.0 * share + 0.5 + _TIE)


def share_from_percent(percent: float) -> float:
    """Return a share of one from per cent."""
    return percent / 100.0
