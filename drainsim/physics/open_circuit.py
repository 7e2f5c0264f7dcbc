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


def voltage_slope_v(curve: ArrayLike, state_of_charge: float) -> float:
    """Return the local slope of a resting-voltage curve. [V per unit state of charge]."""
    points = np.asarray(curve, dtype=float)
    segment = int(np.clip(np.searchsorted(points[:, 0], state_of_charge) - 1, 0, len(points) - 2))
    run, rise = points[segment + 1] - points[segment]
    return float(rise / run)
