"""Laws that hold whatever is parked, tried through the public functions over a seeded grid."""

import datetime as dt
import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import drainsim
from drainsim.answers.driving.charge_left import charges_left, earlier
from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.storage.remedies import remedies
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.searches import capacity_search, cold_cranking_search
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict

BATTERIES = ("agm", "enhanced_flooded", "flooded_calcium", "gel", "lithium_iron_phosphate_12v")
UNITS = ("hourly", "daily", "live", "hourly_with_ladder", "never_sleeps")
PLACES: tuple[dict[str, Any], ...] = (
    {"climate": "temperate"},
    {"climate": "subarctic"},
    {"climate": "hot_desert"},
    {"temperature_c": -30.0},
    {"temperature_c": 40.0},
    {"latitude_deg": 50.0, "longitude_deg": 10.0, "altitude_m": 1500.0},
)
DAYS_OF_PARKING = ("2026-12-31", "2028-02-28", "2027-03-27", "2027-10-30")
CHARGERS: tuple[dict[str, Any], ...] = (
    {},
    {},
    {"maintainer": {"current_a": 0.05, "hours_per_day": 2.0}},
    {"solar": {"panel_w": 5.0, "latitude_deg": 45.0}},
)


def parked(seed: int) -> dict[str, Any]:
    """Return the tables of an invented vehicle."""
    pick = random.Random(seed).choice
    system = pick(("12V", "12V", "24V", "parallel", "auxiliary"))
    kind = pick(("engine", "engine", "engine", "electric", "trailer"))
    ampere_hours = pick((45.0, 80.0, 180.0))
    return {
        "battery": {
            "profile": pick(BATTERIES),
            "capacity_ah": ampere_hours,
            "cold_cranking_a": 8.5 * ampere_hours,
            "age_years": pick((0.0, 3.0, 8.0)),
            "state_of_charge": pick((0.6, 0.85, 1.0)),
            "system": system,
        },
        "unit": {"preset": pick(UNITS)},
        "vehicle": {"kind": kind, "quiescent_a": pick((0.0, 0.005, 0.05))},
        "site": {**pick(PLACES), "parked_from": pick(DAYS_OF_PARKING)},
        "run": {"draws": 100, "horizon_days": 60},
        **pick(CHARGERS),
    }


def with_key(tables: dict[str, Any], dotted: str, value: Any) -> dict[str, Any]:
    """Return tables with one value changed."""
    table, key = dotted.split(".")
    return {**tables, table: {**tables.get(table, {}), key: value}}


def days(answer: ParkAnswer) -> np.ndarray:
    """Return P10, P50, P90 and safe days; inf past the horizon."""
    found = answer.days_to_no_start
    all_days = (found.p10, found.p50, found.p90, answer.days_at_risk)
    return np.array([np.inf if value is None else value for value in all_days])


@pytest.mark.parametrize("seed", range(24))
def test_what_helps_never_shortens_and_what_draws_never_lengthens(seed: int) -> None:
    """Kirchhoff's current law: more draw empties sooner, a charger or a lighter load later."""
    tables = parked(seed)
    here = days(drainsim.park(**tables))
    assert np.all(np.diff(here[:3][np.isfinite(here[:3])]) >= 0)
    more = tables["vehicle"]["quiescent_a"] + 0.03
    assert np.all(days(drainsim.park(**with_key(tables, "vehicle.quiescent_a", more))) <= here)
    tables_with = [{**tables, "solar": {"panel_w": 20.0, "latitude_deg": 45.0}}]
    if "maintainer" not in tables:
        tables_with += [
            {**tables, "maintainer": charger}
            for charger in ({"current_a": 0.05}, {"current_a": 2.0, "from_day": 20.0})
        ]
    if tables["vehicle"]["kind"] != "trailer":
        off_v = 23.8 if tables["battery"]["system"] == "24V" else 11.9
        tables_with.append({name: table for name, table in tables.items() if name != "unit"})
        if tables["unit"]["preset"] != "hourly_with_ladder":
            tables_with.append(with_key(tables, "unit.cutoff_v", off_v))
    for helped in tables_with:
        assert np.all(days(drainsim.park(**helped)) >= here - 0.05)


