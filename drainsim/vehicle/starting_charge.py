"""Charge of the battery at parking: given, read from its resting voltage, or assumed."""

from typing import Final

from drainsim.errors import ScenarioError
from drainsim.files.profile import BatteryProfile
from drainsim.physics.open_circuit import (
    open_circuit_v,
    state_of_charge_from_resting_v,
    voltage_slope_v,
)
from drainsim.vehicle.ledger import Ledger

_DEFAULT_CHARGE: Final = 0.85  # after ordinary driving: common practice, no source
_COMMON_PRACTICE: Final = "common practice, no source"
_READ_AT_C: Final = 20.0
# A voltmeter's and an undisturbed rest's error together: common practice, no source.
_RESTING_SD_V: Final = 0.05
_WIDEST_SD: Final = 0.25  # on flat parts of a curve a voltage says little
# Standard deviations of a charge that was assumed, and of one the user gave.
_ASSUMED_SD: Final = 0.08
_GIVEN_SD: Final = 0.04
_SURFACE_CHARGE_V: Final = 0.35  # above full that driving can leave for hours
_DEAD_CELL_V: Final = 10.5  # five healthy cells show about this
_LONG_REST_H: Final = 4.0  # until surface charge is gone; all six: common practice, no source


def resting_v(profile: BatteryProfile, charge: float, temperature_c: float) -> float:
    """Return the resting voltage of a battery of this type. [V]."""
    return float(
        open_circuit_v(
            charge,
            temperature_c,
            curve=profile.curve("open_circuit_v"),
            curve_temperature_c=profile.number("open_circuit_temperature_c"),
            per_k=profile.number("open_circuit_v_per_k"),
        )
    )


def starting_charge(ledger: Ledger, profile: BatteryProfile) -> tuple[float, float]:
    """Return the state of charge at parking and its standard deviation.

    Raises
    ------
    ScenarioError
        If both charge and voltage are given, or the voltage fits no healthy resting battery.
    """
    get = ledger.scenario.get
    given, read_v = get("battery", "state_of_charge"), get("battery", "resting_voltage_v")
    where = ledger.scenario.where
    if given is not None and read_v is not None:
        raise ScenarioError(
            f"{where}: battery has both state_of_charge and resting_voltage_v; keep one of them"
        )
    if read_v is None:
        value = _DEFAULT_CHARGE if given is None else float(given)
        if given is None:
            source = f"after ordinary driving; {_COMMON_PRACTICE}"
            ledger.note("battery.state_of_charge", value, "", "default", source)
            return value, _ASSUMED_SD
        ledger.note("battery.state_of_charge", value, "", "given")
        return value, _GIVEN_SD
    return _charge_from_voltage(ledger, profile, float(read_v))


def _charge_from_voltage(
    ledger: Ledger, profile: BatteryProfile, read_v: float
) -> tuple[float, float]:
    """Return charge and spread from a voltage read after a rest."""
    get, where = ledger.scenario.get, ledger.scenario.where
    read_at = get("battery", "resting_temperature_c")
    temperature_c = _READ_AT_C if read_at is None else float(read_at)
    ledger.note("battery.resting_voltage_v", read_v, "V", "measured")
    ledger.note(
        "battery.resting_temperature_c",
        temperature_c,
        "°C",
        "default" if read_at is None else "measured",
        "" if read_at is not None else "matters little: about 1 mV/K",
    )
    empty_v = resting_v(profile, 0.0, temperature_c)
    full_v = resting_v(profile, 1.0, temperature_c)
    if read_v > full_v + _SURFACE_CHARGE_V:
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
    rested_h = get("battery", "rested_h")
    if rested_h is None or rested_h < _LONG_REST_H:
        ledger.warn(
            "battery.resting_voltage_v: surface charge after driving reads high; let the battery "
            "rest at least 4 h (better overnight) before trusting the voltage"
        )
    charge = _charge_at(ledger, profile, read_v, temperature_c, (empty_v, full_v))
    slope = voltage_slope_v(profile.curve("open_circuit_v"), charge)
    ledger.note(
        "battery.state_of_charge",
        charge,
        "",
        "estimated",
        f"from the resting voltage; {profile.provenance('open_circuit_v')}",
    )
    return charge, min(_RESTING_SD_V / slope, _WIDEST_SD)


def _charge_at(
    ledger: Ledger,
    profile: BatteryProfile,
    read_v: float,
    temperature_c: float,
    ends_v: tuple[float, float],
) -> float:
    """Return the charge a voltage stands for; beyond empty or full its end, with a warning."""
    empty_v, full_v = ends_v
    if read_v >= full_v:
        ledger.warn(
            f"battery.resting_voltage_v = {read_v:g} V is above full ({full_v:.2f} V): taken as "
            "full, probably surface charge"
        )
        return 1.0
    if read_v <= empty_v:
        ledger.warn(
            f"battery.resting_voltage_v = {read_v:g} V is below empty ({empty_v:.2f} V): taken "
            "as empty; a battery left like this sulfates and freezes a few degrees below zero"
        )
        return 0.0
    return float(
        state_of_charge_from_resting_v(
            read_v,
            temperature_c,
            curve=profile.curve("open_circuit_v"),
            curve_temperature_c=profile.number("open_circuit_temperature_c"),
            per_k=profile.number("open_circuit_v_per_k"),
        )
    )
