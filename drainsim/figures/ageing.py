"""Health of a battery over the winters ahead, and the risk of each one's coldest start."""

from typing import Any

import plotly.graph_objects as go

from drainsim.answers.driving.ageing import AgeingAnswer
from drainsim.answers.driving.ageing_words import due_words, winter_words
from drainsim.figures.style import (
    Palette,
    axis,
    band,
    frame,
    legend,
    level,
    line,
    note,
    numbers_beside,
)
from drainsim.language import marked, say
from drainsim.units import percent_from_share

_LIMIT_PX = 70  # room to the right for the limit's name
_TOP_PX = 100
_BELOW = marked("bars: risk of each winter's coldest start")
_BAR_WIDTH = 0.5  # of the room of a winter


def ageing_title(answer: AgeingAnswer) -> str:
    """Return the chart's heading, which holds the answer."""
    due = due_words(answer)
    told = {
        "would not help": say("a new battery would not help"),
        "starts nothing": say("no start to fail"),
    }
    if answer.replace_before_winter:
        return say("Winters ahead: replace before {due}", due=due)
    return say("Winters ahead: {due}", due=told.get(due) or say("due {due}", due=due))


def ageing_alt(answer: AgeingAnswer) -> str:
    """Return what the chart shows, in words."""
    winters = "; ".join(
        say(
            "{winter}: health {health:.0f} % ({low:.0f} to {high:.0f} %), risk {risk:.0f} %",
            winter=winter_words(winter.year),
            health=percent_from_share(winter.cranking_health),
            low=percent_from_share(winter.cranking_health_low),
            high=percent_from_share(winter.cranking_health_high),
            risk=percent_from_share(winter.risk),
        )
        for winter in answer.winters
    )
    return say(
        "Cranking health with the middle 8 of 10 cases above, the risk that the coldest start "
        "fails below, by winter. {winters}.",
        winters=winters,
    )


def ageing_figure(answer: AgeingAnswer, palette: Palette) -> go.Figure:
    """Return health by winter with its band, and below it the risk against its limit."""
    names = [winter_words(winter.year) for winter in answer.winters]
    risks = [percent_from_share(winter.risk) for winter in answer.winters]
    limit = percent_from_share(answer.risk_limit)
    low = [percent_from_share(winter.cranking_health_low) for winter in answer.winters]
    high = [percent_from_share(winter.cranking_health_high) for winter in answer.winters]
    traces: list[dict[str, Any]] = [
        *band(names, low, high, palette.charge_band),
        line(
            names,
            [percent_from_share(winter.cranking_health) for winter in answer.winters],
            {"color": palette.charge, "width": 2.5},
            say("cranking health"),
            "%{y:.0f} %",
            mode="lines+markers",
            marker={"size": 8},
        ),
        {
            "type": "bar",
            "x": names,
            "y": risks,
            "yaxis": "y2",
            "name": say("risk of the coldest start"),
            "showlegend": False,  # the line below the title says it
            "width": _BAR_WIDTH,
            "text": [f"{risk:.0f} %" for risk in risks],
            **numbers_beside(palette),
            "marker": {
                "color": palette.margin,
                # above the limit is hatched too, not told by the line alone
                "pattern": {"shape": ["/" if risk > limit else "" for risk in risks]},
            },
            "hovertemplate": "%{y:.0f} %",
        },
    ]
    most = max(*risks, limit)
    layout = {
        **frame(palette, heading=ageing_title(answer), height=480, below=say(_BELOW)),
        **legend(palette, top_px=_TOP_PX),
        "margin": {"l": 8, "r": _LIMIT_PX, "t": _TOP_PX, "b": 8},
        "xaxis": axis(palette, say("winter"), anchor="y2", type="category"),
        "yaxis": axis(palette, say("health [% of new]"), rangemode="tozero", domain=[0.48, 1.0]),
        "yaxis2": axis(palette, say("risk [%]"), range=[0.0, 1.3 * most], domain=[0.0, 0.36]),
        "shapes": [level(limit, palette, dash="dot", yref="y2")],
        "annotations": [
            note(
                say("limit {limit:g} %", limit=limit),
                x=1.0,  # beside the bars, which it would cover
                y=limit,
                color=palette.limit,
                xref="paper",
                yref="y2",
                xshift=3,
                yanchor="middle",
            )
        ],
    }
    return go.Figure(data=traces, layout=layout)
