"""Wire and fuse resistance: laws, limits and refusals (published values: test_evidence.py)."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics import wiring


def test_next_gauge_but_three_halves_the_section() -> None:
    """Three gauge numbers up halve the section (trade rule of thumb), six halve the diameter."""
    # rtol: the exact factors are 92^(6/39) = 2.005 and 92^(6/39) for the diameter.
    assert_allclose(wiring.awg_area_mm2(10) / wiring.awg_area_mm2(13), 2.0, rtol=0.01)
    assert_allclose(wiring.awg_diameter_mm(10) / wiring.awg_diameter_mm(16), 2.0, rtol=0.01)


def test_warmer_and_thinner_means_more_resistance() -> None:
    """Resistance rises with temperature and falls with section, without exception."""
    warmer = wiring.cable_ohm_per_m(0.75, temperature_c=np.linspace(-40.0, 125.0, 40))
    thicker = wiring.cable_ohm_per_m(np.geomspace(0.1, 50.0, 40))
    assert (np.diff(warmer) > 0).all()
    assert (np.diff(thicker) < 0).all()


@pytest.mark.parametrize("section_mm2", list(wiring.CLASS_5_OHM_PER_M))
def test_cable_is_never_better_than_its_standard_allows(section_mm2: float) -> None:
    """What we reckon with is at the class 5 limit or up to 3 % above it, and above solid wire."""
    limit = wiring.CLASS_5_OHM_PER_M[section_mm2]
    ours = float(wiring.cable_ohm_per_m(section_mm2))
    assert float(wiring.solid_wire_ohm_per_m(section_mm2)) < limit
    # 1e-3: 1.157 is the largest ratio rounded to three digits.
    assert limit * (1.0 - 1e-3) <= ours <= 1.03 * limit


def test_drop_counts_the_way_back_and_the_fuse() -> None:
    """0.5 mm², 5 m run, 1 A: 0.39 V out and back at the class 5 limit, plus 7.7 mV of fuse."""
    # 2 x 5 m x 39.0 mohm/m x 1 A (IEC 60228 class 5, two cable makers' tables).
    drop = wiring.voltage_drop_v(
        1.0,
        length_m=5.0,
        ohm_per_m=wiring.CLASS_5_OHM_PER_M[0.5],
        extra_ohm=wiring.fuse_cold_ohm(10.0),
    )
    assert_allclose(drop, 0.390 + 0.0077, atol=1e-6)


def test_fuse_reading_undoes_the_fuse_drop() -> None:
    """The current read from a fuse's voltage is the current that made it."""
    current_a = np.array([0.005, 0.05, 1.0])
    drop = current_a * wiring.fuse_cold_ohm(7.5, kind="mini")
    assert_allclose(wiring.fuse_current_a(drop, rating_a=7.5, kind="mini"), current_a)


def test_larger_fuses_have_less_resistance() -> None:
    """Along both tables resistance falls as the rating rises."""
    for kind, ratings in (("medium", (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30)), ("mini", (5, 30))):
        ohms = [wiring.fuse_cold_ohm(float(rating), kind=kind) for rating in ratings]  # type: ignore[arg-type]
        assert (np.diff(ohms) < 0).all()


def test_the_thinnest_and_the_thickest_wire_that_are_known_are_answered() -> None:
    """Half the section is twice the resistance, from end to end of what is accepted."""
    thin, thick = wiring.cable_ohm_per_m([0.01, 120.0])
    assert_allclose(thin / thick, 120.0 / 0.01)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: wiring.awg_diameter_mm(41), "gauge=41"),
        (lambda: wiring.copper_resistivity_ohm_mm2_per_m(126.0), "temperature_c=126 °C"),
        (lambda: wiring.cable_ohm_per_m(0.0), "section_mm2=0 mm²"),
        (lambda: wiring.cable_ohm_per_m(np.nan), "section_mm2=nan"),
        (lambda: wiring.fuse_cold_ohm(12.0), "rating_a=12 A is not in the medium table"),
        (lambda: wiring.fuse_cold_ohm(10.0, kind="glass"), "kind='glass' is unknown"),
    ],
)
def test_refuses_what_no_source_covers(call: object, said: str) -> None:
    """A size, rating or temperature outside the sources is an error that names it."""
    assert callable(call)
    with pytest.raises(OutOfRangeError, match=said):
        call()
