"""Which input moves the answer most: one bar per input from its low values to its high ones."""

from dataclasses import dataclass
from typing import Any, Final

import plotly.graph_objects as go

from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.standing.swing import Swing
from drainsim.answers.words import days_words, end_words
from drainsim.figures.style import LIGHT, Palette, axis, frame, note, upright
from drainsim.language import say

_ROW_PX: Final = 50
_FRAME_PX: Final = 150
_VALUES_SHARE: Final = 0.3  # of the widest bar, left and right for the values
_PAST_SHARE: Final = 0.36  # where "180+ days" stands there too


def swing_title(answer: ParkAnswer) -> str:
    """Return the chart's heading; the input's name stands below it."""
    if not answer.swings or not answer.swings[0].matters:
        return say("No single input moves the answer")
    return say("What moves the answer most")


def swing_alt(answer: ParkAnswer) -> str:
    """Return what the chart shows, in words."""
    horizon = answer.case.horizon_days
    return "; ".join(
        say(
            "{input} from {low} to {high}: {days_at_low} to {days_at_high}",
            input=swing.label,
            low=swing.low_value,
            high=swing.high_value,
            days_at_low=days_words(swing.days_at_low, horizon),
            days_at_high=days_words(swing.days_at_high, horizon),
        )
        for swing in answer.swings
    )


def swing_figure(answer: ParkAnswer, palette: Palette = LIGHT) -> go.Figure:
    """Return the bars, largest on top, with the input's values at both ends.

    An end past the horizon is drawn at the horizon and says so, like "180+ days".
    """
    horizon = answer.case.horizon_days
    rows = [_Row.of(swing, horizon) for swing in reversed(answer.swings)]
    low = min((row.left for row in rows), default=0.0)
    high = max((row.right for row in rows), default=float(horizon))
    past = any(None in {swing.days_at_low, swing.days_at_high} for swing in answer.swings)
    room = max((_PAST_SHARE if past else _VALUES_SHARE) * (high - low), 1.0)
    notes = [text for place, row in enumerate(rows) for text in row.notes(place, palette)]
    shapes = []
    median = answer.days_to_no_start.p50
    if median is not None:
        shapes.append(upright(median, palette))
        now = say("now: {days}", days=days_words(median, horizon))
        notes.append(
            note(now, x=median, y=1.0, color=palette.limit, yref="paper", xanchor="center")
        )
    layout = {
        **frame(
            palette,
            heading=swing_title(answer),
            below=say(answer.swings[0].label) if answer.swings else "",
            height=_FRAME_PX + _ROW_PX * max(len(rows), 1),
        ),
        "margin": {"l": 8, "r": 12, "t": 84, "b": 8},
        "bargap": 0.66,
        "hovermode": "closest",
        "xaxis": axis(
            palette,
            say("days until {end}", end=end_words(answer)),
            range=[low - room, high + room],
        ),
        "yaxis": axis(
            palette,
            "",
            range=[-0.6, max(len(rows), 1) - 0.2],
            showticklabels=False,
            showgrid=False,
            zeroline=False,
        ),
        "shapes": shapes,
        "annotations": notes,
    }
    bars = {
        "type": "bar",
        "orientation": "h",
        "y": list(range(len(rows))),
        "x": [row.right - row.left for row in rows],
        "base": [row.left for row in rows],
        "marker": {"color": palette.charge},
        "hovertext": [row.hover for row in rows],
        "hovertemplate": "%{hovertext}<extra></extra>",
    }
    return go.Figure(data=[bars] if rows else [], layout=layout)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One input's bar, from the shorter stand to the longer."""

    name: str
    left: float
    right: float
    left_value: str
    right_value: str
    hover: str

    @classmethod
    def of(cls, swing: Swing, horizon_days: int) -> "_Row":
        """Return the bar of a swing."""
        name = say(swing.label)
        ends = [
            (_end(swing.days_at_low, horizon_days), say(swing.low_value), swing.days_at_low),
            (_end(swing.days_at_high, horizon_days), say(swing.high_value), swing.days_at_high),
        ]
        ends.sort(key=lambda end: end[0])
        (left, left_value, left_days), (right, right_value, right_days) = ends
        return cls(
            name=name,
            left=left,
            right=right,
            left_value=left_value,
            right_value=right_value
            + (f"<br>{say('{days}+ days', days=horizon_days)}" if right_days is None else ""),
            hover=(
                f"{name}<br>{left_value}: {say(days_words(left_days, horizon_days))}"
                f"<br>{right_value}: {say(days_words(right_days, horizon_days))}"
            ),
        )

    def notes(self, place: int, palette: Palette) -> list[dict[str, Any]]:
        """Return the input's name above the bar and its values at the ends."""
        beside: dict[str, Any] = {"y": place, "color": palette.text, "yanchor": "middle"}
        return [
            note(self.left_value, x=self.left, xanchor="right", xshift=-4, **beside),
            note(self.right_value, x=self.right, xshift=4, **beside),
            note(
                f"<b>{self.name}</b>",
                x=0.0,
                y=place,
                color=palette.text,
                xref="paper",
                yshift=12,
            ),
        ]


def _end(days: float | None, horizon_days: int) -> float:
    return float(horizon_days) if days is None else days
