"""The product against the second model: five kinds of vehicle in three climates, plain numbers.

Both get the same label, charge, currents, engine, oil and hourly temperatures. They may differ by
20 % of the days, or by one start where few days are left. Every larger gap stands in ``GAPS`` with
its reason; a gap that closes or grows fails too, so that the list stays true.
"""

import contextlib
import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drainsim.cli.main import main
from tests.second_opinion.second_model import MONTH_MID, days_until_no_start

HORIZON_DAYS = 180
# Mean daily minimum and maximum of each month: German test reference year of Potsdam; Canadian
# Climate Normals 1971-2000 of Winnipeg; US normals of Fairbanks. A day's scatter about them:
# Potsdam's coldest hour is -13.4 °C where January's mean minimum is -1.6 °C; taken as 2.5 standard
# deviations (the coldest of some 80 nights), 4.7 K.
CLIMATES: dict[str, dict[str, Any]] = {
    "temperate": {
        "lows": [-1.6, -0.7, 0.5, 3.9, 9.0, 11.3, 14.4, 14.0, 10.4, 6.3, 1.3, -1.1],
        "highs": [3.5, 4.4, 8.9, 14.8, 19.6, 22.1, 24.2, 23.9, 19.0, 13.7, 6.5, 2.9],
        "latitude": 52.4,
    },
    "continental": {
        "lows": [-22.8, -18.7, -11, -2.4, 4.8, 10.7, 13.3, 11.9, 6, -0.3, -9.6, -19.1],
        "highs": [-12.7, -8.5, -1.1, 10.3, 19.2, 23.3, 25.8, 25, 18.6, 10.8, -0.9, -9.7],
        "latitude": 49.9,
    },
    "subarctic": {
        "lows": [-27.2, -24.8, -19.2, -6.3, 3.2, 9.6, 11.3, 8.0, 1.7, -8.6, -20.9, -24.9],
        "highs": [-17.2, -12.2, -3.9, 7.2, 16.1, 22.2, 22.8, 18.9, 12.8, 0, -11.7, -15],
        "latitude": 64.8,
    },
}
WEATHER_SD_C = 4.7
# A stand that runs into the climate's cold, and one begun in it.
PARKED = {
    "temperate": [dt.date(2026, 12, 1)],
    "continental": [dt.date(2026, 11, 1), dt.date(2026, 12, 1)],
    "subarctic": [dt.date(2026, 10, 1)],
}
_COMMON = {"charge": 0.85, "age": 3, "unit_a": 0.005, "panel_w": 0, "clear_share": 0.3}
_COMMON |= {"start_hour": 7, "lag_h": 6.0, "oil_w": 5, "weather_sd_c": WEATHER_SD_C}
# Invented vehicles.
FAMILIES: dict[str, dict[str, Any]] = {
    "stop-start car, AGM": {
        "type": "agm", "ah": 70, "cca": 760, "litres": 2.0, "fuel": "petrol", "quiescent_a": 0.030,
    },
    "24 V truck": {
        "type": "flooded", "ah": 180, "cca": 1000, "litres": 12.8, "fuel": "truck", "oil_w": 10,
        "quiescent_a": 0.100,
    },
    "car with a small panel": {
        "type": "flooded", "ah": 60, "cca": 540, "litres": 2.0, "fuel": "petrol",
        "quiescent_a": 0.030, "panel_w": 10,
    },
    "motorcycle": {
        "type": "agm", "ah": 12, "cca": 200, "litres": 0.6, "fuel": "motorcycle", "oil_w": 10,
        "quiescent_a": 0.002, "unit_a": 0.003, "charge": 0.95, "age": 2,
    },
    "car driven little": {
        "type": "flooded", "ah": 60, "cca": 540, "litres": 1.4, "fuel": "petrol",
        "quiescent_a": 0.025, "charge": None, "trips_per_week": 4, "trip_minutes": 15,
        "driving_a": 25, "alternator_a": 90,
    },
}  # fmt: skip
OIL = {5: "5W-30", 10: "10W-40"}
CASES = [
    (family, climate, day) for family in FAMILIES for climate in PARKED for day in PARKED[climate]
]

_TRUCK = (
    "a steep place: both take what heavy starters are printed to take cold, and a new, full "
    "battery with 15W-40 ends at -15.5 °C in the product and at -14 °C in the second model; "
    "published -15 to -20 °C for trucks (textbook). A kelvin of cold is several days here"
)
_MOTORCYCLE = (
    "the product's 95 A to turn 600 cm³ warm lie between a twin of 0.8 l that took 65 A warm and "
    "130 A cold (owner's measurement) and web text (100 A at 250 cm³, more than 150 above 600); "
    "the second model takes that text's 154 A. The sources disagree by two"
)
_PANEL = (
    "a steep place: while a panel carries a third of the drain, 3 points of charge at -21 °C (66 % "
    "against 69 %) are 5 days; the published tables do not tell these two apart"
)
# (family, climate, month parked): product's days, second model's days, and why.
GAPS: dict[tuple[str, str, int], tuple[float, float, str]] = {
    ("24 V truck", "continental", 11): (12, 9, _TRUCK),
    ("24 V truck", "subarctic", 10): (14, 10, _TRUCK),
    ("car with a small panel", "continental", 12): (21, 16, _PANEL),
    ("motorcycle", "temperate", 12): (34, 12, _MOTORCYCLE),
    ("motorcycle", "continental", 11): (16, 5, _MOTORCYCLE),
    ("motorcycle", "continental", 12): (3, 0, _MOTORCYCLE),
    ("motorcycle", "subarctic", 10): (18, 7, _MOTORCYCLE),
}


