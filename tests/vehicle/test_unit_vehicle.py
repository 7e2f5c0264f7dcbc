"""The added unit's events and the vehicle's own draw."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.errors import DrainsimError, ScenarioError
from drainsim.files.presets import presets
from drainsim.physics.oil import turning_factor
from drainsim.vehicle.unit import Unit
from drainsim.vehicle.vehicle import Vehicle
from tests.build import case_of


def unit(**keys: Any) -> Unit:
    """Return the unit of a [unit] table."""
    return case_of({"battery": {}, "unit": keys}).unit


def vehicle(**keys: Any) -> Vehicle:
    """Return the vehicle of a [vehicle] table."""
    return case_of({"battery": {}, "vehicle": keys}).vehicle


def test_no_unit_table_means_no_unit() -> None:
    """Leaving [unit] out draws nothing; an empty one is a default unit."""
    none = case_of({"battery": {}}).unit
    assert (none.fitted, none.normal_current_a) == (False, 0.0)
    default = unit()
    assert default.fitted
    # 4 mA asleep plus 7 A·s an hour.
    assert_allclose(default.normal_current_a, 0.004 + 7.0 / 3600.0)


def test_a_report_phase_by_phase_adds_up() -> None:
    """Mean current is sleep plus each phase above sleep, over the interval."""
    report = {
        "wake_s": 2,
        "wake_a": 0.05,
        "fix_a": 0.03,
        "attach_s": 10,
        "attach_a": 0.1,
        "transmit_s": 5,
        "transmit_a": 0.2,
        "tail_s": 10,
        "tail_a": 0.04,
    }
    sleep = 0.002
    found = unit(sleep_a=sleep, report_interval_h=1.0, report=report, coverage=2.0)
    charge_as = (
        2 * (0.05 - sleep)
        + 2 * (0.03 - sleep)  # a hot fix: 2 s, the last one an hour ago
        + 2 * 10 * (0.1 - sleep)  # poor coverage doubles attach and transmit
        + 2 * 5 * (0.2 - sleep)
        + 10 * (0.04 - sleep)
    )
    assert_allclose(found.normal_current_a, sleep + charge_as / 3600.0)


def test_rare_reports_need_longer_fixes() -> None:
    """Past the 4 h validity of orbit data a report costs a warm fix."""
    # GPS interface specification: ephemeris valid 4 h.
    report = {"fix_a": 0.05, "fix_hot_s": 2, "fix_warm_s": 28}
    hot = unit(sleep_a=0.0, report=report, report_interval_h=4.0).normal_current_a * 4 * 3600
    warm = unit(sleep_a=0.0, report=report, report_interval_h=5.0).normal_current_a * 5 * 3600
    assert_allclose([hot, warm], [0.1, 1.4])


def test_a_warm_fix_nobody_timed_takes_as_long_as_measured_ones() -> None:
    """Where only the receiver's current is known, a fix after 6 h takes 20 to 30 s."""
    # Four receiver boards: 23 to 29 s from cold; 20 to 30 s reported after some days off.
    fixed = unit(sleep_a=0.0, report={"fix_a": 0.05}, report_interval_h=6.0)
    seconds = fixed.normal_current_a * 6 * 3600 / 0.05
    assert 20.0 <= seconds <= 30.0
    often = unit(sleep_a=0.0, report={"fix_a": 0.05}, report_interval_h=1.0)
    assert often.normal_current_a * 3600 / 0.05 < 5.0


def test_heartbeats_and_listening_come_on_top() -> None:
    """Each adds its own mean current."""
    found = unit(
        sleep_a=0.001,
        report_charge_as=0.0,
        listening="paging",
        listening_a=0.002,
        heartbeat_interval_h=0.5,
        heartbeat_charge_as=1.8,
    )
    assert_allclose(found.normal_current_a, 0.001 + 0.002 + 1.8 / 1800.0)


