"""What draws on a parked battery: the unit's events, the vehicle's key-off and wake-ups."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_HOUR

# Hours since the last fix up to which a receiver still knows the constellation roughly (warm
# start); beyond it searches from nothing. Common practice, no source.
WARM_START_LIMIT_H: Final = 336.0


def fix_time_s(
    hours_since_fix: ArrayLike,
    *,
    hot_s: float,
    warm_s: float,
    cold_s: float,
    ephemeris_valid_h: float,
) -> FloatArray:
    """Return how long a satellite receiver needs for a fix.

    Parameters
    ----------
    hours_since_fix : array_like
        Time since the last fix. [h]
    hot_s, warm_s, cold_s : float
        Time to fix with valid orbit data, with rough orbit data, with none. [s]
    ephemeris_valid_h : float
        How long broadcast orbit data stays valid, about 4. [h]

    Returns
    -------
    ndarray of float
        Time to fix. [s]

    References
    ----------
    .. [1] GPS interface specification IS-GPS-200: ephemeris fit interval 4 h.
    """
    since = np.asarray(hours_since_fix, dtype=float)
    return np.asarray(
        np.where(
            since <= ephemeris_valid_h, hot_s, np.where(since <= WARM_START_LIMIT_H, warm_s, cold_s)
        )
    )


def event_charge_as(phases: ArrayLike, *, sleep_a: float) -> float:
    """Return the charge of an event above the sleep current that goes on anyway.

    Parameters
    ----------
    phases : array_like, shape (phases, 2)
        Rows of (duration [s], total current [A]).
    sleep_a : float
        Sleep current. [A]

    Returns
    -------
    float
        Σ t (I − I_sleep). [A·s]
    """
    rows = np.asarray(phases, dtype=float).reshape(-1, 2)
    return float(np.sum(rows[:, 0] * (rows[:, 1] - sleep_a)))


def average_current_a(
    sleep_a: ArrayLike, *, charge_as: ArrayLike, every_h: ArrayLike
) -> FloatArray:
    """Return the mean current of sleep plus one event every so many hours.

    Parameters
    ----------
    sleep_a : array_like
        Current between events. [A]
    charge_as : array_like
        Charge of one event above sleep. [A·s]
    every_h : array_like
        Time between events; inf for never. [h]

    Returns
    -------
    ndarray of float
        Mean current. [A]

    Examples
    --------
    >>> float(average_current_a(0.004, charge_as=7.2, every_h=1.0))
    0.006
    """
    interval_s = np.asarray(every_h, dtype=float) * SECONDS_PER_HOUR
    return np.asarray(np.asarray(sleep_a, dtype=float) + np.asarray(charge_as) / interval_s)


def supply_current_a(
    rated_current_a: ArrayLike, battery_v: ArrayLike, *, rated_at_v: ArrayLike, switching: ArrayLike
) -> FloatArray:
    """Return what a unit draws at a battery voltage.

    Parameters
    ----------
    rated_current_a : array_like
        Current at `rated_at_v`. [A]
    battery_v : array_like
        Voltage at the unit. [V]
    rated_at_v : array_like
        Voltage the current was stated at. [V]
    switching : array_like of bool
        True: constant power, current rises as the battery falls and halves at 24 V.
        False: a linear stage, constant current.

    Returns
    -------
    ndarray of float
        Current. [A]

    Notes
    -----
    Switching: I = I_rated · V_rated / V (energy balance, efficiency taken as constant).

    Examples
    --------
    >>> supply_current_a(0.01, [12.0, 24.0], rated_at_v=12.0, switching=True)
    array([0.01 , 0.005])
    """
    ratio = np.asarray(rated_at_v, dtype=float) / np.asarray(battery_v, dtype=float)
    return np.asarray(rated_current_a, dtype=float) * np.where(switching, ratio, 1.0)


def module_to_vehicle_current_a(
    module_a: ArrayLike, *, module_v: float, vehicle_v: float, efficiency: float
) -> FloatArray:
    """Return the vehicle-side current of a module behind a switching converter.

    Notes
    -----
    I = I_module · V_module/(V_vehicle · η); the converter's own quiescent current comes on top.

    Raises
    ------
    OutOfRangeError
        If the efficiency is not in (0, 1].

    Examples
    --------
    >>> module_to_vehicle_current_a(0.115, module_v=3.7, vehicle_v=12.0, efficiency=0.85).round(4)
    np.float64(0.0417)
    """
    if not 0.0 < efficiency <= 1.0:
        raise OutOfRangeError(f"efficiency={efficiency!r} must be above 0 and at most 1")
    return np.asarray(module_a, dtype=float) * module_v / (vehicle_v * efficiency)
