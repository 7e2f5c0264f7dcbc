"""How many of many vehicles will not start, when they share the weather.

Given the weather the vehicles are independent, so their number is a sum of unequal chances;
over the weathers it is the mean of those distributions. Chances come in steps of one draw, so
vehicles with equal chances are counted together and each step is one binomial.
"""

from dataclasses import dataclass

import numpy as np

from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER

LEVELS = DRAWS_PER_WEATHER + 1  # chances 0/5, 1/5 ... 5/5


@dataclass(frozen=True, slots=True, kw_only=True)
class CountBand:
    """Expected number and the middle 80 % of a number of vehicles."""

    expected: float
    p10: int
    p90: int


def binomial_probabilities(trials: int, chance: float) -> FloatArray:
    """Return P(0), P(1) … P(trials) of a binomial distribution.

    Parameters
    ----------
    trials : int
    chance : float
        Of each trial. [-]

    Notes
    -----
    Worked out from its largest term in logarithms, so that ten thousand trials stay finite.

    Examples
    --------
    >>> binomial_probabilities(2, 0.5)
    array([0.25, 0.5 , 0.25])
    """
    if trials == 0 or chance <= 0.0:
        return np.asarray(np.eye(1, trials + 1, 0)[0])
    if chance >= 1.0:
        return np.asarray(np.eye(1, trials + 1, trials)[0])
    numbers = np.arange(1, trials + 1)
    steps = np.log(trials - numbers + 1) - np.log(numbers) + np.log(chance / (1.0 - chance))
    logs = np.concatenate([[0.0], np.cumsum(steps)])
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def count_distribution(vehicles_by_level: FloatArray) -> FloatArray:
    """Return the distribution of the number of no-starts.

    Parameters
    ----------
    vehicles_by_level : shape (weathers, LEVELS)
        How many vehicles have chance level/5 in each weather.

    Returns
    -------
    ndarray of float, shape (vehicles + 1,)
        P(number); sums to 1.

    References
    ----------
    .. [1] Poisson's binomial distribution (sum of independent unequal trials), any textbook of
       probability; here grouped into binomials and convolved.
    """
    counts = np.asarray(vehicles_by_level).astype(int)
    vehicles = int(counts[0].sum())
    total = np.zeros(vehicles + 1)
    patterns, repeats = np.unique(counts, axis=0, return_counts=True)
    for row, weight in zip(patterns, repeats, strict=True):
        spread = np.array([1.0])
        for level in range(1, LEVELS - 1):
            if row[level]:
                binomial = binomial_probabilities(int(row[level]), level / DRAWS_PER_WEATHER)
                spread = _convolved(spread, binomial)
        certain = int(row[-1])
        total[certain : certain + len(spread)] += weight * spread
    return np.asarray(total / total.sum())


def _convolved(first: FloatArray, second: FloatArray) -> FloatArray:
    """Convolve without the far tails, which would cost time and hold nothing."""
    first_low, first_kept = _core(first)
    second_low, second_kept = _core(second)
    joined = np.convolve(first_kept, second_kept)
    low = first_low + second_low
    out = np.zeros(len(first) + len(second) - 1)
    out[low : low + len(joined)] = joined
    return out


def _core(spread: FloatArray) -> tuple[int, FloatArray]:
    held = np.flatnonzero(spread > 1e-14)
    return int(held[0]), spread[held[0] : held[-1] + 1]


def count_band(distribution: FloatArray) -> CountBand:
    """Return expectation and middle 80 % of a distribution of numbers."""
    cumulative = np.cumsum(distribution)
    return CountBand(
        expected=float(np.arange(len(distribution)) @ distribution),
        p10=int(np.searchsorted(cumulative, 0.1 - 1e-12)),
        p90=int(np.searchsorted(cumulative, 0.9 - 1e-12)),
    )
