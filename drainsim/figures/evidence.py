"""Published points on the model's lines, and the twin experiment's reliability."""

from collections.abc import Mapping
from typing import Any, Final

import plotly.graph_objects as go

from drainsim.evidence.checks.curves import Curve, Point
from drainsim.figures.style import Palette, axis, frame, legend, line
from drainsim.language import marked, say
from drainsim.units import percent_from_share

_DASHES: Final = ("solid", "dash", "dot")
_GROUPS: Final = (
    (True, marked("published, within tolerance"), "circle"),
    (False, marked("published, outside"), "x"),
)


def curve_alt(curve: Curve) -> str:
    """Return what a curve's chart shows, in words."""
    outside = [point.source for point in curve.points if not point.passed]
    said = say(
        "{title}: {held} of {points} published points within tolerance",
        title=say(curve.title),
        held=len(curve.points) - len(outside),
        points=len(curve.points),
    )
    return f"{said}; {say('outside: {which}', which=', '.join(outside))}" if outside else said


def curve_figure(curve: Curve, palette: Palette) -> go.Figure:
    """Return the model's lines with the published points; ranges as bars."""
    colors = (palette.charge, palette.margin, palette.baseline)
    traces: list[dict[str, Any]] = [
        line(
            one.x,
            one.y,
            {"color": color, "width": 2.5, "dash": dash},
            say("model: {name}", name=say(one.name)),
            "%{y:.4g}",
        )
        for one, color, dash in zip(curve.lines, colors, _DASHES, strict=False)
    ]
    for passed, name, symbol in _GROUPS:
        points = [point for point in curve.points if point.passed is passed]
        if points:
            color = palette.temperature if passed else palette.limit
            traces.append(_marks(points, say(name), symbol, color))
    across = axis(
        palette, say(curve.x_label), **({"type": "log", "dtick": 1} if curve.logarithmic else {})
    )
    layout = {
        **frame(palette, heading=say(curve.title), height=400),
        **legend(palette, top_px=112),
        "hovermode": "closest",
        "xaxis": across,
        "yaxis": axis(palette, say(curve.y_label)),
    }
    return go.Figure(data=traces, layout=layout)


def _marks(points: list[Point], name: str, symbol: str, color: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "x": [point.x for point in points],
        "y": [0.5 * (point.low + point.high) for point in points],
        "error_y": {
            "type": "data",
            "array": [0.5 * (point.high - point.low) for point in points],
            "color": color,
            "thickness": 2,
        },
        "name": name,
        "marker": {"symbol": symbol, "size": 10, "color": color},
        "text": [f"{point.source}<br>{point.verdict}" for point in points],
        "hovertemplate": "%{text}<br>%{y:.4g}<extra></extra>",
    }


def reliability_alt(result: Mapping[str, Any]) -> str:
    """Return what the reliability chart shows, in words."""
    pairs = ", ".join(
        say(
            "{said:.0f} % said, {failed:.0f} % failed",
            said=percent_from_share(row["said"]),
            failed=percent_from_share(row["happened"]),
        )
        for row in result["reliability"]
    )
    return say("Risk said against share of simulated vehicles that failed: {pairs}", pairs=pairs)


def reliability_figure(results: list[Mapping[str, Any]], palette: Palette) -> go.Figure:
    """Return the risk said against the share that failed, for each ratio of spreads."""
    styles = (
        (palette.charge, "solid", "circle"),
        (palette.limit, "dash", "x"),
        (palette.margin, "dot", "diamond"),
    )
    names = {
        1.0: say("spreads as true"),
        0.5: say("spreads half of true"),
        2.0: say("spreads twice true"),
    }
    traces: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "x": [0.0, 100.0],
            "y": [0.0, 100.0],
            "name": say("perfect"),
            "line": {"color": palette.baseline, "width": 1.5, "dash": "dashdot"},
            "hoverinfo": "skip",
        }
    ]
    for result, (color, dash, symbol) in zip(results, styles, strict=False):
        rows = result["reliability"]
        bars = {
            "type": "data",
            "array": [2.0 * percent_from_share(row["sampling_sd"]) for row in rows],
            "color": color,
        }
        traces.append(
            line(
                [percent_from_share(row["said"]) for row in rows],
                [percent_from_share(row["happened"]) for row in rows],
                {"color": color, "width": 2, "dash": dash},
                names[result["factor"]],
                say("%{x:.0f} % said: %{y:.0f} % failed"),
                mode="lines+markers",
                marker={"symbol": symbol, "size": 9},
                **({"error_y": bars} if result["factor"] == 1.0 else {}),
            )
        )
    layout = {
        **frame(palette, heading=say("Does the risk come true?"), height=420),
        **legend(palette, top_px=112),
        "hovermode": "closest",
        "xaxis": axis(palette, say("risk said [%]"), range=[-2, 102]),
        "yaxis": axis(palette, say("share that failed [%]"), range=[-2, 102]),
    }
    return go.Figure(data=traces, layout=layout)
