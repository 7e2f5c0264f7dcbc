"""Logs drawn by hand, one thing in each: what is found is what was drawn, to the number."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.physics.current_log.pulses import mask_of_runs, pulse_period_s, pulse_runs
from drainsim.physics.current_log.settled import LogFindings, analyse
from drainsim.physics.current_log.stages import change_points, stages_before
from drainsim.physics.current_log.steps import Samples, averaged, resolution_of_a, scatter, steps_of
from drainsim.physics.tables import FloatArray

AWAKE_S = 600.0


def drawn(
    *pulses: tuple[float, float, float],
    hours: float = 3.0,
    sleeping_a: float = 0.02,
    awake_a: float = 1.0,
    awake_s: float = AWAKE_S,
    step_s: float = 1.0,
    noise_a: float = 0.0,
    seed: int = 1,
) -> tuple[FloatArray, FloatArray]:
    """Return a log: awake, then asleep with pulses of (start [s], length [s], current [A])."""
    time = np.arange(0.0, 3600.0 * hours, step_s)
    current = np.where(time < awake_s, awake_a, sleeping_a)
    for start, length, height in pulses:
        current = np.where((time >= start) & (time < start + length), height, current)
    return time, current + np.random.default_rng(seed).normal(0.0, noise_a, len(time))


def found_in(*pulses: tuple[float, float, float], **settings: float) -> LogFindings:
    """Return what is found in a drawn log."""
    return analyse(*drawn(*pulses, **settings))  # type: ignore[arg-type]


def test_what_is_drawn_is_found_to_the_number() -> None:
    """Ten wake-ups of 30 s and 0.5 A every 900 s: times, levels, charge, periods and mean."""
    wakes = [(1200.0 + 900.0 * n, 30.0, 0.52) for n in range(10)]
    seen = found_in(*wakes, hours=3.0)
    assert (seen.asleep, seen.stray_pulses, seen.long_wakes, seen.gap_count) == (True, 0, 0, 0)
    assert (seen.span_s, seen.step_s) == (10_800.0, 1.0)
    # The first pair of quiet steps, and the end of the last window of 10 s.
    assert seen.sleep_s == AWAKE_S
    assert seen.asleep_for_s == seen.steady_for_s == 10_800.0 - AWAKE_S
    assert seen.level_a == pytest.approx(0.02)
    assert seen.settled_a == pytest.approx(0.02, abs=1e-9)
    (group,) = seen.pulses
    assert (group.count, group.period_s) == (10, pytest.approx(900.0))
    assert group.charge_as == pytest.approx(30.0 * 0.5)
    assert (group.duration_s, group.peak_a) == (30.0, pytest.approx(0.52))
    assert_allclose(group.start_s, [start for start, _, _ in wakes])
    assert seen.whole_periods == 9
    assert seen.mean_a == pytest.approx(0.02 + 30.0 * 0.5 / 900.0)
    assert_allclose([stage.current_a for stage in seen.stages], [1.0, 0.02])
    assert_allclose([stage.start_s for stage in seen.stages], [0.0, AWAKE_S])


def test_the_mean_runs_over_whole_periods_only() -> None:
    """What happens before the first wake-up and from the last one on does not count."""
    wakes = [(1200.0 + 900.0 * n, 30.0, 0.52) for n in range(10)]
    longer = found_in(*wakes[:-1], (wakes[-1][0], 90.0, 0.52))
    early = found_in((AWAKE_S, 500.0, 0.0205), *wakes)
    for seen in (longer, early):
        assert seen.whole_periods == 9
        assert seen.mean_a == pytest.approx(0.02 + 30.0 * 0.5 / 900.0, rel=1e-6)
    # Without a regular wake-up the mean is that of the whole sleep.
    lone = found_in((2000.0, 100.0, 0.52))
    assert (lone.whole_periods, lone.stray_pulses, lone.pulses) == (0, 1, ())
    assert lone.mean_a == pytest.approx(0.02 + 100.0 * 0.5 / (10_800.0 - AWAKE_S))


@pytest.mark.parametrize(("count", "strays"), [(1, 1), (2, 2), (3, 0)])
def test_fewer_than_three_alike_are_no_kind(count: int, strays: int) -> None:
    """A period needs two equal pauses, hence three events."""
    seen = found_in(*[(2000.0 + 1000.0 * n, 60.0, 0.5) for n in range(count)])
    assert seen.stray_pulses == strays
    assert sum(group.count for group in seen.pulses) == count - strays


def test_every_wake_up_is_counted_once_and_the_costliest_kind_comes_first() -> None:
    """Two kinds, told apart by charge from twice on: all of both are counted."""
    small = [(1200.0 + 600.0 * n, 20.0, 0.12) for n in range(12)]
    large = [(1500.0 + 1800.0 * n, 60.0, 1.02) for n in range(5)]
    seen = found_in(*small, *large)
    assert [(group.count, round(group.charge_as, 6)) for group in seen.pulses] == [
        (5, 60.0),
        (12, 2.0),
    ]
    assert_allclose([group.period_s for group in seen.pulses], [1800.0, 600.0])  # type: ignore[arg-type]
    # Six of the small ones have one and a half times the charge: one kind.
    mixed = found_in(*small[:6], *[(start, 30.0, 0.12) for start, _, _ in small[6:]])
    assert [group.count for group in mixed.pulses] == [12]


def test_odd_ones_of_any_size_hide_no_kind() -> None:
    """Four wake-ups, each ten times the one before, stand beside two kinds at no regular times."""
    at_s = 1200.0 + 20.0 * np.arange(1, 20) ** 2
    kinds = [(start, 20.0, 0.12 if n % 2 else 0.32) for n, start in enumerate(at_s[:12])]
    odd = [(start, 40.0, 0.02 + 10.0**n) for n, start in enumerate(at_s[13:17])]
    seen = found_in(*kinds, *odd)
    assert seen.stray_pulses == len(odd)
    assert [round(group.charge_as, 6) for group in seen.pulses] == [6.0, 2.0]


@pytest.mark.parametrize(("steps", "strays"), [(1, 0), (2, 1)])
def test_two_steps_of_a_coarse_meter_are_a_wake_up_and_one_is_not(steps: int, strays: int) -> None:
    """Six standard deviations of what rounding hides, a step over the root of 12 (handbooks)."""
    seen = found_in((2000.0, 30.0, 0.02 + 0.01 * steps), awake_a=1.01)
    assert (seen.resolution_a, seen.stray_pulses) == (0.01, strays)


def test_two_odd_ones_among_many_regular_ones_split_nothing() -> None:
    """Two reports five times as long keep the period of the twelve they belong to."""
    wakes = [(1200.0 + 600.0 * n, 20.0, 0.12) for n in range(12)]
    for number in (4, 8):
        wakes[number] = (wakes[number][0], 100.0, 0.12)
    (group,) = found_in(*wakes).pulses
    assert (group.count, group.period_s) == (12, pytest.approx(600.0))
    assert group.charge_as == pytest.approx(2.0)


def test_a_wake_up_cut_off_by_the_logs_end_or_a_gap_does_not_tell_its_charge() -> None:
    """It is counted, but charge and length come from those that were seen whole."""
    wakes = [(1200.0 + 900.0 * n, 120.0, 0.52) for n in range(4)]
    time, current = drawn(*wakes, hours=3930.0 / 3600.0)  # the last one is cut after 30 s
    for gap in (None, (2160.0, 2400.0), (2000.0, 2130.0)):  # one more is cut by a gap
        kept = np.ones(len(time), dtype=bool) if gap is None else (time < gap[0]) | (time > gap[1])
        (group,) = analyse(time[kept], current[kept]).pulses
        assert group.count == 4
        assert group.charge_as == pytest.approx(120.0 * 0.5, rel=1e-6)
        assert group.duration_s == 120.0


def test_one_quiet_second_on_either_side_shows_a_wake_up_whole() -> None:
    """Of five, four lose their middle to a gap; the one a second from gaps tells the charge."""
    wakes = [(1200.0 + 900.0 * n, 120.0, 0.52) for n in range(5)]
    time, current = drawn(*wakes, hours=1.6)
    for quiet_s, length_s in ((1.0, 120.0), (0.0, 60.0)):
        lost = np.zeros(len(time), dtype=bool)
        for number, (start, length, _) in enumerate(wakes):
            since = time - start
            if number == 2:
                lost |= (since >= -61.0) & (since < -quiet_s)
                lost |= (since >= length + 1.0) & (since < length + 61.0)
            else:
                lost |= (since >= 60.0) & (since < 180.0)
        (group,) = analyse(time[~lost], current[~lost]).pulses
        assert (group.count, group.duration_s) == (5, length_s)
        assert group.charge_as == pytest.approx(length_s * 0.5)


@pytest.mark.parametrize(("minutes", "long_wakes"), [(29.0, 0), (31.0, 1)])
def test_a_wake_up_of_more_than_half_an_hour_is_the_vehicle_woken_again(
    minutes: float, long_wakes: int
) -> None:
    """A log that notes a value a minute tells 31 min from 29."""
    # Half an hour: common practice, no source.
    seen = found_in((7200.0, 60.0 * minutes, 0.5), step_s=60.0, hours=8.0)
    assert (seen.long_wakes, seen.stray_pulses) == (long_wakes, 1 - long_wakes)


@pytest.mark.parametrize(
    ("step_s", "pause_s", "count"),
    [(1.0, 8.0, 4), (1.0, 12.0, 8), (30.0, 90.0, 4), (30.0, 120.0, 8)],
)
def test_pauses_of_ten_seconds_or_three_steps_belong_to_a_wake_up(
    step_s: float, pause_s: float, count: int
) -> None:
    """A control unit that rests for 8 s within its report is one wake-up, for 12 s two."""
    # Common practice, no source.
    wakes = [
        (1200.0 + 900.0 * n + late, 30.0, 0.52) for n in range(4) for late in (0.0, 30.0 + pause_s)
    ]
    seen = found_in(*wakes, step_s=step_s)
    assert sum(group.count for group in seen.pulses) + seen.stray_pulses == count


@pytest.mark.parametrize(
    ("settings", "asleep"),
    [
        # Steady for ten minutes before it counts: common practice, no source.
        ({"hours": (AWAKE_S + 570.0) / 3600.0}, False),
        ({"hours": (AWAKE_S + 640.0) / 3600.0}, True),
        # Trade rule: below 50 mA one hour after shut-off.
        ({"hours": 0.95, "sleeping_a": 0.048}, True),
        ({"hours": 0.95, "sleeping_a": 0.052}, False),
        ({"hours": 1.05, "sleeping_a": 0.052}, True),
    ],
)
def test_asleep_is_what_the_trade_calls_so(settings: dict[str, float], asleep: bool) -> None:
    """Ten steady minutes, and above 50 mA a whole hour."""
    seen = found_in(**settings)
    assert seen.asleep == asleep
    assert bool(seen.stages)


@pytest.mark.parametrize(
    ("above", "starts_s"),
    # Quiet is up to 15 % above the sleeping level: common practice, no source.
    [(1.13, AWAKE_S), (1.18, 2400.0)],
)
def test_a_level_a_little_above_the_last_is_sleep_already(above: float, starts_s: float) -> None:
    """13 % above the level of the night counts as asleep, 18 % does not."""
    seen = found_in((AWAKE_S, 1800.0, 0.02 * above))
    assert seen.sleep_s == starts_s


def test_a_tiny_current_may_vary_by_a_fifth_of_a_milliampere() -> None:
    """0.5 mA, then 0.35: within 0.2 mA, which no clamp tells apart; 0.6 mA is another stage."""
    for first_a, starts_s in ((0.0005, AWAKE_S), (0.0006, 2400.0)):
        seen = found_in((AWAKE_S, 1800.0, first_a), sleeping_a=0.00035)
        assert seen.sleep_s == starts_s


def test_a_step_of_the_meter_is_no_stage() -> None:
    """A 10 mA clamp that shows 30, then 20 mA, shows one sleep."""
    time, current = drawn((AWAKE_S, 1800.0, 0.03), sleeping_a=0.02)
    # Four different readings tell the step.
    current[:3] = [1.57, 1.31, 1.02]
    seen = analyse(time, current)
    assert seen.resolution_a == 0.01
    assert seen.sleep_s == AWAKE_S


def test_noise_drift_and_uncertainty_are_those_that_were_drawn() -> None:
    """Standard deviation of the noise; half a ramp; half a step and two standard errors."""
    errors, bounds = [], []
    for seed in range(30):
        seen = found_in(noise_a=0.002, hours=1.5, seed=seed)
        assert seen.settled_a is not None
        assert seen.settled_uncertainty_a is not None
        assert seen.noise_a == pytest.approx(0.002, rel=0.1)
        errors.append(seen.settled_a - 0.02)
        bounds.append(seen.settled_uncertainty_a)
    # Mean of 4,800 samples: sd 0.002/√4800 A; twenty blocks tell it within 16 %, their mean of
    # thirty logs within 5 %. Two of them hold 95 % of all errors.
    assert_allclose(np.mean(bounds), 2.0 * 0.002 / np.sqrt(4800.0), rtol=0.1)
    assert np.mean(np.abs(errors) <= bounds) >= 0.85
    time, current = drawn(hours=3.0, sleeping_a=0.1)
    slope = 0.004 / (10_800.0 - AWAKE_S)
    ramp = np.where(time < AWAKE_S, current, current + slope * (time - AWAKE_S))
    seen = analyse(time, ramp)
    assert seen.drift_a == pytest.approx(0.002, rel=0.01)
    assert seen.settled_a == pytest.approx(0.102, rel=1e-3)


@pytest.mark.parametrize("step_a", [0.001, 0.01])
def test_half_a_step_of_the_meter_is_always_in_doubt(step_a: float) -> None:
    """Where every reading is alike only the meter's step is uncertain."""
    time, current = drawn(sleeping_a=0.02)
    seen = analyse(time, current, printed_a=step_a)
    assert seen.settled_uncertainty_a == pytest.approx(0.5 * step_a)
    # Even steps hide an error of step/√12 (rectangular distribution).
    assert seen.noise_a == pytest.approx(step_a / np.sqrt(12.0))


