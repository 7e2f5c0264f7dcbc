"""The fast look-up gives what `numpy.interp` gives."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.simulation.battery_curves import tabulate_curves
from drainsim.simulation.lookup import axis, even, lines, look_up
from tests.build import profiles


@pytest.mark.parametrize("key", profiles())
def test_agrees_with_a_search_for_every_value(key: str) -> None:
    """At random places, at the points themselves, at and beyond both ends, in any shape."""
    curves = tabulate_curves(profiles()[key], minimum_v=7.5)
    rng = np.random.default_rng(2)
    for x, y in (
        (curves.charge, curves.cranking_by_charge),
        (curves.charge, curves.resting_v),
        (curves.charge, curves.freezing_c),
    ):
        span = x[-1] - x[0]
        at = np.concatenate([x, rng.uniform(x[0] - span, x[-1] + span, 6000 - len(x))])
        found = look_up(at.reshape(3, -1), axis(x), lines(x, y))
        # rtol: a value a rounding error from a point may be taken from the other side of it.
        assert_allclose(found, np.interp(at, x, y).reshape(3, -1), rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize("key", profiles())
def test_tables_of_equal_steps_need_no_search(key: str) -> None:
    """At random places, at the points themselves, at and beyond both ends, in any shape."""
    curves = tabulate_curves(profiles()[key], minimum_v=7.5)
    rng = np.random.default_rng(2)
    for x, y in (
        (curves.temperature_c, curves.power),
        (curves.temperature_c, curves.fall),
        (curves.oil_c, curves.turning),
    ):
        span = x[-1] - x[0]
        at = np.concatenate([x, rng.uniform(x[0] - span, x[-1] + span, 6000 - len(x))])
        given_at = at.copy()
        found = even(x, y).at(at.reshape(3, -1))
        assert_allclose(found, np.interp(at, x, y).reshape(3, -1), rtol=1e-12, atol=1e-12)
        assert_array_equal(at, given_at)


@given(
    st.lists(st.floats(-100, 100), min_size=2, max_size=30, unique=True).filter(
        lambda x: np.diff(sorted(x)).min() > 1e-6
    )
)
def test_agrees_for_points_however_close(points: list[float]) -> None:
    """Uneven points, several in one cell."""
    x = np.array(sorted(points))
    y = np.cos(np.arange(len(x)))
    at = np.concatenate([x, 0.5 * (x[1:] + x[:-1]), [x[0] - 1.0, x[-1] + 1.0]])
    # atol: slopes up to 1e6 times rounding of the place.
    assert_allclose(look_up(at, axis(x), lines(x, y)), np.interp(at, x, y), atol=1e-7)


def test_ends_are_held() -> None:
    """Beyond the table its end values are given, exactly."""
    x, y = np.array([0.0, 0.5, 1.0]), np.array([1.0, 5.0, 2.0])
    at = np.array([-1.0, 0.0, 1.0, 2.0, 1e9])
    assert_array_equal(look_up(at, axis(x), lines(x, y)), [1.0, 1.0, 2.0, 2.0, 2.0])
