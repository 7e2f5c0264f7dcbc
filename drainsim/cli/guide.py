"""`drainsim guide`: the manual, one page per job."""

import argparse

from drainsim.cli.options import Commands, add_command
from drainsim.files.guide import guide_pages, guide_text


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands, "guide", "the manual: its pages, or one of them", example="guide installer"
    )
    parser.add_argument("name", nargs="?", metavar="NAME", help="page to print")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Print the list of pages, or a page."""
    if options.name is not None:
        print(guide_text(options.name), end="")
        return
    for name, title in guide_pages().items():
        print(f"  {name:<12}{title}")
