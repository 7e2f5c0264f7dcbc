"""Fuse, wire, drop and starting profile against published values."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.supply_point import (
    DROP_SHARE,
    STARTING_PROFILES,
    fuse_for_peak_a,
    fuse_ohm,
    run_ohm,
    seconds_below_s,
    section_for_run_mm2,
    wire_ampacity_a,
)
from drainsim.physics.wiring import (
    CLASS_5_OHM_PER_M,
    awg_area_mm2,
    cable_ohm_per_m,
    fuse_cold_ohm,
    fuse_continuous_a,
    fuse_current_a,
    solid_wire_ohm_per_m,
)


@pytest.mark.parametrize(
    ("gauge", "ohm_per_km"),
    # Printed wire tables, two of them: 3.28, 8.28-8.29, 13.17-13.2, 20.94-21.0, 52.94-53.0 ohm/km.
    [(10, 3.28), (14, 8.285), (16, 13.18), (18, 20.97), (22, 52.97)],
)
def test_conductor_resistance_by_gauge(gauge: int, ohm_per_km: float) -> None:
    """A solid wire has the printed resistance of its gauge."""
    # rtol: the tables differ by up to 0.3 %.
    assert_allclose(1000 * solid_wire_ohm_per_m(awg_area_mm2(gauge)), ohm_per_km, rtol=0.004)


@pytest.mark.parametrize("section", [0.5, 0.75, 1.0, 1.5, 2.5])
def test_cable_is_never_below_class_5(section: float) -> None:
    """What is reckoned with is at least the IEC 60228 class 5 limit, by at most 4 %."""
    ratio = float(cable_ohm_per_m(section)) / CLASS_5_OHM_PER_M[section]
    assert 0.999 <= ratio < 1.04  # one factor for all sections: 1.124 to 1.157 published


def test_worked_run() -> None:
    """0.5 mm², 5 m out and back, 1 A: 0.39 V with the class 5 limit."""
    # Cable makers' tables, 39.0 ohm/km, two agree; the common factor adds up to 4 %.
    assert_allclose(run_ohm(0.5, length_m=5.0), 0.39, rtol=0.04)
    # Copper at 60 °C: 1 + 0.00393 · 40 (power-engineering handbook).
    hot = run_ohm(0.5, length_m=5.0, temperature_c=60.0)
    assert_allclose(hot / run_ohm(0.5, length_m=5.0), 1.157, rtol=1e-3)


def test_fuse_chart_and_continuous_load() -> None:
    """1 mV across a 10 A blade fuse is 130 mA; 75 % of the rating lasts for good."""
    # Training site's chart (1 mV: 130 mA, printed to 10 mA); component maker's fuse guide.
    assert_allclose(fuse_current_a(0.001, rating_a=10.0), 0.130, atol=0.005)
    assert fuse_continuous_a(10.0) == pytest.approx(7.5)


@pytest.mark.parametrize(
    ("system", "level", "lowest_v", "hold_v", "hold_s"),
    # ISO 16750-2:2023, 4.6.3, as quoted by a secondary source.
    [
        (12, 0, 8.0, 9.5, 1.0),
        (12, 1, 4.5, 6.5, 10.0),
        (12, 2, 3.0, 5.0, 1.0),
        (12, 3, 6.0, 6.5, 10.0),
        (24, 0, 10.0, 20.0, 1.0),
        (24, 1, 8.0, 15.0, 10.0),
        (24, 2, 6.0, 10.0, 1.0),
    ],
)
def test_riding_the_starting_profile(
    system: int, level: int, lowest_v: float, hold_v: float, hold_s: float
) -> None:
    """A unit rides through only down to the lowest voltage; above the hold it waits it out."""
    profile = STARTING_PROFILES[system][level]
    assert seconds_below_s(profile, lowest_v) == 0.0 < seconds_below_s(profile, lowest_v + 0.01)
    assert 0.0 < seconds_below_s(profile, hold_v - 0.01) < 0.2
    assert seconds_below_s(profile, hold_v + 0.01) > hold_s
    steps = [seconds_below_s(profile, v) for v in np.linspace(0.0, system, 40)]
    assert (np.diff(steps) >= 0.0).all()


def test_fuse_is_large_enough_and_protects_its_wire() -> None:
    """1.5 times the peak and 75 % continuous; the section chosen carries the fuse."""
    for peak in (0.1, 0.25, 1.0, 3.0):
        fuse = fuse_for_peak_a(peak)
        assert fuse is not None
        assert fuse >= 1.5 * peak
        assert float(fuse_continuous_a(fuse)) >= peak
        section = section_for_run_mm2(peak, length_m=3.0, system_v=12.0, fuse_a=fuse)
        assert section is not None
        assert float(wire_ampacity_a(section)) >= fuse
        assert peak * run_ohm(section, length_m=3.0, temperature_c=85.0) <= DROP_SHARE * 12.0
    assert fuse_for_peak_a(30.0) is None


def test_longer_runs_need_thicker_wire() -> None:
    """The section never shrinks with length, and some length is too long."""
    sections = [
        section_for_run_mm2(2.0, length_m=length, system_v=12.0, fuse_a=3.0)
        for length in (0.5, 3.0, 6.0, 9.0, 40.0)
    ]
    assert sections[-1] is None
    known = [section for section in sections if section is not None]
    assert known == sorted(known)
    assert known[-1] > known[0]


def test_two_published_ampacities_agree() -> None:
    """The cautious rule stays within 25 % of an independent cable supplier's figures."""
    # Towing-wiring supplier, thin-strand cable: 1.0 mm² 8.75 A, 1.5 12.75 A, 2.5 21.75 A.
    assert_allclose(wire_ampacity_a([1.0, 1.5, 2.5]), [8.75, 12.75, 21.75], rtol=0.25)
    with pytest.raises(OutOfRangeError, match="section_mm2"):
        wire_ampacity_a(0.0)


