"""`drainsim fleet`: which parked vehicles will not start, and by when must someone act."""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from drainsim import dates
from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet, changed_fleet
from drainsim.answers.fleet.done import done_words, with_done
from drainsim.answers.fleet.fleet_actions import cheapest_actions, usual_until
from drainsim.answers.fleet.stages import Stages
from drainsim.answers.fleet.work_plan import Limits, WorkPlan, work_plan
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.cli.fleet.fleet_cluster import run_on_cluster
from drainsim.cli.fleet.fleet_reading import (
    add_reading_options,
    read_list,
)
from drainsim.cli.fleet.fleet_words import in_words
from drainsim.cli.options import (
    ANSWERED,
    SAYS_NO,
    SET_ASIDE,
    Commands,
    add_answer_options,
    add_check_option,
    add_command,
    add_profiles_option,
    add_set_option,
    chosen_language,
    pair,
    show,
)
from drainsim.errors import DrainsimError
from drainsim.files.fleet.example import example_list
from drainsim.files.fleet.marks import Mark, read_marks
from drainsim.files.fleet.saved import columns_text
from drainsim.files.fleet.words import headings_in_words
from drainsim.files.writing import whole_folder, write_bytes, write_text
from drainsim.language import Language, message, say
from drainsim.sheets.fleet.action_list import action_list_html
from drainsim.sheets.fleet.calendar import act_by_calendar
from drainsim.sheets.fleet.fleet_summary import as_json, summary
from drainsim.sheets.fleet.fleet_tables import (
    PLAN_HEADING,
    plan_rows,
    to_correct,
    vehicle_heading,
    vehicle_rows,
)
from drainsim.sheets.fleet.fleet_understood import understood_csv
from drainsim.sheets.fleet.list_file import list_file
from drainsim.sheets.spreadsheet import for_spreadsheets
from drainsim.vehicle.documents.fleet_rows import DEFAULT_DRAWS, Fleet, FleetSettings
from drainsim.vehicle.keys.scenario import settings_from_words
from drainsim.vehicle.run import RUN
from drainsim.vehicle.trip import days_of


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "fleet",
        "which parked vehicles will not start, and when?",
        example="fleet fleet.csv --out results",
    )
    parser.add_argument("fleet", type=Path, nargs="?", metavar="FLEET.csv", help="CSV or XLSX list")
    parser.add_argument("--example", action="store_true", help="print an invented list as CSV")
    parser.add_argument(
        "--headings", action="store_true", help="print the headings that are recognised"
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="write all results to this folder")
    parser.add_argument(
        "--risk", type=float, default=DEFAULT_RISK, help=f"risk limit, 0 to 1 ({DEFAULT_RISK})"
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
        metavar="DAYS",
        help="days a vehicle without planned return must last "
        f"({usual_until(ahead)}, or all days ahead where they are fewer)",
    )
    draws = DEFAULT_DRAWS
    parser.add_argument(
        "--draws", type=int, default=draws, help=f"cases calculated per vehicle ({draws})"
    )
    parser.add_argument("--seed", type=int, default=1, help="same seed, same answer (1)")
    parser.add_argument("--call-out-price", type=float, metavar="PRICE", help="of one call-out")
    add_set_option(parser, "what if every vehicle had this, for example unit.report_interval_h=24")
    add_reading_options(parser)
    parser.add_argument(
        "--depot-weather",
        type=pair("--depot-weather", "DEPOT=FILE"),
        action="append",
        default=[],
        metavar="DEPOT=FILE",
        help="hourly CSV or EPW temperature file of a depot",
    )
    parser.add_argument(
        "--done",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="vehicles or work_plan file of an earlier --out with done_on filled in: go on from "
        "there (may be repeated: one for each time)",
    )
    for option, what in (("--chargers", "chargers"), ("--people", "people")):
        parser.add_argument(
            option,
            type=pair(option, "DEPOT=N"),
            action="append",
            default=[],
            metavar="DEPOT=N",
            help=f"so many {what} there a day (a depot not named: as many as it takes): plan the "
            "work so that most vehicles start",
        )
    parser.add_argument(
        "--work-days",
        default="daily",
        metavar="DAYS",
        help="days on which the plan has work: Mon-Fri, or a list like Mon,Wed,Sat (daily)",
    )
    parser.add_argument("--hour-price", type=float, metavar="PRICE", help="of an hour of work")
    parser.add_argument("--no-actions", action="store_true", help="skip the search for actions")
    parser.add_argument("--workers", type=int, metavar="N", help="processes (one per core)")
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="a running Dask cluster: FLEET is a folder of CSV or Parquet files, --out gets a "
        "folder for each",
    )
    add_answer_options(parser, pages=True)
    add_check_option(parser, "someone must act today")
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def _date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date like 2026-12-01") from None


