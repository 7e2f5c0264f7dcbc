"""Regulated voltage: laws and refusals (published values: test_evidence.py)."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.charging import regulated_band_v, regulated_voltage_v


def test_voltage_falls_as_it_warms() -> None:
    """Never rises with temperature; 24 V systems hold twice the voltage."""
    warm = np.linspace(-40.0, 100.0, 50)
    assert (np.diff(regulated_voltage_v(warm)) < 0).all()
    assert_allclose(regulated_voltage_v(warm, system_v=24.0), 2.0 * regulated_voltage_v(warm))


def test_printed_bands_overlap_ours() -> None:
    """Our band shares at least four fifths of each band the source prints."""
    # Workshop manual of a 2018 small car: bands at -20, 20, 60 and 80 °C. They are 0.9 to 1.2 V
    # wide and not quite symmetrical; ours is 1 V wide everywhere.
    printed = {-20.0: (14.0, 15.1), 20.0: (13.7, 14.6), 60.0: (13.2, 14.3), 80.0: (12.9, 14.1)}
    for temperature_c, (low, high) in printed.items():
        ours_low, ours_high = regulated_band_v(temperature_c)
        shared = min(high, float(ours_high)) - max(low, float(ours_low))
        assert shared >= 0.8 * (high - low)


@pytest.mark.parametrize("bad", [-41.0, 101.0, np.nan])
def test_refuses_other_temperatures(bad: float) -> None:
    """Outside -40 to 100 °C the answer is an error that names the input."""
    with pytest.raises(OutOfRangeError, match="temperature_c"):
        regulated_voltage_v(bad)
