"""The direct stand gives what the stepped one gives, lane by lane."""

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.answers.standing.park import run_draws
from drainsim.physics.capacity import deficit_share
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import curves_of, tabulate_curves
from drainsim.simulation.blocks import case_block_h
from drainsim.simulation.chargers import drawn_loads
from drainsim.simulation.draws import standard_draws, weather_of_draw
from drainsim.simulation.lanes import Lanes, drawn_weather, lanes_from_draws
from drainsim.simulation.outcome import Event, Stand
from drainsim.simulation.standing import direct_stand as module
from drainsim.simulation.standing.direct_charge import DirectCharge
from drainsim.simulation.standing.direct_stand import direct_stand, runs_directly
from drainsim.simulation.standing.silence import as_silence
from drainsim.simulation.standing.stepped_stand import SteppedStand
from drainsim.vehicle.case import Case
from tests.build import case_of, profiles

HOURS = ("no_start_h", "start_hour_no_start_h", "freezing_h", "end_day")
CLIMATES = ("subarctic", "continental", "temperate", "hot_desert")


@st.composite
def scenarios(draw: st.DrawFn) -> dict[str, Any]:
    """Return a vehicle of any kind, battery, system, place, unit and charger."""
    vehicle: dict[str, Any] = {"quiescent_a": draw(st.sampled_from([0.0, 0.01, 0.03, 0.15, 0.9]))}
    battery: dict[str, Any] = {
        "profile": draw(st.sampled_from(sorted(profiles()))),
        "capacity_ah": draw(st.sampled_from([12, 45, 60, 95])),
        "state_of_charge": draw(st.floats(0.03, 1.0)),
        "age_years": draw(st.floats(0.0, 8.0)),
    }
    kind = draw(st.sampled_from(["car", "truck", "trailer", "motorcycle"]))
    if kind in {"trailer", "motorcycle"}:
        vehicle["kind"] = kind
    else:
        vehicle["engine_litres"] = draw(st.floats(0.8, 5.0))
        vehicle["fuel"] = draw(st.sampled_from(["petrol", "diesel"]))
        vehicle["block_heater_k"] = draw(st.sampled_from([0.0, 5.0, 20.0]))
        vehicle["battery_heater_k"] = draw(st.sampled_from([0.0, 10.0]))
    if kind == "truck":
        battery["system"] = "24V"
    tables: dict[str, Any] = {
        "battery": battery,
        "vehicle": vehicle,
        "site": draw(
            st.one_of(
                st.fixed_dictionaries({"temperature_c": st.floats(-38, 45)}),
                st.fixed_dictionaries({"climate": st.sampled_from(CLIMATES)}),
            )
        ),
        "run": {
            "horizon_days": draw(st.sampled_from([8, 40, 120])),
            "draws": 100,
            "seed": draw(st.integers(0, 999)),
        },
    }
    if kind == "trailer" or draw(st.booleans()):
        tables["unit"] = {
            "sleep_a": draw(st.floats(0, 0.03)),
            "report_interval_h": draw(st.sampled_from([0.1, 1.0, 24.0])),
            "report_charge_as": draw(st.floats(0, 40)),
            "supply": draw(st.sampled_from(["switching", "linear"])),
        }
        if draw(st.booleans()):
            tables["unit"]["cutoff_v"] = draw(st.sampled_from([11.7, 11.95, 12.1]))
        if draw(st.booleans()):
            tables["unit"]["ladder"] = [
                {"below_v": 12.4, "report_interval_h": 12.0},
                {"below_v": 12.2, "report_interval_h": 48.0},
            ]
    charger = draw(st.sampled_from(["none", "none", "panel", "other", "maintainer"]))
    if charger == "panel":
        tables["solar"] = {"panel_w": draw(st.sampled_from([2, 10, 60])), "latitude_deg": 50}
    elif charger == "other":
        current_a = draw(st.sampled_from([-2.0, -0.2, -0.04, -0.01, 0.05]))
        tables["other"] = [{"name": "x", "current_a": current_a}]
    elif charger == "maintainer":
        tables["maintainer"] = {"current_a": draw(st.sampled_from([0.3, 2.0]))}
    return tables


def lanes_of(case: Case, *, seed: int | None = None) -> Lanes:
    """Return the case's draws, parked on different days where a seed is given."""
    lanes = lanes_from_draws(case, standard_draws(case.draws, case.seed))
    lanes = replace(lanes, weather=weather_of_draw(case.draws))
    if seed is None:
        return lanes
    days = np.random.default_rng(seed).integers(0, case.horizon_days, case.draws)
    return replace(lanes, start_day=days)


