"""A history cut in stands: nights by the local clock, drives, chargers, starts, drawn by hand."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.readings.forecast import Watched, watch
from drainsim.answers.readings.history.nights import scatter_v
from drainsim.answers.readings.history.shapes import CHARGER, FLOOR, STUCK
from drainsim.answers.readings.history.stands import Cut, cut, nights_of
from drainsim.answers.readings.morning import morning
from drainsim.answers.readings.posterior.learning import cranks_before
from drainsim.answers.readings.posterior.voltage_errors import error_covariance_v2, error_mean_v
from drainsim.answers.readings.vehicle_case import Setting
from drainsim.files.readings.history import History
from tests.answers.readings.fleet import BEGIN, DAY_S, history, resting_v, vehicle

HOUR_S = 3600.0


def stands_of(found: History) -> Cut:
    """Return a history in stands, looked at with its last reading."""
    return cut(found, now_s=float(found.time_s[-1]), two_in_series=False)


def watched(found: History, *, zone: str | None = None) -> Watched:
    """Return a vehicle with its past gone through."""
    setting = Setting(now_s=float(found.time_s[-1]), draws=100, risk=0.05, zone=zone)
    return watch(found, vehicle(), setting, {})


def test_nights_are_the_six_hours_before_the_start_by_the_local_clock() -> None:
    """Parked at 17 h UTC, 19 h local: the first night from 0 to 6 h is 5 to 11 h of rest."""
    hours = np.arange(1, 24 * 5 + 1)
    found = stands_of(history(np.where((hours + 19) % 24 < 6, 12.55, 12.6)))
    assert found.parked is not None
    nights = nights_of(found, found.parked, start_hour=6, shift_s=2 * HOUR_S)
    assert_allclose(nights.voltage_v, 12.55)
    assert_allclose(nights.rested_h, 7.5 + 24.0 * np.arange(5))


def test_a_history_that_begins_on_a_drive_stands_from_its_last_reading_on() -> None:
    """Driving until 17 h: the stand begins there, and nothing of it counts as driven."""
    found = stands_of(history(resting_v(5)))
    assert [stand.start_s for stand in found.stands] == [BEGIN]
    assert found.parked_since_s == BEGIN


@pytest.mark.parametrize(("hours", "readings"), [(20, 20), (9, 0)])
def test_a_steady_voltage_of_more_than_half_a_day_is_a_charger(hours: int, readings: int) -> None:
    """Every reading at 13.6 V is kept aside, and none after it."""
    volts = np.concatenate([np.full(48, 12.5), np.full(hours, 13.6), np.full(30, 12.6)])
    aside = [one for one in stands_of(history(volts)).set_aside if one.reason == CHARGER]
    assert sum(one.rows for one in aside) == readings


@pytest.mark.parametrize(
    ("volts", "readings", "reason", "aside"),
    # Three days of one value in steps of 10 mV: common practice, no source.
    [(12.3, 73, STUCK, 0), (12.3, 74, STUCK, 73), (11.5, 74, FLOOR, 73)],
)
def test_one_value_for_more_than_three_days_is_no_measurement(
    volts: float, readings: int, reason: str, aside: int
) -> None:
    """Stuck, or below 11.9 V at the lowest a unit can show; the first reading counts."""
    found = stands_of(history(np.concatenate([resting_v(2), np.full(readings, volts)])))
    kept_aside = {one.reason: one.rows for one in found.set_aside}
    assert kept_aside == ({reason: aside} if aside else {})


def test_a_level_that_rises_for_good_is_another_battery() -> None:
    """0.13 V up from one night to the next and staying: two stands, the second learned anew."""
    days = np.repeat([12.4, 12.4, 12.4, 12.53, 12.53, 12.53, 12.53], 24)
    noise = np.tile([0.0, 0.01], len(days) // 2)  # never stuck
    found = stands_of(history(days + noise))
    assert [stand.anew for stand in found.stands] == [False, True]


def test_a_start_that_came_was_surer_of_a_full_battery() -> None:
    """Ten days of rest, two hours of driving, three more days: one start, expected as one."""
    expected = []
    for charge in (0.9, 0.12):
        volts = [resting_v(10, charge=charge), [14.2, 14.2], resting_v(3, seed=2)]
        past = watched(history(np.concatenate(volts))).past
        assert past.starts == 1
        expected.append(past.starts_expected)
    assert 0.9 < expected[1] < expected[0] - 0.001
    assert expected[0] <= 1.0


def test_a_dip_tells_the_margin_of_its_start() -> None:
    """Ohm's law: from 12.6 V down to 10.6 V leaves (12.6 - minimum) / 2 of what was taken."""
    rested = history(np.full(72, 12.6))
    dips = np.where(np.arange(len(rested.time_s)) == 40, 10.6, math.nan)
    learner = watched(replace(rested, cranking_minimum_v=dips)).learner
    (crank,) = cranks_before(learner, math.inf)
    minimum_v = learner.vehicle.now.vehicle.minimum_cranking_v
    assert crank.log_margin == pytest.approx(math.log((12.6 - minimum_v) / 2.0))
    assert crank.temperature_c == pytest.approx(10.0)


