"""Battery temperature of a block: bounds, means, lag."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.simulation.draws import _weather_year
from drainsim.simulation.driving.timetable import WeekTimes
from drainsim.simulation.weather import WeatherLanes, _at_each

HOURS = np.arange(24 * 5 + 1)
COURSE_C = 5.0 + 6.0 * np.sin(2 * np.pi * HOURS / 24)


def weather(
    anomaly_c: np.ndarray, *, lag_h: float = 6.0, course_c: np.ndarray = COURSE_C
) -> WeatherLanes:
    """Return weather of as many lanes as there are anomaly columns."""
    return WeatherLanes(
        course_c=course_c,
        season_c=np.zeros(anomaly_c.shape[1]),
        anomaly_c=anomaly_c,
        settled_c=anomaly_c[0],
        lag_h=lag_h,
        doubling_k=10.0,
    )


def test_between_whole_hours_air_runs_straight() -> None:
    """At any minutes, the last hour too: what `numpy.interp` says."""
    hourly = np.stack([HOURS**2.0, np.sin(HOURS)], axis=1)
    asked = np.array([0.0, 0.25, 2.5, 71.9, len(HOURS) - 1.4, len(HOURS) - 1.0])
    wanted = np.stack([np.interp(asked, HOURS, column) for column in hourly.T], axis=1)
    assert_allclose(_at_each(hourly, asked), wanted)


@pytest.mark.parametrize(
    ("day", "begins"),
    [((2026, 12, 1), 2026), ((2026, 8, 1), 2026), ((2026, 7, 20), 2025), ((2027, 1, 5), 2026)],
)
def test_a_weather_begins_at_the_last_july_at_least_a_month_ago(
    day: tuple[int, int, int], begins: int
) -> None:
    """No further back: every day of history costs as much as one of the stand."""
    assert _weather_year(dt.date(*day)) == dt.date(begins, 7, 1)


@given(
    seed=st.integers(0, 1000),
    step_h=st.sampled_from([24.0, 8.0, 6.0, 3.0, 1.0, 0.5]),
    lag_h=st.sampled_from([0.0, 2.0, 6.0, 48.0]),
)
def test_no_hour_of_a_block_is_colder_than_its_low(seed: int, step_h: float, lag_h: float) -> None:
    """The low of a block bounds every hour in it, and its end is its last hour."""
    anomalies = np.random.default_rng(seed).normal(0, 5, (5, 4))
    lanes = weather(anomalies, lag_h=lag_h)
    for block in range(round(5 * 24 / step_h)):
        from_h = block * step_h
        whole = lanes.block(from_h, step_h)
        inside = lanes.at_hours_c(from_h, np.linspace(0.1, 1.0, 10) * step_h, np.arange(4))
        assert (inside >= whole.low_c - 1e-9).all()
        assert_allclose(inside[-1], whole.end_c, atol=1e-9)


@given(
    seed=st.integers(0, 1000),
    step_h=st.sampled_from([24, 8, 6, 3, 1]),
    lag_h=st.sampled_from([0.0, 6.0, 48.0]),
    spread_c=st.sampled_from([0.0, 5.0]),
)
def test_all_blocks_at_once_are_each_block(
    seed: int, step_h: int, lag_h: float, spread_c: float
) -> None:
    """Ends, lows, means and losses of all blocks are those of one after the other, hours too."""
    rng = np.random.default_rng(seed)
    lanes = weather(spread_c * rng.standard_normal((5, 4)), lag_h=lag_h)
    lanes.season_c = rng.standard_normal(4)
    together = lanes.blocks(step_h, 5)
    number = rng.integers(0, 5 * 24 // step_h, 4)
    inside = lanes.in_blocks_c(number, step_h, np.arange(4))
    for block in range(5 * 24 // step_h):
        for all_at_once, alone in zip(
            together, lanes.block(block * step_h, float(step_h)), strict=True
        ):
            assert_allclose(all_at_once[block], alone, rtol=1e-12)
    for place in range(4):
        hours = np.arange(1.0, step_h + 1.0)
        alone = lanes.at_hours_c(float(number[place] * step_h), hours, np.array([place]))
        assert_allclose(inside[:, place], alone[:, 0], rtol=1e-12)


@pytest.mark.parametrize("lag_h", [0.0, 0.5, 6.0])
def test_means_of_stretches_are_those_of_blocks(lag_h: float) -> None:
    """From any hour of a day, for any length within it: as one block of its own."""
    lanes = weather(np.random.default_rng(3).normal(0, 5, (5, 4)), lag_h=lag_h)
    from_h, hours = np.array([0.0, 31.5, 54.0, 110.25]), np.array([24.0, 2.5, 18.0, 0.5])
    mean_c, loss = lanes.means(from_h, hours)
    for number, (begin, length) in enumerate(zip(from_h, hours, strict=True)):
        alone = lanes.block(float(begin), float(length))
        assert_allclose(mean_c[number], alone.mean_c)
        assert_allclose(loss[number], alone.loss_scale)


def test_a_trip_begins_in_the_weather_of_its_own_day() -> None:
    """A quarter of an hour from its start, or what is left of the day."""
    lanes = weather(np.random.default_rng(3).normal(0, 5, (5, 4)))
    trip_h = np.array([23.9, 30.0])
    times = WeekTimes(order=(), stand_h=np.zeros((0, 2)), trip_h=trip_h, trip=np.arange(2))
    for found, begin, length in zip(times.trip_weather(lanes)[0], trip_h, (0.1, 0.25), strict=True):
        assert_allclose(found, lanes.block(float(begin), length).mean_c, rtol=1e-9)


def test_block_means_are_the_mean_of_its_moments() -> None:
    """Mean temperature and mean loss of a block are integrals over it."""
    # atol: 2400 moments against the closed form; the loss treats the anomaly as its block mean.
    anomalies = np.array([[4.0], [-3.0], [0.0], [2.0], [-5.0]])
    lanes = weather(anomalies)
    moments = (np.arange(2400) + 0.5) / 100
    for day in range(5):
        inside = lanes.at_hours_c(24.0 * day, moments, np.array([0]))
        whole = lanes.block(24.0 * day, 24.0)
        assert_allclose(inside.mean(), whole.mean_c[0], atol=0.02)
        assert_allclose(np.exp2((inside - 25.0) / 10.0).mean(), whole.loss_scale[0], rtol=0.05)


def test_without_anomalies_the_battery_follows_the_course() -> None:
    """The nominal lane is the course itself, plus its season."""
    lanes = WeatherLanes(
        course_c=COURSE_C,
        season_c=np.array([0.0, 2.0]),
        anomaly_c=np.zeros((5, 2)),
        settled_c=np.zeros(2),
        lag_h=6.0,
        doubling_k=10.0,
    )
    hours = np.arange(1.0, 25.0)
    shown = lanes.at_hours_c(24.0, hours, np.array([0, 1]))
    assert_allclose(shown[:, 0], COURSE_C[25:49])
    assert_allclose(shown[:, 1], COURSE_C[25:49] + 2.0)
    assert_allclose(lanes.at_day_c(0), COURSE_C[0] + np.array([0.0, 2.0]))


def test_chance_excursions_are_held_and_counted() -> None:
    """Weather beyond -40 to 60 °C is held at the end, and the count says so."""
    lanes = weather(np.full((5, 1), -60.0))
    assert lanes.held == 0
    assert lanes.block(0.0, 24.0).low_c[0] == -40.0
    assert lanes.held > 0


def test_no_lane_falls_below_the_bound_of_the_days_ahead_and_one_reaches_it() -> None:
    """From each day on: the lowest low of every block still to come, per lane."""
    rng = np.random.default_rng(5)
    for spread_c, per_day in ((0.0, -1.0), (0.0, 1.0), (5.0, -1.0), (5.0, 1.0)):
        course_c = COURSE_C + per_day * HOURS / 24
        lanes = weather(spread_c * rng.standard_normal((5, 4)), course_c=course_c)
        lanes.season_c = rng.standard_normal(4)
        lows = lanes.blocks(24, 5).low_c
        for day in range(5):
            assert_allclose(lanes.low_after_c(day), lows[day:].min(axis=0))
        assert_allclose(lanes.low_after_c(5), lows[4])  # the end of the run is its last day


def test_lanes_at_two_places_follow_their_own_course() -> None:
    """Each lane has the column of its site; the day's beginning is the hour it begins with."""
    course = np.stack([COURSE_C, COURSE_C + 10.0], axis=1)
    lanes = WeatherLanes(
        course_c=course,
        season_c=np.array([0.0, 1.0, 0.0]),
        anomaly_c=np.zeros((5, 3)),
        settled_c=np.zeros(3),
        lag_h=6.0,
        doubling_k=10.0,
        site=np.array([0, 1, 1]),
    )
    assert_allclose(lanes.at_day_c(2), course[48, [0, 1, 1]] + [0.0, 1.0, 0.0])
    whole = lanes.block(30.0, 6.0)
    assert_allclose(whole.end_c, course[36, [0, 1, 1]] + [0.0, 1.0, 0.0])
    assert_allclose(whole.mean_c[2] - whole.mean_c[0], 10.0)
    # Ten kelvins double self-discharge, eleven do by 2^1.1.
    assert_allclose(whole.loss_scale / whole.loss_scale[0], [1.0, 2.0**1.1, 2.0])


def test_one_of_two_places_is_asked_alone() -> None:
    """Every hour of a block, and moments, of the second place only."""
    course = np.stack([COURSE_C, COURSE_C + 10.0], axis=1)
    lanes = WeatherLanes(
        course_c=course,
        season_c=np.zeros(2),
        anomaly_c=np.zeros((5, 2)),
        settled_c=np.zeros(2),
        lag_h=6.0,
        doubling_k=10.0,
        site=np.arange(2),
    )
    second = np.array([1])
    assert_allclose(lanes.in_blocks_c(np.array([4]), 6, second), course[25:31, 1:])
    assert_allclose(lanes.at_hours_c(24.0, np.arange(1.0, 7.0), second), course[25:31, 1:])


def test_values_beyond_the_model_are_held_and_counted() -> None:
    """-40 to 60 °C; every value held adds to what a warning tells."""
    lanes = weather(np.zeros((5, 5)), course_c=np.full(121, 20.0))
    lanes.season_c = np.array([-61.0, 0.0, 45.0, 1.0, 40.0])
    found = lanes.block(0.0, 24.0)
    assert_allclose(found.end_c, [-40.0, 20.0, 60.0, 21.0, 60.0])
    assert lanes.held == 4  # two lanes, end and low of the block
