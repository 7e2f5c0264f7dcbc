"""The catalogue for a tender: self-contained HTML, CSV and XLSX; the PDF is in `catalogue_pdf`."""

from dataclasses import dataclass
from typing import Final

from drainsim import __version__, dates
from drainsim.answers.storage.catalogue import (
    Catalogue,
    assumption_lines,
    catalogue_title,
    days_shown,
)
from drainsim.language import Language, language, marked
from drainsim.sheets.html_page import page
from drainsim.sheets.spreadsheet import csv_text, harmless, xlsx_bytes
from drainsim.sheets.storage.storage_words import SheetOptions

_XLSX_TITLE: Final = marked("days at risk")  # no language needs more than the 31 a sheet can have
CAUTIONS: Final = (
    marked("Estimates from the stated values, not a warranty: batteries differ."),
    marked(
        "A deeply discharged battery can freeze. Never charge or jump-start a frozen battery: it "
        "can burst. Let it thaw and have it tested."
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A range of days with its shade; on a grey printer each is lighter than the one before."""

    below_days: int | None
    words: str
    red_green_blue: tuple[int, int, int]


# From a week to two months; an opinion. Black on the darkest keeps a contrast above 7:1.
BANDS: Final = (
    Band(below_days=7, words=marked("under 7 days"), red_green_blue=(238, 158, 72)),
    Band(below_days=14, words=marked("7 to 13"), red_green_blue=(247, 190, 122)),
    Band(below_days=30, words=marked("14 to 29"), red_green_blue=(252, 217, 170)),
    Band(below_days=60, words=marked("30 to 59"), red_green_blue=(254, 238, 215)),
    Band(below_days=None, words=marked("60 and more"), red_green_blue=(255, 255, 255)),
)


def band_of(days: int | None, horizon_days: int) -> Band:
    """Return the band of an entry; more than the horizon counts as the horizon.

    Examples
    --------
    >>> band_of(13, 180).words, band_of(None, 180).words
    ('7 to 13', '60 and more')
    """
    shown = horizon_days if days is None else days
    return next(band for band in BANDS if band.below_days is None or shown < band.below_days)


def calculated_words(options: SheetOptions) -> str:
    """Return version and date."""
    return options.say(
        "Calculated with drainsim {version} on {date}.",
        version=__version__,
        date=options.date or dates.today(),
    )


def lines_below(table: Catalogue, options: SheetOptions) -> list[str]:
    """Return what the table assumes, and what it was calculated with, a sentence each."""
    said = [options.say(line) for line in assumption_lines(table.question)]
    return [*said, calculated_words(options)]


def catalogue_html(table: Catalogue, options: SheetOptions | None = None) -> str:
    """Return the table as an HTML page; shades only help, figures say it."""
    question, options = table.question, options or SheetOptions()
    say = options.say

    def cell(days: int | None) -> dict[str, object]:
        """Return a cell, the lighter the longer: short stands catch the eye in print."""
        shade = band_of(days, question.horizon_days).red_green_blue
        return {"words": days_shown(days, question.horizon_days), "shade": shade}

    return page(
        "catalogue.html",
        title=say(catalogue_title(table)),
        language=say.code,
        options=options,
        unit_label=say("Unit:"),
        row_label=say("vehicle class"),
        shade_label=say("Shade, days:"),
        climates=[say.said(question.climate_name(key)) for key in question.climates],
        seasons_each=len(question.seasons),
        seasons=[say(season) for _climate, season in table.columns()],
        units=[
            {
                "name": say.said(question.unit_name(unit)),
                "rows": [
                    {
                        "name": say.said(question.vehicle_name(vehicle)),
                        "cells": [
                            cell(table.days(unit, vehicle, climate, season))
                            for climate, season in table.columns()
                        ],
                    }
                    for vehicle in question.vehicles
                ],
            }
            for unit in question.units
        ],
        bands=[{"words": say(band.words), "red_green_blue": band.red_green_blue} for band in BANDS],
        lines=lines_below(table, options),
        caution=" ".join(say(caution) for caution in CAUTIONS),
    )


def catalogue_rows(table: Catalogue, say: Language | None = None) -> list[list[str | int]]:
    """Return heading and rows as a spreadsheet has them: one row per unit and vehicle class."""
    question, say = table.question, say or language("en")
    heading: list[str | int] = [say("unit"), say("vehicle class")]
    heading += [
        harmless(
            say(
                "{climate}, {season} [days]",
                climate=question.climate_name(climate),
                season=say(season),
            )
        )
        for climate, season in table.columns()
    ]
    rows = [heading]
    for unit in question.units:
        for vehicle in question.vehicles:
            names = (question.unit_name(unit), question.vehicle_name(vehicle))
            row: list[str | int] = [harmless(say.said(name)) for name in names]
            for climate, season in table.columns():
                days = table.days(unit, vehicle, climate, season)
                row.append(days_shown(None, question.horizon_days) if days is None else days)
            rows.append(row)
    return rows


def catalogue_csv(table: Catalogue, options: SheetOptions | None = None) -> str:
    """Return the table as CSV text, what it assumes below it."""
    options = options or SheetOptions()
    heading, *rows = catalogue_rows(table, options.say)
    notes = [[line] for line in _notes(table, options)]
    return csv_text([str(name) for name in heading], [*rows, [], *notes])


def catalogue_xlsx(table: Catalogue, options: SheetOptions | None = None) -> bytes:
    """Return the table as a spreadsheet file, what it assumes below it."""
    options = options or SheetOptions()
    heading, *rows = catalogue_rows(table, options.say)
    blank = [""] * (len(heading) - 1)
    notes = [[line, *blank] for line in ("", *_notes(table, options))]
    title = options.say(_XLSX_TITLE)
    return xlsx_bytes(title, [str(name) for name in heading], [*rows, *notes])


def _notes(table: Catalogue, options: SheetOptions) -> list[str]:
    return [*lines_below(table, options), *map(options.say, CAUTIONS)]
