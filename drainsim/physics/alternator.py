"""What an alternator can give at a speed, and what a start takes."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray
from drainsim.units import ah_from_as

# Hot output of a 50 A alternator at 13.5 V, alternator speed [1/min] against share of rating:
# 16 A at 1 300, 41 A at 2 500, 48 A at 5 000 (marine engine manual, technical data). Nothing
# below 1 000: from memory. Full rating at 6 000: rated speed of ISO 8854, from memory.
_OUTPUT: Final = np.array(
    [[0.0, 0.0], [1000.0, 0.0], [1300.0, 0.32], [2500.0, 0.82], [5000.0, 0.96], [6000.0, 1.0]]
)
# Published shares at idle: a third (the table above), a fifth (textbook author), six sevenths
# (a 1997 car, load-limited). Between them; idle speed and pulleys differ.
IDLE_SHARE: Final = 0.40
# Share at ordinary driving speeds, about 3 500 1/min of the alternator: from the table above.
DRIVING_SHARE: Final = 0.88
# Warm cranking takes 1 to 2 s (computed range of a published row: 100 to 200 A for 1 to 2 s).
CRANK_S: Final = 1.5


def alternator_share(alternator_rpm: ArrayLike) -> FloatArray:
    """Return the share of its rating an alternator gives when hot.

    Parameters
    ----------
    alternator_rpm : array_like
        Speed of the alternator: engine speed times the pulley ratio. [1/min]

    Returns
    -------
    ndarray of float
        Share of the rated current, held above 6 000 1/min. [-]

    Raises
    ------
    OutOfRangeError
        If a speed is negative or not a number.

    References
    ----------
    .. [1] Marine engine manual, technical data, 50 A alternator, hot, 13.5 V.

    Examples
    --------
    >>> alternator_share([500.0, 1300.0, 5000.0])
    array([0.  , 0.32, 0.96])
    """
    speed = np.asarray(alternator_rpm, dtype=float)
    wrong = ~(speed >= 0.0)
    if wrong.any():
        raise OutOfRangeError(f"alternator_rpm={speed[wrong].flat[0]:g} must be 0 or more")
    return np.asarray(np.interp(speed, _OUTPUT[:, 0], _OUTPUT[:, 1]))


def start_charge_ah(
    demand_a: ArrayLike, *, demand_factor: ArrayLike, crank_s: ArrayLike = CRANK_S
) -> FloatArray:
    """Return the charge one engine start takes.

    Parameters
    ----------
    demand_a : array_like
        Cranking current of the warm engine. [A]
    demand_factor : array_like
        How much more a cold one needs, from `physics.cranking`. [-]
    crank_s : array_like
        Time to start warm. [s]

    Returns
    -------
    ndarray of float
        I · f · t · f: a cold engine needs more current for longer, the time in the same
        proportion (common practice, no source). [Ah]

    Examples
    --------
    >>> float(start_charge_ah(150.0, demand_factor=1.0, crank_s=2.0).round(4))
    0.0833
    """
    factor = np.asarray(demand_factor, dtype=float)
    return np.asarray(ah_from_as(np.asarray(demand_a, dtype=float) * factor**2 * crank_s))
