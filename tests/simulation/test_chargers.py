"""Cloudy runs: mean kept, runs as said, uncertainty wider, shade and tilt where they belong."""

from typing import Any

import numpy as np
from numpy.testing import assert_allclose

from drainsim.answers.standing.park import park
from drainsim.simulation.chargers import cloud_factor
from drainsim.vehicle.case import Case
from tests.build import MUST_SHOW, case_of, nominal_stand

BASE: dict[str, Any] = {
    **MUST_SHOW,
    "site": {"climate": "temperate"},
    "unit": {"preset": "hourly"},
    "run": {"draws": 200, "horizon_days": 180},
}


def panel(**keys: float) -> Case:
    """Return a parked vehicle with a panel."""
    return case_of(BASE, solar={"panel_w": 20.0, **keys})


def test_clouds_keep_the_mean_and_come_in_runs() -> None:
    """Mean 1, the standard deviation asked for, correlation 0.5 from day to day."""
    factor = cloud_factor(panel(), 4000, sd=0.5)[:, ::5]  # one draw of each weather
    # 180 days × 800 weathers, correlated: standard error of the mean about 0.5·√3/√144000 = 0.002.
    assert_allclose(factor.mean(), 1.0, atol=0.01)
    assert_allclose(factor.std(), 0.5, atol=0.02)
    log = np.log(factor)
    log -= log.mean()
    assert_allclose((log[1:] * log[:-1]).mean() / (log**2).mean(), 0.5, atol=0.02)


def test_draws_of_one_weather_share_their_clouds() -> None:
    """Five vehicles in one place see the same sky."""
    factor = cloud_factor(panel(), 100, sd=0.5)
    assert (factor[:, 0] == factor[:, 4]).all()
    assert (factor[:, 0] != factor[:, 5]).any()


def test_shade_and_tilt_change_the_current() -> None:
    """Half in the shade is half the current; in December a steep panel brings more."""
    flat, shaded, steep = panel().solar, panel(shading=0.5).solar, panel(tilt_deg=60.0).solar
    assert flat is not None
    assert shaded is not None
    assert steep is not None
    assert_allclose(shaded.charging_a, 0.5 * flat.charging_a)
    assert steep.charging_a[15] > 1.3 * flat.charging_a[15]


def test_clouds_widen_the_range_and_leave_the_mean() -> None:
    """The course of the case's own values is the same; the low end in spring spreads."""
    cases = [
        case_of(BASE, solar={"panel_w": 8.0}, uncertainty={"cloud_sd": sd}) for sd in (0.0, 1.0)
    ]
    assert_allclose(*(nominal_stand(case).trace.charge for case in cases))
    clear, cloudy = (park(case) for case in cases)
    assert not np.array_equal(cloudy.course.charge_low, clear.course.charge_low)
