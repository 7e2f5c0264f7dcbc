"""Colours, dashes and layout that all charts share."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any, Final

from drainsim.language import say, spoken

_NAME_LETTERS: Final = 20  # of a line beside a bar: leaves a phone room for the bars


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Colours of a chart; every one is paired with a dash, marker or label of its own.

    Lines reach 3:1 and text 4.5:1 contrast on their ground (computed by the WCAG formula);
    hues differ in lightness too, so that they stay apart for colour-blind readers.
    """

    charge: str
    charge_band: str
    margin: str
    margin_band: str
    temperature_band: str
    temperature: str
    limit: str
    baseline: str
    text: str
    grid: str
    ground: str


LIGHT: Final = Palette(
    charge="#0b6a9c",
    charge_band="rgba(11,106,156,0.20)",
    margin="#8a4a8f",
    margin_band="rgba(138,74,143,0.18)",
    temperature_band="rgba(46,125,91,0.18)",
    temperature="#3f7d63",
    limit="#b8480a",
    baseline="#6b7280",
    text="#31333f",
    grid="rgba(120,128,140,0.25)",
    ground="#ffffff",
)
DARK: Final = Palette(
    charge="#62b4e8",
    charge_band="rgba(98,180,232,0.22)",
    margin="#d39ad8",
    margin_band="rgba(211,154,216,0.20)",
    temperature_band="rgba(120,200,160,0.20)",
    temperature="#7cc7a6",
    limit="#f0935a",
    baseline="#a3abb8",
    text="#fafafa",
    grid="rgba(160,168,180,0.22)",
    ground="#0e1117",
)


def title(text: str, palette: Palette, *, below: str = "") -> dict[str, Any]:
    """Return a chart title with a smaller line below it."""
    return {
        "text": text,
        "subtitle": {"text": below, "font": {"size": 13, "color": palette.text}},
        "font": {"size": 15, "color": palette.text},
        "x": 0.0,
        "xref": "container",
        "y": 1.0,
        "yref": "container",
        "yanchor": "top",
        "pad": {"t": 6, "l": 4},
    }


def frame(palette: Palette, *, heading: str, height: int, below: str = "") -> dict[str, Any]:
    """Return the layout all charts share; axes, shapes and notes come on top.

    Charts are put together as plain dictionaries and checked by plotly once: changing a figure
    piece by piece takes ten times as long, which a slider would feel.
    """
    return {
        "title": title(heading, palette, below=below),
        "separators": spoken().separators,
        "height": height,
        "margin": {"l": 8, "r": 12, "t": 64, "b": 8},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"color": palette.text, "size": 13},
        "dragmode": False,
        "hovermode": "x unified",
        "showlegend": False,
        "hoverlabel": {"bgcolor": palette.ground, "font": {"color": palette.text}},
    }


def axis(palette: Palette, text: str, **more: Any) -> dict[str, Any]:
    """Return an axis with its title."""
    return {
        "automargin": True,
        "fixedrange": True,  # a finger that scrolls past must not move it
        "gridcolor": palette.grid,
        "zerolinecolor": palette.grid,
        "tickfont": {"color": palette.text, "size": 12},
        "title": {"text": text, "font": {"color": palette.text, "size": 13}},
        **more,
    }


def dates_axis(palette: Palette, text: str = "", **more: Any) -> dict[str, Any]:
    """Return an axis of dates; how they are written stands in each language's catalogue."""
    ticks, reads = say("%-d %b"), say("%-d %b %Y")
    return axis(palette, text, type="date", tickformat=ticks, hoverformat=reads, **more)


def names_axis(palette: Palette, names: Sequence[str]) -> dict[str, Any]:
    """Return the axis of bars lying beside their names, long names on two lines.

    No line runs through the numbers beside the bars.
    """
    return axis(
        palette,
        "",
        tickmode="array",
        tickvals=list(names),
        ticktext=["<br>".join(wrap(name, _NAME_LETTERS)) for name in names],
        showgrid=False,
    )


def legend(palette: Palette, *, top_px: int, order: str = "normal") -> dict[str, Any]:
    """Return a legend in one row under the title, with the room it needs."""
    return {
        "showlegend": True,
        "margin": {"l": 8, "r": 12, "t": top_px, "b": 8},
        "legend": {
            "orientation": "h",
            "x": 0.0,
            "y": 1.0,
            "xanchor": "left",
            "yanchor": "bottom",
            "font": {"color": palette.text, "size": 12},
            "bgcolor": "rgba(0,0,0,0)",
            "traceorder": order,
        },
    }


def line(
    x: Any, y: Any, style: dict[str, Any], name: str, shown: str, **more: Any
) -> dict[str, Any]:
    """Return one curve; `style` is its colour, width and dash, `shown` how a value reads."""
    curve = {"type": "scatter", "mode": "lines", "x": x, "y": y, "line": style, "name": name}
    return {**curve, "hovertemplate": shown, **more}


def band(
    x: Any, low: Any, high: Any, fill: str, *, name: str = "", **more: Any
) -> list[dict[str, Any]]:
    """Return the middle 80 % of the cases: a lower edge without a name, then the filled upper one.

    Parameters
    ----------
    x, low, high : sequences of one length
    fill : str
        Colour between the edges.
    name : str
        In the legend; that it is 8 in 10 cases where none is given.
    """
    name = name or say("8 in 10 cases")
    edge = {"type": "scatter", "mode": "lines", "x": x, "line": {"width": 0}, "hoverinfo": "skip"}
    return [
        {
            **edge,
            "y": low,
            "name": say("{name}, lower edge", name=name),
            "showlegend": False,
            **more,
        },
        {**edge, "y": high, "name": name, "fill": "tonexty", "fillcolor": fill, **more},
    ]


def numbers_beside(palette: Palette) -> dict[str, Any]:
    """Return how the numbers of bars stand beside them."""
    font = {"color": palette.text, "size": 12}
    return {"textposition": "outside", "textfont": font, "cliponaxis": False}


def note(text: str, *, x: float | dt.date, y: float, color: str, **more: Any) -> dict[str, Any]:
    """Return a label beside a mark, for a layout's annotations."""
    return {
        "text": text,
        "x": x,
        "y": y,
        "showarrow": False,
        "font": {"size": 12, "color": color},
        "xanchor": "left",
        "yanchor": "bottom",
        **more,
    }


def upright(x: float | dt.date, palette: Palette) -> dict[str, Any]:
    """Return a dotted line over the whole height at a place of the x axis, such as a day."""
    line = {"color": palette.limit, "width": 1.5, "dash": "dot"}
    return {"type": "line", "x0": x, "x1": x, "y0": 0, "y1": 1, "yref": "paper", "line": line}


def level(y: float, palette: Palette, *, dash: str, yref: str = "y") -> dict[str, Any]:
    """Return a line over the whole width at a limit."""
    line = {"color": palette.limit, "width": 2, "dash": dash}
    return {"type": "line", "x0": 0, "x1": 1, "xref": "paper", "y0": y, "y1": y, "yref": yref} | {
        "line": line
    }