@pytest.mark.parametrize("seed", range(100, 108))
def test_storage_says_what_park_says(seed: int) -> None:
    """One simulation: the same question has one answer, and a way typed in has its own risk."""
    tables, asked = parked(seed), random.Random(seed).choice((7, 21, 45))
    park, storage = drainsim.park(**tables), drainsim.storage(asked, **tables)
    told = park.course.probability_no_start[: asked + 1]
    charged = any(name in tables for name in ("maintainer", "solar"))
    assert storage.holds.risk == (told.max() if charged else told[-1])
    safe = storage.longest.days
    assert (None if safe is None else max(safe, 0)) == park.days_at_risk
    worst = told.max()
    for way in storage.remedies.single:
        if way.visit_weeks is None:
            typed_in = drainsim.park(storage.question.changed(way.changes))
            assert way.risk == typed_in.course.probability_no_start[: asked + 1].max()
            assert way.days == typed_in.days_at_risk
        # A panel has no sun in a shelter; a larger battery's usual cold cranking may be less.
        if way.keys not in (("shelter",), ("larger_battery",)):
            assert way.risk <= worst, way.what
    for solved in storage.solved:
        if solved.value is not None:
            risks = drainsim.park(storage.question.changed(solved.changes)).course
            told = risks.probability_no_start[: asked + 1]
            assert solved.risk == (told[-1] if solved.when == "on_day" else told.max())


@pytest.mark.parametrize("supply", ["switching", "linear"])
@pytest.mark.parametrize("report_interval_h", [24.0, 25.0, 48.0, 99.0, 170.0])
def test_a_start_that_fails_on_a_day_has_failed_by_then(
    report_interval_h: float, supply: str
) -> None:
    """A set holds its subsets: a battery that its protection disconnected never starts again."""
    answer = drainsim.park(
        battery={
            "profile": "lithium_iron_phosphate_12v",
            "capacity_ah": 60.0,
            "cold_cranking_a": 570.0,
            "age_years": 3.0,
        },
        vehicle={"engine_litres": 3.0, "fuel": "diesel"},
        unit={"preset": "hourly", "report_interval_h": report_interval_h, "supply": supply},
        site={"climate": "hot_desert", "parked_from": "2027-07-01"},
        run={"draws": 100, "horizon_days": 120},
    )
    days = np.arange(121)[:, None]
    failed_by = (answer.no_start_h <= 24.0 * days).mean(axis=1)
    assert np.all(failed_by >= answer.course.probability_no_start)


@pytest.mark.parametrize(("trips", "minutes"), [(4, 10), (4, 15), (10, 6), (10, 30)])
@pytest.mark.parametrize("quiescent_a", [0.02, 0.05])
def test_a_stand_begins_with_the_charges_that_driving_leaves(
    trips: int, minutes: int, quiescent_a: float
) -> None:
    """One distribution at one moment: the end of the driving is the beginning of the stand."""
    tables = {
        "battery": {"capacity_ah": 70.0, "age_years": 4.0},
        "vehicle": {"engine_litres": 2.0, "quiescent_a": quiescent_a},
        "unit": {"preset": "hourly"},
        "site": {"climate": "temperate", "parked_from": dt.date(2027, 1, 15)},
        "pattern": {"trips_per_week": trips, "trip_minutes": minutes},
        "run": {"draws": 400, "horizon_days": 7},
    }
    (left,) = charges_left([earlier(resolve(scenario_from_dict(tables)), 200)])
    course = drainsim.park(**tables).course
    begun = [course.charge_low[0], course.charge[0], course.charge_high[0]]
    assert begun == pytest.approx(np.quantile(left, [0.1, 0.5, 0.9]), abs=0.025)


