"""How a fleet list was understood, as text for a terminal: what is asked first."""

import argparse
import sys
from pathlib import Path
from typing import Final

from drainsim.cli.options import pair
from drainsim.cli.text import wrapped
from drainsim.errors import one_line
from drainsim.files.fleet.columns import BY_NAME, shown_unit
from drainsim.files.fleet.saved import for_headings, read_columns
from drainsim.files.fleet.table import read_table
from drainsim.language import joined, message, say
from drainsim.sheets.fleet.fleet_understood import rests_on
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, fleet_from_table

_SHOWN: Final = 15


def understood_first(fleet: Fleet, *, brief: bool = False) -> list[str]:
    """Return what must be known before the answer: open questions, and answers mostly assumed.

    In brief only the questions, which would leave no line for the answer otherwise.
    """
    lines: list[str] = []
    for doubt in fleet.doubts[:_SHOWN]:
        asked = f"{doubt.question} {doubt.option}"
        told = (
            say("Asked: row {row}: {question}", row=doubt.row, question=asked)
            if doubt.row
            else say("Asked: {question}", question=asked)
        )
        lines += wrapped(one_line(told), "", "  ")
    if len(fleet.doubts) > _SHOWN:
        more = len(fleet.doubts) - _SHOWN
        lines.append(say("... and {number} more questions: --out DIR has them all", number=more))
    if lines:
        lines.append(say("Until it is answered neither reading is used: such rows are kept aside."))
    for sentence in [] if brief else rests_on(fleet):
        lines += wrapped(sentence, "", "  ")
    return [*lines, ""] if lines else []


def understood_last(fleet: Fleet) -> list[str]:
    """Return how the headings were understood, what was not read and what is no vehicle."""
    matches = fleet.matches
    understood = [
        message(
            "{heading} as {column}",
            heading=match.heading,
            column=f"{BY_NAME[match.column].public}{_how(match.unit, match.basis)}",
        )
        for match in matches
        if match.column and match.column != "id" and not match.asked
    ]
    guessed = [
        message("{heading} as {column}", heading=m.heading, column=m.column)
        for m in matches
        if m.column and not m.certain
    ]
    unread = [
        f"{match.heading}{f' ({match.note})' if match.note else ''}"
        for match in matches
        if match.column is None and match.heading
    ]
    aside: list[str] = [
        message(
            "row {row} {text} ({why})", row=one.row, text=repr(one.text), why=message(one.reason)
        )
        for one in fleet.table.not_vehicles
    ]
    shown: list[str] = [joined("; ", aside[:_SHOWN])]
    if len(aside) > _SHOWN:
        shown.append(message("and {number} more", number=len(aside) - _SHOWN))
    guesses = joined("; ", guessed)
    told = [
        (understood, message("Understood: {what}", what=joined("; ", understood))),
        (guessed, message("Headings guessed: {what} (--column says otherwise)", what=guesses)),
        (unread, message("Columns not used: {what}", what=", ".join(unread))),
        (aside, message("Not vehicles: {what}", what=joined(" ", shown))),
        (
            fleet.table.unread_sheets,
            message("Sheets not read: {what}", what=", ".join(fleet.table.unread_sheets)),
        ),
    ]
    return [line for some, text in told if some for line in ("", one_line(say(text)))]


def _how(unit: str | None, basis: str) -> str:
    shown = shown_unit(unit)
    how = [say(shown)] if shown and shown != "share" else []
    if basis not in {"heading", "chosen", "the usual unit"}:
        how.append(say("by {basis}", basis=message(basis)))
    return f" [{', '.join(how)}]" if how else ""


def add_reading_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that say how a list is to be read."""
    parser.add_argument(
        "--column",
        type=pair("--column", "HEADING=COLUMN"),
        action="append",
        default=[],
        metavar="HEADING=COLUMN",
        help="say what a heading means and how it is written, for example 'Ref=id', 'Ruhestrom="
        "quiescent_a [mA]', 'Parked=parked_since [day first]' (nothing after = leaves it out)",
    )
    parser.add_argument(
        "--columns", type=Path, metavar="FILE", help="answers about columns saved before (JSON)"
    )
    parser.add_argument("--sheet", default="", metavar="NAME", help="sheet of a workbook to read")


def read_list(
    path: Path, options: argparse.Namespace, settings: FleetSettings
) -> tuple[Fleet, dict[str, str]]:
    """Return the list as it was understood, and the answers about its columns."""
    table = read_table(path, sheet=options.sheet)
    chosen: dict[str, str] = dict(options.column)
    if options.columns:
        saved, strangers = for_headings(read_columns(options.columns), table.headings)
        chosen = saved | chosen
        if strangers:
            print(
                one_line(f"drainsim: {options.columns}: not in this list: {', '.join(strangers)}"),
                file=sys.stderr,
            )
    fleet = fleet_from_table(table, settings, where=str(path), chosen=chosen)
    return fleet, chosen
