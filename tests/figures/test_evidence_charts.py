"""Published points lie where their source puts them, on lines the model draws."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.evidence import stored
from drainsim.evidence.check import CheckResult
from drainsim.evidence.checks.curves import Curve, curves
from drainsim.evidence.registry import run_checks
from drainsim.figures.evidence import (
    curve_alt,
    curve_figure,
    reliability_alt,
    reliability_figure,
)
from drainsim.figures.style import LIGHT

ASKED = {
    "open_circuit",
    "cranking_power",
    "demand",
    "freezing",
    "capacity_rate",
    "self_discharge",
}


@pytest.fixture(scope="module")
def results() -> dict[str, CheckResult]:
    """Return every check's result by key."""
    return {result.check.key: result for result in run_checks()}


@pytest.fixture(scope="module")
def drawn(results: dict[str, CheckResult]) -> tuple[Curve, ...]:
    """Return the curves."""
    return curves(results)


def test_every_curve_asked_for_is_drawn(drawn: tuple[Curve, ...]) -> None:
    """Six curves, each with its own points from at least two sources."""
    assert {curve.key for curve in drawn} == ASKED
    for curve in drawn:
        assert len({point.source for point in curve.points}) >= 2, curve.key


def test_points_are_the_checks_own_values(
    drawn: tuple[Curve, ...], results: dict[str, CheckResult]
) -> None:
    """A point shows its check's published value; only units of time may differ."""
    for curve in drawn:
        for point in curve.points:
            low, high = results[point.key].check.ends
            scale = point.high / high
            assert_allclose(point.low, scale * low)
            assert scale == 1.0 or (curve.key == "self_discharge" and round(1 / scale) == 30)
            assert point.passed is results[point.key].passed


def test_a_point_stands_where_its_check_asked_the_model(
    drawn: tuple[Curve, ...], results: dict[str, CheckResult]
) -> None:
    """The nearest line at a point's place is the model value of its check."""
    # atol 3 % of the height: lines have 80 to 121 places, and losses bend over 30 days.
    for curve in drawn:
        if curve.key == "capacity_rate":
            continue  # points of several batteries share that chart
        height = max(line.y.max() for line in curve.lines) - min(
            line.y.min() for line in curve.lines
        )
        for point in curve.points:
            model = results[point.key].model
            assert model is not None
            scale = point.high / results[point.key].check.ends[1]
            near = min(
                abs(float(np.interp(point.x, line.x, line.y)) - scale * model)
                for line in curve.lines
            )
            assert near <= 0.03 * height, (curve.key, point.key)


def test_passed_and_missed_points_differ_in_more_than_colour(drawn: tuple[Curve, ...]) -> None:
    """Points outside tolerance have a marker and a name of their own, and stand in the text."""
    curve = next(one for one in drawn if one.key == "freezing")
    figure = curve_figure(curve, LIGHT)
    symbols = {trace.name: trace.marker.symbol for trace in figure.data if trace.mode == "markers"}
    assert len(set(symbols.values())) == len(symbols) == 2
    assert "table 6" in curve_alt(curve)
    assert figure.layout.yaxis.title.text == "freezing point [°C]"


def test_reliability_chart_shows_what_is_stored() -> None:
    """One line per ratio of spreads, in per cent, and words for those who cannot see it."""
    found = stored.twin()["results"]
    figure = reliability_figure(found, LIGHT)
    assert len(figure.data) == 1 + len(found)
    assert_allclose(figure.data[1].x, [100.0 * row["said"] for row in found[0]["reliability"]])
    assert "failed" in reliability_alt(found[0])
