"""Where and when the vehicle stands: air temperature hour by hour.

Climate presets are northern. The catalogue takes each climate's own latitude and clear share,
whatever the unit's scenario says; a southern latitude with a climate preset, or without a date,
is a warning.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.dates import coming, today
from drainsim.errors import ScenarioError
from drainsim.files.presets import preset
from drainsim.files.reading import file_within
from drainsim.files.weather import read_epw, read_hourly_csv
from drainsim.physics.ambient import climate_temperature_c, lagged_c
from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.tables import FloatArray
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.given import Scenario, given_in
from drainsim.vehicle.ledger import Ledger
from drainsim.vehicle.parameter import Keys, Parameter, date, number, text, whole

_PRE_ROLL_H: Final = 240  # hours before parking, so that the battery's lag forgets its start
_COMMON_PRACTICE: Final = "common practice, no source"
# A battery in use lives warmer than the air, under the bonnet; and what it lives at when only
# the parking temperature is known. Both: common practice, no source.
_BONNET_K: Final = 5.0
_LIFE_C: Final = 15.0
# How far a whole season may lie from the normals, and from one year's file, which holds a part of
# that already. Common practice, no source.
_CLIMATE_SEASON_SD_C: Final = 1.5
_FILE_SEASON_SD_C: Final = 1.0


class SITE(Keys, name="site"):
    """Where and when it stands; give one of temperature_c, climate, hourly_csv, epw."""

    temperature_c = number(
        "°C",
        -40,
        60,
        "constant air temperature",
        label="Constant temperature",
        column="temperature_c",
    )
    climate = text(
        "climate preset, see: drainsim profiles",
        default="temperate",
        example="temperate",
        label="Climate",
        column="climate",
    )
    hourly_csv = text("CSV file with a temperature_c column, hourly, beside the scenario file")
    epw = text("EPW weather file, beside the scenario file")
    parked_from = date(
        "day of parking",
        otherwise="the coming 1 December, ahead of a northern winter",
        source="the coming 1 December, ahead of a northern winter: the cautious half of the year",
        example=dt.date(2026, 12, 1),
        label="Parked on",
        column="parked_from",
    )
    start_hour = whole(
        "h",
        0,
        23,
        "hour of the day when someone would turn the key",
        default=7,
        source="a morning start",
        example=7,
        label="Hour of the start",
    )
    battery_lag_h = number(
        "h", 0, 72, "how slowly the battery follows the air", default=6.0, source=_COMMON_PRACTICE
    )
    sun_soak_c = number(
        "K",
        0,
        40,
        "how much the sun warms the battery at noon",
        default=0.0,
        source="parked in the shade",
    )


# What can give the temperature; one of them does.
TEMPERATURES: Final = (SITE.temperature_c, SITE.climate, SITE.hourly_csv, SITE.epw)


def has_climate(tables: Mapping[str, Any]) -> bool:
    """Say whether a climate preset, the usual one included, gives the temperature."""
    return all(given_in(tables, said) is None for said in TEMPERATURES if said != SITE.climate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Battery temperature before random weather, and how random the weather is.

    `battery_c` holds one value an hour from parking (hour 0, at `start_hour` of
    `parked_from`) to the horizon, both included.
    """

    battery_c: FloatArray
    parked_from: dt.date
    start_hour: int
    lag_h: float
    life_temperature_c: float
    season_sd_c: float
    weather_sd_c: float
    place: str  # same place, same weather draws
    coldest_c: float | None  # air of a cold night of the year there; None for a constant
    description: str


def default_parked_from() -> dt.date:
    """Return the day a vehicle is parked where nobody says one: the coming 1 December."""
    return coming(12, 1, since=today())


def dated(scenario: Scenario) -> Scenario:
    """Return a scenario with its day of parking written down, to give its answer next year too."""
    if scenario.get(SITE.parked_from) is not None:
        return scenario
    return scenario.with_values({SITE.parked_from: default_parked_from()})


