"""Contactors of a hybrid or electric vehicle: the voltage left under their small load."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray, interpolate

# Conductance against state of charge, full = 1. Ten 12 V AGM batteries measured at 1 kHz and
# 25 °C: resistance 1.35 times that of a full one at 40 % (open university data set); a straight
# line to nothing at empty is common practice, no source, on the cautious side.
_CONDUCTANCE: Final = np.array([[0.0, 0.0], [0.4, 1.0 / 1.35], [1.0, 1.0]])


def contactor_share(state_of_charge: ArrayLike) -> FloatArray:
    """Return the current a battery gives at a voltage over that of a full one, for seconds.

    Parameters
    ----------
    state_of_charge : array_like, shape (...)
        0 to 1. [-]

    Returns
    -------
    ndarray of float, shape (...)
        0 to 1, never falling with charge; times the voltage headroom and the cold cranking current
        at full it is the current that leaves that voltage. [-]

    Raises
    ------
    OutOfRangeError
        If outside 0 to 1.

    Notes
    -----
    Some 20 A (about C/2) for seconds do not exhaust the acid in the plates as a starter does:
    resistance alone counts. The part of the drop a starter's current has at once is kept whole,
    which is cautious at so small a current.

    Examples
    --------
    >>> contactor_share([0.0, 0.2, 1.0]).round(2)
    array([0.  , 0.37, 1.  ])
    """
    return interpolate(state_of_charge, _CONDUCTANCE, name="state_of_charge", unit="")
