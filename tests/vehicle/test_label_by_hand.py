"""A label's figures weighed and spread by hand, and the limits at which they are questioned."""

import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import ScenarioError
from drainsim.physics.open_circuit import voltage_slope_v
from drainsim.vehicle.batteries.label import usual_capacity_ah, usual_cold_cranking_a
from drainsim.vehicle.batteries.starting_charge import READ_AT_C, Reading, charge_read, resting_v
from tests.build import case_of, profiles

FLOODED = profiles()["flooded_calcium"]


def warned(words: str, **label: Any) -> bool:
    """Say whether a label's case is warned of in some words."""
    return any(words in warning for warning in case_of({"battery": label}).warnings)


def test_the_usual_battery_grows_with_its_engine() -> None:
    """45 Ah and 7.5 Ah a litre; 10 Ah and 5 Ah a litre more for diesels; 225 Ah at most."""
    # Common practice, no source; the largest truck battery of the usual row has 225 Ah.
    litres = (1.0, 1.6, 2.0, 3.0, 6.0, 12.8)
    assert_allclose(
        [usual_capacity_ah(each, diesel=False) for each in litres],
        [52.5, 57.0, 60.0, 67.5, 90.0, 141.0],
    )
    assert_allclose(
        [usual_capacity_ah(each, diesel=True) for each in litres],
        [67.5, 75.0, 80.0, 92.5, 130.0, 215.0],
    )
    assert usual_capacity_ah(14.0, diesel=True) == 225.0
    # Above 100 Ah the current grows with the 0.3rd power: 180 Ah carry a fifth more than 100.
    assert_allclose(usual_cold_cranking_a(180.0, per_ah=9.0), 900.0 * 1.8**0.3)


def test_minutes_and_amperes_are_weighed_by_what_each_is_worth() -> None:
    """Inverse variances of logarithms: the mean lies between, the spread is below either."""
    spread = FLOODED.number("cold_cranking_spread")
    one, other, both = (
        case_of({"battery": {"health": 1.0, "cranking_standard": "SAE", **label}}).battery
        for label in (
            {"reserve_capacity_min": 120},
            {"cold_cranking_a": 500},
            {"reserve_capacity_min": 120, "cold_cranking_a": 500},
        )
    )
    # The spread of four labels about the rule is 0.08, of amperes per ampere-hour the profile's.
    weights = np.array([0.08**-2, spread**-2])
    logs = np.log([one.capacity_ah, other.capacity_ah])
    assert_allclose(both.capacity_ah, math.exp(weights @ logs / weights.sum()))
    for found, sd in ((one, 0.08), (other, spread), (both, weights.sum() ** -0.5)):
        assert_allclose(found.capacity_health_sd, math.hypot(0.05, sd))


@pytest.mark.parametrize(
    ("label", "capacity_sd", "cranking_sd"),
    [
        # New, with a known health (0.05): a printed figure scatters by 0.05, a size guessed from
        # the engine by 0.20; common practice, no source.
        ({"capacity_ah": 60, "cold_cranking_a": 540}, 0.05, 0.05),
        ({}, 0.20, None),
    ],
)
def test_what_is_printed_scatters_less_than_what_is_guessed(
    label: dict[str, Any], capacity_sd: float, cranking_sd: float | None
) -> None:
    """Spread of health and of the figure add as squares."""
    found = case_of({"battery": {"health": 1.0, **label}}).battery
    assert_allclose(found.capacity_health_sd, math.hypot(0.05, capacity_sd))
    expected = cranking_sd or math.hypot(FLOODED.number("cold_cranking_spread"), 0.20)
    assert_allclose(found.cranking_health_sd, math.hypot(0.05, expected))


@pytest.mark.parametrize(("years", "sd"), [(0.0, 0.02), (3.0, 0.08), (6.0, 0.14), (9.0, 0.15)])
def test_old_batteries_differ_more_than_new_ones(years: float, sd: float) -> None:
    """Two points a year up to fifteen: common practice, no source."""
    found = case_of({"battery": {"age_years": years, "capacity_ah": 60}}).battery
    assert_allclose(found.capacity_health_sd, math.hypot(sd, 0.05 * found.capacity_health))


@pytest.mark.parametrize(
    ("amperes", "odd"), [(115, True), (125, False), (1490, False), (1510, True)]
)
def test_amperes_no_battery_of_its_size_has_are_questioned(amperes: float, odd: bool) -> None:
    """Starting batteries give 6 to 14 A per Ah, small ones up to 20; below 2 or above 25 is odd."""
    assert warned("cold cranking current from", capacity_ah=60, cold_cranking_a=amperes) == odd