def as_scenario(s: dict[str, Any], climate: str, day: dt.date) -> dict[str, dict[str, Any]]:
    """Return the tables of the scenario file that say the same."""
    profile = {"agm": "agm", "flooded": "flooded_calcium"}[s["type"]]
    battery = {"profile": profile, "capacity_ah": s["ah"], "cold_cranking_a": s["cca"]}
    battery |= {"cranking_standard": "EN", "age_years": s["age"]}
    vehicle = {"engine_litres": s["litres"], "quiescent_a": s["quiescent_a"]}
    vehicle |= {
        "fuel": "diesel" if s["fuel"] == "truck" else "petrol",
        "oil_grade": OIL[s["oil_w"]],
    }
    unit = {"sleep_a": s["unit_a"], "report_charge_as": 0.0, "supply": "linear"}
    site = {"hourly_csv": f"{climate}.csv", "parked_from": day, "battery_lag_h": s["lag_h"]}
    tables = {"battery": battery, "vehicle": vehicle, "unit": unit, "site": site}
    tables["uncertainty"] = {"weather_sd_c": s["weather_sd_c"]}
    if s["fuel"] == "truck":
        battery["system"] = "24V"
    if s["fuel"] == "motorcycle":
        vehicle["kind"] = "motorcycle"
    if s["panel_w"]:
        tables["solar"] = {"panel_w": s["panel_w"], "latitude_deg": s["latitude"]}
        tables["solar"] |= {"clear_share": s["clear_share"], "efficiency": 0.6}
    if s["charge"] is None:
        trips = {"trips_per_week": s["trips_per_week"], "trip_minutes": s["trip_minutes"]}
        tables["pattern"] = trips | {"load_a": s["driving_a"], "alternator_a": s["alternator_a"]}
    else:
        battery["state_of_charge"] = s["charge"]
    return tables


def as_toml(tables: dict[str, dict[str, Any]]) -> str:
    """Return a scenario file."""
    lines = []
    for table, values in tables.items():
        lines.append(f"[{table}]")
        for key, value in values.items():
            lines.append(f"{key} = {value if isinstance(value, dt.date) else json.dumps(value)}")
    return "\n".join(lines)


def write_hourly(file: Path, climate: str) -> None:
    """Write three years of hours, coldest at 06:00, straight between mid-months."""
    hour = np.arange(3 * 365 * 24)
    day_of_year = (hour / 24) % 365
    low, high = (
        np.interp(day_of_year, MONTH_MID, CLIMATES[climate][key], period=365)
        for key in ("lows", "highs")
    )
    air_c = (low + high) / 2 - (high - low) / 2 * np.cos((hour % 24 - 6) * np.pi / 12)
    times = np.datetime64("2025-01-01T00") + hour
    rows = [f"{time}:00,{value:.2f}" for time, value in zip(times, air_c, strict=True)]
    file.write_text("\n".join(["time,temperature_c", *rows]))


def products_days(folder: Path, s: dict[str, Any], climate: str, day: dt.date) -> float:
    """Return the product's median days until the start hour fails, by its command line."""
    write_hourly(folder / f"{climate}.csv", climate)
    file = folder / "scenario.toml"
    file.write_text(as_toml(as_scenario(s, climate, day)))
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["park", str(file), "--json"]) == 0
    days = json.loads(out.getvalue())["days_to_no_start"]["at_start_hour_p50"]
    return float("inf") if days is None else float(days)


@pytest.mark.parametrize(("family", "climate", "day"), CASES, ids=str)
def test_two_models_agree_or_the_gap_is_explained(
    tmp_path: Path, family: str, climate: str, day: dt.date
) -> None:
    """Within 20 % of the days (or one start), or as far apart as listed and no further."""
    s = _COMMON | FAMILIES[family] | CLIMATES[climate]
    second = days_until_no_start(s | {"day_of_year": day.timetuple().tm_yday}, HORIZON_DAYS)[1]
    product = products_days(tmp_path, s, climate, day)
    agree = product == second or abs(product - second) <= max(1.0, 0.2 * second)
    said = f"product {product:g} days, second model {second:g} days"
    gap = GAPS.get((family, climate, day.month))
    if gap is None:
        assert agree, f"{said}: more than 20 % apart and not explained"
        return
    listed, listed_second, reason = gap
    assert second == listed_second, f"{said}: the second model has changed"
    assert not agree, f"{said}: the gap has closed, take it off the list ({reason})"
    assert abs(product - listed) <= max(1.5, 0.15 * listed), (
        f"{said}, listed {listed:g}: not the gap that is explained any more ({reason})"
    )


def test_every_gap_listed_is_of_a_case() -> None:
    """A renamed vehicle leaves no explanation behind."""
    assert set(GAPS) <= {(family, climate, day.month) for family, climate, day in CASES}
