"""`drainsim park`: days until a parked vehicle will not start."""

import argparse
import sys
from pathlib import Path

from drainsim.answers.standing.park import ParkAnswer, park
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
from drainsim.cli.options import (
    Commands,
    add_answer_options,
    add_command,
    add_scenario_options,
    chosen_case,
    show,
    write_text,
)
from drainsim.vehicle.assumption import Assumption, shown


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "park",
        "days until a parked vehicle will not start",
        example="park van.toml --set battery.age_years=4",
    )
    add_scenario_options(parser)
    add_answer_options(parser)
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the daily course as CSV")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    case = chosen_case(options)
    if sys.stderr.isatty() and case.draws * case.horizon_days > 2_000_000:
        print(
            f"drainsim: {case.draws} random cases over {case.horizon_days} days ...",
            file=sys.stderr,
        )
    answer = park(case)
    if options.csv:
        write_text(options.csv, course_csv(answer))
    show(options, answer.as_dict, lambda: in_words(answer))


def in_words(answer: ParkAnswer) -> str:
    """Return the answer as text for a terminal."""
    case, horizon = answer.case, answer.case.horizon_days
    days, at_start = answer.days_to_no_start, answer.days_at_start_hour
    lines = [verdict(answer), ""]

    def row(label: str, text: str) -> None:
        lines.append(f"  {label:<33} {text}")

    starts = case.vehicle.starts
    row("parked", parked_words(case))
    row(
        "first no-start, any hour" if starts else "unit goes silent",
        f"{days_words(days.p50, horizon)}",
    )
    row("  8 in 10 cases", range_words(days, horizon))
    if days.p50:
        row("  that is", f"{date_after(case.site.parked_from, days.p50):%Y-%m-%d}")
    if starts:
        row(
            f"first no-start at {case.site.start_hour:02d}:00",
            days_words(at_start.p50, horizon),
        )
        row("  8 in 10 cases", range_words(at_start, horizon))
    row("limited by", answer.limited_by)
    row("half charge left after", days_words(answer.days_to_half_charge, horizon))
    if answer.unit_silent is not None and starts:
        silent = "unit goes silent after"
        if case.auxiliary is not None:
            silent = "unit silent (auxiliary battery)"
        row(silent, days_words(answer.days_to_unit_off, horizon))
        if case.auxiliary is not None:
            row("  8 in 10 cases", range_words(answer.unit_silent, horizon))
    row("electrolyte freezes after", days_words(answer.days_to_freezing, horizon))
    row("empty after", days_words(answer.days_to_empty, horizon))
    lines += ["", "Drain budget until then, mean of the cases [Ah/day]"]
    for label, value in answer.budget.as_dict().items():
        row(label.replace("_", "-"), f"{value:8.3f}")
    lines += ["", "What the answer depends on most", f"  ({swing_words(answer)})"]
    for swing in answer.swings[:4]:
        low, high = (days_words(d, horizon) for d in (swing.days_at_low, swing.days_at_high))
        row(swing.label, f"{swing.low_value} to {swing.high_value}: {low} to {high}")
    if answer.swings and answer.swings[0].matters:
        row("measure next", answer.swings[0].advice)
    lines += ["", "What temperature does to this battery, full (four effects, kept apart)"]
    for effect in answer.temperature_effects:
        freezing = effect.freezing_half_c
        cranking = (
            f"{effect.current_for} {effect.cranking_available_a:.0f} A of "
            f"{effect.cranking_demand_a:.0f} A needed; "
            if starts  # a trailer has no starter
            else ""
        )
        row(
            f"{effect.name}, {celsius(effect.temperature_c)}",
            f"{effect.deliverable_20h_ah:.0f} Ah at the 20 h rate; {cranking}"
            f"self-discharge {effect.self_discharge_percent_per_month:.1f} %/month",
        )
    if freezing is not None:
        row("freezing point at half charge", celsius(freezing))
    if answer.warnings:
        lines += ["", "Warnings"]
        lines += [f"  - {warning}" for warning in answer.warnings]
    lines += ["", f"Assumptions (place: {case.site.description})"]
    spreads = [item for item in case.assumptions if item.name.startswith("uncertainty.")]
    lines += [f"  {item.in_words()}" for item in case.assumptions if item not in spreads]
    lines.append("  spreads of the random cases: " + ", ".join(_short(item) for item in spreads))
    return "\n".join(lines)


def _short(item: Assumption) -> str:
    """Return a spread without the words all spreads share."""
    given = " (given)" if item.origin == "given" else ""
    unit = f" {item.unit}" if item.unit else ""
    return f"{item.name.removeprefix('uncertainty.')} {shown(item.value)}{unit}{given}"
