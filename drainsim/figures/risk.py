"""Probability of a no-start against days parked."""

from typing import Final

import plotly.graph_objects as go

from drainsim.answers.standing.park import DEFAULT_RISK, ParkAnswer
from drainsim.answers.words import days_words, end_words
from drainsim.figures.course import shown_days
from drainsim.figures.style import LIGHT, Palette, axis, frame, legend, level, line, note
from drainsim.language import say
from drainsim.units import percent_from_share

_RISK_PERCENT: Final = percent_from_share(DEFAULT_RISK)


def risk_title(answer: ParkAnswer) -> str:
    """Return the chart's heading."""
    horizon = answer.case.horizon_days
    safe, ends = answer.days_at_risk, end_words(answer)
    if safe == 0.0:
        return say(
            "Risk of a {end}: above {limit:.0f} % from the first day", end=ends, limit=_RISK_PERCENT
        )
    return say(
        "Risk of a {end}: within {limit:.0f} % for {days}",
        end=ends,
        limit=_RISK_PERCENT,
        days=days_words(safe, horizon),
    )


def risk_figure(
    answer: ParkAnswer, palette: Palette = LIGHT, *, baseline: ParkAnswer | None = None
) -> go.Figure:
    """Return the share of draws that fail, by day, in per cent."""
    course, hour = answer.course, answer.case.site.start_hour
    starts, at = answer.case.vehicle.starts, f"{hour:02d}:00"
    curves = [
        (
            course,
            course.probability_failed_by,
            {"color": palette.margin, "width": 2, "dash": "dot"},
            say("has failed at some hour by then"),
        ),
        (
            course,
            course.probability_no_start,
            {"color": palette.charge, "width": 2.5},
            say("start at {hour} fails", hour=at) if starts else say("silent at {hour}", hour=at),
        ),
    ]
    if baseline is not None:
        before = baseline.course
        dashed = {"color": palette.baseline, "width": 2, "dash": "dash"}
        curves.insert(0, (before, before.probability_no_start, dashed, say("baseline")))
    end = shown_days(answer, baseline)
    layout = {
        **frame(palette, heading=risk_title(answer), height=360),
        **legend(palette, top_px=96),
        "xaxis": axis(palette, say("days parked"), range=[0.0, end]),
        "yaxis": axis(palette, say("risk of a {end} [%]", end=end_words(answer)), range=[0, 102]),
        "shapes": [level(_RISK_PERCENT, palette, dash="dashdot")],
        "annotations": [
            note(
                say("{limit:.0f} % risk", limit=_RISK_PERCENT),
                x=0.98 * end,
                y=_RISK_PERCENT,
                color=palette.limit,
                xanchor="right",
            )
        ],
    }
    traces = [
        line(one.day, percent_from_share(shares), style, name, "%{y:.0f} %")
        for one, shares, style, name in curves
    ]
    return go.Figure(data=traces, layout=layout)
