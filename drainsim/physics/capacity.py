"""Charge a lead-acid battery gives: against rate (kinetic battery model) and temperature.

Two wells share the charge: share c is available at once, the rest flows after it at a rate
set by k. At milliamperes the sum saturates; Peukert's power law, fitted between 1 and 20
hours, would invent two to three times the capacity there and is not used.

No Peukert law: at milliamperes it invents capacity. The two-well kinetic model saturates; a
steady current I comes to keep I · 20 h · gain out of reach (closed form of the same model), so the
stand needs no second state. `low_rate_gain` is 8 % by default: the published range is 5 to 14 %.
"""

from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray

RATED_HOURS: Final = 20.0  # C20: constant current for 20 h to 10.5 V at 25 °C (EN 50342-1)
RESERVE_CURRENT_A: Final = 25.0  # reserve capacity: minutes at 25 A to 10.5 V (SAE J537)


class KineticParameters(NamedTuple):
    """Constants of the two-well model; `k` is the exponent constant of its closed form."""

    low_rate_capacity_ah: float
    available_share: float
    k_per_h: float


def capacity_at_runtime_ah(hours: ArrayLike, parameters: KineticParameters) -> FloatArray:
    """Return the charge delivered when a constant current empties the battery in `hours`.

    Parameters
    ----------
    hours : array_like, shape (...)
        Time to empty, > 0. [h]
    parameters : KineticParameters

    Returns
    -------
    ndarray of float, shape (...)
        Charge delivered. [Ah]

    Notes
    -----
    C(T) = q k c T / (1 − e^(−kT) + c (kT − 1 + e^(−kT))).

    References
    ----------
    .. [1] Manwell and McGowan, Lead acid battery storage model for hybrid energy systems,
       Solar Energy 50 (1993) 399.

    Examples
    --------
    >>> fitted = KineticParameters(108.16, 0.475, 0.677)
    >>> capacity_at_runtime_ah([1.0, 10.0, 20.0], fitted).round(0)
    array([ 60.,  93., 100.])
    """
    q, c, k = parameters
    kt = k * np.asarray(hours, dtype=float)
    gone = -np.expm1(-kt)
    return np.asarray(q * c * kt / (gone + c * (kt - gone)))


@lru_cache(maxsize=4096)
def kinetic_from_label(
    *, capacity_ah: float, reserve_capacity_min: float, low_rate_gain: float
) -> KineticParameters:
    """Return the two-well constants that give a label back.

    Parameters
    ----------
    capacity_ah : float
        20-hour capacity. [Ah]
    reserve_capacity_min : float
        Minutes at 25 A to 10.5 V. [min]
    low_rate_gain : float
        Charge at milliamperes above the 20-hour capacity, as a share of it. [-]

    Returns
    -------
    KineticParameters

    Raises
    ------
    OutOfRangeError
        If no two-well battery has this pair of capacity and reserve capacity.

    Notes
    -----
    With q = (1 + g) C20, the 20 h point fixes c for every k:
    c = (1 − e^(−kT))/(g k T + 1 − e^(−kT)), T = 20 h. The reserve capacity falls as k rises, so
    k follows by bisection.
    """
    reserve_h = reserve_capacity_min / 60.0
    asked_ah = RESERVE_CURRENT_A * reserve_h

    def parameters_at(k_per_h: float) -> KineticParameters:
        kt = k_per_h * RATED_HOURS
        gone = -np.expm1(-kt)
        share = gone / (low_rate_gain * kt + gone)
        return KineticParameters(capacity_ah * (1.0 + low_rate_gain), float(share), k_per_h)

    low_k, high_k = 1e-6, 1e4
    least_ah = float(capacity_at_runtime_ah(reserve_h, parameters_at(high_k)))
    most_ah = float(capacity_at_runtime_ah(reserve_h, parameters_at(low_k)))
    if not least_ah < asked_ah < most_ah:
        low_min, high_min = reserve_range_min(capacity_ah=capacity_ah, low_rate_gain=low_rate_gain)
        raise OutOfRangeError(
            f"reserve_capacity_min={reserve_capacity_min:g} min does not go with "
            f"capacity_ah={capacity_ah:g} Ah: about {low_min:.0f} to {high_min:.0f} min would; "
            "one of the two is misread"
        )
    for _ in range(80):  # 23 doublings between the ends; far below rounding
        middle = float(np.sqrt(low_k * high_k))
        if float(capacity_at_runtime_ah(reserve_h, parameters_at(middle))) > asked_ah:
            low_k = middle
        else:
            high_k = middle
    return parameters_at(float(np.sqrt(low_k * high_k)))


