"""A panel in the stand: the charge balance closes, the season counts, the cold stops lithium."""

import datetime as dt

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.standing.park import run_draws
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.many import run_cases
from drainsim.vehicle.case import Case
from tests.build import case_of, nominal_stand

BASE = {
    "battery": {"capacity_ah": 60, "cold_cranking_a": 540, "state_of_charge": 0.8},
    "vehicle": {"quiescent_a": 0.03, "engine_litres": 2.0},
    "site": {"climate": "temperate"},
    "run": {"draws": 100, "horizon_days": 120},
}


def _left_ah(case: Case, *, step_h: float | None = None) -> float:
    return float(nominal_stand(case, step_h=step_h).balance.left_ah[0])


@pytest.mark.parametrize("panel_w", [1.0, 10.0, 80.0])
def test_books_close_with_a_panel(panel_w: float) -> None:
    """Start = drawn + lost + refused + left, also while charge comes in and some is refused."""
    case = case_of(BASE, solar={"panel_w": panel_w})
    balance = nominal_stand(case).balance
    parts = [
        float(getattr(balance, f"{name}_ah")[0])
        for name in ("vehicle", "unit", "other", "lost", "refused", "left")
    ]
    start_ah = case.battery.state_of_charge * case.battery.full_charge_ah
    assert_allclose(sum(parts), start_ah, rtol=1e-9)  # model.md: the balance closes to 1e-9


def test_a_full_battery_takes_no_more() -> None:
    """A large panel in summer fills the battery and the rest is refused."""
    case = case_of(BASE, site={"climate": "mediterranean"}, solar={"panel_w": 100.0})
    balance = nominal_stand(case).balance
    assert balance.refused_ah[0] > 10.0
    assert balance.left_ah[0] <= case.battery.full_charge_ah * (1.0 + 1e-12)


def test_no_panel_and_a_panel_of_no_watts_are_the_same() -> None:
    """An empty [solar] table changes nothing."""
    assert _left_ah(case_of(BASE)) == _left_ah(case_of(BASE, solar={"panel_w": 0.0}))


def test_more_watts_never_leave_less_charge() -> None:
    """Charge left grows with the panel."""
    left = [_left_ah(case_of(BASE, solar={"panel_w": watts})) for watts in (1, 3, 10, 30, 100)]
    assert left == sorted(left)
    assert left[-1] > left[0]


def test_the_season_decides_what_a_panel_brings() -> None:
    """The same panel holds the charge from May on and loses it from November on."""
    summer = case_of(
        BASE, site={"climate": "temperate", "parked_from": _date(5)}, solar={"panel_w": 10.0}
    )
    winter = case_of(
        BASE, site={"climate": "temperate", "parked_from": _date(11)}, solar={"panel_w": 10.0}
    )
    start_ah = summer.battery.state_of_charge * summer.battery.full_charge_ah
    assert _left_ah(summer) > start_ah
    assert _left_ah(winter) < 0.5 * start_ah


def test_halving_the_step_barely_moves_the_charge() -> None:
    """The charging current is a daily mean, so the block does not matter."""
    case = case_of(BASE, solar={"panel_w": 10.0})
    # atol 1e-3 Ah: only the refusal at full and self-discharge within a block differ.
    assert _left_ah(case, step_h=12.0) == pytest.approx(_left_ah(case, step_h=24.0), abs=1e-3)


def test_lithium_takes_no_charge_below_its_limit() -> None:
    """A panel beside a frozen-cold lithium battery brings nothing at all."""
    lithium = {
        "battery": {
            "profile": "lithium_iron_phosphate_12v",
            "capacity_ah": 60,
            "state_of_charge": 0.8,
        },
        "vehicle": BASE["vehicle"],
        "site": {"temperature_c": -10.0},
        "run": BASE["run"],
    }
    solar = {"panel_w": 50.0, "latitude_deg": 40.0}
    without = _left_ah(case_of(lithium))
    assert _left_ah(case_of(lithium, solar=solar)) == without
    assert _left_ah(case_of(lithium, solar=solar, site={"temperature_c": 10.0})) > without


def test_a_flat_vehicle_recovers_in_the_sun() -> None:
    """A lane that has failed stays in the run: charge may bring it back."""
    site = {"climate": "temperate", "parked_from": _date(12)}
    run = {"draws": 100, "horizon_days": 240}
    case = case_of(BASE, site=site, solar={"panel_w": 20.0}, run=run, vehicle={"quiescent_a": 0.06})
    daily = nominal_stand(case, trace=False).no_start_daily[:, 0]
    assert daily.any()
    assert not daily[-1]
    assert np.flatnonzero(daily)[0] > 0


def _date(month: int) -> dt.date:
    return dt.date(2026, month, 1)


def test_a_fleet_run_gives_each_vehicle_its_own_sun() -> None:
    """Vehicles run together, with and without panel and parked on other days, stay themselves."""
    end = dt.date(2027, 4, 1)
    cases = []
    for day, watts in ((dt.date(2026, 10, 1), 10.0), (dt.date(2026, 12, 1), 0.0), (end, 20.0)):
        parked = min(day, dt.date(2027, 2, 1))
        run = {"draws": 100, "horizon_days": (end - parked).days}
        site = {"climate": "temperate", "parked_from": parked}
        cases.append(case_of(BASE, site=site, solar={"panel_w": watts}, run=run))
    assert len({case.site.parked_from for case in cases}) == 3
    for number, together in run_cases(cases):
        case = cases[number]
        curves = curves_of(case)
        alone = run_draws(case, curves)
        assert_allclose(together.other_ah, alone.balance.other_ah.mean(), rtol=1e-9)
        assert (together.no_start_daily == alone.no_start_daily).all()


@pytest.mark.parametrize(
    ("latitude_deg", "december_kwh_m2"),
    # Weather service by a trade site, long-term means of 1981 to 2010: 11 kWh/m2 where the north
    # is dullest, 17 the country, 38 at the edge of the Alps. Decembers of 2021 and 2022 alike.
    [(53.5, 11.0), (51.0, 17.0), (47.5, 38.0)],
)
def test_where_the_sunshine_is_not_known_the_panel_gets_no_more_than_anywhere(
    latitude_deg: float, december_kwh_m2: float
) -> None:
    """The default is below every published mean of a December there, and is warned of."""
    site = {"temperature_c": 5.0, "parked_from": dt.date(2026, 12, 1)}
    case = case_of(
        {**BASE, "site": site},
        solar={"panel_w": 10.0, "latitude_deg": latitude_deg},
        run={"horizon_days": 31},
    )
    assert case.solar is not None
    assert case.solar.sun_h.sum() < december_kwh_m2
    assert any("sunshine of this place is not known" in warning for warning in case.warnings)


def test_a_known_sunshine_is_not_warned_of() -> None:
    """The climate's own, and the user's."""
    own = case_of(BASE, site={"climate": "temperate"}, solar={"panel_w": 10.0})
    solar = {"panel_w": 10.0, "latitude_deg": 50.0, "clear_share": 0.3}
    given = case_of({**BASE, "site": {"temperature_c": 5.0}}, solar=solar)
    for case in (own, given):
        assert not any("sunshine of this place" in warning for warning in case.warnings)
