"""Stands run together are the stands run alone."""

import datetime as dt
from typing import Any

import numpy as np
import pytest

from drainsim.answers.standing.park import run_draws
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.batch import stands_of
from drainsim.answers.storage.searching.limits import binding_limit
from drainsim.simulation.battery_curves import curves_of
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict


def case(days: int = 40, **tables: dict[str, Any]) -> Case:
    """Return an invented case with whole tables changed."""
    base: dict[str, Any] = {
        "battery": {"capacity_ah": 60, "state_of_charge": 0.8},
        "unit": {"preset": "hourly"},
        "site": {"climate": "continental", "parked_from": dt.date(2026, 12, 1)},
        "run": {"draws": 150, "horizon_days": days},
    }
    return resolve(scenario_from_dict({**base, **tables}))


def test_each_case_keeps_its_own_draws_and_weather() -> None:
    """Panel, ladder, faster drain, shorter stand, trailer: the numbers of one run each."""
    cases = [
        case(),
        case(solar={"panel_w": 20.0}),
        case(unit={"preset": "hourly_with_ladder"}),
        case(vehicle={"quiescent_a": 0.4}),
        case(days=12),
        case(
            days=150,
            vehicle={"kind": "trailer"},
            battery={"capacity_ah": 40, "state_of_charge": 0.5},
        ),
        case(site={"climate": "marine", "parked_from": dt.date(2026, 12, 1)}),
    ]
    together = stands_of(cases)
    risks = set()
    for one, stand in zip(cases, together, strict=True):
        alone = run_draws(one, curves_of(one))
        np.testing.assert_array_equal(stand.no_start_daily, alone.no_start_daily)
        # Times within a block are interpolated; the order of sums may differ.
        np.testing.assert_allclose(stand.no_start_h, alone.no_start_h, rtol=1e-9)
        risks.add(float(alone.no_start_daily[-1].mean()))
    assert len(risks) > 3  # the cases do differ


def test_nothing_to_run_is_no_error() -> None:
    """A way that is left out leaves an empty list."""
    assert stands_of([]) == []


@pytest.mark.parametrize(
    ("key", "tables"),
    [
        ("vehicle", {"vehicle": {"quiescent_a": 0.08}}),
        ("unit", {"vehicle": {"quiescent_a": 0.005}, "unit": {"preset": "live"}}),
        ("vehicle", {"vehicle": {"quiescent_a": 0.08}, "solar": {"panel_w": 5.0}}),
        (
            "cold",  # hardly anything drawn, parked in October, failing in January
            {
                "battery": {"capacity_ah": 60, "state_of_charge": 1.0, "age_years": 5.0},
                "vehicle": {"quiescent_a": 0.001, "engine_litres": 2.0, "fuel": "diesel"},
                "unit": {"preset": "daily"},
                "site": {"climate": "continental", "parked_from": dt.date(2026, 10, 15)},
            },
        ),
        (
            "cranking_at_parking",
            {
                "battery": {"capacity_ah": 36, "age_years": 8.0, "state_of_charge": 0.5},
                "vehicle": {"engine_litres": 4.0, "fuel": "diesel"},
            },
        ),
    ],
)
def test_the_limit_is_the_same_from_a_shared_run(key: str, tables: dict[str, Any]) -> None:
    """What is in the way, found from a run shared with others, is what a run alone says."""
    base: dict[str, Any] = {
        "battery": {"capacity_ah": 60, "state_of_charge": 0.9},
        "unit": {"preset": "hourly"},
        "site": {"climate": "marine", "parked_from": dt.date(2026, 6, 1)},
        "run": {"draws": 150},
    }
    asked = StandQuestion(scenario=scenario_from_dict({**base, **tables}), days=100)
    drawn = stands_of([case(), asked.case()])[1]
    shared, alone = binding_limit(asked, stand=drawn), binding_limit(asked)
    assert shared.key == alone.key == key
    assert shared.percent == pytest.approx(alone.percent, rel=1e-9)
    assert binding_limit(asked, stand=asked.stand()) == alone
