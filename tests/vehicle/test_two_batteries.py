"""Two batteries by hand: what charge, voltage, spread and charging a pair of unlike ones has."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import ScenarioError
from drainsim.vehicle.case import Case
from drainsim.vehicle.compatibility import means_something, misfits
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE
from tests.build import case_of

VAN: dict[str, Any] = {
    "battery": {"capacity_ah": 90, "cold_cranking_a": 800, "health": 0.9, "state_of_charge": 0.8},
    "vehicle": {"engine_litres": 2.0, "fuel": "diesel", "quiescent_a": 0.02},
    "unit": {"sleep_a": 0.004, "report_charge_as": 7.0},
    "site": {"climate": "temperate"},
    "run": {"draws": 100},
}
BESIDE = {"system": "auxiliary", "second_capacity_ah": 60}


def van(**changes: Any) -> Case:
    """Return the van's case with changes to its tables."""
    return case_of(VAN, **changes)


def test_a_parallel_pair_holds_the_charge_of_both() -> None:
    """Ampere-hours of both over ampere-hours of both full, whichever is fuller."""
    second = {"system": "parallel", "second_health": 0.5, "second_state_of_charge": 0.4}
    pair = van(battery=second).battery
    # By hand: 90 Ah · (0.9 · 0.8 + 0.5 · 0.4) of 90 Ah · (0.9 + 0.5).
    assert_allclose(pair.state_of_charge, (0.9 * 0.8 + 0.5 * 0.4) / (0.9 + 0.5))
    assert_allclose([pair.capacity_ah, pair.capacity_health], [180.0, 0.7])
    assert_allclose(pair.cranking_health, 0.7)
    alike = van(battery={"system": "parallel"}).battery
    assert alike.state_of_charge == 0.8


def test_a_pair_of_unlike_size_counts_each_by_its_size() -> None:
    """Without an isolator 90 Ah and 60 Ah are 150 Ah, of which three fifths are the first's."""
    joined = van(battery={**BESIDE, "isolator": "no", "second_health": 0.6}).battery
    one = van().battery
    assert_allclose(joined.capacity_ah, 150.0)
    assert_allclose(joined.capacity_health, 0.6 * 0.9 + 0.4 * 0.6)
    for name in ("reserve_capacity_min", "cold_cranking_a"):
        assert_allclose(getattr(joined, name), getattr(one, name) * 150.0 / 90.0)
    assert_allclose(
        joined.kinetic.low_rate_capacity_ah, one.kinetic.low_rate_capacity_ah * 150.0 / 90.0
    )


def test_two_healths_drawn_apart_spread_less_together() -> None:
    """The mean of two independent healths, each counted by its size, has a smaller spread."""
    free = {key: value for key, value in VAN["battery"].items() if key != "health"}
    base = {**VAN, "battery": free}
    one = case_of(base).battery
    for second, shares in (
        ({"system": "parallel"}, (0.5, 0.5)),
        ({**BESIDE, "isolator": "no"}, (0.6, 0.4)),
    ):
        pair = case_of(base, battery=second).battery
        z = np.random.default_rng(3).normal(size=(2, 200_000))
        drawn = (np.array(shares) @ z).std()
        assert_allclose(pair.capacity_health_sd / one.capacity_health_sd, drawn, rtol=0.01)
        assert_allclose(pair.cranking_health_sd / one.cranking_health_sd, drawn, rtol=0.01)
        assert_allclose(pair.capacity_health, one.capacity_health)


@pytest.mark.parametrize(
    ("system", "second_health", "words"),
    # A fifth apart in series, three tenths in parallel: common practice, no source.
    [
        ("24V", 0.70, "unequal health"),
        ("24V", 0.74, None),
        ("parallel", 0.61, "drain the better one"),
        ("parallel", 0.65, None),
    ],
)
def test_unequal_batteries_are_told_where_they_harm_each_other(
    system: str, second_health: float, words: str | None
) -> None:
    """In series they wear each other out, in parallel one can drain the other."""
    warnings = van(battery={"system": system, "second_health": second_health}).warnings
    harm = [w for w in warnings if "unequal health" in w or "drain the better one" in w]
    assert len(harm) == (words is not None)
    assert all(words in warning for warning in harm if words)


