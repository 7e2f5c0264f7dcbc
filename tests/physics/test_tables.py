"""Tables, and quantiles of rows."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from drainsim.physics.tables import quantiles_by_row, quantiles_of_sorted


@pytest.mark.parametrize("count", [1, 2, 100, 401])
def test_quantiles_are_those_of_numpy(count: int) -> None:
    """Row by row and of sorted values, ties and both ends among them, to the bit."""
    values = np.random.default_rng(count).standard_normal((19, count)).round(1)
    shares = np.array([0.0, 0.1, 0.37, 0.5, 0.9, 1.0])
    expected = np.quantile(values, shares, axis=1)
    assert_array_equal(quantiles_by_row(values, shares), expected)
    ordered = np.sort(np.append(values[0], [np.inf, np.inf]))
    assert quantiles_of_sorted(ordered, np.array([1.0]))[0] == np.inf
