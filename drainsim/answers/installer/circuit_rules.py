"""Rules for a supply point: each says in words, with its number, what speaks for or against.

A supply point is refused by the first rule that refuses it; readings that are missing then do not
matter. Safety circuits are refused first, by class, by the user's word or by their name.
"""

from typing import Final

from drainsim.answers.installer.circuit_numbers import CircuitNumbers, SupplyNeeds
from drainsim.answers.installer.circuit_verdict import CircuitCase, RoleVerdict
from drainsim.answers.installer.safety_words import safety_judgement
from drainsim.files.circuits import Circuit
from drainsim.physics.supply_point import DROP_SHARE, SUSPECT_DROP_V, WIRE_DROP_V
from drainsim.physics.wiring import CONTINUOUS_SHARE

# Readings at 12 V, doubled at 24 V; all common practice, no source.
LIVE_V: Final = 10.5
ZERO_V: Final = 0.5
FLOATING_V: Final = 2.0
_DEAD_CRANKING_V: Final = 1.0
# A circuit that keeps a control unit awake is refused once it costs this share of the days:
# common practice, no source.
MOST_DAYS_LOST_SHARE: Final = 0.25

SAFETY_CAUTION: Final = (
    "never splice, tap, probe or measure resistance on restraint, braking, steering or emergency "
    "wiring: a restraint can fire or fail to; follow the vehicle maker's instructions"
)


def constant_power(
    circuit: Circuit,
    needs: SupplyNeeds,
    numbers: CircuitNumbers,
    *,
    days: tuple[float | None, float | None, int],
) -> RoleVerdict:
    """Return whether a circuit may feed the unit day and night.

    `days` holds days until no-start with the circuit as it is, with a control unit kept awake,
    and the horizon; None stands for beyond the horizon.
    """
    case = CircuitCase(circuit, needs, numbers)
    if safety(case):
        return case.verdict("constant power", None)
    _stays_hot(case)
    _while_cranking(case)
    _spare_capacity(case)
    _source(case)
    _wire(case)
    lost = _kept_awake(case, days)
    return case.verdict("constant power", lost)


def safety(case: CircuitCase) -> bool:
    """Refuse a safety circuit; say of a word that was read otherwise what it was read as."""
    judged = safety_judgement(case.circuit)
    if judged.refused:
        case.judge("refuses", f"{judged.why}: refused whatever its readings; {SAFETY_CAUTION}")
    elif judged.why:
        case.judge(
            "condition",
            f"{judged.why}: look it up in the maker's wiring diagram first, and write yes under "
            "safety_circuit if it is one after all",
        )
    return judged.refused


def _stays_hot(case: CircuitCase) -> None:
    circuit, scale = case.circuit, case.needs.scale
    after, off = circuit.after_sleep_v, circuit.off_v
    kind = circuit.kind
    if off is not None and off < LIVE_V * scale and not (after and after >= LIVE_V * scale):
        case.judge(
            "refuses",
            f"reads {off:g} V at key off: not live with the key off",
            off,
            reading="off_v",
        )
    if after is not None and after < LIVE_V * scale:
        first = f"reads {off:g} V at key off but " if off is not None and off > after else "reads "
        case.judge(
            "refuses",
            f"{first}{after:g} V after the vehicle slept: "
            + (
                "switched off with the sleeping networks (retained circuits go dead after 10 to "
                "60 min), so the unit would lose its supply"
                if after < FLOATING_V * scale
                else "neither live nor dead; the battery is low, or it is a signal and no supply"
            ),
            after,
            reading="after_sleep_v",
        )
    elif after is not None:
        if kind in {"ignition", "accessory", "retained"}:
            case.judge(
                "unknown",
                f"class {kind} but still {after:g} V after sleep: class and reading disagree; "
                "read after_sleep_v again an hour after locking",
                after,
                reading="after_sleep_v",
            )
        else:
            case.judge(
                "speaks for",
                f"{after:g} V after the vehicle slept",
                after,
                reading="after_sleep_v",
            )
    elif kind in {"ignition", "accessory"}:
        case.judge("refuses", f"class {kind}: goes dead with the key off")
    elif kind == "retained":
        case.judge(
            "refuses",
            "class retained: goes dead 10 to 60 min after key off (after_sleep_v would prove it)",
        )
    elif kind == "always_hot":
        case.missing(
            "after_sleep_v",
            "only a reading at least 45 min after locking tells always hot from retained",
        )


