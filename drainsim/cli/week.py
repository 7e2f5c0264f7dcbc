"""`drainsim week`: does the driving keep the battery charged?"""

import argparse
from pathlib import Path
from typing import Any

from drainsim.answers.driving.week import WeekAnswer, week
from drainsim.answers.driving.week_words import (
    PARTS,
    more_driving_words,
    signed_parts,
    week_verdict,
)
from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.words import days_words, range_words
from drainsim.cli.options import (
    Commands,
    add_answer_options,
    add_command,
    add_scenario_options,
    chosen_case,
    chosen_scenario,
    print_json,
    show,
    write_text,
)
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.trips import TripHistory, read_trips


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "week",
        "does the driving keep the battery charged?",
        example="week van.toml --csv weeks.csv",
    )
    add_scenario_options(parser)
    add_answer_options(parser)
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the weekly course as CSV")
    parser.add_argument(
        "--trips",
        type=Path,
        metavar="TRIPS.csv",
        help="list of trips (vehicle, start, end): answer for each vehicle, parked since its last",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    if options.trips is not None:
        _run_trips(options)
        return
    answer = week(chosen_case(options))
    if options.csv:
        write_text(options.csv, weekly_csv(answer))
    show(options, answer.as_dict, lambda: in_words(answer))


def weekly_csv(answer: WeekAnswer) -> str:
    """Return the weekly course as CSV."""
    lines = ["week_begins,charge,charge_p10,charge_p90,net_ah_per_week"]
    for number, day in enumerate(answer.day):
        net = f"{answer.net_ah[number]:.4f}" if number < len(answer.net_ah) else ""
        lines.append(
            f"{day},{answer.charge[number]:.4f},{answer.charge_low[number]:.4f},"
            f"{answer.charge_high[number]:.4f},{net}"
        )
    return "\n".join(lines) + "\n"


def in_words(answer: WeekAnswer) -> str:
    """Return the answer as text for a terminal."""
    lines = [week_verdict(answer), ""]

    def row(label: str, text: str) -> None:
        lines.append(f"  {label:<34}{text}")

    row("lowest in ordinary weeks", f"{100 * answer.lowest_charge:.0f} %, {answer.lowest_day}")
    row("limited by", answer.limited_by)
    row(
        "charge at parking",
        f"{100 * answer.parked_charge:.0f} % (standard deviation "
        f"{100 * answer.parked_charge_sd:.0f} %)",
    )
    row("drive more", more_driving_words(answer))
    lines += [
        "",
        "Where the charge settles by season (charge [%], lowest, lowest in 1 of 10 cases)",
    ]
    for season in answer.seasons:
        row(
            f"{season.name}, {season.temperature_c:.0f} °C",
            f"{100 * season.charge:.0f} %, {100 * season.lowest_charge:.0f} %, "
            f"{100 * season.low_lowest_charge:.0f} %",
        )
    worst = answer.seasons[0]
    lines += ["", f"Balance of a week, {worst.name} [Ah/week]"]
    for name, value in signed_parts(worst.balance).items():
        row(PARTS[name], f"{round(value, 2) + 0.0:>+8.2f}")  # nought has no sign of its own
    if answer.auxiliary is not None:
        lines += ["", f"Auxiliary battery. {week_verdict(answer.auxiliary)}"]
        row("charge at parking", f"{100 * answer.auxiliary.parked_charge:.0f} %")
        row("drive more", more_driving_words(answer.auxiliary))
    if answer.warnings:
        lines += ["", "Warnings"]
        lines += [f"  - {warning}" for warning in answer.warnings]
    lines += ["", f"Assumptions (place: {answer.case.site.description})"]
    lines += [f"  {item.in_words()}" for item in answer.case.assumptions]
    return "\n".join(lines)


def _run_trips(options: argparse.Namespace) -> None:
    scenario = chosen_scenario(options)
    found = []
    for history in read_trips(options.trips):
        case = resolve(history.applied_to(scenario), profile_folders=options.profiles)
        found.append((history, park(case)))
    if options.json:
        documents: list[dict[str, Any]] = [
            {**history.as_dict(), "park": answer.as_dict()} for history, answer in found
        ]
        print_json({"vehicles": documents})
        return
    heading = f"{'vehicle':<16}{'parked since':<18}{'trips/week':>11}{'min/trip':>10}{'charge':>8}"
    print(f"{heading}  days from parking to no-start (8 in 10 cases)")
    for history, answer in found:
        print(
            _trip_row(history)
            + f"{100 * answer.case.battery.state_of_charge:>7.0f}%  "
            + _days(answer)
        )


def _days(answer: ParkAnswer) -> str:
    days, horizon = answer.days_to_no_start, answer.case.horizon_days
    return f"{days_words(days.p50, horizon)} ({range_words(days, horizon)})"


def _trip_row(history: TripHistory) -> str:
    return (
        f"{history.vehicle[:15]:<16}{history.parked_since:%Y-%m-%d %H:%M}  "
        f"{history.trips_per_week:>11.1f}{history.minutes_per_trip:>10.0f}"
    )
