"""The tables a run looks up against the physics they stand for."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.physics.cranking import available_current_a, demand_factor
from drainsim.physics.electrolyte import freezing_c
from drainsim.physics.tables import interpolate
from drainsim.simulation.law import battery_law
from drainsim.vehicle.starting_charge import resting_v
from tests.build import profiles

PROFILES = profiles()


@given(
    key=st.sampled_from(sorted(PROFILES)),
    charge=st.floats(0.0, 1.0),
    temperature_c=st.floats(-40.0, 60.0),
    minimum_v=st.sampled_from([6.0, 7.2, 7.5, 9.0, 10.5]),
    demand_a=st.floats(20.0, 600.0),
)
def test_margin_is_the_physics_it_was_tabulated_from(
    key: str, charge: float, temperature_c: float, minimum_v: float, demand_a: float
) -> None:
    """Looked-up margin = available current over demand times its cold factor."""
    # atol 1e-3 of the full, warm margin: tables of 401 points, kinks between them.
    profile, rated_a = PROFILES[key], 540.0
    law = battery_law(profile, minimum_v=minimum_v)

    def physics(q: float, t: float) -> float:
        current_a = available_current_a(
            q,
            t,
            cold_cranking_a=rated_a,
            minimum_v=minimum_v,
            open_circuit_cold_v=resting_v(profile, q, -18.0),
            knee_v=profile.number("cranking_knee_v"),
            share_by_temperature=profile.curve("cranking_share_by_temperature"),
            share_by_charge=profile.curve("cranking_share_by_charge"),
        )
        return float(current_a / (demand_a * demand_factor(t)))

    looked_up = law.margin(
        np.array([charge]), np.array([temperature_c]), np.array(demand_a / rated_a)
    )
    assert_allclose(looked_up, physics(charge, temperature_c), atol=1e-3 * physics(1.0, 26.7))


@given(
    key=st.sampled_from(sorted(PROFILES)), charge=st.floats(0, 1), temperature_c=st.floats(-40, 60)
)
def test_voltage_and_freezing_are_the_physics(
    key: str, charge: float, temperature_c: float
) -> None:
    """Looked-up resting voltage and freezing point are those of the formulas."""
    # 1 mV and 0.1 K: straight lines of 1/400 of the charge.
    profile = PROFILES[key]
    law = battery_law(profile, minimum_v=7.5)
    shown = law.resting_at_v(np.array([charge]), np.array([temperature_c]))
    assert_allclose(shown, resting_v(profile, charge, temperature_c), atol=1e-3)
    if profile.has("specific_gravity"):
        gravity = interpolate(charge, profile.curve("specific_gravity"), name="s", unit="")
        assert_allclose(law.freezes_at_c(np.array([charge])), freezing_c(gravity), atol=0.1)
    else:
        assert law.freezes_at_c(np.array([charge]))[0] < -100.0


@given(
    key=st.sampled_from(sorted(PROFILES)),
    charge=st.floats(0.001, 1.0),
    temperature_c=st.floats(-40, 60),
)
def test_charge_at_a_voltage_inverts_the_resting_voltage(
    key: str, charge: float, temperature_c: float
) -> None:
    """The charge at which a unit's voltage is reached shows that voltage."""
    law = battery_law(PROFILES[key], minimum_v=7.5)
    warm = np.array([temperature_c])
    shown = law.resting_at_v(np.array([charge]), warm)
    assert_allclose(law.charge_at_v(shown, warm), charge, atol=1e-6)


def test_a_voltage_below_empty_is_never_reached() -> None:
    """A cut-off no battery of the type can show has no charge."""
    law = battery_law(PROFILES["agm"], minimum_v=7.5)
    assert law.charge_at_v(np.array([8.0]), np.array([20.0])) == -1.0


@pytest.mark.parametrize("key", sorted(PROFILES))
def test_margin_rises_with_charge_and_with_warmth(key: str) -> None:
    """On a grid no step towards full or towards warm lowers the margin."""
    law = battery_law(PROFILES[key], minimum_v=7.5)
    charge, warm = np.meshgrid(np.linspace(0, 1, 201), np.linspace(-40, 60, 201), indexing="ij")
    margin = law.margin(charge, warm, np.array(0.25))
    assert (np.diff(margin, axis=0) >= -1e-12).all()
    assert (np.diff(margin, axis=1) >= -1e-12).all()
