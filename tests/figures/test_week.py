"""Charts of the weekly answer: their numbers, not their looks."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.driving.week import WeekAnswer, week
from drainsim.figures.style import LIGHT
from drainsim.figures.week import balance_alt, balance_figure, weeks_figure, weeks_title
from tests.build import case_of

BASE = {
    "battery": {"capacity_ah": 60},
    "unit": {"preset": "hourly"},
    "site": {"climate": "temperate"},
    "run": {"draws": 100},
}


@pytest.fixture(scope="module")
def answer() -> WeekAnswer:
    """Return weeks of four short trips."""
    return week(case_of(BASE, pattern={"trips_per_week": 4, "trip_minutes": 20}))


def test_the_charge_chart_holds_the_weekly_course(answer: WeekAnswer) -> None:
    """Charge, band and net of every week stand as answered, with the target beside them."""
    figure = weeks_figure(answer, LIGHT)
    low, high, charge, net = figure.data
    assert_allclose(charge.y, 100.0 * answer.charge)
    assert_allclose(net.y, answer.net_ah)
    assert (np.asarray(low.y) <= np.asarray(high.y)).all()
    assert figure.layout.shapes[0].y0 == 80.0
    assert f"{100.0 * answer.lowest_charge:.0f} %" in weeks_title(answer)


def test_the_balance_chart_adds_up(answer: WeekAnswer) -> None:
    """What comes in less what goes out is the net bar; losses carry their name."""
    (bar,) = balance_figure(answer, LIGHT).data
    values = dict(zip(bar.y, bar.x, strict=True))
    net = values.pop("net")
    assert abs(sum(values.values()) - net) < 0.06  # bars below 0.01 Ah are left out
    assert values["lost while charging (efficiency)"] < 0.0
    assert "efficiency" in balance_alt(answer)


def test_the_weekly_chart_says_what_its_dotted_line_is(answer: WeekAnswer) -> None:
    """In words above the plot, where nothing can lie over them."""
    figure = weeks_figure(answer, LIGHT)
    assert "below 80 % plates sulfate" in figure.layout.title.subtitle.text
    assert figure.layout.shapes[0].line.dash == "dot"


def test_every_bar_keeps_its_whole_name(answer: WeekAnswer) -> None:
    """A long name stands on two lines beside its own bar, no word of it lost."""
    figure = balance_figure(answer, LIGHT)
    axis = figure.layout.yaxis
    shown = [text.replace("<br>", " ") for text in axis.ticktext]
    assert list(axis.tickvals) == shown == list(figure.data[0].y)
    assert max(len(line) for text in axis.ticktext for line in text.split("<br>")) <= 20
