"""A few invented stands for tests: voltages from a curve of their own, errors drawn once."""

import datetime as dt

import numpy as np

from drainsim.files.readings.history import History
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict

BEGIN = dt.datetime(2026, 11, 1, 17, tzinfo=dt.UTC).timestamp()
DAY_S = 86_400.0


def vehicle(**battery: object) -> Scenario:
    """Return a described vehicle: 70 Ah, 30 mA, a constant 10 °C."""
    return scenario_from_dict(
        {
            "battery": {"capacity_ah": 70, **battery},
            "vehicle": {"quiescent_a": 0.03},
            "unit": {"preset": "hourly"},
            "site": {"temperature_c": 10},
        },
        where="test",
    )


def history(
    volts: FloatArray, *, name: str = "A", begin_s: float = BEGIN, step_v: float = 0.01
) -> History:
    """Return hourly readings of a parked vehicle after two hours of driving at 14.2 V."""
    shown = np.concatenate([[14.2, 14.25, 14.2], volts])
    time_s = begin_s + 3600.0 * np.arange(-2, len(volts) + 1)
    nothing = np.full(len(shown), np.nan)
    return History(
        vehicle_id=name,
        time_s=time_s,
        voltage_v=np.round(np.round(shown / step_v) * step_v, 3),
        ignition=nothing,
        battery_temperature_c=nothing,
        air_temperature_c=nothing,
        cranking_minimum_v=nothing,
        voltmeter_v=nothing,
        step_v=step_v,
        set_aside=(),
    )


def resting_v(
    days: float,
    *,
    full_v: float = 12.72,
    charge: float = 0.9,
    drain_a: float = 0.035,
    extra_a: float = 0.0,
    extra_from_day: float = 0.0,
    seed: int = 1,
) -> FloatArray:
    """Return hourly voltages of 70 Ah that fall 8 mV per % of charge, as the trade's rule has it.

    10 mV = 1.2 % of charge ("A Rule-of-Thumb for Estimating Battery Charge", 2012).
    """
    hours = np.arange(1.0, 24.0 * days + 1.0)
    drawn_ah = drain_a * hours + extra_a * np.maximum(hours - 24.0 * extra_from_day, 0.0)
    left = np.maximum(charge - drawn_ah / 70.0, 0.0)
    surface_v = 0.3 * (1.0 + hours / 0.8) ** -0.9
    noise_v = 0.004 * np.random.default_rng(seed).standard_normal(len(hours))
    return np.asarray(full_v - 0.8333 * (1.0 - left) + surface_v + noise_v)
