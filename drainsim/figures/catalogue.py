"""The catalogue as heat maps side by side: days in every cell, shade only as a help."""

from dataclasses import dataclass
from html import escape
from typing import Any, Final

import plotly.graph_objects as go

from drainsim.answers.storage.catalogue import Catalogue, days_shown
from drainsim.figures.style import DARK, Palette, frame
from drainsim.language import say

_ROW_PX: Final = 34
_HEAD_PX: Final = 190
_GAP: Final = 0.02  # between two units, of the width


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shades:
    """One hue, on which one colour of text keeps 4.5:1 from end to end (WCAG 2.x, 1.4.3)."""

    least: str
    most: str
    text: str


_SHADES: Final = {
    False: _Shades(least="#f2f6fa", most="#5a9fca", text="#000000"),
    True: _Shades(least="#20262e", most="#2a77ad", text="#ffffff"),
}


def escaped(text: str) -> str:
    """Return text in which a chart finds no markup."""
    return escape(text, quote=False).replace("$", "&#36;")


def _short(names: list[str]) -> list[str]:
    """Return names up to their comma where that still tells them apart; the table has them whole.

    One short line each: turned upright on a phone, two lines would run into each other.
    """
    short = {name: name.partition(",")[0] for name in names}
    return [short[name] for name in names] if len(set(short.values())) == len(short) else names


def catalogue_alt(table: Catalogue) -> str:
    """Return what the chart shows, in words."""
    days = [cell.days for cell in table.cells]
    known = [day for day in days if day is not None]
    longest = (
        say("more than {days}", days=table.question.horizon_days)
        if None in days
        else str(max(known))
    )
    shortest = min(known) if known else table.question.horizon_days
    return say(
        "Heat map of days parked within {risk:g} % risk for {classes} vehicle classes: {shortest} "
        "to {longest} days.",
        risk=100 * table.question.risk,
        classes=len(table.question.vehicles),
        shortest=shortest,
        longest=longest,
    )


def catalogue_figure(table: Catalogue, palette: Palette) -> go.Figure:
    """Return one heat map per unit; the shades of all share one scale."""
    units = table.question.units
    width = (1.0 - _GAP * (len(units) - 1)) / len(units)
    shades = _SHADES[palette is DARK]
    layout: dict[str, Any] = frame(
        palette,
        heading="",  # stands above the chart: there the climates have their place
        height=_HEAD_PX + _ROW_PX * len(table.question.vehicles),
    )
    traces = []
    for number, unit in enumerate(units):
        suffix = "" if number == 0 else str(number + 1)
        begin = number * (width + _GAP)
        traces.append(_heat_map(table, unit, suffix, shades))
        layout |= _axes(palette, escaped(say(unit)), suffix, begin, width)
    layout["margin"] |= {"t": 8}
    return go.Figure({"data": traces, "layout": layout})


def _heat_map(table: Catalogue, unit: str, suffix: str, shades: _Shades) -> dict[str, Any]:
    """Return the heat map of one unit on its own pair of axes."""
    question, columns = table.question, table.columns()
    horizon = question.horizon_days
    climates = _short([say(question.climate_name(climate)) for climate, _ in columns])
    days = [
        [table.days(unit, vehicle, climate, season) for climate, season in columns]
        for vehicle in question.vehicles
    ]
    return {
        "type": "heatmap",
        "x": [
            f"{escaped(name)}, {say(season)}"
            for name, (_, season) in zip(climates, columns, strict=True)
        ],
        "y": [escaped(say(question.vehicle_name(one))) for one in question.vehicles],
        "z": [[horizon if day is None else day for day in row] for row in days],
        "text": [[say(days_shown(day, horizon)) for day in row] for row in days],
        "texttemplate": "%{text}",
        "hovertemplate": say("%{y}<br>%{x}<br>%{text} days<extra></extra>"),
        "zmin": 0,
        "zmax": max(1, *(horizon if cell.days is None else cell.days for cell in table.cells)),
        "textfont": {"color": shades.text},
        "colorscale": [[0.0, shades.least], [1.0, shades.most]],
        "showscale": False,
        "xgap": 1,
        "ygap": 1,
        "xaxis": f"x{suffix}",
        "yaxis": f"y{suffix}",
    }


def _axes(palette: Palette, unit: str, suffix: str, begin: float, width: float) -> dict[str, Any]:
    """Return the axes of one unit; only the first names the vehicle classes."""
    return {
        f"xaxis{suffix}": {
            "domain": [begin, begin + width],
            "anchor": f"y{suffix}",
            "side": "top",  # in sight with the first rows
            "automargin": True,
            "autotickangles": [0, -90],
            "tickfont": {"color": palette.text, "size": 11},
            "title": {"text": unit, "font": {"color": palette.text, "size": 13}},
        },
        f"yaxis{suffix}": {
            "autorange": "reversed",
            "anchor": f"x{suffix}",
            "automargin": True,
            "showticklabels": suffix == "",
            "tickfont": {"color": palette.text, "size": 12},
        },
    }