def reserve_range_min(*, capacity_ah: float, low_rate_gain: float) -> tuple[float, float]:
    """Return the reserve capacities a two-well battery of a capacity can have. [min].

    Notes
    -----
    The ends of `kinetic_from_label`: wells joined at once (k → ∞) give
    25 A · T = C20 (1 + g)/(1 + 20 h · g/T), no flow between them (k → 0) gives 25 A · T = C20.
    A thousandth inside both, so that k stays finite.
    """
    most_h = capacity_ah / RESERVE_CURRENT_A
    least_h = max(most_h * (1.0 + low_rate_gain) - RATED_HOURS * low_rate_gain, 0.0)
    room_h = 1e-3 * (most_h - least_h)
    return 60.0 * (least_h + room_h), 60.0 * (most_h - room_h)


def runtime_h(current_a: float, parameters: KineticParameters) -> float:
    """Return how long a full battery carries a constant current. [h].

    Raises
    ------
    OutOfRangeError
        If current_a is not positive.

    Notes
    -----
    Solves C(T) = I T by bisection; C(T)/T falls as T rises.
    """
    if not current_a > 0:
        raise OutOfRangeError(f"current_a={current_a!r} A must be > 0 A")
    short_h, long_h = 1e-9, parameters.low_rate_capacity_ah / current_a
    for _ in range(200):
        middle = 0.5 * (short_h + long_h)
        if float(capacity_at_runtime_ah(middle, parameters)) > current_a * middle:
            short_h = middle
        else:
            long_h = middle
    return 0.5 * (short_h + long_h)


def deficit_share(hours: ArrayLike, k_per_h: ArrayLike) -> FloatArray:
    """Return how much of `rate_deficit_ah` a current keeps out of reach after so many hours.

    Parameters
    ----------
    hours : array_like, >= 0
        Since the current began, the wells level before. [h]
    k_per_h : array_like, > 0
        As in `KineticParameters`. [1/h]

    Notes
    -----
    The two wells' closed form, (1 − e^(−k t))/(1 − e^(−k · 20 h)), up to the 20 h point; from
    there on 1, as `rate_deficit_ah` is the first order of the same model.

    Examples
    --------
    >>> deficit_share([0.0, 2.0, 20.0], 0.5).round(3)
    array([0.   , 0.632, 1.   ])
    """
    k_per_h = np.asarray(k_per_h, dtype=float)
    hours = np.asarray(hours, dtype=float)
    reached = np.expm1(-k_per_h * hours) / np.expm1(-k_per_h * RATED_HOURS)
    return np.asarray(np.minimum(reached, 1.0))


def rate_deficit_ah(current_a: ArrayLike, *, low_rate_gain: ArrayLike) -> FloatArray:
    """Return the charge that a steady current keeps out of reach.

    Parameters
    ----------
    current_a : array_like
        Steady current. [A]
    low_rate_gain : array_like
        As in `kinetic_from_label`. [-]

    Returns
    -------
    ndarray of float
        Charge behind in the slow well once the flow between the wells has settled. [Ah]

    Notes
    -----
    The two-well model under a steady current lags by (1 − c) I/(c k). With the 20 h point
    fixed this is I · 20 h · g to first order: at C20/20 exactly the gain, at milliamperes next
    to nothing.
    """
    return np.asarray(
        np.asarray(current_a, dtype=float) * RATED_HOURS * np.asarray(low_rate_gain, dtype=float)
    )


def reserve_from_capacity_min(
    capacity_ah: ArrayLike, *, factor: float, exponent: float
) -> FloatArray:
    """Return the reserve capacity that usually goes with a 20-hour capacity.

    Notes
    -----
    RC = factor · C20^exponent, constants from the battery profile.

    Examples
    --------
    >>> float(reserve_from_capacity_min(55.0, factor=0.83, exponent=1.17).round(1))
    90.2
    """
    return np.asarray(factor * np.power(np.asarray(capacity_ah, dtype=float), exponent))


def capacity_from_reserve_ah(
    reserve_capacity_min: ArrayLike, *, factor: float, exponent: float
) -> FloatArray:
    """Return the 20-hour capacity that usually goes with a reserve capacity.

    The inverse of `reserve_from_capacity_min`.
    """
    minutes = np.asarray(reserve_capacity_min, dtype=float)
    return np.asarray(np.power(minutes / factor, 1.0 / exponent))
