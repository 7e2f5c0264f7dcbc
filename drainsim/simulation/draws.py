"""Random draws: one seed gives the same ranks whatever the case (common random numbers)."""

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray

INPUTS: Final = (
    "state_of_charge",
    "capacity_health",
    "cranking_health",
    "quiescent_a",
    "unit_a",
    "self_discharge",
    "demand",
    "low_charge",
    "season",
)
# Health of capacity and of cranking age together: common practice, no source.
_HEALTH_CORRELATION: Final = 0.5
_Z = np.linspace(-6.0, 6.0, 6001)
_CUMULATIVE = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in _Z])


def normal_quantile(probability: ArrayLike) -> FloatArray:
    """Return standard normal quantiles (table with linear steps of 0.002, ends at ±6).

    Examples
    --------
    >>> normal_quantile([0.1, 0.5, 0.9]).round(3)
    array([-1.282,  0.   ,  1.282])
    """
    return np.asarray(np.interp(np.asarray(probability, dtype=float), _CUMULATIVE, _Z))


def normal_probability(z: ArrayLike) -> FloatArray:
    """Return the standard normal distribution function; inverse of `normal_quantile`."""
    return np.asarray(np.interp(np.asarray(z, dtype=float), _Z, _CUMULATIVE))


def standard_draws(draws: int, seed: int) -> dict[str, FloatArray]:
    """Return one standard normal sample per input, each shape (draws,).

    Every input is stratified (each of `draws` equal slices of its distribution is used once),
    which steadies the percentiles.
    """
    rng = np.random.default_rng(seed)
    middles = normal_quantile((np.arange(draws) + 0.5) / draws)
    z = {name: middles[rng.permutation(draws)] for name in INPUTS}
    z["cranking_health"] = (
        _HEALTH_CORRELATION * z["capacity_health"]
        + math.sqrt(1.0 - _HEALTH_CORRELATION**2) * z["cranking_health"]
    )
    return z


def truncated_normal(
    z: ArrayLike, *, mean: ArrayLike, sd: ArrayLike, low: float, high: float
) -> FloatArray:
    """Return draws of a normal distribution cut to [low, high], by rank.

    Parameters
    ----------
    z : array_like
        Standard normal draws; their ranks are kept.
    mean, sd : array_like
        Of the uncut distribution; sd = 0 returns the mean.
    low, high : float
        Ends of the support.
    """
    centre, spread = np.asarray(mean, dtype=float), np.asarray(sd, dtype=float)
    safe = np.where(spread > 0.0, spread, 1.0)
    at_low = normal_probability((low - centre) / safe)
    at_high = normal_probability((high - centre) / safe)
    rank = at_low + normal_probability(z) * (at_high - at_low)
    drawn = np.clip(centre + spread * normal_quantile(rank), low, high)
    return np.asarray(np.where(spread > 0.0, drawn, centre + 0.0 * drawn))


def daily_anomalies(days: int, lanes: int, *, correlation: float, seed: int) -> FloatArray:
    """Return day-to-day weather as a correlated sequence of unit variance.

    Returns
    -------
    ndarray of float, shape (days, lanes)
        First-order autoregression, stationary from the first day. [-]
    """
    rng = np.random.default_rng([seed, 1])
    noise = rng.standard_normal((days, lanes))
    fresh = math.sqrt(1.0 - correlation**2)
    for day in range(1, days):
        noise[day] = correlation * noise[day - 1] + fresh * noise[day]
    return noise
