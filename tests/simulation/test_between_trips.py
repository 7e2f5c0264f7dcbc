"""Chargers between trips: charge balances, they help and never hurt, each where it counts."""

import datetime as dt
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.driving.before_parking import drawn_weeks
from drainsim.answers.driving.charge_left import nominal_weeks
from drainsim.answers.driving.week import week
from drainsim.answers.standing.park import park
from drainsim.vehicle.case import Case
from tests.build import MUST_SHOW, case_of, nominal_stand

UNCHARGED = {  # the driving says how full it is
    **MUST_SHOW,
    "battery": {k: v for k, v in MUST_SHOW["battery"].items() if k != "state_of_charge"},
}
LITTLE = {"trips_per_week": 4, "trip_minutes": 8, "heated_screens_a": 20, "weeks": 20}
CHARGERS: dict[str, dict[str, Any]] = {
    "solar": {"panel_w": 10.0},
    "maintainer": {"between_trips": "yes", "hours_per_day": 10.0},
    "top_up": {},
}


def driven(**changes: Any) -> Case:
    """Return a vehicle driven a little through an autumn and winter, parked in March."""
    kind = "electric" if "top_up" in changes else "engine"
    return case_of(
        {**UNCHARGED, "site": {}, "unit": {"preset": "hourly"}},
        site={"climate": "temperate", "parked_from": dt.date(2026, 3, 1)},
        vehicle={"kind": kind},
        pattern=LITTLE,
        **changes,
    )


def without(charger: str) -> Case:
    """Return the same vehicle without the charger."""
    return driven(top_up={"minutes": 0.1, "current_a": 0.1}) if charger == "top_up" else driven()


@pytest.mark.parametrize("charger", CHARGERS)
def test_a_charger_between_trips_helps_and_the_books_close(charger: str) -> None:
    """What it brings has a name of its own and closes to 1e-9 (model.md); the charge is higher."""
    case = driven(**{charger: CHARGERS[charger]})
    for weeks in (nominal_weeks([case]), drawn_weeks(case, 100)):
        assert np.abs(weeks.start_ah + weeks.balance[-1].net_ah() - weeks.left_ah).max() < 1e-9
        assert (weeks.balance[-1].charged_parked > 0.0).all()
    bare = nominal_weeks([without(charger)])
    assert nominal_weeks([case]).charge[-1, 0] > bare.charge[-1, 0] + 0.02


def test_a_maintainer_counts_between_trips_only_where_it_is_said() -> None:
    """Without `between_trips` the weeks are as if there was none, and the answer says so."""
    plain, fitted = driven(), driven(maintainer={})
    assert_allclose(nominal_weeks([fitted]).charge, nominal_weeks([plain]).charge)
    assert any("maintainer.between_trips" in warning for warning in week(fitted).warnings)
    nightly = week(driven(maintainer={"between_trips": "yes"}))
    assert not any("maintainer.between_trips" in warning for warning in nightly.warnings)


def test_between_trips_it_is_plugged_in_from_the_first_day_whenever_the_stand_s_is() -> None:
    """The days until a maintainer is connected are those of the stand alone."""
    pattern = driven(maintainer={"between_trips": "yes", "from_day": 9.0}).pattern
    assert pattern is not None
    assert pattern.maintainer is not None
    assert (pattern.maintainer.charging_a > 0.0).all()


def test_a_maker_that_stops_top_ups_within_the_longest_gap_gives_none_in_the_weeks() -> None:
    """Four trips from Monday to Friday leave three days; stopped after two, they do not count."""
    stopped = driven(top_up={"suspended_after_days": 2})
    going_on = driven(top_up={"suspended_after_days": 5})
    assert nominal_weeks([stopped]).balance[-1].charged_parked[0] == 0.0
    assert nominal_weeks([going_on]).balance[-1].charged_parked[0] > 0.0


def test_the_charge_at_parking_knows_the_panel() -> None:
    """A stand after weeks under a panel begins with more charge."""
    sunny = park(driven(solar={"panel_w": 20.0})).case.battery.state_of_charge
    assert sunny > park(driven()).case.battery.state_of_charge + 0.02


@pytest.mark.parametrize(
    ("charger", "kind"),
    [({"maintainer": {"current_a": 0.1}}, "engine"), ({"top_up": {}}, "electric")],
)
def test_a_charger_s_spread_widens_the_range(charger: dict[str, Any], kind: str) -> None:
    """With `charger_sigma` the draws differ in what they are given; the case itself does not."""
    base = {**MUST_SHOW, "site": {"temperature_c": 10.0}, "vehicle": {"kind": kind}, **charger}
    cases = [case_of(base, uncertainty={"charger_sigma": sigma}) for sigma in (0.0, 1.0)]
    assert_allclose(*(nominal_stand(case).trace.charge for case in cases))
    sure, unsure = (park(case) for case in cases)
    assert unsure.course.charge_low[-1] < sure.course.charge_low[-1]
