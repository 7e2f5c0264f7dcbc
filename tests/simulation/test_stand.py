"""A stand: the charge balance closes, steps do not matter, more never means less."""

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.answers.standing.park import run_draws
from drainsim.physics.self_discharge import hours_to_reach_h, loss_rate_per_h
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import standard_draws
from drainsim.simulation.lanes import lanes_from_draws, loads_of, nominal_weather
from drainsim.simulation.standing.stand import Stand, run_stand
from drainsim.vehicle.case import Case
from tests.build import MUST_SHOW, case_of, nominal_days, nominal_stand

PROFILES = ("flooded_antimony", "flooded_calcium", "enhanced_flooded", "agm", "gel")
CLIMATES = ("subarctic", "temperate", "humid_subtropical", "hot_desert")


@st.composite
def scenarios(draw: st.DrawFn, *, recharged: bool = True) -> dict[str, Any]:
    """Return a random parked vehicle, often with a unit, a ladder, a cut-off or a maintainer."""
    tables: dict[str, Any] = {
        "battery": {
            "profile": draw(st.sampled_from(PROFILES)),
            "capacity_ah": draw(st.floats(25, 100)),
            "state_of_charge": draw(st.one_of(st.floats(0.6, 1.0), st.floats(0.05, 1.0))),
            "age_years": draw(st.floats(0, 8)),
        },
        "vehicle": {
            "quiescent_a": draw(st.sampled_from([0.03, 0.0, 0.065, 0.15, 0.4, 3.0])),
            "engine_litres": draw(st.floats(0.8, 3.0)),
            "fuel": draw(st.sampled_from(["petrol", "diesel"])),
        },
        "site": draw(
            st.one_of(
                st.fixed_dictionaries({"temperature_c": st.floats(-25, 45)}),
                st.fixed_dictionaries({"climate": st.sampled_from(CLIMATES)}),
            )
        ),
        "run": {
            "horizon_days": draw(st.integers(5, 70)),
            "draws": 100,
            "seed": draw(st.integers(0, 99)),
        },
    }
    kind = draw(st.sampled_from(["none", "plain", "cutoff", "ladder"]))
    if kind != "none":
        unit: dict[str, Any] = {
            "sleep_a": draw(st.floats(0, 0.02)),
            "report_interval_h": draw(st.sampled_from([0.1, 1.0, 24.0])),
            "report_charge_as": draw(st.floats(0, 40)),
            "supply": draw(st.sampled_from(["switching", "linear"])),
            "self_test_charge_as": draw(st.sampled_from([0.0, 30.0])),
        }
        if kind != "plain":
            unit["cutoff_v"] = draw(st.sampled_from([11.7, 11.95, 12.1]))
        if kind == "ladder":
            unit["ladder"] = [
                {"below_v": 12.4, "report_interval_h": 12.0},
                {"below_v": 12.2, "report_interval_h": 48.0},
            ]
        tables["unit"] = unit
    if recharged and draw(st.booleans()):
        tables["other"] = [
            {"name": "maintainer", "current_a": draw(st.sampled_from([-2.0, -0.2, -0.04, -0.01]))}
        ]
    return tables


def drawn(case: Case, *, trace: bool) -> Stand:
    """Return the stand of the case's random draws."""
    curves = curves_of(case)
    return run_draws(case, curves, trace=trace)


@settings(max_examples=30)
@given(tables=scenarios())
def test_charge_is_never_made_or_lost(tables: dict[str, Any]) -> None:
    """At every start hour: drawn + lost + refused + left = charge at parking, to 1e-9 Ah."""
    stand = drawn(case_of(tables), trace=True)
    assert stand.trace is not None
    balance = stand.daily_balance
    total = (
        balance.vehicle_ah
        + balance.unit_ah
        + balance.other_ah
        + balance.lost_ah
        + balance.refused_ah
        + balance.left_ah
    )
    start = total[0]
    assert_allclose(total, np.broadcast_to(start, total.shape), rtol=0, atol=1e-9)
    assert (balance.left_ah >= 0.0).all()
    assert (balance.refused_ah >= 0.0).all()
    assert (np.diff(balance.unit_ah, axis=0) >= 0.0).all()
    assert (stand.trace.charge <= 1.0 + 1e-12).all()


