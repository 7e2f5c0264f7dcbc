"""The fleet's answer: each vehicle as if alone, nothing lost, order without influence."""

import dataclasses
import datetime as dt
import random
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.answers.fleet import in_parts
from drainsim.answers.fleet.answer import Asked, answer_fleet, answer_part, changed_fleet
from drainsim.answers.fleet.fleet_vehicle import act_by
from drainsim.answers.standing.park import park
from drainsim.errors import DrainsimError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_text
from tests.fleet_build import MIXED, SETTINGS, TODAY, answer_to, fleet_of

IN_A_WEEK = TODAY + dt.timedelta(days=7)


def shuffled(text: str, seed: int) -> str:
    """Return a list with its rows in another order."""
    head, *rows = text.splitlines()
    random.Random(seed).shuffle(rows)
    return "\n".join([head, *rows])


def many(copies: int) -> str:
    """Return the mixed list over and over, every vehicle with its own id."""
    head, *rows = MIXED.splitlines()
    return "\n".join([head, *(f"{n}-{row}" for n in range(copies) for row in rows)])


@pytest.mark.parametrize("number", range(10))
def test_park_and_fleet_agree_on_the_same_vehicle(number: int) -> None:
    """Same scenario, seeds and draws: the same days and daily chances, seen from today."""
    fleet = fleet_of(MIXED)
    vehicle = fleet.vehicles[number]
    (answer,) = (v for v in answer_to(MIXED).vehicles if v.id == vehicle.id)
    alone = park(resolve(scenario_from_text(answer.toml, where="drill-down")))
    before = (TODAY - vehicle.starts).days
    chance = alone.course.probability_no_start[max(before, 0) :]
    waiting = np.zeros(max(-before, 0))
    ahead = SETTINGS.days_ahead + 1
    days = [answer.chance_on(TODAY + dt.timedelta(days=d), TODAY) for d in range(ahead)]
    assert_array_equal(days, np.concatenate([waiting, chance])[:ahead])
    for name in ("p10", "p50", "p90"):
        of_park = getattr(alone.days_to_no_start, name)
        of_fleet = getattr(answer, f"days_left_{name}")
        if of_park is None or of_park - before > SETTINGS.days_ahead:
            assert of_fleet is None
        else:
            assert_allclose(of_fleet, max(of_park - before, 0.0), rtol=1e-9)


def test_order_and_partition_change_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Shuffled, in one process or two, a vehicle's line and the fleet's figures stay the same."""
    monkeypatch.setattr(in_parts, "_ALONE", 50)  # so that few vehicles are divided
    text = many(10)
    plain = answer_to(text)
    for other in (answer_to(shuffled(text, 7)), answer_to(shuffled(text, 8), workers=2)):
        lines = [dataclasses.replace(v, row=0) for v in other.vehicles]
        assert lines == [dataclasses.replace(v, row=0) for v in plain.vehicles]
        assert other.on_dates == plain.on_dates
        assert other.course == plain.course
        assert_array_equal(other.expected_by_day, plain.expected_by_day)
        assert other.by_depot == plain.by_depot  # to the last digit, whichever part ends first
        assert other.by_battery == plain.by_battery


def test_a_part_of_the_list_gets_the_same_answers() -> None:
    """What a vehicle is told does not depend on its neighbours."""
    whole = {v.id: v for v in answer_to(MIXED).vehicles}
    answers, problems, _ = answer_part(
        fleet_of(MIXED).vehicles[3:7], SETTINGS, Asked(0.05, (IN_A_WEEK,), None)
    )
    assert problems == []
    for answer in answers:
        assert answer.chance_on(IN_A_WEEK, TODAY) == whole[answer.id].chance_on(IN_A_WEEK, TODAY)
        assert answer.days_left_p50 == whole[answer.id].days_left_p50


def test_one_per_cent_broken_rows_are_listed_and_the_rest_answered() -> None:
    """Answered and kept aside add up to the rows of the file."""
    head, *rows = many(30).splitlines()
    broken = {50: "x;;;sixty;;;;;;;;;;;;;", 120: ";north;;60;;;;;;;;;;;;;", 250: rows[0]}
    for number, row in broken.items():
        rows[number] = row
    answer = answer_to("\n".join([head, *rows]))
    assert {problem.row for problem in answer.problems} == {n + 2 for n in broken}
    assert len(answer.vehicles) == len(rows) - len(broken)
    assert all(problem.sentence for problem in answer.problems)
    summary = answer.as_dict()
    assert summary["vehicles_answered"] + summary["rows_to_correct"] == len(rows)


def test_a_row_whose_values_do_not_go_together_is_kept_aside() -> None:
    """A mistake that only shows when the case is put together has its row and reason too."""
    head = "id,temperature_c,unit,sleep_a\n"
    answer = answer_to(head + "a,-5,,\nb,70,,\nc,20,,\n")
    assert [v.id for v in answer.vehicles] != []
    assert {v.id for v in answer.vehicles} | {"b"} == {"a", "b", "c"}
    assert [p.row for p in answer.problems] == [3]


def test_a_list_with_only_mistakes_is_an_answer_too() -> None:
    """Nobody is answered, all are listed, nothing fails."""
    answer = answer_to("id,capacity_ah\na,six\nb,seven\n")
    assert answer.vehicles == ()
    assert len(answer.problems) == 2
    assert answer.on_dates[0].count.expected == 0.0


def test_ranking_is_by_the_day_someone_must_act_then_by_risk() -> None:
    """Soonest first; those that need nobody are last."""
    answer = answer_to(MIXED)
    days = [v.act_by or dt.date.max for v in answer.vehicles]
    assert days == sorted(days)
    now = [v.risk_today for v in answer.vehicles if v.act_by == TODAY]
    assert all(v.act_by is None or v.act_by >= TODAY for v in answer.vehicles)
    assert now[0] == max(now)


def test_no_starts_cost_what_their_call_outs_do() -> None:
    """Of any date: the expected number at the call-out's price."""
    answer = answer_to(MIXED, dates=(IN_A_WEEK,), call_out_price=120.0)
    (day,) = answer.as_dict()["on_dates"]
    assert_allclose(day["expected_cost"], 120.0 * answer.on_dates[0].count.expected)


