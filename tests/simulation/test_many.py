"""Many cases at once give each case what it gets alone."""

import datetime as dt

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.answers.fleet.answer import in_run_order
from drainsim.answers.standing.park import run_draws
from drainsim.simulation import many
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.many import run_cases
from drainsim.vehicle.case import Case, resolve
from tests.build import case_of
from tests.fleet_build import MIXED, TODAY, fleet_of


def cases() -> list[Case]:
    """Return unlike cases: one with a maintainer, one kept cold, two of other oil and heated."""
    fleet = fleet_of(MIXED)
    scenarios = [vehicle.scenario for vehicle in in_run_order(fleet.vehicles)]
    maintained = scenarios[0].with_table("other", [{"name": "maintainer", "current_a": -1.0}])
    frozen = scenarios[1].with_values({"battery.state_of_charge": 0.2, "site.temperature_c": -25.0})
    frozen = frozen.with_values({"battery.resting_voltage_v": None, "site.climate": None})
    cold = {"site.temperature_c": -22.0, "site.climate": None}
    thick = scenarios[0].with_values({**cold, "vehicle.oil_grade": "15W-40"})
    heated = thick.with_values({"vehicle.block_heater_k": 20.0, "vehicle.battery_heater_k": 10.0})
    return [resolve(s) for s in (*scenarios, maintained, frozen, thick, heated)]


@pytest.mark.parametrize("most_lanes", [20_000, 300, 100])
def test_a_case_among_many_gets_what_it_gets_alone(
    monkeypatch: pytest.MonkeyPatch, most_lanes: int
) -> None:
    """Times, daily failures and balances agree, however the cases are cut into runs."""
    monkeypatch.setattr(many, "MOST_LANES", most_lanes)
    group = cases()
    found = dict(run_cases(group))
    assert sorted(found) == list(range(len(group)))
    for number, case in enumerate(group):
        curves = curves_of(case)
        alone, among = run_draws(case, curves), found[number]
        assert_array_equal(among.no_start_daily, alone.no_start_daily)
        # rtol: sums are taken in another order; hours are read off block ends and crossings.
        for name in ("no_start_h", "half_charge_h", "freezing_h"):
            assert_allclose(getattr(among, name), getattr(alone, name), rtol=1e-9, err_msg=name)


def test_asked_for_mornings_only_the_same_starts_fail() -> None:
    """Frozen, charged and laddered ones too; nothing else is made up."""
    group = cases()
    whole, mornings = dict(run_cases(group)), dict(run_cases(group, mornings_only=True))
    for number, stand in whole.items():
        assert_array_equal(mornings[number].no_start_daily, stand.no_start_daily)
        assert np.isnan(mornings[number].no_start_h).all()


def test_a_trailer_among_many_is_followed_until_its_unit_is_silent() -> None:
    """Below the charge that could turn an engine its lanes go on, as they do alone."""
    trailer = case_of(
        {
            "battery": {"capacity_ah": 40, "state_of_charge": 0.5},
            "vehicle": {"kind": "trailer"},
            "unit": {"preset": "hourly"},
            "site": {"climate": "temperate", "parked_from": TODAY},
            "run": {"draws": 100, "horizon_days": 150},
        }
    )
    among = dict(run_cases([trailer, trailer], mornings_only=True))[1]
    alone = run_draws(trailer, curves_of(trailer))
    assert_allclose(among.no_start_h, alone.no_start_h, rtol=1e-9)
    assert 0.05 < among.no_start_daily[-1].mean() < 0.95


def test_every_failing_day_of_the_mixed_list_is_worth_comparing() -> None:
    """The comparison above is not one of empty tables: some fail, some do not, some freeze."""
    found = dict(run_cases(cases()))
    shares = [stand.no_start_daily.mean() for stand in found.values()]
    assert min(shares) < 0.05
    assert max(shares) > 0.9
    assert any(np.isfinite(stand.freezing_h).any() for stand in found.values())


def test_the_snapshot_is_the_charge_of_that_day() -> None:
    """It falls with time, and is the parking charge for a vehicle parked later."""
    group = cases()
    early, today, late = (
        dict(run_cases(group, snapshot=TODAY + dt.timedelta(days=d))) for d in (-5, 0, 5)
    )
    for number, case in enumerate(group[:-4]):
        means = [kept[number].snapshot_charge.mean() for kept in (early, today, late)]
        if case.site.parked_from > TODAY + dt.timedelta(days=5):
            assert means[0] == means[1] == means[2]
        else:
            assert means[0] >= means[1] > means[2]
