"""A quote for many vehicles: the cover table, and the name of each vehicle's own sheet."""

import re
from typing import Final

from drainsim import __version__, dates
from drainsim.answers.storage.answer import YES
from drainsim.answers.storage.catalogue import days_shown
from drainsim.answers.storage.quote import Quote, Quoted
from drainsim.language import Language
from drainsim.sheets.html_page import page
from drainsim.sheets.spreadsheet import Cell
from drainsim.sheets.storage.storage_words import SheetOptions, large_words, way_words

_LONGEST_STEM: Final = 60


def sheet_name(quoted: Quoted, suffix: str) -> str:
    """Return the file of a vehicle's sheet: its row keeps two of one name apart."""
    name = re.sub(r"[^\w.-]+", "_", quoted.vehicle.id)[:_LONGEST_STEM].strip("._")
    return f"{quoted.vehicle.row:04d}_{name or 'vehicle'}{suffix}"


def cover_heading(say: Language) -> list[str]:
    """Return the headings of `cover_rows`."""
    return [
        say("Vehicle"),
        say("Place of the vehicle"),
        say("Until"),
        say("Days asked"),
        say("May it be left standing?"),
        say("Risk as it is"),
        say("Days until the risk is reached"),
        say("What to do"),
        say("Risk then"),
        say("Price"),
        say("Sheet"),
    ]


def cover_rows(quote: Quote, say: Language, *, suffix: str) -> list[list[Cell]]:
    """Return one row per vehicle in the list's order; numbers stay numbers."""
    rows: list[list[Cell]] = []
    for one in quote.vehicles:
        answer, longest = one.answer, one.answer.longest
        way = None if answer.verdict == YES else answer.remedies.cheapest
        rows.append(
            [
                one.vehicle.id,
                one.vehicle.depot,
                one.until,
                answer.question.days,
                large_words(answer, say).rstrip(" ,…"),
                answer.holds.risk,
                days_shown(None, longest.horizon_days)
                if longest.days is None
                else max(longest.days, 0),
                way_words(way, say) if way else "",
                way.risk if way else None,
                way.price if way else None,
                sheet_name(one, suffix),
            ]
        )
    return rows


def cover_html(quote: Quote, options: SheetOptions, *, suffix: str) -> str:
    """Return the cover as a printable page that leads to each vehicle's sheet."""
    say = options.say
    *heading, _sheet = cover_heading(say)
    rows = []
    for one, cells in zip(quote.vehicles, cover_rows(quote, say, suffix=suffix), strict=True):
        longest = one.answer.longest
        days = (
            say("over {days:.0f}", days=longest.horizon_days)
            if longest.days is None
            else say("{days:.0f}", days=max(longest.days, 0))
        )
        then = cells[8]
        rows.append(
            {
                "sheet": cells[10],
                "cells": [
                    cells[0],
                    cells[1],
                    say.day(one.until),
                    cells[3],
                    cells[4],
                    say.risk(one.answer.holds.risk),
                    days,
                    cells[7],
                    say.risk(then) if isinstance(then, float) else "",
                    say("{price:g}", price=cells[9]) if isinstance(cells[9], int | float) else "",
                ],
            }
        )
    return page(
        "quote.html",
        title=say("May they be left standing?"),
        language=options.language,
        options=options,
        heading=heading,
        rows=rows,
        total="" if not quote.price else say("All of it together: {price:.2f}", price=quote.price),
        aside=[
            say("Row {row:.0f} is not answered: {why}", row=problem.row, why=problem.sentence)
            for problem in quote.problems
        ],
        footer=say(
            "Calculated with drainsim {version} on {date}. An estimate from the stated values, not "
            "a warranty: batteries differ.",
            version=__version__,
            date=say.day(options.date or dates.today()),
        ),
        caution=say(
            "A deeply discharged battery can freeze. Never charge or jump-start a frozen battery: "
            "it can burst. Let it thaw and have it tested."
        ),
    )
