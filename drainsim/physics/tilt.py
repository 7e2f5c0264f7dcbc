"""Sunshine on a tilted panel that faces the equator."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.solar import declination_rad, direct_until, sunset_rad
from drainsim.physics.tables import FloatArray, require_within

_GROUND: Final = 0.2  # share of light the ground sends back; common practice, no source
# Share of the sunshine that comes from the whole sky: 1 - 1.13 · clear share (Page's line,
# from memory), held to what it was drawn for.
_DIFFUSE_SLOPE: Final = 1.13
_LEAST_DIFFUSE: Final = 0.15
_POLAR_CIRCLE_DEG: Final = 66.0  # up to here every day has a sunrise


def tilt_factor(
    latitude_deg: ArrayLike, day_of_year: ArrayLike, *, tilt_deg: ArrayLike, clear_share: ArrayLike
) -> FloatArray:
    """Return a day's sunshine on a tilted panel over that on a level one.

    Parameters
    ----------
    latitude_deg : array_like
        North positive, -90 to 90. [°]
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
        If the tilt is outside 0 to 90°, or a latitude beyond a pole.

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
    beta = np.deg2rad(
        require_within(tilt_deg, (0.0, 90.0, "°"), name="tilt_deg", why="from level to upright")
    )
    latitude = require_within(
        latitude_deg, (-90.0, 90.0, "°"), name="latitude_deg", why="from pole to pole"
    )
    south = np.where(latitude < 0.0, -1.0, 1.0)
    phi = np.deg2rad(np.minimum(np.abs(latitude), _POLAR_CIRCLE_DEG))
    declination = south * declination_rad(day_of_year)
    sunset = sunset_rad(phi, declination)
    level = direct_until(sunset, phi, declination)
    # On a plane tilted by β the sun moves as on level ground β nearer the equator; it is lit
    # while the sun is above both horizons.
    lit = np.minimum(sunset, sunset_rad(phi - beta, declination))
    tilted = np.maximum(direct_until(lit, phi - beta, declination), 0.0)
    direct = tilted / np.maximum(level, 1e-6)
    diffuse = np.clip(
        1.0 - _DIFFUSE_SLOPE * np.asarray(clear_share, dtype=float), _LEAST_DIFFUSE, 1.0
    )
    sky, ground = 0.5 * (1.0 + np.cos(beta)), 0.5 * (1.0 - np.cos(beta))
    return np.asarray((1.0 - diffuse) * direct + diffuse * sky + _GROUND * ground)
