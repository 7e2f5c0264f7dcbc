"""The truth's readings and lists as the files a person would load."""

from pathlib import Path

import numpy as np
import pandas as pd

from tests.readings_truth.truth import Stands
from tests.readings_truth.voltmeter import Readings


def name_of(number: int) -> str:
    """Return a vehicle's name in the files."""
    return f"T-{number:03d}"


def write_readings(path: Path, readings: list[Readings], *, ignition: bool = True) -> Path:
    """Write one row a reading: vehicle, time (ISO, UTC), volts and what else was measured.

    Rows come a vehicle at a time, its batches out of order now and then, as they arrive.
    """
    parts = []
    for number, one in enumerate(readings):
        order = np.arange(len(one.time))
        if number % 5 == 0:  # a late batch
            order = np.roll(order, len(order) // 3)
        frame = {
            "vehicle": name_of(number),
            "time": pd.to_datetime(one.time[order].round(), unit="s", utc=True).strftime(
                "%Y-%m-%dT%H:%M:%SZ"
            ),
            "voltage_v": one.voltage_v[order],
        }
        if ignition:
            frame["ignition"] = one.ignition[order].astype(int)
        if np.isfinite(one.cranking_minimum_v).any():
            frame["cranking_minimum_v"] = one.cranking_minimum_v[order]
        parts.append(pd.DataFrame(frame))
    pd.concat(parts).to_csv(path, index=False)
    return path


def write_list(path: Path, s: Stands) -> Path:
    """Write what the fleet's own list says of its vehicles; cells it does not know stay empty."""
    says = {key: np.broadcast_to(value, s.count) for key, value in s.says.items()}
    frame = pd.DataFrame({"vehicle": [name_of(n) for n in range(s.count)], **says})
    frame["battery_age_years"] = frame["battery_age_years"].astype(float).round(1)
    frame.to_csv(path, index=False)
    return path
