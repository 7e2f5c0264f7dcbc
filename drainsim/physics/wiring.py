"""Resistance of copper wire and blade fuses, and the voltage and current that follow from it."""

from typing import Final, Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray, require_within

FuseKind: TypeAlias = Literal["medium", "mini"]

# Annealed copper, 100 % IACS, at 20 °C: NBS Circular 31 and IEC 60028, as quoted in a note.
COPPER_OHM_MM2_PER_M: Final = 0.017241
# Per kelvin, reference 20 °C: power-engineering handbook, page 970.
COPPER_PER_K: Final = 3.93e-3
REFERENCE_C: Final = 20.0
COLDEST_C: Final = -40.0
WARMEST_C: Final = 125.0  # highest class of thin-wall automotive cable: from memory

# American wire gauge, ASTM B258 as quoted: 36 AWG = 0.127 mm, each 39 sizes a factor of 92.
_AWG_36_MM: Final = 0.127
_AWG_RATIO: Final = 92.0
_AWG_STEPS: Final = 39.0

# Largest resistance of a fine-stranded plain conductor at 20 °C. [mm²: ohm/m]
# 0.5 to 2.5 mm²: IEC 60228 class 5, two cable makers' tables that agree.
# 0.34 mm²: VDE 0295 class 5/6, a cable maker's data sheet.
CLASS_5_OHM_PER_M: Final = {
    0.34: 0.0570,
    0.5: 0.0390,
    0.75: 0.0260,
    1.0: 0.0195,
    1.5: 0.0133,
    2.5: 0.00798,
}
# Those limits over resistivity ÷ section run from 1.124 to 1.157: lay, tolerance and impurity.
# The largest serves all sections, the cautious side.
_STRANDED_ALLOWANCE: Final = 1.157

# Cold resistance of blade fuses, nominal. [A: ohm]
# Medium 10 A (1 mV per 130 mA: training site's chart) and 15 A (4.8 mohm data sheet, 4.5
# measured: instrument maker's forum post) agree with what was read; all others from memory.
_FUSE_OHM: Final[dict[FuseKind, dict[float, float]]] = {
    "medium": {
        1.0: 0.123,
        2.0: 0.0535,
        3.0: 0.0311,
        4.0: 0.0228,
        5.0: 0.01785,
        7.5: 0.01091,
        10.0: 0.00770,
        15.0: 0.00480,
        20.0: 0.00338,
        25.0: 0.00252,
        30.0: 0.00197,
    },
    "mini": {
        5.0: 0.017,
        7.5: 0.0106,
        10.0: 0.0074,
        15.0: 0.00458,
        20.0: 0.00321,
        25.0: 0.00236,
        30.0: 0.00185,
    },
}
# Share of its rating a blade fuse carries for good at 25 °C: component maker's fuse guide.
CONTINUOUS_SHARE: Final = 0.75


def awg_diameter_mm(gauge: ArrayLike) -> FloatArray:
    """Return the diameter of a solid round wire of an American gauge.

    Parameters
    ----------
    gauge : array_like
        Gauge number, -3 (4/0) to 40. [-]

    Returns
    -------
    ndarray of float
        Diameter. [mm]

    Raises
    ------
    OutOfRangeError
        If outside -3 to 40.

    References
    ----------
    .. [1] ASTM B258 as quoted: d = 0.127 mm · 92^((36 − n)/39).

    Examples
    --------
    >>> awg_diameter_mm([36, -3]).round(3)
    array([ 0.127, 11.684])
    """
    number = require_within(gauge, (-3.0, 40.0, ""), name="gauge", why="AWG sizes")
    return np.asarray(_AWG_36_MM * np.power(_AWG_RATIO, (36.0 - number) / _AWG_STEPS))


def awg_area_mm2(gauge: ArrayLike) -> FloatArray:
    """Return the section of a solid round wire of an American gauge. [mm²].

    Examples
    --------
    >>> float(awg_area_mm2(16).round(3))
    1.309
    """
    return np.asarray(np.pi / 4.0 * np.square(awg_diameter_mm(gauge)))


def copper_resistivity_ohm_mm2_per_m(temperature_c: ArrayLike) -> FloatArray:
    """Return the resistivity of annealed copper.

    Parameters
    ----------
    temperature_c : array_like
        Conductor temperature, -40 to 125. [°C]

    Returns
    -------
    ndarray of float
        Resistivity. [ohm·mm²/m]

    Raises
    ------
    OutOfRangeError
        If outside -40 to 125 °C.

    Notes
    -----
    ρ = 0.017241 (1 + 0.00393 (T − 20 °C)): see the constants' sources.

    Examples
    --------
    >>> copper_resistivity_ohm_mm2_per_m([20.0, 60.0]).round(5)
    array([0.01724, 0.01995])
    """
    temperature = require_within(
        temperature_c, (COLDEST_C, WARMEST_C, "°C"), name="temperature_c", why="of automotive cable"
    )
    return np.asarray(COPPER_OHM_MM2_PER_M * (1.0 + COPPER_PER_K * (temperature - REFERENCE_C)))


