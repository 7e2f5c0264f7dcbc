"""The sheet's small chart: straight lines and words on a canvas, for any kind of paper."""

import math
from dataclasses import dataclass
from html import escape
from typing import Final

WIDTH: Final = 620.0
HEIGHT: Final = 155.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 42.0, 10.0, 20.0, 32.0
_MOST_POINTS: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartData:
    """Risk by day with the risk accepted and the days asked; labels are translated."""

    days: tuple[int, ...]
    risk: tuple[float, ...]
    asked_risk: float
    asked_days: int
    x_label: str
    asked_label: str
    days_label: str
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line through points; dash is empty for a full one. All strokes are black or grey."""

    points: tuple[tuple[float, float], ...]
    width: float
    grey: float = 0.0  # 0 black to 1 white
    dash: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A text at a point; anchor is start, middle or end."""

    x: float
    y: float
    text: str
    anchor: str = "start"
    size: float = 11.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """What to draw, y downwards, on WIDTH × HEIGHT."""

    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]


def drawing(data: ChartData) -> Drawing:
    """Return the chart's lines and words."""
    last = max(data.days[-1], 1)

    def x(day: float) -> float:
        return _LEFT + (WIDTH - _LEFT - _RIGHT) * day / last

    def y(risk: float) -> float:
        return HEIGHT - _BOTTOM - (HEIGHT - _TOP - _BOTTOM) * risk

    strokes, words = [], []
    for risk in (0.0, 0.5, 1.0):
        line = ((_LEFT, y(risk)), (WIDTH - _RIGHT, y(risk)))
        strokes.append(Stroke(points=line, width=0.6, grey=0.0 if risk == 0.0 else 0.75))
        label = f"{100 * risk:.0f} %"
        words.append(Word(x=_LEFT - 5.0, y=y(risk) + 4.0, text=label, anchor="end"))
    step = tick_days(last)
    for day in range(0, last + 1, step):
        tick = ((x(day), y(0.0)), (x(day), y(0.0) + 4.0))
        strokes.append(Stroke(points=tick, width=0.6))
        words.append(Word(x=x(day), y=y(0.0) + 15.0, text=str(day), anchor="middle"))
    middle = 0.5 * (_LEFT + WIDTH - _RIGHT)
    words.append(Word(x=middle, y=HEIGHT - 3.0, text=data.x_label, anchor="middle"))
    accepted = ((_LEFT, y(data.asked_risk)), (WIDTH - _RIGHT, y(data.asked_risk)))
    strokes.append(Stroke(points=accepted, width=1.0, grey=0.35, dash=(6.0, 4.0)))
    asked = ((x(data.asked_days), y(0.0)), (x(data.asked_days), _TOP - 6.0))
    strokes.append(Stroke(points=asked, width=1.0, grey=0.35, dash=(2.0, 3.0)))
    every = max(1, math.ceil(len(data.days) / _MOST_POINTS))
    kept = sorted({*range(0, len(data.days), every), len(data.days) - 1})
    curve = tuple((x(data.days[i]), y(data.risk[i])) for i in kept)
    strokes.append(Stroke(points=curve, width=2.2))
    left_half = data.asked_days <= 0.5 * last
    words.append(
        Word(
            x=x(data.asked_days) + (5.0 if left_half else -5.0),
            y=_TOP - 7.0,
            text=data.days_label,
            anchor="start" if left_half else "end",
        )
    )
    words.append(_accepted_word(data, x_end=WIDTH - _RIGHT, y_line=y(data.asked_risk)))
    return Drawing(strokes=tuple(strokes), words=tuple(words))


def _accepted_word(data: ChartData, *, x_end: float, y_line: float) -> Word:
    """Return the label of the accepted risk where the curve leaves room for it."""
    early = data.risk[len(data.risk) // 4]
    if early <= data.asked_risk or early > 0.3:
        return Word(x=_LEFT + 5.0, y=y_line - 5.0, text=data.asked_label)
    return Word(x=x_end, y=y_line - 5.0, text=data.asked_label, anchor="end")


def tick_days(last: int) -> int:
    """Return a step for day marks that gives 4 to 10 of them.

    Examples
    --------
    >>> tick_days(14), tick_days(50), tick_days(180), tick_days(730)
    (2, 7, 30, 90)
    """
    return next((s for s in (1, 2, 5, 7, 14, 30, 60, 90) if last / s <= 8.5), 180)


def svg(data: ChartData) -> str:
    """Return the chart as inline SVG with a text alternative."""
    parts = [
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-label="{escape(data.alt)}" font-family="inherit">',
        f"<title>{escape(data.alt)}</title>",
    ]
    what = drawing(data)
    for stroke in what.strokes:
        level = round(255 * stroke.grey)
        points = " ".join(f"{px:.1f},{py:.1f}" for px, py in stroke.points)
        dash = f' stroke-dasharray="{stroke.dash[0]:g} {stroke.dash[1]:g}"' if stroke.dash else ""
        parts.append(
            f'<polyline points="{points}" fill="none" stroke="rgb({level},{level},{level})" '
            f'stroke-width="{stroke.width:g}"{dash}/>'
        )
    for word in what.words:
        parts.append(
            f'<text x="{word.x:.1f}" y="{word.y:.1f}" font-size="{word.size:g}" '
            f'text-anchor="{word.anchor}">{escape(word.text)}</text>'
        )
    return "".join([*parts, "</svg>"])
