"""The fast look-up gives what `numpy.interp` gives."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.simulation.battery_curves import tabulate_curves
from drainsim.simulation.lookup import even
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


def test_ends_are_held() -> None:
    """Beyond the table its end values are given, exactly."""
    x, y = np.array([0.0, 0.5, 1.0]), np.array([1.0, 5.0, 2.0])
    at = np.array([-1.0, 0.0, 1.0, 2.0, 1e9])
    assert_array_equal(even(x, y).at(at), [1.0, 1.0, 2.0, 2.0, 2.0])


@pytest.mark.parametrize("knot", [0.35, 0.333, 1 / 3])
def test_a_knot_of_a_profile_is_kept_where_it_is(knot: float) -> None:
    """Tables of a curve with a kink anywhere follow it: within 5e-5 of the charge, times 1 V."""
    profile = profiles()["agm"]
    curve = np.array([[0.0, 11.5], [knot, 12.5], [1.0, 12.9]])
    figure = replace(profile.figures["open_circuit_v"], value=curve.tolist())
    moved = replace(profile, figures={**profile.figures, "open_circuit_v": figure})
    curves = tabulate_curves(moved, minimum_v=7.5)
    at = np.linspace(0.0, 1.0, 5001)
    shown = curves.resting_at_v(at, np.full(5001, curves.resting_reference_c))
    assert_allclose(shown, np.interp(at, curve[:, 0], curve[:, 1]), atol=2e-4)
