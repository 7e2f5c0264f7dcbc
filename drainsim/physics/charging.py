"""Voltage an alternator's regulator holds, against temperature."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray, require_within

# Workshop data of a 2018 small car: middles of the printed bands 14.55, 14.15, 13.75 and 13.5 V at
# -20, 20, 60 and 80 °C: 14.15 V at 20 °C, -10 mV/K; the bands are ±0.45 to ±0.6 V wide. A marine
# engine manual prints the same slope, -0.1 V per 10 K.
MIDDLE_V: Final = 14.15
MIDDLE_C: Final = 20.0
SLOPE_V_PER_K: Final = -0.010
COLDEST_C: Final = -40.0
WARMEST_C: Final = 100.0


def regulated_voltage_v(temperature_c: ArrayLike, *, system_v: float = 12.0) -> FloatArray:
    """Return the voltage a regulator holds at the battery once the alternator can.

    Parameters
    ----------
    temperature_c : array_like
        Temperature at the regulator, -40 to 100. [°C]
    system_v : float
        12, or 24 for two batteries in series: twice the voltage. [V]

    Returns
    -------
    ndarray of float
        Middle of the usual band; single vehicles lie up to 0.5 V (12 V) either side. [V]

    Raises
    ------
    OutOfRangeError
        If outside -40 to 100 °C.

    Notes
    -----
    14.15 V at 20 °C, -10 mV/K. The source covers -20 to 80 °C; the line is carried on for 20 K
    either side, without a source. Smart charging ignores it: the engine computer sets the voltage.

    References
    ----------
    .. [1] Workshop manual of a 2018 small car, charging system, regulated voltage.
    .. [2] Marine engine manual, technical data: 14.4 +0.3 V at 20 °C, -0.1 V per 10 K.

    Examples
    --------
    >>> regulated_voltage_v([-20.0, 20.0, 60.0])
    array([14.55, 14.15, 13.75])
    """
    temperature = require_within(
        temperature_c, (COLDEST_C, WARMEST_C, "°C"), name="temperature_c", why="of a regulator"
    )
    at_12v = MIDDLE_V + SLOPE_V_PER_K * (temperature - MIDDLE_C)
    return np.asarray(at_12v * (system_v / 12.0))
