"""The numbers of one candidate supply point: fuse, wire, drops, dip while cranking."""

from dataclasses import asdict, dataclass
from typing import Any, Final

from drainsim.models.circuits import Circuit
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
_SENSE_MINIMUM_V: Final = {12: 6.0, 24: 12.0}
PEAK_A: Final = 0.25  # trade check value at 12 V: common practice, no source


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
    """Return a unit's needs, with the defaults of its system."""
    given = minimum_v is not None
    return SupplyNeeds(
        system_v=system_v,
        peak_a=peak_a,
        rated_at_v=rated_at_v,
        switching=switching,
        minimum_v=minimum_v if minimum_v is not None else _UNIT_MINIMUM_V[system_v],
        sense_minimum_v=sense_minimum_v or _SENSE_MINIMUM_V[system_v],
        minimum_source="given"
        if given
        else "ISO 16750-2 lowest supply voltage, code B or F (secondary source)",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitNumbers:
    """What was reckoned for one candidate; None where a reading or a length is missing."""

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


def unloaded_v(circuit: Circuit) -> float | None:
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
    """Return the numbers of one candidate."""
    peak_a = needs.peak_at_a(float(needs.system_v))
    fuse_a = fuse_for_peak_a(peak_a)
    rest_v = unloaded_v(circuit)
    loaded_drop = source = None
    if circuit.loaded_v is not None and circuit.loaded_at_a is not None and rest_v is not None:
        loaded_drop = rest_v - circuit.loaded_v
        source = loaded_drop / circuit.loaded_at_a
    before = max(source or 0.0, 0.0)
    drops: dict[float, float | None] = dict.fromkeys((NORMAL_C, *HOT_C))
    ohm_hot = run = None
    needed = None
    if circuit.length_m is not None:
        extra = before + (fuse_ohm(fuse_a, kind=circuit.fuse_type) if fuse_a else 0.0)
        if circuit.wire_mm2 is not None:
            for temperature_c in drops:
                ohm = run_ohm(
                    circuit.wire_mm2,
                    length_m=circuit.length_m,
                    temperature_c=temperature_c,
                    extra_ohm=extra,
                )
                drops[temperature_c] = peak_a * ohm
                ohm_hot = ohm
            run = run_ohm(circuit.wire_mm2, length_m=circuit.length_m)
        if fuse_a is not None:
            needed = section_for_run_mm2(
                peak_a,
                length_m=circuit.length_m,
                system_v=needs.system_v,
                fuse_a=fuse_a,
                source_ohm=extra,
            )
    carries = thin = None
    if circuit.wire_mm2 is not None:
        carries = float(wire_ampacity_a(circuit.wire_mm2))
        thin = float(wire_ampacity_a(circuit.wire_mm2, thin_wall=True))
    lowest = None
    if circuit.cranking_v is not None:
        ohm = ohm_hot if ohm_hot is not None else before
        lowest = circuit.cranking_v - needs.peak_at_a(circuit.cranking_v) * ohm
    spare = None
    if circuit.fuse_a is not None and circuit.load_a is not None:
        spare = CONTINUOUS_SHARE * circuit.fuse_a - circuit.load_a
    slot = circuit.slot_max_a
    return CircuitNumbers(
        required_fuse_a=fuse_a,
        fuse_fits_slot=None if slot is None or fuse_a is None else fuse_a <= slot,
        wire_carries_a=carries,
        wire_carries_thin_wall_a=thin,
        required_fuse_protects_wire=None if carries is None or not fuse_a else fuse_a <= carries,
        circuit_fuse_protects_wire=None
        if thin is None or circuit.fuse_a is None
        else circuit.fuse_a <= thin,
        wire_needed_mm2=needed,
        run_ohm=run,
        source_ohm=source,
        loaded_drop_v=loaded_drop,
        drop_normal_v=drops[NORMAL_C],
        drop_hot_60c_v=drops[HOT_C[0]],
        drop_hot_v=drops[HOT_C[1]],
        drop_limit_v=drop_limit_v,
        spare_a=spare,
        lowest_cranking_v=lowest,
    )