def test_the_books_start_with_the_charge_at_parking() -> None:
    """What the balance adds up to is capacity at milliamperes x health x charge."""
    case = case_of(MUST_SHOW, battery={"health": 0.8}, vehicle={"quiescent_a": 0.05})
    balance = nominal_stand(case).balance
    start = 60 * 1.08 * 0.8 * 0.9  # label x low-rate gain of the profile x health x charge
    assert_allclose(sum(float(entry[0]) for entry in balance), start, rtol=1e-12)


@settings(max_examples=24)
@given(tables=scenarios())
def test_halving_the_step_barely_moves_the_answer(tables: dict[str, Any]) -> None:
    """Half the block length changes the nominal days by less than 0.5 % or one hour."""
    # One hour: a no-start is looked for at whole hours, so an instant either side of one may
    # land on the next. 0.5 %: a switching unit's current follows the voltage block by block.
    case = case_of(tables)
    whole = nominal_stand(case)
    half = nominal_stand(case, step_h=whole.step_h / 2)
    days, finer = whole.no_start_h[0] / 24, half.no_start_h[0] / 24
    if np.isinf(days) != np.isinf(finer):  # one sits on the horizon
        assert min(days, finer) >= case.horizon_days * 0.995 - 1 / 24
    elif np.isfinite(days):
        assert abs(days - finer) <= max(0.005 * days, 1.01 / 24)


@settings(max_examples=24)
@given(tables=scenarios())
def test_keeping_a_trace_changes_nothing(tables: dict[str, Any]) -> None:
    """A run that drops decided lanes answers as one that keeps them all."""
    case = case_of(tables)
    kept, dropped = drawn(case, trace=True), drawn(case, trace=False)
    assert_array_equal(kept.no_start_h, dropped.no_start_h)
    assert_array_equal(kept.start_hour_no_start_h, dropped.start_hour_no_start_h)
    assert_array_equal(kept.no_start_daily, dropped.no_start_daily)


def test_dropped_lanes_that_a_maintainer_revives_still_start_again() -> None:
    """A flat vehicle whose unit has cut off recovers on a small maintainer, traced or not."""
    tables = {
        "battery": {"capacity_ah": 40, "state_of_charge": 0.2},
        "vehicle": {"quiescent_a": 0.01},
        "unit": {"sleep_a": 0.53, "report_charge_as": 0, "supply": "linear", "cutoff_v": 11.93},
        "uncertainty": {
            "unit_sigma": 0.0,
            "quiescent_sigma": 0.0,
            "open_circuit_offset_sd_v": 0.0,  # one cut-off charge for all draws
        },
        "other": [{"name": "solar", "current_a": -0.5}],
        "site": {"temperature_c": 20},
        "run": {"horizon_days": 60, "draws": 100},
    }
    case = case_of(tables)
    kept, dropped = drawn(case, trace=True), drawn(case, trace=False)
    assert kept.no_start_daily[5].mean() > 0.5  # flat at first
    assert kept.no_start_daily[-1].mean() < 0.5  # and back later
    assert_array_equal(kept.no_start_daily, dropped.no_start_daily)


@settings(max_examples=12)
@given(tables=scenarios())
def test_an_array_of_lanes_answers_like_each_lane_alone(tables: dict[str, Any]) -> None:
    """A lane's fate does not depend on the lanes it runs with."""
    case = case_of(tables)
    curves = curves_of(case)
    draws = standard_draws(100, case.seed)
    lanes = lanes_from_draws(case, draws)
    index = np.arange(0, 100, 20)
    few = replace(lanes.take(index), weather=np.arange(len(index)))
    season = draws["low_charge"][index]

    def run(chosen: Any, z: Any) -> Stand:
        return run_stand(
            chosen,
            curves,
            loads_of(case),
            nominal_weather(case, z),
            horizon_days=case.horizon_days,
            step_h=6.0,
            trace=True,  # else decided lanes leave before half charge, empty ... are dated
        )

    together = run(few, season)
    for lane in range(len(index)):
        alone = run(
            replace(few.take(np.array([lane])), weather=np.array([0])), season[lane : lane + 1]
        )
        for name in ("no_start_h", "half_charge_h", "empty_h", "unit_off_h", "freezing_h"):
            assert_allclose(getattr(alone, name)[0], getattr(together, name)[lane], rtol=1e-12)
        assert_array_equal(alone.no_start_daily[:, 0], together.no_start_daily[:, lane])


