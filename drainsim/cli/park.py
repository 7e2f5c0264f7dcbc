"""`drainsim park`: days until a parked vehicle will not start."""

import argparse
import sys
from pathlib import Path
from typing import Final

from drainsim.answers.standing.park import BUDGET_PARTS, ParkAnswer, park
from drainsim.answers.standing.tables import course_csv
from drainsim.answers.words import (
    celsius,
    date_after,
    days_words,
    parked_words,
    range_words,
    swing_words,
    verdict,
)
from drainsim.cli.assumptions import assumption_lines
from drainsim.cli.options import (
    Commands,
    add_answer_options,
    add_command,
    add_scenario_options,
    chosen_case,
    show,
    write_text,
)
from drainsim.cli.text import row, warning_lines
from drainsim.language import Celsius, joined, message, say

_EIGHT: Final = message("  8 in 10 cases")


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "park",
        "days until a parked vehicle will not start",
        example="park van.toml --set battery.age_years=4",
    )
    add_scenario_options(parser)
    add_answer_options(parser, verbose="every assumption")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the daily course as CSV")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    case = chosen_case(options)
    if sys.stderr.isatty() and case.draws * case.horizon_days > 2_000_000:
        print(
            f"drainsim: {case.draws} possible cases over {case.horizon_days} days ...",
            file=sys.stderr,
        )
    answer = park(case)
    if options.csv:
        write_text(options.csv, course_csv(answer))
    show(options, answer.as_dict, lambda: in_words(answer, verbose=options.verbose))


def in_words(answer: ParkAnswer, *, verbose: bool = True) -> str:
    """Return the answer as text for a terminal; `verbose` lists every assumption."""
    return "\n".join(
        [
            say(verdict(answer)),
            "",
            *_days_lines(answer),
            *_budget_lines(answer),
            *_temperature_lines(answer),
            *warning_lines(answer.warnings),
            *assumption_lines(
                answer.case, {swing.name for swing in answer.swings[:4]}, verbose=verbose
            ),
        ]
    )


def _days_lines(answer: ParkAnswer) -> list[str]:
    """Return how long until what ends the stand."""
    case, horizon = answer.case, answer.case.horizon_days
    days, at_start = answer.days_to_no_start, answer.days_at_start_hour
    starts = case.vehicle.starts
    lines = [
        row("parked", parked_words(case)),
        row(
            say("first no-start, any hour" if starts else "unit goes silent"),
            days_words(days.p50, horizon),
        ),
        row(_EIGHT, range_words(days, horizon)),
    ]
    if days.p50:
        no_start = date_after(case.site.parked_from, days.p50)
        lines.append(row("  that is", no_start.isoformat()))
    if starts:
        at = message("first no-start at {hour}:00", hour=f"{case.site.start_hour:02d}")
        lines.append(row(at, days_words(at_start.p50, horizon)))
        lines.append(row(_EIGHT, range_words(at_start, horizon)))
    lines.append(row("limited by", answer.limited_by))
    lines.append(row("half charge left after", days_words(answer.days_to_half_charge, horizon)))
    if answer.unit_silent is not None and starts:
        apart = case.auxiliary is not None
        silent = say("unit silent (auxiliary battery)" if apart else "unit goes silent after")
        lines.append(row(silent, days_words(answer.days_to_unit_off, horizon)))
        if apart:
            lines.append(row(_EIGHT, range_words(answer.unit_silent, horizon)))
    lines.append(row("electrolyte freezes after", days_words(answer.days_to_freezing, horizon)))
    lines.append(row("empty after", days_words(answer.days_to_empty, horizon)))
    return lines


def _budget_lines(answer: ParkAnswer) -> list[str]:
    """Return where the charge goes, and what the answer depends on most."""
    horizon = answer.case.horizon_days
    lines = ["", say("Drain budget until then, mean of the cases [Ah/day]")]
    for label, value in answer.budget.as_dict().items():
        lines.append(row(BUDGET_PARTS[label], message("{value:8.3f}", value=value)))
    lines += ["", say("What the answer depends on most"), f"  ({say(swing_words(answer))})"]
    for swing in answer.swings[:4]:
        low, high = (days_words(d, horizon) for d in (swing.days_at_low, swing.days_at_high))
        told = message(
            "{low_value} to {high_value}: {low} to {high}",
            low_value=swing.low_value,
            high_value=swing.high_value,
            low=low,
            high=high,
        )
        lines.append(row(swing.label, told))
    if answer.swings and answer.swings[0].matters:
        lines.append(row("measure next", answer.swings[0].advice))
    return lines


def _temperature_lines(answer: ParkAnswer) -> list[str]:
    """Return the four effects of temperature on this battery, kept apart."""
    lines = ["", say("What temperature does to this battery, full (four effects, kept apart)")]
    freezing = None
    for effect in answer.temperature_effects:
        freezing = effect.freezing_half_c
        told = message(
            "{ah:.0f} Ah at the 20 h rate; self-discharge {percent:.1f} %/month"
            if not answer.case.vehicle.starts  # a trailer has no starter
            else "{ah:.0f} Ah at the 20 h rate; {what} {available:.0f} A of {demand:.0f} A needed; "
            "self-discharge {percent:.1f} %/month",
            ah=effect.deliverable_20h_ah,
            what=effect.current_for,
            available=effect.cranking_available_a,
            demand=effect.cranking_demand_a,
            percent=effect.self_discharge_percent_per_month,
        )
        lines.append(row(joined(", ", (effect.name, Celsius(effect.temperature_c))), told))
    if freezing is not None:
        lines.append(row("freezing point at half charge", celsius(freezing)))
    return lines
