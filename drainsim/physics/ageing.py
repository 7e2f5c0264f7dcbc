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
    age_years: ArrayLike,
    *,
    life_years: ArrayLike,
    share_at_end_of_life: float,
    lateness: float = 1.0,
) -> FloatArray:
    """Return the share of a new battery's figure left at an age.

    Parameters
    ----------
    age_years : array_like
        Years since the battery was new, ≥ 0. [years]
    life_years : array_like
        Years to end of life in this climate. [years]
    share_at_end_of_life : float
        What is left then (for capacity of stationary batteries, 0.8 by convention). [-]
    lateness : float
        1 for a figure that fades evenly, more for one that keeps up and then gives way. [-]

    Returns
    -------
    ndarray of float
        1 when new, `share_at_end_of_life` after `life_years`. [-]

    Notes
    -----
    h = share^((age/life)^lateness): common practice, no source, but for its order: cranking
    current keeps up while capacity fades (see the profiles). The spread between batteries of one
    age is wide and is drawn in the uncertainty runs.

    Examples
    --------
    >>> health_after_years([2.5, 5.0], life_years=5.0, share_at_end_of_life=0.7,
    ...                    lateness=2.0).round(2)
    array([0.91, 0.7 ])
    """
    ratio = np.asarray(age_years, dtype=float) / np.asarray(life_years, dtype=float)
    return np.asarray(np.power(share_at_end_of_life, np.power(ratio, lateness)))


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
    lateness: float = 1.0,
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
    share_at_end_of_life, lateness : float
        As in `health_after_years`.
    rate_factor : array_like, shape (...)
        How much faster than usual this battery ages. [-]

    Returns
    -------
    ndarray of float, shape (seasons, ...)
        Share of new at the end of each season. [-]

    Notes
    -----
    A season uses years · wear(charge)/life(temperature) of a life. It comes on top of what the
    health at the start says was used before, (ln h/ln share)^(1/lateness).
    """
    life = service_life_at_years(
        temperature_c, life_years_at_20c=life_years_at_20c, halving_k=halving_k
    )
    used = years_each / life * standing_wear_factor(charge)
    worn = np.cumsum(used)[(...,) + (None,) * np.ndim(health)]
    now = np.asarray(health, dtype=float)
    old = np.minimum(now, 1.0)
    before = np.power(np.log(old) / np.log(share_at_end_of_life), 1.0 / lateness)
    lives = before + worn * np.asarray(rate_factor, dtype=float)
    return np.asarray(now / old * np.power(share_at_end_of_life, np.power(lives, lateness)))
