"""`drainsim current-log`: what a log of the current after key off says."""

import argparse
from pathlib import Path

from drainsim.answers.installer.current_log import (
    LOG_OF,
    CurrentLogAnswer,
    current_log,
    measured_scenario,
)
from drainsim.answers.installer.current_log_words import every_words, ma, plus_minus
from drainsim.answers.installer.wake_up_cost import WakeUpCost, wake_up_cost
from drainsim.cli.options import (
    Commands,
    add_answer_options,
    add_command,
    printed_example,
    show,
    write_text,
)
from drainsim.cli.text import items, row, wrapped
from drainsim.files.current_log.columns import CURRENT_UNITS, TIME_UNITS
from drainsim.files.current_log.reader import read_current_log
from drainsim.language import joined, message, say
from drainsim.units import ah_from_as, ma_from_a
from drainsim.vehicle.keys.scenario import read_scenario

EXAMPLE = "current_log.csv"


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "current-log",
        "time to sleep, settled current and wake-ups from a meter's CSV",
        example="current-log log.csv --scenario measured.toml",
    )
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE", help="CSV of time, current")
    parser.add_argument("--example", action="store_true", help="print an invented log")
    add_answer_options(parser)
    parser.add_argument("--time-column", metavar="NAME", help="the column that holds the time")
    parser.add_argument("--current-column", metavar="NAME", help="the column with the current")
    parser.add_argument("--unit", choices=list(CURRENT_UNITS), help="unit of the current")
    parser.add_argument("--time-unit", choices=list(TIME_UNITS), help="unit of an elapsed time")
    parser.add_argument(
        "--report-every-min", type=float, metavar="MIN", help="the added unit's report interval"
    )
    parser.add_argument(
        "--scenario", type=Path, metavar="OUT.toml", help="write a scenario with these values"
    )
    parser.add_argument(
        "--base", type=Path, metavar="BASE.toml", help="scenario the rest of it comes from"
    )
    parser.add_argument(
        "--log-of",
        choices=LOG_OF,
        default="vehicle",
        help="what was in the log: the vehicle without the added unit (usual), both, or the unit",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    if printed_example(options, EXAMPLE, command="current-log", file="a CSV file"):
        return
    log = read_current_log(
        options.file,
        time_column=options.time_column,
        current_column=options.current_column,
        unit=options.unit,
        time_unit=options.time_unit,
    )
    answer = current_log(log, report_every_min=options.report_every_min)
    base = read_scenario(options.base) if options.base else None
    cost = wake_up_cost(answer, base=base, log_of=options.log_of)
    if options.scenario:
        scenario = measured_scenario(answer, base=base, log_of=options.log_of)
        write_text(options.scenario, scenario.to_toml())
    show(
        options,
        lambda: {**answer.as_dict(), "wake_up_cost": cost.as_dict() if cost else None},
        lambda: in_words(answer, cost),
    )


def in_words(answer: CurrentLogAnswer, cost: WakeUpCost | None = None) -> str:
    """Return the answer as text for a terminal."""
    found = answer.findings
    lines = wrapped(answer.verdict, "", "")
    if cost is not None:
        lines += wrapped(cost.words, "", "")
    lines += [
        "",
        row(
            "log",
            message(
                "{minutes:.1f} min, a sample every {step:.3g} s",
                minutes=found.span_s / 60,
                step=found.step_s,
            ),
        ),
    ]
    if found.sleep_s is not None:
        asleep: list[str] = [ma(found.mean_a)]
        if found.whole_periods:
            asleep.append(message("over {number} whole periods", number=found.whole_periods))
        lines += [
            row("time to sleep", message("{minutes:.1f} min", minutes=found.sleep_s / 60)),
            row("settled", plus_minus(found.settled_a, found.settled_uncertainty_a)),
            row("mean asleep", joined(", ", asleep)),
        ]
    for label, group in (
        (message("wake-ups"), answer.wake_ups),
        (message("unit reports"), answer.unit_reports),
    ):
        if group is not None:
            told = message(
                "{number}, {every}, {charge:.3g} mAh each ({seconds:.0f} s, peak {peak})",
                number=group.count,
                every=every_words(group),
                charge=ma_from_a(ah_from_as(group.charge_as)),
                seconds=group.duration_s,
                peak=ma(group.peak_a),
            )
            lines.append(row(label, told))
    step = ma(found.resolution_a) if found.resolution_a else message("not visible")
    lines.append(row("meter's step", step))
    if answer.voltage_v is not None:
        lines.append(row("voltage asleep", message("{volts:.2f} V", volts=answer.voltage_v)))
    lines += ["", say("Stages [from, for, current]")]
    for stage in answer.stages:
        times = say(
            "{start:8.1f} min {lasts:8.1f} min",
            start=stage.start_s / 60,
            lasts=stage.duration_s / 60,
        )
        lines.append(f"  {times}  {say(ma(stage.current_a))}")
    lines += ["", say("Warnings"), *items(answer.warnings)]
    return "\n".join(lines)