def test_fast_samples_are_averaged_over_a_second_and_keep_their_charge() -> None:
    """Ten samples a second: same findings as one, and a spike of 0.1 s is a tenth of it."""
    wakes = [(1200.0 + 900.0 * n, 30.0, 0.52) for n in range(8)]
    slow, fast = found_in(*wakes), found_in(*wakes, step_s=0.1)
    assert fast.step_s == pytest.approx(0.1)
    assert fast.settled_a == pytest.approx(slow.settled_a, rel=1e-9)
    assert fast.pulses[0].charge_as == pytest.approx(slow.pulses[0].charge_as, rel=1e-6)
    assert fast.mean_a == pytest.approx(slow.mean_a, rel=1e-6)
    spikes = [(1200.0 + 900.0 * n, 0.1, 1.02) for n in range(8)]
    (group,) = found_in(*spikes, step_s=0.1).pulses
    assert group.peak_a == pytest.approx(0.02 + 0.1 * 1.0, rel=1e-6)
    assert (group.duration_s, group.charge_as) == (pytest.approx(1.0), pytest.approx(0.1))


@given(
    awake=st.lists(st.booleans(), min_size=1, max_size=60),
    gaps=st.lists(st.integers(0, 59), max_size=3),
    gap_s=st.sampled_from([0.5, 1000.0]),
    merge_s=st.sampled_from([0.5, 1.0, 2.5, 4.0]),
    margin=st.integers(0, 2),
)
def test_runs_are_those_of_a_plain_loop(
    awake: list[bool], gaps: list[int], gap_s: float, merge_s: float, margin: int
) -> None:
    """Runs bridge pauses up to a length, never a gap; their mask is widened on both sides."""
    count = len(awake)
    segment = np.array([sum(gap < n for gap in gaps) for n in range(count)], dtype=np.intp)
    time = np.arange(count, dtype=float) + gap_s * segment
    samples = Samples(
        time_s=time, duration_s=np.ones(count), current_a=np.zeros(count), segment=segment
    )
    runs: list[list[int]] = []
    for n in np.flatnonzero(awake).tolist():
        alike = runs and segment[runs[-1][1]] == segment[n]
        if alike and time[n] - (time[runs[-1][1]] + 1.0) <= merge_s:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    starts, ends = pulse_runs(samples, np.array(awake), merge_s=merge_s)
    assert [[a, b] for a, b in zip(starts.tolist(), ends.tolist(), strict=True)] == runs
    mask = mask_of_runs(count, starts, ends, margin=margin)
    inside = [any(a - margin <= n <= b + margin for a, b in runs) for n in range(count)]
    assert mask.tolist() == inside


