"""Reads the command line, hands over to one module per command, turns errors into a sentence."""

import argparse
import contextlib
import io
import os
import sys
from collections.abc import Sequence
from typing import TextIO, cast

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
    quote,
    scenario,
    storage,
    week,
)
from drainsim.cli.text import PlainOutput
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
        quote,
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
    """Run one command; return 0 for an answer, 2 for bad input or output that cannot be written."""
    _write_utf8()
    plain = cast("TextIO", PlainOutput(sys.stdout)) if sys.stdout is not None else None
    try:
        with contextlib.redirect_stdout(plain):
            options = build_parser().parse_args(arguments)
            options.run(options)
        if sys.stdout is not None:  # closed by who called us
            sys.stdout.flush()  # a full disk may show only now
    except DrainsimError as error:
        print(f"drainsim: {error}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:  # the reader of our output has left, as `| head` does
        _drop_output()
        return 0
    except OSError as error:  # files are written elsewhere, so it is the output
        _drop_output()
        detail = error.strerror or str(error)
        print(f"drainsim: the output cannot be written: {detail}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        print("drainsim: stopped", file=sys.stderr)
        return 130
    return 0


def _write_utf8() -> None:
    """Write UTF-8 into files and pipes whatever the system's code page; our readers expect it.

    A terminal keeps its own encoding, and shows a mark for a letter it does not have.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            if stream.isatty():
                stream.reconfigure(errors="replace")
            else:
                stream.reconfigure(encoding="utf-8", errors="replace")


def _drop_output() -> None:
    """Let what is still to be written go nowhere: no second failure at the interpreter's end."""
    with contextlib.suppress(OSError, ValueError, AttributeError):  # no file behind it
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
