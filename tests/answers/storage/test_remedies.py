"""Ways to make a stand hold: none makes it worse, each does what its forward run says."""

import datetime as dt
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainsim import dates
from drainsim.answers.advice import ADVICE
from drainsim.answers.standing.park import park
from drainsim.answers.storage.answer import NO, YES, YES_IF, storage
from drainsim.answers.storage.remedies import (
    Preferences,
    Remedies,
    Remedy,
    remedies,
    single_ways,
)
from drainsim.answers.storage.risk import StandQuestion, risk_of
from drainsim.errors import DrainsimError
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.build import risk_now

TABLES: dict[str, Any] = {
    "battery": {"capacity_ah": 60, "cold_cranking_a": 540, "state_of_charge": 0.9},
    "unit": {"preset": "hourly"},
    "vehicle": {"preset": "compact_petrol"},
    "site": {"climate": "temperate", "parked_from": dt.date(2026, 11, 2)},
    "run": {"draws": 200, "horizon_days": 120},
}


def ask(days: int, **tables: Any) -> StandQuestion:
    """Return a question about the example with whole tables replaced; None takes one out."""
    merged = {name: table for name, table in {**TABLES, **tables}.items() if table is not None}
    return StandQuestion(scenario=scenario_from_dict(merged), days=days)


# What holds alone for four weeks of the example, so that nothing need be combined.
ENOUGH_ALONE = (
    "battery_indoors", "disconnect", "larger_battery", "maintainer", "new_battery", "panel",
    "visits",
)  # fmt: skip
CHEAP = {"charge_full", "storage_mode", "unit_off", "battery_heater", "block_heater", "shelter"}


def by_key(found: Remedies) -> dict[str, Remedy]:
    """Return the single ways by key."""
    return {remedy.keys[0]: remedy for remedy in found.single}


@settings(max_examples=12)
@given(
    charge=st.integers(50, 97),
    age=st.integers(1, 6),
    quiescent_ma=st.integers(5, 60),
    unit=st.sampled_from(["hourly", "live", "second_generation", "hourly_with_ladder", None]),
    days=st.integers(10, 80),
    climate=st.sampled_from(["temperate", "marine", "humid_subtropical"]),
)
def test_no_way_makes_it_worse(
    charge: int, age: int, quiescent_ma: int, unit: str | None, days: int, climate: str
) -> None:
    """Whatever is parked, every way leaves at most the risk and at least the days there were."""
    asked = ask(
        days,
        battery={"capacity_ah": 60, "age_years": age, "state_of_charge": charge / 100},
        vehicle={"quiescent_a": quiescent_ma / 1000, "engine_litres": 1.6},
        unit={"preset": unit} if unit else None,
        site={"climate": climate, "parked_from": dt.date(2026, 10, 1)},
        run={"draws": 100, "horizon_days": 90},
    )
    found = remedies(asked)
    before = found.horizon_days if found.days_now is None else found.days_now
    for remedy in found.single:
        after = found.horizon_days if remedy.days is None else remedy.days
        # 1 of 100 draws: a unit that comes back from its cut-off may do so a block later.
        assert remedy.risk <= found.risk_now + 0.01 + 1e-12, remedy.labels
        assert after >= before - 1, remedy.labels
        assert remedy.holds is (remedy.risk <= asked.risk)


def test_each_way_is_its_own_forward_run() -> None:
    """The risk beside a way is what its changes give when written into the scenario."""
    asked = ask(45)
    for remedy in remedies(asked).single:
        if remedy.visit_weeks is not None:
            continue  # several stands, tested below
        risk, _ = risk_of(asked.all_along.stand(remedy.changes), "every_day")
        assert risk == remedy.risk, remedy.labels


def test_visits_reset_the_stand() -> None:
    """With visits often enough the risk is that of the longest stretch from full, not of all."""
    asked = ask(90)
    found = by_key(remedies(asked))["visits"]
    assert found.visit_weeks is not None
    assert found.holds
    first = risk_now(ask(7 * found.visit_weeks).all_along)
    assert found.risk >= first  # the stretch before the first visit starts at 90 %
    assert remedies(asked).risk_now > 0.9


def test_a_combination_holds_where_no_part_does() -> None:
    """Two or three ways that help but are not enough alone, and no cheaper ones are passed over."""
    asked = ask(27)
    found = remedies(asked, Preferences(without=ENOUGH_ALONE))
    together = found.combination
    assert together is not None
    assert together.holds
    assert found.cheapest == together
    single = by_key(found)
    assert all(not single[key].holds for key in together.keys)
    assert together.effort == sum(ADVICE[key].effort for key in together.keys)
    assert together.risk == risk_of(asked.all_along.stand(together.changes), "every_day")[0]
    tried = 0
    for ways in (2, 3):
        for cheaper in combinations(single.values(), ways):
            groups = [group for one in cheaper for group in ADVICE[one.keys[0]].groups]
            if len(set(groups)) < len(groups):
                continue  # they rule each other out
            if sum(one.effort for one in cheaper) < together.effort:
                changes = {key: v for one in cheaper for key, v in one.changes.items()}
                risk = risk_of(asked.all_along.stand(changes), "every_day")[0]
                assert risk > asked.risk, [one.keys for one in cheaper]
                tried += 1
    assert tried > 5


