"""State of charge, start margin and battery temperature over the days of a stand."""

from typing import Any

import plotly.graph_objects as go

from drainsim.answers.standing.park import Course, ParkAnswer
from drainsim.answers.words import days_words, end_words, range_words
from drainsim.figures.style import (
    LIGHT,
    Palette,
    axis,
    band,
    frame,
    legend,
    level,
    line,
    note,
    upright,
)
from drainsim.language import say, spoken
from drainsim.physics.tables import FloatArray
from drainsim.units import percent_from_share

_SHOWN_PAST_P90 = 1.3
_SHORTEST_DAYS = 14.0
_ROOM_BELOW_LIMIT = 6.0  # margin axis up to here: a label fits below its 1.0 line


def shown_days(answer: ParkAnswer, baseline: ParkAnswer | None = None) -> float:
    """Return how many days the charts show: past the 90 % day, at most the horizon.

    The longer of the answer and its baseline counts, so that both curves are seen whole.
    """
    ends = []
    for one in (answer, baseline):
        if one is None:
            continue
        horizon = float(one.case.horizon_days)
        last = one.days_to_no_start.p90
        wanted = horizon if last is None else last
        ends.append(min(horizon, max(_SHOWN_PAST_P90 * wanted, _SHORTEST_DAYS)))
    return max(ends)


def course_title(answer: ParkAnswer) -> str:
    """Return the chart's heading, which holds the answer."""
    days = days_words(answer.days_to_no_start.p50, answer.case.horizon_days)
    return say("Charge and start margin: {end} after {days}", end=end_words(answer), days=days)


def course_figure(
    answer: ParkAnswer, palette: Palette = LIGHT, *, baseline: ParkAnswer | None = None
) -> go.Figure:
    """Return three charts over days: charge with band, margin with band, temperature.

    Parameters
    ----------
    answer : ParkAnswer
    palette : Palette
    baseline : ParkAnswer, optional
        The unchanged case, drawn dashed.
    """
    course = answer.course
    traces = [*_bands(course, palette), *_courses(course, baseline, palette)]
    end = shown_days(answer, baseline)
    margins = [1.5, float(course.margin_high.max())]
    if baseline is not None:
        margins.append(float(baseline.course.margin.max()))
    top = 1.1 * max(margins)
    shapes = [level(1.0, palette, dash="dot", yref="y2")]
    notes = [
        note(
            say("below 1.0 it will not start")
            if answer.case.vehicle.starts
            else say("below 1.0 it is silent"),
            x=0.02 * end,
            y=1.0,
            color=palette.limit,
            yanchor="top" if top < _ROOM_BELOW_LIMIT else "bottom",
            yref="y2",
        )
    ]
    days = answer.days_to_no_start.p50
    if days is not None:
        shapes.append(upright(days, palette))
        notes.append(_end_note(answer, days, end, palette))
    among = range_words(answer.days_to_no_start, answer.case.horizon_days)
    below = say("8 in 10 cases: {range}; lines are medians", range=among)
    layout = {
        **frame(palette, heading=course_title(answer), below=below, height=500),
        **legend(palette, top_px=84),
        "xaxis": axis(palette, say("days parked"), range=[0.0, end], anchor="y3"),
        "yaxis": axis(palette, say("charge [%]"), range=[0, 102], domain=[0.64, 1.0]),
        "yaxis2": axis(palette, say("start margin"), range=[0, top], domain=[0.26, 0.57]),
        "yaxis3": axis(
            palette, say("battery [{unit}]", unit=spoken().degrees_unit), domain=[0.0, 0.19]
        ),
        "shapes": shapes,
        "annotations": notes,
    }
    return go.Figure(data=traces, layout=layout)


def _bands(course: Course, palette: Palette) -> list[dict[str, Any]]:
    """Return the middle 8 of 10 cases of charge, margin and temperature; the first is named."""
    day = course.day
    low, high = (percent_from_share(edge) for edge in (course.charge_low, course.charge_high))
    below = {"showlegend": False}
    margin: dict[str, Any] = {"name": say("8 in 10 cases, margin"), "yaxis": "y2", **below}
    warm: dict[str, Any] = {"name": say("8 in 10 cases, temperature"), "yaxis": "y3", **below}
    lows, highs = map(spoken().degrees, (course.temperature_low_c, course.temperature_high_c))
    return [
        *band(day, low, high, palette.charge_band),
        *band(day, course.margin_low, course.margin_high, palette.margin_band, **margin),
        *band(day, lows, highs, palette.temperature_band, **warm),
    ]


def _courses(course: Course, baseline: ParkAnswer | None, palette: Palette) -> list[dict[str, Any]]:
    """Return the medians of the three charts over the baseline's, if there is one."""
    traces = []
    if baseline is not None:
        dashed = {"color": palette.baseline, "width": 2, "dash": "dash"}
        for axis_name, values, _, shown in _rows(baseline.course):
            more = {"yaxis": axis_name, "showlegend": axis_name == "y"}
            traces.append(line(baseline.course.day, values, dashed, say("baseline"), shown, **more))
    colors = (palette.charge, palette.margin, palette.temperature)
    for (axis_name, values, name, shown), color in zip(_rows(course), colors, strict=True):
        style, more = {"color": color, "width": 2.5}, {"yaxis": axis_name, "showlegend": False}
        traces.append(line(course.day, values, style, name, shown, **more))
    return traces


def _rows(course: Course) -> list[tuple[str, FloatArray, str, str]]:
    """Return (axis, values, name, how a value reads) of the three charts."""
    unit = spoken().degrees_unit
    return [
        ("y", percent_from_share(course.charge), say("state of charge"), "%{y:.0f} %"),
        ("y2", course.margin, say("start margin"), "%{y:.2f}"),
        (
            "y3",
            spoken().degrees(course.temperature_c),
            say("battery temperature"),
            f"%{{y:.1f}} {unit}",
        ),
    ]


def _end_note(answer: ParkAnswer, days: float, end: float, palette: Palette) -> dict[str, Any]:
    """Return the name of the line where the stand ends, on the side that has room."""
    right = days > 0.6 * end
    return note(
        f"{say(end_words(answer))}, {say(days_words(days, answer.case.horizon_days))}",
        x=days,
        y=100.0,
        color=palette.limit,
        xanchor="right" if right else "left",
        yanchor="top",
        xshift=-4 if right else 4,
    )
