"""What is left of a battery after years in a vehicle."""

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray

LIFE_REFERENCE_C = 20.0


def service_life_at_years(
    mean_temperature_c: ArrayLike, *, life_years_at_20c: float, halving_k: float
) -> FloatArray:
    """Return the years to end of life at a mean battery temperature.

    Notes
    -----
    L = L20 · 2^(−(T − 20 °C)/d), never longer than at 10 °C: the published row covers 20 to
    30 °C and cold storage is not a licence to extrapolate further.

    References
    ----------
    .. [1] Battery handbook page on a training site: starting battery 5, 3.6 and 2.5 years at
       20, 25 and 30 °C in shallow cycling.

    Examples
    --------
    >>> service_life_at_years([20.0, 30.0], life_years_at_20c=5.0, halving_k=10.0)
    array([5. , 2.5])
    """
    warmer_by = np.maximum(np.asarray(mean_temperature_c, dtype=float), 10.0) - LIFE_REFERENCE_C
    return np.asarray(life_years_at_20c * np.exp2(-warmer_by / halving_k))


def health_after_years(
    age_years: ArrayLike, *, life_years: ArrayLike, share_at_end_of_life: float
) -> FloatArray:
    """Return the share of a new battery's figure left at an age.

    Parameters
    ----------
    age_years : array_like
        Years since the battery was new, ≥ 0. [years]
    life_years : array_like
        Years to end of life in this climate. [years]
    share_at_end_of_life : float
        What is left then (for capacity, 0.8 by convention). [-]

    Returns
    -------
    ndarray of float
        1 when new, `share_at_end_of_life` after `life_years`, falling geometrically. [-]

    Notes
    -----
    The geometric shape is common practice, no source; the spread between batteries of one age
    is wide and is drawn in the uncertainty runs.
    """
    ratio = np.asarray(age_years, dtype=float) / np.asarray(life_years, dtype=float)
    return np.asarray(np.power(share_at_end_of_life, ratio))
