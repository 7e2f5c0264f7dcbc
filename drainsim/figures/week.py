"""Where the charge settles over the weeks, and what a week brings and takes."""

from typing import Any

import plotly.graph_objects as go

from drainsim.answers.driving.charge_left import driving_pattern
from drainsim.answers.driving.week import WeekAnswer
from drainsim.answers.driving.week_words import PARTS, signed_parts
from drainsim.figures.style import (
    Palette,
    axis,
    band,
    dates_axis,
    frame,
    legend,
    level,
    line,
    names_axis,
    numbers_beside,
)
from drainsim.language import say
from drainsim.units import percent_from_share

_NUMBERS_SHARE = 0.6  # of the widest bar, for the numbers beside the bars
_LEAST_AH = 0.01


def weeks_title(answer: WeekAnswer) -> str:
    """Return the chart's heading, which holds the answer."""
    lowest = percent_from_share(answer.lowest_charge)
    return say("Lowest charge in ordinary weeks: {lowest:.0f} %", lowest=lowest)


def weeks_alt(answer: WeekAnswer) -> str:
    """Return what the chart shows, in words."""
    seasons = "; ".join(
        say(
            "{season}: {charge:.0f} %",
            season=say(season.name),
            charge=percent_from_share(season.charge),
        )
        for season in answer.seasons
    )
    return say(
        "Median charge at the start of each week with the middle 8 of 10 cases. {seasons}.",
        seasons=seasons,
    )


def weeks_figure(answer: WeekAnswer, palette: Palette) -> go.Figure:
    """Return charge by week with its band and the target, and the net charge of each week."""
    day = [one.isoformat() for one in answer.day]
    low, high = percent_from_share(answer.charge_low), percent_from_share(answer.charge_high)
    width = {"color": palette.charge, "width": 2.5}
    traces: list[dict[str, Any]] = [
        *band(day, low, high, palette.charge_band),
        line(day, percent_from_share(answer.charge), width, say("state of charge"), "%{y:.0f} %"),
        {
            "type": "bar",
            "x": day[:-1],
            "y": answer.net_ah,
            "yaxis": "y2",
            "name": say("net charge of the week"),
            "marker": {
                "color": palette.margin,
                "pattern": {"shape": ["" if net >= 0.0 else "/" for net in answer.net_ah]},
            },
            "hovertemplate": "%{y:+.1f} Ah",
        },
    ]
    target = percent_from_share(driving_pattern(answer.case).target_charge)
    layout = {
        **frame(
            palette,
            heading=weeks_title(answer),
            height=480,
            # not beside the line, where it hid the charge
            below=say("line: median; dotted: below {target:.0f} % plates sulfate", target=target),
        ),
        **legend(palette, top_px=124),
        "xaxis": dates_axis(palette, say("week beginning"), anchor="y2"),
        "yaxis": axis(palette, say("charge [%]"), range=[0, 102], domain=[0.42, 1.0]),
        "yaxis2": axis(palette, say("net [Ah/week]"), domain=[0.0, 0.3]),
        "shapes": [level(target, palette, dash="dot")],
    }
    return go.Figure(data=traces, layout=layout)


def balance_title(answer: WeekAnswer) -> str:
    """Return the chart's heading."""
    worst = answer.seasons[0]
    return say(
        "Balance of a week, {season}: {net:+.1f} Ah",
        season=say(worst.name),
        net=round(float(worst.balance.net_ah()), 1) + 0.0,
    )


def balance_alt(answer: WeekAnswer) -> str:
    """Return what the chart shows, in words."""
    parts = _signed(answer)
    said = (
        say("{name}: {charge:+.2f} Ah a week", name=say(PARTS[name]), charge=value)
        for name, value in parts.items()
    )
    return say("Mean of the cases. {parts}", parts="; ".join(said))


def balance_figure(answer: WeekAnswer, palette: Palette) -> go.Figure:
    """Return one bar per way in or out in the coldest season, what comes in to the right."""
    parts = _signed(answer)
    names = [say(PARTS[name]) for name in parts][::-1]
    amounts = list(parts.values())[::-1]
    low, high = min(0.0, *amounts), max(_LEAST_AH, *amounts)
    room = _NUMBERS_SHARE * (high - low)
    trace = {
        "type": "bar",
        "orientation": "h",
        "y": names,
        "x": amounts,
        "text": [say("{charge:+.2f} Ah", charge=amount) for amount in amounts],
        **numbers_beside(palette),
        "marker": {
            "color": palette.charge,
            "pattern": {"shape": ["" if amount >= 0.0 else "/" for amount in amounts]},
        },
        "hovertemplate": say("%{y}: %{x:+.2f} Ah a week"),
    }
    layout = {
        **frame(palette, heading=balance_title(answer), height=420),
        "bargap": 0.3,
        "hovermode": "closest",
        "xaxis": axis(palette, say("Ah per week"), range=[low - room, high + room]),
        "yaxis": names_axis(palette, names),
    }
    return go.Figure(data=[trace], layout=layout)


def _signed(answer: WeekAnswer) -> dict[str, float]:
    """Return the parts of the coldest season's week with their sign, empty ones left out."""
    return {
        name: value
        for name, value in signed_parts(answer.seasons[0].balance).items()
        if abs(value) >= _LEAST_AH or name in {"charged", "net"}
    }
