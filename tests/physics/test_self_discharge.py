"""Charge lost by itself, and the exact step."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.physics.self_discharge import charge_step_ah, hours_to_reach_h, loss_rate_per_h
from tests.build import profiles

PROFILES = profiles()


def lost_share(key: str, temperature_c: float, days: float) -> float:
    """Return the share of its charge a profile's battery loses by itself."""
    rate = loss_rate_per_h(
        temperature_c,
        per_day_at_25c=PROFILES[key].number("self_discharge_per_day"),
        doubling_k=PROFILES[key].number("self_discharge_doubling_k"),
    )
    return float(-np.expm1(-rate * 24.0 * days))


@pytest.mark.parametrize(
    ("key", "temperature_c", "days", "share", "factor"),
    [
        # US Army TM 9-6140-200-14, p. 4-14, conventional battery: gravity lost per day 0.0025,
        # 0.001, 0.0003 at 37.8, 26.7, 10 °C; over a span of 0.145 that is 1.72, 0.69, 0.21 %.
        # factor: the last digit of each figure is worth 10 to 20 %.
        ("flooded_antimony", 37.8, 1.0, 0.0172, 1.25),
        ("flooded_antimony", 26.7, 1.0, 0.0069, 1.10),
        ("flooded_antimony", 10.0, 1.0, 0.0021, 1.20),
        # Battery seller's FAQ: 4 % a week at 80 °F.
        ("flooded_antimony", 26.7, 7.0, 0.04, 1.25),
        # AGM maker: 2 % a month at 25 °C; handbook by alloy: 3 % at 20 °C (4.2 % at 25 °C). The
        # profile must lie between, within rounding to whole per cent.
        ("agm", 25.0, 30.0, 0.0291, 1.5),
        # Handbook by alloy, gel: 2 and 1 % a month at 20 and 10 °C. factor: whole per cent.
        ("gel", 20.0, 30.0, 0.02, 1.3),
        ("gel", 10.0, 30.0, 0.01, 1.5),
        # Two lithium pages: 2 to 3 and 3 to 5 % a month.
        ("lithium_iron_phosphate_12v", 25.0, 30.0, 0.03, 1.4),
    ],
)
def test_loss_agrees_with_published_rows_of_its_alloy(
    key: str, temperature_c: float, days: float, share: float, factor: float
) -> None:
    """Each type loses what is published for its alloy and temperature."""
    lost = lost_share(key, temperature_c, days)
    assert share / factor <= lost <= share * factor


def test_a_maintenance_free_battery_keeps_a_year_in_a_cool_store() -> None:
    """After 12 months between 0 and 26 °C most of the charge is still there."""
    # US Army TM 5-3820-256-24-4: maintenance-free batteries may stand up to 12 months or more
    # before a charge, stored at 0 to 26 °C.
    for key in ("flooded_calcium", "enhanced_flooded"):
        assert 0.2 <= lost_share(key, 25.0, 365.0) <= 0.4
        assert lost_share(key, 0.0, 365.0) <= 0.1


@pytest.mark.parametrize("key", sorted(PROFILES))
@pytest.mark.parametrize(
    ("cold_c", "warm_c", "ratio"),
    # TM 9-6140-200-14, ratios of the gravity rows above; handbook by alloy: 2 per 10 K exactly.
    [(10.0, 26.7, 0.001 / 0.0003), (26.7, 37.8, 0.0025 / 0.001), (10.0, 20.0, 2.0)],
)
def test_ten_kelvin_double_the_loss(key: str, cold_c: float, warm_c: float, ratio: float) -> None:
    """Loss doubles about every 10 K, as three published pairs say."""
    # rtol 17 %: 0.0003 is printed to one digit.
    doubling_k = PROFILES[key].number("self_discharge_doubling_k")
    cold, warm = loss_rate_per_h([cold_c, warm_c], per_day_at_25c=0.003, doubling_k=doubling_k)
    assert_allclose(warm / cold, ratio, rtol=0.17)


charges = st.floats(0.0, 250.0)
currents = st.floats(-5.0, 10.0)
losses = st.floats(0.0, 0.01)
spans = st.floats(0.0, 200.0)


@given(charge_ah=charges, current_a=currents, loss=losses, hours=spans)
def test_books_of_a_step_close(
    charge_ah: float, current_a: float, loss: float, hours: float
) -> None:
    """Start = load + lost + left, to 1e-9 Ah."""
    left, lost = charge_step_ah(charge_ah, current_a=current_a, loss_per_h=loss, hours=hours)
    assert abs(charge_ah - current_a * hours - float(lost) - float(left)) < 1e-9


@given(charge_ah=charges, current_a=currents, loss=losses, hours=spans, cut=st.floats(0.0, 1.0))
def test_two_short_steps_are_one_long_step(
    charge_ah: float, current_a: float, loss: float, hours: float, cut: float
) -> None:
    """The step is exact: where it is cut does not matter."""
    load = {"current_a": current_a, "loss_per_h": loss}
    whole, _ = charge_step_ah(charge_ah, hours=hours, **load)
    half, _ = charge_step_ah(charge_ah, hours=hours * cut, **load)
    rest, _ = charge_step_ah(half, hours=hours * (1.0 - cut), **load)
    assert_allclose(rest, whole, rtol=1e-9, atol=1e-9)


@given(
    charge_ah=st.floats(1.0, 250.0),
    share=st.floats(0.0, 0.999),
    current_a=st.floats(0.001, 10.0),
    loss=losses,
)
def test_time_to_a_charge_arrives_at_that_charge(
    charge_ah: float, share: float, current_a: float, loss: float
) -> None:
    """Stepping for the time to reach a charge reaches it."""
    target = charge_ah * share
    hours = hours_to_reach_h(charge_ah, target, current_a=current_a, loss_per_h=loss)
    left, _ = charge_step_ah(charge_ah, current_a=current_a, loss_per_h=loss, hours=hours)
    assert_allclose(left, target, atol=1e-6 * charge_ah)


def test_a_charge_never_reached_takes_forever() -> None:
    """A maintainer that outweighs everything never lets the charge fall; no wait at the target."""
    kwargs = {"loss_per_h": 1e-5}
    assert hours_to_reach_h(50.0, 40.0, current_a=-0.1, **kwargs) == np.inf
    assert hours_to_reach_h(50.0, 60.0, current_a=0.1, **kwargs) == 0.0


def test_four_per_cent_a_week_is_not_quite_the_linear_sum() -> None:
    """125 Ah losing 4 % a week has lost under 80 Ah after 16 weeks."""
    # Battery seller's FAQ adds 16 x 4 % of the first charge: 80 Ah. Each week takes 4 % of what
    # is left, 60 Ah: the linear sum is an upper bound.
    weekly = -np.log1p(-0.04) / 168.0
    _, lost = charge_step_ah(125.0, current_a=0.0, loss_per_h=weekly, hours=16 * 168.0)
    assert_allclose(lost, 125.0 * (1.0 - 0.96**16), rtol=1e-12)
    assert lost < 80.0


def test_arrays_give_what_scalars_give() -> None:
    """An array equals its elements one by one."""
    charge, current = np.linspace(0, 100, 9), np.linspace(-1, 2, 9)
    loss, hours = np.linspace(0, 0.01, 9), np.linspace(0.1, 50, 9)
    together = charge_step_ah(charge, current_a=current, loss_per_h=loss, hours=hours)
    alone = [
        charge_step_ah(q, current_a=i, loss_per_h=r, hours=t)
        for q, i, r, t in zip(charge, current, loss, hours, strict=True)
    ]
    assert_allclose(together, np.transpose(alone), rtol=1e-14)
