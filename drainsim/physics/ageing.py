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


def standing_wear_factor(charge: ArrayLike, *, sound_charge: float = 0.8) -> FloatArray:
    """Return how much faster a battery ages that lives below a sound charge.

    Parameters
    ----------
    charge : array_like
        Mean state of charge. [-]
    sound_charge : float
        Charge from which on it ages no faster; below 80 % plates sulfate (trade FAQ). [-]

    Returns
    -------
    ndarray of float
        1 at and above the sound charge, 2 at half of it, 3 when flat: the direction is
        published, the size is common practice, no source. [-]

    Examples
    --------
    >>> standing_wear_factor([0.9, 0.8, 0.4, 0.0])
    array([1., 1., 2., 3.])
    """
    below = np.maximum(1.0 - np.asarray(charge, dtype=float) / sound_charge, 0.0)
    return np.asarray(1.0 + 2.0 * below)


def health_after_seasons(
    health: ArrayLike,
    *,
    temperature_c: ArrayLike,
    charge: ArrayLike,
    years_each: float,
    life_years_at_20c: float,
    halving_k: float,
    share_at_end_of_life: float,
    rate_factor: ArrayLike = 1.0,
) -> FloatArray:
    """Return what is left of a figure after each of a row of seasons.

    Parameters
    ----------
    health : array_like, shape (...)
        Share of new at the start. [-]
    temperature_c, charge : array_like, shape (seasons,)
        Mean battery temperature [°C] and state of charge of each season.
    years_each : float
        Length of a season. [years]
    life_years_at_20c, halving_k : float
        As in `service_life_at_years`.
    share_at_end_of_life : float
        As in `health_after_years`.
    rate_factor : array_like, shape (...)
        How much faster than usual this battery ages. [-]

    Returns
    -------
    ndarray of float, shape (seasons, ...)
        Share of new at the end of each season. [-]

    Notes
    -----
    ln h falls by −ln(share) · years · wear(charge)/life(temperature) a season.
    """
    life = service_life_at_years(
        temperature_c, life_years_at_20c=life_years_at_20c, halving_k=halving_k
    )
    used = years_each / life * standing_wear_factor(charge)
    worn = np.cumsum(used)[(...,) + (None,) * np.ndim(health)]
    left = np.power(share_at_end_of_life, worn * np.asarray(rate_factor, dtype=float))
    return np.asarray(np.asarray(health, dtype=float) * left)
