"""Other systems in a scenario: what fits together is taken, what does not is refused."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import ScenarioError
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.build import case_of

TRUCK: dict[str, Any] = {
    "battery": {"capacity_ah": 180, "cold_cranking_a": 1000, "system": "24V", "health": 0.9},
    "vehicle": {"engine_litres": 12.8, "fuel": "diesel", "quiescent_a": 0.1},
    "unit": {"sleep_a": 0.004, "report_charge_as": 7.0},
    "site": {"temperature_c": 15},
    "run": {"draws": 100},
}


def test_a_24_v_pair_is_followed_as_its_weaker_half() -> None:
    """Health, charge and every threshold are the weaker battery's own."""
    case = case_of(
        TRUCK,
        battery={"second_health": 0.6, "second_state_of_charge": 0.7, "state_of_charge": 0.9},
        unit={"cutoff_v": 23.6, "resume_v": 24.6},
        vehicle={"minimum_cranking_v": 16.0},
    )
    assert case.battery.capacity_health == case.battery.cranking_health == 0.6
    assert case.battery.state_of_charge == 0.7
    assert case.battery.capacity_ah == 180.0  # volts add up, ampere-hours do not
    assert case.vehicle.minimum_cranking_v == 8.0
    off = case.unit.modes[-1]
    assert (off.enter_below_v, off.leave_above_v) == (11.8, 12.3)
    assert any("unequal health" in warning for warning in case.warnings)


def test_of_two_batteries_of_unknown_health_the_weaker_is_expected_to_decide() -> None:
    """Without a second health the pair is weaker than one battery by 0.56 of its spread."""
    # Mean of the smaller of two independent standard normal draws: -1/√π = -0.564.
    one = case_of(TRUCK, battery={"system": "12V"}).battery
    pair = case_of(TRUCK).battery
    assert_allclose(
        (pair.capacity_health - one.capacity_health) / one.capacity_health_sd, -0.564, atol=1e-3
    )


def test_the_weaker_of_two_is_the_smaller_of_two_draws() -> None:
    """Mean and spread of the pair are those of the smaller of two healths drawn at random."""
    one = case_of(TRUCK, battery={"system": "12V"}).battery
    pair = case_of(TRUCK).battery
    z = np.random.default_rng(5).normal(size=(2, 400_000))
    for name in ("capacity_health", "cranking_health"):
        mean, sd = getattr(one, name), getattr(one, f"{name}_sd")
        smaller = (mean + sd * z).min(axis=0)
        assert_allclose(getattr(pair, name), smaller.mean(), atol=0.01 * sd)
        assert_allclose(getattr(pair, f"{name}_sd"), smaller.std(), rtol=0.01)


@pytest.mark.parametrize(("first", "second"), [(0.9, 0.6), (0.6, 0.9)])
def test_of_two_known_batteries_the_weaker_decides_whichever_it_is(
    first: float, second: float
) -> None:
    """In series one current flows through both: the smaller health and the lower charge count."""
    case = case_of(
        TRUCK,
        battery={
            "health": first,
            "second_health": second,
            "state_of_charge": second,
            "second_state_of_charge": first,
        },
    )
    assert case.battery.capacity_health == case.battery.cranking_health == 0.6
    assert case.battery.state_of_charge == 0.6


def test_a_switching_unit_draws_half_at_24_v_and_all_of_it_on_a_half_tap() -> None:
    """The rated voltage seen by one battery is halved for a unit on both, kept on a half tap."""
    assert case_of(TRUCK).unit.rated_at_v == 6.0
    tapped = case_of(TRUCK, unit={"fed_from": "one_battery"})
    assert tapped.unit.rated_at_v == 12.0
    warning = next(w for w in tapped.warnings if "one_battery" in w)
    apart_ah = 24.0 * (0.004 + 7.0 / 3600.0)  # by hand: sleep plus one report an hour
    assert f"{apart_ah:.2f} Ah a day" in warning


def test_parallel_batteries_add_ampere_hours_and_cranking_current() -> None:
    """Two equal ones in parallel are one of twice the size; a weaker one adds what it has."""
    base = {**TRUCK, "battery": {"capacity_ah": 90, "cold_cranking_a": 800, "health": 0.9}}
    one = case_of(base).battery
    two = case_of(base, battery={"system": "parallel"}).battery
    assert_allclose(two.full_charge_ah, 2.0 * one.full_charge_ah)
    assert_allclose(two.cold_cranking_a, 2.0 * one.cold_cranking_a)
    weak = case_of(base, battery={"system": "parallel", "second_health": 0.3}).battery
    assert_allclose(weak.full_charge_ah, one.full_charge_ah * (1.0 + 0.3 / 0.9))


