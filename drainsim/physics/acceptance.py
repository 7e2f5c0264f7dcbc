"""What a battery accepts: voltage over charging resistance, and what of it stays as charge.

Charging resistance = cold factor × (base + taper ÷ charge missing) ÷ C20: one formula for bulk
and taper. The cold factor (2 at 0 °C, 10 at -18 °C) is from memory: its rows in the evidence are
loose, and the weekly answer says so every time.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray

# How much more the charging resistance is than at 25 °C: acceptance about a half at 0 °C and a
# tenth at -18 °C (from memory, low confidence). Manuals say only that an extremely cold battery
# takes no measurable current for hours. Geometric in between and on below.
_COLD_C: Final = np.array([-18.0, 0.0, 25.0])
_COLD_LOG: Final = np.log([10.0, 2.0, 1.0])


class Acceptance(NamedTuple):
    """Charging resistance times C20, at 25 °C, and efficiency of one kind of battery.

    R · C20 = base + taper/(1 − s). Efficiency is `bulk` up to `knee`, then a straight line to
    `full` at s = 1.
    """

    base_ohm_ah: float
    taper_ohm_ah: float
    efficiency_bulk: float
    efficiency_knee: float
    efficiency_full: float


# Flooded: chosen so that a half-charged battery takes half of C20 as amperes at 25 °C and twice
# the standard test's minimum is not exceeded at 0 °C; taper time constant about 0.8 h. Common
# practice, no source. Efficiency: 0.95 falling to 0.6 makes 1.21 times the removed charge from
# half to full (a charger's manual prints 1.25), and 0.72 at 90 % charge (a published law says
# 0.74, from memory).
FLOODED: Final = Acceptance(1.2, 1.4, 0.95, 0.70, 0.60)
# Enhanced flooded takes about half as much again: common practice, no source.
FAST: Final = Acceptance(0.8, 0.95, 0.96, 0.75, 0.70)
# AGM takes as much, which a measurement bears out: a used 105 Ah deep-cycle battery that still had
# 95.7 Ah, half charged, stored 33.4 Ah in an hour at 42 A and 14.4 V (marine test page; here 35,
# with the flooded constants 29). Thin-plate spiral types take two to three times that when new
# (their maker's recharge times at 100 A), and lose some of it in months: the lower is kept.
# Efficiency: 0.97 from half to full. A thin-plate sealed battery of 15 Ah kept up to 98 % at low
# rates, less at higher ones (abstract of a laboratory study); general pages say 85 % for all lead.
AGM: Final = Acceptance(0.8, 0.95, 0.98, 0.85, 0.90)
# Lithium iron phosphate hardly tapers and loses next to nothing: from memory.
LITHIUM: Final = Acceptance(1.0, 0.03, 0.99, 0.95, 0.99)


def acceptance_of(chemistry: str) -> Acceptance:
    """Return the constants of a battery profile's chemistry."""
    if chemistry == "lithium_iron_phosphate":
        return LITHIUM
    return {"agm": AGM, "enhanced_flooded": FAST}.get(chemistry, FLOODED)


def charging_resistance_ohm(
    charge: ArrayLike, *, cold: ArrayLike, capacity_ah: ArrayLike, kind: Acceptance
) -> FloatArray:
    """Return the resistance a charging voltage works against.

    Parameters
    ----------
    charge : array_like
        State of charge, 0 to 1. [-]
    cold : array_like
        `cold_factor` of the battery's temperature. [-]
    capacity_ah : array_like
        20-hour capacity of the battery at its age. [Ah]
    kind : Acceptance

    Returns
    -------
    ndarray of float
        Resistance, inf when full. [Ω]
    """
    missing = np.maximum(1.0 - np.asarray(charge, dtype=float), 0.0)
    with np.errstate(divide="ignore"):
        warm = kind.base_ohm_ah + kind.taper_ohm_ah / missing
    capacity = np.asarray(capacity_ah, dtype=float)
    return np.asarray(warm * np.asarray(cold, dtype=float) / capacity)


def cold_factor(temperature_c: ArrayLike) -> FloatArray:
    """Return how many times the charging resistance is what it is at 25 °C.

    Examples
    --------
    >>> cold_factor([25.0, 0.0, -18.0]).round(6)
    array([ 1.,  2., 10.])
    """
    temperature = np.asarray(temperature_c, dtype=float)
    slope = (_COLD_LOG[1] - _COLD_LOG[0]) / (_COLD_C[1] - _COLD_C[0])
    below = np.minimum(temperature - _COLD_C[0], 0.0) * slope
    return np.asarray(np.exp(np.interp(temperature, _COLD_C, _COLD_LOG) + below))


def accepted_current_a(
    charge: ArrayLike,
    *,
    cold: ArrayLike,
    voltage_v: ArrayLike,
    resting_v: ArrayLike,
    capacity_ah: ArrayLike,
    kind: Acceptance,
) -> FloatArray:
    """Return the current a battery takes at a voltage, if the source can give it.

    Parameters
    ----------
    charge, cold, capacity_ah, kind
        As in `charging_resistance_ohm`.
    voltage_v : array_like
        Voltage held at the battery. [V]
    resting_v : array_like
        Its resting voltage at this charge and temperature. [V]

    Returns
    -------
    ndarray of float
        (V − E)/R, never below 0; 0 when full. [A]

    Examples
    --------
    >>> accepted_current_a([0.5, 0.9, 1.0], cold=1.0, voltage_v=14.1, capacity_ah=60.0,
    ...                    resting_v=[12.24, 12.57, 12.65], kind=FLOODED).round(1)
    array([27.9,  6. ,  0. ])
    """
    resistance = charging_resistance_ohm(charge, cold=cold, capacity_ah=capacity_ah, kind=kind)
    rise = np.asarray(voltage_v, dtype=float) - np.asarray(resting_v, dtype=float)
    return np.asarray(np.maximum(rise, 0.0) / resistance)


def charge_efficiency(charge: ArrayLike, *, kind: Acceptance) -> FloatArray:
    """Return the share of the charging current that stays as charge.

    The rest is the charge efficiency loss: gassing and side reactions, growing toward full.

    Examples
    --------
    >>> charge_efficiency([0.5, 0.85, 1.0], kind=FLOODED)
    array([0.95 , 0.775, 0.6  ])
    """
    span = 1.0 - kind.efficiency_knee
    above = np.clip((np.asarray(charge, dtype=float) - kind.efficiency_knee) / span, 0.0, 1.0)
    return np.asarray(kind.efficiency_bulk + above * (kind.efficiency_full - kind.efficiency_bulk))


def charging_time_h(
    from_charge: float, to_charge: float, *, current_a: float, full_ah: float, kind: Acceptance
) -> float:
    """Return how long a constant current needs from one charge to another. [h].

    Notes
    -----
    ∫ C ds/(η(s) I), by the midpoint rule in 400 steps; the current is taken as accepted
    throughout, as charger tables do.
    """
    edges = np.linspace(from_charge, to_charge, 401)
    middle = 0.5 * (edges[1:] + edges[:-1])
    kept = charge_efficiency(middle, kind=kind)
    return float(np.sum(np.diff(edges) * full_ah / (kept * current_a)))