def both(
    case: Case, lanes: Lanes, *, course: bool = False, to_the_end: bool = False, snapshot: int = 0
) -> tuple[Stand, Stand]:
    """Return (direct, stepped) stands."""
    curves, loads = curves_of(case), drawn_loads(case)
    how: dict[str, Any] = {
        "horizon_days": case.horizon_days,
        "step_h": case_block_h(case),
        "course": course,
        "to_the_end": to_the_end,
        "snapshot_day": snapshot,
        "ends": (Event.NO_START,) if case.vehicle.starts else (Event.UNIT_OFF, Event.EMPTY),
    }
    direct = direct_stand(lanes, curves, loads, drawn_weather(case), **how)
    weather = drawn_weather(case)
    stepped = SteppedStand(
        all_lanes=lanes, curves=curves, all_loads=loads, weather=weather, balances=False, **how
    )
    return direct, stepped.run()


def compare(direct: Stand, stepped: Stand) -> None:
    """Assert that two stands are the same but for rounding."""
    for name in HOURS:
        assert_array_equal(getattr(direct, name), getattr(stepped, name), err_msg=name)
    assert_array_equal(direct.no_start_daily, stepped.no_start_daily)
    # Hours of crossings within a block: 1e-9 of charge over its slowest fall.
    assert_allclose(direct.half_charge_h, stepped.half_charge_h, rtol=1e-7)
    assert_allclose(direct.snapshot_charge, stepped.snapshot_charge, rtol=0, atol=1e-9)
    for name in ("balance", "end_balance"):
        for one, other in zip(getattr(direct, name), getattr(stepped, name), strict=True):
            assert_allclose(one, other, rtol=0, atol=1e-7, err_msg=name)
    if stepped.trace is not None:
        assert direct.trace is not None
        for name in ("charge", "margin", "temperature_c"):
            one, other = getattr(direct.trace, name), getattr(stepped.trace, name)
            assert_allclose(one, other, rtol=0, atol=1e-8 if name == "margin" else 1e-9)


@settings(max_examples=60)
@given(
    tables=scenarios(),
    course=st.booleans(),
    parked=st.one_of(st.none(), st.integers(0, 999)),
    snapshot=st.sampled_from([0, 5, 30]),
)
def test_the_same_as_stepped(
    tables: dict[str, Any], course: bool, parked: int | None, snapshot: int
) -> None:
    """Charge and balance to rounding, every failing hour and day exactly."""
    case = case_of(tables)
    lanes = lanes_of(case, seed=parked)
    curves = curves_of(case)
    if not runs_directly(lanes, curves, step_h=case_block_h(case)):
        return
    ends = not case.vehicle.starts
    direct, stepped = both(case, lanes, course=course, to_the_end=ends, snapshot=snapshot)
    compare(direct, stepped)
    if ends or course:  # else a lane may be let go before it is empty
        assert_allclose(direct.empty_h, stepped.empty_h, rtol=1e-7)
        assert_allclose(direct.unit_off_h, stepped.unit_off_h, rtol=1e-7)


FROZEN = {
    "battery": {"capacity_ah": 60, "state_of_charge": 0.9, "age_years": 2},
    "vehicle": {"quiescent_a": 0.02},
    "unit": {"preset": "hourly"},
    "other": [{"name": "lamp", "current_a": 0.005}],
    "site": {"climate": "temperate", "parked_from": dt.date(2026, 11, 20)},
    "run": {"horizon_days": 120, "draws": 200},
}


def test_the_comparison_is_not_one_of_empty_answers() -> None:
    """A winter in which most lanes fail at different hours and some freeze, in parts as well."""
    case = case_of(FROZEN)
    direct, stepped = both(case, lanes_of(case), course=True)
    compare(direct, stepped)
    assert np.isfinite(direct.no_start_h).mean() > 0.5
    assert len(np.unique(direct.no_start_h)) > 50
    assert 0.02 < np.isfinite(direct.freezing_h).mean() < 0.98


def test_batteries_are_empty_at_the_same_hour_in_weather_that_changes() -> None:
    """The hour within a block, and the balance it closes, are those of the block's own loss."""
    tables = {**FROZEN, "battery": {**FROZEN["battery"], "state_of_charge": 0.3}}
    case = case_of({**tables, "vehicle": {"quiescent_a": 0.0}, "unit": {"sleep_a": 0.005}})
    direct, stepped = both(case, lanes_of(case), to_the_end=True)
    compare(direct, stepped)
    assert np.isfinite(stepped.empty_h).sum() > 50
    assert_allclose(direct.empty_h, stepped.empty_h, rtol=1e-9)