def run(options: argparse.Namespace) -> int:
    """Answer the list, print and write what was asked for."""
    if options.headings or options.example:
        example = example_list().decode("utf-8-sig")
        print(f"{headings_in_words()}\n" if options.headings else example, end="")
        return ANSWERED
    if options.fleet is None:
        raise DrainsimError("give a fleet list, or --example for an invented one")
    settings, language = _settings(options), chosen_language(options)
    if options.cluster:
        return run_on_cluster(options, settings, partial(write_results, language=language))
    fleet, chosen = read_list(options.fleet, options, settings)
    marks = read_marks(options.done)
    if marks:
        fleet = with_done(fleet, marks, settings, workers=options.workers)
    changes = settings_from_words(options.settings)
    stages = Stages(1 + (not options.no_actions) + bool(changes), _show)
    answer, actions = _answered(fleet, settings, options, stages)
    plan = _plan(answer, actions, options)
    changed = None
    if changes:
        other = changed_fleet(fleet, changes)
        changed, _ = _answered(other, settings, options, stages, actions=False)
    _show(1.0, "", end="\r")
    if options.out:
        with whole_folder(options.out) as fresh:
            write_results(fresh, fleet, answer, actions, changed, chosen, plan, language=language)
        print(f"written to {options.out}", file=sys.stderr)

    def document() -> dict[str, Any]:
        found = as_json(fleet, answer, actions, changed)
        return found | {"work_plan": plan.as_dict()} if plan else found

    def words() -> str:
        said = in_words(fleet, answer, actions, changed, options.settings, brief=options.brief)
        return _with_work(said, marks, plan)

    show(options, document, words)
    if options.check and answer.must_act["today"]:
        return SAYS_NO
    return SET_ASIDE if answer.problems else ANSWERED


def _with_work(said: str, marks: list[Mark], plan: WorkPlan | None) -> str:
    """Return the answer with what was done before it and the plan behind it."""
    done = f"{say(done_words(marks))}\n" if marks else ""
    return f"{done}{said}\n\n{say(plan.in_words)}" if plan else done + said


def _plan(
    answer: FleetAnswer, actions: dict[str, Action], options: argparse.Namespace
) -> WorkPlan | None:
    """Return the plan of work where limits are given."""
    limits = Limits(
        chargers=_counts(options.chargers, "--chargers"),
        people=_counts(options.people, "--people"),
        weekdays=frozenset(days_of(options.work_days, "--work-days")),
    )
    if not limits:
        return None
    return work_plan(answer, actions, limits, hour_price=options.hour_price)


def _counts(words: list[tuple[str, str]], option: str) -> dict[str, int]:
    found = {}
    for depot, text in words:
        if not text.isdecimal():
            raise DrainsimError(f"{option} {depot}={text}: write a whole number, like {depot}=2")
        found[depot] = int(text)
    return found


def _settings(options: argparse.Namespace) -> FleetSettings:
    weather = {depot: Path(file) for depot, file in options.depot_weather}
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
        progress=stages.next(message("vehicles answered")),
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
        progress=stages.next(message("actions tried")),
        workers=options.workers,
    )
    return answer, found


def _show(_share: float, words: str, *, end: str = "") -> None:
    """Show on one line of a terminal, not in a log, how far the run is."""
    if sys.stderr.isatty():
        print(f"\r{say(words):<79}", end=end, file=sys.stderr, flush=True)


def write_results(
    folder: Path,
    fleet: Fleet,
    answer: FleetAnswer,
    actions: dict[str, Action],
    changed: FleetAnswer | None,
    chosen: Mapping[str, str],
    plan: WorkPlan | None,
    *,
    language: Language,
) -> None:
    """Write every result of a list, how it was understood and the answers about its columns.

    Tables come in the list's own convention; `understood.csv`, for programs, in one of its own.
    """
    tables = [
        list_file(
            "vehicles", vehicle_heading(answer), vehicle_rows(answer, actions, language), fleet
        ),
        list_file("to_correct", *to_correct(fleet, answer.problems), fleet),
    ]
    if plan:
        tables.append(list_file("work_plan", PLAN_HEADING, plan_rows(plan, language), fleet))
    for name, content in tables:
        write_bytes(folder / name, content)
    understood = understood_csv(fleet, answer.settings, answer)
    write_text(folder / "understood.csv", for_spreadsheets(understood))
    write_text(folder / "columns.json", columns_text(chosen))
    figures = json.dumps(summary(fleet, answer, actions, changed), indent=2)
    write_text(folder / "summary.json", figures + "\n")
    today = answer.settings.today
    write_text(
        folder / "act_by.ics", act_by_calendar(answer.vehicles, actions, today=today, say=language)
    )
    write_text(folder / "action_list.html", action_list_html(answer, actions, language))
