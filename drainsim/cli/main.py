"""Reads the command line, hands over to one module per command, turns errors into a sentence."""

import argparse
import contextlib
import contextvars
import io
import os
import re
import sys
from collections.abc import Sequence
from typing import Final, NoReturn, TextIO, cast

from drainsim import __version__
from drainsim.cli import (
    age,
    catalogue,
    dashboard,
    evidence,
    guide,
    park,
    profiles,
    scenario,
    schema,
    storage,
    week,
)
from drainsim.cli.fleet import fleet, forecast, quote
from drainsim.cli.installer import acceptance, circuits, complaint, current_log, fuse_drop
from drainsim.cli.options import ANSWERED, BAD_INPUT, in_its_language
from drainsim.cli.text import PlainOutput
from drainsim.errors import DrainsimError
from drainsim.files.reading import nearest

_GROUPS: Final = {
    "standing and driving": (park, week, age),
    "sales": (storage, quote, catalogue),
    "fleet": (fleet, forecast),
    "installer": (circuits, current_log, fuse_drop, acceptance, complaint),
    "behind the answers": (profiles, scenario, schema, evidence, guide),
    "in a browser": (dashboard,),
}
_EXAMPLE: Final = "  drainsim park van.toml --set battery.age_years=4"
_CODES: Final = (
    "exit codes: 0 an answer; 1 an answer that says no; 2 bad input; 3 some rows set aside\n"
    "COMMAND --help has the options and an example; - stands for standard input or output"
)
_CHOICE: Final = re.compile(r"invalid choice: '?(.*?)'? \(choose from (.*)\)")


class _Parser(argparse.ArgumentParser):
    """A parser that says which word may have been meant."""

    def error(self, message: str) -> NoReturn:
        found = _CHOICE.search(message)
        if found:
            word, choices = found[1], [one.strip(" '") for one in found[2].split(",")]
            kind = "unknown command" if "COMMAND" in message else "unknown"
            message = f"{word[:60]!r}: {kind}; {nearest(word[:60], choices)}"
        super().error(message)


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = _Parser(
        prog="drainsim",
        description="How many days can this vehicle stand before it will not start?",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"drainsim {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    lines = []
    for heading, modules in _GROUPS.items():
        known = set(commands.choices)
        for module in modules:
            module.add_parser(commands)
        lines += ["", f"{heading}:"]
        lines += [
            f"  {name:<13}{one.description}"
            for name, one in commands.choices.items()
            if name not in known
        ]
    parser.epilog = "\n".join(
        [*lines, "", "example:", "  drainsim scenario --example > van.toml", _EXAMPLE, "", _CODES]
    ).lstrip("\n")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    0 is an answer, 1 an answer that says no, 2 bad input or output that cannot be written, 3 an
    answer with some rows set aside.
    """
    code = ANSWERED
    _write_utf8()
    plain = cast("TextIO", PlainOutput(sys.stdout)) if sys.stdout is not None else None
    try:
        with contextlib.redirect_stdout(plain):
            parser = build_parser()
            _complete(parser)
            options = parser.parse_args(arguments)
            if "lang" in options:  # what is said here is said in no later run
                code = contextvars.copy_context().run(in_its_language, options) or ANSWERED
            else:
                code = options.run(options) or ANSWERED
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
    return code


def _complete(parser: argparse.ArgumentParser) -> None:
    """Answer a shell that asks how a line may go on; needs the extra `completion`."""
    if "_ARGCOMPLETE" in os.environ:  # set by the shell, and by nothing else
        with contextlib.suppress(ImportError):
            import argcomplete

            argcomplete.autocomplete(parser)


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
