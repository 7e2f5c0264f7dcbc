"""`drainsim age`: before which winter should a battery be replaced?"""

import argparse
import datetime as dt
import json
from dataclasses import asdict
from pathlib import Path

from drainsim.answers.ageing import AgeingAnswer, ageing
from drainsim.answers.fleet import changed_fleet
from drainsim.cli.options import Commands, add_profiles_option
from drainsim.models.case import resolve
from drainsim.models.fleet.table import read_table
from drainsim.models.fleet.vehicles import FleetSettings, RowProblem, fleet_from_table
from drainsim.models.scenario import Scenario, read_scenario, settings_from_words

_YEAR = {"run.horizon_days": 365}


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser("age", help="before which winter should a battery be replaced?")
    parser.add_argument(
        "file", type=Path, metavar="SCENARIO.toml|FLEET.csv", help="one vehicle, or a fleet list"
    )
    parser.add_argument(
        "--set", action="append", default=[], metavar="KEY=VALUE", dest="settings",
        help="change one value, for example battery.age_years=4 (may be repeated)",
    )  # fmt: skip
    parser.add_argument("--winters", type=int, default=5, help="winters to look ahead (5)")
    parser.add_argument("--risk", type=float, default=0.05, help="risk limit, 0 to 1 (0.05)")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    changes = {**settings_from_words(options.settings), **_YEAR}
    if options.file.suffix.lower() == ".toml":
        scenario = read_scenario(options.file).with_values(changes)
        answer = _answer(scenario, options)
        if options.json:
            print(json.dumps(answer.as_dict(), indent=2, ensure_ascii=False))
        else:
            print(in_words(answer))
        return
    rows, problems = _fleet(options, changes)
    if options.json:
        document = {
            "vehicles": [{"vehicle": name, **answer.as_dict()} for name, answer in rows],
            "left_out": [asdict(problem) for problem in problems],
        }
        print(json.dumps(document, indent=2, ensure_ascii=False))
        return
    print(f"{'vehicle':<18}{'replace before':<20}{'risk this winter':>17}{'health':>8}")
    for name, answer in rows:
        print(f"{name[:17]:<18}{_due(answer):<20}{_first(answer)}")
    for problem in problems:
        print(f"left out, row {problem.row}, column {problem.column}: {problem.sentence}")
    if rows:
        print(f"\n{rows[0][1].warnings[-1]}")


def _answer(scenario: Scenario, options: argparse.Namespace) -> AgeingAnswer:
    case = resolve(scenario, profile_folders=options.profiles)
    return ageing(case, winters=options.winters, risk=options.risk)


def _fleet(
    options: argparse.Namespace, changes: dict[str, object]
) -> tuple[list[tuple[str, AgeingAnswer]], tuple[RowProblem, ...]]:
    settings = FleetSettings(today=dt.date.today(), profile_folders=tuple(options.profiles))
    listed = fleet_from_table(read_table(options.file), settings, where=str(options.file))
    fleet = changed_fleet(listed, changes)
    found = [(vehicle.id, _answer(vehicle.scenario, options)) for vehicle in fleet.vehicles]
    found.sort(key=lambda row: (row[1].replace_before_winter or 9999, row[0]))
    return found, fleet.problems


def _due(answer: AgeingAnswer) -> str:
    year = answer.replace_before_winter
    if year:
        return f"winter {year - 1}/{year % 100:02d}"
    if answer.new_battery_risk > answer.risk_limit:
        return "would not help"
    return f"not in {len(answer.winters)} winters"


def _first(answer: AgeingAnswer) -> str:
    winter = answer.winters[0]
    return f"{100 * winter.risk:>16.0f}%{100 * winter.cranking_health:>7.0f}%"


def in_words(answer: AgeingAnswer) -> str:
    """Return the answer as text for a terminal."""
    limit = f"{100 * answer.risk_limit:.0f} %"
    year = answer.replace_before_winter
    if year:
        verdict = (
            f"Replace this battery before the winter of {year - 1}/{year % 100:02d}: from then on "
            f"the chance that its coldest start fails is above {limit}."
        )
    elif answer.new_battery_risk > answer.risk_limit:
        verdict = (
            "Replacing this battery does not cure its coldest starts: even a new one fails in "
            f"{100 * answer.new_battery_risk:.0f} % of the draws."
        )
    else:
        verdict = (
            f"In none of the next {len(answer.winters)} winters does the coldest start fail with "
            f"more than {limit}."
        )
    lines = [
        verdict,
        f"Coldest morning about {answer.coldest_c:.0f} °C, at {100 * answer.charge:.0f} % charge.",
        "",
        "  winter     cranking health (8 in 10 cases)    capacity    risk of its coldest start",
    ]
    for winter in answer.winters:
        lines.append(
            f"  {winter.year - 1}/{winter.year % 100:02d}"
            f"{100 * winter.cranking_health:>12.0f} % ({100 * winter.cranking_health_low:.0f} to "
            f"{100 * winter.cranking_health_high:.0f} %)"
            f"{100 * winter.capacity_health:>18.0f} %{100 * winter.risk:>16.0f} %"
        )
    lines += ["", "Mind"]
    lines += [f"  - {warning}" for warning in answer.warnings]
    return "\n".join(lines)
