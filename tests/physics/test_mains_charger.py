"""Mains chargers: compensated voltages and power, against published tables."""

import pytest
from numpy.testing import assert_allclose

from drainsim.physics.mains_charger import compensated_v, mains_power_w


@pytest.mark.parametrize(("temperature_c", "printed_v"), [(35, 14.2), (24, 14.4), (-18, 15.1)])
def test_the_charger_table(temperature_c: float, printed_v: float) -> None:
    """14.2, 14.4 and 15.1 V at 35, 24 and -18 °C for conventional batteries."""
    # Charger information page. 0.1 V: it prints tenths; -17 mV/K is the slope of its ends.
    assert_allclose(compensated_v(14.4, temperature_c, per_k=-0.017), printed_v, atol=0.1)


def test_holding_a_parked_car_takes_about_a_watt() -> None:
    """50 mA at 13.6 V from a charger of 75 % efficiency is 0.9 W at the socket."""
    # P = U I / η by hand: 0.05 · 13.6 / 0.75.
    assert_allclose(mains_power_w(0.05, 13.6, efficiency=0.75), 0.907, atol=0.001)