def test_self_test_and_internal_cell_are_drawn_once() -> None:
    """Charge after parking: self-test plus recharging the internal cell."""
    found = unit(self_test_charge_as=36.0, backup_charge_a=0.1, backup_charge_h=3.0)
    assert_allclose(found.once_ah, 0.01 + 0.3)


def test_a_ladder_becomes_modes_in_falling_order() -> None:
    """Rungs are sorted, each rarer one draws less, the cut-off comes last."""
    found = unit(
        report_interval_h=1.0,
        ladder=[
            {"below_v": 12.0, "report_interval_h": 24.0},
            {"below_v": 12.3, "report_interval_h": 6.0, "resume_v": 12.6},
        ],
        cutoff_v=11.6,
        off_a=0.0002,
    )
    assert [mode.enter_below_v for mode in found.modes] == [None, 12.3, 12.0, 11.6]
    assert [mode.leave_above_v for mode in found.modes] == [None, 12.6, 12.2, 12.1]
    currents = [mode.current_a for mode in found.modes]
    assert currents == sorted(currents, reverse=True)
    assert currents[-1] == 0.0002
    assert found.switches_off


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        (
            {"ladder": [{"below_v": 12.0, "report_interval_h": 6}], "cutoff_v": 12.5},
            r"step down: 12\.5 V follows 12 V",
        ),
        (
            {
                "ladder": [
                    {"below_v": 12.2, "report_interval_h": 6},
                    {"below_v": 12.2, "report_interval_h": 12},
                ]
            },
            "step down",
        ),
        ({"cutoff_v": 11.5, "resume_v": 11.0}, r"resume voltage 11 V must be above 11\.5 V"),
        (
            {"ladder": [{"below_v": 12.2, "report_interval_h": 6, "resume_v": 12.1}]},
            "must be above",
        ),
        ({"listening_a": 0.01}, "unit.listening"),
        ({"report": {"wake_s": 1}, "report_charge_as": 5}, "both report_charge_as and report"),
        (
            {"report": {"attach_s": 300, "attach_a": 0.1}, "report_interval_h": 0.05},
            r"takes 30\d s but unit.report_interval_h",
        ),
        ({"preset": "hourli"}, "did you mean hourly"),
    ],
)
def test_units_that_cannot_work_are_refused(keys: dict[str, Any], says: str) -> None:
    """The sentence names the key and what is wrong with it."""
    with pytest.raises(DrainsimError, match=says) as caught:
        unit(**keys)
    assert str(caught.value).startswith("scenario: unit")


@pytest.mark.parametrize("key", sorted(presets("units")))
def test_every_unit_preset_resolves_and_sleeps(key: str) -> None:
    """Presets draw milliamperes on average, except the one that never sleeps."""
    # Trade check value: a quarter of an ampere at 12 V is the ceiling of such a unit.
    found = unit(preset=key)
    assert found.fitted
    assert found.peak_a <= 0.25
    if key == "never_sleeps":
        assert_allclose(24 * found.normal_current_a, 6.0)  # Ah a day
    else:
        assert 0.0003 <= found.normal_current_a <= 0.03
    assert presets("units")[key].source


def test_a_scenario_value_wins_over_its_preset() -> None:
    """One changed key of a preset changes that key only."""
    plain, changed = unit(preset="hourly"), unit(preset="hourly", report_interval_h=24.0)
    assert changed.normal_current_a < plain.normal_current_a
    assert changed.once_ah == plain.once_ah


def test_key_off_stages_cost_what_exceeds_the_quiescent_current() -> None:
    """3 A for 5 min and 0.3 A for 25 min over 30 mA are 0.36 Ah, once."""
    found = vehicle(
        quiescent_a=0.03,
        key_off_stages=[
            {"duration_s": 300, "current_a": 3.0},
            {"duration_s": 1500, "current_a": 0.3},
        ],
    )
    assert_allclose(found.key_off_ah, (300 * 2.97 + 1500 * 0.27) / 3600.0)


