"""Random draws: one seed gives the same ranks whatever the case (common random numbers).

Five draws share a weather. A fleet's joint risk needs the weather's part of each chance; a place
has the same weather on the same day whenever a vehicle was parked.
"""

import datetime as dt
import math
import zlib
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.units import HOURS_PER_DAY

INPUTS: Final = (
    "state_of_charge",
    "capacity_health",
    "cranking_health",
    "quiescent_a",
    "unit_a",
    "self_discharge",
    "demand",
    "low_charge",
    "season",
    "open_circuit_offset",  # a new one comes last, so that the draws before it stay what they were
    "oil",
    "cold_power",
)
# Health of capacity and of cranking age together: common practice, no source.
_HEALTH_CORRELATION: Final = 0.5
# How many of a vehicle's draws share one weather: enough to tell the weather's part of a risk
# from the vehicle's own, which a fleet's joint risk needs.
DRAWS_PER_WEATHER: Final = 5
# Days of weather before parking, so that the course no longer depends on when it began.
_WARM_UP_DAYS: Final = 30
_MOST_KEPT: Final = 400  # weathers of a day that is kept for the next vehicle: 130 MB at most
_DRAWS_KEPT: Final = 4  # of seeds: what changes between cases is rarely the seed
_WEATHERS_KEPT: Final = 8  # of places and days; 0.6 MB each at 2,000 draws and 180 days
_NO_SPREAD: Final = 1e-12  # below it a value counts as known; a denormal would overflow
_Z = np.linspace(-6.0, 6.0, 6001)
_CUMULATIVE = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in _Z])


def normal_quantile(probability: ArrayLike) -> FloatArray:
    """Return standard normal quantiles (table with linear steps of 0.002, ends at ±6).

    Examples
    --------
    >>> normal_quantile([0.1, 0.5, 0.9]).round(3)
    array([-1.282,  0.   ,  1.282])
    """
    return np.asarray(np.interp(np.asarray(probability, dtype=float), _CUMULATIVE, _Z))


def normal_probability(z: ArrayLike) -> FloatArray:
    """Return the standard normal distribution function; inverse of `normal_quantile`."""
    return np.asarray(np.interp(np.asarray(z, dtype=float), _Z, _CUMULATIVE))


def standard_draws(draws: int, seed: int | list[int]) -> dict[str, FloatArray]:
    """Return one standard normal sample per input, each shape (draws,).

    Every input is stratified (each of `draws` equal slices of its distribution is used once),
    which steadies the percentiles. Cases that share a seed share the arrays: read them only.
    """
    return dict(_kept_draws(draws, seed if isinstance(seed, int) else tuple(seed)))


@lru_cache(maxsize=_DRAWS_KEPT)
def _kept_draws(draws: int, seed: int | tuple[int, ...]) -> dict[str, FloatArray]:
    rng = np.random.default_rng(seed)
    middles = _middles(draws)
    z = with_common_ageing({name: middles[rng.permutation(draws)] for name in INPUTS})
    for values in z.values():
        values.flags.writeable = False
    return z


