"""Air temperature from climate normals, and the battery that follows it hours later."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray
from drainsim.units import DAYS_PER_YEAR, HOURS_PER_DAY

WARMEST_HOUR: Final = 15.0  # of the day; common practice, no source
# Day of year (0 = 1 January) at the middle of each month of a 365-day year.
_MID_MONTH = np.array(
    [15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5]
)


def mid_month_values(monthly_means: ArrayLike) -> FloatArray:
    """Return mid-month values whose straight lines have the given monthly means.

    Parameters
    ----------
    monthly_means : array_like, shape (12,)

    Returns
    -------
    ndarray of float, shape (12,)

    Notes
    -----
    With months of equal length the mean of the lines over a month is
    (previous + 6 · own + next)/8; the cyclic system is solved for the values.

    Examples
    --------
    >>> mid_month_values(np.full(12, 5.0)).round(9)
    array([5., 5., 5., 5., 5., 5., 5., 5., 5., 5., 5., 5.])
    """
    share = (
        np.eye(12) * 6 / 8 + (np.roll(np.eye(12), 1, axis=1) + np.roll(np.eye(12), -1, axis=1)) / 8
    )
    return np.asarray(np.linalg.solve(share, np.asarray(monthly_means, dtype=float)))


def yearly_means_c(coldest_c: float, warmest_c: float, *, southern: bool) -> FloatArray:
    """Return monthly means on a cosine from the coldest month to the warmest.

    Parameters
    ----------
    coldest_c, warmest_c : float
        Means of January and July, of July and January in the south. [°C]
    southern : bool
        Half a year later.

    Returns
    -------
    ndarray of float, shape (12,)
        January first. [°C]

    Examples
    --------
    >>> yearly_means_c(-5.0, 15.0, southern=True)[[0, 3, 6]].round(9)
    array([15.,  5., -5.])
    """
    months = np.arange(12.0) - (6.0 if southern else 0.0)
    share = 0.5 * (1.0 - np.cos(2.0 * np.pi * months / 12.0))
    return np.asarray(coldest_c + (warmest_c - coldest_c) * share)


def climate_temperature_c(
    day_of_year: ArrayLike,
    hour_of_day: ArrayLike,
    *,
    daily_low_c: ArrayLike,
    daily_high_c: ArrayLike,
) -> FloatArray:
    """Return the average air temperature of a climate at a date and hour.

    Parameters
    ----------
    day_of_year : array_like, shape (...)
        0 at the start of 1 January; may be fractional and run past a year. [days]
    hour_of_day : array_like, shape (...)
        0 to 24. [h]
    daily_low_c, daily_high_c : array_like, shape (12,)
        Monthly means of the daily minimum and maximum, January first. [°C]

    Returns
    -------
    ndarray of float, shape (...)
        Air temperature. [°C]

    Notes
    -----
    Straight lines join mid-months, whose values are chosen so that each month's mean is its
    normal (lines through the normals themselves would clip every winter and summer); within
    the day a cosine between low and high peaks at 15:00.
    """
    day = np.asarray(day_of_year, dtype=float)
    low = np.interp(day, _MID_MONTH, mid_month_values(daily_low_c), period=DAYS_PER_YEAR)
    high = np.interp(day, _MID_MONTH, mid_month_values(daily_high_c), period=DAYS_PER_YEAR)
    phase = 2.0 * np.pi * (np.asarray(hour_of_day, dtype=float) - WARMEST_HOUR) / HOURS_PER_DAY
    return np.asarray(0.5 * (low + high) + 0.5 * (high - low) * np.cos(phase))


def lagged_c(air_c: ArrayLike, *, lag_h: float, step_h: float = 1.0) -> FloatArray:
    """Return the temperature of a body that follows the air with a first-order lag.

    Parameters
    ----------
    air_c : array_like, shape (times, ...)
        Air temperature at even steps. [°C]
    lag_h : float
        Time constant; 0 means no lag. [h]
    step_h : float
        Step between rows. [h]

    Returns
    -------
    ndarray of float, shape (times, ...)
        Body temperature; starts settled at the mean of the first day. [°C]

    Notes
    -----
    y' = y + (x − y)(1 − e^(−Δt/τ)): exact for air constant within a step.
    """
    air = np.asarray(air_c, dtype=float)
    if lag_h <= 0.0:
        return air.copy()
    follow = -np.expm1(-step_h / lag_h)
    first_day = max(1, round(HOURS_PER_DAY / step_h))
    body = np.empty_like(air)
    now = air[:first_day].mean(axis=0)
    for index, air_now in enumerate(air):
        now = now + (air_now - now) * follow
        body[index] = now
    return body
