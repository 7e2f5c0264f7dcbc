"""Charge a battery loses by itself, and the exact step of charge under a constant load."""

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray
from drainsim.units import HOURS_PER_DAY

REFERENCE_C = 25.0
_SERIES_BELOW = 3e-3  # of λ t


def loss_rate_per_h(
    temperature_c: ArrayLike, *, per_day_at_25c: ArrayLike, doubling_k: float
) -> FloatArray:
    """Return the self-discharge rate constant.

    Parameters
    ----------
    temperature_c : array_like, shape (...)
        Battery temperature. [°C]
    per_day_at_25c : array_like
        Share of the charge lost in a day at 25 °C, 0 to 1. [1/day]
    doubling_k : float
        Temperature rise that doubles the rate. [K]

    Returns
    -------
    ndarray of float
        λ of dq/dt = −λ q. [1/h]

    Notes
    -----
    λ = −ln(1 − f)/24 · 2^((T − 25 °C)/d).

    References
    ----------
    .. [1] US Army TM 9-6140-200-14, page 4-14: specific gravity lost per day at 10, 26.7 and
       37.8 °C; the ratios give a doubling every 9.3 to 9.6 K.

    Examples
    --------
    >>> loss_rate_per_h([25.0, 35.0], per_day_at_25c=0.001, doubling_k=10.0).round(7)
    array([4.17e-05, 8.34e-05])
    """
    at_reference = -np.log1p(-np.asarray(per_day_at_25c, dtype=float)) / HOURS_PER_DAY
    warmer_by = np.asarray(temperature_c, dtype=float) - REFERENCE_C
    return np.asarray(at_reference * np.exp2(warmer_by / doubling_k))


def charge_step_ah(
    charge_ah: ArrayLike, *, current_a: ArrayLike, loss_per_h: ArrayLike, hours: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return charge left and charge lost after a constant load and self-discharge rate.

    Parameters
    ----------
    charge_ah : array_like
        Charge at the start. [Ah]
    current_a : array_like
        Constant load, positive when discharging. [A]
    loss_per_h : array_like
        Self-discharge rate constant, ≥ 0. [1/h]
    hours : array_like
        Length of the step. [h]

    Returns
    -------
    left_ah, lost_ah : ndarray of float
        Charge at the end (negative if the load asked for more than there was) and charge lost
        to self-discharge. Start = load · hours + lost + left. [Ah]

    Notes
    -----
    Exact solution of dq/dt = −I − λ q: q e^(−λt) − I t m with m = (1 − e^(−λt))/(λt), written
    with expm1 so that λ → 0 gives q − I t; the loss is q (1 − e^(−λt)) − I t (1 − m).

    Examples
    --------
    >>> charge_step_ah(10.0, current_a=1.0, loss_per_h=0.0, hours=4.0)
    (array(6.), array(0.))
    """
    exponent = np.asarray(loss_per_h, dtype=float) * hours
    shrink = -np.expm1(-exponent)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean_factor = np.where(exponent > 0.0, shrink / exponent, 1.0)
    load_ah = np.asarray(current_a, dtype=float) * hours
    by_itself = np.asarray(charge_ah, dtype=float) * shrink
    left = np.asarray(charge_ah, dtype=float) - by_itself - load_ah * mean_factor
    return np.asarray(left), np.asarray(by_itself - load_ah * (1.0 - mean_factor))


def mean_factor(decay: FloatArray, *, most: float, out: FloatArray) -> None:
    """Write the m of `charge_step_ah` for many steps, in place.

    Parameters
    ----------
    decay : shape (...)
        λ t of each step, ≥ 0. [-]
    most : float
        No decay is larger: below 0.003 four terms of the series are exact to 1e-12.
    out : shape (...)
        Takes (1 − e^(−λt))/(λt).
    """
    if most < _SERIES_BELOW:
        np.multiply(decay, -1.0 / 24.0, out=out)
        out += 1.0 / 6.0
        out *= decay
        out -= 0.5
        out *= decay
        out += 1.0
    else:
        out[:] = 1.0
        np.divide(-np.expm1(-decay), decay, out=out, where=decay > 0.0)


def hours_to_reach_h(
    charge_ah: ArrayLike, target_ah: ArrayLike, *, current_a: ArrayLike, loss_per_h: ArrayLike
) -> FloatArray:
    """Return the time until the charge has fallen to a target under a constant load.

    Parameters
    ----------
    charge_ah, target_ah : array_like
        Charge now and charge asked for. [Ah]
    current_a, loss_per_h : array_like
        As in `charge_step_ah`.

    Returns
    -------
    ndarray of float
        Hours; 0 where the charge is already there, inf where it is never reached. [h]

    Notes
    -----
    Inverse of `charge_step_ah`: t = ln(1 + λ(q − q*)/(I + λ q*))/λ.
    """
    charge, target, current, loss = np.broadcast_arrays(
        np.asarray(charge_ah, dtype=float),
        np.asarray(target_ah, dtype=float),
        np.asarray(current_a, dtype=float),
        np.asarray(loss_per_h, dtype=float),
    )
    excess = np.maximum(charge - target, 0.0)
    speed_at_target = current + loss * target
    reachable = speed_at_target > 0.0
    ratio = excess / np.where(reachable, speed_at_target, 1.0)
    grown = loss * ratio
    hours = np.where(grown > 1e-12, np.log1p(grown) / np.where(loss > 0.0, loss, 1.0), ratio)
    return np.asarray(np.where(excess == 0.0, 0.0, np.where(reachable, hours, np.inf)))
