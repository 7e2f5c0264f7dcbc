"""One course against the calendar: risk, charge, start power or temperature."""

import datetime as dt
from typing import Any, Final, NamedTuple

import numpy as np
import plotly.graph_objects as go
from numpy.typing import NDArray

from drainsim.answers.standing.first_words import act_words, half_words
from drainsim.answers.standing.park import DEFAULT_RISK, Course, ParkAnswer
from drainsim.answers.words import short_date
from drainsim.figures.course import shown_days
from drainsim.figures.style import (
    LIGHT,
    Palette,
    axis,
    band,
    dates_axis,
    frame,
    level,
    line,
    note,
    upright,
)
from drainsim.language import marked, say, spoken
from drainsim.physics.tables import FloatArray
from drainsim.units import percent_from_share

PARTS: Final = {
    "risk": marked("Risk"),
    "charge": marked("Charge"),
    "start": marked("Start power"),
    "temperature": marked("Temperature"),
}
_RISK_PERCENT: Final = percent_from_share(DEFAULT_RISK)
_HEIGHT_PX: Final = 330


class _Rows(NamedTuple):
    middle: FloatArray
    low: FloatArray | None
    high: FloatArray | None
    axis: str
    reads: str


def by_date_title(answer: ParkAnswer, part: str) -> str:
    """Return the chart's heading; that of the risk holds the answer."""
    if part == "risk":
        return say(act_words(answer))  # the axis says of what; more is cut off on a phone
    return {
        "charge": say("Charge of the battery"),
        "start": say("Start power: below 1 it will not start"),
        "temperature": say("Temperature of the battery"),
    }[part]


def by_date_alt(answer: ParkAnswer, part: str) -> str:
    """Return what the chart shows, in words."""
    rows = _rows(answer.course, part)
    parked = answer.case.site.parked_from
    last = parked + dt.timedelta(days=len(rows.middle) - 1)
    return say(
        "{title}. {half}. {part} from {begin:.1f} on {parked} to {end:.1f} on {last}.",
        title=by_date_title(answer, part),
        half=half_words(answer),
        part=say(PARTS[part]),
        begin=rows.middle[0],
        parked=short_date(parked),
        end=rows.middle[-1],
        last=short_date(last),
    )


def by_date_figure(
    answer: ParkAnswer,
    part: str = "risk",
    palette: Palette = LIGHT,
    *,
    before: ParkAnswer | None = None,
    marks: dict[str, dt.date] | None = None,
) -> go.Figure:
    """Return one part of the course against the date, its safe part shaded.

    Parameters
    ----------
    answer : ParkAnswer
    part : str
        One of `PARTS`.
    palette : Palette
    before : ParkAnswer, optional
        The case before a change, drawn dashed.
    marks : dict, optional
        Days to be marked, by name: today, the planned return.
    """
    parked = answer.case.site.parked_from
    end = parked + dt.timedelta(days=int(shown_days(answer, before)))
    rows = _rows(answer.course, part)
    dates = _dates(parked, len(rows.middle))
    color, fill = _colours(palette)[part]
    traces: list[dict[str, Any]] = []
    if rows.low is not None:
        traces += band(dates, rows.low, rows.high, fill)
    if before is not None:
        old = _rows(before.course, part).middle
        at = _dates(before.case.site.parked_from, len(old))
        dashed = {"color": palette.baseline, "width": 2, "dash": "dash"}
        traces.append(line(at, old, dashed, say("before the change"), rows.reads))
    traces.append(
        line(dates, rows.middle, {"color": color, "width": 2.5}, say(PARTS[part]), rows.reads)
    )
    shapes, notes = _safe(answer, end, palette, part)
    if part in ("risk", "start"):
        shapes.append(level(_RISK_PERCENT if part == "risk" else 1.0, palette, dash="dashdot"))
    for name, day in (marks or {}).items():
        if parked <= day <= end:
            shapes.append(upright(day, palette))
            # above the chart, where no course runs through it
            named = note(name, x=day, y=1.0, color=palette.limit, yref="paper", xanchor="center")
            notes.append(named)
    layout = {
        **frame(palette, heading=by_date_title(answer, part), height=_HEIGHT_PX),
        "margin": {"l": 8, "r": 12, "t": 56, "b": 8},
        "xaxis": dates_axis(palette, range=[parked, end]),
        "yaxis": axis(palette, rows.axis, **({"range": [0, 102]} if "%" in rows.axis else {})),
        "shapes": shapes,
        "annotations": notes,
    }
    return go.Figure(data=traces, layout=layout)


def _rows(course: Course, part: str) -> _Rows:
    if part == "risk":
        risk = percent_from_share(course.probability_no_start)
        return _Rows(risk, None, None, say("risk [%]"), "%{y:.0f} %")
    if part == "charge":
        charges = course.charge, course.charge_low, course.charge_high
        middle, low, high = map(percent_from_share, charges)
        return _Rows(middle, low, high, say("charge [%]"), "%{y:.0f} %")
    if part == "start":
        margins = course.margin, course.margin_low, course.margin_high
        return _Rows(*margins, say("times what it needs"), say("%{y:.2f} times"))
    here = spoken()
    warm_c = course.temperature_c, course.temperature_low_c, course.temperature_high_c
    unit = here.degrees_unit
    middle, low, high = map(here.degrees, warm_c)
    return _Rows(middle, low, high, say("battery [{unit}]", unit=unit), f"%{{y:.1f}} {unit}")


def _colours(palette: Palette) -> dict[str, tuple[str, str]]:
    return {
        "risk": (palette.charge, palette.charge_band),
        "charge": (palette.charge, palette.charge_band),
        "start": (palette.margin, palette.margin_band),
        "temperature": (palette.temperature, palette.temperature_band),
    }


def _dates(parked: dt.date, count: int) -> NDArray[np.datetime64]:
    return np.datetime64(parked) + np.arange(count)  # plotly copies an array at once


def _safe(
    answer: ParkAnswer, end: dt.date, palette: Palette, part: str
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return the shade over the days the risk stays within its limit, and its name."""
    parked, safe = answer.case.site.parked_from, answer.days_at_risk
    until = end if safe is None else min(end, parked + dt.timedelta(days=int(safe)))
    if until <= parked:
        return [], []
    shade = {"type": "rect", "x0": parked, "x1": until, "y0": 0, "y1": 1, "yref": "paper"}
    shade |= {"fillcolor": palette.temperature_band, "line": {"width": 0}, "layer": "below"}
    # The risk begins at the bottom, everything else at the top: its name stands where no course is.
    top = part == "risk"
    more: dict[str, Any] = {"yref": "paper", "yanchor": "top" if top else "bottom"}
    named = note(say("safe"), x=parked, y=float(top), color=palette.text, xshift=4, **more)
    return [shade], [named]
