"""What was done is read back: the list goes on from there."""

import datetime as dt
from pathlib import Path

import pytest

from drainsim.answers.fleet.answer import answer_fleet
from drainsim.answers.fleet.done import as_of_today, with_done
from drainsim.errors import DrainsimError
from drainsim.files.fleet.marks import Mark, read_marks
from drainsim.vehicle.case import resolve
from tests.fleet_build import SETTINGS, TODAY, answer_to, fleet_of, workbook

LIST = """\
id;unit;quiescent_a;temperature_c;state_of_charge;capacity_ah;battery_age_years;parked_from
a;hourly;0,03;5;0,8;60;2;2026-11-01
b;hourly;0,03;5;0,8;60;2;2026-11-01
"""
A_WEEK_AGO = TODAY - dt.timedelta(days=7)


def mark(step: str, day: dt.date = A_WEEK_AGO, id_: str = "a") -> Mark:
    """Return one step done."""
    return Mark(where="vehicles.csv, row 2", id=id_, step=step, day=day)


def test_a_charged_vehicle_goes_on_from_full() -> None:
    """Charged a week ago: as full today as one listed full and parked then; the other as before."""
    done = with_done(fleet_of(LIST), [mark("charge_full")], SETTINGS, workers=1)
    after = {v.id: v for v in answer_fleet(done, SETTINGS, workers=1).vehicles}
    before = {v.id: v for v in answer_to(LIST).vehicles}
    full = LIST.replace(
        "a;hourly;0,03;5;0,8;60;2;2026-11-01", "a;hourly;0,03;5;0,97;60;2;2026-11-18"
    )
    listed = {v.id: v for v in answer_to(full).vehicles}
    assert after["a"].charge_today == listed["a"].charge_today
    assert after["a"].charge_today > before["a"].charge_today + 0.1
    assert after["a"].act_by is None or after["a"].act_by > before["a"].act_by
    assert (after["b"].charge_today, after["b"].act_by) == (
        before["b"].charge_today,
        before["b"].act_by,
    )
    assert any("done on 2026-11-18" in note for note in after["a"].warnings)


def test_a_setting_changes_nothing_before_its_day() -> None:
    """Slower reports since today: today's charge stays, the days left grow."""
    done = with_done(fleet_of(LIST), [mark("slower_reports", TODAY)], SETTINGS, workers=1)
    after = {v.id: v for v in answer_fleet(done, SETTINGS, workers=1).vehicles}
    before = {v.id: v for v in answer_to(LIST).vehicles}
    assert after["a"].charge_today == pytest.approx(before["a"].charge_today, abs=0.01)
    (vehicle, _) = done.vehicles
    case = resolve(vehicle.scenario)
    assert case.unit.normal_current_a < resolve(done.vehicles[1].scenario).unit.normal_current_a
    assert vehicle.starts == TODAY


def test_two_steps_and_two_days_add_up() -> None:
    """A maintainer on one day and a disconnected unit on another are both there today."""
    marks = [mark("maintainer"), mark("unit_off", TODAY), mark("shelter+unit_off", id_="b")]
    first, second = with_done(fleet_of(LIST), marks, SETTINGS, workers=1).vehicles
    assert first.scenario.has("maintainer")
    assert not first.scenario.has("unit")
    assert not second.scenario.has("unit")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (mark("charge_full", TODAY + dt.timedelta(days=1)), "is after today"),
        (mark("prayer"), "step 'prayer'"),
        (mark("charge_full", id_="z"), "'z' is not in the list"),
    ],
)
def test_what_cannot_have_been_done_is_a_sentence(wrong: Mark, says: str) -> None:
    """It names file and row."""
    with pytest.raises(DrainsimError, match=says) as error:
        with_done(fleet_of(LIST), [wrong], SETTINGS, workers=1)
    assert str(error.value).startswith("vehicles.csv, row 2: ")


def test_marks_are_read_as_people_write_them(tmp_path: Path) -> None:
    """Rows without a day are passed over; a date of a spreadsheet or with points is one."""
    path = tmp_path / "vehicles.csv"
    path.write_text(
        "id;action;step;done_on\na;charge;charge_full;18.11.2026\nb;x;unit_off;\nc;y;unit_off;2026-11-20\n"
    )
    assert [(m.id, m.step, m.day.isoformat()) for m in read_marks([path])] == [
        ("a", "charge_full", "2026-11-18"),
        ("c", "unit_off", "2026-11-20"),
    ]
    book = tmp_path / "vehicles.xlsx"
    rows = [["id", "step", "done_on"], ["a", "charge_full", dt.date(2026, 11, 18)], ["b", "", None]]
    book.write_bytes(workbook(rows))
    assert [m.day for m in read_marks([book, book])] == [A_WEEK_AGO]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("id;step\na;charge_full\n", "no column done_on"),
        ("id;step;done_on\na;charge_full;03/04/2026\n", "may be two days"),
        ("id;step;done_on\na;charge_full;soon\n", "done_on"),
        ("id;step;done_on\na;;2026-11-18\n", "without a step"),
    ],
)
def test_a_mark_that_cannot_be_read_is_a_sentence(text: str, says: str, tmp_path: Path) -> None:
    """Never passed over in silence."""
    path = tmp_path / "vehicles.csv"
    path.write_text(text)
    with pytest.raises(DrainsimError, match=says):
        read_marks([path])


def test_a_flat_vehicle_on_a_maintainer_is_told_as_it_is_now() -> None:
    """Connected a week ago to a battery that could not start then: nothing of that is left today.

    1 A for a week is 168 Ah into 60 Ah: full. The days left, the half charge and the last known
    charge of the day it was flat would contradict the risk of 0 beside them.
    """
    flat = LIST.replace("0,8;60", "0,3;60")
    done = with_done(fleet_of(flat), [mark("maintainer")], SETTINGS, workers=1)
    found = {v.id: v for v in answer_fleet(done, SETTINGS, workers=1).vehicles}
    now, flat_still = found["a"], found["b"]
    assert now.risk_today == 0.0
    assert now.charge_today > 0.9
    assert now.days_left_p10 is None
    assert not any("half charge" in warning for warning in now.warnings)
    assert "when last known" not in now.cause
    assert flat_still.days_left_p10 == 0.0
    assert any("half charge already" in warning for warning in flat_still.warnings)
    assert "when last known" in flat_still.cause


def test_going_on_from_today_is_the_stand_itself() -> None:
    """Each draw keeps its own charge: one left by short trips has a long lower tail."""
    listed = """\
id;depot;quiescent_a;capacity_ah;battery_age_years;state_of_charge;temperature_c;trips_per_week;\
trip_minutes;parked_from
a;x;0,02;60;2;;0;4;10;2026-11-20
b;x;0,05;60;5;0,8;-12;;;2026-11-05
"""
    fleet = fleet_of(listed)
    own = {v.id: v for v in answer_fleet(fleet, SETTINGS, workers=1).vehicles}
    today = as_of_today(fleet, SETTINGS, workers=1)
    for vehicle in answer_fleet(today, SETTINGS, workers=1).vehicles:
        before = [n / own[vehicle.id].draws for n in own[vehicle.id].failing_by_day]
        after = [n / vehicle.draws for n in vehicle.failing_by_day]
        assert max(before) > 0.05
        assert after == pytest.approx(before, abs=0.011)  # one draw of 100
