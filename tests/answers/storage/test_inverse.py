"""Inverse answers: fed back into the forward run they give the risk that was asked for."""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.answers.standing.park import park
from drainsim.answers.storage.changes import with_changes
from drainsim.answers.storage.risk import StandQuestion, risk_of, sampling_error
from drainsim.answers.storage.searching import searches
from drainsim.answers.storage.searching.inverse import for_ever, holds, longest_stand
from drainsim.answers.storage.searching.limits import binding_limit
from drainsim.answers.storage.searching.solving import (
    ANYTHING,
    NOTHING,
    SOLVED,
    Search,
    Solved,
    solve,
)
from drainsim.answers.storage.sunshine import panel_by_month, small_panel
from drainsim.errors import OutOfRangeError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from tests.build import risk_now

SEARCHES: tuple[Callable[[StandQuestion], Search | None], ...] = (
    searches.charge_search,
    searches.report_search,
    searches.cutoff_search,
    searches.quiescent_search,
    searches.capacity_search,
    searches.cold_cranking_search,
    searches.battery_search,
    searches.maintainer_search,
    searches.panel_search,
)
EXAMPLE: dict[str, Any] = {
    "battery": {"capacity_ah": 60, "cold_cranking_a": 540, "state_of_charge": 0.9},
    "unit": {"preset": "hourly"},
    "vehicle": {"preset": "compact_petrol"},
    "site": {"climate": "temperate", "parked_from": dt.date(2026, 11, 2)},
    "run": {"draws": 200},
}


def question(days: int = 30, *, risk: float = 0.05, **changes: Any) -> StandQuestion:
    """Return a question about the example with keys changed."""
    changes = {key.replace("__", "."): value for key, value in changes.items()}
    scenario = with_changes(scenario_from_dict(EXAMPLE), changes)
    return StandQuestion(scenario=scenario, days=days, risk=risk)


def test_batteries_are_looked_for_in_whole_ampere_hours() -> None:
    """Labels print no others above 10 Ah: common practice, no source."""
    for search in (searches.capacity_search, searches.battery_search):
        assert_array_equal(np.diff(search(question()).candidates), -1.0)


@pytest.mark.parametrize("find", [searches.maintainer_search, searches.report_search])
def test_values_are_looked_for_in_steps_of_five_per_cent(
    find: Callable[[StandQuestion], Search | None],
) -> None:
    """A risk is not known any finer."""
    search = find(question())
    assert search is not None
    assert np.abs(np.diff(np.log(search.candidates))).max() <= np.log(1.05) + 1e-9


def solved_by(search: Callable[[StandQuestion], Search | None], asked: StandQuestion) -> Solved:
    """Return the answer of one search that applies."""
    found = search(asked)
    assert found is not None
    return solve(found)


@st.composite
def questions(draw: st.DrawFn) -> StandQuestion:
    """Draw a vehicle, a place and a stand that are neither hopeless nor trivial too often."""
    battery: dict[str, Any] = {
        "profile": draw(st.sampled_from(["flooded_calcium", "enhanced_flooded", "agm"])),
        "capacity_ah": float(draw(st.integers(40, 110))),
        "age_years": float(draw(st.integers(0, 6))),
        "state_of_charge": draw(st.integers(60, 100)) / 100,
    }
    if draw(st.booleans()):
        battery["cold_cranking_a"] = round(battery["capacity_ah"] * draw(st.integers(7, 11)))
    unit: dict[str, Any] = {"preset": draw(st.sampled_from(["hourly", "daily", "live"]))}
    vehicle = {
        "quiescent_a": draw(st.integers(5, 60)) / 1000,
        "engine_litres": draw(st.integers(10, 30)) / 10,
        "fuel": draw(st.sampled_from(["petrol", "diesel"])),
    }
    month = draw(st.integers(1, 12))
    site = {
        "climate": draw(
            st.sampled_from(["temperate", "marine", "humid_subtropical", "hot_desert"])
        ),
        "parked_from": dt.date(2026, month, draw(st.integers(1, 28))),
    }
    run = {"draws": 200, "seed": draw(st.integers(0, 1000))}
    tables = {"battery": battery, "vehicle": vehicle, "site": site, "run": run, "unit": unit}
    return StandQuestion(
        scenario=scenario_from_dict(tables),
        days=draw(st.integers(5, 50)),
        risk=draw(st.sampled_from([0.05, 0.1, 0.2])),
        when=draw(st.sampled_from(["on_day", "every_day", "any_time"])),
    )


