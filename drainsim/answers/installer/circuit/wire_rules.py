"""Rules for the wire from a supply point to the unit, each in words with its number."""

from drainsim.answers.installer.circuit.circuit_verdict import CircuitCase
from drainsim.language import Celsius, Message, message
from drainsim.physics.supply_point import DROP_SHARE, HOT_C, NORMAL_C, section_for_run_mm2


def wire(case: CircuitCase) -> None:
    """Weigh fuse, slot, section and voltage drop of the run to the unit."""
    numbers = case.numbers
    fuse = numbers.required_fuse_a
    if fuse is None:
        case.judge("refuses", "the unit's peak is beyond any blade fuse", case.needs.peak_a, "A")
        return
    if numbers.fuse_fits_slot is False:
        case.judge(
            "refuses", "the slot takes less than the {fuse:g} A needed", fuse, "A", fuse=fuse
        )
    _protection(case, fuse)
    _drop(case)


def _protection(case: CircuitCase, fuse: float) -> None:
    """Say whether a fuse protects the new wire, and which."""
    circuit, numbers = case.circuit, case.numbers
    if circuit.fuse_a is not None and numbers.wire_carries_a is not None:
        carries = numbers.wire_carries_a
        words = message(
            "{section:.2g} mm² carries {current:.3g} A (cautious rule)",
            section=circuit.wire_mm2 or 0.0,
            current=carries,
        )
        thin = numbers.wire_carries_thin_wall_a or 0.0
        if numbers.circuit_fuse_protects_wire is False:
            text = message(
                "the {fuse:g} A fuse does not protect the new wire: {carries}, {thin:.3g} A as "
                "thin-wall cable; its own {own:g} A fuse belongs where it leaves the circuit",
                fuse=circuit.fuse_a,
                carries=words,
                thin=thin,
                own=fuse,
            )
        elif circuit.fuse_a > carries:
            text = message(
                "the {fuse:g} A fuse protects the new wire only if it is thin-wall cable "
                "({thin:.3g} A); {carries}; fit an own {own:g} A fuse where it leaves the circuit",
                fuse=circuit.fuse_a,
                carries=words,
                thin=thin,
                own=fuse,
            )
        else:
            text = message(
                "the {fuse:g} A fuse protects the wire: {carries}",
                fuse=circuit.fuse_a,
                carries=words,
            )
        protects = circuit.fuse_a <= carries
        case.judge("speaks for" if protects else "condition", text, carries, "A")
    if numbers.required_fuse_protects_wire is False:
        words = message(
            "a {fuse:g} A fuse does not protect {section:.2g} mm²",
            fuse=fuse,
            section=circuit.wire_mm2 or 0.0,
        )
        carrying = numbers.wire_needed_mm2 or section_for_run_mm2(
            0.0, length_m=0.0, system_v=case.needs.system_v, fuse_a=fuse
        )
        _take(case, words, carrying)


def _take(case: CircuitCase, words: Message, section_mm2: float | None) -> None:
    """Ask for the section that cures what words say; refuse where no usual one does."""
    if section_mm2 is None:
        case.judge("refuses", "{drop}: no usual section is enough", drop=words)
        return
    case.judge(
        "condition",
        "{drop}: take {needed:g} mm² instead",
        section_mm2,
        "mm²",
        drop=words,
        needed=section_mm2,
    )


def _drop(case: CircuitCase) -> None:
    """Say what the new wire drops at the unit's peak."""
    circuit, numbers = case.circuit, case.numbers
    if numbers.drop_hot_v is None:
        if circuit.kind == "battery_direct" and circuit.length_m is None:
            case.missing("length_m", "fuse, wire and drop follow from the length of the run")
        else:
            case.judge("condition", "the drop follows from the wire's cross-section and length")
        return
    words = message(
        "drop at peak {normal:.3f} V at {normal_c}, {hot:.3f} V at {hot_c}, limit {limit:.2f} V "
        "({percent:.0f} %)",
        normal=numbers.drop_normal_v or 0.0,
        normal_c=Celsius(NORMAL_C),
        hot=numbers.drop_hot_v,
        hot_c=Celsius(HOT_C[1]),
        limit=numbers.drop_limit_v,
        percent=100 * DROP_SHARE,
    )
    if numbers.drop_hot_v <= numbers.drop_limit_v:
        case.judge("speaks for", words, numbers.drop_hot_v)
    else:
        _take(case, words, numbers.wire_needed_mm2)
