"""Unit conversions, done once at the edges; everything inside is A, V, Ah, °C and hours."""

from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

SECONDS_PER_HOUR: Final = 3600.0
MINUTES_PER_HOUR: Final = 60.0
HOURS_PER_DAY: Final = 24.0
SECONDS_PER_DAY: Final = 86_400.0
DAYS_PER_YEAR: Final = 365.0  # of climates and the sun, which know no leap day
ABSOLUTE_ZERO_C: Final = -273.15

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


def percent_from_share(share: _Amount) -> _Amount:
    """Return per cent from a share of one."""
    return share * 100.0


def share_from_percent(percent: float) -> float:
    """Return a share of one from per cent."""
    return percent / 100.0
