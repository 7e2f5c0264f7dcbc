"""A log of current as steps that hold their value: durations, averages, the meter's step."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray

# A pause longer than this many usual steps is a gap: nothing is known of the current in it.
_GAP_STEPS: Final = 5.0
_NICE: Final = np.array([1.0, 0.5, 0.2])


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """A log as steps: each value holds for its duration; `segment` rises at every gap."""

    time_s: FloatArray
    duration_s: FloatArray
    current_a: FloatArray
    segment: IndexArray

    def cut(self, which: BoolArray) -> "Samples":
        """Return the chosen steps."""
        return Samples(
            time_s=self.time_s[which],
            duration_s=self.duration_s[which],
            current_a=self.current_a[which],
            segment=self.segment[which],
        )

    def mean_a(self) -> float:
        """Return charge over time. [A]."""
        return float(np.average(self.current_a, weights=self.duration_s))


def steps_of(time_s: ArrayLike, current_a: ArrayLike) -> Samples:
    """Return samples as steps that hold until the next one, gaps left out.

    Parameters
    ----------
    time_s : array_like, shape (samples,)
        Strictly rising. [s]
    current_a : array_like, shape (samples,)
        [A]

    Examples
    --------
    >>> steps_of([0, 1, 2, 3, 60, 61], np.zeros(6)).duration_s
    array([1., 1., 1., 1., 1., 1.])
    """
    time = np.asarray(time_s, dtype=float)
    pause = np.diff(time)
    usual = float(np.median(pause))
    gap = pause > gap_limit_s(pause)
    held = np.append(np.where(gap, usual, pause), usual)
    return Samples(
        time_s=time,
        duration_s=held,
        current_a=np.asarray(current_a, dtype=float),
        segment=np.concatenate([[0], np.cumsum(gap)]),
    )


def gap_limit_s(pause_s: FloatArray) -> float:
    """Return the longest time between samples that is no gap. [s].

    Of usual pauses, which are all but the longest twentieth, at least two, the longest counts: a
    logger that writes faster while the current changes pauses long all the time. Common practice,
    no source.

    Parameters
    ----------
    pause_s : ndarray, shape (samples - 1,)
        From each sample to the next. [s]
    """
    rare = max(len(pause_s) // 20, 2)
    usual = float(np.sort(pause_s)[max(len(pause_s) - 1 - rare, 0)])
    return max(_GAP_STEPS * usual, usual + 1.0)


def averaged(samples: Samples, width_s: float) -> Samples:
    """Return samples averaged over bins of a width; charge and time are kept."""
    number = np.floor((samples.time_s - samples.time_s[0]) / width_s).astype(np.int64)
    fresh = np.append(True, (np.diff(number) > 0) | (np.diff(samples.segment) > 0))
    first = np.flatnonzero(fresh)
    duration = np.add.reduceat(samples.duration_s, first)
    charge = np.add.reduceat(samples.duration_s * samples.current_a, first)
    return Samples(
        time_s=samples.time_s[first],
        duration_s=duration,
        current_a=charge / duration,
        segment=samples.segment[first],
    )


def resolution_of_a(current_a: ArrayLike, *, printed_a: float = 0.0) -> float:
    """Return the meter's step: the coarsest round number all readings are multiples of.

    Parameters
    ----------
    current_a : array_like
        Readings. [A]
    printed_a : float
        Step of the last digit printed in the file, 0 if unknown; used when too few different
        readings say more. [A]

    Examples
    --------
    >>> resolution_of_a([0.03, 0.04, 0.03, 0.05, 0.07])
    0.01
    """
    values = np.unique(np.round(np.abs(np.asarray(current_a, dtype=float)), 9))
    values = values[values > 0.0]
    if len(values) < 3:  # one or two values are multiples of much by chance
        return printed_a
    for power in range(0, -7, -1):
        for nice in _NICE * 10.0**power:
            ratio = values / nice
            fits = np.abs(ratio - np.round(ratio)) < 1e-4 * np.maximum(ratio, 1.0)
            if fits.mean() >= 0.995:
                return max(float(round(nice, 9)), printed_a)
    return printed_a


def scatter(values: FloatArray) -> float:
    """Return a standard deviation that outliers do not move."""
    return float(1.4826 * np.median(np.abs(values - np.median(values)))) if len(values) else 0.0
