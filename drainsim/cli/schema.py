"""`drainsim schema`: the JSON Schema of what a command prints with --json."""

import argparse

from drainsim.cli.options import Commands, add_command, print_json
from drainsim.files.answer_schema import answer_commands, answer_schema


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands, "schema", "JSON Schema of a command's --json answer", example="schema park"
    )
    parser.add_argument("name", metavar="NAME", help=f"one of {', '.join(answer_commands())}")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Print the schema."""
    print_json(answer_schema(options.name))