# Inputs where physics says which way the days go, at a constant temperature. Warmth is not among
# them: it cranks better but discharges itself faster.
MORE_IS_LONGER: dict[str, tuple[str, str, float, float]] = {
    "charge": ("battery", "state_of_charge", 0.3, 1.0),
    "capacity": ("battery", "capacity_ah", 30.0, 120.0),
    "health": ("battery", "health", 0.4, 1.0),
    "cranking health": ("battery", "cranking_health", 0.4, 1.0),
    "report interval": ("unit", "report_interval_h", 0.1, 48.0),
}
MORE_IS_SHORTER: dict[str, tuple[str, str, float, float]] = {
    "quiescent current": ("vehicle", "quiescent_a", 0.0, 0.5),
    "unit's sleep current": ("unit", "sleep_a", 0.0, 0.2),
    "report charge": ("unit", "report_charge_as", 0.0, 100.0),
    "engine size": ("vehicle", "engine_litres", 0.8, 5.0),
    "cranking demand": ("vehicle", "cranking_demand_a", 60.0, 400.0),
    "age": ("battery", "age_years", 0.0, 10.0),
    "voltage needed": ("vehicle", "minimum_cranking_v", 7.0, 10.5),
    "coverage": ("unit", "coverage", 1.0, 10.0),
}
BASE: dict[str, Any] = {
    "battery": {"capacity_ah": 60, "cold_cranking_a": 540, "state_of_charge": 0.9},
    "vehicle": {"quiescent_a": 0.03, "key_off_stages": []},
    "unit": {"sleep_a": 0.004, "report_interval_h": 1.0, "report_charge_as": 7.0},
    "site": {"temperature_c": 10},
    "run": {"horizon_days": 365, "draws": 100},
}


@pytest.mark.parametrize("name", [*MORE_IS_LONGER, *MORE_IS_SHORTER])
@settings(max_examples=12)
@given(
    shares=st.tuples(st.floats(0, 1), st.floats(0, 1)),
    temperature_c=st.sampled_from([-18.0, 0.0, 25.0]),
    profile=st.sampled_from(PROFILES),
)
def test_more_of_it_never_goes_the_wrong_way(
    name: str, shares: tuple[float, float], temperature_c: float, profile: str
) -> None:
    """More charge, capacity or health never stands shorter; more draw or need never longer."""
    # Slack of an hour and 0.5 %: the resolution of the search and of the block, as above.
    table, key, low, high = (MORE_IS_LONGER | MORE_IS_SHORTER)[name]

    def days(share: float) -> float:
        tables = {**BASE, "site": {"temperature_c": temperature_c}}
        tables["battery"] = {**BASE["battery"], "profile": profile}
        if key == "capacity_ah":
            tables["battery"].pop("cold_cranking_a")
        tables[table] = {**tables[table], key: low + share * (high - low)}
        return nominal_days(case_of(tables))

    less, more = (days(share) for share in sorted(shares))
    if name in MORE_IS_SHORTER:
        less, more = more, less
    assert more >= less * 0.995 - 1.01 / 24


@settings(max_examples=20)
@given(
    temperatures=st.tuples(st.floats(-35, 50), st.floats(-35, 50)),
    profile=st.sampled_from(PROFILES),
)
def test_without_self_discharge_colder_never_stands_longer(
    temperatures: tuple[float, float], profile: str
) -> None:
    """With the loss drawn to nothing, only cranking is left of temperature, and cold hurts it."""

    def days(temperature_c: float) -> float:
        case = case_of(BASE, battery={"profile": profile}, site={"temperature_c": temperature_c})
        figures = dict(case.battery.profile.figures)
        none = replace(figures["self_discharge_per_day"], value=0.0)
        still = replace(case.battery.profile, figures={**figures, "self_discharge_per_day": none})
        return nominal_days(replace(case, battery=replace(case.battery, profile=still)))

    cold, warm = (days(t) for t in sorted(temperatures))
    assert warm >= cold - 1.01 / 24


def test_heat_destroys_charge_that_cold_only_hides() -> None:
    """A stand without any load ends in the heat by self-discharge, not at 10 °C."""
    still = {"vehicle": {"quiescent_a": 0.0}, "battery": {"profile": "flooded_antimony"}}
    plain = {k: v for k, v in BASE.items() if k != "unit"}
    hot = nominal_days(case_of(plain, **still, site={"temperature_c": 45}))
    cool = nominal_days(case_of(plain, **still, site={"temperature_c": 10}))
    assert hot < 100
    assert cool > 250


