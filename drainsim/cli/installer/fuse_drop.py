"""`drainsim fuse-drop`: the current through a fuse from the millivolts across it."""

import argparse

from drainsim.answers.installer.circuit.fuse_drop import DEFAULT_RESOLUTION_MV, fuse_drop
from drainsim.cli.options import Commands, add_answer_options, add_command, show
from drainsim.cli.text import items
from drainsim.language import say
from drainsim.units import a_from_ma


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "fuse-drop",
        "current through a fuse from its millivolts",
        example="fuse-drop --type medium --rating 10 --mv 0.3",
    )
    parser.add_argument("--type", required=True, metavar="TYPE", help="medium or mini")
    parser.add_argument("--rating", required=True, type=float, metavar="A", help="fuse rating")
    parser.add_argument("--mv", required=True, type=float, metavar="MV", help="reading across it")
    parser.add_argument(
        "--resolution-mv",
        type=float,
        default=DEFAULT_RESOLUTION_MV,
        metavar="MV",
        help=f"step of the meter ({DEFAULT_RESOLUTION_MV:g} mV)",
    )
    parser.add_argument(
        "--looking-for-ma", type=float, metavar="MA", help="a current you hope to see"
    )
    add_answer_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Answer and print."""
    wanted = options.looking_for_ma
    answer = fuse_drop(
        kind=options.type,
        rating_a=options.rating,
        drop_mv=options.mv,
        resolution_mv=options.resolution_mv,
        wanted_a=None if wanted is None else a_from_ma(wanted),
    )
    milliohm = 1000 * answer.resistance_ohm
    lines = [
        say(answer.verdict),
        "",
        "  "
        + say(
            "{kind} fuse, {rating:g} A: {milliohm:.2f} mohm cold",
            kind=answer.kind,
            rating=answer.rating_a,
            milliohm=milliohm,
        ),
        "",
        say("Warnings"),
        *items(answer.warnings),
    ]
    show(options, answer.as_dict, lambda: "\n".join(lines))