def _while_cranking(case: CircuitCase) -> None:
    circuit, needs, lowest = case.circuit, case.needs, case.numbers.lowest_cranking_v
    if circuit.cranking_v is None or lowest is None:
        case.judge(
            "condition",
            "cranking_v was not read: whether the unit restarts with every start is open",
            reading="cranking_v",
        )
    elif circuit.cranking_v < _DEAD_CRANKING_V * needs.scale:
        case.judge(
            "refuses",
            f"{circuit.cranking_v:g} V while cranking: switched off during every start",
            circuit.cranking_v,
            reading="cranking_v",
        )
    elif lowest < needs.minimum_v:
        case.judge(
            "consequence",
            f"falls to {lowest:.1f} V at the unit while cranking, below its minimum of "
            f"{needs.minimum_v:g} V: the unit may restart with every start",
            lowest,
            reading="cranking_v",
        )
    else:
        case.judge(
            "speaks for",
            f"{lowest:.1f} V at the unit while cranking, minimum {needs.minimum_v:g} V",
            lowest,
            reading="cranking_v",
        )


def _spare_capacity(case: CircuitCase) -> None:
    circuit, spare = case.circuit, case.numbers.spare_a
    peak = case.needs.peak_at_a(float(case.needs.system_v))
    fuse = case.numbers.required_fuse_a
    if circuit.kind == "battery_direct":
        if fuse is not None:
            case.judge(
                "condition",
                f"own {fuse:g} A fuse within a hand's width of the battery, fitted last (common "
                "practice, no source)",
                fuse,
                "A",
            )
        return
    if circuit.fuse_a is None:
        case.missing("fuse_a", "without the fuse rating the spare capacity cannot be calculated")
        return
    if circuit.load_a is None or spare is None:
        if peak > CONTINUOUS_SHARE * circuit.fuse_a:
            case.judge(
                "refuses", f"a {circuit.fuse_a:g} A fuse is too small for {peak:g} A", peak, "A"
            )
        else:
            case.missing(
                "load_a",
                f"{100 * CONTINUOUS_SHARE:.0f} % of {circuit.fuse_a:g} A is shared with its "
                "present load",
            )
        return
    words = (
        f"{100 * CONTINUOUS_SHARE:.0f} % of the {circuit.fuse_a:g} A fuse less "
        f"{circuit.load_a:g} A of present load leaves {spare:.2f} A for a peak of {peak:.2f} A"
    )
    case.judge("speaks for" if spare >= peak else "refuses", words, spare, "A", "load_a")


def _source(case: CircuitCase) -> None:
    circuit, numbers = case.circuit, case.numbers
    drop, source = numbers.loaded_drop_v, numbers.source_ohm
    if drop is None or source is None:
        if circuit.loaded_v is not None:
            case.missing("off_v", "the loaded reading has no unloaded one to compare with")
        elif circuit.kind != "battery_direct":
            case.missing("loaded_v", "an unloaded reading hides contact resistance")
        return
    words = f"drops {drop:.2f} V at {circuit.loaded_at_a:g} A ({1000 * source:.0f} mohm)"
    if drop < -0.1 * case.needs.scale:
        case.missing(
            "loaded_v", f"{words}: a load cannot raise the voltage; take both readings again"
        )
    elif drop > SUSPECT_DROP_V + 1e-9:
        case.judge(
            "refuses",
            f"{words}: more than {SUSPECT_DROP_V:g} V under load is suspect (workshop manuals)",
            drop,
            reading="loaded_v",
        )
    elif drop > WIRE_DROP_V + 1e-9:
        case.judge(
            "consequence",
            f"{words}: above the {WIRE_DROP_V:g} V a wire may drop (trade school note); look for "
            "the joint",
            drop,
            reading="loaded_v",
        )
    else:
        case.judge("speaks for", words, drop, reading="loaded_v")


