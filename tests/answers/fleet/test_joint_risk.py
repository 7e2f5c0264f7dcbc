"""How many of many: the exact distribution of a sum of unequal chances over shared weathers."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.answers.fleet.joint_risk import (
    LEVELS,
    binomial_probabilities,
    count_band,
    count_distribution,
)
from drainsim.simulation.draws import DRAWS_PER_WEATHER


def enumerated(levels: np.ndarray) -> np.ndarray:
    """Return the distribution by going through every outcome; levels (weathers, vehicles)."""
    weathers, vehicles = levels.shape
    total = np.zeros(vehicles + 1)
    for row in levels / DRAWS_PER_WEATHER:
        for outcome in itertools.product([0, 1], repeat=vehicles):
            chances = [p if fails else 1.0 - p for p, fails in zip(row, outcome, strict=True)]
            total[sum(outcome)] += math.prod(chances) / weathers
    return total


def counted(levels: np.ndarray) -> np.ndarray:
    """Return vehicles by level, shape (weathers, LEVELS)."""
    return np.stack([np.bincount(row, minlength=LEVELS) for row in levels])


@given(
    st.integers(1, 4).flatmap(
        lambda weathers: st.lists(
            st.lists(st.integers(0, LEVELS - 1), min_size=weathers, max_size=weathers),
            min_size=1,
            max_size=7,
        )
    )
)
def test_agrees_with_going_through_every_outcome(by_vehicle: list[list[int]]) -> None:
    """The grouped and convolved distribution is the enumerated one."""
    levels = np.array(by_vehicle).T
    # rtol: rounding of a few hundred additions; atol: tails below 1e-14 are cut.
    assert_allclose(count_distribution(counted(levels)), enumerated(levels), atol=1e-12)


@pytest.mark.parametrize(("trials", "chance"), [(1, 0.3), (12, 0.05), (40, 0.5), (300, 0.02)])
def test_equal_chances_are_the_binomial_distribution(trials: int, chance: float) -> None:
    """P(k) = C(n, k) p^k (1 − p)^(n − k), the textbook's closed form."""
    expected = [
        math.comb(trials, k) * chance**k * (1.0 - chance) ** (trials - k) for k in range(trials + 1)
    ]
    # atol: doubles hold the closed form to about 1e-13 at these sizes.
    assert_allclose(binomial_probabilities(trials, chance), expected, atol=1e-12)


def test_a_large_fleet_stays_finite_and_has_the_binomial_moments() -> None:
    """Mean n p and variance n p (1 − p) of 100,000 vehicles; nothing under- or overflows."""
    counts = np.zeros((1, LEVELS), dtype=int)
    counts[0, 1] = 100_000
    distribution = count_distribution(counts)
    number = np.arange(len(distribution))
    chance = 1 / DRAWS_PER_WEATHER
    assert_allclose(distribution.sum(), 1.0)
    assert_allclose(number @ distribution, 1e5 * chance, rtol=1e-9)
    variance = (number - 1e5 * chance) ** 2 @ distribution
    assert_allclose(variance, 1e5 * chance * (1 - chance), rtol=1e-6)


@given(st.lists(st.lists(st.integers(0, LEVELS - 1), min_size=3, max_size=3), min_size=1))
def test_the_mean_is_the_sum_of_the_chances(by_vehicle: list[list[int]]) -> None:
    """Expectation adds up whatever the vehicles share."""
    levels = np.array(by_vehicle).T
    band = count_band(count_distribution(counted(levels)))
    assert_allclose(band.expected, levels.mean(axis=0).sum() / DRAWS_PER_WEATHER, rtol=1e-9)
    assert 0 <= band.p10 <= band.p90 <= levels.shape[1]


def test_certain_vehicles_only_shift_the_distribution() -> None:
    """Seven that surely fail add seven to every outcome."""
    counts = np.array([[0, 3, 2, 0, 0, 0]])
    shifted = counts.copy()
    shifted[0, -1] = 7
    assert_allclose(count_distribution(shifted)[7:], count_distribution(counts))
    assert count_distribution(shifted)[:7].sum() == 0.0


def test_a_shared_weather_widens_the_band() -> None:
    """Half of the weathers take everything, half nothing: 0 or 50, never 25 or so."""
    shared = np.zeros((2, LEVELS), dtype=int)
    shared[0, 0] = shared[1, -1] = 50
    together = count_band(count_distribution(shared))
    alone = count_band(binomial_probabilities(50, 0.5))
    assert together.expected == pytest.approx(alone.expected)
    assert (together.p10, together.p90) == (0, 50)
    assert 18 <= alone.p10 < alone.p90 <= 32  # sd = sqrt(50 / 4) = 3.5


@pytest.mark.parametrize(
    ("distribution", "p10", "p90"),
    [([1.0], 0, 0), ([0.1, 0.8, 0.1], 0, 1), ([0.05, 0.9, 0.05], 1, 1), ([0.0, 0.5, 0.5], 1, 2)],
)
def test_the_band_is_the_smallest_numbers_reached(
    distribution: list[float], p10: int, p90: int
) -> None:
    """P(number <= p10) is at least 10 %, P(number <= p90) at least 90 %."""
    band = count_band(np.array(distribution))
    assert (band.p10, band.p90) == (p10, p90)