def test_the_day_of_a_moment_is_that_of_the_place() -> None:
    """Half past eleven in the evening UTC is the next day east of Greenwich."""
    late = dt.datetime(2026, 11, 5, 23, 30, tzinfo=dt.UTC).timestamp()
    for zone, day in ((None, 5), ("Europe/Berlin", 6), ("America/New_York", 5)):
        there = watched(history(resting_v(3)), zone=zone)
        assert there.day_of(late) == dt.date(2026, 11, day)


def test_charge_on_the_surface_spreads_as_drawn_ones_do() -> None:
    """A half-normal of 60 mV at 4 h, decaying with 10 h, lognormal by 0.6: 400,000 drawn ones."""
    at_h = np.array([4.0, 8.0, 12.0])  # no tail yet
    rng = np.random.default_rng(5)
    surface_v = np.abs(rng.normal(0.0, 0.06, (400_000, 1)))
    tau_h = 10.0 * np.exp(0.6 * rng.standard_normal((400_000, 1)))
    drawn_v = surface_v * np.exp(-(at_h - 4.0) / tau_h)
    # rtol: four nodes of a normal distribution stand for all of it.
    assert_allclose(error_mean_v(at_h), drawn_v.mean(axis=0), rtol=0.01)
    covariance_v2 = error_covariance_v2(at_h, slow_sd_v=0.0)
    assert_allclose(covariance_v2, np.cov(drawn_v, rowvar=False), rtol=0.05)
    slow_v2 = error_covariance_v2(at_h, slow_sd_v=0.02) - covariance_v2
    assert_allclose(np.diagonal(slow_v2), 0.02**2)
    assert (np.diff(slow_v2[0]) < 0.0).all()  # the farther apart the less alike


def test_a_night_s_median_is_as_sure_as_drawn_ones_scatter() -> None:
    """Two thousand nights of 25 readings with 10 mV of normal error."""
    volts = np.random.default_rng(6).normal(12.5, 0.01, (2000, 25))
    medians = np.median(volts, axis=1)
    found = scatter_v(volts.ravel(), medians, np.full(2000, 25))
    assert_allclose(found, medians.std(), rtol=0.06)


def test_a_deep_dip_leaves_fewer_days() -> None:
    """The same nights after a drive whose start took the voltage to 8.5 V, or to 11.5 V only."""
    found = history(resting_v(4))
    days = []
    for dip_v in (8.5, 11.5):
        dips = np.where(found.time_s < BEGIN - 3600.0, dip_v, math.nan)
        (one,) = morning(
            [replace(found, cranking_minimum_v=dips)],
            {"A": vehicle()},
            now_s=BEGIN + 3.6 * DAY_S,
            draws=100,
            workers=1,
        ).vehicles
        assert one.days_to_no_start.p10 is not None
        days.append(one.days_to_no_start.p10)
    assert days[0] < days[1] - 1.0
