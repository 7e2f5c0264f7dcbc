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
    season_draws,
    standard_draws,
    truncated_normal,
    weather_draws,
    weather_of_draw,
)
from drainsim.simulation.lanes import lanes_from_draws
from tests.build import MUST_SHOW, case_of


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


def test_every_lane_draws_its_wake_ups_beside_what_it_draws_asleep() -> None:
    """Half an hour of 2 A every four hours is 0.25 A more than none, whatever it draws asleep."""
    wakes = [{"every_h": 4.0, "duration_s": 1800.0, "current_a": 2.0}]
    asleep, waking = (
        lanes_from_draws(
            case_of(MUST_SHOW, vehicle={"quiescent_a": 0.0, "wake_ups": wake_ups}),
            standard_draws(100, 1),
        ).quiescent_a
        for wake_ups in ([], wakes)
    )
    assert_allclose(waking - asleep, 0.25)


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


@pytest.mark.parametrize("lag_h", [0.0, 6.0, 48.0])
def test_a_battery_lags_behind_a_long_history_of_weather(lag_h: float) -> None:
    """Spread of the battery's anomaly at parking: a first-order lag behind a first-order course."""
    # y' = y + f (x - y), x of memory r: var y = f (1 + r (1 - f)) / ((2 - f)(1 - r (1 - f))),
    # by summing the geometric series (time-series textbooks). rtol: 5,000 weathers, 1 %.
    found = weather_draws(
        25_000, first_day=DECEMBER, days=1, correlation=0.7, seed=3, place="here", lag_h=lag_h
    )
    f = 1.0 - np.exp(-24.0 / lag_h) if lag_h else 1.0
    variance = f * (1.0 + 0.7 * (1.0 - f)) / ((2.0 - f) * (1.0 - 0.7 * (1.0 - f)))
    assert_allclose(found.settled_z.std(), np.sqrt(variance), rtol=0.03)
    if not lag_h:  # without a lag it has the air of the day before
        assert_allclose(np.corrcoef(found.settled_z, found.anomaly_z[0])[0, 1], 0.7, atol=0.03)


@pytest.mark.parametrize("days", [(6, 30, 7, 5), (7, 29, 8, 3), (7, 30, 7, 31)])
def test_in_summer_too_two_vehicles_meet_the_same_days(days: tuple[int, int, int, int]) -> None:
    """Histories that begin on different 1 Julys have forgotten it: 0.7 to the 30th."""
    first, then = dt.date(2026, *days[:2]), dt.date(2026, *days[2:])
    apart = (then - first).days
    common = {"days": 20, "correlation": 0.7, "seed": 3, "lag_h": 6.0, "place": "here"}
    early, late = (weather_draws(200, first_day=day, **common) for day in (first, then))  # type: ignore[arg-type]
    assert_allclose(early.anomaly_z[apart:], late.anomaly_z[: 20 - apart], atol=1e-3)
    assert_allclose(late.settled_z.std(), 1.0, atol=0.35)


def test_seasons_of_a_place_are_spread_evenly_over_their_distribution() -> None:
    """Forty weathers are the middles of forty equal slices, in an order of the place's own."""
    seasons = season_draws(200, seed=4, place="here")
    middles = normal_quantile((np.arange(40) + 0.5) / 40)
    assert_allclose(np.sort(seasons), middles)
    assert (seasons != season_draws(200, seed=4, place="there")).any()
    assert len(season_draws(201, seed=4, place="here")) == 41
