"""Resting voltage of a battery against charge and temperature, and back."""

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray, interpolate


def open_circuit_v(
    state_of_charge: ArrayLike,
    temperature_c: ArrayLike,
    *,
    curve: ArrayLike,
    curve_temperature_c: float,
    per_k: float,
) -> FloatArray:
    """Return the voltage of a battery rested for hours.

    Parameters
    ----------
    state_of_charge : array_like, shape (...)
        Charge left over charge when full, 0 to 1. [-]
    temperature_c : array_like, broadcasting with state_of_charge
        Battery temperature. [°C]
    curve : array_like, shape (points, 2)
        Rows of (state of charge, voltage [V]) at `curve_temperature_c`.
    curve_temperature_c : float
        Temperature of the curve. [°C]
    per_k : float
        Change with temperature, whole battery. [V/K]

    Returns
    -------
    ndarray of float
        Resting voltage. [V]

    Raises
    ------
    OutOfRangeError
        If state_of_charge is outside the curve.

    Notes
    -----
    V = V_curve(s) + per_k · (T − T_curve). Curve and coefficient come from the battery
    profile, each with its own source.
    """
    at_reference = interpolate(state_of_charge, curve, name="state_of_charge", unit="")
    return np.asarray(
        at_reference + per_k * (np.asarray(temperature_c, dtype=float) - curve_temperature_c)
    )


def state_of_charge_from_resting_v(
    resting_v: ArrayLike,
    temperature_c: ArrayLike,
    *,
    curve: ArrayLike,
    curve_temperature_c: float,
    per_k: float,
) -> FloatArray:
    """Return the state of charge that shows a given resting voltage.

    The inverse of `open_circuit_v`; same parameters.

    Returns
    -------
    ndarray of float
        State of charge, 0 to 1. [-]

    Raises
    ------
    OutOfRangeError
        If the voltage, brought to the curve's temperature, is above full or below empty.
        Surface charge after driving reads above full: the caller decides what to do.
    """
    points = np.asarray(curve, dtype=float)
    at_reference = np.asarray(resting_v, dtype=float) - per_k * (
        np.asarray(temperature_c, dtype=float) - curve_temperature_c
    )
    return interpolate(at_reference, points[:, ::-1], name="resting_voltage_v", unit="V")


def charge_behind_v(
    resting_v: ArrayLike,
    temperature_c: ArrayLike,
    *,
    offset_v: ArrayLike,
    curve: ArrayLike,
    curve_temperature_c: float,
    per_k: float,
) -> FloatArray:
    """Return the charge behind a resting voltage, on a battery that rests beside the table.

    Parameters
    ----------
    offset_v : array_like
        How far this battery's curve lies above the table's, all along. [V]
    resting_v, temperature_c, curve, curve_temperature_c, per_k
        As in `state_of_charge_from_resting_v`; all arrays broadcast.

    Returns
    -------
    ndarray of float
        State of charge; 0 below this battery's empty voltage, 1 above its full one. [-]

    Examples
    --------
    >>> charge_behind_v(12.3, 25.0, offset_v=[-0.2, 0.0, 0.2], curve=[[0, 11.8], [1, 12.8]],
    ...                 curve_temperature_c=25.0, per_k=0.0).round(2)
    array([0.7, 0.5, 0.3])
    """
    points = np.asarray(curve, dtype=float)
    at_reference = np.asarray(resting_v, dtype=float) - per_k * (
        np.asarray(temperature_c, dtype=float) - curve_temperature_c
    )
    own = at_reference - np.asarray(offset_v, dtype=float)
    return np.asarray(np.interp(own, points[:, 1], points[:, 0]))


def offset_after_full_reading_v(
    above_v: float, *, offset_sd_v: float, shape_sd_v: float, reading_sd_v: float
) -> tuple[float, float]:
    """Return mean and spread of a curve's offset once the voltage of the full battery is known.

    Parameters
    ----------
    above_v : float
        Full voltage read less the table's. [V]
    offset_sd_v : float
        Spread of the offset between makes before the reading. [V]
    shape_sd_v : float
        How far the offset elsewhere on a curve departs from the one at full. [V]
    reading_sd_v : float
        Of meter and rest. [V]

    Returns
    -------
    mean_v, sd_v : float

    Notes
    -----
    Normal prior and normal reading: mean = k d, sd = s √(1 − k), k = s²/(s² + shape² + reading²).

    Examples
    --------
    >>> offset_after_full_reading_v(0.2, offset_sd_v=0.1, shape_sd_v=0.1, reading_sd_v=0.0)[0]
    0.1
    """
    prior = offset_sd_v**2
    noise = shape_sd_v**2 + reading_sd_v**2
    trust = prior / (prior + noise) if prior + noise > 0.0 else 0.0
    return trust * above_v, float(np.sqrt(prior * (1.0 - trust)))


def voltage_slope_v(curve: ArrayLike, state_of_charge: float) -> float:
    """Return the local slope of a resting-voltage curve. [V per unit state of charge]."""
    points = np.asarray(curve, dtype=float)
    segment = int(np.clip(np.searchsorted(points[:, 0], state_of_charge) - 1, 0, len(points) - 2))
    run, rise = points[segment + 1] - points[segment]
    return float(rise / run)