def test_fuses_are_of_the_blade_fuse_row_up_to_30_a() -> None:
    """The next of the row above 1.5 times the peak; where the row ends there is none."""
    # ISO 8820-3, blade fuses: 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30 A; from memory.
    assert [fuse_for_peak_a(a / 1.5) for a in (2.0, 4.5, 12.0, 25.5, 30.0)] == [2, 5, 15, 30, 30]
    assert fuse_for_peak_a(30.1 / 1.5) is None


def test_a_fuse_in_the_table_has_its_own_resistance() -> None:
    """Only between two ratings the smaller one's counts."""
    for rating in (5.0, 10.0):
        assert fuse_ohm(rating) == fuse_cold_ohm(rating) < fuse_ohm(rating - 0.1)


@pytest.mark.parametrize("system_v", [12, 24])
def test_time_below_a_voltage_is_what_a_plotted_profile_shows(system_v: int) -> None:
    """Counting points of the profile drawn in small steps gives the same seconds."""
    for level in STARTING_PROFILES[system_v]:
        spans = [level.fall_s, level.lowest_s, level.ramp_s, level.hold_s, level.rise_s]
        at = np.concatenate([[0.0], np.cumsum(spans)])
        volts = [level.base_v, level.lowest_v, level.lowest_v, level.hold_v, level.hold_v]
        time = np.arange(0.0, at[-1], 1e-5)
        course = np.interp(time, at, [*volts, level.base_v])
        for minimum_v in np.linspace(level.lowest_v - 0.3, level.base_v - 0.1, 15):
            below_s = 1e-5 * float((course < minimum_v).sum())
            assert_allclose(seconds_below_s(level, float(minimum_v)), below_s, atol=1e-4)


def test_cables_carry_what_two_rules_print() -> None:
    """The cautious rule and the thin-wall figures at every section; proportional outside."""
    # An older, cautious rule of a trade wiring page, and supplier tables for thin-wall cable single
    # in air (21 A for 1.5 mm² seen, the others from memory).
    sections = [0.5, 0.75, 1.0, 1.5, 2.5]
    careful, thin = (wire_ampacity_a(sections, thin_wall=thin) for thin in (False, True))
    assert_allclose(careful, [5, 7, 9, 13, 17])
    assert_allclose(thin, [11, 14, 16.5, 21, 29])
    # Heat of a round wire leaves by its surface: current goes with section^0.75 at one temperature
    # rise. 15 %: tables are rounded and free air cools thin wires better.
    for carried in (careful, thin):
        law = carried / np.power(sections, 0.75)
        assert_allclose(law, law.mean(), rtol=0.15)
    assert_allclose(wire_ampacity_a([0.25, 4.0, 5.0]), [2.5, 27.2, 34.0])


