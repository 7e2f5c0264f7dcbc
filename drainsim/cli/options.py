"""Options that several commands share."""

import argparse
import json
from pathlib import Path
from typing import Any, TypeAlias

from drainsim.errors import DrainsimError
from drainsim.files.examples import example_text
from drainsim.files.writing import whole_folder as whole_folder
from drainsim.files.writing import write_bytes as write_bytes
from drainsim.files.writing import write_text as write_text
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.scenario import Scenario, read_scenario, settings_from_words

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def add_scenario_options(parser: argparse.ArgumentParser) -> None:
    """Add SCENARIO, --set and --profiles."""
    parser.add_argument("scenario", type=Path, metavar="SCENARIO.toml", help="the parked vehicle")
    add_set_option(parser)
    add_profiles_option(parser)


def add_set_option(
    parser: argparse.ArgumentParser,
    words: str = "change one value, for example battery.age_years=4 (may be repeated)",
) -> None:
    """Add the option that sets one key of the scenario."""
    parser.add_argument(
        "--set", action="append", default=[], metavar="KEY=VALUE", dest="settings", help=words
    )


def add_profiles_option(parser: argparse.ArgumentParser) -> None:
    """Add the option that names a folder of the user's own battery profiles."""
    parser.add_argument(
        "--profiles",
        type=Path,
        action="append",
        default=[],
        metavar="FOLDER",
        help="folder of your own battery profiles, searched first (may be repeated)",
    )


def chosen_scenario(options: argparse.Namespace) -> Scenario:
    """Return the scenario of the command line with its --set changes."""
    scenario = read_scenario(options.scenario)
    settings = settings_from_words(options.settings)
    return scenario.with_values(settings) if settings else scenario


def chosen_case(options: argparse.Namespace) -> Case:
    """Return the resolved case of the command line."""
    return resolve(chosen_scenario(options), profile_folders=options.profiles)


def print_json(document: Any) -> None:
    """Print an answer's plain data as JSON; a number it cannot hold is a fault of ours."""
    print(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False))


def printed_example(options: argparse.Namespace, example: str, *, command: str, file: str) -> bool:
    """Print the invented example and return True where --example asks for it.

    Raises
    ------
    DrainsimError
        If neither it nor a file was given.
    """
    if options.example:
        print(example_text(example), end="")
        return True
    if options.file is None:
        raise DrainsimError(f"{command}: give {file}, or --example to see one")
    return False
