"""Measured series: the nights of a polar station and the rests of an open discharge telemetry."""

import csv
import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drainsim.answers.readings.morning import morning
from drainsim.answers.readings.posterior.voltage_errors import error_mean_v
from drainsim.files.readings.history import History
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.readings_truth.battery import Array
from tests.readings_truth.scoring import chance

DATA = Path(__file__).parents[1] / "data"
# Daily means of battery voltage [V] of an automatic weather station at 69.7° N, sunless from
# 13 December 1999 on: 55 days, typed off the daily table of a polar station network (data set
# doi 10.16904/envidat.1), facts, rounded there to 10 mV. Lead-acid, at about -25 °C.
POLAR_BEGIN = dt.datetime(1999, 12, 13, 4, tzinfo=dt.UTC)
POLAR_V = (
    12.45, 12.45, 12.45, 12.44, 12.44, 12.44, 12.43, 12.43, 12.42, 12.42, 12.42, 12.42, 12.41,
    12.41, 12.41, 12.40, 12.40, 12.40, 12.40, 12.39, 12.39, 12.39, 12.38, 12.38, 12.38, 12.37,
    12.37, 12.37, 12.37, 12.36, 12.35, 12.35, 12.35, 12.35, 12.34, 12.33, 12.34, 12.34, 12.33,
    12.33, 12.32, 12.32, 12.32, 12.32, 12.31, 12.31, 12.31, 12.30, 12.30, 12.30, 12.29, 12.29,
    12.29, 12.28, 12.28,
)  # fmt: skip
# What is known of such a station without having seen its label: sealed batteries of about 100 Ah,
# a logger of tens of milliamperes: common practice, no source.
STATION = {
    "battery": {"profile": "agm", "capacity_ah": 100},
    "vehicle": {"kind": "trailer"},
    "unit": {"sleep_a": 0.03},
    "site": {"temperature_c": -25},
}


def series(time_s: Array, volts: Array, *, step_v: float, name: str) -> History:
    """Return a history of voltages alone."""
    nothing = np.full(len(time_s), np.nan)
    return History(
        vehicle_id=name,
        time_s=time_s,
        voltage_v=volts,
        ignition=nothing,
        battery_temperature_c=nothing,
        air_temperature_c=nothing,
        cranking_minimum_v=nothing,
        voltmeter_v=nothing,
        step_v=step_v,
        set_aside=(),
    )


def polar(days: int, *, hourly: bool) -> History:
    """Return the first days of the polar station, one reading a day or the same hour by hour."""
    day = POLAR_BEGIN.timestamp() + 86400.0 * np.arange(days)
    volts = np.array(POLAR_V[:days])
    if not hourly:
        return series(day, volts, step_v=0.01, name="station")
    # Hour by hour the daily mean lies on a straight line to the next one's; the station itself
    # reports in 10 mV steps with 3.6 mV of scatter.
    hours = np.arange((days - 1) * 24 + 1)
    smooth = np.interp(hours / 24, np.arange(days), volts)
    noise = 0.0036 * np.random.default_rng(1).standard_normal(len(hours))
    return series(
        POLAR_BEGIN.timestamp() + 3600.0 * hours,
        np.round(smooth + noise, 2),
        step_v=0.01,
        name="station",
    )


def ahead(known: History, now_s: float, ahead_s: float) -> tuple[float, float, float]:
    """Return the band of the night voltage at a moment ahead."""
    (station,) = morning(
        [known],
        {"station": scenario_from_dict(STATION, where="station")},
        now_s=now_s,
        workers=1,
    ).vehicles
    nights: Any = station.nights
    at = int(np.argmin(np.abs(np.array(nights.time_s) - ahead_s)))
    assert abs(nights.time_s[at] - ahead_s) < 86400, "no band that far ahead"
    return float(nights.low_v[at]), float(nights.middle_v[at]), float(nights.high_v[at])


@pytest.mark.slow
@pytest.mark.parametrize("hourly", [False, True])
def test_polar_nights_seven_days_ahead(hourly: bool) -> None:
    """The station's voltage a week ahead lies in the 80 % band, and the band is no barn door.

    The weeks overlap, so they count as few: at least 70 % inside, none far out.
    """
    inside, wide, misses = [], [], []
    for days in range(8, 48, 5):
        known = polar(days, hourly=hourly)
        then_s = POLAR_BEGIN.timestamp() + 86400.0 * (days - 1 + 7)
        low, middle, high = ahead(known, float(known.time_s[-1]) + 1800, then_s)
        truth = POLAR_V[days - 1 + 7]
        inside.append(low - 0.005 <= truth <= high + 0.005)  # the table is rounded to 10 mV
        wide.append(high - low)
        misses.append(middle - truth)
    assert np.mean(inside) >= 0.8 - chance(0.8, len(inside), 1.0)
    assert max(np.abs(misses)) < 0.06
    # Measured 7-day slopes scatter by 0.57 mV/day, 4 mV in a week, a step of the unit is 10 mV:
    # a week's band of more than 0.12 V would say nothing.
    assert np.median(wide) < 0.12