PAIR: dict[str, Any] = {
    "battery": {"system": "24V", "capacity_ah": 60.0, "cold_cranking_a": 540.0, "age_years": 6.0},
    "unit": {"preset": "hourly"},
    "vehicle": {"engine_litres": 2.0},
    "site": {"climate": "temperate", "parked_from": dt.date(2026, 12, 1)},
    "run": {"draws": 100, "horizon_days": 90},
}


def ask(days: int, tables: dict[str, Any]) -> StandQuestion:
    """Return a question about a vehicle."""
    return StandQuestion(scenario=scenario_from_dict(tables), days=days)


def test_thresholds_proposed_at_24_v_are_of_the_pair() -> None:
    """Kirchhoff's voltage law: a unit on two batteries in series sees the sum of both."""
    single = with_key(PAIR, "battery.system", "12V")
    own_cutoff = with_key(PAIR, "unit.cutoff_v", 23.0)  # the unit's own: once refused
    figures = [
        {way.keys[0]: way.figures for way in remedies(ask(21, tables)).single}
        for tables in (single, PAIR, own_cutoff)
    ]
    for name, volts in {"cutoff": ("cutoff_v",), "ladder": ("first_v", "second_v")}.items():
        for key in volts:
            for pair in figures[1:]:
                assert pair[name][key] == pytest.approx(2 * figures[0][name][key], abs=0.011)
    (cutoff,) = (s for s in drainsim.storage(21, **PAIR).solved if s.key == "cutoff")
    assert cutoff.reach[0] == 16.0  # lowest voltage of supply code F (24 V), ISO 16750-2


@pytest.mark.parametrize("system", ["24V", "parallel"])
def test_a_pair_is_replaced_and_charged_together(system: str) -> None:
    """What is promised of new or full batteries is that of two new or two full ones, and says so.

    Service manuals: batteries of a bank are replaced together (common practice, no source).
    """
    tables = with_key(PAIR, "battery.system", system)
    weak = {"second_health": 0.5, "second_state_of_charge": 0.4}
    beside_weak = {**tables, "battery": {**tables["battery"], **weak}}
    alike, with_weak = (
        {way.keys[0]: way for way in remedies(ask(21, each)).single}
        for each in (tables, beside_weak)
    )
    for key in ("new_battery", "larger_battery"):
        assert with_weak[key].risk == alike[key].risk
        assert "two new, charged batteries" in with_weak[key].what
    charged = {"battery.state_of_charge": 0.97, "battery.second_state_of_charge": None}
    typed_in = drainsim.park(ask(21, beside_weak).changed(charged)).course
    assert with_weak["charge_full"].risk == typed_in.probability_no_start[:22].max()
    indoors = with_weak["battery_indoors"].changes
    assert ask(21, beside_weak).changed(indoors).get(BATTERY.second_state_of_charge) is None


@pytest.mark.parametrize("system", ["12V", "24V", "parallel", "auxiliary"])
def test_the_label_as_it_is_has_the_risk_as_it_is(system: str) -> None:
    """A search for one figure of the label of one battery leaves the others what they are."""
    tables = with_key(PAIR, "battery.system", system)
    if system == "auxiliary":
        tables = with_key(tables, "battery.isolator", "no")
    question = ask(45, tables)
    told = drainsim.storage(45, **tables).holds.risk
    for search, label in ((capacity_search, 60.0), (cold_cranking_search, 540.0)):
        changed = question.changed(search(question).change(label))
        assert drainsim.park(changed).course.probability_no_start[45] == told
    del tables["battery"]["cold_cranking_a"]
    estimated = capacity_search(ask(45, tables)).change(60.0)
    assert estimated["battery.cold_cranking_a"] == pytest.approx(540, rel=0.02)
    larger = {w.keys[0]: w for w in remedies(ask(60, tables)).single}["larger_battery"]
    assert larger.changes["battery.capacity_ah"] <= 1.6 * 60  # what a tray takes