@given(
    missed=st.sets(st.integers(1, 18), max_size=6),
    jump=st.floats(0.0, 5000.0),
    jitter=st.floats(0.0, 0.04),
)
def test_period_is_that_of_the_clock_behind_the_events(
    missed: set[int], jump: float, jitter: float
) -> None:
    """Least squares of start against number: missed events and a jumped clock change nothing."""
    number = np.array([n for n in range(20) if n not in missed])
    rng = np.random.default_rng(1)
    start = 300.0 * (number + rng.uniform(-jitter, jitter, len(number)))
    segment = (number >= 10).astype(np.intp)
    start = start + np.where(segment == 1, jump, 0.0)
    # rtol: jitter over the span of ten events.
    assert pulse_period_s(start, segment) == pytest.approx(300.0, rel=1e-9 + 0.2 * jitter)


def test_irregular_is_half_of_the_events_a_tenth_of_a_period_off() -> None:
    """Two of every three starts 5 % late are regular, 25 % late are not; two events tell none."""
    number = np.arange(30.0)
    segment = np.zeros(30, dtype=np.intp)
    for late, regular in ((0.08, True), (0.25, False)):
        start = 100.0 * (number + late * (number % 2))
        assert (pulse_period_s(start, segment) is not None) == regular
    assert pulse_period_s(np.array([0.0, 100.0]), segment[:2]) is None
    assert pulse_period_s(np.array([0.0, 100.0, 200.0]), segment[:3]) == pytest.approx(100.0)