def test_wake_ups_add_their_mean_current() -> None:
    """10 min of 0.85 A twice a day over 35 mA add 11.3 mA."""
    found = vehicle(
        quiescent_a=0.035, wake_ups=[{"every_h": 12, "duration_s": 600, "current_a": 0.85}]
    )
    assert_allclose(found.wake_up_a, 600 * 0.815 / (12 * 3600))


def test_wake_ups_that_overlap_are_refused() -> None:
    """A wake-up must end before the next begins."""
    with pytest.raises(ScenarioError, match=r"wake_ups\[1\] lasts 7200 s but comes every 1 h"):
        vehicle(wake_ups=[{"every_h": 1, "duration_s": 7200, "current_a": 1.0}])


@pytest.mark.parametrize("key", sorted(presets("vehicles")))
def test_every_vehicle_preset_draws_a_published_current(key: str) -> None:
    """Settled currents lie between 10 and 65 mA, of a motorcycle at a few."""
    # Workshop manuals 1995 to 2024: below 10 mA (older cars) to 65 mA (highest specification).
    # Motorcycles: common practice, no source.
    found = vehicle(preset=key)
    low_a, high_a = (0.001, 0.005) if found.kind == "motorcycle" else (0.010, 0.065)
    assert low_a <= found.quiescent_a <= high_a
    assert found.demand_a > (40 if found.kind == "motorcycle" else 50)
    assert presets("vehicles")[key].source


def test_other_loads_add_up_and_may_charge() -> None:
    """Loads of [[other]] are summed with their sign."""
    others = [{"name": "camera", "current_a": 0.2}, {"name": "solar", "current_a": -0.5}]
    assert_allclose(case_of({"battery": {}, "other": others}).vehicle.other_a, -0.3)


@given(quiescent_a=st.floats(0.0, 1.0))
def test_a_measured_current_is_trusted_more_than_an_assumed_one(quiescent_a: float) -> None:
    """Given currents have a narrow spread, the default a wide one."""
    assert vehicle(quiescent_a=quiescent_a).quiescent_sigma < vehicle().quiescent_sigma


def test_a_report_written_out_counts_as_given_beside_a_preset() -> None:
    """Phases the user gave are not said to be the preset's."""
    keys = {"preset": "hourly", "report": {"transmit_s": 3.0, "transmit_a": 0.2}}
    found = case_of({"battery": {}, "unit": keys})
    assert {item.origin for item in found.assumptions if item.name == "unit.report"} == {"given"}


@pytest.mark.parametrize(
    ("tables", "key"),
    [
        ({"unit": {"heartbeat_charge_as": 2.0}}, "unit.heartbeat_charge_as"),
        ({"unit": {"heartbeat_interval_h": 2.0}}, "unit.heartbeat_interval_h"),
        ({"unit": {"backup_charge_a": 0.2}}, "unit.backup_charge_a"),
        ({"unit": {"resume_v": 12.5}}, "unit.resume_v"),
        ({"unit": {"off_a": 0.001}}, "unit.off_a"),
        ({"battery": {"rested_h": 8}}, "battery.rested_h"),
        ({"battery": {"cranking_standard": "DIN"}}, "battery.cranking_standard"),
        (
            {"pattern": {"trip_minutes": 9, "trips": [{"start": "07:30", "minutes": 20}]}},
            "pattern.trip_minutes",
        ),
        ({"pattern": {"smart_charge": 0.7}}, "pattern.smart_charge"),
    ],
)
def test_a_value_that_nothing_uses_is_said(tables: dict[str, Any], key: str) -> None:
    """A key that needs another one to mean anything is not dropped silently."""
    warnings = case_of({"battery": {}, **tables}).warnings
    assert any(warning.startswith(f"{key} is not used") for warning in warnings)


