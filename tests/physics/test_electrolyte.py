"""Freezing points against the tables that were not used."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.errors import OutOfRangeError
from drainsim.physics.electrolyte import freezing_c
from tests.build import profiles

LEAD_ACID = sorted(key for key, p in profiles().items() if p.has("specific_gravity"))


@pytest.mark.parametrize(
    ("gravity", "fahrenheit"),
    [
        # US Army TM 10-6140-200-14 (motive-power batteries), table 1-1.
        (1.280, -95.0),
        (1.250, -62.0),
        (1.220, -31.0),
        (1.160, 1.0),
        # US Army Ordnance course OD1002 and TM 5-1185, table III: rows the code left out (its
        # row for 1.250 is the one above).
        (1.150, 5.0),
        (1.200, -16.0),
    ],
)
def test_agrees_with_tables_it_did_not_come_from(gravity: float, fahrenheit: float) -> None:
    """Every other published set agrees within 3 K."""
    # atol 3 K: the sets agree among each other no better.
    assert_allclose(freezing_c(gravity), (fahrenheit - 32.0) / 1.8, atol=3.0)


def test_agrees_with_the_chemistry_handbook_as_remembered() -> None:
    """Acid of 30 per cent (gravity 1.2185) freezes near -36 °C."""
    # Handbook of chemistry and physics, freezing depression 36.2 K at 30 %: from memory.
    assert_allclose(freezing_c(1.2185), -36.2, atol=2.0)


def test_does_not_follow_the_optimistic_outlier() -> None:
    """Half-charged electrolyte freezes well above the -36.7 °C one seller prints."""
    # A battery seller's FAQ prints -34 °F (-36.7 °C) at 1.190 and -10 °F (-23.3 °C) at 1.120,
    # 10 to 14 K colder than every other source: the dangerous side.
    assert freezing_c(1.190) > -36.7 + 8.0
    assert freezing_c(1.120) > -23.3 + 8.0


@pytest.mark.parametrize("key", LEAD_ACID)
def test_flat_batteries_freeze_in_ordinary_frost_and_full_ones_do_not(key: str) -> None:
    """Flat freezes between -12 and -5 °C, full below -50 °C."""
    # Flat: TM 9-6140 "can freeze at +10 °F" (-12 °C); a 1997 manual "as high as 20 °F" (-7 °C);
    # a battery maker "just below 0 °C". Full: a battery maker -85 °F; a garage page -60 °F.
    gravity = profiles()[key].curve("specific_gravity")[:, 1]
    assert -12.2 <= float(freezing_c(gravity[0])) <= -5.0
    assert float(freezing_c(gravity[-1])) < -50.0


@given(pair=st.tuples(st.floats(1.0, 1.3), st.floats(1.0, 1.3)))
def test_stronger_acid_never_freezes_warmer(pair: tuple[float, float]) -> None:
    """Freezing point falls with gravity, up to the eutectic."""
    weak, strong = freezing_c(sorted(pair))
    assert strong <= weak


@pytest.mark.parametrize("bad", [0.99, 1.31, np.nan])
def test_refuses_gravities_no_electrolyte_has(bad: float) -> None:
    """Outside 1.000 to 1.300 the answer is an error."""
    with pytest.raises(OutOfRangeError, match="specific_gravity"):
        freezing_c(bad)