def test_steps_hold_until_the_next_one_and_end_at_gaps() -> None:
    """A pause of more than five usual steps (and a second) is a gap; all else is held."""
    time = np.array([0.0, 1, 2, 3, 7.5, 8.5, 15, 16, 17, 18])
    samples = steps_of(time, np.arange(10.0))
    # 4.5 s is held, 6.5 s is a gap in which nothing is known.
    assert_allclose(samples.duration_s, [1, 1, 1, 4.5, 1, 1, 1, 1, 1, 1])
    assert samples.segment.tolist() == [0] * 6 + [1] * 4
    quick = steps_of(np.array([0.0, 0.1, 0.2, 0.3, 1.2, 1.3, 2.6, 2.7]), np.zeros(8))
    assert quick.segment.tolist() == [0] * 6 + [1] * 2
    bins = averaged(samples, 2.0)
    assert_allclose(bins.time_s, [0, 2, 7.5, 8.5, 15, 16, 18])
    assert_allclose(bins.duration_s, [2, 5.5, 1, 1, 1, 2, 1])
    assert_allclose(bins.current_a, [0.5, (2 + 4.5 * 3) / 5.5, 4, 5, 6, 7.5, 9])
    assert bins.segment.tolist() == [0, 0, 0, 0, 1, 1, 1]