def test_a_preset_may_bring_what_a_key_needs() -> None:
    """An off current beside a preset's own cut-off is used, and no warning says otherwise."""
    found = case_of({"battery": {}, "unit": {"preset": "hourly", "off_a": 0.001}})
    assert found.unit.modes[-1].current_a == 0.001
    assert not any("is not used" in warning for warning in found.warnings)


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        ({"wake_ups": [{"every_h": 1, "duration_s": 9, "current_a": 0.01}]}, r"wake_ups[1]"),
        ({"key_off_stages": [{"duration_s": 9, "current_a": 0.01}]}, r"key_off_stages[1]"),
    ],
)
def test_a_current_awake_below_the_quiescent_one_is_said(keys: dict[str, Any], place: str) -> None:
    """Currents awake are totals; one below the settled current counts as that, and is told."""
    warnings = case_of({"battery": {}, "vehicle": {"quiescent_a": 0.05, **keys}}).warnings
    assert any(place in warning and "below the quiescent" in warning for warning in warnings)


def test_a_vehicle_not_described_may_be_an_older_or_a_newer_one() -> None:
    """Eight in ten of the draws lie where trade rules and newer cars lie together."""
    # Trade rule: 20 to 75 mA acceptable. Training institute (2021): older cars under 50 mA, newer
    # ones 50 to 85 mA.
    vehicle = case_of({"battery": {}}).vehicle
    low, high = (
        1000.0 * vehicle.quiescent_a * math.exp(z * vehicle.quiescent_sigma)
        for z in (-1.2816, 1.2816)
    )
    assert low <= 20.0
    assert 75.0 <= high <= 85.0


def test_generations_of_vehicles_draw_more_and_more() -> None:
    """Older, middle and newer car presets, each within what is printed for its time."""
    # Workshop manuals 1995 to 2002: below 10 mA, 14 mA with alarm; 2009: below 35 mA; training
    # institute 2021: 50 to 85 mA.
    printed = {
        "older_car": (1.0, 14.1),
        "compact_petrol": (10.0, 35.0),
        "newer_petrol": (50.0, 85.0),
        "newer_van_diesel": (50.0, 85.0),
    }
    for key, (low, high) in printed.items():
        vehicle = case_of({"battery": {}, "vehicle": {"preset": key}}).vehicle
        assert low <= 1000.0 * vehicle.quiescent_a <= high, key
        assert vehicle.quiescent_sigma < case_of({"battery": {}}).vehicle.quiescent_sigma


def test_poor_coverage_multiplies_a_report_known_by_its_charge() -> None:
    """Twice the attach and transmit energy, where the phases are not known, is twice the charge."""
    found = unit(sleep_a=0.0, report_charge_as=9.0, report_interval_h=0.5, coverage=2.0)
    assert_allclose(found.normal_current_a, 2.0 * 9.0 / 1800.0)


@pytest.mark.parametrize(
    ("keys", "sigma"),
    # Logarithmic spreads of a given current and of a preset's: common practice, no source.
    [({"quiescent_a": 0.03}, 0.10), ({"preset": "small_petrol"}, 0.35)],
)
def test_a_current_is_known_as_well_as_it_was_said(keys: dict[str, Any], sigma: float) -> None:
    """A figure given is narrower than a preset's, a measured one narrower still."""
    assert vehicle(**keys).quiescent_sigma == sigma
    measured = case_of(
        {
            "battery": {},
            "vehicle": {"quiescent_a": 0.03},
            "measured": {"keys": "vehicle.quiescent_a"},
        }
    )
    assert measured.vehicle.quiescent_sigma == 0.05


def test_engines_of_one_size_spread_as_textbook_limits_do() -> None:
    """Eight in ten of two litres within some 100 to 185 A; a current given is narrower."""
    # Textbook: 4 cylinders, normally below 100 A, at most 150 to 185 A.
    guessed = vehicle(engine_litres=2.0, fuel="petrol", oil_grade="10W-30")
    low, high = (guessed.demand_a * math.exp(z * guessed.demand_sigma) for z in (-1.2816, 1.2816))
    assert 92.0 <= low <= 102.0
    assert 170.0 <= high <= 185.0
    given = vehicle(cranking_demand_a=150.0)
    assert (given.demand_a, given.demand_sigma) == (150.0, 0.10)