def test_the_single_ways_are_those_of_the_whole_answer() -> None:
    """Tried without combinations, from the longest stand that the stand's own answer tells."""
    asked = ask(27)
    found = remedies(asked)
    known = park(resolve(asked.scenario))
    assert known.days_at_risk == found.days_now
    assert single_ways(asked, Preferences(), days_now=found.days_now) == (
        found.single,
        found.horizon_days,
    )


def test_with_prices_the_cheapest_is_the_headline() -> None:
    """No price is invented; those given decide, of single ways and combinations alike."""
    plain = storage(ask(60), inverse=False)
    assert all(remedy.price is None for remedy in plain.remedies.single)
    assert plain.remedies.cheapest is not None
    assert plain.remedies.cheapest.keys == ("maintainer",)
    prices = {"maintainer": 60.0, "panel": 45.0, "visits": 300.0}
    priced = storage(ask(60), Preferences(prices=prices), inverse=False)
    assert priced.remedies.cheapest is not None
    assert priced.remedies.cheapest.keys == ("panel",)
    assert priced.remedies.cheapest.price == 45.0
    assert "solar panel" in priced.sentence
    assert [w.price for w in priced.remedies.holding][:3] == [45.0, 60.0, 300.0]


def test_a_cheap_combination_is_preferred_to_a_dear_single_way() -> None:
    """Four weeks: a maintainer holds alone, but charging and slower reports cost nothing."""
    prices = {key: 1000.0 for key in ADVICE} | {key: 1.0 for key in CHEAP}
    found = remedies(ask(27), Preferences(prices=prices))
    assert found.cheapest is not None
    assert found.cheapest.price is not None
    assert found.cheapest.price < 1000.0
    assert set(found.cheapest.keys) <= CHEAP
    assert by_key(found)["maintainer"].holds


def test_efforts_can_be_reordered_and_ways_left_out() -> None:
    """The ranking is an opinion: the user's own wins, and what is out of the question is gone."""
    usual = remedies(ask(60))
    mine = remedies(ask(60), Preferences(efforts={"panel": 1}, without=("maintainer",)))
    assert usual.cheapest is not None
    assert mine.cheapest is not None
    assert usual.cheapest.keys == ("maintainer",)
    assert mine.cheapest.keys == ("panel",)
    assert "maintainer" not in by_key(mine)
    efforts = [remedy.effort for remedy in mine.single]
    assert efforts == sorted(efforts)


def test_disconnecting_says_what_is_lost() -> None:
    """Disconnecting helps most and costs position and alarm: both are said."""
    found = by_key(remedies(ask(60)))
    assert "no position" in found["disconnect"].lost[0]
    assert "no alarm" in found["disconnect"].lost[0]
    assert found["charge_full"].lost == ()


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"prices": {"pannel": 80.0}}, "panel"),
        ({"prices": {"panel": -1.0}}, "0 or more"),
        ({"prices": {"panel": float("nan")}}, "0 or more"),
        ({"efforts": {"panel": 0}}, "1 .least"),
        ({"without": ("prayer",)}, "unknown"),
    ],
)
def test_wrong_preferences_are_named(wrong: dict[str, Any], named: str) -> None:
    """A misspelt way, a price below zero or an effort off the scale is a sentence."""
    with pytest.raises(DrainsimError, match=named):
        Preferences(**wrong)


def test_the_three_verdicts() -> None:
    """Short: yes. Long: yes, if. A battery that cannot start today: no, with the reason."""
    assert storage(ask(7), inverse=False).verdict == YES
    conditional = storage(ask(60), inverse=False)
    assert conditional.verdict == YES_IF
    assert "Yes, if you" in conditional.sentence
    hopeless = storage(
        ask(
            60,
            battery={"capacity_ah": 36, "age_years": 8},
            vehicle={"engine_litres": 4.0, "fuel": "diesel"},
            site={"climate": "subarctic", "parked_from": dt.date(2026, 12, 1)},
            run={"draws": 100, "horizon_days": 60},
        ),
        inverse=False,
    )
    assert hopeless.verdict == NO
    assert "because" in hopeless.sentence


def test_coming_back_earlier_can_be_riskier_and_is_said() -> None:
    """Parked through winter into June: the last day is warmer than the worst, which is named."""
    answer = storage(
        ask(
            200,
            unit=None,
            vehicle={"quiescent_a": 0.004, "engine_litres": 2.0},
            site={"climate": "continental", "parked_from": dt.date(2026, 10, 20)},
            run={"draws": 100, "horizon_days": 200},
        ),
        inverse=False,
    )
    assert answer.holds.worst_risk > answer.holds.risk + 0.05
    assert any("coming back earlier" in warning for warning in answer.warnings)


def test_a_stand_begun_in_the_past_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """A yes for days that are over is told as one; on the day of parking nothing is."""
    for day, told in ((dt.date(2026, 11, 2), False), (dt.date(2026, 11, 3), True)):
        monkeypatch.setenv(dates.TODAY, day.isoformat())
        found = storage(ask(7), inverse=False).warnings
        assert any("day of parking has passed" in one for one in found) is told
