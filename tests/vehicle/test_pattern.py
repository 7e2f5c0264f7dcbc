"""Patterns of driving and trip lists: read as written, refused in one sentence."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from numpy.testing import assert_allclose

from drainsim.errors import ScenarioError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.trips import TripHistory, read_trips
from drainsim.vehicle.pattern import PATTERN, Pattern
from drainsim.vehicle.scenario import scenario_from_dict
from drainsim.vehicle.site import SITE
from drainsim.vehicle.trip import days_of, shortest_gap_h
from tests.build import MUST_SHOW, case_of

BASE: dict[str, Any] = {**MUST_SHOW, "site": {"climate": "temperate"}}


def pattern(**keys: Any) -> Pattern:
    """Return the pattern of a case."""
    found = case_of(BASE, pattern=keys).pattern
    assert found is not None
    return found


def test_days_are_read_as_people_write_them() -> None:
    """Daily, ranges over the week's end and lists."""
    assert days_of("daily", "x") == [0, 1, 2, 3, 4, 5, 6]
    assert days_of("Mon-Fri", "x") == [0, 1, 2, 3, 4]
    assert days_of("Sat-Mon", "x") == [0, 5, 6]
    assert days_of("wednesday, Sun", "x") == [2, 6]
    with pytest.raises(ScenarioError, match="Mon-Fri"):
        days_of("weekdays", "x")


@pytest.mark.parametrize(("per_week", "days"), [(1, 1), (5, 5), (10, 5), (14, 7), (3.5, 4), (0, 0)])
def test_trips_are_spread_and_minutes_kept(per_week: float, days: int) -> None:
    """So many trips on so many days, and the week's minutes as given."""
    found = pattern(trips_per_week=per_week, trip_minutes=12.0)
    assert len({int(trip.start_h // 24) for trip in found.trips}) == days
    assert_allclose(found.minutes_per_week, 12.0 * per_week)


def test_a_pattern_at_24_v_is_that_of_one_battery() -> None:
    """Voltages halve, amperes stay."""
    found = case_of(BASE, battery={"system": "24V"}, pattern={"regulated_v": 28.4}).pattern
    assert found is not None
    assert_allclose(found.regulated_20c_v, 14.2)
    assert found.alternator_a == 90.0


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"trips": [{"start": "7 am", "minutes": 5}]}, "07:30"),
        ({"trips": [{"start": "25:00", "minutes": 5}]}, "07:30"),
        ({"trips": [{"start": "07:00", "minutes": 90}, {"start": "08:00", "minutes": 5}]}, "ended"),
        (
            {
                "trips": [
                    {"start": "23:00", "minutes": 120, "days": "Sun"},
                    {"start": "00:30", "minutes": 5, "days": "Mon"},
                ]
            },
            "ended",
        ),
        ({"trips": [{"start": "07:00", "minutes": 5}], "trips_per_week": 3}, "keep one"),
        ({"trips_per_week": 100, "trip_minutes": 200}, "168"),
        ({"regulated_v": 28.0}, "regulated_v"),
    ],
)
def test_a_pattern_that_cannot_be_driven_is_refused(keys: dict[str, Any], words: str) -> None:
    """One sentence that says what is wrong."""
    with pytest.raises(ScenarioError, match=words):
        pattern(**keys)


def test_weather_before_parking_is_asked_for_where_a_file_is_too_short(tmp_path: Path) -> None:
    """A CSV that begins at parking cannot say how cold the driving weeks were."""
    rows = "\n".join(f"2026-12-01 {h:02d}:00,1.0" for h in range(24))
    rows += "\n" + "\n".join(
        f"2026-12-{d:02d} {h:02d}:00,1.0" for d in range(2, 30) for h in range(24)
    )
    (tmp_path / "short.csv").write_text("time,temperature_c\n" + rows, "utf-8")
    tables = {
        "battery": {},
        "site": {"hourly_csv": "short.csv"},
        "run": {"horizon_days": 20},
        "pattern": {},
    }
    with pytest.raises(ScenarioError, match="weeks before parking"):
        resolve(scenario_from_dict(tables, folder=tmp_path))


def test_shortest_gap_runs_over_the_end_of_the_week() -> None:
    """The gap after the last trip of the week counts."""
    found = pattern(
        trips=[
            {"start": "23:00", "minutes": 30, "days": "Sun"},
            {"start": "01:00", "minutes": 30, "days": "Mon"},
        ]
    )
    assert_allclose(shortest_gap_h(found.trips), 1.5)


TRIPS = """vehicle,start,end
van 2,2026-11-02 08:00,2026-11-02 08:30
van 1,2026-11-02 07:30,2026-11-02 07:50
van 1,2026-11-16 17:00,2026-11-16 17:40
van 1,2026-11-09 07:30,2026-11-09 08:00
"""


def test_a_trip_list_says_since_when_and_how_often(tmp_path: Path) -> None:
    """Parked since the last trip's end; trips a week over the weeks seen."""
    path = tmp_path / "trips.csv"
    path.write_text(TRIPS, "utf-8")
    first, second = read_trips(path)
    assert first.vehicle == "van 1"
    assert first.parked_since.isoformat() == "2026-11-16T17:40:00"
    # 3 trips from 2 November 07:30 to 16 November 17:40: 14.42 days; 90 min in all.
    assert_allclose(first.trips_per_week, 3.0 / (14.0 + 10.0 / 24 + 10.0 / 1440) * 7.0, rtol=1e-4)
    assert_allclose(first.minutes_per_trip, 30.0)
    assert second.trips_per_week == 1.0  # one trip says nothing about less than a week
    scenario = second.applied_to(scenario_from_dict(BASE))
    assert scenario.get(SITE.parked_from).isoformat() == "2026-11-02"
    assert scenario.get(PATTERN.trip_minutes) == 30.0


def test_many_short_trips_keep_the_time_they_are_driven() -> None:
    """Above the 200 trips a week a pattern can hold, the minutes a week stay what they were."""
    history = TripHistory(
        vehicle="van",
        trips=400,
        parked_since=dt.datetime(2026, 11, 16, 17, 40),
        trips_per_week=400.0,
        minutes_per_trip=3.0,
    )
    scenario = history.applied_to(scenario_from_dict(BASE))
    assert scenario.get(PATTERN.trips_per_week) == 200.0
    assert_allclose(scenario.get(PATTERN.trip_minutes), 6.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("vehicle,start\nv,2026-11-02 08:00\n", "minutes"),
        ("vehicle,start,end\n", "no trips"),
        ("vehicle,start,end\nv,yesterday,2026-11-02 08:00\n", "row 2, column start"),
        ("vehicle,start,end\nv,2026-11-02 08:00,2026-11-02 07:00\n", "row 2"),
        ("vehicle,start,minutes\nv,2026-11-02 08:00,long\n", "minutes"),
        ("vehicle,start,end\n,2026-11-02 08:00,2026-11-02 09:00\n", "empty"),
        (
            "vehicle,start,end\nv,2026-11-02 08:00,2026-11-02 09:00\n"
            "v,2026-11-02 08:30,2026-11-02 09:30\n",
            "before the one before",
        ),
    ],
)
def test_a_trip_list_that_cannot_be_read_is_refused(tmp_path: Path, text: str, words: str) -> None:
    """Row and column are named."""
    path = tmp_path / "trips.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(ScenarioError, match=words):
        read_trips(path)
