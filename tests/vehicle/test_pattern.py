"""Patterns of driving and trip lists: read as written, refused in one sentence."""

import datetime as dt
import tempfile
from pathlib import Path
from typing import Any

import pytest
from numpy.testing import assert_allclose

from drainsim.errors import ScenarioError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.trips import TripHistory, read_trips
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.pattern import PATTERN, Pattern, longest_gap_h
from drainsim.vehicle.places.site import SITE
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
    for wrong in ("weekdays", "Mon-Wed-Fri"):
        with pytest.raises(ScenarioError, match="Mon-Fri"):
            days_of(wrong, "x")


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
        ({"trips": [{"start": "25:00", "minutes": 5}]}, r"trips\[1\].start.*07:30"),
        (
            {"trips": [{"start": "07:00", "minutes": 5}, {"start": "8:5", "minutes": 5}]},
            r"trips\[2\].start",
        ),
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


def trips_in(text: str) -> list[TripHistory]:
    """Return the histories of a trip list."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trips.csv"
        path.write_text(text, "utf-8")
        return read_trips(path)


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


@pytest.mark.parametrize(
    ("per_week", "starts"),
    [
        # From 7:30 to 17:30, on working days up to ten trips, else on all: our own rule.
        (5, [7.5 + 24.0 * day for day in range(5)]),
        (10, [hour + 24.0 * day for day in range(5) for hour in (7.5, 17.5)]),
        (14, [hour + 24.0 * day for day in range(7) for hour in (7.5, 17.5)]),
        (21, [hour + 24.0 * day for day in range(7) for hour in (7.5, 12.5, 17.5)]),
    ],
)
def test_equal_trips_start_evenly_over_the_day(per_week: int, starts: list[float]) -> None:
    """One in the morning, two at both ends of the day, more in between."""
    assert_allclose([trip.start_h for trip in pattern(trips_per_week=per_week).trips], starts)


def test_a_list_of_trips_is_driven_as_written() -> None:
    """Times, minutes, shares and loads of each; what is left out is the pattern's."""
    found = pattern(
        load_a=20.0,
        idle_share=0.2,
        trips=[
            {"start": "17:45", "minutes": 30, "days": "Fri"},
            {"start": "7:05", "minutes": 12, "days": "Mon", "idle_share": 0.5, "load_a": 35},
        ],
    )
    told = [(t.start_h, t.hours, t.idle_share, t.load_a) for t in found.trips]
    assert_allclose(told, [(7 + 5 / 60, 0.2, 0.5, 35.0), (4 * 24 + 17.75, 0.5, 0.2, 20.0)])
    assert found.minutes_per_week == pytest.approx(42.0)
    assert found.spelled_out() == "2 trips a week, 42 min in all"
    # Monday 7:17 to Friday 17:45, and over Sunday to Monday 7:05.
    assert_allclose(shortest_gap_h(found.trips), 24 * 7 - (4 * 24 + 18.25) + 7 + 5 / 60)
    assert_allclose(longest_gap_h(found), 4 * 24 + 17.75 - (7 + 17 / 60))
    assert longest_gap_h(pattern(trips_per_week=0, weeks=3)) == 3 * 7 * 24.0
    lone = pattern(trips=[{"start": "12:00", "minutes": 60, "days": "Wed"}])
    assert_allclose([longest_gap_h(lone), shortest_gap_h(lone.trips)], 167.0)


@pytest.mark.parametrize(
    ("start", "right"), [("23:59", True), ("24:00", False), ("12:60", False), ("0:00", True)]
)
def test_a_time_of_day_is_one(start: str, right: bool) -> None:
    """Hours to 23, minutes to 59."""
    trips = [{"start": start, "minutes": 1, "days": "Mon"}]
    if right:
        hours, minutes = start.split(":")
        assert_allclose(pattern(trips=trips).trips[0].start_h, int(hours) + int(minutes) / 60)
    else:
        with pytest.raises(ScenarioError, match="time of day"):
            pattern(trips=trips)


def test_trips_may_follow_each_other_without_a_pause_but_not_overlap() -> None:
    """60 minutes from 7:00 and the next at 8:00 fit, 61 do not; the day and time are told."""
    after = {"start": "08:00", "minutes": 5, "days": "Tue"}
    assert pattern(trips=[{"start": "07:00", "minutes": 60, "days": "Tue"}, after]).trips
    with pytest.raises(ScenarioError, match="trip on Tue at 08:00 begins"):
        pattern(trips=[{"start": "07:00", "minutes": 61, "days": "Tue"}, after])


@pytest.mark.parametrize(
    ("system", "volts", "right"),
    # What alternators are set to, 12 to 16 V for a 12 V battery: common practice, no source.
    [
        ("12V", 12.0, True),
        ("12V", 11.9, False),
        ("24V", 24.0, True),
        ("24V", 23.8, False),
        ("24V", 14.0, False),
        ("24V", 34.0, False),
    ],
)
def test_a_regulated_voltage_fits_its_system(system: str, volts: float, right: bool) -> None:
    """One battery sees half of a pair's."""
    if right:
        found = case_of(BASE, battery={"system": system}, pattern={"regulated_v": volts}).pattern
        assert found is not None
        assert found.regulated_20c_v == 12.0
    else:
        with pytest.raises(ScenarioError, match="regulated_v"):
            case_of(BASE, battery={"system": system}, pattern={"regulated_v": volts})


def test_the_weeks_of_driving_end_on_the_day_of_parking() -> None:
    """Three weeks before it begin 21 days earlier, with weather for all of them."""
    found = case_of(BASE, site={"parked_from": dt.date(2026, 12, 1)}, pattern={"weeks": 3}).pattern
    assert found is not None
    assert found.site.parked_from == dt.date(2026, 11, 10)
    assert len(found.site.battery_c) >= 21 * 24


def test_a_trip_of_a_day_is_the_longest_and_minutes_may_be_given() -> None:
    """Up to 24 h from start to end; a list may give minutes instead of an end."""
    times = "vehicle,start,end\nv,2026-11-02 08:00,2026-11-03 08:0{}\n"
    minutes = "vehicle;start;minutes\nv;2026-11-02 08:00;{}\n"
    for text, hours in (
        (times.format(0), 24.0),
        (minutes.format("1440"), 24.0),
        (minutes.format("7,5"), 0.125),
    ):
        (history,) = trips_in(text)
        assert history.minutes_per_trip == pytest.approx(60.0 * hours)
        assert history.parked_since == dt.datetime(2026, 11, 2, 8) + dt.timedelta(hours=hours)
    for text in (times.format(1), minutes.format("1441"), minutes.format("0")):
        with pytest.raises(ScenarioError, match="row 2"):
            trips_in(text)
