"""What a log of current after key off holds: stages, sleep, settled current, wake-ups."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.current_log.pulses import PulseGroup, mask_of_runs, pulse_groups, pulse_runs
from drainsim.physics.current_log.stages import Stage, stages_before
from drainsim.physics.current_log.steps import Samples, averaged, resolution_of_a, scatter, steps_of
from drainsim.physics.tables import BoolArray, FloatArray

_FINEST_BIN_S: Final = 1.0  # faster samples are averaged: keeps charge, lowers noise
_WINDOW_S: Final = 10.0
_MOST_WINDOWS: Final = 20_000
_LOOK_AHEAD_S: Final = 600.0
_QUIET_SHARE: Final = 0.5  # of the next ten minutes, so that wake-ups may come in them
# Steady this long before it counts as asleep: common practice, no source.
STEADY_S: Final = 600.0
# Sleep takes 40 s to 60 min: workshop manuals and trade rules, 2003 to 2024.
LONGEST_SETTLING_S: Final = 3600.0
# Trade rule: below 50 mA one hour after shut-off; makers of 2003-04 cars investigate above it.
SUSPECT_A: Final = 0.050
_LONGEST_WAKE_UP_S: Final = 1800.0  # longer is a vehicle woken again; common practice, no source
_MERGE_S: Final = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LogFindings:
    """Everything found in a log; what needs a sleeping vehicle is None until it sleeps."""

    asleep: bool
    sleep_s: float | None
    settled_a: float | None
    settled_uncertainty_a: float | None
    level_a: float  # lowest steady level seen, asleep or not
    resolution_a: float
    noise_a: float
    mean_a: float | None
    whole_periods: int  # the mean runs over this many, 0 for the whole sleep
    drift_a: float  # second half of the sleep less the first
    stages: tuple[Stage, ...]
    pulses: tuple[PulseGroup, ...]  # the one that costs most first
    stray_pulses: int
    long_wakes: int
    span_s: float
    asleep_for_s: float
    steady_for_s: float
    gap_count: int
    gap_s: float
    step_s: float


def analyse(time_s: ArrayLike, current_a: ArrayLike, *, printed_a: float = 0.0) -> LogFindings:
    """Return what a log of the current drawn after key off holds.

    Parameters
    ----------
    time_s : array_like, shape (samples,)
        Strictly rising, counted from key off. At least 10 samples. [s]
    current_a : array_like, shape (samples,)
        Current drawn, discharging positive. [A]
    printed_a : float
        Step of the last printed digit, 0 if unknown. [A]

    Notes
    -----
    Levels are medians of windows of 10 s or more, which short wake-ups do not move. The
    sleeping level is the lowest that half of ten minutes keeps; sleep begins with the first
    window from which half of the next ten minutes stays on that level. Settled current: mean of
    the quiet samples of the sleep, wake-ups cut out. Uncertainty: half the meter's step plus
    twice the scatter of the means of twenty blocks; the meter's own accuracy is not in a log.
    """
    raw = steps_of(time_s, current_a)
    usual = float(np.median(np.diff(raw.time_s)))
    fine = averaged(raw, _FINEST_BIN_S) if usual < _FINEST_BIN_S / 2.0 else raw
    span = float(raw.time_s[-1] + usual)
    resolution = resolution_of_a(raw.current_a, printed_a=printed_a)
    step = float(np.median(fine.duration_s))
    width = max(_WINDOW_S, 5.0 * step, span / _MOST_WINDOWS)
    at, level = _window_medians(fine, width)
    lowest = _sleeping_level(at, level)
    quiet_below = lowest + _tolerance_a(level, lowest, resolution)
    sleep_at = _sleep_start(at, level <= quiet_below)
    if sleep_at is not None:
        sleep_at = _first_quiet(fine, sleep_at - width, limit_a=quiet_below)
    end = float(at[-1] + width)
    steady = end - sleep_at if sleep_at is not None else 0.0
    gaps = np.flatnonzero(np.diff(raw.segment))
    seen = LogFindings(
        asleep=False,
        sleep_s=None,
        settled_a=None,
        settled_uncertainty_a=None,
        level_a=lowest,
        resolution_a=resolution,
        noise_a=0.0,
        mean_a=None,
        whole_periods=0,
        drift_a=0.0,
        stages=(),
        pulses=(),
        stray_pulses=0,
        long_wakes=0,
        span_s=span,
        asleep_for_s=0.0,
        steady_for_s=steady,
        gap_count=len(gaps),
        gap_s=float(np.sum(np.diff(raw.time_s)[gaps] - usual)) if len(gaps) else 0.0,
        step_s=usual,
    )
    restless = lowest > SUSPECT_A and span < LONGEST_SETTLING_S
    if sleep_at is None or steady < STEADY_S or restless:
        return replace(seen, stages=stages_before(fine, at, level, until_s=None))
    slept = _asleep(seen, fine.cut(fine.time_s >= sleep_at), sleep_at, quiet_below, step)
    before = stages_before(fine, at, level, until_s=sleep_at)
    asleep = Stage(start_s=sleep_at, duration_s=steady, current_a=slept.settled_a or 0.0)
    return replace(slept, stages=(*before, asleep))


def _tolerance_a(level: FloatArray, lowest: float, resolution: float) -> float:
    """Return how far above the sleeping level a window still counts as quiet. [A].

    Four standard deviations of the windows, a step of the meter, 15 % or 0.2 mA, whichever is
    most: common practice, no source.
    """
    noise = scatter(np.diff(level)) / np.sqrt(2.0)
    return float(max(4.0 * noise, 1.1 * resolution, 0.15 * lowest, 2e-4))


def _asleep(
    seen: LogFindings, sleeping: Samples, sleep_at: float, quiet_below: float, step_s: float
) -> LogFindings:
    """Return the findings with what only a sleeping vehicle's current tells."""
    base, noise, awake = _quiet_base(sleeping, quiet_below, seen.resolution_a)
    starts, ends = pulse_runs(sleeping, awake, merge_s=max(_MERGE_S, 3.0 * step_s))
    length = sleeping.time_s[ends] + sleeping.duration_s[ends] - sleeping.time_s[starts]
    long_wake = length > _LONGEST_WAKE_UP_S
    count = len(sleeping.time_s)
    still = sleeping.cut(~mask_of_runs(count, starts, ends, margin=1))
    settled, uncertainty, drift = _settled(still, base, noise, seen.resolution_a)
    groups, stray = pulse_groups(sleeping, starts[~long_wake], ends[~long_wake], settled)
    kept = ~mask_of_runs(count, starts[long_wake], ends[long_wake], margin=0)
    # Woken for so long that nothing else is left, the whole sleep is the mean.
    mean, periods = _mean(sleeping.cut(kept) if kept.any() else sleeping, groups)
    return replace(
        seen,
        asleep=True,
        sleep_s=sleep_at,
        settled_a=settled,
        settled_uncertainty_a=uncertainty,
        noise_a=noise,
        mean_a=mean,
        whole_periods=periods,
        drift_a=drift,
        pulses=groups,
        stray_pulses=stray,
        long_wakes=int(long_wake.sum()),
        asleep_for_s=seen.steady_for_s,
    )