@settings(max_examples=25)
@given(tables=scenarios(recharged=False), interval_h=st.sampled_from([2.0, 12.0, 168.0]))
def test_a_ladder_never_shortens_the_stand(tables: dict[str, Any], interval_h: float) -> None:
    """Reporting less often below a voltage cannot end the stand sooner."""
    unit = {"sleep_a": 0.002, "report_interval_h": 1.0, "report_charge_as": 20.0}
    plain = nominal_days(case_of({**tables, "unit": unit}))
    ladder = [{"below_v": 12.35, "report_interval_h": interval_h}]
    stepped = nominal_days(case_of({**tables, "unit": {**unit, "ladder": ladder}}))
    assert stepped >= plain * 0.995 - 1.01 / 24


@settings(max_examples=25)
@given(tables=scenarios(recharged=False), cutoff_v=st.sampled_from([11.9, 12.1, 12.4]))
def test_a_cutoff_never_shortens_the_stand(tables: dict[str, Any], cutoff_v: float) -> None:
    """A unit that switches itself off cannot end the stand sooner than one that does not."""
    unit = {"sleep_a": 0.02, "report_interval_h": 1.0, "report_charge_as": 20.0}
    plain = nominal_days(case_of({**tables, "unit": unit}))
    careful = nominal_days(case_of({**tables, "unit": {**unit, "cutoff_v": cutoff_v}}))
    assert careful >= plain * 0.995 - 1.01 / 24


def test_a_unit_switches_off_at_its_voltage_and_stays_off() -> None:
    """Below the cut-off only the off current flows; the voltage then is the cut-off's."""
    unit = {
        "sleep_a": 0.2,
        "report_charge_as": 0,
        "supply": "linear",
        "cutoff_v": 12.2,
        "off_a": 0.0,
    }
    case = case_of(BASE, unit=unit, vehicle={"quiescent_a": 0.001}, run={"horizon_days": 60})
    stand = nominal_stand(case)
    assert stand.trace is not None
    off_day = float(stand.unit_off_h[0]) / 24
    curves = curves_of(case)
    charge_off = float(curves.charge_at_v(np.array(12.2), np.array(10.0)))
    # Linear stage, constant temperature: the charge to go over the current, in days. 1 %: loss.
    start = stand.trace.charge[0, 0]
    full_ah = case.battery.full_charge_ah
    assert_allclose(off_day, (start - charge_off) * full_ah / (24 * 0.201), rtol=0.01)
    unit_ah = stand.daily_balance.unit_ah[:, 0]
    assert_allclose(unit_ah[-1], 0.2 * 24 * off_day, rtol=1e-6)
    assert unit_ah[int(off_day) + 2] == unit_ah[-1]


def test_a_maintainer_that_outweighs_the_drain_holds_the_battery_full() -> None:
    """Charge offered to a full battery is refused and booked, not stored."""
    case = case_of(BASE, other=[{"name": "solar", "current_a": -1.0}], run={"horizon_days": 40})
    stand = nominal_stand(case)
    assert stand.trace is not None
    assert np.isinf(stand.no_start_h[0])
    assert stand.trace.charge.max() <= 1.0
    assert stand.trace.charge[-1, 0] > 0.99
    assert stand.balance.refused_ah[0] > 0


def test_an_empty_battery_gives_nothing_more() -> None:
    """Past empty the loads draw nothing: charge stays at zero and the balance stands still."""
    case = case_of(BASE, vehicle={"quiescent_a": 2.0}, run={"horizon_days": 20})
    stand = nominal_stand(case)
    assert stand.trace is not None
    assert stand.empty_h[0] < 48
    assert stand.trace.charge[-1, 0] == 0.0
    assert_array_equal(stand.daily_balance.vehicle_ah[5:, 0], stand.balance.vehicle_ah[0])


def test_a_frozen_battery_is_a_no_start_and_dated_as_frozen() -> None:
    """A nearly flat battery in hard frost freezes at the hour it meets its freezing point."""
    # Freezing point at 5 % charge is about -10 °C (US Army table), so -20 °C freezes it at once.
    flat = nominal_stand(
        case_of(BASE, battery={"state_of_charge": 0.05}, site={"temperature_c": -20})
    )
    assert flat.freezing_h[0] == flat.no_start_h[0] == 0.0
    full = nominal_stand(
        case_of(BASE, battery={"state_of_charge": 1.0}, site={"temperature_c": -20})
    )
    assert full.freezing_h[0] > 24 * 20


