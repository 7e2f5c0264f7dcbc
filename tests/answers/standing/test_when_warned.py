"""When a sentence is said and when it is not: a warning that never comes is a silent one."""

import datetime as dt
import re
from typing import Any

import numpy as np
import pytest

from drainsim.answers.standing.park import park, run_draws
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.remedies import remedies
from drainsim.answers.storage.risk import StandQuestion
from drainsim.simulation.battery_curves import curves_of
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests import fleet_build
from tests.build import case_of

WINTER = dt.date(2026, 12, 20)
EARLIER = "coming back earlier is riskier"
ANY_HOUR = "counted at any hour"


def ask(days: int, climate: str, cold_cranking_a: float) -> StandQuestion:
    """Return a question about a car without a unit that stands from winter on."""
    tables: dict[str, Any] = {
        "battery": {
            "capacity_ah": 60,
            "cold_cranking_a": cold_cranking_a,
            "state_of_charge": 0.9,
        },
        "vehicle": {"quiescent_a": 0.002, "engine_litres": 2.0},
        "site": {"climate": climate, "parked_from": WINTER},
        "run": {"draws": 100},
    }
    return StandQuestion(scenario=scenario_from_dict(tables), days=days)


@pytest.mark.parametrize(
    ("climate", "cold_cranking_a", "days", "said"),
    [
        # On the last day, until the end of January: few fail; before that every third one.
        ("continental", 540.0, 80, {EARLIER, ANY_HOUR}),
        # 2 % on the last day, 7 % on the worst morning, 22 % in some cold night.
        ("temperate", 250.0, 40, {EARLIER, ANY_HOUR}),
        # About half fail on the last day and on the worst one: no more than chance.
        ("continental", 400.0, 40, {ANY_HOUR}),
    ],
)
def test_a_riskier_day_before_the_last_is_told_where_it_is_more_than_chance(
    climate: str, cold_cranking_a: float, days: int, said: set[str]
) -> None:
    """Told beyond two standard errors, the usual 95 % of a normal distribution, else not."""
    answer = storage(ask(days, climate, cold_cranking_a), inverse=False)
    assert {words for words in (EARLIER, ANY_HOUR) if words in " ".join(answer.warnings)} == said


def test_the_page_warns_of_freezing_from_one_vehicle_in_twenty_on() -> None:
    """Not only where most of them freeze: the caution is for the one who connects a charger."""
    shares = {}
    for charge in (0.45, 0.50, 0.53, 0.62):
        case = case_of(
            {"battery": {"capacity_ah": 60}, "vehicle": {"quiescent_a": 0.005}},
            battery={"state_of_charge": charge, "age_years": 2},
            site={"temperature_c": -20},
            run={"draws": 100, "horizon_days": 60},
        )
        drawn = run_draws(case, curves_of(case))
        share = float(np.isfinite(drawn.freezing_h).mean())
        warned = any("never charge or jump-start" in words for words in park(case).warnings)
        assert warned == (share >= 0.05)  # common practice, no source
        shares[charge] = share
    assert any(0.05 <= share < 0.5 for share in shares.values())
    assert min(shares.values()) < 0.05


def test_a_fleet_warns_of_freezing_before_most_of_them_freeze() -> None:
    """A row at a fifth says so, and one that hardly ever freezes does not."""
    charges = (0.48, 0.51, 0.54, 0.56, 0.62)
    rows = ["id;unit;quiescent_a;temperature_c;state_of_charge;capacity_ah;battery_age_years"]
    rows += [f"{charge};none;0,005;-20;{charge};60;2" for charge in charges]
    warned = {}
    for vehicle in fleet_build.answer_to("\n".join(rows)).vehicles:
        said = re.search(r"can freeze \((\d+) % of the cases\)", " ".join(vehicle.warnings))
        warned[float(vehicle.id)] = int(said[1]) if said else None
    percents = [percent for percent in warned.values() if percent is not None]
    assert min(percents) < 50
    assert min(percents) >= 5  # common practice, no source
    assert warned[0.62] is None


def test_a_fleet_names_a_worn_battery() -> None:
    """Said of one with two thirds of its current left, not of one with four fifths."""
    # Battery testers say "replace" somewhere between 60 and 80 % of the label: from memory.
    rows = "id;unit;quiescent_a;temperature_c;health\na;none;0,01;15;0,68\nb;none;0,01;15;0,82"
    causes = {v.id: v.cause for v in fleet_build.answer_to(rows).vehicles}
    assert "battery worn: 68 %" in causes["a"]
    assert "worn" not in causes["b"]


def test_a_frost_free_place_is_five_degrees_and_only_for_colder_ones() -> None:
    """What is printed is what is tried; where it is 8 °C already it is no advice."""
    base = ask(60, "continental", 350.0)

    def shelter(**site: Any) -> Any:
        tables = {**base.scenario.tables, "site": site}
        asked = StandQuestion(scenario=scenario_from_dict(tables), days=60)
        single = remedies(asked).single
        return next((way for way in single if way.keys == ("shelter",)), None), asked

    way, asked = shelter(temperature_c=-15.0)
    # Unheated garages and sheds under a house: about 5 °C in winter, common practice, no source.
    assert "above 5 °C" in way.labels[0]
    as_told = resolve(asked.changed({"site.temperature_c": 5.0}))
    drawn = run_draws(as_told, curves_of(as_told))
    assert way.risk == pytest.approx(drawn.no_start_daily[:61].mean(axis=1).max())
    assert shelter(temperature_c=8.0)[0] is None
