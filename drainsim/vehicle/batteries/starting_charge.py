"""Charge of the battery at parking: given, read from its resting voltage, or assumed.

One constant voltage offset per vehicle (the make is unknown) acts on the reading, on cut-offs and
ladders, standing and driving; not on freezing, charge acceptance or cranking headroom. A reading
after a full charge removes most of it; a shape spread stays, because published curves that agree
at full still differ at half charge. One function reads a charge for lanes, complaint and lists.
"""

import math
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from drainsim.errors import ScenarioError
from drainsim.files.profile import BatteryProfile
from drainsim.physics.open_circuit import (
    charge_behind_v,
    offset_after_full_reading_v,
    open_circuit_v,
    voltage_slope_v,
)
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.keys.ledger import Ledger

READ_AT_C: Final[float] = BATTERY.resting_temperature_c.default
# A voltmeter's and an undisturbed rest's error together: common practice, no source.
READING_SD_V: Final = 0.05
_WIDEST_SD: Final = 0.25  # on flat parts of a curve a voltage says little
# Standard deviations of a charge that was assumed, and of one the user gave.
_ASSUMED_SD: Final = 0.08
_GIVEN_SD: Final = 0.04
_SURFACE_CHARGE_V: Final = 0.35  # above full that driving can leave for hours
_DEAD_CELL_V: Final = 10.5  # five healthy cells show about this
_LONG_REST_H: Final = 4.0  # until surface charge is gone; all six: common practice, no source
# A profile that says nothing of how its make may differ: between flooded and AGM.
_OFFSET_SD_V: Final = 0.10
_SHAPE_SD_V: Final = 0.07
_MOST_DEPARTURE_V: Final = 0.6  # of a healthy full battery from its type's curve
_TEN_PERCENT_Z: Final = 1.2816


class Reading(NamedTuple):
    """A resting voltage and the battery's temperature then."""

    volts: float
    temperature_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingCharge:
    """The charge at parking, and how this make's resting voltage lies to the profile's curve.

    With a `reading` the charge is drawn from the voltage: `charge_sd` then is the meter's part
    alone, and the offset's comes on top of it. Where driving decides, `left` are the charges it
    leaves, in order, and the charge is drawn from them.
    """

    charge: float
    charge_sd: float
    offset_v: float
    offset_sd_v: float
    reading: Reading | None = None
    slope_v: float = math.inf  # of the curve there, volts per unit of charge
    left: tuple[float, ...] = ()

    def known_as(self, charge: float) -> "StartingCharge":
        """Return the same battery at a charge that no voltage stands behind any more."""
        sd = min(math.hypot(self.charge_sd, self.offset_sd_v / self.slope_v), _WIDEST_SD)
        return replace(self, charge=charge, charge_sd=sd, reading=None, left=())


def charge_read(
    profile: BatteryProfile, reading: Reading, *, offset_v: ArrayLike, misread_v: ArrayLike = 0.0
) -> FloatArray:
    """Return the charge behind a reading on batteries whose curve lies `offset_v` high.

    Empty and full are the ends: a voltage beyond them is one of this battery empty or full.

    Parameters
    ----------
    profile, reading : BatteryProfile, Reading
    offset_v : array_like, shape (...)
        How high this battery's curve lies. [V]
    misread_v : array_like, shape (...)
        Error of the meter. [V]
    """
    return charge_behind_v(
        reading.volts + np.asarray(misread_v, dtype=float),
        reading.temperature_c,
        offset_v=offset_v,
        curve=profile.curve("open_circuit_v"),
        curve_temperature_c=profile.number("open_circuit_temperature_c"),
        per_k=profile.number("open_circuit_v_per_k"),
    )


def resting_v(profile: BatteryProfile, charge: float, temperature_c: float) -> float:
    """Return the resting voltage of a battery of this type; as `resting_voltages_v`. [V]."""
    return float(resting_voltages_v(profile, charge, temperature_c))


def resting_voltages_v(
    profile: BatteryProfile, charge: float, temperature_c: ArrayLike
) -> FloatArray:
    """Return the resting voltages of a battery of this type. [V].

    Parameters
    ----------
    profile : BatteryProfile
    charge : float
        State of charge, 0 to 1. [-]
    temperature_c : array_like
        Of the battery. [°C]
    """
    return open_circuit_v(
        charge,
        temperature_c,
        curve=profile.curve("open_circuit_v"),
        curve_temperature_c=profile.number("open_circuit_temperature_c"),
        per_k=profile.number("open_circuit_v_per_k"),
    )


def starting_charge(ledger: Ledger, profile: BatteryProfile) -> StartingCharge:
    """Return the charge at parking with its spread.

    Parameters
    ----------
    ledger, profile : Ledger, BatteryProfile

    Raises
    ------
    ScenarioError
        If both charge and voltage are given, or a voltage fits no healthy resting battery.
    """
    get = ledger.scenario.get
    given, read_v = get(BATTERY.state_of_charge), get(BATTERY.resting_voltage_v)
    where = ledger.scenario.where
    if given is not None and read_v is not None:
        raise ScenarioError(
            f"{where}: battery has both state_of_charge and resting_voltage_v; keep one of them"
        )
    offset_v, offset_sd_v = _offset(ledger, profile)
    if read_v is not None:
        return _charge_from_voltage(ledger, profile, float(read_v), offset_v, offset_sd_v)
    return StartingCharge(
        charge=float(ledger.take(BATTERY.state_of_charge)),
        charge_sd=_ASSUMED_SD if given is None else _GIVEN_SD,
        offset_v=offset_v,
        offset_sd_v=offset_sd_v,
    )


