"""Engine oil: viscosity against temperature, and how much harder a cold engine turns.

Oil is a grade plus kelvins of thickness: J300's 5 K steps make grades shifts of one curve.
Engines add 2.5 K, a guessed grade 4 K.
"""

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray
from drainsim.units import ABSOLUTE_ZERO_C

# SAE J300 (2015), read in five copies: test temperature [°C] and most cranking viscosity [mPa·s].
_CRANKING_LIMIT: Final = {
    "0W": (-35.0, 6200.0),
    "5W": (-30.0, 6600.0),
    "10W": (-25.0, 7000.0),
    "15W": (-20.0, 7000.0),
    "20W": (-15.0, 9500.0),
}
# SAE J300 (2015): least and most kinematic viscosity at 100 °C [mm²/s].
_HOT: Final = {
    "16": (6.1, 8.2),
    "20": (6.9, 9.3),
    "30": (9.3, 12.5),
    "40": (12.5, 16.3),
    "50": (16.3, 21.9),
}
OIL_GRADES: Final = (
    "0W-16",
    "0W-20",
    "0W-30",
    "0W-40",
    "5W-20",
    "5W-30",
    "5W-40",
    "5W-50",
    "10W-30",
    "10W-40",
    "10W-50",
    "15W-40",
    "15W-50",
    "20W-40",
    "20W-50",
)
# An oil of a grade fails the limit of the next thinner grade 5 K colder: it meets its own limit
# somewhere in those 5 K, evenly spread. From the grading rule of SAE J300 itself.
GRADE_STEP_K: Final = 5.0
WITHIN_GRADE_SD_K: Final = GRADE_STEP_K / math.sqrt(12.0)
# Engines take the same oil differently: needs of 2.0 to 2.5 times warm are published for about
# -18 °C (11 % either way), where the need grows by 4 % a kelvin.
ENGINE_SD_K: Final = 2.5

# Density of engine oil and its fall with temperature: from memory.
_DENSITY_15C: Final = 870.0  # kg/m³
_DENSITY_PER_K: Final = -0.65  # kg/(m³ K)

# What the charts of "power needed" were drawn for: the usual oil of their day, 10W-30. Common
# practice, no source; an oil company's text recommends it down to -18 °C.
REFERENCE_OIL: Final = "10W-30"
WARM_C: Final = 26.7  # 80 °F, where those charts read 100 %
# Part of the warm cranking torque that is viscous. Least squares through the workshop chart
# 100 / 155 / 210 / 350 % at 26.7 / 0 / -17.8 / -28.9 °C at the exponent below: 0.32.
_VISCOUS_SHARE: Final = 0.32
# Piston rings and skirts, 40 to 50 % of cold cranking friction, slide on a film: friction goes
# with the root of viscosity × speed. Left free in the fit the exponent is 0.43; a 2 l diesel
# turned by six oils at -20 to -30 °C (36 % less torque from thickest to thinnest) asks for more.
_EXPONENT: Final = 0.5


def _parts(grade: str) -> tuple[float, float, float]:
    """Return (limit temperature [°C], limit [mPa·s], viscosity at 100 °C [mm²/s]) of a grade."""
    if grade not in OIL_GRADES:
        raise OutOfRangeError(f"oil_grade={grade!r} is unknown; use one of {', '.join(OIL_GRADES)}")
    winter, _, hot = grade.partition("-")
    limit_c, limit = _CRANKING_LIMIT[winter]
    return limit_c, limit, float(np.mean(_HOT[hot]))


def cranking_limit_c(grade: str) -> float:
    """Return the temperature of a grade's cranking test, the lowest it is meant to start at. [°C].

    Examples
    --------
    >>> cranking_limit_c("5W-30"), cranking_limit_c("15W-40")
    (-30.0, -20.0)
    """
    return _parts(grade)[0]


def thinner(grade: str) -> str | None:
    """Return the oil one winter grade thinner, None where there is none.

    Examples
    --------
    >>> thinner("5W-30"), thinner("20W-50"), thinner("0W-20")
    ('0W-30', '15W-50', None)
    """
    winter, _, hot = grade.partition("-")
    order = list(_CRANKING_LIMIT)
    number = order.index(winter) - 1
    found = f"{order[number]}-{hot}" if number >= 0 else None
    return found if found in OIL_GRADES else None


def _density(temperature_c: FloatArray | float) -> FloatArray:
    return np.asarray(_DENSITY_15C + _DENSITY_PER_K * (np.asarray(temperature_c) - 15.0))