def test_seed_decides_the_draws() -> None:
    """Same seed, same stand; another seed, another."""
    first, again = (drawn(case_of(BASE), trace=False) for _ in range(2))
    other = drawn(case_of(BASE, run={"seed": 2}), trace=False)
    assert_array_equal(first.no_start_h, again.no_start_h)
    assert (first.no_start_h != other.no_start_h).any()


@pytest.mark.parametrize("current_a", [0.03, 0.3, 1.5])
def test_a_heavy_drain_leaves_charge_a_crank_cannot_reach(current_a: float) -> None:
    """The margin is that of the charge less 20 h x current x low-rate gain."""
    # Two-well model, first order: at C20/20 exactly the gain (8 %) is out of reach.
    case = case_of(
        BASE, unit={"sleep_a": 0, "report_charge_as": 0}, vehicle={"quiescent_a": current_a}
    )
    stand = nominal_stand(case)
    assert stand.trace is not None
    curves = curves_of(case)
    demand_ratio = case.vehicle.demand_a / (
        case.battery.cold_cranking_a * case.battery.cranking_health
    )
    charge = stand.trace.charge[1, 0]
    usable_charge = charge - 20.0 * current_a * 0.08 / case.battery.full_charge_ah
    expected = curves.margin(np.array([usable_charge]), np.array([10.0]), np.array(demand_ratio))
    assert charge > 0.1
    assert_allclose(stand.trace.margin[1, 0], expected[0], rtol=1e-6)


def test_a_lamp_left_on_takes_nothing_at_the_moment_of_parking() -> None:
    """Of one battery parked with 10 A and with 0.1 A, the first start works alike."""
    # The slow well falls behind over hours (two-well model), not in the moment a load begins.
    light, heavy = (
        nominal_stand(case_of(BASE, vehicle={"quiescent_a": drawn_a}), step_h=1.0)
        for drawn_a in (0.1, 10.0)
    )
    assert light.trace is not None
    assert heavy.trace is not None
    assert heavy.trace.margin[0, 0] == light.trace.margin[0, 0]
    assert 0.0 < heavy.no_start_h[0] < light.no_start_h[0]


@pytest.mark.parametrize("quiescent_a", [0.02, 0.05, 0.4])
@pytest.mark.parametrize("temperature_c", [-10.0, 25.0])
@pytest.mark.parametrize("step_h", [None, 24.0, 4.0])
def test_the_no_start_is_the_hour_its_charge_runs_out(
    quiescent_a: float, temperature_c: float, step_h: float | None
) -> None:
    """At constant temperature the failing hour follows from charge, drain and loss by hand."""
    case = case_of(
        BASE,
        unit={"sleep_a": 0, "report_charge_as": 0},
        vehicle={"quiescent_a": quiescent_a},
        site={"temperature_c": temperature_c},
    )
    battery = case.battery
    curves = curves_of(case)
    demand_ratio = np.array(
        case.vehicle.demand_a / (battery.cold_cranking_a * battery.cranking_health)
    )
    share = np.linspace(0.0, 1.0, 100_001)
    margins = curves.margin(share, np.full_like(share, temperature_c), demand_ratio)
    full_ah = battery.full_charge_ah
    out_of_reach_ah = 20.0 * quiescent_a * battery.profile.number("low_rate_gain")
    last_ah = share[np.argmax(margins >= 1.0)] * full_ah + out_of_reach_ah
    loss_per_h = loss_rate_per_h(temperature_c, per_day_at_25c=0.001, doubling_k=10.0)
    by_hand_h = hours_to_reach_h(
        battery.state_of_charge * full_ah, last_ah, current_a=quiescent_a, loss_per_h=loss_per_h
    )
    # Looked at every whole hour; straight lines of charge within a block: 1e-4 of the stand.
    found_h = nominal_stand(case, step_h=step_h).no_start_h[0]
    assert by_hand_h * (1 - 1e-4) - 0.01 <= found_h <= by_hand_h * (1 + 1e-4) + 1.01