def _wire(case: CircuitCase) -> None:
    numbers = case.numbers
    fuse = numbers.required_fuse_a
    if fuse is None:
        case.judge("refuses", "the unit's peak is beyond any blade fuse", case.needs.peak_a, "A")
        return
    if numbers.fuse_fits_slot is False:
        case.judge("refuses", f"the slot takes less than the {fuse:g} A needed", fuse, "A")
    _protection(case, fuse)
    _drop(case)


def _protection(case: CircuitCase, fuse: float) -> None:
    """Say whether a fuse protects the new wire, and which."""
    circuit, numbers = case.circuit, case.numbers
    if circuit.fuse_a is not None and numbers.wire_carries_a is not None:
        carries, thin = numbers.wire_carries_a, numbers.wire_carries_thin_wall_a
        words = f"{circuit.wire_mm2:.2g} mm² carries {carries:.3g} A (cautious rule)"
        if numbers.circuit_fuse_protects_wire is False:
            case.judge(
                "condition",
                f"the {circuit.fuse_a:g} A fuse does not protect the new wire: {words}, "
                f"{thin:.3g} A as thin-wall cable; its own {fuse:g} A fuse belongs where it leaves "
                "the circuit",
                carries,
                "A",
            )
        elif circuit.fuse_a > carries:
            case.judge(
                "condition",
                f"the {circuit.fuse_a:g} A fuse protects the new wire only if it is thin-wall "
                f"cable ({thin:.3g} A); {words}; fit an own {fuse:g} A fuse where it leaves the "
                "circuit",
                carries,
                "A",
            )
        else:
            case.judge(
                "speaks for",
                f"the {circuit.fuse_a:g} A fuse protects the wire: {words}",
                carries,
                "A",
            )
    if numbers.required_fuse_protects_wire is False:
        case.judge(
            "condition",
            f"a {fuse:g} A fuse does not protect {circuit.wire_mm2:.2g} mm²: take "
            f"{numbers.wire_needed_mm2 or 0.5:g} mm²",
            fuse,
            "A",
        )


def _drop(case: CircuitCase) -> None:
    """Say what the new wire drops at the unit's peak."""
    circuit, numbers = case.circuit, case.numbers
    if numbers.drop_hot_v is None:
        if circuit.kind == "battery_direct" and circuit.length_m is None:
            case.missing("length_m", "fuse, wire and drop follow from the length of the run")
        else:
            case.judge("condition", "wire_mm2 and length_m are needed for the voltage drop")
        return
    words = (
        f"drop at peak {numbers.drop_normal_v:.3f} V at 20 °C, {numbers.drop_hot_v:.3f} V at "
        f"85 °C, limit {numbers.drop_limit_v:.2f} V ({100 * DROP_SHARE:.0f} %)"
    )
    if numbers.drop_hot_v <= numbers.drop_limit_v:
        case.judge("speaks for", words, numbers.drop_hot_v)
    elif numbers.wire_needed_mm2 is not None:
        needed = numbers.wire_needed_mm2
        case.judge("condition", f"{words}: take {needed:g} mm² instead", needed, "mm²")
    else:
        case.judge("refuses", f"{words}: no usual section is enough", numbers.drop_hot_v)


def _kept_awake(case: CircuitCase, days: tuple[float | None, float | None, int]) -> float | None:
    awake_a = case.circuit.wakes_module_a
    if awake_a is None:
        case.judge(
            "condition",
            "wakes_module_a was not read: measure the vehicle's settled current again with the "
            "unit connected",
            reading="wakes_module_a",
        )
        return None
    if awake_a == 0.0:
        case.judge("speaks for", "keeps no control unit awake", 0.0, "A", "wakes_module_a")
        return 0.0
    before, after, horizon = days
    beyond = f"more than {horizon}"
    words = (
        f"keeps a control unit awake at {1000 * awake_a:.0f} mA: no-start after "
        f"{beyond if after is None else f'{after:.0f}'} instead of "
        f"{beyond if before is None else f'{before:.0f}'} days"
    )
    lost = (horizon if before is None else before) - (horizon if after is None else after)
    reference = horizon if before is None else before
    too_much = reference > 0.0 and lost > MOST_DAYS_LOST_SHARE * reference
    case.judge("refuses" if too_much else "consequence", words, lost, "days", "wakes_module_a")
    return float(lost)
