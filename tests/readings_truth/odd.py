"""Odd and hostile histories as people send them, one small file each."""

import datetime as dt

import numpy as np
import pandas as pd

UTC = dt.UTC
PARKED = dt.datetime(2026, 11, 2, 16, 40, tzinfo=UTC)  # key off of the stand that matters


def history(
    *,
    days: float = 9.0,
    level_v: float = 12.58,
    fall_v_per_day: float = 0.006,
    begin: dt.datetime = PARKED,
    drive_minutes: float = 40.0,
    earlier_days: float = 2.0,
    surface_v: float = 0.45,
    step_v: float = 0.01,
    seed: int = 1,
) -> pd.DataFrame:
    """Return one vehicle's readings: a rest, a drive, then a stand; columns at, volts, ignition.

    Parameters
    ----------
    days : float
        Length of the stand.
    level_v, fall_v_per_day : float
        Rested voltage at its beginning, and what it loses. [V]
    begin : datetime
        Key off.
    drive_minutes, earlier_days : float
        Of the drive before it, and of readings at rest before that.
    surface_v : float
        Above the rested voltage just after key off; falls as a power of time. [V]
    step_v : float
        Steps of the unit. [V]
    seed : int
        Of its noise.
    """
    rng = np.random.default_rng(seed)
    rows = []
    start = begin - dt.timedelta(minutes=drive_minutes)
    for hour in np.arange(earlier_days * 24, 0, -1.0):
        at = start - dt.timedelta(hours=hour - 0.5)
        rows.append((at, level_v + 0.01, 0))
    for minute in np.arange(0, drive_minutes, 2.0):
        rows.append((start + dt.timedelta(minutes=minute), 14.25 + 0.05 * rng.standard_normal(), 1))
    for hour in np.arange(0.1, days * 24, 1.0):
        at = begin + dt.timedelta(hours=hour)
        surface = surface_v * (1 + hour / 0.8) ** -0.9
        rows.append((at, level_v - fall_v_per_day * hour / 24 + surface, 0))
    frame = pd.DataFrame(rows, columns=["at", "volts", "ignition"])
    parked = frame["ignition"] == 0
    noise = np.where(parked, 0.004 * rng.standard_normal(len(frame)), 0.0)
    frame["volts"] = ((frame["volts"] + noise) / step_v).round() * step_v
    return frame


def iso(at: pd.Series) -> pd.Series:
    """Return times as ISO text in UTC."""
    return pd.to_datetime(at, utc=True).dt.strftime("%Y-%m-%dT%H:%M:%SZ")


def csv(frame: pd.DataFrame, *, vehicle: str = "Van 7", ignition: bool = True) -> str:
    """Return the plainest of shapes: vehicle, time, volts (and ignition), comma separated."""
    table = pd.DataFrame(
        {"vehicle": vehicle, "time": iso(frame["at"]), "voltage [V]": frame["volts"].round(3)}
    )
    if ignition:
        table["ignition"] = frame["ignition"]
    return table.to_csv(index=False)


def end_of(frame: pd.DataFrame) -> str:
    """Return the moment just after the last reading, as --now takes it."""
    return (frame["at"].max() + dt.timedelta(minutes=20)).strftime("%Y-%m-%dT%H:%M:%SZ")
