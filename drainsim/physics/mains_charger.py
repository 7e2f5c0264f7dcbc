"""A mains charger: voltage compensated for temperature, power from the socket."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray

REFERENCE_C: Final = 25.0


def compensated_v(
    voltage_v: ArrayLike, temperature_c: ArrayLike, *, per_k: ArrayLike
) -> FloatArray:
    """Return a charging voltage corrected for battery temperature.

    Parameters
    ----------
    voltage_v : array_like
        At 25 °C. [V]
    temperature_c : array_like
        Battery temperature. [°C]
    per_k : array_like
        About -0.017 V/K (charger table, -18 to 35 °C) to -0.030 V/K (deep-cycle maker). [V/K]

    Returns
    -------
    ndarray of float
        V + per_k · (T − 25 °C). [V]

    Examples
    --------
    >>> float(compensated_v(14.4, -18.0, per_k=-0.017).round(2))
    15.13
    """
    warmer = np.asarray(temperature_c, dtype=float) - REFERENCE_C
    return np.asarray(np.asarray(voltage_v, dtype=float) + np.asarray(per_k) * warmer)


def mains_power_w(
    current_a: ArrayLike, voltage_v: ArrayLike, *, efficiency: ArrayLike
) -> FloatArray:
    """Return what a charger takes from the socket: I · V/η. [W].

    Examples
    --------
    >>> float(mains_power_w(0.05, 13.6, efficiency=0.68).round(6))
    1.0
    """
    power = np.asarray(current_a, dtype=float) * np.asarray(voltage_v, dtype=float)
    return np.asarray(power / np.asarray(efficiency, dtype=float))