@pytest.mark.parametrize("charge", [0.0, 0.1])
def test_a_battery_flat_at_parking_stands_as_any_other(charge: float) -> None:
    """Parked on whatever day, it is looked at for the day after."""
    battery = {**FROZEN["battery"], "state_of_charge": charge}
    case = case_of({**FROZEN, "battery": battery, "site": {"temperature_c": 20.0}})
    direct, stepped = both(case, lanes_of(case, seed=3))
    compare(direct, stepped)
    assert np.isfinite(stepped.no_start_h).all()


def test_what_a_full_battery_refuses_is_neither_drawn_nor_lost() -> None:
    """All a maintainer offers is refused but what makes up for 0.1 % of self-discharge a day."""
    case = case_of(
        {
            "battery": {"profile": "flooded_calcium", "capacity_ah": 60, "state_of_charge": 1.0},
            "vehicle": {"quiescent_a": 0.0, "key_off_stages": []},
            "other": [{"name": "maintainer", "current_a": -1.0}],
            "site": {"temperature_c": 25},
            "run": {"horizon_days": 20, "draws": 100},
        }
    )
    ends = run_draws(case, curves_of(case)).balance
    offered_ah = 1.0 * 24.0 * 20
    assert_allclose(-ends.other_ah, offered_ah)
    assert_allclose(np.median(ends.refused_ah), offered_ah, rtol=0.01)
    # rtol: a hundred draws of a rate that differs by half from battery to battery.
    assert_allclose(np.median(ends.lost_ah / ends.left_ah), 20 * 0.001, rtol=0.35)


def test_units_that_change_mode_within_blocks_are_split_there() -> None:
    """A ladder and a cut-off passed at different hours of many days, and mended on the way."""
    unit = {
        "sleep_a": 0.03,
        "ladder": [{"below_v": 12.5, "report_interval_h": 24.0}],
        "cutoff_v": 12.2,
        "resume_v": 12.25,
    }
    case = case_of({**FROZEN, "unit": unit, "site": {"climate": "continental"}})
    direct, stepped = both(case, lanes_of(case), course=True)
    compare(direct, stepped)
    assert_allclose(direct.unit_off_h, stepped.unit_off_h, rtol=1e-9)
    off_h = direct.unit_off_h[np.isfinite(direct.unit_off_h)]
    assert len(np.unique(off_h)) > 50
    assert (off_h % 24.0 > 0.01).mean() > 0.5


def test_a_unit_below_its_cut_off_at_parking_is_off_though_the_voltage_rises() -> None:
    """30 % of charge rest well below 12.4 V: off from the first moment, charger or not."""
    case = case_of(
        {
            "battery": {"capacity_ah": 60, "state_of_charge": 0.3},
            "unit": {"sleep_a": 0.05, "cutoff_v": 12.4, "resume_v": 12.6},
            "other": [{"name": "charger", "current_a": -1.0}],
            "site": {"temperature_c": 20},
            "run": {"draws": 100, "horizon_days": 20},
        }
    )
    for stand in both(case, lanes_of(case), to_the_end=True):
        assert_array_equal(stand.unit_off_h, 0.0)


def test_without_an_engine_a_stand_ends_on_the_day_its_unit_goes_off() -> None:
    """A trailer's unit that cuts off is looked for in blocks of hours, each lane on its own day."""
    case = case_of(
        {
            "battery": {"capacity_ah": 60},
            "vehicle": {"kind": "trailer", "quiescent_a": 0.1},
            "unit": {"sleep_a": 0.4, "cutoff_v": 12.2, "off_a": 0.0},
            "site": {"temperature_c": 10},
            "run": {"draws": 100, "horizon_days": 90},
        }
    )
    assert case_block_h(case) < 12.0
    direct, stepped = both(case, lanes_of(case))
    compare(direct, stepped)
    assert_array_equal(direct.end_day, np.ceil(direct.unit_off_h / 24.0))
    assert len(np.unique(direct.end_day)) >= 5
    silent = as_silence(stepped)  # first seen on the first day it is silent on
    assert_array_equal(silent.start_hour_no_start_h, 24.0 * silent.no_start_daily.argmax(axis=0))


