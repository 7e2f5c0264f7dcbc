"""The weekly answer: seasons, more driving, and the charge a stand begins with."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.driving.before_parking import drawn_weeks, parked_from_pattern
from drainsim.answers.driving.week import week
from drainsim.answers.driving.week_words import week_verdict
from drainsim.answers.standing.park import park
from drainsim.cli import main
from drainsim.errors import ScenarioError
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.build import MUST_SHOW, case_of, tables_with

BASE: dict[str, Any] = {
    **MUST_SHOW,
    "battery": {"capacity_ah": 60, "cold_cranking_a": 540},
    "site": {"climate": "temperate"},
    "unit": {"preset": "hourly"},
}
LITTLE = {"trips_per_week": 2, "trip_minutes": 30}


def test_winter_is_the_lowest_season_and_summer_the_highest() -> None:
    """Charge follows temperature through the seasons; each balance is the change of charge."""
    answer = week(case_of(BASE, pattern=LITTLE))
    assert answer.seasons[0].name == "December to February"
    assert answer.seasons[-1].name == "June to August"
    assert answer.seasons[0].charge < answer.seasons[-1].charge
    for season in answer.seasons:
        assert season.low_lowest_charge <= season.lowest_charge <= season.charge
        assert season.balance.efficiency_loss > 0.0
    assert answer.lowest_day.month in {12, 1, 2, 3}
    drawn = drawn_weeks(answer.case, 200)
    assert_allclose(answer.net_ah.sum(), (drawn.left_ah - drawn.start_ah).mean())
    assert_allclose(answer.charge, np.median(drawn.charge, axis=1), rtol=1e-12)
    assert answer.parked_charge == np.median(drawn.parked_charge)


def test_more_driving_is_the_least_that_keeps_the_target() -> None:
    """With the minutes said the lowest week is at the target, with a tenth less it is not."""
    case = case_of(BASE, pattern=LITTLE)
    answer = week(case)
    extra = answer.extra_minutes_per_week
    assert extra is not None
    assert 0.0 < extra < answer.longest_extra_tried
    lowest = [
        np.median(drawn.lowest_charge[-52:].min(axis=0))
        for minutes in (0.9 * extra, extra)
        for drawn in [drawn_weeks(case, 200, extra_minutes_per_week=minutes)]
    ]
    assert lowest[0] < 0.8 <= lowest[1] < 0.805
    assert week(case_of(BASE, pattern={**LITTLE, "target_charge": 0.5})).extra_minutes_per_week == 0


def test_where_no_driving_helps_it_says_why() -> None:
    """Loads above what the alternator gives are named as the limit."""
    hopeless = {"trips_per_week": 10, "trip_minutes": 20, "load_a": 200}
    answer = week(case_of(BASE, pattern=hopeless))
    assert answer.extra_minutes_per_week is None
    assert "ask for more than the alternator" in answer.limited_by
    assert "fails in week" in week_verdict(answer)
    parked = week(case_of(BASE, pattern={"trips_per_week": 0, "weeks": 20}))
    assert parked.limited_by == "no driving at all"
    assert parked.extra_minutes_per_week is None


def test_a_stand_begins_with_the_charge_the_driving_leaves() -> None:
    """The pattern replaces the assumed 85 %; little driving shortens the stand."""
    much = park(case_of(BASE, pattern={"trips_per_week": 14, "trip_minutes": 60}))
    little = park(case_of(BASE, pattern=LITTLE))
    assert much.case.battery.state_of_charge > 0.9 > little.case.battery.state_of_charge
    assert much.days_to_no_start.p50 is not None
    assert little.days_to_no_start.p50 is not None
    assert little.days_to_no_start.p50 < much.days_to_no_start.p50
    (noted,) = [a for a in little.case.assumptions if a.name == "battery.state_of_charge"]
    assert noted.origin == "estimated"
    assert "2 trips a week" in noted.source
    settled = parked_from_pattern(little.case)
    assert settled is little.case  # asked once, not over and over


def test_a_charge_that_was_given_is_not_overruled() -> None:
    """A measured or stated charge wins over the pattern."""
    case = case_of(BASE, battery={"state_of_charge": 0.6}, pattern=LITTLE)
    assert parked_from_pattern(case) is case


def test_the_same_seed_gives_the_same_answer() -> None:
    """Two runs of a case agree to the last digit."""
    case = case_of(BASE, pattern={**LITTLE, "weeks": 12})
    assert week(case).as_dict() == week(case).as_dict()


def test_a_scenario_without_a_pattern_is_told_what_to_add() -> None:
    """One sentence, not a traceback."""
    with pytest.raises(ScenarioError, match=r"\[pattern\]"):
        week(case_of(BASE))


def test_the_scenario_goes_through_toml_and_back() -> None:
    """Trips, top-ups and maintainers survive writing and reading."""
    from drainsim.vehicle.keys.scenario import scenario_from_text

    tables = tables_with(
        BASE,
        vehicle={"kind": "electric"},
        pattern={"trips": [{"days": "Mon-Fri", "start": "07:30", "minutes": 20}]},
        top_up={"every_h": 24},
        maintainer={"current_a": 2.0},
    )
    scenario = scenario_from_dict(tables)
    again = scenario_from_text(scenario.to_toml(), where="again")
    assert again.tables == scenario.tables


def written(tmp_path: Path, **changes: Any) -> Path:
    """Write a scenario file."""
    path = tmp_path / "scenario.toml"
    path.write_text(scenario_from_dict(tables_with(BASE, **changes)).to_toml(), "utf-8")
    return path


def test_the_command_line_prints_the_same_numbers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """JSON is the answer's own dictionary; words carry its verdict; CSV has a row a week."""
    path = written(tmp_path, pattern=LITTLE)
    answer = week(case_of(BASE, pattern=LITTLE))
    assert main(["week", str(path), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["charge"] == answer.as_dict()["charge"]
    assert document["extra_minutes_per_week"] == answer.extra_minutes_per_week
    assert main(["week", str(path), "--csv", str(tmp_path / "weeks.csv")]) == 0
    assert week_verdict(answer) in capsys.readouterr().out
    rows = (tmp_path / "weeks.csv").read_text("utf-8").splitlines()
    assert len(rows) == len(answer.day) + 1


def test_a_trip_list_answers_for_each_vehicle(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each vehicle stands since its own last trip with its own charge."""
    path = written(tmp_path, run={"draws": 100})
    trips = tmp_path / "trips.csv"
    trips.write_text(
        "vehicle,start,minutes\nbusy,2026-11-02 08:00,50\nbusy,2026-11-02 17:00,50\n"
        + "".join(f"busy,2026-11-{day:02d} 08:00,50\n" for day in range(3, 9))
        + "idle,2026-11-02 08:00,6\n",
        "utf-8",
    )
    assert main(["week", str(path), "--trips", str(trips), "--json"]) == 0
    busy, idle = json.loads(capsys.readouterr().out)["vehicles"]
    assert busy["vehicle"] == "busy"
    assert busy["parked_since"] == "2026-11-08T08:50"
    assert idle["park"]["days_to_no_start"]["nominal"] < busy["park"]["days_to_no_start"]["nominal"]
    assert main(["week", str(path), "--trips", str(tmp_path / "none.csv")]) == 2
    assert "no such file" in capsys.readouterr().err
