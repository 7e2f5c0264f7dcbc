"""Ageing season by season: what is left, whenever one looks."""

from typing import Any

import numpy as np
from numpy.testing import assert_allclose

from drainsim.physics.ageing import health_after_seasons

USUAL: dict[str, Any] = {
    "years_each": 0.5,
    "life_years_at_20c": 6.0,
    "halving_k": 10.0,
    "share_at_end_of_life": 0.7,
    "lateness": 1.8,
}


def test_looking_half_way_changes_nothing() -> None:
    """Four seasons in one go leave what two and two more leave, for unlike seasons too."""
    warmth, charge = np.array([5.0, 22.0, 4.0, 25.0]), np.array([0.9, 0.95, 0.7, 0.9])
    whole = health_after_seasons([1.0, 0.9], temperature_c=warmth, charge=charge, **USUAL)
    half = health_after_seasons([1.0, 0.9], temperature_c=warmth[:2], charge=charge[:2], **USUAL)
    rest = health_after_seasons(half[-1], temperature_c=warmth[2:], charge=charge[2:], **USUAL)
    assert_allclose(rest, whole[2:])
    assert (np.diff(whole, axis=0) < 0.0).all()


def test_a_life_at_20_degrees_ends_at_its_end() -> None:
    """Twelve half years of a full battery at the reference temperature are its six years."""
    full = health_after_seasons(1.0, temperature_c=np.full(12, 20.0), charge=np.ones(12), **USUAL)
    assert_allclose(full[-1], 0.7)


def test_a_flat_battery_wears_three_times_as_fast() -> None:
    """Standing flat, four half years use up what twelve do when it is kept charged."""
    # Half the charge that is sound: twice; none: three times (the function's own rule).
    for charge, seasons in ((0.0, 4), (1.0, 12)):
        stood = health_after_seasons(
            1.0, temperature_c=np.full(seasons, 20.0), charge=np.full(seasons, charge), **USUAL
        )
        assert_allclose(stood[-1], 0.7)
