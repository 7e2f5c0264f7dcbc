"""One vehicle's readings: its nights with the forecast's band, and its risk by day."""

import datetime as dt
from typing import Any, Final

import plotly.graph_objects as go

from drainsim.answers.readings.results import NightBand, VehicleForecast
from drainsim.answers.words import short_date
from drainsim.figures.style import Palette, axis, frame, legend, level, note, upright
from drainsim.units import percent_from_share, whole_percent

NIGHTS_TITLE: Final = "Voltage at rest, night by night"
_SHOWN_DAYS: Final = 60


def nights_words(band: NightBand) -> str:
    """Return what the nights' chart says: the last night and where the nights go from here."""
    measured = [(s, v) for s, v in zip(band.time_s, band.measured_v, strict=True) if v is not None]
    ahead = f"{band.low_v[-1]:.2f} to {band.high_v[-1]:.2f} V on {_day(band.time_s[-1])}"
    if not measured:
        return f"no night yet; 8 in 10: {ahead}"
    return f"{measured[-1][1]:.2f} V on {_day(measured[-1][0])}; 8 in 10: {ahead}"


def nights_figure(band: NightBand, palette: Palette) -> go.Figure:
    """Return measured nights as points and the middle 80 % of those to come as a band."""
    ahead = [n for n, volts in enumerate(band.measured_v) if volts is None]
    seen = [n for n, volts in enumerate(band.measured_v) if volts is not None]
    times = [dt.datetime.fromtimestamp(s, tz=dt.UTC) for s in band.time_s]
    edge = {"line": {"width": 0}, "hoverinfo": "skip", "hovertemplate": None}

    def line(rows: list[int], values: Any, name: str, **more: Any) -> dict[str, Any]:
        return {
            "type": "scatter",
            "mode": "lines",
            "x": [times[n] for n in rows],
            "y": [values[n] for n in rows],
            "name": name,
            "hovertemplate": "%{y:.2f} V",
            **more,
        }

    band_ahead = seen[-1:] + ahead
    traces = [
        line(band_ahead, band.low_v, "lower edge", **edge, showlegend=False),
        line(
            band_ahead,
            band.high_v,
            "8 in 10",
            **edge,
            fill="tonexty",
            fillcolor=palette.charge_band,
        ),
        line(band_ahead, band.middle_v, "expected", line={"color": palette.charge, "dash": "dash"}),
        line(
            seen,
            band.measured_v,
            "measured",
            mode="markers",
            marker={"color": palette.margin, "size": 7, "symbol": "diamond"},
        ),
    ]
    layout = {
        **frame(palette, heading=NIGHTS_TITLE, below=nights_words(band), height=340),
        **legend(palette, top_px=96),
        "xaxis": axis(palette, ""),
        "yaxis": axis(palette, "voltage at rest [V]"),
    }
    return go.Figure(data=traces, layout=layout)


def chance_words(vehicle: VehicleForecast) -> str:
    """Return the heading of the risk's chart."""
    if vehicle.act_by is None:
        return "Risk of a no-start: within the limit on all days looked at"
    return f"Risk of a no-start: act by {short_date(vehicle.act_by)}"


def chance_alt(vehicle: VehicleForecast) -> str:
    """Return what the risk's chart shows, in words."""
    shown = vehicle.chance_by_day[:_SHOWN_DAYS]
    return (
        f"{chance_words(vehicle)}; today {whole_percent(shown[0])} %, after "
        f"{len(shown) - 1} days {whole_percent(shown[-1])} %."
    )


def chance_figure(
    vehicle: VehicleForecast, palette: Palette, *, today: dt.date, risk: float
) -> go.Figure:
    """Return the risk at the start hour of each day from today on, in per cent, with the limit."""
    shown = vehicle.chance_by_day[:_SHOWN_DAYS]
    days = [today + dt.timedelta(days=n) for n in range(len(shown))]
    limit = percent_from_share(risk)
    trace = {
        "type": "scatter",
        "mode": "lines",
        "x": days,
        "y": [percent_from_share(share) for share in shown],
        "line": {"color": palette.charge, "width": 2.5},
        "name": "risk",
        "hovertemplate": "%{y:.0f} %",
    }
    first: Any = days[0]
    marks = {
        "shapes": [level(limit, palette, dash="dashdot"), upright(first, palette)],
        "annotations": [
            note(f"limit {limit:g} %", x=days[-1], y=limit, color=palette.limit, xanchor="right")
        ],
    }
    layout = {
        **frame(palette, heading=chance_words(vehicle), height=300),
        "xaxis": axis(palette, ""),
        "yaxis": axis(palette, "risk of a no-start [%]", range=[0, 102]),
        **marks,
    }
    return go.Figure(data=[trace], layout=layout)


def _day(seconds: float) -> str:
    return short_date(dt.datetime.fromtimestamp(seconds, tz=dt.UTC).date())
