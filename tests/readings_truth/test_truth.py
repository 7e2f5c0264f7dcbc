"""The truth itself against published values: it is to differ from the product, not from nature."""

import datetime as dt

import numpy as np
from numpy.testing import assert_allclose

from tests.readings_truth.battery import margin, resting_v, starts
from tests.readings_truth.truth import stands
from tests.readings_truth.voltmeter import read, relaxation_v

WINTER = dt.datetime(2026, 11, 10, 17, tzinfo=dt.UTC)


def test_resting_voltage_follows_the_acid() -> None:
    """Bode's polynomials: 11.89, 12.25, 12.67 and 12.87 V at 1.120, 1.190, 1.265 and 1.300."""
    # Sheet of published values, part A 2, three-way check; 25 °C. atol: its rounding.
    for density, volts in ((1.120, 11.89), (1.190, 12.25), (1.265, 12.67), (1.300, 12.87)):
        b = {key: np.array(density) for key in ("acid_full", "acid_empty")}
        b["volt_per_k"] = np.array(0.0)
        assert_allclose(resting_v(np.array(1.0), np.array(25.0), b), volts, atol=0.012)


def test_spread_between_batteries_is_the_published_one() -> None:
    """At equal charge 40 to 60 mV flooded, up to 0.2 V between AGM makes (guide to readings)."""
    s = stands(3, 600, place="temperate", begin=WINTER)
    half = resting_v(np.full(600, 0.8), np.full(600, 20.0), s.battery)
    sealed = s.says["battery_type"] == "agm"
    assert 0.035 < half[~sealed].std() < 0.065
    assert 0.07 < half[sealed].std() < 0.2


def test_usual_battery_starts_its_engine_full_in_frost_and_not_when_flat() -> None:
    """Full it starts at -18 °C, at 40 % charge mostly not (model guide, section 4)."""
    s = stands(4, 600, place="temperate", begin=WINTER)
    young = s.says["battery_age_years"] < 2
    cold = np.full(600, -18.0)
    assert starts(np.full(600, 1.0), cold, s.battery)[young].mean() > 0.9
    assert starts(np.full(600, 0.4), cold, s.battery)[young].mean() < 0.5


def test_warm_no_start_after_17_to_30_ah_or_more() -> None:
    """Makers' bulletins: no start after 17 to 30 Ah from a full car battery; cars gave more."""
    s = stands(5, 600, place="temperate", begin=WINTER)
    charge = np.linspace(1, 0, 101)[:, None]
    fails = margin(charge, np.full((101, 600), 0.0), s.battery) < 1
    used_ah = np.argmax(fails, axis=0) / 100 * s.battery["full_ah"]
    assert 17 < np.median(used_ah) < 60
    assert np.quantile(used_ah, 0.1) < 35


def test_charge_is_conserved() -> None:
    """What a stand draws and loses is what is missing: integrated again in one line."""
    s = stands(6, 20, place="marine", begin=WINTER, extra_a=0.2)
    days = 3
    hours = days * 24
    loss = s.battery["loss_per_10k"] ** ((s.battery_c[1 : hours + 1] - 20) / 10)
    lost = (loss * s.charge[:hours] * s.battery["loss_per_day_20c"] / 24).sum(axis=0)
    drawn = (s.drain_a + 0.2) * hours / s.battery["full_ah"]
    missing = s.charge[0] - s.charge[hours]
    once = missing - drawn - lost
    # The key-off sequence, 0.05 to 0.5 Ah, is what remains; the unit draws up to 5 % less.
    assert np.all(once * s.battery["full_ah"] > -0.05)
    assert np.all(once * s.battery["full_ah"] < 0.55)


def test_relaxation_is_slow_and_never_rises() -> None:
    """Falls monotonically; tens of millivolts at 4 h, some still after a day."""
    rng = np.random.default_rng(1)
    hours = np.arange(0, 200.0)
    left = relaxation_v(rng, hours, 500, np.full(500, 10.0))
    assert np.all(np.diff(left, axis=0) <= 0)
    assert 0.02 < np.median(left[4]) < 0.06
    assert 0.002 < np.median(left[24]) < 0.02


def test_same_seed_same_errors_whatever_is_asked() -> None:
    """More days or coarser steps of one unit leave its first readings what they were."""
    s = stands(7, 5, place="temperate", begin=WINTER)
    short, long = (read(s, 9, days=days, step_v=0.01) for days in (3.0, 9.0))
    coarse = read(s, 9, days=3.0, step_v=0.1)
    for a, b, c in zip(short, long, coarse, strict=True):
        assert_allclose(a.voltage_v, b.voltage_v[: len(a.voltage_v)])
        assert np.abs(a.voltage_v - c.voltage_v).max() <= 0.1 + 1e-9