def test_an_isolated_auxiliary_battery_feeds_the_unit_alone() -> None:
    """The starting battery feels nothing of the unit, the auxiliary only the unit."""
    case = case_of(
        TRUCK,
        battery={"system": "auxiliary", "second_capacity_ah": 75, "second_profile": "agm"},
        unit={"fed_from": "auxiliary", "cutoff_v": 11.8},
        other=[{"name": "cool box", "current_a": 0.5, "fed_from": "auxiliary"}],
    )
    assert case.unit.normal_current_a == case.unit.once_ah == case.unit.sigma == 0.0
    assert case.vehicle.other_a == 0.0
    beside = case.auxiliary
    assert beside is not None
    assert beside.battery.capacity_ah == 75.0
    assert beside.vehicle.other_a == 0.5
    assert beside.vehicle.quiescent_a == 0.0
    assert beside.unit.normal_current_a > 0.0


def test_what_was_measured_on_the_vehicle_is_not_asked_of_the_auxiliary_battery() -> None:
    """Each battery is told of its own values only."""
    case = case_of(
        TRUCK,
        battery={"system": "auxiliary", "second_capacity_ah": 75},
        vehicle={"quiescent_a": 0.02},
        unit={"fed_from": "auxiliary", "sleep_a": 0.004},
        measured={"keys": "vehicle.quiescent_a, battery.second_capacity_ah, unit.sleep_a"},
    )
    assert case.auxiliary is not None
    measured = {a.name for a in case.auxiliary.assumptions if a.origin == "measured"}
    assert measured == {"battery.capacity_ah", "unit.sleep_a"}


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"battery": {"system": "auxiliary", "second_charging_a": 9.0}}, "fed_from = 'auxiliary'"),
        (
            {
                "battery": {"system": "auxiliary", "second_charging_drop_v": 0.1},
                "unit": {"fed_from": "auxiliary"},
            },
            "second_charging_drop_v is not used: it needs a [pattern]",
        ),
        ({"maintainer": {"between_trips": "yes"}}, "between_trips is not used"),
    ],
)
def test_a_charger_of_driving_weeks_without_any_is_told(changes: Any, says: str) -> None:
    """A value that no answer uses is named, not dropped."""
    assert any(says in warning for warning in case_of(TRUCK, **changes).warnings)


def test_without_an_isolator_both_batteries_go_down_together() -> None:
    """Starting and auxiliary battery are one larger battery for every load."""
    case = case_of(
        TRUCK,
        battery={"system": "auxiliary", "isolator": "no", "second_capacity_ah": 180},
        other=[{"name": "cool box", "current_a": 0.5, "fed_from": "auxiliary"}],
    )
    assert case.auxiliary is None
    assert case.battery.capacity_ah == 360.0
    assert case.vehicle.other_a == 0.5


def test_high_voltage_vehicles_say_their_caution() -> None:
    """Hybrid and electric vehicles carry the warning about orange cables."""
    for kind in ("hybrid", "electric"):
        case = case_of(TRUCK, battery={"system": "12V"}, vehicle={"kind": kind})
        assert any("orange" in warning for warning in case.warnings)
        assert case.vehicle.demand_a < 60.0
    assert not any("orange" in warning for warning in case_of(TRUCK).warnings)


def test_small_batteries_for_small_engines() -> None:
    """A motorcycle of 125 cm³ has a battery and a starter of its size."""
    case = resolve(
        scenario_from_dict(
            {"battery": {}, "vehicle": {"kind": "motorcycle", "engine_litres": 0.125}}
        )
    )
    assert 3.0 <= case.battery.capacity_ah <= 8.0  # common practice: 3 to 7 Ah
    assert 20.0 <= case.vehicle.demand_a <= 50.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"battery": {"system": "12V", "second_health": 0.5}}, "battery.second_health"),
        ({"battery": {"isolator": "no"}}, "battery.isolator"),
        ({"unit": {"fed_from": "auxiliary"}}, "unit.fed_from"),
        ({"battery": {"system": "12V"}, "unit": {"cutoff_v": 23.0}}, "24V"),
        ({"battery": {"system": "12V"}, "vehicle": {"minimum_cranking_v": 15}}, "11.5 V"),
        ({"vehicle": {"minimum_cranking_v": 8}}, "whole system"),
        ({"unit": {"fed_from": "one_battery", "cutoff_v": 23.0}}, "15 V"),
        ({"top_up": {"every_h": 24}}, "traction"),
        ({"maintainer": {"float_v": 14.5, "absorption_v": 14.4}}, "float_v"),
        (
            {"other": [{"name": "fan", "current_a": 1.0, "fed_from": "auxiliary"}]},
            "auxiliary",
        ),
    ],
)
def test_what_does_not_fit_is_one_clear_sentence(changes: dict[str, Any], words: str) -> None:
    """Keys of another arrangement are refused, never silently dropped."""
    with pytest.raises(ScenarioError, match=words):
        case_of(TRUCK, **changes)


