"""Climate, lag and ageing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.files.presets import presets
from drainsim.physics.ageing import health_after_years, service_life_at_years
from drainsim.physics.ambient import climate_temperature_c, lagged_c

YEAR_H = np.arange(8760.0)


@pytest.mark.parametrize("key", sorted(presets("climates")))
def test_a_climate_gives_its_own_monthly_means_back(key: str) -> None:
    """The mean of a month's daily lows and highs is the printed normal."""
    # The preset's own normals. atol 0.25 K: months are taken as equally long.
    values = presets("climates")[key].values
    low, high = np.array(values["daily_low_c"]), np.array(values["daily_high_c"])
    air = climate_temperature_c(YEAR_H / 24, YEAR_H % 24, daily_low_c=low, daily_high_c=high)
    days = air.reshape(365, 24)
    first = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    for month, part in enumerate(np.split(days, first[1:])):
        assert_allclose(part.min(axis=1).mean(), low[month], atol=0.25)
        assert_allclose(part.max(axis=1).mean(), high[month], atol=0.25)


def test_the_warmest_hour_is_mid_afternoon() -> None:
    """Temperature peaks at 15:00 and is lowest twelve hours away."""
    hours = np.arange(24.0)
    air = climate_temperature_c(15.5, hours, daily_low_c=[0.0] * 12, daily_high_c=[10.0] * 12)
    assert (air.argmax(), air.argmin()) == (15, 3)
    assert_allclose([air.max(), air.min()], [10.0, 0.0], atol=1e-9)


def test_years_join_without_a_step() -> None:
    """31 December runs on into 1 January."""
    values = presets("climates")["continental"].values
    normals = {"daily_low_c": values["daily_low_c"], "daily_high_c": values["daily_high_c"]}
    before, after = climate_temperature_c([364.999, 365.001], 12.0, **normals)
    assert_allclose(before, after, atol=0.01)


def test_a_step_in_the_air_arrives_exponentially() -> None:
    """After one time constant 63 % of a step has reached the battery."""
    air = np.concatenate([np.zeros(24), np.full(100, 10.0)])
    body = lagged_c(air, lag_h=6.0)
    assert_allclose(body[23 + 6], 10.0 * (1 - np.exp(-1.0)), rtol=1e-9)
    assert_allclose(body[-1], 10.0, rtol=1e-6)


@given(lag_h=st.floats(0.0, 72.0), swing=st.floats(0.0, 20.0))
def test_lag_damps_and_never_overshoots(lag_h: float, swing: float) -> None:
    """The battery stays within the range of the air; without lag it is the air."""
    air = swing * np.sin(2 * np.pi * np.arange(240) / 24)
    body = lagged_c(air, lag_h=lag_h)
    assert body.min() >= air.min() - 1e-9
    assert body.max() <= air.max() + 1e-9
    if lag_h == 0.0:
        assert_allclose(body, air)


def test_finer_steps_move_the_lag_by_little() -> None:
    """Half-hour steps of the same air agree with hourly ones."""
    # atol 0.5 K of a 10 K swing: the air is held constant within a step.
    hours = np.arange(0, 240, 0.5)
    fine = lagged_c(10 * np.sin(2 * np.pi * hours / 24), lag_h=6.0, step_h=0.5)
    coarse = lagged_c(10 * np.sin(2 * np.pi * hours[::2] / 24), lag_h=6.0)
    assert_allclose(fine[::2][48:], coarse[48:], atol=0.5)


def test_service_life_follows_the_handbook_row_not_used() -> None:
    """5 years at 20 °C become 3.6 at 25 °C and 2.5 at 30 °C."""
    # Battery handbook page on a training site: 5 / 3.6 / 2.5 years at 20 / 25 / 30 °C. The ends
    # set the law; the middle checks its shape. atol: printed to 0.1.
    life = service_life_at_years([20.0, 25.0, 30.0], life_years_at_20c=5.0, halving_k=10.0)
    assert_allclose(life, [5.0, 3.6, 2.5], atol=0.07)


@given(ages=st.tuples(st.floats(0, 20), st.floats(0, 20)), life=st.floats(0.5, 30))
def test_age_never_adds_health(ages: tuple[float, float], life: float) -> None:
    """Health is 1 when new, 0.8 at end of life and falls with age."""
    young, old = health_after_years(sorted(ages), life_years=life, share_at_end_of_life=0.8)
    assert 1.0 >= young >= old > 0.0
    assert health_after_years(0.0, life_years=life, share_at_end_of_life=0.8) == 1.0
    assert_allclose(health_after_years(life, life_years=life, share_at_end_of_life=0.8), 0.8)


@given(temperatures=st.tuples(st.floats(-40, 60), st.floats(-40, 60)))
def test_heat_never_lengthens_life(temperatures: tuple[float, float]) -> None:
    """Warmer is shorter; cold storage is not extrapolated below 10 °C."""
    cool, hot = service_life_at_years(sorted(temperatures), life_years_at_20c=5.0, halving_k=10.0)
    assert hot <= cool <= 10.0


@pytest.mark.parametrize("step_h", [0.5, 1.0, 3.0])
def test_a_lagging_body_starts_at_the_mean_of_the_first_day(step_h: float) -> None:
    """Under a lag of years a body stays where it began, whatever the step between rows."""
    rows = round(48.0 / step_h)
    air = np.random.default_rng(1).normal(10.0, 5.0, rows)
    body = lagged_c(air, lag_h=1e6, step_h=step_h)
    assert_allclose(body, air[: rows // 2].mean(), atol=1e-3)