def solid_wire_ohm_per_m(area_mm2: ArrayLike, *, temperature_c: ArrayLike = 20.0) -> FloatArray:
    """Return the resistance of a solid copper wire by its section. [ohm/m].

    Raises
    ------
    OutOfRangeError
        If the section is not within 0.01 to 120 mm², or the temperature not within -40 to 125 °C.

    Notes
    -----
    R = ρ(T)/A.
    """
    return np.asarray(copper_resistivity_ohm_mm2_per_m(temperature_c) / _section(area_mm2))


def cable_ohm_per_m(section_mm2: ArrayLike, *, temperature_c: ArrayLike = 20.0) -> FloatArray:
    """Return the resistance to reckon with for a fine-stranded copper cable.

    Parameters
    ----------
    section_mm2 : array_like
        Nominal section, 0.01 to 120. [mm²]
    temperature_c : array_like
        Conductor temperature, -40 to 125. [°C]

    Returns
    -------
    ndarray of float
        Resistance of one conductor; at or slightly above the class 5 limit. [ohm/m]

    Raises
    ------
    OutOfRangeError
        If the section or the temperature is out of range.

    Notes
    -----
    Resistivity over section, times 1.157: the largest ratio among the class 5 limits of IEC 60228
    from 0.34 to 2.5 mm². Real cable measures some 5 % less.

    Examples
    --------
    >>> cable_ohm_per_m([0.5, 1.5]).round(4)
    array([0.0399, 0.0133])
    """
    return solid_wire_ohm_per_m(section_mm2, temperature_c=temperature_c) * _STRANDED_ALLOWANCE


def voltage_drop_v(
    current_a: ArrayLike, *, length_m: ArrayLike, ohm_per_m: ArrayLike, extra_ohm: ArrayLike = 0.0
) -> FloatArray:
    """Return the voltage lost on the way out and back.

    Parameters
    ----------
    current_a : array_like
        Current. [A]
    length_m : array_like
        Length of the run, one way; the return wire is taken as equal. [m]
    ohm_per_m : array_like
        Resistance of one conductor. [ohm/m]
    extra_ohm : array_like
        Fuse, contacts and joints together. [ohm]

    Returns
    -------
    ndarray of float
        Voltage drop. [V]

    Examples
    --------
    >>> float(voltage_drop_v(1.0, length_m=5.0, ohm_per_m=0.039))
    0.39
    """
    both_ways = 2.0 * np.asarray(length_m, dtype=float) * np.asarray(ohm_per_m, dtype=float)
    return np.asarray(np.asarray(current_a, dtype=float) * (both_ways + np.asarray(extra_ohm)))


def fuse_ratings_a(kind: FuseKind) -> tuple[float, ...]:
    """Return the ratings of a kind of blade fuse whose resistance is known, rising. [A]."""
    return tuple(_FUSE_OHM[kind])


def fuse_cold_ohm(rating_a: float, *, kind: FuseKind = "medium") -> float:
    """Return the cold resistance of a blade fuse. [ohm].

    Raises
    ------
    OutOfRangeError
        If the kind is unknown or the rating is not in its table.

    Examples
    --------
    >>> fuse_cold_ohm(10.0)
    0.0077
    """
    if kind not in _FUSE_OHM:
        raise OutOfRangeError(f"kind={kind!r} is unknown; use one of {', '.join(_FUSE_OHM)}")
    table = _FUSE_OHM[kind]
    if rating_a not in table:
        known = ", ".join(f"{rating:g}" for rating in table)
        raise OutOfRangeError(f"rating_a={rating_a:g} A is not in the {kind} table: {known} A")
    return table[rating_a]


def fuse_current_a(drop_v: ArrayLike, *, rating_a: float, kind: FuseKind = "medium") -> FloatArray:
    """Return the current through a fuse from the voltage read across it.

    Parameters
    ----------
    drop_v : array_like
        Voltage across the fuse left in place. [V]
    rating_a : float
        Fuse rating. [A]
    kind : {"medium", "mini"}

    Returns
    -------
    ndarray of float
        Current, for a cold fuse. [A]

    Raises
    ------
    OutOfRangeError
        If the fuse is not in the table.

    Notes
    -----
    I = U/R. Near its rating a fuse is hot and its resistance higher: the method is for the small
    currents of a parked vehicle. Cheap copies do not follow the tables. 0.1 mV on a 10 A blade is
    13 mA: a smaller current cannot be seen.

    Examples
    --------
    >>> float(fuse_current_a(0.001, rating_a=10.0).round(3))
    0.13
    """
    return np.asarray(np.asarray(drop_v, dtype=float) / fuse_cold_ohm(rating_a, kind=kind))


def fuse_continuous_a(rating_a: ArrayLike) -> FloatArray:
    """Return the current a blade fuse carries for good at 25 °C: 75 % of its rating. [A]."""
    return np.asarray(CONTINUOUS_SHARE * np.asarray(rating_a, dtype=float))


def _section(section_mm2: ArrayLike) -> FloatArray:
    return require_within(
        section_mm2, (0.01, 120.0, "mm²"), name="section_mm2", why="of vehicle wiring"
    )