@pytest.mark.parametrize("trace", [True, False])
def test_what_fails_in_january_may_start_in_june(trace: bool) -> None:
    """A third of the charge turns no engine in frost and does so again when it is warm."""
    # Cold makes charge unavailable, it does not destroy it: a lane that failed is not decided.
    base = {key: table for key, table in BASE.items() if key != "unit"}
    case = case_of(
        {**base, "site": {"climate": "temperate", "parked_from": dt.date(2026, 1, 10)}},
        battery={"state_of_charge": 0.33, "profile": "agm"},
        vehicle={"quiescent_a": 0.0},
        run={"horizon_days": 160},
    )
    stand = drawn(case, trace=trace)
    failed = np.isfinite(stand.no_start_h)
    assert failed.mean() > 0.5
    back = failed & ~stand.no_start_daily[-1]
    assert back.sum() > 0.3 * failed.sum()


def test_a_unit_comes_back_above_its_resume_voltage_and_not_before() -> None:
    """With a maintainer the unit goes off, waits for its resume voltage, and works again."""
    unit = {
        "sleep_a": 0.3,
        "report_charge_as": 0,
        "supply": "linear",
        "cutoff_v": 12.1,
        "resume_v": 12.4,
        "off_a": 0.0,
    }
    case = case_of(
        BASE,
        unit=unit,
        vehicle={"quiescent_a": 0.0},
        other=[{"name": "solar", "current_a": -0.1}],
        run={"horizon_days": 120},
    )
    stand = nominal_stand(case)
    assert stand.trace is not None
    curves = curves_of(case)
    low, high = curves.charge_at_v(np.array([12.1, 12.4]), np.array([10.0, 10.0]))
    working = np.diff(stand.daily_balance.unit_ah[:, 0]) > 1e-9
    switched = np.flatnonzero(np.diff(working.astype(int)))
    assert len(switched) >= 3  # off, on, off again
    for day in switched[:3]:
        charge = stand.trace.charge[day + 1, 0]
        wanted = low if working[day] else high
        assert_allclose(charge, wanted, atol=0.08)  # a day's charge or discharge: 6 to 8 %


LITHIUM = {
    "battery": {"profile": "lithium_iron_phosphate_12v", "capacity_ah": 100},
    "vehicle": {"quiescent_a": 0.05},
    "site": {"temperature_c": -15},
    "run": {"draws": 1000},
}


def test_a_disconnected_battery_stays_disconnected() -> None:
    """A floor of charge is met exactly: nothing below it starts again, and all of it is empty."""
    case = case_of(LITHIUM, run={"horizon_days": 300})
    curves = curves_of(case)
    stand = run_draws(case, curves, course=True)
    assert stand.trace is not None
    charge = stand.trace.charge
    disconnected = charge < curves.lowest_charge + 1e-9
    assert disconnected[-1].mean() > 0.9  # the case reaches what is tested
    assert stand.no_start_daily[disconnected].all()
    assert_array_equal(np.isfinite(stand.empty_h), disconnected.any(axis=0))


@pytest.mark.parametrize("full_v", [12.7, 13.1])
def test_a_ladders_thresholds_are_those_of_the_make(full_v: float) -> None:
    """A unit goes off and comes back at the charges that show its voltages on this battery."""
    case = case_of(
        {
            "battery": {
                "profile": "agm",
                "capacity_ah": 60,
                "state_of_charge": 0.9,
                "full_resting_voltage_v": full_v,
            },
            "vehicle": {"quiescent_a": 0.0, "key_off_stages": []},
            "unit": {"sleep_a": 0.4, "supply": "linear", "cutoff_v": 12.2, "resume_v": 12.4},
            "other": [{"name": "panel", "current_a": -0.1}],
            "site": {"temperature_c": 25},
            "run": {"horizon_days": 150},
        }
    )
    trace = nominal_stand(case, step_h=0.5).trace
    assert trace is not None
    offset_v = case.battery.start.offset_v
    assert abs(offset_v) > 0.1
    curves = curves_of(case)
    off, back = curves.charge_at_v(np.array([12.2, 12.4]) - offset_v, np.array([25.0, 25.0]))
    seen = trace.charge[60:, 0]  # it has been off and on by then
    # A day at 0.3 A is 12 % of 60 Ah: the trace is daily, the ends are met within half of that.
    assert_allclose(seen.min(), off, atol=0.06)
    assert_allclose(seen.max(), back, atol=0.06)
    assert off - 0.005 <= seen.min()
    assert seen.max() <= back + 0.005