def test_minutes_a_quarter_off_are_questioned_and_hopeless_ones_refused() -> None:
    """Within 25 % of the rule nothing is said; beyond what the model can have, it is refused."""
    usual = case_of({"battery": {"capacity_ah": 60}}).battery.reserve_capacity_min
    for share, odd in ((0.77, False), (0.73, True), (1.23, False), (1.27, True)):
        label = {"capacity_ah": 60, "reserve_capacity_min": share * usual}
        assert warned("rarely go together", **label) == odd


def test_a_make_that_rests_high_is_read_as_less_full() -> None:
    """Charge, slope and spread behind a voltage are those of the profile's own curve."""
    found = case_of({"battery": {"resting_voltage_v": 12.4, "rested_h": 12}}).battery.start
    charge = float(charge_read(FLOODED, Reading(12.4, READ_AT_C), offset_v=0.0))
    assert found.charge == pytest.approx(charge)
    slope_v = voltage_slope_v(FLOODED.curve("open_circuit_v"), charge)
    assert_allclose(found.charge_sd, 0.05 / slope_v)
    # Known otherwise, the same battery spreads by the meter's and the make's part together.
    known = found.known_as(0.5)
    assert_allclose(known.charge_sd, math.hypot(found.charge_sd, found.offset_sd_v / slope_v))
    assert (known.charge, known.reading) == (0.5, None)
    assert charge_read(FLOODED, Reading(12.4, READ_AT_C), offset_v=0.1) < charge


@pytest.mark.parametrize(("above_v", "beyond"), [(0.05, False), (0.15, True)])
def test_a_make_that_rests_high_is_full_at_its_own_voltage(above_v: float, beyond: bool) -> None:
    """Read 0.2 V above the usual, it lies half of that above: only beyond is above full."""
    usual_v = resting_v(FLOODED, 1.0, READ_AT_C)
    label = {"full_resting_voltage_v": usual_v + 0.2, "resting_voltage_v": usual_v + above_v}
    assert warned("is above full", rested_h=12, **label) == beyond


@pytest.mark.parametrize(("rested_h", "warm"), [(3.9, True), (4.0, False)])
def test_four_hours_of_rest_are_enough(rested_h: float, warm: bool) -> None:
    """Until then surface charge reads high: common practice, no source."""
    assert warned("surface charge after", resting_voltage_v=12.4, rested_h=rested_h) == warm


def test_voltages_are_refused_where_no_healthy_battery_rests() -> None:
    """Above full by more than driving leaves and makes differ, below what five cells show."""
    full_v = resting_v(FLOODED, 1.0, READ_AT_C)
    spread_v = FLOODED.number("open_circuit_offset_sd_v")
    # A third of a volt stays for hours after driving: common practice, no source.
    highest = full_v + 2.0 * spread_v + 0.35
    for volts, right in (
        (highest - 0.01, True),
        (highest + 0.01, False),
        (10.5, True),
        (10.4, False),
    ):
        label = {"resting_voltage_v": volts, "rested_h": 12}
        if right:
            assert case_of({"battery": label}).battery.state_of_charge in {0.0, 1.0}
        else:
            with pytest.raises(ScenarioError, match="resting_voltage_v"):
                case_of({"battery": label})


def test_a_full_voltage_far_from_its_type_is_of_another_type() -> None:
    """0.6 V off is not this kind of battery."""
    usual_v = resting_v(FLOODED, 1.0, READ_AT_C)
    for apart_v in (0.59, -0.59):
        label = {"full_resting_voltage_v": usual_v + apart_v}
        assert case_of({"battery": label}).battery.start.offset_v * apart_v > 0.0
    for apart_v in (0.61, -0.61):
        with pytest.raises(ScenarioError, match="full_resting_voltage_v"):
            case_of({"battery": {"full_resting_voltage_v": usual_v + apart_v}})


@pytest.mark.parametrize(
    ("label", "sd"),
    # Given 4 points, assumed 8: common practice, no source.
    [({"state_of_charge": 0.8}, 0.04), ({}, 0.08)],
)
def test_a_charge_is_known_as_well_as_it_was_said(label: dict[str, float], sd: float) -> None:
    """A charge someone gave is narrower than one that was assumed."""
    assert case_of({"battery": label}).battery.start.charge_sd == sd