def _window_medians(samples: Samples, width_s: float) -> tuple[FloatArray, FloatArray]:
    """Return start and median current of every window that holds samples."""
    number = np.floor((samples.time_s - samples.time_s[0]) / width_s).astype(np.int64)
    order = np.lexsort((samples.current_a, number))
    which, first, count = np.unique(number, return_index=True, return_counts=True)
    ordered = samples.current_a[order]
    level = 0.5 * (ordered[first + (count - 1) // 2] + ordered[first + count // 2])
    return samples.time_s[0] + which * width_s, level


def _sleeping_level(at: FloatArray, level: FloatArray) -> float:
    """Return the lowest level half of ten minutes stays at or below, or that of the last three."""
    last = float(np.median(level[at >= at[-1] - 180.0]))
    until = np.searchsorted(at, at + _LOOK_AHEAD_S)
    whole = np.flatnonzero(at + _LOOK_AHEAD_S <= at[-1] + 1e-9)
    if not len(whole):
        return last
    # Every quarter of the stretch serves as a start: levels last minutes.
    stride = max(1, int((until[0]) // 4))
    medians = [float(np.median(level[i : until[i]])) for i in whole[::stride] if until[i] > i]
    return min(last, *medians)


def _sleep_start(at: FloatArray, quiet: BoolArray) -> float | None:
    """Return when the first stretch begins that is mostly quiet for ten minutes."""
    total = np.concatenate([[0], np.cumsum(quiet)])
    until = np.searchsorted(at, at + _LOOK_AHEAD_S)
    share = (total[until] - total[:-1]) / (until - np.arange(len(at)))
    good = np.flatnonzero(quiet & (share >= _QUIET_SHARE))
    return float(at[good[0]]) if len(good) else None


def _first_quiet(samples: Samples, from_s: float, *, limit_a: float) -> float:
    """Return the first step from a time on that is quiet and followed by a quiet one."""
    begin = int(np.searchsorted(samples.time_s, from_s - 1e-9))
    quiet = samples.current_a[begin:] <= limit_a
    pair = np.flatnonzero(quiet[:-1] & quiet[1:])
    return float(samples.time_s[begin + int(pair[0])]) if len(pair) else float(from_s)


def _quiet_base(
    sleeping: Samples, quiet_below_a: float, resolution: float
) -> tuple[float, float, BoolArray]:
    """Return base current, noise and which steps belong to a wake-up."""
    current = sleeping.current_a
    base = noise = 0.0
    near = current <= quiet_below_a
    for _ in range(3):
        # Half of the quiet samples lie at or below the base: their scatter is the noise.
        base = float(np.median(current[near]))
        below = base - current[current <= base]
        # 95.4 % of a half normal distribution lie within two standard deviations.
        noise = 0.5 * float(np.quantile(below, 0.954)) if len(below) else 0.0
        noise = max(noise, resolution / np.sqrt(12.0), 1e-6)
        near = current <= base + 6.0 * noise
    high = current > base + 6.0 * noise
    low = current > base + 3.0 * noise
    edge = np.append(True, np.diff(low.astype(int)) != 0)
    number = np.cumsum(edge) - 1
    strong = np.bincount(number, weights=high) > 0
    return base, noise, low & strong[number]


def _settled(
    still: Samples, base: float, noise: float, resolution: float
) -> tuple[float, float, float]:
    """Return settled current, its uncertainty and its drift; of the base if nothing is still."""
    if not len(still.time_s):
        return base, resolution / 2.0 + 2.0 * noise, 0.0
    usual = np.abs(still.current_a - base) <= max(5.0 * noise, 2.0 * resolution)
    calm = still.cut(usual) if usual.any() else still
    settled = calm.mean_a()
    blocks = np.array_split(np.arange(len(calm.current_a)), min(20, len(calm.current_a)))
    means = np.array([calm.current_a[block].mean() for block in blocks])
    half = len(means) // 2
    drift = float(means[half:].mean() - means[:half].mean()) if half else 0.0
    error = float(means.std(ddof=1) / np.sqrt(len(means))) if len(means) > 1 else 0.0
    return settled, resolution / 2.0 + 2.0 * error, drift


def _mean(samples: Samples, groups: tuple[PulseGroup, ...]) -> tuple[float, int]:
    """Return the mean over whole periods of the main wake-up, and how many they are."""
    if groups and groups[0].period_s is not None:
        first = groups[0].start_s[0]
        last = groups[0].start_s[-1]
        inside = (samples.time_s >= first - 1e-9) & (samples.time_s < last - 1e-9)
        if inside.any():
            return samples.cut(inside).mean_a(), round((last - first) / groups[0].period_s)
    return samples.mean_a(), 0