def test_an_auxiliary_battery_is_driven_as_its_starting_battery_is() -> None:
    """Same trips without their loads, its own current and drop, full current at idle too."""
    driving = {
        "alternator_a": 120,
        "regulated_v": 14.3,
        "load_a": 20,
        "trips": [{"start": "07:30", "minutes": 20, "load_a": 30, "days": "Mon-Fri"}],
    }
    case = van(
        battery={**BESIDE, "second_charging_a": 25, "second_charging_drop_v": 0.4},
        unit={"fed_from": "auxiliary"},
        pattern=driving,
    )
    assert case.auxiliary is not None
    beside = case.auxiliary.pattern
    assert beside is not None
    assert (beside.alternator_a, beside.share_at_idle) == (25.0, 1.0)
    assert_allclose(beside.regulated_20c_v, 14.3 - 0.4)
    assert [trip.load_a for trip in beside.trips] == [0.0] * 5
    assert_allclose([trip.start_h for trip in beside.trips], [7.5 + 24.0 * d for d in range(5)])
    assert case.auxiliary.vehicle.demand_a > 0.0
    idle = van(
        battery={**BESIDE, "second_charging_a": 0}, unit={"fed_from": "auxiliary"}, pattern=driving
    ).auxiliary
    assert idle is not None
    assert idle.pattern is None  # no charger: it only stands


@pytest.mark.parametrize(
    ("system", "changes", "words"),
    [
        # A resting 12 V battery never shows more than 15 V; 6 to 11.5 V are left while cranking.
        ("12V", {"unit": {"cutoff_v": 15.1}}, "15 V"),
        ("12V", {"unit": {"cutoff_v": 14.9, "resume_v": 15.0}}, None),
        ("12V", {"unit": {"cutoff_v": 11.8, "resume_v": 15.1}}, "15 V"),
        ("12V", {"vehicle": {"minimum_cranking_v": 11.6}}, "11.5 V"),
        ("12V", {"vehicle": {"minimum_cranking_v": 11.5}}, None),
        ("24V", {"vehicle": {"minimum_cranking_v": 11.9}}, "whole system"),
        ("24V", {"vehicle": {"minimum_cranking_v": 12.0}}, None),
    ],
)
def test_voltages_of_another_system_are_refused_at_their_limit(
    system: str, changes: dict[str, Any], words: str | None
) -> None:
    """Just within is taken as given, just beyond is refused in one sentence."""
    if words is None:
        case = van(battery={"system": system}, **changes)
        asked = changes.get("vehicle", {}).get("minimum_cranking_v")
        if asked is not None:
            assert case.vehicle.minimum_cranking_v == asked * (0.5 if system == "24V" else 1.0)
        return
    with pytest.raises(ScenarioError, match=words):
        van(battery={"system": system}, **changes)


@pytest.mark.parametrize(("cutoff_v", "told"), [(18.0, True), (18.7, True), (18.8, False)])
def test_a_12_v_threshold_on_a_24_v_pair_protects_nothing(cutoff_v: float, told: bool) -> None:
    """An empty pair still shows some 23 V: a threshold far below never switches."""
    case = van(battery={"system": "24V"}, unit={"cutoff_v": cutoff_v, "resume_v": cutoff_v + 1.0})
    assert any("protects nothing" in warning for warning in case.warnings) == told


@pytest.mark.parametrize("kind", ["hybrid", "electric"])
def test_contactors_need_little_current_but_some_voltage(kind: str) -> None:
    """Coils and control units: some 10 to 20 A at 9 V and more, from a small battery."""
    # A contactor's data sheet: pull-in coil of 3.8 ohm (about 3 A each), works from 9 V. Coils 5 to
    # 10 A and control units as much again, batteries of 35 to 50 Ah: common practice, no source.
    case = case_of({**VAN, "battery": {}}, vehicle={"kind": kind})
    assert 10.0 <= case.vehicle.demand_a <= 20.0
    assert 9.0 <= case.vehicle.minimum_cranking_v <= 10.0
    assert 35.0 <= case.battery.capacity_ah <= 50.0