def with_common_ageing(z: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Return independent draws with health of capacity and of cranking tied to each other."""
    own = math.sqrt(1.0 - _HEALTH_CORRELATION**2) * z["cranking_health"]
    return {**z, "cranking_health": _HEALTH_CORRELATION * z["capacity_health"] + own}


@cache
def _middles(draws: int) -> FloatArray:
    """Return the middle of each equal slice of a standard normal distribution."""
    return normal_quantile((np.arange(draws) + 0.5) / draws)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherDraws:
    """Possible weathers of one place, in standard deviations.

    `season_z` and `settled_z` (the battery's own anomaly on the first day, behind the air's)
    have shape (weathers,), `anomaly_z` (days, weathers).
    """

    season_z: FloatArray
    anomaly_z: FloatArray
    settled_z: FloatArray


def weather_draws(
    draws: int,
    *,
    first_day: dt.date,
    days: int,
    correlation: float,
    seed: int,
    place: str,
    lag_h: float,
) -> WeatherDraws:
    """Return the weathers of a place, shared by every vehicle that stands there.

    Parameters
    ----------
    draws : int
        Draws per vehicle; `DRAWS_PER_WEATHER` of them share a weather.
    first_day : date
        Day of parking; the same place has the same weather on the same day, whenever each of
        its vehicles was parked.
    days : int
        Days from parking on.
    correlation : float
        Of one day with the next.
    seed : int
    place : str
        Another place has another weather under the same seed.
    lag_h : float
        First-order lag of a battery behind the air. [h]

    Notes
    -----
    Kept for the next case of the same place and day: read the arrays only.
    """
    work = _kept_weather if draws <= DRAWS_PER_WEATHER * _MOST_KEPT else _fresh_weather
    return work(draws, first_day, days, correlation, seed, place, lag_h)


def _fresh_weather(
    draws: int,
    first_day: dt.date,
    days: int,
    correlation: float,
    seed: int,
    place: str,
    lag_h: float,
) -> WeatherDraws:
    season_z = season_draws(draws, seed=seed, place=place)
    weathers, code = len(season_z), zlib.crc32(place.encode())
    begin = _weather_year(first_day).toordinal()
    ahead = first_day.toordinal() - begin
    fresh = math.sqrt(1.0 - correlation**2)
    follow = -math.expm1(-HOURS_PER_DAY / lag_h) if lag_h > 0 else 1.0
    today = day_noise((seed, code, begin), weathers)
    settled = today
    for day in range(1, ahead):
        today = correlation * today + fresh * day_noise((seed, code, begin + day), weathers)
        settled = settled + (today - settled) * follow
    anomaly_z = np.empty((days, weathers))
    for day in range(days):
        noise = day_noise((seed, code, begin + ahead + day), weathers)
        today = correlation * today + fresh * noise
        anomaly_z[day] = today
    for values in (season_z, anomaly_z, settled):
        values.flags.writeable = False
    return WeatherDraws(season_z=season_z, anomaly_z=anomaly_z, settled_z=settled)


_kept_weather = lru_cache(maxsize=_WEATHERS_KEPT)(_fresh_weather)


def season_draws(draws: int, *, seed: int, place: str) -> FloatArray:
    """Return how far each weather of a place lies from its normals, in standard deviations.

    Parameters
    ----------
    draws : int
        `DRAWS_PER_WEATHER` of them share a weather.
    seed : int
    place : str
    """
    weathers = -(-draws // DRAWS_PER_WEATHER)
    code = zlib.crc32(place.encode())
    return _middles(weathers)[np.random.default_rng([seed, code]).permutation(weathers)]


def _weather_year(first_day: dt.date) -> dt.date:
    """Return the 1 July at least a month before a day: where its weather's history begins."""
    enough = first_day - dt.timedelta(days=_WARM_UP_DAYS)
    july = dt.date(enough.year, 7, 1)
    return july if july <= enough else dt.date(enough.year - 1, 7, 1)


def day_noise(key: tuple[int, ...], weathers: int) -> FloatArray:
    """Return the independent part of one calendar day's weather; the key ends with the day."""
    return (_kept_noise if weathers <= _MOST_KEPT else _fresh_noise)(key, weathers)


def _fresh_noise(key: tuple[int, ...], weathers: int) -> FloatArray:
    return np.random.default_rng(key).standard_normal(weathers)


_kept_noise = lru_cache(maxsize=40_000)(_fresh_noise)


def weather_of_draw(draws: int) -> IndexArray:
    """Return the number of the weather each draw stands in."""
    return np.arange(draws) // DRAWS_PER_WEATHER


def truncated_normal(
    z: ArrayLike, *, mean: ArrayLike, sd: ArrayLike, low: float, high: float
) -> FloatArray:
    """Return draws of a normal distribution cut to [low, high], by rank.

    Parameters
    ----------
    z : array_like
        Standard normal draws; their ranks are kept.
    mean, sd : array_like
        Of the uncut distribution; sd = 0 (or below 1e-12) returns the mean.
    low, high : float
        Ends of the support.
    """
    centre, spread = np.asarray(mean, dtype=float), np.asarray(sd, dtype=float)
    wide = spread > _NO_SPREAD
    safe = np.where(wide, spread, 1.0)
    at_low = normal_probability((low - centre) / safe)
    at_high = normal_probability((high - centre) / safe)
    rank = at_low + normal_probability(z) * (at_high - at_low)
    drawn = np.clip(centre + spread * normal_quantile(rank), low, high)
    return np.asarray(np.where(wide, drawn, centre + 0.0 * drawn))


@lru_cache(maxsize=32)
def kept_truncated(z: bytes, mean: float, sd: float, low: float, high: float) -> FloatArray:
    """Return `truncated_normal` of the buffer of draws, kept for the next case: read it only."""
    drawn = truncated_normal(np.frombuffer(z), mean=mean, sd=sd, low=low, high=high)
    drawn.flags.writeable = False
    return drawn
