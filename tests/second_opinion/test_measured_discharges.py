"""Open discharges of a 12 V VRLA battery, replayed with drainsim's battery model.

Data: Sulzer et al. 2019, BSD-3-Clause (tests/data, licence beside it): constant current, one
minute telemetry, 18 to 26 °C, a battery the authors call 17 Ah.
"""

import csv
import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.evidence.checks.capacity import MEASURED_AH
from drainsim.files.profile import load_profile
from drainsim.physics.capacity import (
    KineticParameters,
    kinetic_from_label,
    reserve_from_capacity_min,
    runtime_h,
)
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.batteries.starting_charge import resting_v

pytestmark = pytest.mark.slow
DATA = Path(__file__).parents[1] / "data"
RUNS = ("0p5A", "1p5A", "2p5A", "3p0A")


def _run(name: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return hours, current and voltage where both were logged."""
    with (DATA / f"sulzer2019_vrla_17Ah_{name}.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["current_A_discharge_positive"]]
    times = [dt.datetime.fromisoformat(row["time_utc"]) for row in rows]
    order = np.argsort([time.timestamp() for time in times])
    hours = np.array([(time - min(times)).total_seconds() / 3600.0 for time in times])[order]
    current = np.array([float(row["current_A_discharge_positive"]) for row in rows])[order]
    volts = np.array([float(row["voltage_V"]) for row in rows])[order]
    return hours, current, volts


def _battery() -> KineticParameters:
    """Return the AGM profile at 17 Ah, as a user would enter it: nothing else is known."""
    profile = load_profile("agm")
    minutes = reserve_from_capacity_min(
        17.0,
        factor=profile.number("reserve_minutes_factor"),
        exponent=profile.number("reserve_minutes_exponent"),
    )
    return kinetic_from_label(
        capacity_ah=17.0,
        reserve_capacity_min=float(minutes),
        low_rate_gain=profile.number("low_rate_gain"),
    )


def _discharge(name: str) -> tuple[float, float, float]:
    """Return (mean current [A], hours under load, charge [Ah]) of a run."""
    hours, current, _ = _run(name)
    loaded = current > 0.1
    return (
        float(current[loaded].mean()),
        float(np.ptp(hours[loaded])),
        float(np.trapezoid(current, hours)),
    )


@pytest.mark.parametrize(
    ("name", "accepted"),
    # Accepted error of the time to empty. The rating is not known to better than 10 %, end
    # voltages, temperature and recharge differ between runs (5 % more); at 6 to 8 h the reserve
    # capacity assumed for a starting battery makes it a quarter too short, a known weakness.
    [("0p5A", 0.10), ("1p5A", 0.20), ("2p5A", 0.27), ("3p0A", 0.27)],
)
def test_time_to_empty(name: str, accepted: float) -> None:
    """The model empties the battery within the accepted error, and never later than it did."""
    current_a, loaded_h, _ = _discharge(name)
    predicted_h = runtime_h(current_a, _battery())
    assert_allclose(predicted_h, loaded_h, rtol=accepted)
    assert predicted_h <= loaded_h


def test_slow_end_saturates_where_a_power_law_would_not() -> None:
    """From 1.5 to 0.5 A the model gains within 10 % of what was measured; Peukert does not."""
    (fast_a, fast_h, _), (slow_a, slow_h, _) = _discharge("1p5A"), _discharge("0p5A")
    measured = slow_h * slow_a / (fast_h * fast_a)
    battery = _battery()
    ours = runtime_h(slow_a, battery) * slow_a / (runtime_h(fast_a, battery) * fast_a)
    power_law = (fast_a / slow_a) ** 0.2
    assert_allclose(ours, measured, rtol=0.12)
    assert power_law / measured > 1.25


@pytest.mark.parametrize("name", RUNS)
def test_resting_voltage_before(name: str) -> None:
    """An hour after charging it rests 0.05 to 0.35 V above the curve's full: surface charge."""
    # 0.35 V is what `vehicle.starting_charge` takes for surface charge before it refuses a
    # reading. The lower bound was 0.1 V above one table's 12.8 V; full is now 12.89 V, the middle
    # of 13 makes that differ by 0.16 V, and the make of this battery is one of them.
    hours, current, volts = _run(name)
    before_v = volts[hours < hours[current > 0.1].min()][-1]
    surplus_v = before_v - resting_v(load_profile("agm"), 1.0, 22.0)
    assert 0.05 <= surplus_v <= 0.35


@pytest.mark.parametrize("name", RUNS)
def test_resting_voltage_after(name: str) -> None:
    """An hour after the end it rests below the curve's empty: read as empty, not as charged."""
    # Accepted: up to 0.9 V below. The runs went on to 10.5 V at a low rate, deeper than the 20 h
    # rate the curve's empty stands for, and an hour is too short a rest.
    _, _, volts = _run(name)
    empty_v = resting_v(load_profile("agm"), 0.0, 22.0)
    assert empty_v - 0.9 <= volts[-1] <= empty_v


def test_the_evidence_rows_are_these_runs() -> None:
    """The charges in the evidence table are the integrals of the copied telemetry."""
    found = {round(a, 2): ah for a, _, ah in (_discharge(name) for name in RUNS)}
    assert found.keys() == {round(a, 2) for a in MEASURED_AH}
    for current_a, charge_ah in MEASURED_AH.items():
        assert_allclose(found[round(current_a, 2)], charge_ah, atol=0.02)
