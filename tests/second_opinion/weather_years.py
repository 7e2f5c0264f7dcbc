"""Runs the main answer through hourly typical years and through their own monthly normals.

The years come in the data folder of the open package pvlib (BSD-3-Clause): two TMY3 files and
one TMY2 file of the United States' national laboratory.
"""

import csv
import datetime as dt
import importlib.util
import tempfile
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.physics.ambient import climate_temperature_c
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict

_MONTH_DAYS: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
PLACES: Final = {
    "Sand Point AK": "703165TY.csv",
    "Greensboro NC": "723170TYA.CSV",
    "Miami FL": "12839.tm2",
}
PARKED: Final = (dt.date(2026, 1, 1), dt.date(2026, 11, 1), dt.date(2026, 12, 1))
VEHICLES: Final = {
    "compact petrol, hourly unit": {
        "vehicle": {"preset": "compact_petrol"},
        "unit": {"preset": "hourly"},
    },
    "family diesel, hourly unit": {
        "vehicle": {"preset": "family_diesel"},
        "unit": {"preset": "hourly"},
    },
}


def data_folder() -> Path | None:
    """Return pvlib's data folder, None where pvlib is not installed."""
    found = importlib.util.find_spec("pvlib")
    if found is None or found.origin is None:
        return None
    return Path(found.origin).parent / "data"


def hourly_air_c(path: Path) -> FloatArray:
    """Return the 8760 dry-bulb temperatures of a TMY3 or TMY2 file. [°C]."""
    lines = path.read_text("latin-1").splitlines()
    if path.suffix.lower() == ".tm2":  # dry bulb in tenths, columns 68 to 71 counted from 1
        air_c = [int(line[67:71]) / 10.0 for line in lines[1:] if line.strip()]
    else:
        column = lines[1].split(",").index("Dry-bulb (C)")
        air_c = [float(row[column]) for row in csv.reader(lines[2:])]
    if len(air_c) != 8760:
        raise ValueError(f"{path}: {len(air_c)} hours, not 8760")
    return np.asarray(air_c)


def monthly_normals_c(air_c: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return monthly means of the daily lowest and highest temperature. [°C]."""
    days = air_c.reshape(365, 24)
    month = np.repeat(np.arange(12), _MONTH_DAYS)
    low, high = days.min(axis=1), days.max(axis=1)
    return (
        np.array([low[month == m].mean() for m in range(12)]),
        np.array([high[month == m].mean() for m in range(12)]),
    )


def day_to_day_sd_c(air_c: FloatArray) -> float:
    """Return the spread of the daily mean about two harmonics of the year, October to March."""
    daily = air_c.reshape(365, 24).mean(axis=1)
    angle = 2.0 * np.pi * np.arange(365) / 365.0
    waves = np.stack(
        [np.ones(365), *(f(n * angle) for n in (1, 2) for f in (np.cos, np.sin))], axis=1
    )
    rest = daily - waves @ np.linalg.lstsq(waves, daily, rcond=None)[0]
    winter = np.r_[0:90, 273:365]
    return float(rest[winter].std())


def normals_course_c(air_c: FloatArray) -> FloatArray:
    """Return the hourly course drainsim makes of a place's monthly normals. [°C]."""
    low, high = monthly_normals_c(air_c)
    hours = np.arange(8760.0)
    return climate_temperature_c(hours / 24.0, hours % 24.0, daily_low_c=low, daily_high_c=high)


def _answer(
    folder: Path, name: str, air_c: FloatArray, vehicle: dict[str, Any], day: dt.date, sds: Any
) -> ParkAnswer:
    (folder / name).write_text("temperature_c\n" + "\n".join(f"{v:.3f}" for v in air_c))
    tables = {
        "battery": {},
        **vehicle,
        "site": {"hourly_csv": name, "parked_from": day},
        "run": {"draws": 400, "horizon_days": 240},
        "uncertainty": sds,
    }
    return park(resolve(scenario_from_dict(tables, where="real weather", folder=folder)))


def compare() -> dict[str, Any]:
    """Return the comparison as stored in drainsim/evidence/data/weather.json."""
    data = data_folder()
    if data is None:
        raise RuntimeError("pvlib is not installed")
    rows = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for place, file in PLACES.items():
            real_c = hourly_air_c(data / file)
            normals_c = normals_course_c(real_c)
            day_sd = day_to_day_sd_c(real_c)
            for day in PARKED:
                for vehicle, tables in VEHICLES.items():
                    real = _answer(folder, "real.csv", real_c, tables, day, {})
                    spread = {"season_sd_c": 1.5, "weather_sd_c": day_sd}
                    plain = _answer(folder, "normals.csv", normals_c, tables, day, spread)
                    rows.append(_row(place, vehicle, day, real, plain))
    return {
        "places_in_words": "Sand Point AK (cold coast), Greensboro NC (changeable), Miami FL",
        "source": "typical years TMY3 703165 and 723170, TMY2 12839, open package pvlib",
        "rows": rows,
    }


def _row(
    place: str, vehicle: str, day: dt.date, real: ParkAnswer, plain: ParkAnswer
) -> dict[str, Any]:
    def days(value: float | None) -> float:
        return float(real.case.horizon_days) if value is None else value

    real_days = days(real.nominal_days)
    normals_days = days(plain.nominal_days)
    low, high = days(plain.days_to_no_start.p10), days(plain.days_to_no_start.p90)
    return {
        "place": place,
        "vehicle": vehicle,
        "parked_from": day.isoformat(),
        "real_days": round(real_days, 3),
        "normals_days": round(normals_days, 3),
        "difference_days": round(real_days - normals_days, 3),
        "normals_p10_days": round(low, 3),
        "normals_p50_days": round(days(plain.days_to_no_start.p50), 3),
        "normals_p90_days": round(high, 3),
        "real_within_band": bool(low <= real_days <= high),
    }
