"""Charts carry the answer's own numbers, in the units on their axes."""

import dataclasses
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.standing.park import Budget, DaysRange, ParkAnswer, park
from drainsim.figures.budget import budget_alt, budget_figure
from drainsim.figures.course import course_figure, shown_days
from drainsim.figures.risk import risk_figure
from drainsim.figures.style import DARK, LIGHT, Palette
from drainsim.figures.swing import swing_alt, swing_figure
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict


def _parked(quiescent_a: float, horizon_days: int) -> ParkAnswer:
    return park(
        resolve(
            scenario_from_dict(
                {
                    "battery": {"capacity_ah": 60.0},
                    "unit": {"preset": "hourly"},
                    "vehicle": {"quiescent_a": quiescent_a},
                    "run": {"draws": 200, "horizon_days": horizon_days},
                }
            )
        )
    )


@pytest.fixture(scope="module")
def answer() -> ParkAnswer:
    """Return an invented vehicle that fails well within the horizon."""
    return _parked(0.05, 120)


@pytest.fixture(scope="module")
def baseline() -> ParkAnswer:
    """Return the same with less drain: it stands longer."""
    return _parked(0.02, 120)


@pytest.fixture(scope="module")
def lasting() -> ParkAnswer:
    """Return a vehicle that outlasts a short horizon."""
    return _parked(0.001, 14)


def _traces(figure: Any, name: str) -> list[Any]:
    return [trace for trace in figure.data if trace.name == name]


def _texts(figure: Any) -> str:
    return "\n".join(note.text for note in figure.layout.annotations)


def test_course_shows_percent_margin_and_temperature(answer: ParkAnswer) -> None:
    """Charge is in per cent, margin plain, temperature in °C, all against days."""
    figure, course = course_figure(answer, LIGHT), answer.course
    for name, expected in (
        ("state of charge", 100.0 * course.charge),
        ("start margin", course.margin),
        ("battery temperature", course.temperature_c),
    ):
        (trace,) = _traces(figure, name)
        assert_allclose(trace.x, course.day)
        assert_allclose(trace.y, expected)


def test_course_band_encloses_the_middle_of_the_draws(answer: ParkAnswer) -> None:
    """The filled band runs from the 10 % to the 90 % quantile."""
    figure = course_figure(answer, LIGHT)
    (upper,) = _traces(figure, "8 in 10 cases")
    (lower,) = _traces(figure, "8 in 10 cases, lower edge")
    assert_allclose(upper.y, 100.0 * answer.course.charge_high)
    assert_allclose(lower.y, 100.0 * answer.course.charge_low)
    assert upper.fill == "tonexty"
    order = [trace.name for trace in figure.data]
    assert order.index(upper.name) == order.index(lower.name) + 1  # else it fills to another line


def test_course_marks_the_limit_and_the_no_start(answer: ParkAnswer) -> None:
    """The margin's limit stands at 1.0 and the no-start at its day, both named."""
    figure = course_figure(answer, LIGHT)
    levels = [shape.y0 for shape in figure.layout.shapes if shape.y0 == shape.y1]
    assert levels == [1.0]
    days = answer.days_to_no_start.p50
    assert {shape.x0 for shape in figure.layout.shapes if shape.x0 == shape.x1} == {days}
    assert f"no-start, {days:.0f} days" in _texts(figure)
    assert f"{days:.0f} days" in figure.layout.title.text


def test_past_the_horizon_is_never_the_horizon(lasting: ParkAnswer) -> None:
    """Without a no-start the charts say more than, and mark no day."""
    assert lasting.days_to_no_start.p50 is None
    figure = course_figure(lasting, LIGHT)
    assert "more than 14 days" in figure.layout.title.text
    assert [shape for shape in figure.layout.shapes if shape.x0 == shape.x1] == []
    assert "no-start, " not in _texts(figure)
    ends = [swing for swing in lasting.swings if swing.days_at_high is None]
    assert ends
    assert "more than" in swing_alt(lasting)
    assert "<br>14+ days" in _texts(swing_figure(lasting, LIGHT))


def test_a_baseline_is_drawn_dashed_in_every_row(answer: ParkAnswer, baseline: ParkAnswer) -> None:
    """The unchanged case stands beside the changed one, told apart without colour."""
    figure = course_figure(answer, LIGHT, baseline=baseline)
    dashed = _traces(figure, "baseline")
    assert [trace.line.dash for trace in dashed] == ["dash"] * 3
    assert_allclose(dashed[0].y, 100.0 * baseline.course.charge)
    assert_allclose(dashed[1].y, baseline.course.margin)
    (risk,) = _traces(risk_figure(answer, LIGHT, baseline=baseline), "baseline")
    assert risk.line.dash == "dash"
    assert_allclose(risk.y, 100.0 * baseline.course.probability_no_start)


