"""`drainsim fleet`: which parked vehicles will not start, and by when must someone act."""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Mapping
from pathlib import Path

from drainsim import dates
from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet, changed_fleet
from drainsim.answers.fleet.fleet_actions import cheapest_actions
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.fleet.stages import Stages
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.words import FROZEN_CAUTION, counted
from drainsim.cli.fleet_reading import (
    add_reading_options,
    pairs,
    read_list,
    understood_first,
    understood_last,
)
from drainsim.cli.options import (
    Commands,
    add_profiles_option,
    add_set_option,
    print_json,
    whole_folder,
    write_text,
)
from drainsim.cli.text import row_words
from drainsim.errors import DrainsimError
from drainsim.files.fleet.example import example_list
from drainsim.files.fleet.saved import columns_text
from drainsim.files.fleet.words import headings_in_words
from drainsim.sheets.action_list import action_list_html
from drainsim.sheets.calendar import act_by_calendar
from drainsim.sheets.fleet_summary import as_json, summary
from drainsim.sheets.fleet_tables import to_correct_csv, vehicle_heading, vehicle_rows
from drainsim.sheets.fleet_understood import understood_csv
from drainsim.sheets.spreadsheet import csv_text, for_spreadsheets
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings
from drainsim.vehicle.run import RUN
from drainsim.vehicle.scenario import settings_from_words

_SHOWN = 25  # vehicles printed on the terminal


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser("fleet", help="which parked vehicles will not start, and when")
    parser.add_argument("fleet", type=Path, nargs="?", metavar="FLEET.csv", help="CSV or XLSX list")
    parser.add_argument("--example", action="store_true", help="print an invented list as CSV")
    parser.add_argument(
        "--headings", action="store_true", help="print the headings that are recognised"
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="write all results to this folder")
    parser.add_argument(
        "--risk", type=float, default=DEFAULT_RISK, help="risk limit, 0 to 1 (0.05)"
    )
    parser.add_argument(
        "--on", nargs="+", type=_date, default=[], metavar="DATE", help="days to ask about"
    )
    parser.add_argument("--today", type=_date, metavar="DATE", help="day of the question (today)")
    ahead = RUN.horizon_days.default
    parser.add_argument(
        "--ahead", type=int, default=ahead, metavar="DAYS", help=f"look ahead ({ahead})"
    )
    parser.add_argument(
        "--until",
        type=int,
        default=30,
        metavar="DAYS",
        help="days a vehicle without planned return must last (30)",
    )
    parser.add_argument("--draws", type=int, default=200, help="random cases per vehicle (200)")
    parser.add_argument("--seed", type=int, default=1, help="same seed, same answer (1)")
    parser.add_argument("--call-out-price", type=float, metavar="PRICE", help="of one call-out")
    add_set_option(parser, "what if every vehicle had this, for example unit.report_interval_h=24")
    add_reading_options(parser)
    parser.add_argument(
        "--depot-weather",
        action="append",
        default=[],
        metavar="DEPOT=FILE",
        help="hourly CSV or EPW temperature file of a depot",
    )
    parser.add_argument("--no-actions", action="store_true", help="skip the search for actions")
    parser.add_argument("--workers", type=int, metavar="N", help="processes (one per core)")
    parser.add_argument("--json", action="store_true", help="print summary and vehicles as JSON")
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def _date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date like 2026-12-01") from None


def run(options: argparse.Namespace) -> None:
    """Answer the list, print and write what was asked for."""
    if options.headings:
        print(headings_in_words())
        return
    if options.example:
        print(example_list().decode("utf-8-sig"), end="")
        return
    if options.fleet is None:
        raise DrainsimError("give a fleet list, or --example for an invented one")
    settings = _settings(options)
    fleet, chosen = read_list(options.fleet, options, settings)
    changes = settings_from_words(options.settings)
    stages = Stages(1 + (not options.no_actions) + bool(changes), _show)
    answer, actions = _answered(fleet, settings, options, stages)
    changed = None
    if changes:
        other = changed_fleet(fleet, changes)
        changed, _ = _answered(other, settings, options, stages, actions=False)
    _show(1.0, "", end="\r")
    if options.out:
        with whole_folder(options.out) as fresh:
            write_results(fresh, fleet, answer, actions, changed, chosen)
    if options.json:
        print_json(as_json(fleet, answer, actions, changed))
    else:
        print(in_words(fleet, answer, actions, changed, options.settings))


def _settings(options: argparse.Namespace) -> FleetSettings:
    weather = {
        depot: Path(file)
        for depot, file in pairs(options.depot_weather, "--depot-weather", "DEPOT=FILE").items()
    }
    return FleetSettings(
        today=options.today or dates.today(),
        days_ahead=options.ahead,
        draws=options.draws,
        seed=options.seed,
        profile_folders=tuple(options.profiles),
        depot_weather=weather,
    )


def _answered(
    fleet: Fleet,
    settings: FleetSettings,
    options: argparse.Namespace,
    stages: Stages,
    *,
    actions: bool = True,
) -> tuple[FleetAnswer, dict[str, Action]]:
    answer = answer_fleet(
        fleet,
        settings,
        risk=options.risk,
        dates=options.on,
        call_out_price=options.call_out_price,
        progress=stages.next("vehicles answered"),
        workers=options.workers,
    )
    if not actions or options.no_actions:
        return answer, {}
    found = cheapest_actions(
        fleet.vehicles,
        answer.vehicles,
        settings,
        risk=options.risk,
        days=options.until,
        progress=stages.next("actions tried"),
        workers=options.workers,
    )
    return answer, found


