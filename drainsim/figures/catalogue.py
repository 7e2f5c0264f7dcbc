"""The catalogue as heat maps side by side: days in every cell, shade only as a help."""

from typing import Any, Final

import plotly.graph_objects as go

from drainsim.answers.catalogue import Catalogue, names_of
from drainsim.figures.style import Palette, frame
from drainsim.models.presets import presets

_ROW_PX: Final = 34
_HEAD_PX: Final = 190


def escaped(text: str) -> str:
    """Return text in which a chart finds no markup."""
    return (
        text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace("$", "&#36;")
    )


def _shown(days: int | None, horizon_days: int) -> str:
    return f"> {horizon_days}" if days is None else f"{days}"


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
    longest = f"more than {table.question.horizon_days}" if None in days else str(max(known))
    shortest = min(known) if known else table.question.horizon_days
    return (
        f"Heat map of days parked within {100 * table.question.risk:g} % risk for "
        f"{len(table.question.vehicles)} vehicle classes: {shortest} to {longest} days."
    )


def catalogue_figure(table: Catalogue, palette: Palette) -> go.Figure:
    """Return one heat map per unit; the shades of all share one scale."""
    question = table.question
    horizon = question.horizon_days
    columns = [
        f"{escaped(name)}, {season}"
        for name, season in zip(
            _short([presets("climates")[climate].name for climate, _ in table.columns()]),
            [season for _, season in table.columns()],
            strict=True,
        )
    ]
    rows = [escaped(name) for name in names_of("vehicles", question.vehicles)]
    count = len(question.units)
    darkest = max((cell.days for cell in table.cells if cell.days is not None), default=horizon)
    if any(cell.days is None for cell in table.cells):
        darkest = horizon
    traces: list[dict[str, Any]] = []
    layout: dict[str, Any] = {
        **frame(
            palette,
            heading=f"Days parked within {100 * question.risk:g} % risk",
            height=_HEAD_PX + _ROW_PX * len(rows),
            below="darker is longer; the figure in each cell counts",
        ),
        "annotations": [],
    }
    width = (1.0 - 0.02 * (count - 1)) / count
    for number, unit in enumerate(question.units):
        days = [
            [table.days(unit, vehicle, climate, season) for climate, season in table.columns()]
            for vehicle in question.vehicles
        ]
        suffix = "" if number == 0 else str(number + 1)
        begin = number * (width + 0.02)
        traces.append(
            {
                "type": "heatmap",
                "x": columns,
                "y": rows,
                "z": [[horizon if day is None else day for day in row] for row in days],
                "text": [
                    [f"> {horizon}" if day is None else f"{day}" for day in row] for row in days
                ],
                "texttemplate": "%{text}",
                "hovertemplate": "%{y}<br>%{x}<br>%{text} days<extra></extra>",
                "zmin": 0,
                "zmax": max(darkest, 1),
                # One hue from light to dark; text keeps 4.5:1 on both ends.
                "colorscale": [[0.0, "#f2f6fa"], [0.5, "#8fb8d4"], [1.0, "#0b5c8a"]],
                "showscale": False,
                "xgap": 1,
                "ygap": 1,
                "xaxis": f"x{suffix}",
                "yaxis": f"y{suffix}",
            }
        )
        layout[f"xaxis{suffix}"] = {
            "domain": [begin, begin + width],
            "anchor": f"y{suffix}",
            "automargin": True,
            "autotickangles": [0, -90],
            "tickfont": {"color": palette.text, "size": 11},
        }
        layout[f"yaxis{suffix}"] = {
            "autorange": "reversed",
            "anchor": f"x{suffix}",
            "automargin": True,
            "showticklabels": number == 0,
            "tickfont": {"color": palette.text, "size": 12},
        }
        layout["annotations"].append(
            {
                "text": escaped(unit),
                "x": begin + width / 2,
                "xref": "paper",
                "y": 1.0,
                "yref": "paper",
                "yanchor": "bottom",
                "showarrow": False,
                "font": {"color": palette.text, "size": 13},
            }
        )
    return go.Figure({"data": traces, "layout": layout})