def test_the_longer_case_sets_the_days_shown(answer: ParkAnswer, baseline: ParkAnswer) -> None:
    """Both curves are seen past their no-start, and never past the horizon."""
    assert shown_days(answer) < shown_days(baseline)
    assert shown_days(answer, baseline) == shown_days(baseline)
    last = answer.days_to_no_start.p90
    assert last is not None
    assert last < shown_days(answer) <= answer.case.horizon_days


def test_risk_is_in_percent_and_carries_the_limit(answer: ParkAnswer) -> None:
    """The curve is the share of draws that fail, with the 5 % line named."""
    figure = risk_figure(answer, LIGHT)
    (curve,) = _traces(figure, "start at 07:00 fails")
    assert_allclose(curve.y, 100.0 * answer.course.probability_no_start)
    assert [shape.y0 for shape in figure.layout.shapes] == [5.0]
    assert "5 % risk" in _texts(figure)
    safe = answer.days_at_risk
    assert safe is not None
    assert f"{safe:.0f} days" in figure.layout.title.text


def test_budget_bars_are_the_parts_and_their_sum(answer: ParkAnswer, baseline: ParkAnswer) -> None:
    """Each bar holds its part in Ah per day, with the number and its unit on it."""
    figure = budget_figure(answer, LIGHT, baseline=baseline)
    for name, one in (("now", answer), ("baseline", baseline)):
        (bars,) = _traces(figure, name)
        amounts = dict(zip(bars.y, bars.x, strict=True))
        assert amounts["vehicle itself"] == one.budget.vehicle
        assert amounts["added unit"] == one.budget.unit
        assert amounts["self-discharge"] == one.budget.self_discharge
        parts = sum(amount for part, amount in amounts.items() if part != "all together")
        assert amounts["all together"] == pytest.approx(parts, rel=1e-12)
        assert all(text.endswith(" Ah/day") for text in bars.text)
    assert f"{answer.budget.total:.2f} Ah per day" in budget_alt(answer)


def test_a_maintainer_shows_as_a_bar_to_the_left(answer: ParkAnswer) -> None:
    """Charge put in is negative and stays within the drawn range."""
    charged = dataclasses.replace(
        answer, budget=Budget(vehicle=0.7, unit=0.1, self_discharge=0.01, other=-2.0)
    )
    figure = budget_figure(charged, LIGHT)
    low, high = figure.layout.xaxis.range
    assert low < -2.0
    assert high > 0.7


def test_swing_bars_run_between_the_days_at_both_ends(answer: ParkAnswer) -> None:
    """Each bar spans the days at its input's ends, the largest on top, values written."""
    figure = swing_figure(answer, LIGHT)
    (bars,) = figure.data
    assert len(bars.x) == len(answer.swings)
    for place, swing in zip(reversed(bars.y), answer.swings, strict=True):
        ends = (swing.days_at_low or np.inf, swing.days_at_high or np.inf)
        assert bars.base[place] == pytest.approx(min(*ends, 120.0))
        assert bars.base[place] + bars.x[place] == pytest.approx(min(max(ends), 120.0))
        row = [note.text for note in figure.layout.annotations if note.y == place]
        assert f"<b>{swing.label}</b>" in row
        assert swing.low_value in row
        assert swing.high_value in row
    top = max(bars.y)
    assert answer.swings[0].label in bars.hovertext[top]
    assert list(bars.x) == sorted(bars.x)


def test_swing_without_any_spread_is_an_empty_chart(answer: ParkAnswer) -> None:
    """A case in which nothing is uncertain says so."""
    sure = dataclasses.replace(answer)
    vars(sure)["swings"] = ()
    figure = swing_figure(sure, LIGHT)
    assert len(figure.data) == 0
    assert "No single input" in figure.layout.title.text


def test_a_failure_at_once_still_draws(answer: ParkAnswer) -> None:
    """Zero days is a day like any other on the axis."""
    now = dataclasses.replace(answer, days_to_no_start=DaysRange(p10=0.0, p50=0.0, p90=0.0))
    figure = course_figure(now, LIGHT)
    assert "0 days" in figure.layout.title.text
    assert figure.layout.xaxis.range[1] > 0.0


def _luminance(color: str) -> float:
    parts = np.array([int(color[place : place + 2], 16) / 255.0 for place in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ np.array([0.2126, 0.7152, 0.0722]))


@pytest.mark.parametrize("palette", [LIGHT, DARK])
@pytest.mark.parametrize("name", ["charge", "margin", "temperature", "limit", "baseline", "text"])
def test_every_colour_can_be_read_on_its_ground(palette: Palette, name: str) -> None:
    """Lines and labels reach 4.5:1, the least contrast of text in WCAG 2, level AA."""
    # Web Content Accessibility Guidelines 2, success criterion 1.4.3 and its formula of
    # relative luminance; from memory.
    one, other = sorted((_luminance(getattr(palette, name)), _luminance(palette.ground)))
    assert (other + 0.05) / (one + 0.05) >= 4.5