def site_from_scenario(ledger: Ledger, *, horizon_days: int) -> Site:
    """Return the site a scenario describes.

    Parameters
    ----------
    ledger : Ledger
    horizon_days : int
        How far ahead to look. [days]

    Raises
    ------
    ScenarioError
        If two temperature sources are given, or one lies outside the model's range.
    """
    scenario = ledger.scenario
    source = temperature_source(scenario)
    start_hour = int(ledger.take(SITE.start_hour))
    lag_h = float(ledger.take(SITE.battery_lag_h))
    soak_k = float(ledger.take(SITE.sun_soak_c))
    day = ledger.take(SITE.parked_from, default_parked_from())
    parked_at = dt.datetime.combine(day, dt.time(start_hour))
    hours = _PRE_ROLL_H + horizon_days * 24 + 1
    air_c, life_c, season_sd, weather_sd, coldest_c, description = _air(
        ledger, source, parked_at - dt.timedelta(hours=_PRE_ROLL_H), hours
    )
    battery_c = _course_c(air_c.tobytes(), start_hour=start_hour, soak_k=soak_k, lag_h=lag_h)
    outside = (battery_c < COLDEST_C) | (battery_c > WARMEST_C)
    if outside.any():
        raise ScenarioError(
            f"{scenario.where}: site: battery temperature {battery_c[outside][0]:.1f} °C is "
            f"outside {COLDEST_C:g} to {WARMEST_C:g} °C, beyond this model"
        )
    return Site(
        battery_c=battery_c,
        parked_from=day,
        start_hour=start_hour,
        lag_h=lag_h,
        life_temperature_c=life_c,
        season_sd_c=season_sd,
        weather_sd_c=weather_sd,
        place=description,
        coldest_c=coldest_c,
        description=description,
    )


def temperature_source(scenario: Scenario) -> Parameter:
    """Return which key gives the temperature, the climate where none is given."""
    given = [said for said in TEMPERATURES if scenario.get(said) is not None]
    if len(given) > 1:
        raise ScenarioError(
            f"{scenario.where}: site has {' and '.join(said.key for said in given)}; keep one of "
            f"{', '.join(said.key for said in TEMPERATURES)}"
        )
    return given[0] if given else SITE.climate


@lru_cache(maxsize=256)
def _course_c(air: bytes, *, start_hour: int, soak_k: float, lag_h: float) -> FloatArray:
    """Return the battery's temperature from parking on, warmed by the sun and lagging the air.

    `air` is the hourly air temperature's buffer, so that vehicles of one place share a course.

    Parameters
    ----------
    air : bytes
        Buffer of the hourly air temperature. [°C]
    start_hour : int
        Of the day. [h]
    soak_k : float
        How much the sun warms at noon. [K]
    lag_h : float
        Time constant of the battery. [h]
    """
    air_c = np.frombuffer(air)
    clock = (start_hour - _PRE_ROLL_H + np.arange(len(air_c))) % 24
    sun = np.maximum(np.sin(np.pi * (clock - 6.0) / 12.0), 0.0)
    course_c = lagged_c(air_c + soak_k * sun, lag_h=lag_h)[_PRE_ROLL_H:]
    course_c.flags.writeable = False
    return course_c


def _air(
    ledger: Ledger, source: Parameter, start: dt.datetime, hours: int
) -> tuple[FloatArray, float, float, float, float | None, str]:
    """Return air, mean for ageing, season sd, weather sd, cold nights and a description.

    Parameters
    ----------
    ledger : Ledger
    source : Parameter
        Key that gives the temperature.
    start : datetime
        First hour.
    hours : int
        How many. [h]
    """
    scenario = ledger.scenario
    if source == SITE.temperature_c:
        constant = float(scenario.get(source))
        ledger.note(source, constant, "given")
        return np.full(hours, constant), _LIFE_C, 0.0, 0.0, None, f"constant {constant:g} °C"
    if source == SITE.climate:
        chosen = scenario.get_or_default(source)
        climate = preset("climates", chosen, where=source)
        origin = "given" if scenario.get(source) else "default"
        ledger.note(source, chosen, origin, f"{climate.name}; {climate.source}")
        low, high = climate.values["daily_low_c"], climate.values["daily_high_c"]
        begin_h = (start - dt.datetime(start.year, 1, 1)) / dt.timedelta(hours=1)
        since_h = begin_h + np.arange(hours)
        air_c = climate_temperature_c(
            since_h / HOURS_PER_DAY, since_h % HOURS_PER_DAY, daily_low_c=low, daily_high_c=high
        )
        mean = float(np.mean([low, high])) + _BONNET_K
        day_sd = float(climate.values["day_to_day_sd_c"])
        cold_c = float(np.min(low)) - day_sd
        return air_c, mean, _CLIMATE_SEASON_SD_C, day_sd, cold_c, climate.name
    if scenario.folder is None:
        raise ScenarioError(f"{scenario.where}: {source} needs a scenario file on disk")
    name = scenario.get(source)
    where = f"{scenario.where}: {source}"
    path = file_within(scenario.folder, name, where=where, error=ScenarioError)
    record = read_epw(path) if source == SITE.epw else read_hourly_csv(path)
    ledger.note(source, name, "given", f"{len(record.air_c)} hourly values")
    return (
        record.window_c(start, hours, lead_h=_PRE_ROLL_H),
        float(record.air_c.mean()) + _BONNET_K,
        _FILE_SEASON_SD_C,
        0.0,
        float(record.air_c.min()),
        f"hourly temperatures of {Path(name).name}",
    )
