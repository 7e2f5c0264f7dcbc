"""`drainsim scenario`: a commented example file, or the JSON Schema of one."""

import argparse
import json

from drainsim.cli.options import Commands
from drainsim.models.schema import example_toml, scenario_json_schema


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = commands.add_parser("scenario", help="an example scenario file, or its JSON Schema")
    choice = parser.add_mutually_exclusive_group(required=True)
    choice.add_argument("--example", action="store_true", help="print a commented example")
    choice.add_argument("--schema", action="store_true", help="print the JSON Schema")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Print what was asked for."""
    if options.example:
        print(example_toml(), end="")
    else:
        print(json.dumps(scenario_json_schema(), indent=2))