def test_the_meters_step_is_the_coarsest_that_fits_nearly_all() -> None:
    """One reading in 300 that does not fit is a slip, one in a hundred is not."""
    readings = 0.002 * np.arange(1.0, 301.0)
    readings[17] += 0.0005
    assert resolution_of_a(readings) == 0.002
    readings[[40, 80, 120]] += 0.0005
    assert resolution_of_a(readings) < 0.002
    # Three hundred-thousandths of a step off is rounding of the file, three thousandths is not.
    for off, step_a in ((3e-5, 1e-3), (3e-3, 1e-6)):
        assert resolution_of_a(1e-3 * (np.array([1.0, 2, 4, 7]) + off)) == pytest.approx(step_a)
    assert resolution_of_a([0.0, 0.5, 0.5], printed_a=0.01) == 0.01
    assert resolution_of_a([-0.02, 0.04, -0.06, 0.1]) == 0.02


def test_scatter_is_the_standard_deviation_whatever_a_tenth_of_the_values_are() -> None:
    """Normal values give their standard deviation, ten per cent of wild ones little more."""
    values = np.random.default_rng(1).normal(5.0, 2.0, 40_000)
    assert scatter(values) == pytest.approx(2.0, rel=0.02)
    values[::10] = 1e6
    assert scatter(values) == pytest.approx(2.0, rel=0.2)
    assert scatter(np.zeros(0)) == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_the_best_split_costs_no_more_than_any_other(seed: int) -> None:
    """Every way to cut nine points is tried: squares about the means plus a price a piece."""
    rng = np.random.default_rng(seed)
    level = rng.choice([0.0, 1.0, 3.0], 9) + rng.normal(0.0, 0.3, 9)
    noise, penalty = 0.3, 4.0

    def cost(cuts: list[int]) -> float:
        pieces = np.split(level, cuts)
        squares = sum(float(((p - p.mean()) ** 2).sum()) for p in pieces)
        return squares + penalty * noise**2 * len(pieces)

    every = [[n + 1 for n in range(8) if number >> n & 1] for number in range(256)]
    found = change_points(level, noise=noise, penalty=penalty)
    assert found[0] == 0
    assert cost(list(found[1:])) == pytest.approx(min(map(cost, every)))


