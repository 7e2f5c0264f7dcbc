"""`drainsim age`: before which winter should a battery be replaced?"""

import argparse
from pathlib import Path

from drainsim import dates
from drainsim.answers.driving.ageing import AgeingAnswer
from drainsim.answers.driving.ageing_words import (
    ageing_verdict,
    coldest_words,
    due_words,
    winter_words,
)
from drainsim.answers.fleet.ageing_list import AgeingList, ageing_list, ageing_of, list_verdict
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.cli.assumptions import assumption_lines
from drainsim.cli.fleet.fleet_reading import add_reading_options, read_list, understood_first
from drainsim.cli.options import (
    ANSWERED,
    SET_ASIDE,
    Commands,
    add_answer_options,
    add_command,
    add_profiles_option,
    add_set_option,
    show,
)
from drainsim.cli.text import warning_lines
from drainsim.language import say
from drainsim.vehicle.documents.fleet_rows import FleetSettings
from drainsim.vehicle.keys.scenario import read_scenario, settings_from_words


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "age",
        "before which winter should a battery be replaced?",
        example="age van.toml --winters 5",
    )
    parser.add_argument(
        "file",
        type=Path,
        metavar="SCENARIO.toml|FLEET.csv",
        help="one vehicle (.toml), or a fleet list; - reads a list",
    )
    add_set_option(parser)
    parser.add_argument("--winters", type=int, default=5, help="winters to look ahead (5)")
    parser.add_argument(
        "--risk", type=float, default=DEFAULT_RISK, help=f"risk limit, 0 to 1 ({DEFAULT_RISK})"
    )
    add_reading_options(parser)
    add_answer_options(parser, verbose="every assumption about one vehicle")
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Answer and print."""
    changes = settings_from_words(options.settings)
    asked = {"winters": options.winters, "risk": options.risk, "profile_folders": options.profiles}
    answer: AgeingAnswer | AgeingList
    aside = False
    if options.file.suffix.lower() == ".toml":
        answer = ageing_of(read_scenario(options.file).with_values(changes), **asked)
        words = in_words(answer, verbose=options.verbose)
    else:
        settings = FleetSettings(today=dates.today(), profile_folders=tuple(options.profiles))
        fleet, _ = read_list(options.file, options, settings)
        answer = ageing_list(fleet, changes=changes, **asked)
        aside = bool(answer.problems)
        words = "\n".join(
            [*understood_first(fleet, brief=options.brief), _list_in_words(answer, options.winters)]
        )
    show(options, answer.as_dict, lambda: words)
    return SET_ASIDE if aside else ANSWERED


def _list_in_words(found: AgeingList, winters: int) -> str:
    verdict = [say(list_verdict(found.vehicles, winters=winters)), ""] if found.vehicles else []
    lines = [
        *verdict,
        f"{say('vehicle'):<18}{say('replace before'):<20}{say('risk this winter'):>17}"
        f"{say('health'):>8}",
    ]
    for one in found.vehicles:
        winter = one.answer.winters[0]
        lines.append(
            f"{one.id[:17]:<18}{say(due_words(one.answer)):<20}"
            f"{100 * winter.risk:>16.0f}%{100 * winter.cranking_health:>7.0f}%"
        )
    lines += [say("left out, {row}", row=problem.in_words()) for problem in found.problems]
    if found.vehicles:
        lines += ["", say(found.vehicles[0].answer.warnings[-1])]
    return "\n".join(lines)


def in_words(answer: AgeingAnswer, *, verbose: bool = False) -> str:
    """Return the answer as text for a terminal; `verbose` lists every assumption."""
    lines = [
        say(ageing_verdict(answer)),
        say(coldest_words(answer)),
        "",
        say(
            "  winter     cranking health (8 in 10 cases)    capacity    risk of its coldest start"
        ),
    ]
    for winter in answer.winters:
        health = say(
            "{low:.0f} to {high:.0f} %",
            low=100 * winter.cranking_health_low,
            high=100 * winter.cranking_health_high,
        )
        lines.append(
            f"  {winter_words(winter.year)}{100 * winter.cranking_health:>12.0f} % ({health})"
            f"{100 * winter.capacity_health:>18.0f} %{100 * winter.risk:>16.0f} %"
        )
    lines += warning_lines(answer.warnings)
    return "\n".join([*lines, *(assumption_lines(answer.case, verbose=True) if verbose else [])])
