"""A log of current with the stages and wake-ups found in it."""

from typing import Any, Final

import numpy as np
import plotly.graph_objects as go

from drainsim.answers.installer.current_log import CurrentLogAnswer
from drainsim.answers.installer.current_log_words import ma
from drainsim.figures.style import Palette, axis, frame, legend, line, note, upright
from drainsim.files.current_log.reader import CurrentLog
from drainsim.language import say
from drainsim.physics.tables import FloatArray
from drainsim.units import ma_from_a

_MOST_BINS: Final = 1200  # each drawn by its lowest and highest sample
_LEAST_MA: Final = 0.1
_READS: Final = "%{y:.3g} mA"
_TICKS_MA: Final = [n * 10.0**power for power in range(-2, 6) for n in (1, 2, 5)]


def thinned(time_s: FloatArray, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a log of at most 2400 points that keeps every bin's lowest and highest sample."""
    if len(time_s) <= 2 * _MOST_BINS:
        return time_s, current_a
    bins = np.array_split(np.arange(len(time_s)), _MOST_BINS)
    index = np.sort(
        [
            at
            for each in bins
            for at in (each[current_a[each].argmin()], each[current_a[each].argmax()])
        ]
    )
    return time_s[index], current_a[index]


def current_log_title(answer: CurrentLogAnswer) -> str:
    """Return the chart's heading."""
    found = answer.findings
    if not found.asleep or found.sleep_s is None:
        return say("Not asleep yet: keep measuring")
    return say(
        "Asleep after {minutes:.0f} min, settled at {current}",
        minutes=found.sleep_s / 60,
        current=ma(found.settled_a),
    )


def current_log_alt(answer: CurrentLogAnswer) -> str:
    """Return what the chart shows, in words."""
    stages = "; ".join(
        say(
            "{minutes:.1f} min at {current}",
            minutes=stage.duration_s / 60,
            current=ma(stage.current_a),
        )
        for stage in answer.stages
    )
    return say("{title}. Stages: {stages}", title=current_log_title(answer), stages=stages)


def current_log_figure(answer: CurrentLogAnswer, log: CurrentLog, palette: Palette) -> go.Figure:
    """Return the log on a logarithmic scale, with stages as steps and wake-ups as marks."""
    hidden = bool((log.current_a <= 0.0).any())
    below = say("no reading at or below 0 mA is drawn") if hidden else ""
    layout = {
        **frame(palette, heading=current_log_title(answer), height=380, below=below),
        **legend(palette, top_px=84),
        "xaxis": axis(palette, say("minutes since the log began")),
        "yaxis": axis(
            palette,
            say("current [mA]"),
            type="log",
            tickmode="array",
            tickvals=_TICKS_MA,
            ticktext=[say("{tick:g}", tick=tick) for tick in _TICKS_MA],
        ),
        **_asleep_mark(answer.findings.sleep_s, palette),
    }
    traces = [_readings(log, palette), _stages(answer, palette), *_pulses(answer, palette)]
    return go.Figure(data=traces, layout=layout)


def _readings(log: CurrentLog, palette: Palette) -> dict[str, Any]:
    time_s, current_a = thinned(log.time_s, log.current_a)
    shown_ma = np.where(current_a > 0.0, ma_from_a(current_a), np.nan)
    style = {"color": palette.baseline, "width": 1}
    return line(time_s / 60.0, shown_ma, style, say("reading"), _READS)


def _stages(answer: CurrentLogAnswer, palette: Palette) -> dict[str, Any]:
    x: list[float] = []
    y: list[float] = []
    for stage in answer.stages:
        x += [stage.start_s / 60.0, (stage.start_s + stage.duration_s) / 60.0]
        y += 2 * [max(ma_from_a(stage.current_a), _LEAST_MA)]
    style = {"color": palette.charge, "width": 3, "dash": "dash"}
    return line(x, y, style, say("stage"), _READS)


def _pulses(answer: CurrentLogAnswer, palette: Palette) -> list[dict[str, Any]]:
    """Return the marks of wake-ups and of the unit's reports, at their peaks."""
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "x": group.start_s / 60.0,
            "y": np.full(group.count, ma_from_a(group.peak_a)),
            "name": name,
            "marker": {"symbol": symbol, "size": 9, "color": palette.margin},
            "hovertemplate": name,
        }
        for group, name, symbol in (
            (answer.wake_ups, say("wake-up"), "triangle-down"),
            (answer.unit_reports, say("unit report"), "diamond"),
        )
        if group is not None
    ]


def _asleep_mark(sleep_s: float | None, palette: Palette) -> dict[str, Any]:
    """Return the upright line at the moment of sleep and its name; nothing if awake."""
    if sleep_s is None:
        return {}
    minutes = sleep_s / 60.0
    name = note(say("asleep"), x=minutes, y=1.0, color=palette.limit, yref="paper", yanchor="top")
    return {"shapes": [upright(minutes, palette)], "annotations": [name]}
