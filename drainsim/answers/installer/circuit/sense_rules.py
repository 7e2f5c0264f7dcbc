"""Rules for the wire that tells the unit that the key is on, each in words with its number."""

from typing import Final

from drainsim.answers.installer.circuit.circuit_numbers import CircuitNumbers, SupplyNeeds
from drainsim.answers.installer.circuit.circuit_rules import FLOATING_V, LIVE_V, ZERO_V, safety
from drainsim.answers.installer.circuit.circuit_verdict import CircuitCase, RoleVerdict
from drainsim.files.circuits import Circuit
from drainsim.language import message

_SENSE_FUSE_A: Final = 2.0


def ignition_sense(circuit: Circuit, needs: SupplyNeeds, numbers: CircuitNumbers) -> RoleVerdict:
    """Return whether a circuit may tell the unit that the key is on.

    Parameters
    ----------
    circuit, needs, numbers : Circuit, SupplyNeeds, CircuitNumbers
        Its readings, what the unit asks, and what was calculated of both.
    """
    case = CircuitCase(circuit, needs, numbers)
    if safety(case):
        return case.verdict("ignition sense", None)
    _follows_key(case)
    _sense_while_cranking(case)
    case.judge(
        "condition",
        "own fuse of at most {fuse:g} A where the sense wire taps the circuit (common "
        "practice, no source)",
        _SENSE_FUSE_A,
        "A",
        fuse=_SENSE_FUSE_A,
    )
    return case.verdict("ignition sense", None)


def _follows_key(case: CircuitCase) -> None:
    circuit, scale = case.circuit, case.needs.scale
    off, on, after = circuit.off_v, circuit.on_v, circuit.after_sleep_v
    if circuit.kind in {"battery_direct", "always_hot"}:
        case.judge(
            "refuses",
            "class {kind}: does not follow the key; sense tied to constant power defeats "
            "restart, self-test and trip reports",
            kind=message(circuit.kind),
        )
    if off is None:
        case.missing("off_v", "the sense wire must go to 0 V with the key off")
    elif off > FLOATING_V * scale:
        text = message("reads {volts:g} V at key off: does not go to 0 V with the key", volts=off)
        if after is not None and after < ZERO_V * scale:
            text = message("{why}, so every trip would end late", why=text)
        case.judge("refuses", text, off, reading="off_v")
    elif off > ZERO_V * scale:
        case.judge(
            "unknown",
            "{volts:g} V at key off may be a floating wire: read off_v again with a test lamp "
            "on it",
            off,
            reading="off_v",
            volts=off,
        )
    else:
        case.judge("speaks for", "{volts:g} V at key off", off, reading="off_v", volts=off)
    if after is not None and off is not None and off <= FLOATING_V * scale < after:
        case.judge(
            "refuses",
            "comes up to {volts:g} V while parked: would report trips that are none",
            after,
            reading="after_sleep_v",
            volts=after,
        )
    if on is None:
        case.missing("on_v", "it must read battery voltage with the key on")
    elif on < LIVE_V * scale:
        case.judge(
            "refuses", "only {volts:g} V with the key on: no supply", on, reading="on_v", volts=on
        )
    else:
        case.judge("speaks for", "{volts:g} V with the key on", on, reading="on_v", volts=on)


def _sense_while_cranking(case: CircuitCase) -> None:
    cranking, needs = case.circuit.cranking_v, case.needs
    if cranking is None:
        case.missing("cranking_v", "whether it holds through cranking decides")
    elif cranking < needs.sense_minimum_v:
        case.judge(
            "consequence",
            "falls to {volts:g} V while cranking (needs {needed:g} V): the unit sees key off "
            "and on again, so each start can split a trip or restart its self-test; set a "
            "key-off delay of some seconds",
            cranking,
            reading="cranking_v",
            volts=cranking,
            needed=needs.sense_minimum_v,
        )
    else:
        case.judge(
            "speaks for",
            "holds {volts:g} V while cranking (needs {needed:g} V)",
            cranking,
            reading="cranking_v",
            volts=cranking,
            needed=needs.sense_minimum_v,
        )
