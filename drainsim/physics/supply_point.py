"""The point an added unit is fed from: fuse, wire, voltage drop, and the dip while cranking."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray
from drainsim.physics.wiring import FuseKind, cable_ohm_per_m, fuse_cold_ohm, fuse_ratings_a

# Current a vehicle cable carries for good, by section: an older, cautious rule of a trade wiring
# page; continued at the last step's current per section. [mm²: A]
_CAREFUL_A: Final = np.array([[0.5, 5.0], [0.75, 7.0], [1.0, 9.0], [1.5, 13.0], [2.5, 17.0]])
# The same for thin-wall cable, single in air: from memory, 21 A for 1.5 mm² seen at a supplier.
_THIN_WALL_A: Final = np.array([[0.5, 11.0], [0.75, 14.0], [1.0, 16.5], [1.5, 21.0], [2.5, 29.0]])
SECTIONS_MM2: Final = (0.5, 0.75, 1.0, 1.5, 2.5)  # 0.5 is the thinnest run by hand: common practice
FUSES_A: Final = (2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)
# A fuse of 1.5 times the peak does not age by inrush: common practice, no source.
FUSE_OVER_PEAK: Final = 1.5
# At most 3 % of the system voltage: marine practice for critical loads and a trade rule for
# battery leads (0.36 V at 12 V).
DROP_SHARE: Final = 0.03
# Loaded circuit: wire 0.2 V at most (trade school note), above 0.5 V suspect (workshop manuals).
WIRE_DROP_V: Final = 0.2
SUSPECT_DROP_V: Final = 0.5
NORMAL_C: Final = 20.0
HOT_C: Final = (60.0, 85.0)  # cabin in the sun, engine bay: common practice, no source


def wire_ampacity_a(section_mm2: ArrayLike, *, thin_wall: bool = False) -> FloatArray:
    """Return the current a cable carries for good. [A].

    Parameters
    ----------
    section_mm2 : array_like
        Section, above 0. [mm²]
    thin_wall : bool
        Modern thin-wall cable, single in air, instead of the cautious older rule.

    Raises
    ------
    OutOfRangeError
        If a section is not above 0 mm².

    Notes
    -----
    Straight lines between the table's sections; in proportion to the section outside.

    Examples
    --------
    >>> wire_ampacity_a([0.5, 1.0, 2.5])
    array([ 5.,  9., 17.])
    """
    section = np.asarray(section_mm2, dtype=float)
    if not (section > 0.0).all():
        raise OutOfRangeError(f"section_mm2={section.min():g} mm² must be above 0 mm²")
    table = _THIN_WALL_A if thin_wall else _CAREFUL_A
    inside = np.interp(section, table[:, 0], table[:, 1])
    below = section / table[0, 0] * table[0, 1]
    above = section / table[-1, 0] * table[-1, 1]
    outside = np.where(section < table[0, 0], below, above)
    within = (section >= table[0, 0]) & (section <= table[-1, 0])
    return np.asarray(np.where(within, inside, outside))


def fuse_for_peak_a(peak_a: float) -> float | None:
    """Return the smallest blade fuse for a peak current, None where none is large enough. [A].

    Notes
    -----
    At least 1.5 times the peak, which is then at most 67 % of it, within the 75 % of a component
    maker's fuse guide; not below 2 A, which leaves room for inrush (common practice, no source).

    Examples
    --------
    >>> fuse_for_peak_a(0.25), fuse_for_peak_a(4.0)
    (2.0, 7.5)
    """
    return next((fuse for fuse in FUSES_A if fuse >= FUSE_OVER_PEAK * peak_a - 1e-9), None)


def fuse_ohm(rating_a: float, *, kind: FuseKind = "medium") -> float:
    """Return the cold resistance to reckon with for any fuse of a kind. [ohm].

    Notes
    -----
    Where the table lacks a rating the next smaller one's counts, whose resistance is higher
    (cautious); below the table its smallest.

    Examples
    --------
    >>> fuse_ohm(6.0) == fuse_ohm(5.0)
    True
    """
    ratings = fuse_ratings_a(kind)
    known = [rating for rating in ratings if rating <= rating_a + 1e-9]
    return fuse_cold_ohm(known[-1] if known else ratings[0], kind=kind)


def run_ohm(
    section_mm2: float, *, length_m: float, temperature_c: float = NORMAL_C, extra_ohm: float = 0.0
) -> float:
    """Return the resistance of a run, out and back, with fuse and contacts. [ohm].

    Raises
    ------
    OutOfRangeError
        If the section or the temperature is out of the cable's range.
    """
    per_m = float(cable_ohm_per_m(section_mm2, temperature_c=temperature_c))
    return 2.0 * length_m * per_m + extra_ohm


def section_for_run_mm2(
    peak_a: float, *, length_m: float, system_v: float, fuse_a: float, source_ohm: float = 0.0
) -> float | None:
    """Return the thinnest usual section for a run, None where none will do. [mm²].

    Parameters
    ----------
    peak_a : float
        Peak current. [A]
    length_m : float
        One way. [m]
    system_v : float
        12 or 24. [V]
    fuse_a : float
        Fuse at its start, which must protect it. [A]
    source_ohm : float
        Resistance before the run. [ohm]

    Notes
    -----
    At 85 °C the drop stays within 3 %, and the fuse within what the cable carries.
    """
    for section in SECTIONS_MM2:
        ohm = run_ohm(section, length_m=length_m, temperature_c=HOT_C[-1], extra_ohm=source_ohm)
        if peak_a * ohm <= DROP_SHARE * system_v and fuse_a <= float(wire_ampacity_a(section)):
            return section
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingLevel:
    """One severity of the starting profile: volts, and the seconds between them."""

    name: str
    base_v: float
    lowest_v: float
    hold_v: float
    fall_s: float
    lowest_s: float
    ramp_s: float
    hold_s: float
    rise_s: float


def _level(
    name: str, base: float, lowest: float, hold: float, hold_s: float, rise_s: float
) -> StartingLevel:
    small = base == 12.0
    return StartingLevel(
        name=name,
        base_v=base,
        lowest_v=lowest,
        hold_v=hold,
        fall_s=0.005 if small else 0.010,
        lowest_s=0.015 if small else 0.050,
        ramp_s=0.050,
        hold_s=hold_s,
        rise_s=rise_s,
    )


# ISO 16750-2:2023, 4.6.3, starting profile, as quoted by a secondary source. Keyed by system.
STARTING_PROFILES: Final = {
    12: (
        _level("I, warm", 12.0, 8.0, 9.5, 1.0, 0.040),
        _level("II, cold", 12.0, 4.5, 6.5, 10.0, 0.100),
        _level("III, cold, aged battery", 12.0, 3.0, 5.0, 1.0, 0.100),
        _level("IV", 12.0, 6.0, 6.5, 10.0, 0.100),
    ),
    24: (
        _level("I, warm", 24.0, 10.0, 20.0, 1.0, 0.040),
        _level("II, cold", 24.0, 8.0, 15.0, 10.0, 0.100),
        _level("III, cold, aged battery", 24.0, 6.0, 10.0, 1.0, 0.040),
    ),
}


def seconds_below_s(level: StartingLevel, minimum_v: float) -> float:
    """Return how long a starting profile stays below a voltage. [s].

    Examples
    --------
    >>> cold = STARTING_PROFILES[12][1]
    >>> round(seconds_below_s(cold, 6.0), 4)  # only the first dip
    0.0535
    >>> seconds_below_s(cold, 8.0) > 10.0
    True
    """
    corners = (
        (level.fall_s, level.base_v, level.lowest_v),
        (level.lowest_s, level.lowest_v, level.lowest_v),
        (level.ramp_s, level.lowest_v, level.hold_v),
        (level.hold_s, level.hold_v, level.hold_v),
        (level.rise_s, level.hold_v, level.base_v),
    )
    total = 0.0
    for duration, begin, end in corners:
        low, high = min(begin, end), max(begin, end)
        if high < minimum_v:
            total += duration
        elif low < minimum_v:
            total += duration * (minimum_v - low) / (high - low)
    return total
