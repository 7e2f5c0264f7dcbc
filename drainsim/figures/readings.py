"""One vehicle's readings: its nights with the forecast's band, and its risk by day."""

import datetime as dt
from typing import Final

import numpy as np
import plotly.graph_objects as go

from drainsim.answers.readings.results import NightBand, VehicleForecast
from drainsim.answers.words import short_date
from drainsim.figures.risk_by_day import risk_by_day_figure
from drainsim.figures.style import Palette, axis, band, dates_axis, frame, legend, line
from drainsim.language import marked, say
from drainsim.units import whole_percent

NIGHTS_TITLE: Final = marked("Voltage at rest, night by night")
_SHOWN_DAYS: Final = 60
_READS: Final = "%{y:.2f} V"


def nights_words(band: NightBand) -> str:
    """Return what the nights' chart says: the last night and where the nights go from here."""
    measured = [(s, v) for s, v in zip(band.time_s, band.measured_v, strict=True) if v is not None]
    ahead = say(
        "8 in 10: {low:.2f} to {high:.2f} V on {date}",
        low=band.low_v[-1],
        high=band.high_v[-1],
        date=_day(band.time_s[-1]),
    )
    if not measured:
        return f"{say('no night yet')}; {ahead}"
    last_s, last_v = measured[-1]
    return f"{say('{volts:.2f} V on {date}', volts=last_v, date=_day(last_s))}; {ahead}"


def nights_figure(nights: NightBand, palette: Palette) -> go.Figure:
    """Return measured nights as points and the middle 80 % of those to come as a band."""
    ahead = [n for n, volts in enumerate(nights.measured_v) if volts is None]
    seen = [n for n, volts in enumerate(nights.measured_v) if volts is not None]
    times = [dt.datetime.fromtimestamp(s, tz=dt.UTC) for s in nights.time_s]
    onward = seen[-1:] + ahead
    days = [times[n] for n in onward]
    low, middle, high = (
        [edge[n] for n in onward] for edge in (nights.low_v, nights.middle_v, nights.high_v)
    )
    dash = {"color": palette.charge, "dash": "dash"}
    points = {"color": palette.margin, "size": 7, "symbol": "diamond"}
    measured = [nights.measured_v[n] for n in seen]
    traces = [
        *band(days, low, high, palette.charge_band, name=say("8 in 10")),
        line(days, middle, dash, say("expected"), _READS),
        line(
            [times[n] for n in seen],
            measured,
            {},
            say("measured"),
            _READS,
            mode="markers",
            marker=points,
        ),
    ]
    layout = {
        **frame(palette, heading=say(NIGHTS_TITLE), below=nights_words(nights), height=340),
        **legend(palette, top_px=96),
        "xaxis": dates_axis(palette),
        "yaxis": axis(palette, say("voltage at rest [V]")),
    }
    return go.Figure(data=traces, layout=layout)


def chance_words(vehicle: VehicleForecast) -> str:
    """Return the heading of the risk's chart."""
    if vehicle.act_by is None:
        return say("Risk of a no-start: within the limit on all days looked at")
    return say("Risk of a no-start: act by {date}", date=short_date(vehicle.act_by))


def chance_alt(vehicle: VehicleForecast) -> str:
    """Return what the risk's chart shows, in words."""
    shown = vehicle.chance_by_day[:_SHOWN_DAYS]
    return say(
        "{title}; today {now} %, after {days} days {then} %.",
        title=chance_words(vehicle),
        now=whole_percent(shown[0]),
        days=len(shown) - 1,
        then=whole_percent(shown[-1]),
    )


def chance_figure(
    vehicle: VehicleForecast, palette: Palette, *, today: dt.date, risk: float
) -> go.Figure:
    """Return the risk at the start hour of each day from today on, in per cent, with the limit."""
    return risk_by_day_figure(
        np.array(vehicle.chance_by_day[:_SHOWN_DAYS]),
        palette,
        heading=chance_words(vehicle),
        today=today,
        risk=risk,
    )


def _day(seconds: float) -> str:
    return short_date(dt.datetime.fromtimestamp(seconds, tz=dt.UTC).date())