def full_reading_range_v(profile: BatteryProfile) -> tuple[float, float]:
    """Return the voltages a full resting battery of this type can have, at 20 °C. [V]."""
    usual_v = resting_v(profile, 1.0, READ_AT_C)
    return usual_v - _MOST_DEPARTURE_V, usual_v + _MOST_DEPARTURE_V


def _offset(ledger: Ledger, profile: BatteryProfile) -> tuple[float, float]:
    """Return how far this battery's resting voltage lies above the profile's, and its spread."""
    sd_v = profile.number_or("open_circuit_offset_sd_v", _OFFSET_SD_V)
    full_v = ledger.scenario.get(BATTERY.full_resting_voltage_v)
    if full_v is None:
        return 0.0, sd_v
    usual_v = resting_v(profile, 1.0, READ_AT_C)
    if abs(full_v - usual_v) > _MOST_DEPARTURE_V:
        raise ScenarioError(
            f"{ledger.scenario.where}: {BATTERY.full_resting_voltage_v} = {full_v:g} V is more "
            f"than {_MOST_DEPARTURE_V:g} V from the {usual_v:.2f} V of a full resting battery of "
            "this type; read it a day after a full charge, or choose the battery's own profile"
        )
    mean_v, left_sd_v = offset_after_full_reading_v(
        full_v - usual_v,
        offset_sd_v=sd_v,
        shape_sd_v=profile.number_or("open_circuit_shape_sd_v", _SHAPE_SD_V),
        reading_sd_v=READING_SD_V,
    )
    ledger.note(BATTERY.full_resting_voltage_v, full_v, "measured")
    ledger.note(
        BATTERY.TABLE.figure("open_circuit_offset"),
        round(mean_v, 3),
        "estimated",
        f"from the full voltage, {usual_v:.2f} V being usual; ± {left_sd_v:.2f} V is left of "
        f"± {sd_v:.2f} V between makes",
        unit="V",
    )
    return mean_v, left_sd_v


def _charge_from_voltage(
    ledger: Ledger, profile: BatteryProfile, read_v: float, offset_v: float, offset_sd_v: float
) -> StartingCharge:
    """Return charge and spread from a voltage after a rest, the curve lying `offset_v` high."""
    scenario, where = ledger.scenario, ledger.scenario.where
    read_at = BATTERY.resting_temperature_c
    temperature_c = float(scenario.get_or_default(read_at))
    ledger.note(BATTERY.resting_voltage_v, read_v, "measured")
    assumed = scenario.get(read_at) is None
    ledger.note(
        read_at,
        temperature_c,
        "default" if assumed else "measured",
        read_at.source if assumed else "",
    )
    empty_v = resting_v(profile, 0.0, temperature_c) + offset_v
    full_v = resting_v(profile, 1.0, temperature_c) + offset_v
    if read_v > full_v + 2.0 * offset_sd_v + _SURFACE_CHARGE_V:
        raise ScenarioError(
            f"{where}: battery.resting_voltage_v = {read_v:g} V is above the {full_v:.2f} V "
            "of a full resting battery; read it hours after driving or charging"
        )
    if read_v < _DEAD_CELL_V:
        raise ScenarioError(
            f"{where}: battery.resting_voltage_v = {read_v:g} V is below {_DEAD_CELL_V:g} V: "
            "flat beyond this model or a dead cell; have the battery tested, and do not charge it "
            "if it may be frozen"
        )
    rested_h = scenario.get(BATTERY.rested_h)
    if rested_h is None or rested_h < _LONG_REST_H:
        ledger.warn(
            "battery.resting_voltage_v: surface charge after driving reads high; let the battery "
            "rest at least 4 h (better overnight) before trusting the voltage"
        )
    _warn_beyond(ledger, read_v, empty_v, full_v)
    reading = Reading(read_v, temperature_c)
    band_v = _TEN_PERCENT_Z * math.hypot(READING_SD_V, offset_sd_v)
    low, charge, high = (
        float(charge_read(profile, reading, offset_v=offset_v, misread_v=misread))
        for misread in (-band_v, 0.0, band_v)
    )
    slope_v = voltage_slope_v(profile.curve("open_circuit_v"), charge)
    ledger.note(
        BATTERY.state_of_charge,
        charge,
        "estimated",
        f"from the resting voltage: makes differ, 8 in 10 have {100 * low:.0f} to "
        f"{100 * high:.0f} % at it; {profile.provenance('open_circuit_v')}",
    )
    return StartingCharge(
        charge=charge,
        charge_sd=min(READING_SD_V / slope_v, _WIDEST_SD),
        offset_v=offset_v,
        offset_sd_v=offset_sd_v,
        reading=reading,
        slope_v=slope_v,
    )


def _warn_beyond(ledger: Ledger, read_v: float, empty_v: float, full_v: float) -> None:
    """Warn of a voltage beyond empty or full, which is taken as that end."""
    if read_v >= full_v:
        ledger.warn(
            "battery.resting_voltage_v = {read_v:g} V is above full ({full_v:.2f} V): taken "
            "as full, probably surface charge",
            read_v=read_v,
            full_v=full_v,
        )
    if read_v <= empty_v:
        ledger.warn(
            "battery.resting_voltage_v = {read_v:g} V is below empty ({empty_v:.2f} V): "
            "taken as empty; a battery left like this sulfates and freezes a few degrees "
            "below zero",
            read_v=read_v,
            empty_v=empty_v,
        )
