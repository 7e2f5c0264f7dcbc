"""One vehicle's risk day by day: of a list, or from its own readings."""

import datetime as dt
from typing import Any

import plotly.graph_objects as go

from drainsim.figures.style import Palette, axis, dates_axis, frame, level, line, note, upright
from drainsim.language import say
from drainsim.physics.tables import FloatArray
from drainsim.units import percent_from_share


def risk_by_day_figure(
    shares: FloatArray,
    palette: Palette,
    *,
    heading: str,
    today: dt.date,
    risk: float,
    back: dt.date | None = None,
) -> go.Figure:
    """Return the risk at the start hour of each day, in per cent, with the limit.

    Parameters
    ----------
    shares : shape (days,)
        Share of the draws that would not start, from today on. [-]
    palette : Palette
    heading : str
    today : date
    risk : float
        The limit. [-]
    back : date, optional
        Planned return.
    """
    days = [today + dt.timedelta(days=n) for n in range(len(shares))]
    limit = percent_from_share(risk)
    end: Any = days[-1]  # dates are places on this axis
    notes = [
        note(
            say("limit {limit:g} %", limit=limit),
            x=end,
            y=limit,
            color=palette.limit,
            xanchor="right",
        )
    ]
    shapes = [level(limit, palette, dash="dashdot")]
    if back and back <= end:
        more = {"yanchor": "top", "xshift": 4}
        notes.append(note(say("planned return"), x=back, y=100, color=palette.limit, **more))
        shapes.append(upright(back, palette))
    layout = {
        **frame(palette, heading=heading, height=300),
        "xaxis": dates_axis(palette, range=[days[0], end]),
        "yaxis": axis(palette, say("risk of a no-start [%]"), range=[0, 102]),
        "shapes": shapes,
        "annotations": notes,
    }
    style = {"color": palette.charge, "width": 2.5}
    curve = line(days, percent_from_share(shares), style, say("risk"), "%{y:.0f} %")
    return go.Figure(data=[curve], layout=layout)
