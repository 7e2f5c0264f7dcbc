"""Sunshine on a tilted panel that faces the equator."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray

_GROUND: Final = 0.2  # share of light the ground sends back; common practice, no source
# Share of the sunshine that comes from the whole sky: 1 - 1.13 · clear share (Page's line,
# from memory), held to what it was drawn for.
_DIFFUSE_SLOPE: Final = 1.13
_LEAST_DIFFUSE: Final = 0.15


def tilt_factor(
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    *,
    tilt_deg: ArrayLike,
    clear_share: ArrayLike,
) -> FloatArray:
    """Return a day's sunshine on a tilted panel over that on a level one.

    Parameters
    ----------
    latitude_deg : array_like
        North positive, within ±66 so that every day has a sunrise. [°]
    day_of_year : array_like
        1 on 1 January. [day]
    tilt_deg : array_like
        0 lies flat, 90 stands upright facing the equator. [°]
    clear_share : array_like
        Share of the sunshine above the air that reaches the ground. [-]

    Returns
    -------
    ndarray of float
        Factor on `physics.solar.peak_sun_hours`. [-]

    Raises
    ------
    OutOfRangeError
        If the tilt is outside 0 to 90°.

    Notes
    -----
    Liu and Jordan: R = (1 − d) R_b + d (1 + cos β)/2 + ρ (1 − cos β)/2 with R_b the ratio of the
    daily direct sunshine by astronomy and d the diffuse share. Beyond the polar circles the
    factor of ±66° is used.

    References
    ----------
    .. [1] Duffie and Beckman, Solar Engineering of Thermal Processes, monthly average daily
       radiation on tilted surfaces; from memory.

    Examples
    --------
    >>> tilt_factor([0.0, 50.0], 80, tilt_deg=0.0, clear_share=0.4)
    array([1., 1.])
    """
    beta = np.deg2rad(np.asarray(tilt_deg, dtype=float))
    if not ((beta >= 0.0) & (beta <= np.pi / 2 + 1e-12)).all():
        raise OutOfRangeError("tilt_deg must be within 0 to 90 °")
    latitude = np.clip(np.asarray(latitude_deg, dtype=float), -66.0, 66.0)
    south = np.where(latitude < 0.0, -1.0, 1.0)
    phi = np.deg2rad(np.abs(latitude))
    angle = 2.0 * np.pi * np.asarray(day_of_year, dtype=float) / 365.0
    declination = south * 0.409 * np.sin(angle - 1.39)  # as in physics.solar
    level = _daily(phi, declination, _half_day(phi, declination))
    first = np.minimum(_half_day(phi, declination), _half_day(phi - beta, declination))
    tilted = np.maximum(_daily(phi - beta, declination, first), 0.0)
    direct = tilted / np.maximum(level, 1e-6)
    diffuse = np.clip(
        1.0 - _DIFFUSE_SLOPE * np.asarray(clear_share, dtype=float), _LEAST_DIFFUSE, 1.0
    )
    sky, ground = 0.5 * (1.0 + np.cos(beta)), 0.5 * (1.0 - np.cos(beta))
    return np.asarray((1.0 - diffuse) * direct + diffuse * sky + _GROUND * ground)


def _half_day(phi: FloatArray, declination: FloatArray) -> FloatArray:
    """Return the hour angle of sunset. [rad]."""
    return np.asarray(np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1.0, 1.0)))


def _daily(phi: FloatArray, declination: FloatArray, half_day: FloatArray) -> FloatArray:
    """Return the day's direct sunshine on a level surface at a latitude, to a constant."""
    return np.asarray(
        np.cos(phi) * np.cos(declination) * np.sin(half_day)
        + half_day * np.sin(phi) * np.sin(declination)
    )
