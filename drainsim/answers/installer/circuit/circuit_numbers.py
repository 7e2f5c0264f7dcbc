"""The numbers of one candidate supply point: fuse, wire, drops, dip while cranking."""

from dataclasses import asdict, dataclass
from typing import Any, Final

from drainsim.errors import RecordError
from drainsim.files.circuits import Circuit
from drainsim.language import message
from drainsim.physics.supply_point import (
    HOT_C,
    NORMAL_C,
    fuse_for_peak_a,
    fuse_ohm,
    run_ohm,
    section_for_run_mm2,
    wire_ampacity_a,
)
from drainsim.physics.wiring import CONTINUOUS_SHARE

# Lowest supply voltage of ISO 16750-2 code B (12 V) and F (24 V), as quoted by a secondary
# source; the unit maker's own figure is better.
_UNIT_MINIMUM_V: Final = {12: 8.0, 24: 16.0}
# Voltage at which a sense input still counts as on: common practice, no source.
SENSE_MINIMUM_V: Final = {12: 6.0, 24: 12.0}
# No reading of a system is higher, charging included: common practice, no source.
_HIGHEST: Final = 1.5
PEAK_A: Final = (
    0.25  # trade check value at 12 V, as the broadband presets; common practice, no source
)


def refuse_too_high(volts: float | None, system_v: int, *, what: str, say_24: str) -> None:
    """Refuse a reading that is none of its system: a battery of 24 V read as one of 12 V."""
    if volts is not None and volts > _HIGHEST * system_v:
        hint = say_24 if system_v == 12 else "check the reading"
        raise RecordError(f"{what} {volts:g} V is too high for a {system_v} V system; {hint}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyNeeds:
    """What the added unit asks of its supply; `peak_a` holds at `rated_at_v`."""

    system_v: int
    peak_a: float
    rated_at_v: float
    switching: bool
    minimum_v: float
    sense_minimum_v: float
    minimum_source: str

    @property
    def scale(self) -> float:
        """Return the system voltage over 12 V."""
        return self.system_v / 12.0

    def peak_at_a(self, voltage_v: float) -> float:
        """Return the peak current at a voltage: a switching supply draws constant power. [A]."""
        if not self.switching or voltage_v <= 0.0:
            return self.peak_a
        return self.peak_a * self.rated_at_v / max(voltage_v, self.minimum_v)


def supply_needs(
    *,
    system_v: int,
    peak_a: float = PEAK_A,
    rated_at_v: float = 12.0,
    switching: bool = True,
    minimum_v: float | None = None,
    sense_minimum_v: float | None = None,
) -> SupplyNeeds:
    """Return a unit's needs, with the defaults of its system.

    Parameters
    ----------
    system_v : int
        12 or 24. [V]
    peak_a : float
        Highest current at `rated_at_v`. [A]
    rated_at_v : float, optional
        Voltage the peak was stated at. [V]
    switching : bool
        Whether the supply draws constant power.
    minimum_v, sense_minimum_v : float, optional
        Lowest voltage the unit works at, and that its sense wire reads as on. [V]
    """
    given = minimum_v is not None
    return SupplyNeeds(
        system_v=system_v,
        peak_a=peak_a,
        rated_at_v=rated_at_v,
        switching=switching,
        minimum_v=minimum_v if minimum_v is not None else _UNIT_MINIMUM_V[system_v],
        sense_minimum_v=sense_minimum_v or SENSE_MINIMUM_V[system_v],
        minimum_source=message("given")
        if given
        else message("ISO 16750-2 lowest supply voltage, code B or F (secondary source)"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitNumbers:
    """What was calculated for one candidate; None where a reading or a length is missing."""

    required_fuse_a: float | None
    fuse_fits_slot: bool | None
    wire_carries_a: float | None
    wire_carries_thin_wall_a: float | None
    required_fuse_protects_wire: bool | None
    circuit_fuse_protects_wire: bool | None
    wire_needed_mm2: float | None
    run_ohm: float | None
    source_ohm: float | None
    loaded_drop_v: float | None
    drop_normal_v: float | None
    drop_hot_60c_v: float | None
    drop_hot_v: float | None
    drop_limit_v: float
    spare_a: float | None
    lowest_cranking_v: float | None

    def as_dict(self) -> dict[str, Any]:
        """Return the numbers as JSON-ready data."""
        return asdict(self)


def _unloaded_v(circuit: Circuit) -> float | None:
    """Return the reading the loaded one is compared with: key off if live then, else key on."""
    live = [
        value
        for value in (circuit.off_v, circuit.after_sleep_v, circuit.on_v)
        if value is not None and value > 2.0
    ]
    if circuit.kind in {"ignition", "accessory"} and circuit.on_v is not None:
        return circuit.on_v
    return live[0] if live else circuit.on_v


def circuit_numbers(circuit: Circuit, needs: SupplyNeeds, *, drop_limit_v: float) -> CircuitNumbers:
    """Return the numbers of one candidate.

    Parameters
    ----------
    circuit, needs : Circuit, SupplyNeeds
    drop_limit_v : float
        Most that may be lost on the way to the unit. [V]
    """
    peak_a = needs.peak_at_a(float(needs.system_v))
    fuse_a = fuse_for_peak_a(peak_a)
    loaded_drop_v, source_ohm = _loaded(circuit)
    before_ohm = max(source_ohm or 0.0, 0.0)
    extra_ohm = before_ohm + (fuse_ohm(fuse_a, kind=circuit.fuse_type) if fuse_a else 0.0)
    ohm_at = _run_ohm_by_temperature(circuit, extra_ohm)
    hottest_ohm = ohm_at.get(HOT_C[-1], before_ohm)
    section, slot_a = circuit.wire_mm2, circuit.slot_max_a
    carries_a = None if section is None else float(wire_ampacity_a(section))
    thin_a = None if section is None else float(wire_ampacity_a(section, thin_wall=True))
    return CircuitNumbers(
        required_fuse_a=fuse_a,
        fuse_fits_slot=None if slot_a is None or fuse_a is None else fuse_a <= slot_a,
        wire_carries_a=carries_a,
        wire_carries_thin_wall_a=thin_a,
        required_fuse_protects_wire=None
        if carries_a is None or not fuse_a
        else fuse_a <= carries_a,
        circuit_fuse_protects_wire=None
        if thin_a is None or circuit.fuse_a is None
        else circuit.fuse_a <= thin_a,
        wire_needed_mm2=None
        if circuit.length_m is None or fuse_a is None
        else section_for_run_mm2(
            peak_a,
            length_m=circuit.length_m,
            system_v=needs.system_v,
            fuse_a=fuse_a,
            source_ohm=extra_ohm,
        ),
        run_ohm=None
        if circuit.length_m is None or section is None
        else run_ohm(section, length_m=circuit.length_m),
        source_ohm=source_ohm,
        loaded_drop_v=loaded_drop_v,
        drop_normal_v=_times(ohm_at.get(NORMAL_C), peak_a),
        drop_hot_60c_v=_times(ohm_at.get(HOT_C[0]), peak_a),
        drop_hot_v=_times(ohm_at.get(HOT_C[1]), peak_a),
        drop_limit_v=drop_limit_v,
        spare_a=None
        if circuit.fuse_a is None or circuit.load_a is None
        else CONTINUOUS_SHARE * circuit.fuse_a - circuit.load_a,
        lowest_cranking_v=None
        if circuit.cranking_v is None
        else circuit.cranking_v - needs.peak_at_a(circuit.cranking_v) * hottest_ohm,
    )


def _times(ohm: float | None, current_a: float) -> float | None:
    return None if ohm is None else current_a * ohm


def _loaded(circuit: Circuit) -> tuple[float | None, float | None]:
    """Return the drop under the test load and the source resistance it shows. [V, ohm]."""
    rest_v = _unloaded_v(circuit)
    if circuit.loaded_v is None or circuit.loaded_at_a is None or rest_v is None:
        return None, None
    return rest_v - circuit.loaded_v, (rest_v - circuit.loaded_v) / circuit.loaded_at_a


def _run_ohm_by_temperature(circuit: Circuit, extra_ohm: float) -> dict[float, float]:
    """Return temperature → resistance there and back, fuse and source with it; {} if unknown."""
    if circuit.length_m is None or circuit.wire_mm2 is None:
        return {}
    return {
        temperature_c: run_ohm(
            circuit.wire_mm2,
            length_m=circuit.length_m,
            temperature_c=temperature_c,
            extra_ohm=extra_ohm,
        )
        for temperature_c in (NORMAL_C, *HOT_C)
    }
