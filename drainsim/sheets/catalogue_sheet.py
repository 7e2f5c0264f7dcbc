"""The catalogue for a tender: self-contained HTML, CSV and XLSX."""

from html import escape
from typing import Final

from drainsim import __version__
from drainsim.answers.catalogue import Catalogue, assumption_lines
from drainsim.models.presets import presets
from drainsim.sheets.spreadsheet import csv_text, harmless, xlsx_bytes

_STYLE: Final = """
@page { size: landscape; margin: 12mm; }
body { font: 10pt/1.35 "DejaVu Sans", "Liberation Sans", Arial, sans-serif; color: #000;
  background: #fff; margin: 4mm; overflow-wrap: anywhere; }
h1 { font-size: 1.5em; margin: 0 0 2mm; } h2 { font-size: 1.1em; margin: 4mm 0 1mm; }
table { border-collapse: collapse; width: 100%; page-break-inside: avoid; }
th, td { border: .5pt solid #666; padding: 1mm 1.5mm; text-align: center; font-size: .9em; }
th[scope=row] { text-align: start; font-weight: normal; }
thead th { background: #eee; }
ul { padding-inline-start: 5mm; font-size: .85em; }
"""
_XLSX_TITLE: Final = "days at risk"


def catalogue_html(table: Catalogue) -> str:
    """Return the table as an HTML page; shades of grey only help, figures say it."""
    question = table.question
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
    lines = "".join(f"<li>{escape(line)}</li>" for line in assumption_lines(question))
    title = f"Days parked within {100 * question.risk:g} % risk of a no-start"
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
        "style-src 'unsafe-inline'\">"
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>\n"
        f"<h1>{escape(title)}</h1>\n{''.join(parts)}\n<ul>{lines}"
        f"<li>Calculated with drainsim {escape(__version__)}. Estimates, not a warranty.</li>"
        "</ul></body></html>\n"
    )


def _cell(days: int | None, horizon_days: int) -> str:
    """Return a cell, the lighter the longer, so that short stands catch the eye in print."""
    share = 1.0 if days is None else days / horizon_days
    level = round(215 + 40 * min(share, 1.0))
    shown = f"&gt; {horizon_days}" if days is None else f"{days}"
    return f'<td style="background:rgb({level},{level},{level})">{shown}</td>'


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
                row.append(f"> {question.horizon_days}" if days is None else days)
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
    return [*assumption_lines(table.question), f"Calculated with drainsim {__version__}."]