@pytest.mark.parametrize(("ratio", "count"), [(1.0, 1), (1.2, 2), (1.6, 2)])
def test_noise_is_no_stage_and_a_step_of_its_size_is(ratio: float, count: int) -> None:
    """Two hundred windows with 20 % noise: one level is one stage, a step of 20 % makes two."""
    # A hundred windows tell a level within 2 %: the step is seven standard errors of a difference.
    at = 10.0 * np.arange(200)
    found = []
    for seed in range(20):
        noise = np.random.default_rng(seed).normal(0.0, 0.2, 200)
        level = np.repeat([1.0, ratio], 100) * np.exp(noise)
        found.append(len(stages_before(steps_of(at, level), at, level, until_s=2000.0)))
    assert np.mean(np.array(found) == count) >= 0.9


def test_stages_of_many_levels_are_few_and_keep_the_charge() -> None:
    """Thirty levels in 50 minutes: at most twelve stages, whose charge is the log's."""
    time = np.arange(0.0, 3000.0)
    level = np.where((time // 100) % 2 == 0, 4.0, 1.0) * (1.0 + time / 1000.0)
    stages = analyse(time, level).stages
    assert 2 <= len(stages) <= 12
    charge = sum(stage.duration_s * stage.current_a for stage in stages)
    assert charge == pytest.approx(level.sum(), rel=1e-3)
    assert stages[0].start_s == 0.0
    assert sum(stage.duration_s for stage in stages) == pytest.approx(3000.0)


def test_neighbours_within_a_tenth_are_one_stage_with_the_mean_of_both() -> None:
    """2.00 and 2.16 A are one level of 2.12 A by their times, 2.00 and 2.30 A are two."""
    time = np.arange(0.0, 1500.0)
    for second_a, wanted in ((2.16, [2.12, 0.5]), (2.3, [2.0, 2.3, 0.5])):
        current = np.select([time < 300.0, time < 1200.0], [2.0, second_a], 0.5)
        stages = analyse(time, current).stages
        assert_allclose([stage.current_a for stage in stages], wanted, rtol=0.02)


def test_a_short_rest_before_sleep_is_not_yet_sleep() -> None:
    """One quiet minute within a busy quarter of an hour does not begin the sleep."""
    seen = found_in((200.0, 60.0, 0.02), (260.0, 640.0, 1.0), (0.0, 200.0, 1.0))
    assert seen.sleep_s == 900.0


def test_a_single_odd_window_is_no_stage() -> None:
    """Ten seconds at half the current are within a stage, a minute of it is a stage of its own."""
    for length, count in ((10.0, 2), (60.0, 4)):
        seen = found_in((0.0, 900.0, 1.0), (300.0, length, 0.5))
        assert len(seen.stages) == count


def test_samples_twice_a_second_are_taken_as_they_are() -> None:
    """Only faster ones are averaged: a half second's peak keeps its height."""
    spikes = [(1200.0 + 900.0 * n, 0.5, 1.02) for n in range(6)]
    (group,) = found_in(*spikes, step_s=0.5).pulses
    assert (group.peak_a, group.duration_s) == (pytest.approx(1.02), pytest.approx(0.5))
    (group,) = found_in(*spikes, step_s=0.4).pulses
    assert group.peak_a < 0.8