def _show(_share: float, words: str, *, end: str = "") -> None:
    """Show on one line of a terminal, not in a log, how far the run is."""
    if sys.stderr.isatty():
        print(f"\r{words:<79}", end=end, file=sys.stderr, flush=True)


def write_results(
    folder: Path,
    fleet: Fleet,
    answer: FleetAnswer,
    actions: dict[str, Action],
    changed: FleetAnswer | None,
    chosen: Mapping[str, str],
) -> None:
    """Write every result of a list, how it was understood and the answers about its columns."""
    vehicles = csv_text(vehicle_heading(answer), vehicle_rows(answer, actions))
    write_text(folder / "vehicles.csv", for_spreadsheets(vehicles))
    write_text(folder / "to_correct.csv", for_spreadsheets(to_correct_csv(fleet, answer.problems)))
    understood = understood_csv(fleet, answer.settings, answer)
    write_text(folder / "understood.csv", for_spreadsheets(understood))
    write_text(folder / "columns.json", columns_text(chosen))
    figures = json.dumps(summary(fleet, answer, actions, changed), indent=2)
    write_text(folder / "summary.json", figures + "\n")
    today = answer.settings.today
    write_text(folder / "act_by.ics", act_by_calendar(answer.vehicles, actions, today=today))
    write_text(folder / "action_list.html", action_list_html(answer, actions))


def in_words(
    fleet: Fleet,
    answer: FleetAnswer,
    actions: dict[str, Action],
    changed: FleetAnswer | None,
    changes: list[str],
) -> str:
    """Return the answer as text for a terminal."""
    acting = [vehicle for vehicle in answer.vehicles if vehicle.needs_someone]
    lines = [
        *understood_first(fleet),
        f"{counted(len(answer.vehicles), 'vehicle')} answered from {fleet.where} (risk limit "
        f"{100 * answer.risk:g} %).",
        answer.needing,
        *_on_dates(answer, changed, changes),
        *_to_act_on(acting, answer, actions),
        *_kept_aside(answer),
        *understood_last(fleet),
    ]
    return "\n".join(
        [
            *lines,
            "",
            f"! = act today. Risk = chance of a no-start at the start hour of the day named. "
            f"{FROZEN_CAUTION}",
            "Assumed where the list is silent: unit preset hourly, climate temperate, parked "
            f"today, and drainsim's defaults for the rest; {answer.settings.draws} random cases, "
            f"seed {answer.settings.seed}.",
        ]
    )


def _on_dates(answer: FleetAnswer, changed: FleetAnswer | None, changes: list[str]) -> list[str]:
    """Return the no-starts expected on the dates asked about, and the depots with most."""
    lines: list[str] = []
    for number, day in enumerate(answer.on_dates if answer.vehicles else ()):
        band = day.count
        line = (
            f"On {day.date}: {band.expected:.1f} no-starts expected "
            f"(8 in 10 cases {band.p10} to {band.p90})"
        )
        if answer.call_out_price is not None:
            line += f", {answer.call_out_price * band.expected:,.0f} in call-outs"
        if changed is not None:
            after = changed.on_dates[number].count.expected
            line += f"; with {', '.join(changes)}: {band.expected:.1f} -> {after:.1f}"
        worst = answer.by_depot[number][:3]
        depots = ", ".join(f"{g.name} {g.expected:.1f} of {g.vehicles}" for g in worst)
        lines += [line + ".", "  most by depot: " + depots]
    return lines


def _to_act_on(
    acting: list[VehicleAnswer], answer: FleetAnswer, actions: dict[str, Action]
) -> list[str]:
    """Return one line for each vehicle someone must act on, the most urgent first."""
    if not acting:
        return []
    lines = ["", f"{'act by':<12}{'vehicle':<16}{'depot':<16}what to do"]
    for vehicle in acting[:_SHOWN]:
        action = actions.get(vehicle.id)
        now = " !" if vehicle.act_by == answer.settings.today else ""
        lines.append(
            f"{vehicle.act_by!s:<10}{now:<2}{vehicle.id[:15]:<16}{vehicle.depot[:15]:<16}"
            f"{instruction(vehicle, action)}"
        )
        if action is not None:
            lines.append(f"{'':<12}{action.effect}; takes {action.takes}")
        lines.append(f"{'':<12}why: {vehicle.cause}")
    if len(acting) > _SHOWN:
        lines.append(f"... and {len(acting) - _SHOWN} more: --out DIR writes all of them")
    return lines


def _kept_aside(answer: FleetAnswer) -> list[str]:
    """Return the rows that could not be answered, with the reason of each."""
    if not answer.problems:
        return []
    lines = ["", "Kept aside, to be corrected (to_correct.csv):"]
    lines += [f"  {row_words(problem)}" for problem in answer.problems[:_SHOWN]]
    if len(answer.problems) > _SHOWN:
        lines.append(f"  ... and {len(answer.problems) - _SHOWN} more")
    return lines
