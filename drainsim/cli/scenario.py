"""`drainsim scenario`: a commented example file, or the JSON Schema of one."""

import argparse

from drainsim.cli.options import Commands, add_command, print_json
from drainsim.vehicle.documents.code import decode_question
from drainsim.vehicle.keys.schema import example_toml, scenario_json_schema


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "scenario",
        "an example scenario file, or its JSON Schema",
        example="scenario --example > van.toml",
    )
    choice = parser.add_mutually_exclusive_group(required=True)
    choice.add_argument("--example", action="store_true", help="print a commented example")
    choice.add_argument("--schema", action="store_true", help="print the JSON Schema")
    choice.add_argument(
        "--decode", metavar="CODE", help="print the scenario behind the code on a sheet"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Print what was asked for."""
    if options.decode is not None:
        asked = decode_question(options.decode)
        print(
            f"# drainsim {asked.version}, {asked.date.isoformat()}: "
            f"drainsim storage THIS.toml --days {asked.days} --risk {asked.risk:g} "
            f"--when {asked.when}"
        )
        print(asked.scenario.to_toml(), end="")
    elif options.example:
        print(example_toml(), end="")
    else:
        print_json(scenario_json_schema())
