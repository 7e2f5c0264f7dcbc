"""Regulated voltage: laws and refusals (published values: test_evidence.py)."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.charging import regulated_voltage_v


def test_voltage_falls_as_it_warms() -> None:
    """Never rises with temperature; 24 V systems hold twice the voltage."""
    warm = np.linspace(-40.0, 100.0, 50)
    assert (np.diff(regulated_voltage_v(warm)) < 0).all()
    assert_allclose(regulated_voltage_v(warm, system_v=24.0), 2.0 * regulated_voltage_v(warm))


@pytest.mark.parametrize("bad", [-41.0, 101.0, np.nan])
def test_refuses_other_temperatures(bad: float) -> None:
    """Outside -40 to 100 °C the answer is an error that names the input."""
    with pytest.raises(OutOfRangeError, match="temperature_c"):
        regulated_voltage_v(bad)
