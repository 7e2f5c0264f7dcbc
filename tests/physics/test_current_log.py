"""A log's sleep, settled current and wake-ups, against logs of known truth."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.physics.current_log.pulses import pulse_period_s
from drainsim.physics.current_log.settled import analyse
from drainsim.physics.current_log.stages import change_points
from drainsim.physics.current_log.steps import averaged, resolution_of_a, steps_of
from tests.synthetic_log import PERIOD_S, PULSE_AS, SETTLED_A, SLEEP_S, parked_log


@pytest.mark.parametrize("resolution_a", [0.001, 0.01])
@pytest.mark.parametrize("noise_a", [0.0002, 0.002, 0.006])
@pytest.mark.parametrize("step_s", [0.5, 1.0, 5.0])
def test_finds_the_truth_with_samples_missing(
    resolution_a: float, noise_a: float, step_s: float
) -> None:
    """Settled within the meter's step, period within 5 %, sleep within half a minute."""
    time, current = parked_log(resolution_a=resolution_a, noise_a=noise_a, step_s=step_s)
    kept = np.random.default_rng(2).random(len(time)) > 0.05
    kept &= ~((time > 8000.0) & (time < 8200.0))
    found = analyse(time[kept], current[kept], printed_a=resolution_a)
    assert found.asleep
    assert found.settled_a is not None
    assert found.settled_uncertainty_a is not None
    assert found.sleep_s is not None
    assert found.mean_a is not None
    # Must show of the issue: within the meter's resolution, period within 5 %.
    assert_allclose(found.settled_a, SETTLED_A, atol=resolution_a)
    assert abs(found.settled_a - SETTLED_A) <= found.settled_uncertainty_a
    assert found.resolution_a == pytest.approx(resolution_a)
    # Windows of 10 s or five samples.
    assert_allclose(found.sleep_s, SLEEP_S, atol=30.0)
    wake_ups = found.pulses[0]
    assert wake_ups.period_s is not None
    assert_allclose(wake_ups.period_s, PERIOD_S, rtol=0.05)
    # Edges of a 20 s pulse fall between samples: up to one step of 5 s in 20.
    assert_allclose(wake_ups.charge_as, PULSE_AS, rtol=0.03 if step_s < 5.0 else 0.26)
    # A lost pulse or half of one in fourteen moves the mean, the meter's step does too.
    assert_allclose(found.mean_a, SETTLED_A + PULSE_AS / PERIOD_S, rtol=0.1)


@pytest.mark.parametrize("hours", [0.1, 0.3, 0.6, 0.75, 0.85])
def test_says_keep_measuring_when_too_short(hours: float) -> None:
    """Before the vehicle has slept for ten minutes there is no settled current."""
    found = analyse(*parked_log(hours=hours))
    assert not found.asleep
    assert found.settled_a is None
    assert found.sleep_s is None
    assert found.mean_a is None


def test_knows_sleep_from_a_long_stage() -> None:
    """0.3 A held for 25 min is a stage, not sleep, within the first hour."""
    assert not analyse(*parked_log(hours=0.7)).asleep
    time, current = parked_log(hours=3.0, settled_a=0.3)  # after an hour it is what it is
    found = analyse(time, current)
    assert found.settled_a == pytest.approx(0.3, abs=0.001)


def test_stages_hold_all_the_charge_before_sleep() -> None:
    """Stages cover the log without gaps and their charge is the log's."""
    time, current = parked_log()
    stages = analyse(time, current).stages
    ends = [stage.start_s + stage.duration_s for stage in stages]
    assert_allclose([stage.start_s for stage in stages][1:], ends[:-1])
    awake_as = sum(stage.duration_s * stage.current_a for stage in stages[:-1])
    assert_allclose(awake_as, current[time < SLEEP_S].sum(), rtol=0.01)  # one window's edge
    assert_allclose([stage.current_a for stage in stages[:2]], [3.0, 0.3], rtol=0.02)


