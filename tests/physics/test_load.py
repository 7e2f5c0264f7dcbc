"""Units and vehicles: published currents turned into charge."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.load import (
    average_current_a,
    event_charge_as,
    fix_time_s,
    module_to_vehicle_current_a,
    supply_current_a,
)


@pytest.mark.parametrize(
    ("phases", "milliampere_hours"),
    [
        # Measured currents of a broadband LTE board at 3.7 V: connecting 179 mA for 47 s is
        # 2.34 mAh, sending 140 mA for 32 s is 1.24 mAh. atol: printed to 0.01.
        ([(47.0, 0.179)], 2.34),
        ([(32.0, 0.140)], 1.24),
        ([(47.0, 0.179), (32.0, 0.140)], 3.58),
        # Open LTE-M client's measurements at 5 V: wake-up 6 mA x 12 s = 0.1 mWh.
        ([(12.0, 0.006)], 0.1 / 5.0),
    ],
)
def test_events_add_up_to_published_charges(
    phases: list[tuple[float, float]], milliampere_hours: float
) -> None:
    """Current times time of each phase is the charge its source prints."""
    charge_as = event_charge_as(phases, sleep_a=0.0)
    assert_allclose(charge_as / 3.6, milliampere_hours, atol=0.005)


def test_second_generation_averages_follow_from_a_two_ampere_burst() -> None:
    """A 2.0 A burst in one slot of eight averages to the module's printed 250 mA."""
    # Hardware manual of a second-generation module, full power: peak 2.0 A in the transmit burst,
    # 250 mA average with one transmit slot, frame 4.615 ms of 8 slots. rtol: the manual rounds
    # the peak to one digit and the receive slots are left out.
    frame_s = 4.615e-3
    burst_as = event_charge_as([(frame_s / 8.0, 2.0)], sleep_a=0.0)
    assert_allclose(
        average_current_a(0.0, charge_as=burst_as, every_h=frame_s / 3600.0), 0.25, rtol=0.1
    )


@pytest.mark.parametrize(
    ("hours", "seconds"),
    [
        # GPS interface specification: ephemeris valid 4 h. Receiver board guides: hot 1-2 s
        # within about 4 h of the last run, cold 23-29 s; warm after days 20-30 s (anecdotal).
        (0.5, 2.0),
        (4.0, 2.0),
        (4.1, 28.0),
        (48.0, 28.0),
        (24.0 * 60, 35.0),
    ],
)
def test_a_fix_takes_longer_once_orbit_data_is_stale(hours: float, seconds: float) -> None:
    """Hot within 4 h, warm for days, cold after weeks."""
    times = {"hot_s": 2.0, "warm_s": 28.0, "cold_s": 35.0, "ephemeris_valid_h": 4.0}
    assert fix_time_s(hours, **times) == seconds


def test_a_fix_costs_what_its_data_sheet_implies() -> None:
    """A cold fix takes about 0.9 A·s at the receiver, an hourly hot one 0.06 A·s."""
    # Receiver data sheet: 32 mA acquiring; board guides: 29 s cold, 2 s hot. Arithmetic.
    assert_allclose(event_charge_as([(29.0, 0.032)], sleep_a=0.0), 0.928)
    assert_allclose(event_charge_as([(2.0, 0.032)], sleep_a=0.0), 0.064)


@pytest.mark.parametrize(
    ("module_a", "vehicle_a"),
    # 3.7 V behind a converter of 85 % on 12 V: 115 mA -> 41.7 mA, 22 mA -> 8.0 mA,
    # 75 uA -> 27 uA: worked rows of the project's reference sheet. atol: printed digits.
    [(0.115, 0.0417), (0.022, 0.0080), (75e-6, 27e-6)],
)
def test_module_currents_shrink_behind_a_converter(module_a: float, vehicle_a: float) -> None:
    """Energy balance turns module current into vehicle current."""
    shown = module_to_vehicle_current_a(module_a, module_v=3.7, vehicle_v=12.0, efficiency=0.85)
    assert_allclose(shown, vehicle_a, rtol=0.01)


@pytest.mark.parametrize("bad", [0.0, -0.5, 1.01, np.nan])
def test_refuses_converters_that_cannot_be(bad: float) -> None:
    """Efficiency lies above 0 and at most at 1."""
    with pytest.raises(OutOfRangeError, match="efficiency"):
        module_to_vehicle_current_a(0.1, module_v=3.7, vehicle_v=12.0, efficiency=bad)


@pytest.mark.parametrize(
    ("sleep_a", "ah_per_day"),
    [
        # Trade check value: a quarter of an ampere all day is 6 Ah a day.
        (0.25, 6.0),
        # Trade article: 100 mA is 2.4 Ah a day.
        (0.1, 2.4),
    ],
)
def test_a_steady_current_is_its_published_charge_a_day(sleep_a: float, ah_per_day: float) -> None:
    """Amperes times 24 hours."""
    mean = average_current_a(sleep_a, charge_as=0.0, every_h=np.inf)
    assert_allclose(24.0 * mean, ah_per_day)


@given(
    sleep_a=st.floats(0, 1),
    charge_as=st.floats(0, 5000),
    hours=st.tuples(st.floats(0.01, 1e4), st.floats(0.01, 1e4)),
)
def test_rarer_events_never_draw_more(
    sleep_a: float, charge_as: float, hours: tuple[float, float]
) -> None:
    """Mean current falls with the interval and never below sleep."""
    often, rarely = average_current_a(sleep_a, charge_as=charge_as, every_h=sorted(hours))
    assert often >= rarely >= sleep_a


@given(battery_v=st.floats(8.0, 30.0), current_a=st.floats(0.0, 2.0))
def test_a_switching_stage_draws_constant_power(battery_v: float, current_a: float) -> None:
    """Power is the rated power at any voltage; a linear stage draws the rated current."""
    switching = supply_current_a(current_a, battery_v, rated_at_v=12.0, switching=True)
    assert_allclose(switching * battery_v, current_a * 12.0, rtol=1e-12)
    linear = supply_current_a(current_a, battery_v, rated_at_v=12.0, switching=False)
    assert_allclose(linear, current_a)


def test_a_switching_unit_draws_half_on_a_24_v_vehicle() -> None:
    """The same unit draws half the current at 24 V."""
    assert_allclose(supply_current_a(0.25, 24.0, rated_at_v=12.0, switching=True), 0.125)
