"""Reads the command line, hands over to one module per command, turns errors into a sentence."""

import argparse
import io
import os
import sys
from collections.abc import Sequence

from drainsim import __version__
from drainsim.cli import (
    acceptance,
    age,
    catalogue,
    circuits,
    complaint,
    current_log,
    dashboard,
    evidence,
    fleet,
    fuse_drop,
    guide,
    park,
    profiles,
    scenario,
    storage,
    week,
)
from drainsim.errors import DrainsimError

BAD_INPUT = 2


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="drainsim",
        description="How many days can this vehicle stand before it will not start?",
    )
    parser.add_argument("--version", action="version", version=f"drainsim {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for module in (
        park,
        week,
        age,
        storage,
        catalogue,
        fleet,
        circuits,
        current_log,
        fuse_drop,
        acceptance,
        complaint,
        evidence,
        profiles,
        scenario,
        guide,
        dashboard,
    ):
        module.add_parser(commands)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return 0 for an answer, 2 for bad input."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal without ° still gets its answer
    options = build_parser().parse_args(arguments)
    try:
        options.run(options)
    except DrainsimError as error:
        print(f"drainsim: {error}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:  # the reader of our output has left, as `| head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("drainsim: stopped", file=sys.stderr)
        return 130
    return 0