def test_time_shift_and_scale_carry_through() -> None:
    """Twice the current gives twice the settled current and charge, at the same times."""
    time, current = parked_log(noise_a=0.001)
    one, two = analyse(time, current), analyse(time, 2.0 * current)
    assert one.settled_a is not None
    assert_allclose(two.settled_a or 0.0, 2.0 * one.settled_a, rtol=0.01)
    assert_allclose(two.pulses[0].charge_as, 2.0 * one.pulses[0].charge_as, rtol=0.01)
    assert two.sleep_s == one.sleep_s


def test_two_kinds_of_wake_up_are_told_apart() -> None:
    """An hourly report of 2 A·s among wake-ups of 8 A·s keeps its own period."""
    time, current = parked_log(hours=12.0, step_s=2.0, noise_a=0.0005)
    report = (time > SLEEP_S + 400.0) & ((time - SLEEP_S - 400.0) % 3600.0 < 40.0)
    found = analyse(time, np.where(report, SETTLED_A + 0.05, current))
    periods = [group.period_s for group in found.pulses]
    assert len(periods) == 2
    assert_allclose([period or 0.0 for period in periods], [PERIOD_S, 3600.0], rtol=0.05)
    assert_allclose(found.pulses[1].charge_as, 2.0, rtol=0.1)


def test_a_million_samples_are_analysed() -> None:
    """A log of 1,000,000 samples gives the same answer as a short one."""
    found = analyse(*parked_log(hours=1e6 / 3600.0))
    assert found.settled_a == pytest.approx(SETTLED_A, abs=0.001)
    assert found.pulses[0].period_s == pytest.approx(PERIOD_S, rel=0.05)
    assert found.pulses[0].count == pytest.approx((1e6 - SLEEP_S) / PERIOD_S, rel=0.01)


def test_period_bridges_missed_and_survives_a_clock_jump() -> None:
    """A missed event counts as two periods; a jump between segments counts for nothing."""
    starts = np.array([0.0, 600, 1200, 2400, 3000, 9999, 10599, 11199])
    segment = np.array([0, 0, 0, 0, 0, 1, 1, 1])
    assert pulse_period_s(starts, segment) == pytest.approx(600.0)
    assert pulse_period_s(np.array([0.0, 100, 900, 1000, 2500]), np.zeros(5, dtype=int)) is None


def test_best_split_is_best() -> None:
    """No single moved change point lowers the squares."""
    rng = np.random.default_rng(3)
    level = np.repeat([4.0, 1.0, 0.0], [30, 50, 40]) + rng.normal(0.0, 0.1, 120)
    found = change_points(level, noise=0.1, penalty=3.0 * np.log(120))

    def squares(cuts: list[int]) -> float:
        return sum(float(((p - p.mean()) ** 2).sum()) for p in np.split(level, cuts))

    best = squares(list(found[1:]))
    assert list(found) == [0, 30, 80]
    for cut, other in ((29, 80), (31, 80), (30, 79), (30, 81)):
        assert squares([cut, other]) > best


def test_stages_are_those_there_are_no_more_no_fewer() -> None:
    """A dip of a third for 50 s is a stage of its own; noise of ±35 % of a level is none."""
    time = np.arange(0.0, 1800.0, 1.0)
    levels = np.select([time < 600, time < 650, time < 1200], [2.0, 1.4, 2.0], 0.5)
    for seed in range(8):
        rng = np.random.default_rng(seed)
        stages = analyse(time, levels * rng.normal(1.0, 0.02, len(time))).stages
        assert_allclose([stage.current_a for stage in stages], [2.0, 1.4, 2.0, 0.5], rtol=0.05)
        assert_allclose([stage.start_s for stage in stages], [0, 600, 650, 1200], atol=15.0)
        noisy = np.random.default_rng(seed).uniform(0.65, 1.35, len(time))
        assert len(analyse(time, noisy).stages) == 1


def test_steps_keep_charge_and_time() -> None:
    """Averaging into bins loses neither."""
    time, current = parked_log(hours=0.2, step_s=0.1)
    samples = steps_of(time, current)
    bins = averaged(samples, 1.0)
    assert_allclose(bins.duration_s.sum(), samples.duration_s.sum())
    assert_allclose(bins.mean_a(), samples.mean_a())