def test_rest_of_weeks_falls_along_a_straight_line() -> None:
    """Beside a straight line the station's nights leave no more relaxation than is expected.

    What goes with the logarithm of time, of line and logarithm fitted together; whether the last
    charge was a day or a week before the first night. Tolerance: two standard errors.
    """
    day = np.arange(len(POLAR_V), dtype=float)
    for rested in (1.0, 2.0, 7.0):
        columns = np.stack([np.ones_like(day), day, np.log(rested + day)], axis=1)
        relaxing = np.linalg.pinv(columns)[2]
        left = np.array(POLAR_V) - columns @ np.linalg.lstsq(columns, POLAR_V, rcond=None)[0]
        error = np.linalg.norm(relaxing) * np.sqrt(left @ left / (len(day) - 3))
        expected = relaxing @ error_mean_v(24.0 * (rested + day))
        assert abs(relaxing @ np.array(POLAR_V) - expected) < 2.0 * error


def rest_after_charge(name: str) -> tuple[Array, Array]:
    """Return hours and volts of the measured rest between charger and discharge."""
    with (DATA / f"sulzer2019_vrla_17Ah_{name}.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["voltage_V"]]
    rows.sort(key=lambda row: row["time_utc"])
    at_s = np.array([dt.datetime.fromisoformat(row["time_utc"]).timestamp() for row in rows])
    amperes = np.array([float(row["current_A_discharge_positive"] or 0) for row in rows])
    loaded = int(np.flatnonzero(np.abs(amperes) > 0.2)[0])
    volts = np.array([float(row["voltage_V"]) for row in rows])
    return (at_s[:loaded] - at_s[0]) / 3600, volts[:loaded]


@pytest.mark.slow
@pytest.mark.parametrize("run", ["0p5A", "1p5A", "2p5A", "3p0A"])
def test_measured_rests_are_no_drain(run: str) -> None:
    """A rest as measured after a charge is parked from its beginning and accuses nobody.

    The first 1.2 to 1.8 h are the telemetry's own (BSD-3), above 13 V throughout; its fall of
    33 mV per factor e of time goes on for a day, then 5 mV a day, what 25 mA cost 70 Ah of it.
    The night a week ahead lies in its band.
    """
    hours, measured_v = rest_after_charge(run)
    assert measured_v.min() > 12.9
    later = np.arange(np.ceil(hours[-1]), 14 * 24.0)
    fall = 0.033 * np.log(np.minimum(later, 24.0) / hours[-1])
    level = measured_v[-1] - fall - 0.005 * np.maximum(later / 24 - 1, 0)
    noise = 0.004 * np.random.default_rng(2).standard_normal(len(later))
    begin = dt.datetime(2026, 11, 2, 17, 5, tzinfo=dt.UTC).timestamp()
    driving = np.arange(-40, 0, 2) / 60
    time_s = begin + 3600 * np.concatenate([driving, hours, later])
    volts = np.concatenate([np.full(len(driving), 14.3), measured_v, level + noise]).round(2)
    now_s = begin + 3600 * (6 * 24 + 15)
    known = time_s <= now_s
    vehicle = {"battery": {"profile": "agm", "capacity_ah": 70}, "site": {"temperature_c": 20}}
    (found,) = morning(
        [series(time_s[known], volts[known], step_v=0.01, name="bench")],
        {"bench": scenario_from_dict(vehicle, where="bench")},
        now_s=now_s,
        workers=1,
    ).vehicles
    assert found.status == "parked"
    assert found.parked_since_s is not None
    assert abs(found.parked_since_s - begin) < 1200
    assert found.extra_drain.probability is not None
    assert found.extra_drain.probability < 0.5
    nights: Any = found.nights
    ahead_s = begin + 3600 * (13 * 24 + 11)  # 04:00 a week on
    at = int(np.argmin(np.abs(np.array(nights.time_s) - ahead_s)))
    assert abs(nights.time_s[at] - ahead_s) < 86400
    truth = float(np.median(volts[np.abs(time_s - ahead_s) < 3 * 3600]))
    assert nights.low_v[at] - 0.005 <= truth <= nights.high_v[at] + 0.005
