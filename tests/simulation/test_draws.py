"""Random draws: their distributions, their order, their seed."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.simulation.draws import (
    INPUTS,
    normal_probability,
    normal_quantile,
    standard_draws,
    truncated_normal,
    weather_draws,
    weather_of_draw,
)


@pytest.mark.parametrize(
    ("probability", "z"),
    # Standard normal table: 2.5, 5, 50, 84.13, 97.5 %. atol: printed digits.
    [(0.025, -1.960), (0.05, -1.645), (0.5, 0.0), (0.8413, 1.0), (0.975, 1.960)],
)
def test_quantiles_are_those_of_the_printed_table(probability: float, z: float) -> None:
    """The table and its inverse give the textbook's values."""
    assert_allclose(normal_quantile(probability), z, atol=0.001)
    assert_allclose(normal_probability(z), probability, atol=0.0005)


def test_one_seed_gives_one_set_of_draws() -> None:
    """Same seed, same draws; another seed, others."""
    first, again, other = standard_draws(500, 7), standard_draws(500, 7), standard_draws(500, 8)
    for name in INPUTS:
        assert_array_equal(first[name], again[name])
        assert (first[name] != other[name]).any()


def test_each_input_is_standard_normal_and_apart_from_the_others() -> None:
    """Mean 0, deviation 1; only the two healths go together (0.5)."""
    # atol 0.05: 4000 draws; correlations of independent samples scatter by 0.016.
    draws = standard_draws(4000, 1)
    names = list(draws)
    table = np.array([draws[name] for name in names])
    assert_allclose(table.mean(axis=1), 0.0, atol=0.05)
    assert_allclose(table.std(axis=1), 1.0, atol=0.05)
    expected = np.eye(len(names))
    pair = names.index("capacity_health"), names.index("cranking_health")
    expected[pair] = expected[pair[::-1]] = 0.5
    assert_allclose(np.corrcoef(table), expected, atol=0.06)


@given(
    z=st.lists(st.floats(-5, 5), min_size=2, max_size=20),
    mean=st.floats(0, 1),
    sd=st.floats(0, 0.5),
)
def test_truncated_draws_stay_inside_and_in_order(z: list[float], mean: float, sd: float) -> None:
    """No draw leaves the support, none overtakes another."""
    drawn = truncated_normal(sorted(z), mean=mean, sd=sd, low=0.0, high=1.0)
    assert (drawn >= 0.0).all()
    assert (drawn <= 1.0).all()
    assert (np.diff(drawn) >= -1e-12).all()


def test_without_spread_a_draw_is_its_mean() -> None:
    """Zero deviation returns the mean itself, whatever the rank."""
    assert_array_equal(truncated_normal([-3.0, 3.0], mean=0.85, sd=0.0, low=0, high=1), 0.85)


def test_far_from_the_ends_truncation_changes_nothing() -> None:
    """With the support far away draws are mean plus deviation times rank."""
    z = np.array([-2.0, -0.5, 0.0, 1.0])
    drawn = truncated_normal(z, mean=0.5, sd=0.01, low=0.0, high=1.0)
    assert_allclose(drawn, 0.5 + 0.01 * z, atol=1e-6)


DECEMBER = dt.date(2026, 12, 1)


def test_day_to_day_weather_has_unit_variance_and_its_correlation() -> None:
    """Stationary from the first day, with the asked-for memory."""
    # atol: 5000 weathers scatter by 1.4 %.
    noise = weather_draws(
        25000, first_day=DECEMBER, days=20, correlation=0.7, seed=3, place="here", lag_h=6.0
    ).anomaly_z
    assert noise.shape == (20, 5000)
    assert_allclose(noise.std(axis=1), 1.0, atol=0.06)
    pairs = [np.corrcoef(noise[day], noise[day + 1])[0, 1] for day in range(19)]
    assert_allclose(pairs, 0.7, atol=0.05)
    assert_allclose(np.corrcoef(noise[0], noise[3])[0, 1], 0.7**3, atol=0.06)


def test_a_place_has_the_same_weather_on_the_same_day() -> None:
    """Two vehicles parked a week apart at one place meet the same days; another place does not."""
    # atol: both histories begin on one 1 July, so that only rounding is left.
    common = {"days": 30, "correlation": 0.7, "seed": 3, "lag_h": 6.0}
    early = weather_draws(100, first_day=DECEMBER, place="here", **common)
    late = weather_draws(100, first_day=DECEMBER + dt.timedelta(days=7), place="here", **common)
    away = weather_draws(100, first_day=DECEMBER, place="there", **common)
    assert_allclose(early.anomaly_z[7:], late.anomaly_z[:-7], atol=1e-9)
    assert_array_equal(early.season_z, late.season_z)
    assert (np.abs(early.anomaly_z - away.anomaly_z) > 0.1).any()


def test_every_draw_stands_in_one_of_the_weathers() -> None:
    """Weather numbers run from 0 to the last one there is."""
    weathers = len(
        weather_draws(
            203, first_day=DECEMBER, days=2, correlation=0.0, seed=1, place="here", lag_h=6.0
        ).season_z
    )
    assert set(weather_of_draw(203)) == set(range(weathers))