@pytest.mark.parametrize("step_a", [0.0001, 0.0005, 0.001, 0.002, 0.01])
def test_finds_the_meters_step(step_a: float) -> None:
    """Readings that are all multiples of a step betray it; two values do not."""
    readings = step_a * np.array([31, 32, 33, 32, 450, 7])
    assert resolution_of_a(readings) == pytest.approx(step_a)
    assert resolution_of_a([0.03, 0.03, 0.06], printed_a=0.001) == 0.001


@settings(max_examples=40)
@given(
    count=st.integers(20, 400),
    step_s=st.sampled_from([0.05, 1.0, 30.0, 600.0]),
    kind=st.integers(0, 5),
    seed=st.integers(0, 1000),
)
def test_any_log_has_an_answer(count: int, step_s: float, kind: int, seed: int) -> None:
    """Whatever the current does, findings are finite and their stages run forward."""
    rng = np.random.default_rng(seed)
    shapes = (
        rng.normal(0.0, 1.0, count),
        rng.exponential(0.1, count),
        np.full(count, 0.03),
        np.round(rng.normal(0.03, 0.01, count), 2),
        np.zeros(count),
        np.linspace(3.0, 0.0, count),
    )
    found = analyse(np.cumsum(rng.exponential(step_s, count) + 1e-3), shapes[kind])
    assert found.asleep == (found.settled_a is not None)
    numbers = [found.level_a, found.resolution_a, found.span_s, found.settled_a or 0.0]
    assert np.isfinite(numbers).all()
    assert all(stage.duration_s > 0.0 for stage in found.stages)


def test_wakes_that_last_four_of_ten_minutes_are_wake_ups() -> None:
    """A vehicle awake for 40 % of its sleep is asleep with costly wake-ups."""
    time = np.arange(0.0, 4 * 3600.0, 2.0)
    waking = (time > SLEEP_S) & ((time - SLEEP_S - 300.0) % 600.0 < 240.0)
    current = np.where(time < SLEEP_S, 1.0, np.where(waking, 0.4, 0.025))
    found = analyse(time, current)
    assert found.settled_a == pytest.approx(0.025, abs=1e-6)
    assert found.pulses[0].charge_as == pytest.approx(240.0 * 0.375, rel=0.02)
    assert found.mean_a == pytest.approx(0.025 + 0.4 * 0.375, rel=0.01)


def test_a_vehicle_woken_for_more_than_half_an_hour_is_no_wake_up() -> None:
    """Somebody opened it: counted apart, and out of the mean; ten minutes are a wake-up."""
    time, current = parked_log(hours=6.0, step_s=2.0, noise_a=0.0)
    for minutes, long_wakes in ((10.0, 0), (33.0, 1)):
        woken = (time > 3.0 * 3600.0) & (time < 3.0 * 3600.0 + 60.0 * minutes)
        found = analyse(time, np.where(woken, 1.0, current))
        assert found.long_wakes == long_wakes
        if long_wakes:
            assert found.mean_a == pytest.approx(SETTLED_A + PULSE_AS / PERIOD_S, rel=0.1)


def test_before_it_sleeps_no_wake_up_is_counted() -> None:
    """Nothing is said of what needs a sleeping vehicle."""
    found = analyse(*parked_log(hours=0.3))
    assert (found.pulses, found.stray_pulses, found.long_wakes, found.whole_periods) == (
        (),
        0,
        0,
        0,
    )
    assert (found.asleep_for_s, found.drift_a, found.noise_a) == (0.0, 0.0, 0.0)


def test_a_gap_is_as_long_as_what_is_missing() -> None:
    """200 s taken out of a log of 1 s steps are one gap of 200 s, asleep or not."""
    for hours in (0.3, 3.0):
        time, current = parked_log(hours=hours)
        kept = (time < 400.0) | (time >= 600.0)
        found = analyse(time[kept], current[kept])
        assert found.gap_count == 1
        assert found.gap_s == pytest.approx(200.0, abs=1.5)