@lru_cache(maxsize=64)
def _walther(grade: str) -> tuple[float, float]:
    """Return A and B of lg lg(ν + 0.7) = A − B lg T for an oil in the middle of its grade."""
    limit_c, limit, hot = _parts(grade)
    cold_c = limit_c - 0.5 * GRADE_STEP_K
    cold = limit / float(_density(cold_c)) * 1000.0
    x = np.log10(np.array([cold_c, 100.0]) - ABSOLUTE_ZERO_C)
    y = np.log10(np.log10(np.array([cold, hot]) + 0.7))
    slope = float((y[0] - y[1]) / (x[1] - x[0]))
    return float(y[1] + slope * x[1]), slope


def oil_viscosity_mpas(temperature_c: ArrayLike, *, grade: str) -> FloatArray:
    """Return the viscosity of an oil in the middle of its grade.

    Parameters
    ----------
    temperature_c : array_like, shape (...)
        Oil temperature, above -100 °C. [°C]
    grade : str
        SAE grade, one of `OIL_GRADES`.

    Returns
    -------
    ndarray of float, shape (...)
        Dynamic viscosity. [mPa·s]

    Raises
    ------
    OutOfRangeError
        If the grade is unknown.

    Notes
    -----
    Walther's law lg lg(ν/(mm²/s) + 0.7) = A − B lg(T/K) (ASTM D341) through two points of
    SAE J300: the cranking limit, reached 2.5 K below the grade's test temperature, and the middle
    of the range at 100 °C. Real oils differ by the width of their grade.

    Examples
    --------
    >>> oil_viscosity_mpas([-32.5], grade="5W-30").round()
    array([6600.])
    """
    level, slope = _walther(grade)
    temperature = np.asarray(temperature_c, dtype=float)
    kinematic = 10.0 ** (10.0 ** (level - slope * np.log10(temperature - ABSOLUTE_ZERO_C))) - 0.7
    return np.asarray(kinematic * _density(temperature) / 1000.0)


def _turning(temperature_c: ArrayLike, grade: str) -> FloatArray:
    """Return the cranking torque over that of the warm engine with the charts' oil."""
    reference = oil_viscosity_mpas(WARM_C, grade=REFERENCE_OIL)
    ratio = oil_viscosity_mpas(temperature_c, grade=grade) / reference
    return np.asarray(1.0 - _VISCOUS_SHARE + _VISCOUS_SHARE * ratio**_EXPONENT)


def turning_factor(
    temperature_c: ArrayLike, *, grade: str, thicker_k: ArrayLike = 0.0
) -> FloatArray:
    """Return the current a starter takes over that of the same engine at 26.7 °C.

    Parameters
    ----------
    temperature_c : array_like, shape (...)
        Oil temperature; above 26.7 °C the value there holds (cautious). [°C]
    grade : str
        SAE grade, one of `OIL_GRADES`.
    thicker_k : array_like, optional
        Kelvins by which an oil is thicker than the middle of the grade: it turns as hard as that
        one so much colder. [K]

    Returns
    -------
    ndarray of float, shape (...)
        1 at 26.7 °C in the middle of the grade. [-]

    Raises
    ------
    OutOfRangeError
        If the grade is unknown.

    Notes
    -----
    Torque at cranking speed = unrecovered work on the gases and dry friction, which do not care
    for oil, + a viscous part with the root of viscosity; a starter's current goes with its torque
    (SAE J1253 measures torque that way). A start also needs a least speed: at 7.5 V a starter
    still turns the engine at about half of its warm speed, enough for petrol, so that the voltage
    is the limit that is judged.

    References
    ----------
    .. [1] Workshop chart of power needed against temperature, quoted by a garage site.
    .. [2] An experimental analysis of the cold cranking resistance of an automotive engine
       (abstract): gas work does not vary with oil, pistons are 40 to 50 % and viscous.
    .. [3] Six oils in a two-litre diesel at -20, -25 and -30 °C (SAE paper, abstract).

    Examples
    --------
    >>> turning_factor([26.7, 0.0, -17.8, -28.9], grade="10W-30").round(2)
    array([1.  , 1.41, 2.23, 3.48])
    """
    held = np.minimum(np.asarray(temperature_c, dtype=float), WARM_C)
    oil_c = held - np.asarray(thicker_k, dtype=float)
    return np.asarray(_turning(oil_c, grade) / _turning(WARM_C, grade))


def warm_oil_factor(grade: str) -> float:
    """Return the warm cranking current with an oil over that with the charts' oil. [-].

    Examples
    --------
    >>> round(warm_oil_factor("0W-20"), 2), round(warm_oil_factor("10W-30"), 2)
    (0.92, 1.0)
    """
    return float(_turning(WARM_C, grade))
