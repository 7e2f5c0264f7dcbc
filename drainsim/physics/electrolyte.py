"""Sulphuric acid in a lead-acid battery: where it freezes."""

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray, interpolate

# Specific gravity at 26.7 °C against freezing point [°C].
# 1.120 to 1.265: US Army TM 5-4210-230-14&P-1, battery section, table 2.
# 1.000, 1.100, 1.280: US Army Ordnance course OD1002 and TM 5-1185, table III.
# 1.300: from memory, continues near the eutectic (about -70 °C), never decides an answer.
_FREEZING = np.array(
    [
        [1.000, 0.0],
        [1.100, -7.0],
        [1.120, -9.4],
        [1.155, -15.0],
        [1.190, -26.1],
        [1.225, -37.2],
        [1.265, -59.5],
        [1.280, -68.0],
        [1.300, -70.0],
    ]
)


def freezing_c(specific_gravity: ArrayLike) -> FloatArray:
    """Return the temperature at which battery electrolyte begins to freeze.

    Parameters
    ----------
    specific_gravity : array_like, shape (...)
        Relative to water, at 26.7 °C. 1.000 to 1.300. [-]

    Returns
    -------
    ndarray of float, shape (...)
        Freezing point. [°C]

    Raises
    ------
    OutOfRangeError
        If outside 1.000 to 1.300.

    Notes
    -----
    Slush forms first; a case bursts later and colder. The onset is the cautious limit.

    References
    ----------
    .. [1] US Army TM 5-4210-230-14&P-1, battery section, table 2.
    .. [2] US Army Ordnance course OD1002; TM 5-1185, table III.

    Examples
    --------
    >>> freezing_c([1.120, 1.265])
    array([ -9.4, -59.5])
    """
    return interpolate(specific_gravity, _FREEZING, name="specific_gravity", unit="")
