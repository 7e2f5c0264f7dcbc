"""A separated auxiliary battery is charged by the driving, at the starting battery's cost."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.driving.before_parking import (
    drawn_weeks,
    parked_from_pattern,
    sharing_the_alternator,
)
from drainsim.answers.driving.charge_left import forget, nominal_weeks
from drainsim.answers.driving.week import week
from drainsim.answers.standing.park import park
from drainsim.errors import ScenarioError
from drainsim.vehicle.case import Case
from tests.build import case_of, days_or_inf

VAN: dict[str, Any] = {
    "battery": {"capacity_ah": 80, "system": "auxiliary", "second_capacity_ah": 90},
    "unit": {"preset": "hourly", "fed_from": "auxiliary"},
    "site": {"temperature_c": 15.0},
    "pattern": {"trips_per_week": 10, "trip_minutes": 20, "weeks": 26},
    "run": {"draws": 100},
}


def van(current_a: float = 0.02, **battery: Any) -> Case:
    """Return a van with a load on its auxiliary battery."""
    load = {"name": "cool box", "current_a": current_a, "fed_from": "auxiliary"}
    return case_of(VAN, battery=battery, other=[load])


def settled(case: Case) -> float:
    """Return the charge the driving leaves in the auxiliary battery."""
    beside = parked_from_pattern(case).auxiliary
    assert beside is not None
    return beside.battery.state_of_charge


def test_more_draw_or_less_current_never_leaves_more() -> None:
    """The charge at parking falls with the load and rises with what the cable carries."""
    by_load = [settled(van(load_a)) for load_a in (0.02, 0.2, 0.5)]
    assert by_load[0] > by_load[1] > by_load[2]
    by_cable = [settled(van(0.2, second_charging_a=amperes)) for amperes in (2.0, 10.0, 40.0)]
    assert by_cable[0] < by_cable[1] <= by_cable[2]
    assert settled(van(0.2, second_charging_drop_v=0.0)) > settled(van(0.2))


def test_the_week_of_the_auxiliary_battery_closes_its_books() -> None:
    """What it is charged with is what it loses once it has settled, to 1e-9 over all weeks."""
    beside = van().auxiliary
    assert beside is not None
    weeks = drawn_weeks(beside, 100)
    assert np.abs(weeks.start_ah + weeks.balance[-1].net_ah() - weeks.left_ah).max() < 1e-9
    assert (weeks.balance[-1].cranked == 0.0).all()
    answer = week(van())
    assert answer.auxiliary is not None
    assert_allclose(answer.auxiliary.parked_charge, np.median(weeks.parked_charge), rtol=0.005)


def test_its_current_is_one_more_load_of_the_alternator() -> None:
    """The mean current of its weeks is added to every trip, once, and said."""
    case = van(0.5)
    (shared,) = sharing_the_alternator([case])
    assert sharing_the_alternator([shared])[0] is shared
    assert case.pattern is not None
    assert shared.pattern is not None
    beside = case.auxiliary
    assert beside is not None
    charged_ah = nominal_weeks([beside]).balance[-1].charged[0]
    more_a = shared.pattern.trips[0].load_a - case.pattern.trips[0].load_a
    assert_allclose(more_a * 10 * 20 / 60 * 26, charged_ah)
    assert any(item.name == "auxiliary.charging_current" for item in shared.assumptions)
    assert nominal_weeks([shared]).charge[-1, 0] < nominal_weeks([case]).charge[-1, 0]


def test_many_share_as_each_alone() -> None:
    """Auxiliary batteries driven in one run, some alike, take what each takes alone."""
    cases = [van(0.02), van(0.5), van(0.02), van(0.3, second_capacity_ah=60)]
    alone = [sharing_the_alternator([case])[0].pattern for case in cases]
    forget()
    assert [case.pattern for case in sharing_the_alternator(cases)] == alone
    assert alone[0] == alone[2] != alone[1]


def test_the_stand_begins_with_the_settled_charge_unless_one_is_given() -> None:
    """Silence comes earlier from a half-charged auxiliary battery; a measured one is believed."""
    starved, measured = park(van(0.5)), van(0.5, second_state_of_charge=0.9)
    full = park(measured)
    assert starved.unit_silent is not None
    assert full.unit_silent is not None
    assert days_or_inf(starved.unit_silent.p50) < days_or_inf(full.unit_silent.p50)
    assert settled(measured) == 0.9
    assert any(i.name == "auxiliary.state_of_charge" for i in starved.case.assumptions)


def test_no_cable_no_charge() -> None:
    """With nothing reaching it, the driving says nothing of its charge: the default stays."""
    case = van(second_charging_a=0.0)
    assert case.auxiliary is not None
    assert case.auxiliary.pattern is None
    assert week(case).auxiliary is None


def test_a_joined_pair_has_no_charging_of_its_own() -> None:
    """One sentence, not a value silently dropped."""
    with pytest.raises(
        ScenarioError, match=r"battery\.second_charging_a .* battery\.isolator is no"
    ):
        van(isolator="no", second_charging_a=10.0)