@pytest.mark.parametrize(
    ("litres", "low_a", "high_a", "smallest_ah", "largest_ah"),
    [
        # Advice page: 40 to 50 A small, above 100 A large, warm under load; an owner: 50 to 70 A
        # for 125 cm³. Batteries of 3 to 7, 8 to 14 and 14 to 20 Ah: common practice, no source.
        (0.125, 40.0, 70.0, 3.0, 7.0),
        (0.6, 80.0, 110.0, 8.0, 14.0),
        (1.2, 100.0, 200.0, 14.0, 20.0),
    ],
)
def test_a_motorcycle_has_a_starter_and_a_battery_of_its_size(
    litres: float, low_a: float, high_a: float, smallest_ah: float, largest_ah: float
) -> None:
    """Warm starting current and usual capacity by engine size."""
    case = case_of(
        {**VAN, "battery": {}, "vehicle": {"kind": "motorcycle", "engine_litres": litres}}
    )
    assert low_a <= case.vehicle.demand_a <= high_a
    assert smallest_ah <= case.battery.capacity_ah <= largest_ah
    # Eleven labels: 15 to 20 A of cold cranking current per Ah.
    assert 15.0 <= case.battery.cold_cranking_a / case.battery.capacity_ah <= 20.0
    assert case.vehicle.key_off_ah == 0.0


@pytest.mark.parametrize(
    ("battery", "asked"),
    [
        ({"system": "12V"}, False),
        ({"system": "parallel"}, False),
        ({"system": "24V"}, True),
        ({"system": "auxiliary"}, True),
        ({"system": "auxiliary", "isolator": "no"}, False),
    ],
)
def test_where_a_unit_is_fed_from_is_asked_only_where_there_is_a_choice(
    battery: dict[str, Any], asked: bool
) -> None:
    """One battery, or two that are one, leave nothing to choose."""
    assert means_something(UNIT.fed_from, {"battery": battery}) == asked


@pytest.mark.parametrize(
    ("kind", "fuel", "oil"),
    [("engine", True, True), ("motorcycle", False, True), ("electric", False, False)],
)
def test_fuel_and_oil_are_asked_of_what_burns_and_turns(kind: str, fuel: bool, oil: bool) -> None:
    """A motorcycle's fuel says nothing, an electric vehicle has neither."""
    tables = {"vehicle": {"kind": kind}}
    assert means_something(VEHICLE.fuel, tables) == fuel
    assert means_something(VEHICLE.oil_grade, tables) == oil


@pytest.mark.parametrize(
    ("before", "after", "gone"),
    [
        ("12V", "24V", {"vehicle.minimum_cranking_v", "unit.cutoff_v"}),
        ("24V", "12V", {"vehicle.minimum_cranking_v", "unit.cutoff_v", "battery.second_health"}),
        ("24V", "parallel", {"vehicle.minimum_cranking_v", "unit.cutoff_v"}),
        ("12V", "parallel", set()),
        ("parallel", "12V", {"battery.second_health"}),
        ("auxiliary", "auxiliary", set()),
    ],
)
def test_voltages_go_where_the_system_voltage_changes_and_the_rest_stays(
    before: str, after: str, gone: set[str]
) -> None:
    """What was set for one battery means something else for two in series."""

    def tables(system: str) -> dict[str, Any]:
        return {
            "battery": {"system": system, "second_health": 0.8},
            "vehicle": {"minimum_cranking_v": 9.0},
            "unit": {"cutoff_v": 11.8},
        }

    found = misfits(tables(after), tables(before), fed_from=None, joined=False)
    assert {parameter.name for parameter in found} == gone
