"""Will it start: current a battery gives a starter against current an engine asks for.

Charts of cranking end at -28.9 and 26.7 °C. Warmer, their end is held; colder, power follows
measured impedance and need follows the oil's viscosity, widely drawn; beyond -40 to 60 °C it is
refused. Full and at -18 °C the model gives the cold cranking rating itself. Below half charge no
table was found: power goes in a straight line to nothing at 15 % charge, the cautious side of
acid that runs out within a crank.

The minimum cranking voltage is 7.5 V at the battery: what the European rating leaves after 10 s.
A starter then still turns at about half its warm speed, enough for petrol, so speed is not a
second test. The knee (0.8 V, from memory) makes the old German and today's ratings agree as the
rule of thumb says (0.6).
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import OutOfRangeError
from drainsim.physics.tables import FloatArray, interpolate, require_within

COLDEST_C: Final = -40.0
WARMEST_C: Final = 60.0
RATING_C: Final = -18.0  # every cold cranking test below is run at -18 °C
RATING_V: Final = 7.2  # SAE J537: voltage left after 30 s at the rated current

# Coldest and warmest row of the published charts of power available and power needed: -20 and
# 80 °F. Beyond them other evidence carries on, see the profiles and `physics.oil`.
_CHART_C: Final = (-28.9, 26.7)
# Log standard deviation of how fast cranking power falls below -18 °C. At -28.9 °C 20, 25 and 30 %
# of warm are printed and measured impedance leaves 33 % at most: as a power of the middle's fall
# (27 of 40 %) 1.8, 1.2, 0.7 and 0.5.
COLD_FALL_SIGMA: Final = 0.5

# Warm cranking current by engine size. Textbook limits at room temperature: 4 cylinders
# normally below 100 A, at most 150-185; 6: 125, 160-200; 8: 150, 185-250. The line runs
# through the middles (134, 152, 184 A) taken at 2, 3 and 5 litres.
_PETROL_BASE_A: Final = 90.0
_PETROL_A_PER_LITRE: Final = 20.0
# Twice the compression: common practice, no source. An army manual's 180-220 A for lift-truck
# diesels of about 2 to 2.5 litres agrees.
_DIESEL_FACTOR: Final = 1.5

# Voltage drop 10 s into a crank against 30 s: from memory. With the 10 s limit of 7.5 V it
# makes the European and the 30 s ratings agree within a few per cent, as labels do.
_TEN_SECOND_SHARE: Final = 0.93

# standard: (voltage left at the rated current, share of the 30 s drop reached by then).
_RATINGS: Final = {
    "SAE": (7.2, 1.0),  # 30 s; vehicle service manuals quoting SAE J537
    "EN": (7.5, _TEN_SECOND_SHARE),  # 10 s; battery maker's lexicon quoting EN 50342-1
    "DIN": (9.0, 1.0),  # 30 s, old DIN 43539-2; quoted in a forum
    "JIS": (7.2, 1.0),  # 30 s at -18 °C since JIS D 5301 took over the SAE test: from memory
}
STANDARDS: Final = tuple(_RATINGS)


def _extended(temperature_c: ArrayLike, curve: FloatArray, *, name: str) -> FloatArray:
    """Interpolate; hold the warm end, go on along the coldest line down to -40 °C."""
    temperature = require_within(
        temperature_c, (COLDEST_C, WARMEST_C, "°C"), name=name, why="this model is meant for"
    )
    slope = (curve[1, 1] - curve[0, 1]) / (curve[1, 0] - curve[0, 0])
    below = np.minimum(temperature - curve[0, 0], 0.0) * slope
    return np.asarray(np.interp(temperature, curve[:, 0], curve[:, 1]) + below)


def cranking_share(temperature_c: ArrayLike, *, curve: ArrayLike) -> FloatArray:
    """Return the share of warm cranking power a full battery has left when cold.

    Parameters
    ----------
    temperature_c : array_like, shape (...)
        Battery temperature, -40 to 60. [°C]
    curve : array_like, shape (points, 2)
        Rows of (temperature [°C], share) from the battery profile.

    Returns
    -------
    ndarray of float, shape (...)
        Power relative to the curve's warm end. [-]

    Raises
    ------
    OutOfRangeError
        If outside -40 to 60 °C.

    Notes
    -----
    Above the published curve its warm end holds (cautious: warmth helps); below it the coldest
    line goes on, never under 0. Answers say when they used either end.
    """
    points = np.asarray(curve, dtype=float)
    return np.maximum(_extended(temperature_c, points, name="temperature_c"), 0.0)


def cold_fall_log(temperature_c: ArrayLike, *, curve: ArrayLike) -> FloatArray:
    """Return the logarithm of the power at a temperature over that at -18 °C.

    Parameters
    ----------
    temperature_c : array_like, shape (...)
        Battery temperature, -40 to 60. [°C]
    curve : array_like, shape (points, 2)
        Rows of (temperature [°C], share) from the battery profile.

    Returns
    -------
    ndarray of float, shape (...)
        0 at -18 °C and above, negative below. [-]

    Raises
    ------
    OutOfRangeError
        If outside -40 to 60 °C.

    Notes
    -----
    A battery whose power falls k times as fast has exp((k - 1) × this) of the power: whatever k
    above 0, colder never cranks better.
    """
    cold = np.minimum(np.asarray(temperature_c, dtype=float), RATING_C)
    share = cranking_share(cold, curve=curve) / cranking_share(RATING_C, curve=curve)
    return np.asarray(np.log(np.maximum(share, 1e-9)))


def published_range_c(curve: ArrayLike) -> tuple[float, float]:
    """Return the temperatures for which charts of power and of need were published. [°C]."""
    points = np.asarray(curve, dtype=float)
    return float(max(points[0, 0], _CHART_C[0])), float(min(points[-1, 0], _CHART_C[1]))


def engine_demand_a(engine_litres: ArrayLike, *, diesel: bool) -> FloatArray:
    """Return the warm (26.7 °C) cranking current of an engine.

    Parameters
    ----------
    engine_litres : array_like
        Swept volume, 0.05 to 16. [l]
    diesel : bool
        True for compression ignition.

    Returns
    -------
    ndarray of float
        Cranking current. [A]

    Raises
    ------
    OutOfRangeError
        If outside 0.05 to 16 l.

    Notes
    -----
    90 A + 20 A/l for petrol, 1.5 times that for diesel: see the constants' sources.

    Examples
    --------
    >>> float(engine_demand_a(2.0, diesel=False))
    130.0
    """
    litres = require_within(
        engine_litres, (0.05, 16.0, "l"), name="engine_litres", why="the demand line was drawn for"
    )
    petrol = _PETROL_BASE_A + _PETROL_A_PER_LITRE * litres
    return np.asarray(petrol * (_DIESEL_FACTOR if diesel else 1.0))


def rating_to_30s_a(rating_a: float, *, standard: str, full_v: float, knee_v: float) -> float:
    """Return the current of the 30 s, 7.2 V test from a label under any standard.

    Parameters
    ----------
    rating_a : float
        Cold cranking current on the label. [A]
    standard : {"SAE", "EN", "DIN", "JIS"}
    full_v : float
        Resting voltage, full, at -18 °C. [V]
    knee_v : float
        Part of the drop that appears at any cranking current. [V]

    Returns
    -------
    float
        Current after 30 s at 7.2 V and -18 °C. [A]

    Raises
    ------
    OutOfRangeError
        If the standard is unknown.

    Notes
    -----
    One straight line serves all tests: V = E − U − I R(t). Hence
    I_30s = I_label · (E − U − 7.2 V)/(E − U − V_label) · R(t_label)/R(30 s).
    """
    if standard not in _RATINGS:
        raise OutOfRangeError(
            f"cranking_standard={standard!r} is unknown; use one of {', '.join(STANDARDS)}"
        )
    end_v, drop_share = _RATINGS[standard]
    ceiling = full_v - knee_v
    return rating_a * (ceiling - RATING_V) / (ceiling - end_v) * drop_share


def available_current_a(
    state_of_charge: ArrayLike,
    temperature_c: ArrayLike,
    *,
    cold_cranking_a: ArrayLike,
    minimum_v: ArrayLike,
    open_circuit_cold_v: ArrayLike,
    knee_v: float,
    share_by_temperature: ArrayLike,
    share_by_charge: ArrayLike,
) -> FloatArray:
    """Return the current a battery gives for 30 s before it falls to a voltage.

    Parameters
    ----------
    state_of_charge : array_like
        0 to 1. [-]
    temperature_c : array_like
        Battery temperature. [°C]
    cold_cranking_a : array_like
        30 s, 7.2 V, -18 °C current of this battery at its age. [A]
    minimum_v : array_like
        Voltage that must be left at the battery. [V]
    open_circuit_cold_v : array_like
        Resting voltage at this charge and -18 °C. [V]
    knee_v : float
        Part of the drop that appears at any cranking current. [V]
    share_by_temperature, share_by_charge : array_like, shape (points, 2)
        Curves of the battery profile.

    Returns
    -------
    ndarray of float
        Current, 0 where none is to be had at that voltage. [A]

    Notes
    -----
    I = I_cc · φ(T)/φ(−18 °C) · g(s) · (E − U − V_min)/(E − U − 7.2 V). Full and at −18 °C this
    is the rating itself. g falls with charge as published down to half charge and to nothing
    before the battery is empty: the acid in the plates runs out within the crank.
    """
    share = cranking_share(temperature_c, curve=share_by_temperature) / cranking_share(
        RATING_C, curve=share_by_temperature
    )
    by_charge = interpolate(state_of_charge, share_by_charge, name="state_of_charge", unit="")
    voltage_share = headroom_share(open_circuit_cold_v, minimum_v=minimum_v, knee_v=knee_v)
    return np.asarray(np.asarray(cold_cranking_a, dtype=float) * share * by_charge * voltage_share)


def headroom_share(
    open_circuit_cold_v: ArrayLike, *, minimum_v: ArrayLike, knee_v: float
) -> FloatArray:
    """Return the current at `minimum_v` relative to the current at 7.2 V; never below 0."""
    ceiling = np.asarray(open_circuit_cold_v, dtype=float) - knee_v
    return np.asarray(
        np.maximum(ceiling - np.asarray(minimum_v, dtype=float), 0.0) / (ceiling - RATING_V)
    )


def cranking_voltage_v(
    current_a: ArrayLike,
    *,
    available_at_rating_v_a: ArrayLike,
    open_circuit_cold_v: ArrayLike,
    knee_v: float,
    seconds: float = 30.0,
) -> FloatArray:
    """Return the battery voltage at the end of a crank of 10 or 30 s.

    Parameters
    ----------
    current_a : array_like
        Cranking current. [A]
    available_at_rating_v_a : array_like
        `available_current_a` at 7.2 V. [A]
    open_circuit_cold_v, knee_v
        As in `available_current_a`.
    seconds : {10.0, 30.0}
        Time into the crank.

    Returns
    -------
    ndarray of float
        Voltage. [V]

    Raises
    ------
    OutOfRangeError
        If `seconds` is not 10 or 30: nothing published fixes other times.
    """
    if seconds not in (10.0, 30.0):
        raise OutOfRangeError(f"seconds={seconds:g} s: only 10 and 30 s are known")
    ceiling = np.asarray(open_circuit_cold_v, dtype=float) - knee_v
    resistance_ohm = (ceiling - RATING_V) / np.asarray(available_at_rating_v_a, dtype=float)
    share = _TEN_SECOND_SHARE if seconds == 10.0 else 1.0
    return np.asarray(ceiling - np.asarray(current_a, dtype=float) * resistance_ohm * share)