def test_who_needs_someone_is_counted_by_days_ahead() -> None:
    """Today's count within a week's, a week's within a month's, each with its last day."""
    answer = answer_to(MIXED)
    one = dataclasses.replace(answer.vehicles[0], planned_return=None)
    due = [dataclasses.replace(one, act_by=TODAY + dt.timedelta(d)) for d in (0, 1, 7, 8, 30, 31)]
    counted = dataclasses.replace(answer, vehicles=tuple(due)).must_act
    assert [counted[key] for key in ("today", "within_7_days", "within_30_days")] == [1, 3, 5]


@pytest.mark.parametrize(
    ("chance", "day"),
    [
        ([0.0, 0.0, 0.06, 0.2], 1),  # the day before it first goes over
        ([0.0, 0.05, 0.05, 0.05], None),  # at the limit is within it
        ([0.1, 0.0, 0.0, 0.0], 0),  # over already: today
        ([0.0, 0.2, 0.0, 0.0], 0),  # tomorrow: today
        ([0.0, 0.0, 0.0, 0.0], None),
    ],
)
def test_act_by_is_the_last_day_before_the_risk_goes_over(
    chance: list[float], day: int | None
) -> None:
    """With the owner's limit of 5 %."""
    expected = None if day is None else TODAY + dt.timedelta(days=day)
    assert act_by(np.array(chance), TODAY, 0.05) == expected


def test_a_smaller_risk_limit_never_lets_anyone_act_later() -> None:
    """A stricter owner acts at least as early."""
    strict, easy = (
        {v.id: v.act_by or dt.date.max for v in answer_to(MIXED, risk=risk).vehicles}
        for risk in (0.02, 0.3)
    )
    assert all(strict[id_] <= easy[id_] for id_ in easy)
    assert strict != easy


def test_the_fleets_expectation_is_the_sum_of_its_vehicles() -> None:
    """By day, by depot and by battery type."""
    answer = answer_to(MIXED, dates=(IN_A_WEEK,))
    total = sum(v.risk_on_dates[0] for v in answer.vehicles)
    (day,) = answer.on_dates
    assert_allclose(day.count.expected, total, rtol=1e-9)
    assert_allclose(answer.expected_by_day[7], total, rtol=1e-9)
    for groups in (answer.by_depot[0], answer.by_battery[0]):
        assert_allclose(sum(g.expected for g in groups), total, rtol=1e-9)
        assert sum(g.vehicles for g in groups) == len(answer.vehicles)
    assert day.count.p10 <= total <= day.count.p90


