"""What draws on the battery, in ampere-hours per day."""

from typing import Final

import plotly.graph_objects as go

from drainsim.answers.standing.park import ParkAnswer
from drainsim.figures.style import LIGHT, Palette, axis, frame, legend, names_axis, numbers_beside

PARTS: Final = {
    "total": "all together",
    "other": "other loads",
    "self_discharge": "self-discharge",
    "unit": "added unit",
    "vehicle": "vehicle itself",
}  # bottom bar first, as plotly stacks categories

_LEAST_AH: Final = 0.001
_NUMBERS_SHARE: Final = 0.45  # of the widest bar, for the numbers beside the bars


def budget_title(answer: ParkAnswer) -> str:
    """Return the chart's heading."""
    return f"Drain budget: {answer.budget.total:.2f} Ah per day"


def budget_alt(answer: ParkAnswer) -> str:
    """Return what the chart shows, in words."""
    parts = answer.budget.as_dict()
    return "Mean of the cases. " + "; ".join(
        f"{name}: {parts[key]:.2f} Ah per day" for key, name in PARTS.items()
    )


def budget_figure(
    answer: ParkAnswer, palette: Palette = LIGHT, *, baseline: ParkAnswer | None = None
) -> go.Figure:
    """Return one bar per part with its number, and the baseline's beside it."""
    traces, drawn = [], [0.0, _LEAST_AH]
    for name, one, color, pattern in (
        ("baseline", baseline, palette.baseline, "/"),
        ("now", answer, palette.charge, ""),
    ):
        if one is None:
            continue
        values = one.budget.as_dict()
        amounts = [values[key] for key in PARTS]
        drawn += amounts
        traces.append(
            {
                "type": "bar",
                "orientation": "h",
                "y": list(PARTS.values()),
                "x": amounts,
                "name": name,
                "text": [f"{amount:.3f} Ah/day" for amount in amounts],
                **numbers_beside(palette),
                "marker": {
                    "color": color,
                    "line": {"color": color, "width": 1.5},
                    "pattern": {"shape": pattern, "fgcolor": color, "size": 6, "solidity": 0.35},
                },
                "hovertemplate": "%{y}: %{x:.3f} Ah/day",
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
        "xaxis": axis(palette, "Ah per day", range=[low - room if low < 0.0 else 0.0, high + room]),
        "yaxis": names_axis(palette, list(PARTS.values())),
    }
    return go.Figure(data=traces, layout=layout)