def test_a_heavy_engine_at_24_v_takes_well_over_a_thousand_amperes_cold() -> None:
    """12.8 l at -18 °C with its usual oil; a small engine takes half of its 12 V current."""

    # A trade article on heavy starters: "well over 1,000 A" cold.
    def at(system: str, litres: float) -> Vehicle:
        return case_of(
            {"battery": {"system": system}},
            vehicle={"engine_litres": litres, "fuel": "diesel"},
        ).vehicle

    truck = at("24V", 12.8)
    cold_a = truck.demand_a * float(turning_factor(-18.0, grade=str(truck.oil)))
    assert 1000.0 <= cold_a <= 1200.0
    assert at("24V", 3.0).demand_a == pytest.approx(0.5 * at("12V", 3.0).demand_a)


def test_an_oil_nobody_looked_at_may_be_most_of_a_grade_off() -> None:
    """Grade and engine spread 1.4 and 2.5 K (SAE J300, published needs); a guess 4 K more."""
    known = vehicle(oil_grade="5W-30").oil_sd_k
    guessed = vehicle().oil_sd_k
    assert known == pytest.approx(math.hypot(5.0 / math.sqrt(12.0), 2.5), abs=1e-9)
    assert guessed == pytest.approx(math.hypot(known, 4.0), abs=1e-9)
    assert vehicle(kind="electric").oil_sd_k == 0.0


def test_a_unit_someone_described_is_narrower_than_a_usual_one() -> None:
    """Logarithmic spread 0.10 and 0.25: common practice, no source."""
    assert unit(sleep_a=0.003).sigma == unit(report_charge_as=5).sigma == 0.10
    assert unit(report={"fix_a": 0.05}).sigma == 0.10
    assert unit(preset="hourly").sigma == unit().sigma == 0.25


def test_what_is_below_the_quiescent_current_counts_as_that() -> None:
    """Neither stages nor wake-ups below it give charge back."""
    low = vehicle(
        quiescent_a=0.05,
        wake_ups=[
            {"every_h": 1, "duration_s": 60, "current_a": 0.01},
            {"every_h": 2, "duration_s": 36, "current_a": 1.05},
        ],
        key_off_stages=[
            {"duration_s": 600, "current_a": 0.01},
            {"duration_s": 36, "current_a": 1.05},
        ],
    )
    assert_allclose([low.wake_up_a, low.key_off_ah], [36.0 / 7200.0, 0.01])


def test_two_heaters_warm_what_each_serves() -> None:
    """The block heater warms the oil, a battery heater the battery; both say what they need."""
    both = {"block_heater_k": 20, "battery_heater_k": 8}
    case = case_of({"battery": {}, "vehicle": both})
    assert (case.vehicle.block_heater_k, case.vehicle.battery_heater_k) == (20.0, 8.0)
    assert any("mains power for 3 to 4 hours" in warning for warning in case.warnings)
    electric = case_of({"battery": {}, "vehicle": {**both, "kind": "electric"}})
    assert (electric.vehicle.block_heater_k, electric.vehicle.battery_heater_k) == (0.0, 8.0)
    assert any("block_heater_k is not used" in warning for warning in electric.warnings)
    plain = case_of({"battery": {}}).warnings
    assert not any("mains power for 3" in warning for warning in plain)


def test_a_unit_without_a_cut_off_has_no_volts_of_none() -> None:
    """No value has no unit on paper, and is null in JSON, not the text "None"."""
    case = case_of({"battery": {"capacity_ah": 60}, "unit": {"sleep_a": 0.004}})
    said = [str(item.in_words()) for item in case.assumptions]
    assert "unit.cutoff_v = none (default: the unit has no cut-off of its own)" in said
    written = {
        item["name"]: item["value"] for item in [item.as_dict() for item in case.assumptions]
    }
    assert written["unit.cutoff_v"] is None
    assert "None" not in written.values()
