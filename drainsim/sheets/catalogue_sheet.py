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
from drainsim.language import language
from drainsim.sheets.html_page import page
from drainsim.sheets.spreadsheet import csv_text, harmless, xlsx_bytes
from drainsim.sheets.storage_words import SheetOptions

_XLSX_TITLE: Final = "days at risk"
CAUTIONS: Final = (
    "Estimates from the stated values, not a warranty: batteries differ.",
    "A deeply discharged battery can freeze. Never charge or jump-start a frozen battery: it can "
    "burst. Let it thaw and have it tested.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A range of days with its shade; on a grey printer each is lighter than the one before."""

    below_days: int | None
    words: str
    red_green_blue: tuple[int, int, int]


# From a week to two months; an opinion. Black on the darkest keeps a contrast above 7:1.
BANDS: Final = (
    Band(below_days=7, words="under 7 days", red_green_blue=(238, 158, 72)),
    Band(below_days=14, words="7 to 13", red_green_blue=(247, 190, 122)),
    Band(below_days=30, words="14 to 29", red_green_blue=(252, 217, 170)),
    Band(below_days=60, words="30 to 59", red_green_blue=(254, 238, 215)),
    Band(below_days=None, words="60 and more", red_green_blue=(255, 255, 255)),
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
    day = language("en").day(options.date or dates.today())
    return f"Calculated with drainsim {__version__} on {day}."


def catalogue_html(table: Catalogue, options: SheetOptions | None = None) -> str:
    """Return the table as an HTML page in English; shades only help, figures say it."""
    question, options = table.question, options or SheetOptions()

    def cell(days: int | None) -> dict[str, object]:
        """Return a cell, the lighter the longer: short stands catch the eye in print."""
        shade = band_of(days, question.horizon_days).red_green_blue
        return {"words": days_shown(days, question.horizon_days), "shade": shade}

    return page(
        "catalogue.html",
        title=catalogue_title(table),
        options=options,
        climates=[question.climate_name(key) for key in question.climates],
        seasons_each=len(question.seasons),
        seasons=[season for _climate, season in table.columns()],
        units=[
            {
                "name": unit,
                "rows": [
                    {
                        "name": question.vehicle_name(vehicle),
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
        bands=BANDS,
        lines=[*assumption_lines(question), calculated_words(options)],
        caution=" ".join(CAUTIONS),
    )


def catalogue_rows(table: Catalogue) -> list[list[str | int]]:
    """Return heading and rows as a spreadsheet has them: one row per unit and vehicle class."""
    question = table.question
    heading: list[str | int] = ["unit", "vehicle class"]
    heading += [
        harmless(f"{question.climate_name(climate)}, {season} [days]")
        for climate, season in table.columns()
    ]
    rows = [heading]
    for unit in question.units:
        for vehicle in question.vehicles:
            row: list[str | int] = [harmless(unit), harmless(question.vehicle_name(vehicle))]
            for climate, season in table.columns():
                days = table.days(unit, vehicle, climate, season)
                row.append(days_shown(None, question.horizon_days) if days is None else days)
            rows.append(row)
    return rows


def catalogue_csv(table: Catalogue) -> str:
    """Return the table as CSV text, what it assumes below it."""
    heading, *rows = catalogue_rows(table)
    notes = [[line] for line in _notes(table)]
    return csv_text([str(name) for name in heading], [*rows, [], *notes])


def catalogue_xlsx(table: Catalogue) -> bytes:
    """Return the table as a spreadsheet file, what it assumes below it."""
    heading, *rows = catalogue_rows(table)
    blank = [""] * (len(heading) - 1)
    notes = [[line, *blank] for line in ("", *_notes(table))]
    return xlsx_bytes(_XLSX_TITLE, [str(name) for name in heading], [*rows, *notes])


def _notes(table: Catalogue) -> list[str]:
    return [*assumption_lines(table.question), calculated_words(SheetOptions()), *CAUTIONS]
