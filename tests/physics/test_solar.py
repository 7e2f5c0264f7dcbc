"""Sunshine against typical years the formula did not come from, and the sizing rule of thumb."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.solar import (
    chain_efficiency,
    extraterrestrial_kwh_m2_day,
    panel_ah_per_day,
    panel_for_current_w,
    peak_sun_hours,
)

_MID_MONTH = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])
# Global irradiation on a level surface, monthly means, kWh/m²/day, computed from hourly typical
# years of an open package: TMY3 723170 Greensboro NC, TMY3 703165 Sand Point AK, TMY2 12839
# Miami FL.
_GREENSBORO = [2.41, 3.06, 4.25, 5.41, 5.64, 6.25, 6.08, 5.61, 4.43, 3.59, 2.43, 2.24]
_SAND_POINT = [0.58, 1.05, 1.85, 3.06, 3.28, 3.81, 5.0, 2.7, 3.04, 1.61, 0.74, 0.46]
_MIAMI = [3.49, 4.43, 5.16, 6.16, 6.03, 5.76, 5.99, 5.67, 4.91, 4.37, 3.57, 3.36]


@pytest.mark.parametrize(
    ("latitude_deg", "published", "rtol"),
    [
        # rtol: months of one typical year scatter about a constant clear share, by a tenth in
        # settled climates, by a third on the rainy Alaskan coast (its July is a sunny outlier).
        (36.1, _GREENSBORO, 0.12),
        (25.8, _MIAMI, 0.12),
        (55.3, _SAND_POINT, 0.35),
    ],
)
def test_one_clear_share_gives_every_month_of_a_typical_year(
    latitude_deg: float, published: list[float], rtol: float
) -> None:
    """Astronomy alone makes the seasons: one clear share fits all twelve months."""
    above = extraterrestrial_kwh_m2_day(latitude_deg, _MID_MONTH)
    share = float(np.median(np.asarray(published) / above))
    assert 0.25 < share < 0.75  # clearness indices published for these climates lie inside
    ours = peak_sun_hours(latitude_deg, _MID_MONTH, clear_share=share)
    assert_allclose(ours, published, rtol=rtol)


def test_agrees_with_a_table_of_extraterrestrial_radiation() -> None:
    """The published table of daily radiation above the air, northern latitudes."""
    # FAO Irrigation and Drainage Paper 56, annex 2, table 2.6 (MJ/m²/day, from memory):
    # equator 15 March 37.8 to 38.0; 50° N 15 December about 7.6 to 9; wide limits for that.
    equator = float(extraterrestrial_kwh_m2_day(0.0, 74)) * 3.6
    north = float(extraterrestrial_kwh_m2_day(50.0, 349)) * 3.6
    assert 36.5 < equator < 39.0
    assert 7.0 < north < 9.5


def test_hemispheres_mirror_each_other() -> None:
    """Half a year apart, the same latitude north and south sees almost the same sun."""
    north = extraterrestrial_kwh_m2_day(40.0, np.arange(1, 366))
    south = extraterrestrial_kwh_m2_day(-40.0, np.arange(1, 366))
    # rtol 8 %: the earth is 3.3 % nearer in January, which is 6.7 % in irradiance.
    assert_allclose(np.sort(north), np.sort(south), rtol=0.08)
    assert north.argmax() == pytest.approx(172, abs=12)
    assert south.argmin() == pytest.approx(172, abs=12)


def test_polar_night_is_dark_and_never_negative() -> None:
    """Beyond the circle midwinter has no sun at all; no panel is large enough."""
    year = extraterrestrial_kwh_m2_day(75.0, np.arange(1, 366))
    assert year.min() == 0.0
    assert year[171] > 11.0  # midnight sun
    assert panel_for_current_w(0.05, sun_h=0.0, efficiency=0.6, battery_v=13.0) == np.inf


def test_sizing_example_of_a_maintainer() -> None:
    """50 mA at 13 V and 60 % needs 65 W with 0.4 sun hours, 7.6 W with 3.4."""
    # Maintainer sizing rule, worked example; rtol: printed to two digits.
    watts = panel_for_current_w(0.05, sun_h=[0.4, 3.4], efficiency=0.6, battery_v=13.0)
    assert_allclose(watts, [65.0, 7.6], rtol=0.01)


def test_the_sized_panel_brings_the_draw_back() -> None:
    """Sizing and yield are each other's inverse."""
    watts = panel_for_current_w(0.05, sun_h=1.7, efficiency=0.55, battery_v=13.0)
    brought = panel_ah_per_day(watts, sun_h=1.7, efficiency=0.55, battery_v=13.0)
    assert_allclose(brought, 0.05 * 24.0, rtol=1e-12)


@pytest.mark.parametrize("bad", [91.0, -91.0, np.nan])
def test_refuses_impossible_latitudes(bad: float) -> None:
    """A latitude beyond a pole is an error that names it."""
    with pytest.raises(OutOfRangeError, match="latitude_deg"):
        extraterrestrial_kwh_m2_day(bad, 1)


def test_refuses_shares_and_efficiencies_beyond_one() -> None:
    """More sun than there is, or a gain instead of a loss, is an error that names it."""
    with pytest.raises(OutOfRangeError, match="clear_share"):
        peak_sun_hours(50.0, 1, clear_share=1.2)
    with pytest.raises(OutOfRangeError, match="controller"):
        chain_efficiency(surface=0.9, controller=1.3, charging=0.85)
