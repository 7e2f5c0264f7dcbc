"""How far a unit's night voltage may lie from its battery's curve: Gaussian, so integrated out.

Offsets of battery and unit are constant and learned; what is here changes with time: charge left
on the plates' surface, what weather and make do over days, and each night's noise.
"""

import math
from typing import Final

import numpy as np

from drainsim.physics.tables import FloatArray

# Half-normal; a vehicle service manual and a battery trade page ask for 4 h of rest, better 24 h.
# Its size 4 h after driving and its time constant: common practice, no source; a polar weather
# station's battery decays with 3.8 h at -22 °C. Nothing goes on for weeks: a straight line through
# that station's 55 nights leaves -0.1 ± 1.7 mV per factor e of time (tests.readings_truth).
SURFACE_SD_V: Final = 0.06
_SURFACE_AFTER_H: Final = 4.0
_SURFACE_TAU_H: Final = 10.0
_SURFACE_TAU_SIGMA: Final = 0.6
_TAU_NODES: Final = (-1.5, -0.5, 0.5, 1.5)  # of the time constant's distribution
_TAU_WEIGHTS: Final = (0.134, 0.366, 0.366, 0.134)
# Slow error over ten days, and one night's. Daily means of a parked weather station scatter by
# 3.6 mV (2.9 are its step), its 7-day slopes by 0.57 mV/day: 4 mV of slow error. A vehicle's is
# larger, as its curve, its temperature and its make are known worse: common practice, no source.
# The scatter of a unit's own readings comes on top of a night's.
SLOW_SD_V: Final = 0.015
_SLOW_TAU_H: Final = 240.0
NIGHT_SD_V: Final = 0.004


def error_mean_v(rested_h: FloatArray) -> FloatArray:
    """Return how far a night voltage lies above the resting voltage on average. [V].

    Parameters
    ----------
    rested_h : shape (n,)
        Since parking. [h]
    """
    return np.asarray(SURFACE_SD_V * math.sqrt(2.0 / math.pi) * _left(rested_h)[1])


def error_covariance_v2(
    rested_h: FloatArray, other_h: FloatArray | None = None, *, slow_sd_v: float = SLOW_SD_V
) -> FloatArray:
    """Return the covariance of night voltages at some moments with those at others. [V²].

    Without each night's own noise and without the offsets of battery and unit.

    Parameters
    ----------
    rested_h : shape (n,)
        Since parking. [h]
    other_h : shape (m,), optional
        The same moments if left out. [h]
    slow_sd_v : float
        Of what changes over ten days. [V]

    Returns
    -------
    ndarray, shape (n, m)

    Notes
    -----
    The surface charge s is half-normal: mean 0.8 σ, mean square σ². With its decay d(t) its
    covariance is E[s² d d'] − E[s d] E[s d'], averaged over the time constant. The slow error is
    smooth from day to day (Matérn 3/2): what jumps is in each night's own noise.
    """
    other_h = rested_h if other_h is None else other_h
    decay, mean = _left(rested_h)
    decay_other, mean_other = _left(other_h)
    weights = np.array(_TAU_WEIGHTS)
    both = (weights[:, None, None] * decay[:, :, None] * decay_other[:, None, :]).sum(axis=0)
    surface = SURFACE_SD_V**2 * (both - 2.0 / math.pi * np.outer(mean, mean_other))
    apart = math.sqrt(3.0) * np.abs(rested_h[:, None] - other_h[None, :]) / _SLOW_TAU_H
    return np.asarray(surface + slow_sd_v**2 * (1.0 + apart) * np.exp(-apart))


def _left(rested_h: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the share of the surface charge of 4 h, for each time constant and on average."""
    tau_h = _SURFACE_TAU_H * np.exp(_SURFACE_TAU_SIGMA * np.array(_TAU_NODES))
    since_h = np.maximum(rested_h, 0.0) - _SURFACE_AFTER_H
    decay = np.exp(np.minimum(-since_h[None, :] / tau_h[:, None], 1.0))
    return decay, np.array(_TAU_WEIGHTS) @ decay
