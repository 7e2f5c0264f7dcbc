"""The tables a run looks up against the physics they stand for."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.physics.contactors import contactor_share
from drainsim.physics.cranking import available_current_a, cold_fall_log
from drainsim.physics.electrolyte import freezing_c
from drainsim.physics.oil import OIL_GRADES, turning_factor
from drainsim.physics.tables import interpolate
from drainsim.simulation.battery_curves import tabulate_curves
from drainsim.vehicle.batteries.starting_charge import resting_v
from tests.build import profiles

PROFILES = profiles()


@given(
    key=st.sampled_from(sorted(PROFILES)),
    charge=st.floats(0.0, 1.0),
    temperature_c=st.floats(-40.0, 60.0),
    minimum_v=st.sampled_from([6.0, 7.2, 7.5, 9.0, 10.5]),
    demand_a=st.floats(20.0, 600.0),
    oil=st.sampled_from(OIL_GRADES),
    oil_k=st.floats(-12.0, 12.0),
    cold_fall=st.floats(0.2, 4.0),
)
def test_margin_is_the_physics_it_was_tabulated_from(
    key: str,
    charge: float,
    temperature_c: float,
    minimum_v: float,
    demand_a: float,
    oil: str,
    oil_k: float,
    cold_fall: float,
) -> None:
    """Looked-up margin = available current over demand times its cold factor, lane by lane."""
    # atol 1e-3 of the full, warm margin: tables of 401 points, kinks between them.
    profile, rated_a = PROFILES[key], 540.0
    curves = tabulate_curves(profile, minimum_v=minimum_v, oil=oil)
    curve = profile.curve("cranking_share_by_temperature")

    def physics(q: float, t: float) -> float:
        current_a = available_current_a(
            q,
            t,
            cold_cranking_a=rated_a,
            minimum_v=minimum_v,
            open_circuit_cold_v=resting_v(profile, q, -18.0),
            knee_v=profile.number("cranking_knee_v"),
            share_by_temperature=curve,
            share_by_charge=profile.curve("cranking_share_by_charge"),
        )
        slower = np.exp((cold_fall - 1.0) * cold_fall_log(t, curve=curve))
        need_a = demand_a * turning_factor(t, grade=oil, thicker_k=oil_k)
        return float(current_a * slower / need_a)

    looked_up = curves.margin(
        np.array([charge]),
        np.array([temperature_c]),
        np.array(demand_a / rated_a),
        np.array([oil_k]),
        np.array([cold_fall]),
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
    curves = tabulate_curves(profile, minimum_v=7.5)
    shown = curves.resting_at_v(np.array([charge]), np.array([temperature_c]))
    assert_allclose(shown, resting_v(profile, charge, temperature_c), atol=1e-3)
    if profile.has("specific_gravity"):
        gravity = interpolate(charge, profile.curve("specific_gravity"), name="s", unit="")
        assert_allclose(curves.freezes_at_c(np.array([charge])), freezing_c(gravity), atol=0.1)
    else:
        assert curves.freezes_at_c(np.array([charge]))[0] < -100.0


@given(
    key=st.sampled_from(sorted(PROFILES)),
    charge=st.floats(0.001, 1.0),
    temperature_c=st.floats(-40, 60),
)
def test_charge_at_a_voltage_inverts_the_resting_voltage(
    key: str, charge: float, temperature_c: float
) -> None:
    """The charge at which a unit's voltage is reached shows that voltage."""
    curves = tabulate_curves(PROFILES[key], minimum_v=7.5)
    warm = np.array([temperature_c])
    shown = curves.resting_at_v(np.array([charge]), warm)
    assert_allclose(curves.charge_at_v(shown, warm), charge, atol=1e-6)


def test_a_voltage_below_empty_is_never_reached() -> None:
    """A cut-off no battery of the type can show has no charge."""
    curves = tabulate_curves(PROFILES["agm"], minimum_v=7.5)
    assert curves.charge_at_v(np.array([8.0]), np.array([20.0])) == -1.0


@pytest.mark.parametrize("turns_engine", [True, False])
@pytest.mark.parametrize("key", sorted(PROFILES))
@pytest.mark.parametrize(("oil_k", "cold_fall"), [(0.0, 1.0), (12.0, 0.1), (-12.0, 6.0)])
def test_margin_rises_with_charge_and_with_warmth(
    key: str, turns_engine: bool, oil_k: float, cold_fall: float
) -> None:
    """On a grid no step towards full or towards warm lowers the margin of any lane."""
    curves = tabulate_curves(PROFILES[key], minimum_v=7.5, turns_engine=turns_engine)
    charge, warm = np.meshgrid(np.linspace(0, 1, 201), np.linspace(-40, 60, 201), indexing="ij")
    margin = curves.margin(charge, warm, np.array(0.25), oil_k, cold_fall)
    assert (np.diff(margin, axis=0) >= -1e-12).all()
    assert (np.diff(margin, axis=1) >= -1e-12).all()


def test_heaters_count_as_so_much_warmer() -> None:
    """A block heater warms the oil, a battery heater the battery, neither the other."""
    profile = PROFILES["flooded_calcium"]
    at = np.array([-35.0, -20.0, -5.0])
    plain = tabulate_curves(profile, minimum_v=7.5)
    block = tabulate_curves(profile, minimum_v=7.5, block_heater_k=20.0)
    pad = tabulate_curves(profile, minimum_v=7.5, battery_heater_k=20.0)
    assert_allclose(block.turning_at(at), plain.turning_at(at + 20.0), rtol=1e-3)
    assert_allclose(block.power_at(at), plain.power_at(at))
    assert_allclose(pad.power_at(at), plain.power_at(at + 20.0), rtol=1e-3)
    assert_allclose(pad.turning_at(at), plain.turning_at(at))


def test_contactors_hold_where_a_starter_gives_up() -> None:
    """With 10 % charge a starter gets nothing, 20 A for contactors are there."""
    # Measured resistance of AGM batteries: 1.35 times as high at 40 % (open university data).
    assert_allclose(1.0 / contactor_share(0.4), 1.35)
    profile, low = PROFILES["flooded_calcium"], np.array([0.1])
    demand_ratio = np.array([20.0 / 405.0])
    assert (
        tabulate_curves(profile, minimum_v=9.5).margin(low, np.array([10.0]), demand_ratio)[0]
        == 0.0
    )
    voltage = tabulate_curves(profile, minimum_v=9.5, turns_engine=False)
    assert voltage.margin(low, np.array([10.0]), demand_ratio)[0] > 1.0
