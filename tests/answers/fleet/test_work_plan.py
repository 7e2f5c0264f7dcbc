"""Work at a depot: no day takes more than it can, and as many vehicles as possible start."""

import datetime as dt
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_actions import cheapest_actions
from drainsim.answers.fleet.work_plan import Limits, WorkPlan, work_plan
from drainsim.errors import DrainsimError
from tests.fleet_build import SETTINGS, TODAY, answer_to, fleet_of

# Eight alike vehicles of one depot, half empty, known to be charged in time by a visit.
_HEAD = "id;depot;unit;quiescent_a;temperature_c;state_of_charge;capacity_ah;battery_age_years"
YARD = "\n".join([_HEAD, *(f"v{n};yard;none;0,02;5;0,6{n};60;1" for n in range(8))])


def answered() -> FleetAnswer:
    """Return the yard answered."""
    return answer_to(YARD, call_out_price=100.0)


ANSWER = answered()


def actions_of(saves: list[int], days: list[int]) -> dict[str, Action]:
    """Return a charge for each of the yard's vehicles with its own saving and act-by date."""
    ids = sorted(vehicle.id for vehicle in ANSWER.vehicles)
    return {
        id_: Action(
            id=id_,
            key="charge_full",
            keys=("charge_full",),
            words="charge",
            act_by=TODAY + dt.timedelta(days=day),
            until=TODAY + dt.timedelta(days=30),
            risk_before=percent / 100.0,
            risk_after=0.0,
        )
        for id_, percent, day in zip(ids, saves, days, strict=False)
    }


def most_saved(actions: dict[str, Action], chargers: int) -> float:
    """Return the most that any choice of days saves, by trying every one of them."""
    days = [[None, *range((a.act_by - TODAY).days + 1)] for a in actions.values()]
    best = 0.0
    for chosen in product(*days):
        taken = [day for day in chosen if day is not None]
        if all(taken.count(day) <= chargers for day in taken):
            pairs = zip(actions.values(), chosen, strict=True)
            best = max(best, sum(a.saves for a, day in pairs if day is not None))
    return best


@given(
    saves=st.lists(st.integers(1, 99), min_size=5, max_size=5),
    days=st.lists(st.integers(0, 2), min_size=5, max_size=5),
    chargers=st.integers(0, 2),
)
def test_with_few_chargers_nothing_better_exists(
    saves: list[int], days: list[int], chargers: int
) -> None:
    """The plan saves as much as the best of all plans, found by trying each."""
    actions = actions_of(saves, days)
    plan = work_plan(ANSWER, actions, Limits(chargers={"yard": chargers}))
    assert plan.saved == pytest.approx(most_saved(actions, chargers))


@given(
    saves=st.lists(st.integers(1, 99), min_size=8, max_size=8),
    days=st.lists(st.integers(0, 6), min_size=8, max_size=8),
    chargers=st.integers(0, 3),
    people=st.integers(0, 2),
)
def test_no_day_takes_more_than_it_can(
    saves: list[int], days: list[int], chargers: int, people: int
) -> None:
    """Chargers and hours of each day hold, every action is in the plan once, none in the past."""
    actions = actions_of(saves, days)
    limits = Limits(chargers={"yard": chargers}, people={"yard": people})
    plan = work_plan(ANSWER, actions, limits)
    assert sorted(job.action.id for job in plan.jobs) == sorted(actions)
    by_day: dict[dt.date, list[Action]] = {}
    for job in plan.jobs:
        if job.day is not None:
            assert TODAY <= job.day < job.action.until
            by_day.setdefault(job.day, []).append(job.action)
    for done in by_day.values():
        assert len(done) <= chargers
        assert sum(action.work_h for action in done) <= 6.0 * people


def test_a_plan_counts_its_cost_against_the_call_outs() -> None:
    """Hours at the hour's price; no-starts avoided at the call-out's; late work saves nothing."""
    actions = actions_of([80, 70, 60], [0, 0, 0])
    plan = work_plan(ANSWER, actions, Limits(chargers={"yard": 1}), hour_price=40.0)
    assert [job.in_time for job in plan.jobs] == [True, False, False]
    assert plan.saved == 0.8
    assert plan.as_dict()["call_outs_avoided"] == pytest.approx(80.0)
    assert plan.as_dict()["cost_of_acting"] == pytest.approx(40.0 * 0.5 * 3)
    assert "1 of 3 done in time, 2 late" in plan.in_words
    assert "Acting costs 60, call-outs of 80 are avoided." in plan.in_words


def test_real_actions_are_planned_whole() -> None:
    """With as many as it takes, each is done on its act-by date."""
    fleet = fleet_of(YARD)
    actions = cheapest_actions(fleet.vehicles, ANSWER.vehicles, SETTINGS, risk=0.05, workers=1)
    assert actions
    plan = work_plan(ANSWER, actions, Limits(chargers={"yard": 50}, people={"yard": 50}))
    assert isinstance(plan, WorkPlan)
    assert all(job.day == job.action.act_by for job in plan.jobs)


@pytest.mark.parametrize("limits", [Limits(chargers={"yrad": 1}), Limits(people={"yard": -1})])
def test_a_limit_that_means_nothing_is_refused(limits: Limits) -> None:
    """A depot that is not there, fewer than none."""
    with pytest.raises(DrainsimError, match="yard"):
        work_plan(ANSWER, {}, limits)


def test_nobody_works_on_a_day_off() -> None:
    """Due on Sunday 29 November 2026 and no work at the week's end: done on the Friday before.

    What is due on the Saturday it is asked on comes late, on Monday.
    """
    assert TODAY.weekday() == 2
    week = Limits(weekdays=frozenset(range(5)))
    assert week
    (job,) = work_plan(ANSWER, actions_of([80], [4]), week).jobs
    assert job.day == TODAY + dt.timedelta(days=2)
    assert job.in_time
    weekend = Limits(weekdays=frozenset({5, 6}))
    (late,) = work_plan(ANSWER, actions_of([80], [0]), weekend).jobs
    assert late.day == TODAY + dt.timedelta(days=3)
    assert not late.in_time
    jobs = work_plan(ANSWER, actions_of([80, 70], [0, 0]), Limits(chargers={"yard": 1})).jobs
    assert [job.day for job in jobs] == [TODAY, TODAY + dt.timedelta(days=1)]


def test_one_person_works_at_vehicles_for_six_hours_a_day() -> None:
    """Three block heaters of two hours each fill the day; half an hour more is for the next."""
    # Six hours: common practice, no source.
    actions = actions_of([80, 80, 80, 60], [0] * 4)
    for id_ in list(actions)[:3]:
        actions[id_] = replace(actions[id_], key="block_heater", keys=("block_heater",))
    jobs = work_plan(ANSWER, actions, Limits(people={"yard": 1})).jobs
    assert [(job.day - TODAY).days for job in jobs if job.day] == [0, 0, 0, 1]