@pytest.mark.parametrize("profile", ["flooded_calcium", "lithium_iron_phosphate_12v"])
def test_bounds_hold_in_the_coldest_and_the_warmest_hour(profile: str) -> None:
    """At `sure` every lane starts in the coldest hour there is, at `lost` none in the warmest."""
    tables = {**FROZEN, "battery": {**FROZEN["battery"], "profile": profile}}
    case = case_of(tables)
    lanes, curves = lanes_of(case), curves_of(case)
    blocks = drawn_weather(case).blocks(24, case.horizon_days)
    charge = DirectCharge(
        lanes=lanes,
        curves=curves,
        loads=drawn_loads(case),
        blocks=blocks,
        step_h=24,
        keeps_all=True,
        snapshot_day=0,
        every_day=True,
        space=np.empty((case.horizon_days + 1, case.draws)),
        lend=lambda rows, columns: np.empty((rows, columns)),
    )

    def margin(at: FloatArray, temperature_c: FloatArray, after_h: float) -> FloatArray:
        usable = curves.usable_charge(
            at,
            drawn_a=charge.current_a(np.full(case.draws, 1), np.arange(case.draws)),
            full_ah=lanes.full_ah,
            low_charge_shift=lanes.low_charge_shift,
            deficit=deficit_share(after_h, lanes.catch_up_per_h),
        )
        there_c = temperature_c[lanes.weather]
        return curves.margin(usable, there_c, lanes.demand_ratio, lanes.oil_k, lanes.cold_fall)

    inside = charge.bounds.sure <= 1.0
    assert inside.any()
    assert (margin(charge.bounds.sure, blocks.low_c.min(axis=0), np.inf)[inside] >= 1.0).all()
    assert (margin(charge.bounds.lost, blocks.end_c.max(axis=0), 0.0) < 1.0).all()


def test_parts_of_the_lanes_answer_as_all_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many lanes are worked on at once, nothing changes."""
    case = case_of(FROZEN)
    lanes = lanes_of(case, seed=3)
    together, _ = both(case, lanes, course=True)
    monkeypatch.setattr(module, "_LEAST_LANES", 70)
    monkeypatch.setattr(module, "_CELLS", 1)
    parts, stepped = both(case, lanes, course=True)
    compare(parts, stepped)
    assert_array_equal(parts.no_start_h, together.no_start_h)


@pytest.mark.parametrize(
    ("tables", "falls"),
    [
        ({}, True),
        ({"unit": {"preset": "hourly"}}, True),
        ({"unit": {"preset": "hourly", "cutoff_v": 12.0}}, True),
        ({"other": [{"name": "charger", "current_a": -0.5}]}, True),
        ({"other": [{"name": "load", "current_a": 0.5}]}, True),
        ({"solar": {"panel_w": 20, "latitude_deg": 45}}, True),
        ({"vehicle": {"quiescent_a": 4.0}}, False),  # blocks under an hour
    ],
)
def test_blocks_under_an_hour_are_stepped(tables: dict[str, Any], falls: bool) -> None:
    """Whatever charges or switches may be there, blocks of whole hours are not."""
    case = case_of({"battery": {"capacity_ah": 60}, "run": {"draws": 100}, **tables})
    lanes = lanes_of(case)
    taken = runs_directly(lanes, curves_of(case), step_h=case_block_h(case))
    assert taken is falls


def test_charge_that_cranks_worse_when_fuller_is_stepped() -> None:
    """At 6 V the headroom of a lithium battery gains less with charge than the rating's 7.2 V."""
    case = case_of({"battery": {"capacity_ah": 60}, "run": {"draws": 100}})
    low = tabulate_curves(profiles()["lithium_iron_phosphate_12v"], minimum_v=6.0)
    assert not low.monotone
    assert not runs_directly(lanes_of(case), low, step_h=24.0)


@pytest.mark.parametrize("charger", [{}, {"maintainer": {"current_a": 0.3}}])
def test_a_wide_spread_at_low_charge_is_the_same_as_stepped(charger: dict[str, Any]) -> None:
    """Lanes whose collapse of cranking is shifted far below the profile's take no other way."""
    tables = {**FROZEN, "uncertainty": {"low_charge_sd": 0.29}, **charger}
    case = case_of(tables)
    lanes = lanes_of(case)
    assert lanes.low_charge_shift.min() < -0.6
    assert runs_directly(lanes, curves_of(case), step_h=24.0)
    compare(*both(case, lanes))


