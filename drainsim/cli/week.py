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
from drainsim.cli.assumptions import assumption_lines
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
from drainsim.cli.text import row, warning_lines
from drainsim.language import Celsius, Message, joined, message, say
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
    add_answer_options(parser, verbose="every assumption")
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
    show(options, answer.as_dict, lambda: in_words(answer, verbose=options.verbose))


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


def in_words(answer: WeekAnswer, *, verbose: bool = True) -> str:
    """Return the answer as text for a terminal; `verbose` lists every assumption."""
    lines = [
        say(week_verdict(answer)),
        "",
        row(
            "lowest in ordinary weeks",
            message(
                "{percent:.0f} %, {day}",
                percent=100 * answer.lowest_charge,
                day=str(answer.lowest_day),
            ),
        ),
        row("limited by", answer.limited_by),
        row(
            "charge at parking",
            message(
                "{percent:.0f} % (standard deviation {deviation:.0f} %)",
                percent=100 * answer.parked_charge,
                deviation=100 * answer.parked_charge_sd,
            ),
        ),
        row("drive more", more_driving_words(answer)),
        "",
        say("Where the charge settles by season (charge [%], lowest, lowest in 1 of 10 cases)"),
    ]
    for season in answer.seasons:
        shares = (season.charge, season.lowest_charge, season.low_lowest_charge)
        told = [message("{percent:.0f} %", percent=100 * share) for share in shares]
        at = joined(", ", [message(season.name), Celsius(season.temperature_c)])
        lines.append(row(at, joined(", ", told)))
    worst = answer.seasons[0]
    lines += ["", say("Balance of a week, {season} [Ah/week]", season=message(worst.name))]
    for name, value in signed_parts(worst.balance).items():
        lines.append(row(PARTS[name], _signed(value)))
    if answer.auxiliary is not None:
        verdict = week_verdict(answer.auxiliary)
        percent = 100 * answer.auxiliary.parked_charge
        lines += [
            "",
            say("Auxiliary battery. {verdict}", verdict=verdict),
            row("charge at parking", message("{percent:.0f} %", percent=percent)),
            row("drive more", more_driving_words(answer.auxiliary)),
        ]
    lines += warning_lines(answer.warnings)
    return "\n".join([*lines, *assumption_lines(answer.case, verbose=verbose)])


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
    heading = f"{say('vehicle'):<16}{say('parked since'):<18}{say('trips/week'):>11}"
    print(
        f"{heading}{say('min/trip'):>10}{say('charge'):>8}  "
        f"{say('days from parking to no-start (8 in 10 cases)')}"
    )
    for history, answer in found:
        print(
            _trip_row(history)
            + f"{100 * answer.case.battery.state_of_charge:>7.0f}%  "
            + _days(answer)
        )


def _days(answer: ParkAnswer) -> str:
    days, horizon = answer.days_to_no_start, answer.case.horizon_days
    return say(
        "{days} ({range})", days=days_words(days.p50, horizon), range=range_words(days, horizon)
    )


def _trip_row(history: TripHistory) -> str:
    return (
        f"{history.vehicle[:15]:<16}{history.parked_since:%Y-%m-%d %H:%M}  "
        f"{say('{number:.1f}', number=history.trips_per_week):>11}{history.minutes_per_trip:>10.0f}"
    )


def _signed(value_ah: float) -> Message:
    """Return a charge with its sign; nought has none of its own."""
    return message("{value:+8.2f}", value=round(value_ah, 2) + 0.0)
