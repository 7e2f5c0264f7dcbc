"""What consumers draw while driving, by hand: load less what the alternator gives."""

from typing import Any

import pytest

from drainsim.answers.driving.charge_left import nominal_weeks
from drainsim.physics.alternator import DRIVING_SHARE
from drainsim.simulation.driving.week import DrivingBalance
from tests.build import MUST_SHOW, case_of

# One trip of an hour at idle each week; an alternator that gives 20 A there.
ONE_TRIP: dict[str, Any] = {
    "trips": [{"start": "08:00", "minutes": 60, "idle_share": 1.0}],
    "weeks": 1,
    "alternator_a": 40,
    "alternator_idle_share": 0.5,
}


def driven(temperature_c: float, **pattern: Any) -> DrivingBalance:
    """Return the balance of the week."""
    case = case_of(
        MUST_SHOW, site={"temperature_c": temperature_c}, pattern={**ONE_TRIP, **pattern}
    )
    return nominal_weeks([case]).balance[-1]


@pytest.mark.parametrize(("load_a", "drawn_ah"), [(15.0, 0.0), (22.0, 2.0), (26.0, 6.0)])
def test_what_the_alternator_cannot_cover_comes_out_of_the_battery(
    load_a: float, drawn_ah: float
) -> None:
    """Load less 20 A for an hour, all of it: Kirchhoff's current law."""
    trips = len(case_of(MUST_SHOW, pattern={**ONE_TRIP}).pattern.trips)  # type: ignore[union-attr]
    balance = driven(20.0, load_a=load_a)
    assert balance.drawn_driving[0] == pytest.approx(trips * drawn_ah, abs=1e-9)
    assert (balance.charged[0] > 0.0) == (drawn_ah == 0.0)


def test_heated_screens_are_on_below_three_degrees_only() -> None:
    """In frost they are a load like any other, in spring none."""
    trips = len(case_of(MUST_SHOW, pattern={**ONE_TRIP}).pattern.trips)  # type: ignore[union-attr]
    cold = driven(0.0, load_a=18.0, heated_screens_a=6.0)
    assert cold.drawn_driving[0] == pytest.approx(trips * 4.0)  # 18 + 6 - 20 A for an hour
    mild = driven(5.0, load_a=18.0, heated_screens_a=6.0)
    assert mild.drawn_driving[0] == 0.0
    without = driven(5.0, load_a=18.0)
    assert mild.charged[0] == without.charged[0] > 0.0


def test_a_trip_partly_at_idle_draws_and_charges_by_its_parts() -> None:
    """A quarter of an hour at idle lacks 10 A, the rest lacks what the full output leaves."""
    trips = [{"start": "08:00", "minutes": 60, "idle_share": 0.25, "days": "Wed"}]
    for load_a in (30.0, 50.0):
        moving_a = max(load_a - 40.0 * DRIVING_SHARE, 0.0)
        wanted_ah = 0.25 * (load_a - 20.0) + 0.75 * moving_a
        balance = driven(20.0, trips=trips, load_a=load_a)
        assert balance.drawn_driving[0] == pytest.approx(wanted_ah, rel=1e-6)


def test_a_small_alternator_fills_a_low_battery_with_all_it_has_to_spare() -> None:
    """10 A, half of it at idle: a battery at 30 % takes all that a load of 2 A leaves."""
    trips = [{"start": "08:00", "minutes": 60, "idle_share": 0.25, "days": "Wed"}]
    case = case_of(
        MUST_SHOW,
        battery={"state_of_charge": 0.3},
        site={"temperature_c": 20.0},
        pattern={**ONE_TRIP, "trips": trips, "alternator_a": 10, "load_a": 2.0},
    )
    spare_ah = 0.25 * (5.0 - 2.0) + 0.75 * (10.0 * DRIVING_SHARE - 2.0)
    assert nominal_weeks([case]).balance[-1].charged[0] == pytest.approx(spare_ah, rel=1e-6)