def forward(asked: Solved, scenario: Scenario, *, seed: int | None = None) -> tuple[float, float]:
    """Return risk and standard error of the forward run at a solved value."""
    changes = dict(asked.changes) | ({} if seed is None else {"run.seed": seed})
    again = StandQuestion(
        scenario=with_changes(scenario, changes),
        days=asked.days,
        risk=asked.asked_risk,
        when=asked.when,
    )
    return risk_of(again.stand(), asked.when)


def _feed_back(asked: StandQuestion, number: int) -> None:
    """Assert that the forward run at the solved value has the risk asked for."""
    solved = solved_by(SEARCHES[number], asked)
    if solved.status == NOTHING:
        assert solved.value is None
        assert solved.risk is not None
        assert solved.risk > asked.risk
        assert solved.limit is not None
        return
    same, _ = forward(solved, asked.scenario)
    assert same == solved.risk  # the same draws: exactly
    assert same <= asked.risk
    if solved.status == ANYTHING:
        return
    assert solved.error is not None
    assert solved.error > 0.0
    if solved.risk_beyond is None:
        return  # the next value is one the scenario refuses
    assert solved.risk_beyond > asked.risk
    # Another seed, so other vehicles and other weather: five standard errors of both runs, and
    # up to the next value's risk where one step of the value moves it by much.
    other, other_error = forward(solved, asked.scenario, seed=987_654)
    assert solved.risk_error is not None
    room = 5.0 * float(np.hypot(solved.risk_error, other_error))
    assert solved.risk - room <= other <= solved.risk_beyond + room


@settings(max_examples=25)
@given(asked=questions(), number=st.integers(0, len(SEARCHES) - 1))
def test_solved_values_give_the_asked_risk_when_fed_back(asked: StandQuestion, number: int) -> None:
    """Over random scenarios the forward run at the value has the risk asked for."""
    _feed_back(asked, number)


@pytest.mark.nightly
@settings(max_examples=300)
@given(asked=questions(), number=st.integers(0, len(SEARCHES) - 1))
def test_over_300_scenarios_they_do(asked: StandQuestion, number: int) -> None:
    """The same, far more often."""
    _feed_back(asked, number)


def test_fed_back_risks_are_right_on_average() -> None:
    """Over the scenarios above the error is no bias: its mean is small beside one error."""
    asked = [question(days=days, run__draws=400, run__seed=days) for days in range(14, 34, 2)]
    errors = []
    for one in asked:
        solved = solved_by(searches.quiescent_search, one)
        assert solved.status == SOLVED
        errors += [forward(solved, one.scenario, seed=s)[0] - one.risk for s in (501, 502)]
    # 20 runs of 400 draws: one standard error of the mean is near 0.0025 with the solver's own
    # draws counted; three of them, and half a draw of rounding.
    assert abs(float(np.mean(errors))) < 0.009


@pytest.mark.parametrize(
    ("search", "key", "harder"),
    [
        (searches.quiescent_search, "vehicle.quiescent_a", 1.0),
        (searches.battery_search, "battery.capacity_ah", -1.0),
        (searches.panel_search, "solar.panel_w", -1.0),
    ],
)
def test_the_value_shown_is_the_value_used(
    search: Callable[[StandQuestion], Search], key: str, harder: float
) -> None:
    """What the user reads, typed into the scenario, is what was solved: no rounding between.

    The value that no longer holds is the next one towards more drain or a smaller part.
    """
    solved = solved_by(search, question(days=40))
    assert solved.status == SOLVED
    assert solved.changes[key] == solved.value
    assert float(f"{solved.value:.4g}") == solved.value
    assert solved.beyond is not None
    assert (solved.beyond - solved.value) * harder == solved.error


def test_holds_agrees_with_the_answer_of_park() -> None:
    """The risk of N days is the probability `park` gives for day N."""
    asked = question(days=35)
    answer = park(resolve(with_changes(asked.scenario, {"run.horizon_days": 35})))
    held = holds(asked)
    assert held.risk == answer.course.probability_no_start[35]
    assert held.any_time_risk == answer.course.probability_failed_by[35]
    assert held.holds is (held.risk <= asked.risk)


