"""Tilted panels: closed forms and laws."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.tilt import tilt_factor


def test_at_the_equinox_direct_light_follows_a_closed_form() -> None:
    """With the sun over the equator a panel tilted by its latitude gains 1/cos(latitude)."""
    # Declination 0 (day 1.39 · 365/2π = 80.7): R_b = 1/cos φ exactly. Very clear air, so that
    # direct light (85 %) rules; the rest is sky and ground by hand.
    phi = np.deg2rad(45.0)
    expected = 0.85 / np.cos(phi) + 0.15 * (1 + np.cos(phi)) / 2 + 0.2 * (1 - np.cos(phi)) / 2
    ours = tilt_factor(45.0, 1.39 * 365 / (2 * np.pi), tilt_deg=45.0, clear_share=0.85)
    assert_allclose(ours, expected, rtol=1e-6)


def test_tilt_helps_in_winter_and_hardly_in_summer() -> None:
    """At 52° a steep panel gains in December and loses in June; the south mirrors the north."""
    winter = tilt_factor(52.0, 350, tilt_deg=60.0, clear_share=0.4)
    summer = tilt_factor(52.0, 167, tilt_deg=60.0, clear_share=0.5)
    assert winter > 1.5
    assert summer < 1.0
    # Half a year later the sun stands alike in the south; 3 %: the year's halves differ by days.
    mirrored = tilt_factor(-52.0, 350 - 182.5, tilt_deg=60.0, clear_share=0.4)
    assert_allclose(mirrored, winter, rtol=0.03)


def test_under_a_closed_cloud_only_the_sky_counts() -> None:
    """Without direct light a tilted panel sees less sky and never gains."""
    assert tilt_factor(52.0, 350, tilt_deg=60.0, clear_share=0.0) < 1.0


@pytest.mark.parametrize("bad", [-1.0, 91.0, np.nan])
def test_a_tilt_that_cannot_be_is_refused(bad: float) -> None:
    """The error names the tilt."""
    with pytest.raises(OutOfRangeError, match="tilt_deg"):
        tilt_factor(50.0, 100, tilt_deg=bad, clear_share=0.4)


def test_panels_face_the_equator_on_both_sides_of_it() -> None:
    """A degree north or two is nearly the same; a degree south it is the other season."""
    for day in (172, 355):
        one, two = tilt_factor([0.5, 1.5], day, tilt_deg=30.0, clear_share=0.6)
        assert_allclose(one, two, rtol=0.03)
    north = tilt_factor(0.5, 172, tilt_deg=30.0, clear_share=0.6)
    south = tilt_factor(-0.5, 355, tilt_deg=30.0, clear_share=0.6)
    assert_allclose(north, south, rtol=0.01)
    assert north < tilt_factor(-0.5, 172, tilt_deg=30.0, clear_share=0.6) - 0.2
