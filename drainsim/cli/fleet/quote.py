"""`drainsim quote`: one storage sheet for each vehicle of a list, with a cover table."""

import argparse
import sys
from pathlib import Path
from typing import Final

from drainsim import dates
from drainsim.answers.storage.answer import NO, YES, YES_IF
from drainsim.answers.storage.quote import DRAWS, Quote, quote
from drainsim.answers.words import counted
from drainsim.cli.fleet.fleet_reading import add_reading_options, read_list, understood_first
from drainsim.cli.options import (
    ANSWERED,
    SET_ASIDE,
    Commands,
    add_answer_options,
    add_command,
    add_page_options,
    add_profiles_option,
    chosen_page,
    show,
)
from drainsim.cli.storage import add_asking_options, chosen_preferences
from drainsim.cli.text import more_words
from drainsim.files.writing import whole_folder, write_bytes
from drainsim.language import say
from drainsim.sheets.fleet.list_file import list_file
from drainsim.sheets.storage.quote_sheet import cover_heading, cover_html, cover_rows, sheet_name
from drainsim.sheets.storage.storage_pdf import storage_pdf
from drainsim.sheets.storage.storage_sheet import storage_html
from drainsim.sheets.storage.storage_words import SheetOptions
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings

_SHOWN: Final = 25


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "quote",
        "one storage sheet for each vehicle of a list, with a cover table",
        example="quote list.csv --days 60 --out sheets",
    )
    parser.add_argument("list", type=Path, metavar="LIST.csv", help="CSV or XLSX list")
    parser.add_argument(
        "--days",
        type=int,
        help="how long each will stand, from today on if parked before (to its return)",
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="write cover and sheets here")
    parser.add_argument(
        "--format", choices=("html", "pdf"), default="html", help="of the sheets (html)"
    )
    parser.add_argument(
        "--draws", type=int, default=DRAWS, help=f"cases calculated per vehicle ({DRAWS})"
    )
    add_answer_options(parser, pages=True)
    add_asking_options(parser)
    add_reading_options(parser)
    add_page_options(parser.add_argument_group("the customer's pages"))
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Answer every vehicle, write cover and sheets, print the table."""
    settings = FleetSettings(
        today=dates.today(), draws=options.draws, profile_folders=tuple(options.profiles)
    )
    fleet, _ = read_list(options.list, options, settings)
    looks = chosen_page(options)
    found = quote(
        fleet,
        settings,
        days=options.days,
        risk=options.risk,
        when=options.when,
        preferences=chosen_preferences(options),
    )
    if options.out:
        with whole_folder(options.out) as fresh:
            _write(fresh, fleet, found, looks, f".{options.format}")
        print(f"written to {options.out}", file=sys.stderr)
    show(
        options,
        found.as_dict,
        lambda: "\n".join([*understood_first(fleet, brief=options.brief), *_in_words(found)]),
    )
    return SET_ASIDE if found.problems else ANSWERED


def _write(folder: Path, fleet: Fleet, found: Quote, looks: SheetOptions, suffix: str) -> None:
    """Write the cover, as a page and in the list's own convention, and every sheet."""
    say = looks.say
    rows = cover_rows(found, say, suffix=suffix)
    name, content = list_file("cover", cover_heading(say), rows, fleet)
    write_bytes(folder / name, content)
    write_bytes(folder / "cover.html", cover_html(found, looks, suffix=suffix).encode())
    for one in found.vehicles:
        sheet = (
            storage_pdf(one.answer, looks)
            if suffix == ".pdf"
            else storage_html(one.answer, looks).encode()
        )
        write_bytes(folder / sheet_name(one, suffix), sheet)


def _in_words(found: Quote) -> list[str]:
    """Return the table as lines for a terminal."""
    verdicts = [one.answer.verdict for one in found.vehicles]
    lines = [
        say(
            "{vehicles}: {yes} may stand as they are, {if_} if something is done, {no} not.",
            vehicles=counted(len(verdicts), "vehicle"),
            yes=verdicts.count(YES),
            if_=verdicts.count(YES_IF),
            no=verdicts.count(NO),
        )
    ]
    if found.price:
        lines.append(say("All that is to be done together: {price:g}.", price=found.price))
    for one in found.vehicles[:_SHOWN]:
        head = say("{vehicle} until {day}", vehicle=one.vehicle.id, day=one.until.isoformat())
        lines += ["", head, f"  {say(one.answer.sentence)}"]
    if len(verdicts) > _SHOWN:
        lines.append(more_words(len(verdicts) - _SHOWN))
    lines += [say("Kept aside: {row}", row=problem.in_words()) for problem in found.problems]
    return lines
