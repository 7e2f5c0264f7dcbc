"""`drainsim circuits`: which circuit feeds the unit, which tells it that the key is on."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from drainsim.answers.installer.circuit.circuit_numbers import CircuitNumbers
from drainsim.answers.installer.circuit.circuit_verdict import REFUSED, RoleVerdict
from drainsim.answers.installer.circuit.circuits import CAUTIONS, CircuitsAnswer, choose_circuits
from drainsim.answers.words import days_words
from drainsim.cli.options import (
    ANSWERED,
    SAYS_NO,
    Commands,
    add_answer_options,
    add_command,
    printed_example,
    show,
)
from drainsim.cli.text import items, wrapped
from drainsim.files.circuits import read_circuits
from drainsim.language import Message, joined, message, say
from drainsim.vehicle.keys.scenario import read_scenario

EXAMPLE = "circuits.csv"
_MARKS = {"refuses": "-", "unknown": "?", "consequence": "!", "condition": "*", "speaks for": "+"}


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "circuits",
        "where to connect: circuit, fuse and wire",
        example="circuits circuits.csv --scenario van.toml",
    )
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE", help="CSV of circuits")
    parser.add_argument("--example", action="store_true", help="print an invented table")
    parser.add_argument("--scenario", type=Path, metavar="S.toml", help="the vehicle and its unit")
    parser.add_argument(
        "--system",
        type=int,
        choices=(12, 24),
        help="V; from a 24 V scenario or the readings if left",
    )
    parser.add_argument(
        "--unit-minimum-v", type=float, metavar="V", help="lowest the unit works at"
    )
    parser.add_argument("--sense-minimum-v", type=float, metavar="V", help="lowest it counts as on")
    parser.add_argument("--peak-a", type=float, metavar="A", help="the unit's highest current")
    add_answer_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Answer and print; a yes needs a circuit for both purposes."""
    if printed_example(options, EXAMPLE, command="circuits", file="a CSV file"):
        return ANSWERED
    answer = choose_circuits(
        read_circuits(options.file),
        scenario=read_scenario(options.scenario) if options.scenario else None,
        system_v=options.system,
        minimum_v=options.unit_minimum_v,
        sense_minimum_v=options.sense_minimum_v,
        peak_a=options.peak_a,
    )
    show(options, answer.as_dict, lambda: in_words(answer))
    return ANSWERED if answer.chosen_power and answer.chosen_sense else SAYS_NO


def in_words(answer: CircuitsAnswer) -> str:
    """Return the answer as text for a terminal."""
    power, sense = answer.chosen_power, answer.chosen_sense
    none = say("no circuit accepted")
    needs = answer.needs
    lines = [
        say("Constant power: {circuit}", circuit=power.circuit.name if power else none),
        say("Ignition sense: {circuit}", circuit=sense.circuit.name if sense else none),
        "",
        "  "
        + say(
            "{system:.0f} V system, unit peak {peak:g} A, works down to {minimum:g} V ({source})",
            system=needs.system_v,
            peak=needs.peak_a,
            minimum=needs.minimum_v,
            source=needs.minimum_source,
        ),
        "  "
        + say(
            "days until no-start {days} ({of})",
            days=days_words(answer.days_to_no_start, answer.horizon_days),
            of=answer.days_of,
        ),
    ]
    marks = say("(+ for, - against, ! consequence, * condition, ? not known)")
    for heading, verdicts in (
        (say("CONSTANT POWER, best first"), answer.constant_power),
        (say("IGNITION SENSE, best first"), answer.ignition_sense),
    ):
        lines += ["", f"{heading}   {marks}"]
        lines += _verdict_lines(verdicts, answer)
    lines += ["", say("Starting profile, ISO 16750-2, against {volts:g} V", volts=needs.minimum_v)]
    for level in answer.starting_profile:
        below = level.below_minimum_s
        told = (
            message("rides through")
            if below == 0.0
            else message("below for {seconds:.3g} s: needs a reserve", seconds=below)
        )
        volts = say(
            "{lowest:g} V, then {hold:g} V for {seconds:g} s: {told}",
            lowest=level.lowest_v,
            hold=level.hold_v,
            seconds=level.hold_s,
            told=told,
        )
        lines.append(f"  {say('level')} {say(message(level.level)):<24} {volts}")
    lines += ["", say("Warnings"), *items(answer.warnings)]
    lines += ["", say("Cautions"), *items(CAUTIONS)]
    return "\n".join(lines)


def _verdict_lines(verdicts: Sequence[RoleVerdict], answer: CircuitsAnswer) -> list[str]:
    lines = []
    for one in verdicts:
        verdict = say(message(one.verdict)).upper()
        lines.append(f"  {verdict:<11} {one.circuit.name} ({one.circuit.kind})")
        if one.role == "constant power" and one.verdict != REFUSED:
            lines.append("      " + say(_numbers_words(answer.numbers[one.circuit.name])))
        for reason in one.reasons:
            if one.verdict == REFUSED and reason.effect != "refuses":
                continue  # what else it offers does not matter; --json has it
            lines += wrapped(reason.text, f"    {_MARKS[reason.effect]} ", "      ")
        if one.deciding_reading:
            lines.append("    ? " + say("read next: {what}", what=one.deciding_reading))
    return lines


def _numbers_words(numbers: CircuitNumbers) -> Message:
    parts = [
        message("fuse {amperes:g} A", amperes=numbers.required_fuse_a)
        if numbers.required_fuse_a
        else message("no fuse fits")
    ]
    if numbers.wire_needed_mm2 is not None:
        parts.append(message("wire at least {mm2:g} mm²", mm2=numbers.wire_needed_mm2))
    if numbers.source_ohm is not None:
        parts.append(message("source {milliohm:.0f} mohm", milliohm=1000 * numbers.source_ohm))
    if numbers.spare_a is not None:
        parts.append(message("spare {amperes:.2f} A", amperes=numbers.spare_a))
    return message("needs: {parts}", parts=joined(", ", parts))