def test_the_risk_on_the_planned_return_is_that_days_chance() -> None:
    """The column is read off the vehicle's own course."""
    for vehicle in answer_to(MIXED).vehicles:
        if vehicle.planned_return:
            assert vehicle.risk_on_return == vehicle.chance_on(vehicle.planned_return, TODAY)
        else:
            assert vehicle.risk_on_return is None


def test_a_fleet_wide_change_moves_the_expectation_the_right_way() -> None:
    """Rarer reports fewer no-starts, more quiescent current more; no unit stays no unit."""
    fleet = fleet_of(MIXED)

    def expected(**changes: float) -> float:
        changed = changed_fleet(fleet, {k.replace("__", "."): v for k, v in changes.items()})
        answer = answer_fleet(changed, SETTINGS, workers=1)
        assert answer.problems == ()
        return float(answer.expected_by_day.sum())  # over all days: one may be undecided

    now = expected()
    assert expected(unit__report_interval_h=24.0) < now
    assert expected(vehicle__quiescent_a=0.08) > now
    assert expected(battery__age_years=0.0) < now
    assert expected(battery__state_of_charge=1.0) < now  # in place of resting voltages too
    assert expected(site__temperature_c=20.0) < now  # in place of climates too
    changed = changed_fleet(fleet, {"unit.report_interval_h": 24.0})
    assert not changed.vehicles[4].scenario.has("unit")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"risk": 0.0}, "between 0 and 1"),
        ({"risk": float("nan")}, "between 0 and 1"),
        ({"dates": [TODAY - dt.timedelta(days=1)]}, "is not within 60 days"),
        ({"dates": [TODAY + dt.timedelta(days=61)]}, "is not within 60 days"),
        ({"call_out_price": -1.0}, "must not be negative"),
        ({"workers": 0}, "from 1 to 61"),
        ({"workers": -3}, "from 1 to 61"),
    ],
)
def test_questions_that_cannot_be_served_are_one_sentence(
    wrong: dict[str, object], says: str
) -> None:
    """Risk, dates, price and processes have limits."""
    with pytest.raises(DrainsimError, match=says):
        answer_to(MIXED, **wrong)


def test_progress_counts_every_vehicle_once() -> None:
    """It ends at the number of vehicles."""
    seen: list[tuple[int, int]] = []
    answer_to(MIXED, progress=lambda done, of: seen.append((done, of)))
    assert seen[-1] == (10, 10)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)


def test_warnings_say_when_a_battery_can_freeze() -> None:
    """A quarter-charged battery at -20 °C freezes: its vehicle says never to charge it."""
    answer = answer_to("id,temperature_c,state_of_charge,quiescent_a\nx,-20,0.3,0.05\ny,20,1,0.01")
    by_id = {v.id: v for v in answer.vehicles}
    assert any("can freeze" in w and "never charge" in w for w in by_id["x"].warnings)
    assert any("half charge" in w for w in by_id["x"].warnings)
    assert not any("freeze" in w for w in by_id["y"].warnings)


@pytest.mark.parametrize(("percent", "said"), [(65, True), (75, False)])
def test_a_battery_below_seventy_per_cent_is_told_of(percent: int, said: bool) -> None:
    """Nearer to half than to full: common practice, no source."""
    (vehicle,) = answer_to(f"id;capacity ah;state of charge %\na;60;{percent}").vehicles
    assert (f"only {percent} % charged when last known" in vehicle.cause) is said
    assert vehicle.days_parked == 0  # parked today, where nobody says when


def test_the_cause_names_the_largest_load() -> None:
    """Vehicle, unit or self-discharge, whichever takes most."""
    text = "id,quiescent_a,sleep_a,temperature_c\nv,0.09,0.001,10\nu,0.001,0.09,10\n"
    causes = {v.id: v.cause for v in answer_to(text).vehicles}
    assert causes["v"].startswith("vehicle takes")
    assert "90 mA is high" in causes["v"]
    assert causes["u"].startswith("unit takes")


@pytest.mark.parametrize(("ahead", "within"), [(5, "5"), (14, "7, 14"), (60, "7, 30, 60")])
def test_no_days_are_told_that_were_not_looked_at(ahead: int, within: str) -> None:
    """Who looks two weeks ahead is told of a week and of two."""
    answer = answer_to("id\nA\n", settings=dataclasses.replace(SETTINGS, days_ahead=ahead))
    assert ", ".join(re.findall(r"within (\d+) days", answer.needing)) == within
