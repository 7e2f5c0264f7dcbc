"""Sunshine on a flat panel: above the air by astronomy, below it by a clear share."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray, require_within
from drainsim.units import DAYS_PER_YEAR, HOURS_PER_DAY

SOLAR_CONSTANT_KW_M2: Final = 1.361  # total solar irradiance at 1 astronomical unit; from memory


def declination_rad(day_of_year: ArrayLike) -> FloatArray:
    """Return how far north of the equator the sun stands at noon. [rad].

    Notes
    -----
    δ = 0.409 sin(2π J/365 − 1.39), within 0.5°.

    References
    ----------
    .. [1] FAO Irrigation and Drainage Paper 56 (1998), equation 24; from memory.

    Examples
    --------
    >>> np.rad2deg(declination_rad([81, 172, 355])).round(0)
    array([  0.,  23., -23.])
    """
    return np.asarray(0.409 * np.sin(_year_angle(day_of_year) - 1.39))


def sunset_rad(latitude_rad: ArrayLike, declination: ArrayLike) -> FloatArray:
    """Return the hour angle of sunset; 0 in polar night, π under a midnight sun. [rad].

    Notes
    -----
    cos ω = −tan φ tan δ, held to [−1, 1].
    """
    return np.asarray(np.arccos(np.clip(-np.tan(latitude_rad) * np.tan(declination), -1.0, 1.0)))


def direct_until(
    hour_angle_rad: ArrayLike, latitude_rad: ArrayLike, declination: ArrayLike
) -> FloatArray:
    """Return the direct sunshine on level ground between noon and an hour angle, to a constant.

    Notes
    -----
    ω sin φ sin δ + cos φ cos δ sin ω: the integral of the sine of the sun's height.
    """
    omega, phi = np.asarray(hour_angle_rad, dtype=float), np.asarray(latitude_rad, dtype=float)
    return np.asarray(
        omega * np.sin(phi) * np.sin(declination)
        + np.cos(phi) * np.cos(declination) * np.sin(omega)
    )


def _year_angle(day_of_year: ArrayLike) -> FloatArray:
    return np.asarray(2.0 * np.pi * np.asarray(day_of_year, dtype=float) / DAYS_PER_YEAR)


def extraterrestrial_kwh_m2_day(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return a day's sunshine on a level square metre above the atmosphere.

    Parameters
    ----------
    latitude_deg : array_like, shape (...)
        North positive, -90 to 90. [°]
    day_of_year : array_like, shape (...)
        1 on 1 January; fractions and values past 365 run on. [day]

    Returns
    -------
    ndarray of float, shape (...)
        Daily irradiation H0; 0 in polar night. [kWh/m²/day]

    Raises
    ------
    OutOfRangeError
        If a latitude is NaN or beyond a pole.

    Notes
    -----
    H0 = 24 h/π · G · d · (ω sin φ sin δ + cos φ cos δ sin ω), G the solar constant,
    d = 1 + 0.033 cos(2π J/365), ω and δ from `sunset_rad` and `declination_rad`. The error of
    the declination is some per cent of H0 in a winter at 60°.

    References
    ----------
    .. [1] FAO Irrigation and Drainage Paper 56 (1998), equations 21 to 25; from memory.

    Examples
    --------
    >>> extraterrestrial_kwh_m2_day([0.0, 80.0], 355).round(1)
    array([9.8, 0. ])
    """
    phi = np.deg2rad(
        require_within(
            latitude_deg, (-90.0, 90.0, "°"), name="latitude_deg", why="from pole to pole"
        )
    )
    distance = 1.0 + 0.033 * np.cos(_year_angle(day_of_year))
    declination = declination_rad(day_of_year)
    geometry = direct_until(sunset_rad(phi, declination), phi, declination)
    at_noon = HOURS_PER_DAY / np.pi * SOLAR_CONSTANT_KW_M2 * distance
    return np.asarray(np.maximum(at_noon * geometry, 0.0))


def peak_sun_hours(
    latitude_deg: ArrayLike, day_of_year: ArrayLike, *, clear_share: ArrayLike
) -> FloatArray:
    """Return a day's sunshine on a level square metre at the ground.

    Parameters
    ----------
    latitude_deg, day_of_year : array_like
        As in `extraterrestrial_kwh_m2_day`.
    clear_share : array_like
        Share of it that comes through air and clouds, 0 to 1; about 0.2 in a dull winter, 0.7
        in a desert. [-]

    Returns
    -------
    ndarray of float
        kWh/m²/day, which is the same number as hours at 1 kW/m². [h/day]

    Raises
    ------
    OutOfRangeError
        If a clear share is NaN or not within 0 to 1, or a latitude beyond a pole.
    """
    share = require_within(clear_share, (0.0, 1.0, ""), name="clear_share", why="a share can be")
    return np.asarray(share * extraterrestrial_kwh_m2_day(latitude_deg, day_of_year))


def panel_ah_per_day(
    panel_w: ArrayLike, *, sun_h: ArrayLike, efficiency: ArrayLike, battery_v: float
) -> FloatArray:
    """Return the charge a panel puts into a battery in a day.

    Parameters
    ----------
    panel_w : array_like
        Rated power at 1 kW/m². [W]
    sun_h : array_like
        Peak sun hours. [h/day]
    efficiency : array_like
        From rated power to charge kept by the battery: see `chain_efficiency`. [-]
    battery_v : float
        Voltage while charging. [V]

    Returns
    -------
    ndarray of float
        P · h · η / V. [Ah/day]

    Examples
    --------
    >>> panel_ah_per_day(65.0, sun_h=0.4, efficiency=0.6, battery_v=13.0).round(2)
    np.float64(1.2)
    """
    power = np.asarray(panel_w, dtype=float) * np.asarray(efficiency, dtype=float)
    return np.asarray(power * np.asarray(sun_h, dtype=float) / battery_v)


def panel_for_current_w(
    current_a: ArrayLike, *, sun_h: ArrayLike, efficiency: float, battery_v: float
) -> FloatArray:
    """Return the panel that replaces a steady draw; inf without sun. [W].

    The rule of thumb for sizing; answers come from the simulation, which also knows what the
    battery can bridge.

    Examples
    --------
    >>> panel_for_current_w(0.05, sun_h=[0.4, 3.4], efficiency=0.6, battery_v=13.0).round(1)
    array([65. ,  7.6])
    """
    sun = np.asarray(sun_h, dtype=float)
    needed = np.asarray(current_a, dtype=float) * battery_v * HOURS_PER_DAY
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(sun > 0.0, needed / (sun * efficiency), np.inf))


def chain_efficiency(*, surface: float, controller: float, charging: float) -> float:
    """Return the share of a panel's rated power that ends as charge in the battery.

    Parameters
    ----------
    surface : float
        Dirt, warmth and reflection at low sun. [-]
    controller : float
        A plain controller holds the panel at battery voltage, below its best point. [-]
    charging : float
        Charge kept by the battery ÷ charge sent to it. [-]

    Raises
    ------
    OutOfRangeError
        If a factor is not in (0, 1].
    """
    for name, value in (("surface", surface), ("controller", controller), ("charging", charging)):
        if not 0.0 < value <= 1.0:
            raise OutOfRangeError(f"{name}={value!r} must be above 0 and at most 1")
    return surface * controller * charging
