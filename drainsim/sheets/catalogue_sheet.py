"""The catalogue for a tender: self-contained HTML, CSV and XLSX; the PDF is in `catalogue_pdf`."""

import datetime as dt
from dataclasses import dataclass
from html import escape
from typing import Final

from drainsim import __version__
from drainsim.answers.storage.catalogue import (
    Catalogue,
    assumption_lines,
    catalogue_title,
    days_shown,
)
from drainsim.files.presets import presets
from drainsim.sheets.html_page import name_in, page_begin
from drainsim.sheets.spreadsheet import csv_text, harmless, xlsx_bytes
from drainsim.sheets.storage_words import SheetOptions
from drainsim.sheets.translation import language

_STYLE: Final = """
@page { size: PAPER landscape; margin: 12mm; }
body { font: 10pt/1.35 "DejaVu Sans", "Liberation Sans", Arial, sans-serif; color: #000;
  background: #fff; margin: 4mm; overflow-wrap: anywhere; }
h1 { font-size: 1.5em; margin: 0 0 2mm; } h2 { font-size: 1.1em; margin: 4mm 0 1mm;
  break-after: avoid; }
table { border-collapse: collapse; width: 100%; page-break-inside: avoid; }
th, td { border: .5pt solid #666; padding: 1mm 1.5mm; text-align: center; font-size: .9em;
  overflow-wrap: normal; }
th[scope=row] { text-align: start; font-weight: normal; }
td { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
header { display: flex; justify-content: space-between; gap: 8mm; }
header p { margin: 0; text-align: end; font-size: .85em; min-width: 0; }
.caution { border: 1.2pt solid #000; padding: 1.2mm 2mm; font-weight: bold; }
.key span { border: .5pt solid #666; padding: .3mm 2mm; margin-inline-end: 2mm;
  print-color-adjust: exact; -webkit-print-color-adjust: exact; }
ul { padding-inline-start: 5mm; font-size: .85em; }
"""
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
    day = language("en").day(options.date or dt.date.today())
    return f"Calculated with drainsim {__version__} on {day}."


def catalogue_html(table: Catalogue, options: SheetOptions | None = None) -> str:
    """Return the table as an HTML page in English; shades only help, figures say it."""
    question, options = table.question, options or SheetOptions()
    climates = presets("climates")
    head = "".join(
        f'<th scope="col" colspan="{len(question.seasons)}">{escape(climates[key].name)}</th>'
        for key in question.climates
    )
    seasons = "".join(
        f'<th scope="col">{escape(season)}</th>' for _climate, season in table.columns()
    )
    parts = []
    for unit in question.units:
        parts.append(f'<h2>Unit: <bdi dir="auto">{escape(unit)}</bdi></h2><table><thead><tr>')
        parts.append(f'<th rowspan="2" scope="col">vehicle class</th>{head}</tr>')
        parts.append(f"<tr>{seasons}</tr></thead><tbody>")
        for vehicle in question.vehicles:
            name = escape(presets("vehicles")[vehicle].name)
            parts.append(f'<tr><th scope="row">{name}</th>')
            for climate, season in table.columns():
                parts.append(
                    _cell(table.days(unit, vehicle, climate, season), question.horizon_days)
                )
            parts.append("</tr>")
        parts.append("</tbody></table>")
    lines = "".join(
        f"<li>{escape(line)}</li>"
        for line in (*assumption_lines(question), calculated_words(options))
    )
    title = catalogue_title(table)
    key = "".join(f"<span style={_shade(band)}>{escape(band.words)}</span>" for band in BANDS)
    return (
        page_begin(title, _STYLE.replace("PAPER", options.paper))
        + f"<header><h1>{escape(title)}</h1><p>{name_in('strong', options.company)}<br>"
        f"{name_in('span', options.contact)}</p></header>\n{''.join(parts)}\n"
        f'<p class="key">Shade, days: {key}</p>\n<ul>{lines}</ul>'
        f'<p class="caution">{escape(" ".join(CAUTIONS))}</p></body></html>\n'
    )


def _shade(band: Band) -> str:
    return '"background:rgb({},{},{})"'.format(*band.red_green_blue)


def _cell(days: int | None, horizon_days: int) -> str:
    """Return a cell, the lighter the longer, so that short stands catch the eye in print."""
    shown = escape(days_shown(days, horizon_days))
    return f"<td style={_shade(band_of(days, horizon_days))}>{shown}</td>"


def catalogue_rows(table: Catalogue) -> list[list[str | int]]:
    """Return heading and rows as a spreadsheet has them: one row per unit and vehicle class."""
    question = table.question
    heading: list[str | int] = ["unit", "vehicle class"]
    heading += [
        f"{presets('climates')[climate].name}, {season} [days]"
        for climate, season in table.columns()
    ]
    rows = [heading]
    for unit in question.units:
        for vehicle in question.vehicles:
            row: list[str | int] = [harmless(unit), presets("vehicles")[vehicle].name]
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