def test_a_trailer_needs_a_unit() -> None:
    """Without a unit nothing ends a trailer's stand."""
    with pytest.raises(ScenarioError, match="trailer"):
        resolve(scenario_from_dict({"battery": {}, "vehicle": {"kind": "trailer"}}))


def electric(**top_up: float) -> Case:
    """Return a parked electric vehicle with top-ups."""
    base = {
        "battery": {"capacity_ah": 45, "state_of_charge": 0.9},
        "vehicle": {"kind": "electric", "quiescent_a": 0.03},
        "unit": {"sleep_a": 0.01, "report_charge_as": 0.0},
        "site": {"temperature_c": 15},
        "run": {"draws": 100, "horizon_days": 365},
    }
    return case_of(base, top_up=top_up)


def test_top_ups_cost_their_own_watching_and_end_when_suspended() -> None:
    """The series stops on the day the maker or the traction battery ends it."""
    case = electric(suspended_after_days=30, monitor_a=0.02)
    assert_allclose(case.vehicle.other_a, 0.02)
    assert case.top_up is not None
    assert case.top_up.ends_after_days == 30
    assert case.top_up.charging_a[29] > 0.0
    assert case.top_up.charging_a[30] == 0.0
    small = electric(traction_kwh=1.0, traction_state_of_charge=0.3)
    assert small.top_up is not None
    ends = small.top_up.ends_after_days
    # By hand: 0.2 of 1 kWh; (0.03 + 0.01·12/12.6… + 0.005) A ≈ 0.045 A / 0.72 kept · 14 V / 0.9
    # · 24 h ≈ 0.023 kWh a day, and 2 % a month of its own: about 8 days.
    assert ends is not None
    assert 6 <= ends <= 11
    assert any("on its own" in warning for warning in small.warnings)


MAINTAINED: dict[str, Any] = {
    "battery": {},
    "maintainer": {"current_a": 1.0},
    "site": {"temperature_c": -5},
    "run": {"draws": 100},
}


def test_a_maintainer_said_to_have_no_compensation_is_believed() -> None:
    """The caution about assumed compensation is for those who did not say."""
    said = case_of(MAINTAINED, maintainer={"compensation_v_per_k": 0.0})
    silent = case_of(MAINTAINED)
    assert not any("compensation is assumed" in warning for warning in said.warnings)
    assert any("compensation is assumed" in warning for warning in silent.warnings)


def test_a_charger_beside_other_chargers_never_gives_power_back() -> None:
    """Where another source covers the draw, a maintainer takes nothing from the mains."""
    case = case_of(MAINTAINED, other=[{"name": "charger", "current_a": -2.0}])
    (power_w,) = (a.value for a in case.assumptions if a.name == "maintainer.mains_power")
    assert power_w == 0.0


def test_top_ups_beside_other_chargers_do_not_charge_the_traction_battery() -> None:
    """A source on the 12 V side never makes top-ups last longer than their own loss allows."""
    tables = {
        "battery": {},
        "vehicle": {"kind": "electric"},
        "other": [{"name": "charger", "current_a": -2.0}],
        "top_up": {"traction_state_of_charge": 0.11, "traction_loss_per_month": 0.1},
        "run": {"horizon_days": 60},
    }
    fed = case_of(tables)
    assert fed.top_up is not None
    # 0.11 · 0.9^(d/30) = 0.1 after 27.1 days, with nothing drawn.
    assert fed.top_up.ends_after_days == 28


def test_a_trailer_is_not_said_to_have_contactors() -> None:
    """What stands in for a trailer's demand says that it has no starter."""
    case = case_of({"battery": {}, "vehicle": {"kind": "trailer"}, "unit": {"preset": "hourly"}})
    (source,) = (a.source for a in case.assumptions if a.name == "vehicle.cranking_demand_a")
    assert "no starter" in source
