"""Cloudy and clear runs of days on a panel, drawn for each weather of a place."""

import math
import zlib
from functools import lru_cache
from typing import Final

import numpy as np

from drainsim.models.case import Case
from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER, weather_of_draw
from drainsim.simulation.lanes import Loads, loads_of

# Correlation of one day's sunshine with the next: runs of two to three days; common practice,
# no source.
_CORRELATION: Final = 0.5
_MEMORY_DAYS: Final = 10  # the correlation is a thousandth by then
_CLOUD_STREAM: Final = 77  # sets the clouds apart from the other draws of a seed


@lru_cache(maxsize=20_000)
def _day_noise(seed: int, code: int, ordinal: int, weathers: int) -> FloatArray:
    """Return the independent part of one calendar day's clouds at a place."""
    return np.random.default_rng([seed, code, _CLOUD_STREAM, ordinal]).standard_normal(weathers)


def cloud_factor(case: Case, draws: int, *, sd: float) -> FloatArray:
    """Return each day's sunshine over its mean, shape (days, draws); its mean is 1.

    Log-normal with runs; draws that share a weather share its clouds, and so do vehicles of one
    place on one day, whenever each was parked.
    """
    weathers = -(-draws // DRAWS_PER_WEATHER)
    code = zlib.crc32(case.site.place.encode())
    first = case.site.parked_from.toordinal() - _MEMORY_DAYS
    fresh = math.sqrt(1.0 - _CORRELATION**2)
    z = np.zeros(weathers)
    kept = np.empty((case.horizon_days, weathers))
    for day in range(-_MEMORY_DAYS, case.horizon_days):
        ordinal = first + _MEMORY_DAYS + day
        z = _CORRELATION * z + fresh * _day_noise(case.weather_seed, code, ordinal, weathers)
        if day >= 0:
            kept[day] = z
    sigma = math.sqrt(math.log1p(sd**2))
    return np.asarray(np.exp(sigma * kept - 0.5 * sigma**2)[:, weather_of_draw(draws)])


def cloudy_charging_a(case: Case) -> FloatArray:
    """Return what charges each draw on each day, shape (days, draws); (0, draws) without."""
    steady = case.charging_a
    if steady is None:
        return np.zeros((0, case.draws))
    wide = np.repeat(steady[:, None], case.draws, axis=1)
    solar = case.solar
    if solar is None or solar.cloud_sd == 0.0:
        return wide
    factor = cloud_factor(case, case.draws, sd=solar.cloud_sd)
    return np.asarray(wide + solar.charging_a[:, None] * (factor - 1.0))


def cloudy_loads(case: Case) -> Loads:
    """Return the loads of a case's draws, each with its own cloudy days where there is a panel."""
    plain = loads_of(case)
    if case.solar is None or case.solar.cloud_sd == 0.0:
        return plain
    wide = {
        name: np.repeat(getattr(plain, name), case.draws, axis=-1)
        for name in plain.__slots__
        if name != "charging_a"
    }
    return Loads(**wide, charging_a=cloudy_charging_a(case))
