"""What a stand's readings come down to: one voltage a night, or where coarse steps were crossed."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.answers.readings.posterior.voltage_errors import NIGHT_SD_V
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray

NIGHT_H: Final = 6  # before the start hour: longest at rest, nothing moves
_COARSE_V: Final = 0.03  # a step above it is no noise: what counts is when it is crossed
_CROSSING_SD_V: Final = 0.010  # of a voltage that was crossed: when is known to an hour or two
_VOLTMETER_SD_V: Final = 0.02  # of a hand-held meter at the posts; common practice, no source
_PER_SECOND_DIFFERENCE: Final = 0.6745 * np.sqrt(6.0)  # median |second difference| of white noise
_WILD_V: Final = 0.05
_LEAST_FOR_NOISE: Final = 6
_FIRST_NIGHTS: Final = 3  # that stay single in a long stand: the surface charge is in them
_LAST_NIGHTS: Final = 14  # in them a drain that began shows
_MOST_NIGHTS: Final = 31


@dataclass(frozen=True, slots=True, kw_only=True)
class Nights:
    """Night medians of a stand, as a 12 V battery shows them; arrays have shape (nights,)."""

    rested_h: FloatArray  # since parking
    voltage_v: FloatArray
    temperature_c: FloatArray  # NaN: not measured
    step_v: float
    scatter_v: float  # of a night's readings about their median, over the root of their number
    voltmeter_h: FloatArray  # readings of a person beside the unit, shape (readings,)
    voltmeter_v: FloatArray
    crossed_h: FloatArray  # when a voltage in coarse steps passed the middle between two, and
    crossed_v: FloatArray  # that middle, shape (crossings,)

    def __len__(self) -> int:
        return len(self.rested_h)


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """Voltages a likelihood is of; arrays have shape (n,).

    `falls` holds (from, to) [h] between which the voltage fell by less than a coarse step.
    """

    rested_h: FloatArray
    voltage_v: FloatArray
    noise_v: FloatArray
    by_unit: BoolArray  # else by a voltmeter at the battery
    falls: tuple[tuple[float, float], ...]
    step_v: float
    night_v: float  # standard deviation of a night to come, as the unit shows it


def observed(nights: Nights) -> Observed:
    """Return what a stand's nights say.

    Notes
    -----
    A unit with steps far above the noise shows one value for days: each is not a measurement of
    its own. When it crossed the middle between two values is one; within a run it fell by less
    than a step.
    """
    step = nights.step_v if np.isfinite(nights.step_v) else 0.0
    noise = _noise_v(nights, step)
    if step > _COARSE_V:
        at_h, volts, sd, falls = _in_coarse_steps(nights, step)
    else:
        at_h, volts, sizes = _thinned(nights.rested_h, nights.voltage_v)
        falls = ()
        sd = np.hypot(noise, step / np.sqrt(12.0)) / np.sqrt(sizes)
    by_hand = len(nights.voltmeter_h)
    return Observed(
        rested_h=np.concatenate([at_h, nights.voltmeter_h]),
        voltage_v=np.concatenate([volts, nights.voltmeter_v]),
        noise_v=np.concatenate([sd, np.full(by_hand, _VOLTMETER_SD_V)]),
        by_unit=np.arange(len(at_h) + by_hand) < len(at_h),
        falls=falls,
        step_v=step,
        night_v=float(np.hypot(noise, step / np.sqrt(12.0))),
    )


def _thinned(at_h: FloatArray, volts: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return nights, those of the middle of a long stand as means of so many neighbours."""
    middle = len(at_h) - _FIRST_NIGHTS - _LAST_NIGHTS
    group = -(-middle // (_MOST_NIGHTS - _FIRST_NIGHTS - _LAST_NIGHTS))
    if group <= 1:
        return at_h, volts, np.ones(len(at_h))
    # Counted from the first night on, so that a further night moves few of the means.
    begin, end = _FIRST_NIGHTS, len(at_h) - _LAST_NIGHTS
    edges = np.r_[0:begin, begin:end:group, end : len(at_h)]
    sizes = np.diff(np.append(edges, len(at_h))).astype(float)
    return np.add.reduceat(at_h, edges) / sizes, np.add.reduceat(volts, edges) / sizes, sizes


def _noise_v(nights: Nights, step: float) -> float:
    """Return a night's own noise: what its readings leave, or what nights scatter by if more."""
    usual = float(np.hypot(NIGHT_SD_V, nights.scatter_v))
    if len(nights) < _LEAST_FOR_NOISE or step > _COARSE_V:
        return usual
    bends = np.abs(np.diff(nights.voltage_v[1:], 2))
    return max(usual, float(np.median(bends)) / float(_PER_SECOND_DIFFERENCE))


def scatter_v(volts: FloatArray, medians: FloatArray, sizes: IndexArray) -> float:
    """Return the standard error of a median of a night's readings. [V].

    Parameters
    ----------
    volts : shape (readings,)
        Night by night. [V]
    medians, sizes : shape (nights,)
        Of each night's readings: median [V] and number.

    Notes
    -----
    1.25 σ/√n for a normal error; σ is 1.25 times the mean departure, wild readings held.
    """
    if not len(volts):
        return 0.0
    departs = np.minimum(np.abs(volts - np.repeat(medians, sizes)), _WILD_V)
    return float(1.25 * 1.25 * departs.mean() / np.sqrt(sizes.mean()))


def crossings(
    rested_h: FloatArray, voltage_v: FloatArray, step_v: float
) -> tuple[FloatArray, FloatArray]:
    """Return when a falling voltage read in coarse steps passed each middle between two. [h, V].

    Parameters
    ----------
    rested_h : shape (n,)
        Of every reading of a stand. [h]
    voltage_v : shape (n,)
        In steps. [V]
    step_v : float
        [V].

    Notes
    -----
    Near a middle noise makes readings jump to and fro; the time spent above it says when the
    voltage itself passed.
    """
    if len(rested_h) < 2 * NIGHT_H or not step_v > _COARSE_V:
        return np.zeros(0), np.zeros(0)
    first, last = np.median(voltage_v[:NIGHT_H]), np.median(voltage_v[-NIGHT_H:])
    steps = round(float(first - last) / step_v)
    middles = first - step_v * (np.arange(max(steps, 0)) + 0.5)
    lasts_h = np.diff(rested_h, append=rested_h[-1])
    above_h = ((voltage_v > middles[:, None]) * lasts_h).sum(axis=1)
    return np.asarray(rested_h[0] + above_h), np.asarray(middles)


def _in_coarse_steps(
    nights: Nights, step: float
) -> tuple[FloatArray, FloatArray, FloatArray, tuple[tuple[float, float], ...]]:
    """Return when which voltage was crossed and how surely, and the runs before and after.

    Parameters
    ----------
    nights : Nights
    step : float
        [V].
    """
    at_h, volts = nights.rested_h, nights.voltage_v
    crossed_h = nights.crossed_h
    if not len(at_h):
        return at_h, volts, volts, ()
    begin, end = float(at_h[0]), float(at_h[-1])
    if not len(crossed_h):
        level = np.array([volts.mean()])
        falls = ((begin, end),) if end > begin else ()
        return np.array([at_h.mean()]), level, np.full(1, step / np.sqrt(12.0)), falls
    runs = ((begin, float(crossed_h[0])), (float(crossed_h[-1]), end))
    sd = np.full(len(crossed_h), _CROSSING_SD_V)
    return crossed_h, nights.crossed_v, sd, tuple(run for run in runs if run[1] > run[0])
