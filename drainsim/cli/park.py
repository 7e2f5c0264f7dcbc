"""`drainsim park`: days until a parked vehicle will not start."""

import argparse
import sys
from collections.abc import Collection
from pathlib import Path
from typing import Final

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
from drainsim.vehicle.case import Case
from drainsim.vehicle.vehicle import VEHICLE

# The table, or the key, behind a swing that is not called like its key.
_BEHIND: Final = {"unit_a": "unit", "season": "site", "oil": str(VEHICLE.oil_grade)}
_KNOWN: Final = {"given", "measured"}  # origins of what the user said


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
            verdict(answer),
            "",
            *_days_lines(answer),
            *_budget_lines(answer),
            *_temperature_lines(answer),
            *(["", "Warnings", *(f"  - {one}" for one in answer.warnings)] * bool(answer.warnings)),
            *assumption_lines(
                answer.case, None if verbose else {swing.name for swing in answer.swings[:4]}
            ),
        ]
    )


def _row(label: str, text: str) -> str:
    return f"  {label:<33} {text}"


def _days_lines(answer: ParkAnswer) -> list[str]:
    """Return how long until what ends the stand."""
    case, horizon = answer.case, answer.case.horizon_days
    days, at_start = answer.days_to_no_start, answer.days_at_start_hour
    starts = case.vehicle.starts
    lines = [
        _row("parked", parked_words(case)),
        _row(
            "first no-start, any hour" if starts else "unit goes silent",
            days_words(days.p50, horizon),
        ),
        _row("  8 in 10 cases", range_words(days, horizon)),
    ]
    if days.p50:
        lines.append(_row("  that is", f"{date_after(case.site.parked_from, days.p50):%Y-%m-%d}"))
    if starts:
        at = f"first no-start at {case.site.start_hour:02d}:00"
        lines.append(_row(at, days_words(at_start.p50, horizon)))
        lines.append(_row("  8 in 10 cases", range_words(at_start, horizon)))
    lines.append(_row("limited by", answer.limited_by))
    lines.append(_row("half charge left after", days_words(answer.days_to_half_charge, horizon)))
    if answer.unit_silent is not None and starts:
        apart = case.auxiliary is not None
        silent = "unit silent (auxiliary battery)" if apart else "unit goes silent after"
        lines.append(_row(silent, days_words(answer.days_to_unit_off, horizon)))
        if apart:
            lines.append(_row("  8 in 10 cases", range_words(answer.unit_silent, horizon)))
    lines.append(_row("electrolyte freezes after", days_words(answer.days_to_freezing, horizon)))
    lines.append(_row("empty after", days_words(answer.days_to_empty, horizon)))
    return lines


def _budget_lines(answer: ParkAnswer) -> list[str]:
    """Return where the charge goes, and what the answer depends on most."""
    horizon = answer.case.horizon_days
    lines = ["", "Drain budget until then, mean of the cases [Ah/day]"]
    for label, value in answer.budget.as_dict().items():
        lines.append(_row(label.replace("_", "-"), f"{value:8.3f}"))
    lines += ["", "What the answer depends on most", f"  ({swing_words(answer)})"]
    for swing in answer.swings[:4]:
        low, high = (days_words(d, horizon) for d in (swing.days_at_low, swing.days_at_high))
        lines.append(_row(swing.label, f"{swing.low_value} to {swing.high_value}: {low} to {high}"))
    if answer.swings and answer.swings[0].matters:
        lines.append(_row("measure next", answer.swings[0].advice))
    return lines


def _temperature_lines(answer: ParkAnswer) -> list[str]:
    """Return the four effects of temperature on this battery, kept apart."""
    lines = ["", "What temperature does to this battery, full (four effects, kept apart)"]
    freezing = None
    for effect in answer.temperature_effects:
        freezing = effect.freezing_half_c
        cranking = (
            f"{effect.current_for} {effect.cranking_available_a:.0f} A of "
            f"{effect.cranking_demand_a:.0f} A needed; "
            if answer.case.vehicle.starts  # a trailer has no starter
            else ""
        )
        lines.append(
            _row(
                f"{effect.name}, {celsius(effect.temperature_c)}",
                f"{effect.deliverable_20h_ah:.0f} Ah at the 20 h rate; {cranking}"
                f"self-discharge {effect.self_discharge_percent_per_month:.1f} %/month",
            )
        )
    if freezing is not None:
        lines.append(_row("freezing point at half charge", celsius(freezing)))
    return lines


def assumption_lines(case: Case, matter: Collection[str] | None) -> list[str]:
    """Return what the answer rests on: everything, or what was given and what matters.

    `matter` holds the names of the swings that move the answer most; None lists all.
    """
    lines = ["", f"Assumptions (place: {case.site.description})"]
    spreads = [item for item in case.assumptions if item.name.startswith("uncertainty.")]
    others = [item for item in case.assumptions if item not in spreads]
    if matter is not None:
        shown_ = [one for one in others if one.origin in _KNOWN or _moves(one.name, matter)]
        left = len(case.assumptions) - len(shown_)
        lines += [f"  {item.in_words()}" for item in shown_]
        return [*lines, f"  and {left} usual values: --verbose lists them, --json holds them"]
    lines += [f"  {item.in_words()}" for item in others]
    return [*lines, "  spreads of the cases: " + ", ".join(_short(item) for item in spreads)]


def _moves(name: str, swings: Collection[str]) -> bool:
    """Say whether an assumption is behind one of the swings: by its key, or by its table."""
    table, _, key = name.partition(".")
    return key in swings or any(_BEHIND.get(one) in (table, name) for one in swings)


def _short(item: Assumption) -> str:
    """Return a spread without the words all spreads share."""
    given = " (given)" if item.origin == "given" else ""
    unit = f" {item.unit}" if item.unit else ""
    return f"{item.name.removeprefix('uncertainty.')} {shown(item.value)}{unit}{given}"