def test_a_fuse_drops_cold_seven_tenths_of_what_it_drops_at_its_rating() -> None:
    """Hot, at its rating, a blade fuse drops more; by as much for every size."""
    # Typical drops at rated current on data sheets of medium blade fuses [mV]: from memory.
    hot_mv = {
        1: 176,
        2: 141,
        3: 137,
        4: 129,
        5: 128,
        7.5: 116,
        10: 109,
        15: 102,
        20: 98,
        25: 92,
        30: 84,
    }
    for rating, millivolt in hot_mv.items():
        cold_mv = 1000.0 * rating * fuse_cold_ohm(rating)
        assert_allclose(cold_mv / millivolt, 0.7, atol=0.07)
    # The small form has the same element in a shorter body: 2 to 7 % less (makers' cold tables as
    # the medium row's: from memory).
    for rating in (5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0):
        assert 0.93 <= fuse_cold_ohm(rating, kind="mini") / fuse_cold_ohm(rating) <= 0.98
    # Below the table its smallest fuse counts, the cautious side being the next larger.
    assert fuse_ohm(2.0, kind="mini") == fuse_cold_ohm(5.0, kind="mini")


def test_the_thinnest_section_that_will_do_is_found_to_the_centimetre() -> None:
    """At 85 °C the drop reaches 3 % of 12 V exactly at the longest run of each usual section."""
    peak_a, found = 1.0, []
    for section, fuse_a in ((0.5, 4.0), (0.75, 7.0), (1.0, 9.0), (1.5, 12.0), (2.5, 17.0)):
        # Copper, 0.393 % a kelvin from 20 °C (handbook); 3 % for critical loads (marine practice).
        hot_ohm_per_m = float(cable_ohm_per_m(section)) * (1.0 + 3.93e-3 * 65.0)
        longest_m = 0.03 * 12.0 / (2.0 * peak_a * hot_ohm_per_m)
        for length_m in (longest_m - 0.01, longest_m + 0.01):
            found.append(
                section_for_run_mm2(peak_a, length_m=length_m, system_v=12.0, fuse_a=fuse_a)
            )
    assert found == [0.5, 0.75, 0.75, 1.0, 1.0, 1.5, 1.5, 2.5, 2.5, None]


@pytest.mark.parametrize(
    ("system", "level", "total_s"),
    # ISO 16750-2:2023, 4.6.3, as quoted by a secondary source: fall 5 ms (10 at 24 V), lowest 15 ms
    # (50 at 24 V), 50 ms up to the hold, the hold, and 40 or 100 ms back.
    [
        (12, 0, 0.005 + 0.015 + 0.05 + 1.0 + 0.04),
        (12, 1, 0.005 + 0.015 + 0.05 + 10.0 + 0.1),
        (12, 2, 0.005 + 0.015 + 0.05 + 1.0 + 0.1),
        (12, 3, 0.005 + 0.015 + 0.05 + 10.0 + 0.1),
        (24, 0, 0.010 + 0.050 + 0.05 + 1.0 + 0.04),
        (24, 1, 0.010 + 0.050 + 0.05 + 10.0 + 0.1),
        (24, 2, 0.010 + 0.050 + 0.05 + 1.0 + 0.04),
    ],
)
def test_a_starting_profile_lasts_as_long_as_printed(
    system: int, level: int, total_s: float
) -> None:
    """Below its resting voltage from the first moment to the last."""
    profile = STARTING_PROFILES[system][level]
    assert profile.base_v == system
    assert_allclose(seconds_below_s(profile, system + 1e-9), total_s)
    assert_allclose(profile.fall_s + profile.lowest_s, 0.02 if system == 12 else 0.06)