def test_longest_stand_agrees_with_park_and_brackets_the_risk() -> None:
    """One day longer is too risky; the day itself is not; park says the same days."""
    asked = question(days=10)
    longest = longest_stand(asked)
    parked = park(resolve(asked.scenario))
    assert longest.days == parked.days_at_risk
    assert longest.days is not None
    middle, same = longest.days_to_no_start.p50, parked.days_to_no_start.p50
    assert middle is not None
    assert middle == pytest.approx(same, abs=1.0)  # park looks at every hour
    by_then = longest_stand(replace(asked, when="any_time")).probability_by_day
    failed_by = parked.course.probability_failed_by
    assert_allclose(by_then, failed_by[: len(by_then)], atol=0.02)
    assert longest.probability_by_day[longest.days] <= asked.risk
    assert longest.probability_by_day[longest.days + 1] > asked.risk
    assert longest.recharge_by == dt.date(2026, 11, 2) + dt.timedelta(days=longest.days)


def test_a_stricter_question_never_allows_more() -> None:
    """Any-time risk is above every-day risk is above last-day risk; limits follow."""
    asked = question(days=30)
    on_day, every_day, any_time = (
        replace(asked, when=when) for when in ("on_day", "every_day", "any_time")
    )
    risks = [risk_now(one) for one in (on_day, every_day, any_time)]
    assert risks == sorted(risks)
    values = [
        solved_by(searches.quiescent_search, one).value for one in (on_day, every_day, any_time)
    ]
    assert values == sorted(values, reverse=True)


def test_longer_stands_need_more() -> None:
    """Twice the days: less current, a larger battery, a larger panel."""
    short, long = question(days=20), question(days=40)

    def value(search: Callable[[StandQuestion], Search], asked: StandQuestion) -> float:
        found = solved_by(search, asked).value
        assert found is not None
        return found

    assert value(searches.quiescent_search, short) > value(searches.quiescent_search, long)
    assert value(searches.battery_search, short) < value(searches.battery_search, long)
    assert value(searches.panel_search, short) <= value(searches.panel_search, long)


def test_nothing_within_reach_names_the_binding_limit() -> None:
    """Half a year with a thirsty vehicle: no report interval helps, the vehicle is named."""
    solved = solved_by(searches.report_search, question(days=180, vehicle__quiescent_a=0.08))
    assert solved.status == NOTHING
    assert solved.limit is not None
    assert solved.limit.key == "vehicle"
    assert "nothing within reach" in solved.in_words
    assert "vehicle" in solved.in_words


def test_what_is_not_there_takes_no_share_of_the_drain() -> None:
    """Of 80 mA and a winter's self-discharge, below 20 mAh a day, the vehicle takes over 98 %."""
    limit = binding_limit(question(days=180, vehicle__quiescent_a=0.08, unit=None))
    assert limit.key == "vehicle"
    assert 98.0 < limit.percent < 100.0


def test_a_battery_too_small_for_the_cold_is_named_as_such() -> None:
    """Where it would not start on the day of parking, no current is small enough."""
    hopeless = question(
        battery={"capacity_ah": 36, "age_years": 8},
        vehicle={"engine_litres": 3.0, "fuel": "diesel"},
        site={"climate": "subarctic", "parked_from": dt.date(2026, 12, 1)},
    )
    solved = solved_by(searches.quiescent_search, hopeless)
    assert solved.limit is not None
    assert solved.limit.key == "cranking_at_parking"


def test_without_a_unit_there_is_nothing_to_ask_of_it() -> None:
    """Interval and cut-off are questions about a unit."""
    bare = question(unit=None)
    assert searches.report_search(bare) is None
    assert searches.cutoff_search(bare) is None


def test_a_slower_interval_slows_the_ladder_too() -> None:
    """No step of a voltage ladder reports faster than the interval that was solved for."""
    asked = question(days=20, unit={"preset": "hourly_with_ladder"}, vehicle__quiescent_a=0.002)
    solved = solved_by(searches.report_search, asked)
    assert solved is not None
    assert solved.holds
    ladder = solved.changes["unit.ladder"]
    assert all(rung["report_interval_h"] >= solved.value for rung in ladder)


