"""A fleet's no-starts against time, and one vehicle's risk."""

import datetime as dt
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import plotly.graph_objects as go

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.counts import DayRisk
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import short_date
from drainsim.figures.risk_by_day import risk_by_day_figure
from drainsim.figures.style import Palette, axis, band, dates_axis, frame, legend, line, upright
from drainsim.language import marked, say
from drainsim.units import percent_from_share, whole_percent

FLEET_TITLE: Final = marked("Expected no-starts")


def fleet_words(answer: FleetAnswer) -> str:
    """Return the line below the heading, which holds the answer."""
    return ", ".join(
        say("{count:.1f} on {date}", count=day.count.expected, date=short_date(day.date))
        for day in answer.on_dates
    )


def fleet_alt(answer: FleetAnswer) -> str:
    """Return what the chart shows, in words."""
    last = answer.course[-1]
    return say(
        "{title}: {days}; on {last}, if nothing is done, {count:.0f} of {vehicles} vehicles "
        "(8 in 10 cases {low} to {high}).",
        title=say(FLEET_TITLE),
        days=fleet_words(answer),
        last=short_date(last.date),
        count=last.count.expected,
        vehicles=len(answer.vehicles),
        low=last.count.p10,
        high=last.count.p90,
    )


def fleet_figure(
    answer: FleetAnswer, palette: Palette, *, changed: FleetAnswer | None = None
) -> go.Figure:
    """Return expected no-starts by day with the middle 80 % of their number.

    Parameters
    ----------
    answer : FleetAnswer
    palette : Palette
    changed : FleetAnswer, optional
        The fleet after a change for all, drawn dashed.
    """
    course = answer.course
    traces = _band(course, palette)
    traces.append(
        line(
            _days(answer),
            answer.expected_by_day,
            {"color": palette.charge, "width": 2.5},
            say("expected if nothing is done"),
            "%{y:.1f}",
        )
    )
    if changed is not None:
        traces.append(
            line(
                _days(changed),
                changed.expected_by_day,
                {"color": palette.margin, "width": 2.5, "dash": "dash"},
                say("with the change for all"),
                "%{y:.1f}",
            )
        )
    shapes = [upright(day.date, palette) for day in answer.on_dates]
    layout = {
        **frame(palette, heading=say(FLEET_TITLE), below=fleet_words(answer), height=380),
        **legend(palette, top_px=96),
        "xaxis": dates_axis(palette, range=[course[0].date, course[-1].date]),
        "yaxis": axis(palette, say("vehicles that would not start"), rangemode="tozero"),
        "shapes": shapes,
    }
    return go.Figure(data=traces, layout=layout)


def vehicle_title(vehicle: VehicleAnswer, risk: float) -> str:
    """Return the heading of one vehicle's chart."""
    if vehicle.act_by is None:
        return say(
            "Risk of a no-start: within {limit:g} % all the time", limit=percent_from_share(risk)
        )
    return say("Risk of a no-start: act by {date}", date=short_date(vehicle.act_by))


def vehicle_alt(vehicle: VehicleAnswer, risk: float) -> str:
    """Return what the vehicle's chart shows, in words."""
    return say(
        "{title}; today {now} %, at the end {end:.0f} %.",
        title=vehicle_title(vehicle, risk),
        now=whole_percent(vehicle.risk_today),
        end=percent_from_share(vehicle.failing_by_day[-1] / vehicle.draws),
    )


def vehicle_figure(
    vehicle: VehicleAnswer, palette: Palette, *, today: dt.date, risk: float
) -> go.Figure:
    """Return one vehicle's risk at the start hour of each day, in per cent, with the limit."""
    return risk_by_day_figure(
        np.array(vehicle.failing_by_day) / vehicle.draws,
        palette,
        heading=vehicle_title(vehicle, risk),
        today=today,
        risk=risk,
        back=vehicle.planned_return,
    )


def _days(answer: FleetAnswer) -> list[dt.date]:
    today = answer.settings.today
    return [today + dt.timedelta(days=n) for n in range(len(answer.expected_by_day))]


def _band(course: Sequence[DayRisk], palette: Palette) -> list[dict[str, Any]]:
    """Return the 10 to 90 % band of the number."""
    low, high = [day.count.p10 for day in course], [day.count.p90 for day in course]
    return band([day.date for day in course], low, high, palette.charge_band)
