"""Stands run together are the stands run alone."""

import datetime as dt
from typing import Any

import numpy as np

from drainsim.answers.batch import stands_of
from drainsim.answers.park import run_draws
from drainsim.models.case import Case, resolve
from drainsim.models.scenario import scenario_from_dict
from drainsim.simulation.law import law_of


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
        alone = run_draws(one, law_of(one), trace=False)
        np.testing.assert_array_equal(stand.no_start_daily, alone.no_start_daily)
        # Times within a block are interpolated; the order of sums may differ.
        np.testing.assert_allclose(stand.no_start_h, alone.no_start_h, rtol=1e-9)
        risks.add(float(alone.no_start_daily[-1].mean()))
    assert len(risks) > 3  # the cases do differ


def test_nothing_to_run_is_no_error() -> None:
    """A way that is left out leaves an empty list."""
    assert stands_of([]) == []
