"""Rules for a supply point: each says in words, with its number, what speaks for or against.

A supply point is refused by the first rule that refuses it; readings that are missing then do not
matter. Safety circuits are refused first, by class, by the user's word or by their name.
"""

from typing import Final

from drainsim.answers.installer.circuit.circuit_numbers import CircuitNumbers, SupplyNeeds
from drainsim.answers.installer.circuit.circuit_verdict import CircuitCase, RoleVerdict
from drainsim.answers.installer.circuit.safety_words import safety_judgement
from drainsim.answers.installer.circuit.wire_rules import wire
from drainsim.files.circuits import Circuit
from drainsim.language import Message, message
from drainsim.physics.supply_point import SUSPECT_DROP_V, WIRE_DROP_V
from drainsim.physics.wiring import CONTINUOUS_SHARE

# Readings at 12 V, doubled at 24 V; all common practice, no source.
LIVE_V: Final = 10.5
ZERO_V: Final = 0.5
FLOATING_V: Final = 2.0
_DEAD_CRANKING_V: Final = 1.0
# A circuit that keeps a control unit awake is refused once it costs this share of the days:
# common practice, no source.
MOST_DAYS_LOST_SHARE: Final = 0.25

SAFETY_CAUTION: Final = message(
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

    Parameters
    ----------
    circuit, needs, numbers : Circuit, SupplyNeeds, CircuitNumbers
        Its readings, what the unit asks, and what was calculated of both.
    days : (float or None, float or None, int)
        Days until no-start with the circuit as it is, with a control unit kept awake, and the
        horizon; None is beyond it. [d]
    """
    case = CircuitCase(circuit, needs, numbers)
    if safety(case):
        return case.verdict("constant power", None)
    _stays_hot(case)
    _while_cranking(case)
    _spare_capacity(case)
    _source(case)
    wire(case)
    lost = _kept_awake(case, days)
    return case.verdict("constant power", lost)


def safety(case: CircuitCase) -> bool:
    """Refuse a safety circuit; say of a word that was read otherwise what it was read as."""
    judged = safety_judgement(case.circuit)
    if judged.refused:
        case.judge(
            "refuses",
            "{why}: refused whatever its readings; {caution}",
            why=judged.why,
            caution=SAFETY_CAUTION,
        )
    elif judged.why:
        case.judge(
            "condition",
            "{why}: look it up in the maker's wiring diagram first, and write yes under "
            "safety_circuit if it is one after all",
            why=judged.why,
        )
    return judged.refused


def _stays_hot(case: CircuitCase) -> None:
    circuit, scale = case.circuit, case.needs.scale
    after, off = circuit.after_sleep_v, circuit.off_v
    kind = circuit.kind
    if off is not None and off < LIVE_V * scale and not (after and after >= LIVE_V * scale):
        case.judge(
            "refuses",
            "reads {volts:g} V at key off: not live with the key off",
            off,
            reading="off_v",
            volts=off,
        )
    if after is not None and after < LIVE_V * scale:
        why = (
            message(
                "switched off with the sleeping networks (retained circuits go dead after 10 to "
                "60 min), so the unit would lose its supply"
            )
            if after < FLOATING_V * scale
            else message(
                "neither live nor dead; the battery is low, or it is a signal and no supply"
            )
        )
        case.judge(
            "refuses",
            message(
                "reads {off:g} V at key off but {volts:g} V after the vehicle slept: {why}",
                off=off,
                volts=after,
                why=why,
            )
            if off is not None and off > after
            else message("reads {volts:g} V after the vehicle slept: {why}", volts=after, why=why),
            after,
            reading="after_sleep_v",
        )
    elif after is not None:
        if kind in {"ignition", "accessory", "retained"}:
            case.judge(
                "unknown",
                "class {kind} but still {volts:g} V after sleep: class and reading disagree; "
                "read after_sleep_v again an hour after locking",
                after,
                reading="after_sleep_v",
                kind=message(kind),
                volts=after,
            )
        else:
            case.judge(
                "speaks for",
                "{volts:g} V after the vehicle slept",
                after,
                reading="after_sleep_v",
                volts=after,
            )
    elif kind in {"ignition", "accessory"}:
        case.judge("refuses", "class {kind}: goes dead with the key off", kind=message(kind))
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
            "{volts:g} V while cranking: switched off during every start",
            circuit.cranking_v,
            reading="cranking_v",
            volts=circuit.cranking_v,
        )
    elif lowest < needs.minimum_v:
        case.judge(
            "consequence",
            "falls to {volts:.1f} V at the unit while cranking, below its minimum of "
            "{minimum:g} V: the unit may restart with every start",
            lowest,
            reading="cranking_v",
            volts=lowest,
            minimum=needs.minimum_v,
        )
    else:
        case.judge(
            "speaks for",
            "{volts:.1f} V at the unit while cranking, minimum {minimum:g} V",
            lowest,
            reading="cranking_v",
            volts=lowest,
            minimum=needs.minimum_v,
        )


def _spare_capacity(case: CircuitCase) -> None:
    circuit, spare = case.circuit, case.numbers.spare_a
    peak = case.needs.peak_at_a(float(case.needs.system_v))
    fuse = case.numbers.required_fuse_a
    if circuit.kind == "battery_direct":
        if fuse is not None:
            case.judge(
                "condition",
                "own {fuse:g} A fuse within a hand's width of the battery, fitted last (common "
                "practice, no source)",
                fuse,
                "A",
                fuse=fuse,
            )
        return
    if circuit.fuse_a is None:
        case.missing("fuse_a", "without the fuse rating the spare capacity cannot be calculated")
        return
    if circuit.load_a is None or spare is None:
        if peak > CONTINUOUS_SHARE * circuit.fuse_a:
            case.judge(
                "refuses",
                "a {fuse:g} A fuse is too small for {peak:g} A",
                peak,
                "A",
                fuse=circuit.fuse_a,
                peak=peak,
            )
        else:
            case.missing(
                "load_a",
                "{percent:.0f} % of {fuse:g} A is shared with its present load",
                percent=100 * CONTINUOUS_SHARE,
                fuse=circuit.fuse_a,
            )
        return
    words = message(
        "{percent:.0f} % of the {fuse:g} A fuse less {load:g} A of present load leaves {spare:.2f} "
        "A for a peak of {peak:.2f} A",
        percent=100 * CONTINUOUS_SHARE,
        fuse=circuit.fuse_a,
        load=circuit.load_a,
        spare=spare,
        peak=peak,
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
    words = message(
        "drops {drop:.2f} V at {load:g} A ({milliohm:.0f} mohm)",
        drop=drop,
        load=circuit.loaded_at_a or 0.0,
        milliohm=1000 * source,
    )
    if drop < -0.1 * case.needs.scale:
        case.missing(
            "loaded_v",
            "{drops}: a load cannot raise the voltage; take both readings again",
            drops=words,
        )
    elif drop > SUSPECT_DROP_V + 1e-9:
        case.judge(
            "refuses",
            "{drops}: more than {limit:g} V under load is suspect (workshop manuals)",
            drop,
            reading="loaded_v",
            drops=words,
            limit=SUSPECT_DROP_V,
        )
    elif drop > WIRE_DROP_V + 1e-9:
        case.judge(
            "consequence",
            "{drops}: above the {limit:g} V a wire may drop (trade school note); look for the "
            "joint",
            drop,
            reading="loaded_v",
            drops=words,
            limit=WIRE_DROP_V,
        )
    else:
        case.judge("speaks for", words, drop, reading="loaded_v")


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
    words = message(
        "keeps a control unit awake at {current:.0f} mA: no-start after {after} instead of "
        "{before} days",
        current=1000 * awake_a,
        after=_within(after, horizon),
        before=_within(before, horizon),
    )
    lost = (horizon if before is None else before) - (horizon if after is None else after)
    reference = horizon if before is None else before
    too_much = reference > 0.0 and lost > MOST_DAYS_LOST_SHARE * reference
    case.judge("refuses" if too_much else "consequence", words, lost, "days", "wakes_module_a")
    return float(lost)


def _within(days: float | None, horizon: int) -> Message:
    """Return a number of days without their name."""
    if days is None:
        return message("more than {days}", days=horizon)
    return message("{days:.0f}", days=days)
