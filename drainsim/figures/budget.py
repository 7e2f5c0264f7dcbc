"""What draws on the battery, in ampere-hours per day."""

from typing import Final

import plotly.graph_objects as go

from drainsim.answers.standing.park import BUDGET_PARTS, ParkAnswer
from drainsim.figures.style import LIGHT, Palette, axis, frame, legend, names_axis, numbers_beside
from drainsim.language import say

_LEAST_AH: Final = 0.001
_NUMBERS_SHARE: Final = 0.45  # of the widest bar, for the numbers beside the bars


def budget_title(answer: ParkAnswer) -> str:
    """Return the chart's heading."""
    return say("Drain budget: {total:.2f} Ah per day", total=answer.budget.total)


def budget_alt(answer: ParkAnswer) -> str:
    """Return what the chart shows, in words."""
    parts = answer.budget.as_dict()
    said = (
        say("{name}: {charge:.2f} Ah per day", name=say(name), charge=parts[key])
        for key, name in BUDGET_PARTS.items()
    )
    return say("Mean of the cases. {parts}", parts="; ".join(said))


def budget_figure(
    answer: ParkAnswer, palette: Palette = LIGHT, *, baseline: ParkAnswer | None = None
) -> go.Figure:
    """Return one bar per part with its number, and the baseline's beside it."""
    bottom_first = list(BUDGET_PARTS)[::-1]  # as bars are stacked
    names = [say(BUDGET_PARTS[key]) for key in bottom_first]
    traces, drawn = [], [0.0, _LEAST_AH]
    for name, one, color, pattern in (
        (say("baseline"), baseline, palette.baseline, "/"),
        (say("now"), answer, palette.charge, ""),
    ):
        if one is None:
            continue
        values = one.budget.as_dict()
        amounts = [values[key] for key in bottom_first]
        drawn += amounts
        traces.append(
            {
                "type": "bar",
                "orientation": "h",
                "y": names,
                "x": amounts,
                "name": name,
                "text": [say("{charge:.3f} Ah/day", charge=amount) for amount in amounts],
                **numbers_beside(palette),
                "marker": {
                    "color": color,
                    "line": {"color": color, "width": 1.5},
                    "pattern": {"shape": pattern, "fgcolor": color, "size": 6, "solidity": 0.35},
                },
                "hovertemplate": say("%{y}: %{x:.3f} Ah/day"),
            }
        )
    low, high = min(drawn), max(drawn)
    room = _NUMBERS_SHARE * (high - low)
    layout = {
        **frame(palette, heading=budget_title(answer), height=330 if baseline is None else 400),
        **(legend(palette, top_px=64, order="reversed") if baseline is not None else {}),
        "bargap": 0.3,
        "barmode": "group",
        "hovermode": "closest",
        "xaxis": axis(
            palette, say("Ah per day"), range=[low - room if low < 0.0 else 0.0, high + room]
        ),
        "yaxis": names_axis(palette, names),
    }
    return go.Figure(data=traces, layout=layout)