def test_a_stand_without_end_counts_every_day_of_two_years() -> None:
    """An endless stand is two whole years, every start in them, winters included."""
    endless = for_ever(question())
    assert endless.days == 730
    assert endless.when == "every_day"
    solved = solved_by(
        searches.maintainer_search,
        replace(endless, scenario=with_changes(endless.scenario, {"run.draws": 100})),
    )
    assert solved.status == SOLVED
    assert solved.value is not None
    # It must at least replace the mean draw: about 30 mA + 5 mA.
    assert 0.03 < solved.value < 0.2


def test_winter_at_high_latitude_says_that_a_small_panel_fails() -> None:
    """In December at 65° north ten watts bring next to nothing, and it is said in words."""
    asked = question(days=60, site={"climate": "subarctic", "parked_from": dt.date(2026, 11, 20)})
    small = small_panel(asked)
    assert small.fails
    assert small.month == 12
    assert small.brings_ah_day < 0.05 * small.lost_ah_day
    assert "only slows the loss" in small.in_words
    sunny = small_panel(
        question(days=30, site={"climate": "hot_desert", "parked_from": dt.date(2026, 6, 1)})
    )
    assert not sunny.fails


def test_in_the_south_the_dark_month_is_june() -> None:
    """At 35° south the same small panel brings least in June, and the words say south."""
    south = {"panel_w": 0.0, "latitude_deg": -35.0, "clear_share": 0.5}
    site = {"temperature_c": 12.0, "parked_from": dt.date(2026, 1, 1)}
    small = small_panel(question(days=360, site=site, solar=south))
    assert small.month == 6
    assert "35° south" in small.in_words
    assert "lying flat" in small.in_words
    tilted = small_panel(question(days=360, site=site, solar={**south, "tilt_deg": 50.0}))
    assert tilted.brings_ah_day > small.brings_ah_day  # toward the equator: to the north there
    assert "tilted 50° toward the equator" in tilted.in_words


def test_the_panel_that_is_solved_for_lies_as_entered() -> None:
    """Label and value follow tilt and shade; more shade asks for a larger panel."""
    flat = solved_by(searches.panel_search, question(days=40))
    shaded = solved_by(searches.panel_search, question(days=40, solar={"shading": 0.5}))
    assert "lying flat" in flat.label
    assert "50 % of its sunshine lost to shade" in shaded.label
    assert flat.value is not None
    assert shaded.value is not None
    assert shaded.value > flat.value


def test_panels_by_month_follow_the_sun() -> None:
    """The panel that replaces the draw is largest in December and smallest near June."""
    months = panel_by_month(question(days=45, run__draws=100), simulate=True)
    assert [one.month for one in months] == list(range(1, 13))
    watts = [one.replacing_w for one in months]
    assert int(np.argmax(watts)) == 11
    assert int(np.argmin(watts)) in {4, 5, 6}
    # Rule of thumb against simulation in the dark months, where the panel must carry the stand
    # nearly alone: within a factor of two, since charge brought along bridges part of it.
    december = months[11].needed
    assert december is not None
    assert december.value is not None
    assert 0.5 * watts[11] < december.value < 1.5 * watts[11]


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"days": 0}, "days=0"),
        ({"days": 731}, "days=731"),
        ({"days": 30, "risk": 0.9}, "risk=0.9"),
        ({"days": 30, "risk": float("nan")}, "risk=nan"),
        ({"days": 30, "when": "sometimes"}, "sometimes"),
    ],
)
def test_refuses_questions_that_make_no_sense(wrong: dict[str, Any], named: str) -> None:
    """Days, risk and the kind of risk are checked, by name."""
    with pytest.raises(OutOfRangeError, match=named):
        StandQuestion(scenario=scenario_from_dict(EXAMPLE), **wrong)


def test_sampling_error_knows_that_weathers_are_shared() -> None:
    """Draws of one weather failing together are worth fewer than as many apart."""
    apart = np.arange(1000) % 10 == 0
    together = (np.arange(1000) // 5) % 10 == 0
    assert apart.mean() == together.mean()
    assert sampling_error(together) > 1.5 * sampling_error(apart)
    assert sampling_error(np.zeros(1000, dtype=bool)) > 0.0