def test_a_trailer_is_not_told_to_switch_its_unit_off() -> None:
    """The silent unit is the end of a trailer's stand: no cut-off can lengthen it."""
    tables = with_key(with_key(PAIR, "vehicle.kind", "trailer"), "battery.system", "12V")
    del tables["vehicle"]["engine_litres"]
    answer = drainsim.storage(21, **tables)
    assert "cutoff" not in {way.keys[0] for way in answer.remedies.single}
    assert "cutoff" not in {solved.key for solved in answer.solved}


def test_visited_every_week_a_start_at_any_time_fails_if_it_fails_in_any_week() -> None:
    """P(A or B) is the share of draws in A or in B, not the larger of the two shares."""
    tables = {**PAIR, "run": {"draws": 200, "horizon_days": 14}}
    tables = with_key(with_key(tables, "battery.system", "12V"), "battery.state_of_charge", 0.97)
    tables = with_key(with_key(tables, "site.climate", "continental"), "battery.age_years", 3.0)
    first = with_key(tables, "run.horizon_days", 7)
    weeks = first, with_key(first, "site.parked_from", dt.date(2026, 12, 8))
    failed = [np.isfinite(drainsim.park(**week).no_start_h) for week in weeks]
    assert (failed[0] | failed[1]).mean() > max(each.mean() for each in failed)
    question = replace(ask(14, tables), when="any_time", risk=0.5)
    (visits,) = (way for way in remedies(question).single if way.visit_weeks)
    assert visits.risk == (failed[0] | failed[1]).mean()


def test_visits_that_do_not_hold_have_the_risk_of_their_worst_week() -> None:
    """The risk of a way is that of the worst day until the days asked, not of the first failure."""
    tables = with_key(with_key(PAIR, "battery.system", "12V"), "battery.state_of_charge", 0.9)
    tables = with_key(tables, "site.climate", "continental")
    (visits,) = (way for way in remedies(ask(60, tables)).single if way.visit_weeks)
    weeks = []
    for begin in range(0, 60, 7):
        week = with_key(tables, "site.parked_from", dt.date(2026, 12, 1) + dt.timedelta(days=begin))
        week = with_key(week, "run.horizon_days", min(7, 60 - begin))
        week = with_key(week, "battery.state_of_charge", 0.97) if begin else week
        weeks.append(drainsim.park(**week).course.probability_no_start.max())
    assert weeks[0] < max(weeks)
    assert visits.risk == max(weeks)


def test_a_charger_that_is_there_is_judged_as_one_that_is_offered() -> None:
    """A battery that was dead for weeks is not ready because it recovers by the last day."""
    table = {"current_a": 5.0, "from_day": 40.0}
    plain = with_key(with_key(PAIR, "battery.system", "12V"), "battery.age_years", 5.0)
    there = {**plain, "maintainer": table}
    told = drainsim.park(**{**there, "run": {"draws": 100, "horizon_days": 60}}).course
    assert told.probability_no_start[-1] <= 0.05 < told.probability_no_start.max()
    answer = drainsim.storage(60, **there)
    assert answer.verdict != "yes"
    assert answer.holds.risk == answer.remedies.risk_now == told.probability_no_start.max()


def test_a_battery_that_is_disconnected_is_not_topped_up_from_the_traction_battery() -> None:
    """An open circuit carries no current."""
    plain = with_key(with_key(PAIR, "vehicle.kind", "electric"), "battery.system", "12V")
    del plain["vehicle"]["engine_litres"]
    plain = with_key(plain, "battery.state_of_charge", 0.12)
    topped_up = {**plain, "top_up": {"every_h": 24.0}}
    risks = [
        {way.keys[0]: way.risk for way in remedies(ask(30, tables)).single}["disconnect"]
        for tables in (plain, topped_up)
    ]
    assert risks[0] == risks[1]
