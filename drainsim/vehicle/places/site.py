"""Where and when the vehicle stands: air temperature hour by hour.

Climate presets are northern. The catalogue takes each climate's own latitude and clear share,
whatever the unit's scenario says; a panel's southern latitude with a climate preset, or without a
date, is a warning.
"""

import datetime as dt
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from drainsim.dates import coming, today
from drainsim.errors import ScenarioError, WeatherError
from drainsim.files.presets import preset
from drainsim.files.reading import file_within
from drainsim.files.weather import read_epw, read_hourly_csv
from drainsim.language import Celsius, message
from drainsim.physics.ambient import climate_temperature_c, lagged_c
from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.tables import FloatArray
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.keys.given import Scenario
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Parameter
from drainsim.vehicle.places.place import Year, told_year
from drainsim.vehicle.places.site_keys import SITE as SITE
from drainsim.vehicle.places.site_keys import TOLD, is_southern, temperature_source
from drainsim.vehicle.places.site_keys import has_climate as has_climate

_PRE_ROLL_H: Final = 240  # hours before parking, so that the battery's lag forgets its start
# A battery in use lives warmer than the air, under the bonnet; and what it lives at when only
# the parking temperature is known. Both: common practice, no source.
_BONNET_K: Final = 5.0
_LIFE_C: Final = 15.0
# How far a whole season may lie from the normals, and from one year's file, which holds a part of
# that already. Common practice, no source.
_CLIMATE_SEASON_SD_C: Final = 1.5
_FILE_SEASON_SD_C: Final = 1.0


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


def default_parked_from(scenario: Scenario | None = None) -> dt.date:
    """Return the day parked where nobody says one: the coming 1 December, in the south 1 June."""
    return coming(6 if scenario and is_southern(scenario) else 12, 1, since=today())


def dated(scenario: Scenario) -> Scenario:
    """Return a scenario with its day of parking written down, to give its answer next year too."""
    if scenario.get(SITE.parked_from) is not None:
        return scenario
    return scenario.with_values({SITE.parked_from: default_parked_from(scenario)})


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
    day = ledger.take(SITE.parked_from, default_parked_from(scenario))
    parked_at = dt.datetime.combine(day, dt.time(start_hour))
    hours = _PRE_ROLL_H + horizon_days * 24 + 1
    air = _air(ledger, source, parked_at - dt.timedelta(hours=_PRE_ROLL_H), hours)
    battery_c = _course_c(air.air_c.tobytes(), start_hour=start_hour, soak_k=soak_k, lag_h=lag_h)
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
        life_temperature_c=air.life_c,
        season_sd_c=air.season_sd_c,
        weather_sd_c=air.weather_sd_c,
        # told in numbers: their change is another place under the same weather
        place=SITE.TABLE.name if source in TOLD else air.description,
        coldest_c=air.coldest_c,
        description=air.description,
    )


@lru_cache(maxsize=256)
def _course_c(air: bytes, *, start_hour: int, soak_k: float, lag_h: float) -> FloatArray:
    """Return the battery's temperature from parking on, warmed by the sun and lagging the air.

    `air` is the hourly air temperature's buffer, so that vehicles of one place share a course;
    `soak_k` is how much the sun warms at noon, `lag_h` the battery's time constant.
    """
    air_c = np.frombuffer(air)
    clock = (start_hour - _PRE_ROLL_H + np.arange(len(air_c))) % 24
    sun = np.maximum(np.sin(np.pi * (clock - 6.0) / 12.0), 0.0)
    course_c = lagged_c(air_c + soak_k * sun, lag_h=lag_h)[_PRE_ROLL_H:]
    course_c.flags.writeable = False
    return course_c


class _Air(NamedTuple):
    """Air of a place hour by hour and what goes with it; fields as in `Site`."""

    air_c: FloatArray
    life_c: float
    season_sd_c: float
    weather_sd_c: float
    coldest_c: float | None
    description: str


def _air(ledger: Ledger, source: Parameter, start: dt.datetime, hours: int) -> _Air:
    """Return the air from a first hour on; `source` is the key that gives the temperature."""
    scenario = ledger.scenario
    if source == SITE.temperature_c:
        constant = float(scenario.get(source))
        ledger.note(source, constant, "given")
        air_c = np.full(hours, constant)
        described = message("constant {temperature:g}", temperature=Celsius(constant))
        return _Air(air_c, _LIFE_C, 0.0, 0.0, None, described)
    if source in {SITE.hourly_csv, SITE.epw}:
        return _file(ledger, source, start, hours)
    year = _climate(ledger) if source == SITE.climate else told_year(ledger, source)
    air_c = _usual_air_c(year.low_c.tobytes(), year.high_c.tobytes(), start, hours)
    life_c = float(np.mean([year.low_c, year.high_c])) + _BONNET_K
    season_sd_c = math.hypot(_CLIMATE_SEASON_SD_C, year.spread_k)
    cold_c = float(np.min(year.low_c)) - year.day_sd_c
    return _Air(air_c, life_c, season_sd_c, year.day_sd_c, cold_c, year.description)


@lru_cache(maxsize=64)
def _usual_air_c(low: bytes, high: bytes, start: dt.datetime, hours: int) -> FloatArray:
    """Return the average air of so many hours; `low` and `high` are buffers of twelve months."""
    begin_h = (start - dt.datetime(start.year, 1, 1)) / dt.timedelta(hours=1)
    since_h = begin_h + np.arange(hours)
    return climate_temperature_c(
        since_h / HOURS_PER_DAY,
        since_h % HOURS_PER_DAY,
        daily_low_c=np.frombuffer(low),
        daily_high_c=np.frombuffer(high),
    )


def _climate(ledger: Ledger) -> Year:
    """Return the year of a climate preset."""
    chosen = ledger.scenario.get_or_default(SITE.climate)
    climate = preset("climates", chosen, where=SITE.climate)
    origin = "given" if ledger.scenario.get(SITE.climate) else "default"
    ledger.note(SITE.climate, chosen, origin, f"{climate.name}; {climate.source}")
    low, high, day_sd = (
        climate.values[key] for key in ("daily_low_c", "daily_high_c", "day_to_day_sd_c")
    )
    low_c, high_c = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    return Year(low_c, high_c, float(day_sd), 0.0, message(climate.name))


def _file(ledger: Ledger, source: Parameter, start: dt.datetime, hours: int) -> _Air:
    """Return the air of a file; what is wrong with it is told by the name the scenario gives it."""
    scenario = ledger.scenario
    if scenario.folder is None:
        raise ScenarioError(f"{scenario.where}: {source} needs a scenario file on disk")
    name = scenario.get(source)
    where = f"{scenario.where}: {source}"
    path = file_within(scenario.folder, name, where=where, error=ScenarioError)
    epw = source == SITE.epw or path.suffix.lower() == ".epw"
    try:
        record = (read_epw if epw else read_hourly_csv)(path)
        air_c = record.window_c(start, hours, lead_h=_PRE_ROLL_H)
    except WeatherError as error:
        raise WeatherError(str(error).replace(str(path), path.name)) from None
    ledger.note(source, name, "given", f"{len(record.air_c)} hourly values")
    return _Air(
        air_c,
        float(record.air_c.mean()) + _BONNET_K,
        _FILE_SEASON_SD_C,
        0.0,
        float(record.air_c.min()),
        message("hourly temperatures of {file}", file=path.name),
    )