@pytest.mark.parametrize("key", sorted(profiles()))
@pytest.mark.parametrize("turns_engine", [True, False])
def test_curves_are_monotone_where_bounds_rely_on_it(key: str, turns_engine: bool) -> None:
    """All profiles at usual voltages; below the rating's 7.2 V the headroom turns round."""
    curves = tabulate_curves(profiles()[key], minimum_v=7.5, turns_engine=turns_engine)
    assert curves.monotone
    wanted = np.linspace(0.0, 1.2 * curves.cranking_by_charge.max(), 500)
    found = curves.charge_that_cranks(wanted)
    inside = (found >= 0.0) & (found <= 1.0)
    assert_allclose(curves.cranking_by_charge_at(found[inside]), wanted[inside], atol=1e-9)
    assert (curves.cranking_by_charge[0] >= wanted[found < 0.0]).all()
    assert (curves.cranking_by_charge[-1] < wanted[found > 1.0]).all()


@pytest.mark.parametrize("cutoff_v", [None, 11.6, 12.0])
def test_lanes_that_a_weak_charger_cannot_keep_from_empty_are_the_same(
    cutoff_v: float | None,
) -> None:
    """Blocks that end empty while a panel charges, with and without a unit that switches there."""
    unit = {"sleep_a": 0.2, "report_charge_as": 0.0, "supply": "switching"}
    tables = {
        "battery": {"capacity_ah": 12, "state_of_charge": 0.35},
        "vehicle": {"quiescent_a": 0.25},
        "unit": unit if cutoff_v is None else {**unit, "cutoff_v": cutoff_v},
        "solar": {"panel_w": 3, "latitude_deg": 50},
        "site": {"climate": "temperate", "parked_from": dt.date(2026, 11, 20)},
        "run": {"horizon_days": 12, "draws": 100},
    }
    case = case_of(tables)
    lanes, curves = lanes_of(case), curves_of(case)
    assert runs_directly(lanes, curves, step_h=6.0)
    how: dict[str, Any] = {
        "horizon_days": 12,
        "step_h": 6.0,
        "course": True,
        "to_the_end": True,
        "snapshot_day": 0,
        "ends": (Event.NO_START,),
    }
    loads, weather = drawn_loads(case), drawn_weather(case)
    direct = direct_stand(lanes, curves, loads, weather, **how)
    stepped = SteppedStand(
        all_lanes=lanes, curves=curves, all_loads=loads, weather=weather, balances=False, **how
    ).run()
    compare(direct, stepped)
    assert np.isfinite(stepped.empty_h).all()


def test_lanes_parked_in_the_first_days_wait_for_their_own() -> None:
    """In blocks of a day, parked on the first, second and third day, with and without a panel."""
    for more in ({}, {"solar": {"panel_w": 3, "latitude_deg": 50}}):
        tables = {**FROZEN, **more, "run": {"horizon_days": 30, "draws": 100}}
        case = case_of(tables)
        lanes = replace(lanes_of(case), start_day=np.arange(100) % 3)
        assert case_block_h(case) == 24.0
        compare(*both(case, lanes, course=True, snapshot=5))


def test_a_lane_is_the_same_beside_lanes_that_empty_or_switch_in_the_same_block() -> None:
    """Five lanes together and each alone: charge, hours and what every load drew."""
    unit = {"sleep_a": 0.2, "report_charge_as": 0.0, "cutoff_v": 11.9, "off_a": 0.05}
    tables = {
        "battery": {"capacity_ah": 12, "state_of_charge": 0.4},
        "vehicle": {"quiescent_a": 0.25},
        "unit": unit,
        "site": {"temperature_c": 5},
        "run": {"horizon_days": 6, "draws": 100},
    }
    case = case_of(tables)
    lanes, curves, loads = lanes_of(case).take(np.arange(5)), curves_of(case), drawn_loads(case)

    def stood(some: Lanes) -> Stand:
        return SteppedStand(
            all_lanes=some,
            curves=curves,
            all_loads=loads,
            weather=drawn_weather(case),
            horizon_days=6,
            step_h=24.0,
            course=True,
            balances=False,
            to_the_end=True,
            snapshot_day=0,
            ends=(Event.EMPTY,),
        ).run()

    together = stood(lanes)
    assert np.isfinite(together.unit_off_h).any()
    assert np.isfinite(together.empty_h).all()
    for number in range(5):
        alone = stood(lanes.take(np.array([number])))
        for name in (*HOURS[:3], "empty_h", "unit_off_h"):
            assert_allclose(getattr(together, name)[number], getattr(alone, name)[0], err_msg=name)
        for ours, own in zip(together.balance, alone.balance, strict=True):
            assert_allclose(ours[number], own[0], atol=1e-9)
