"""Cloudy and clear runs of days on a panel, drawn for each weather of a place."""

import math
import zlib
from typing import Final

import numpy as np

from drainsim.models.case import Case
from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER, weather_of_draw
from drainsim.simulation.lanes import Loads, loads_of

# Correlation of one day's sunshine with the next: runs of two to three days; common practice,
# no source.
_CORRELATION: Final = 0.5
_CLOUD_STREAM: Final = 77  # sets the clouds apart from the other draws of a seed


def cloud_factor(case: Case, draws: int, *, sd: float) -> FloatArray:
    """Return each day's sunshine over its mean, shape (days, draws); its mean is 1.

    Log-normal with runs; draws that share a weather share its clouds.
    """
    weathers = -(-draws // DRAWS_PER_WEATHER)
    code = zlib.crc32(case.site.place.encode())
    rng = np.random.default_rng([case.weather_seed, code, _CLOUD_STREAM])
    noise = rng.standard_normal((case.horizon_days, weathers))
    z = np.empty_like(noise)
    fresh = math.sqrt(1.0 - _CORRELATION**2)
    for day, today in enumerate(noise):
        z[day] = today if day == 0 else _CORRELATION * z[day - 1] + fresh * today
    sigma = math.sqrt(math.log1p(sd**2))
    return np.asarray(np.exp(sigma * z - 0.5 * sigma**2)[:, weather_of_draw(draws)])


def cloudy_loads(case: Case) -> Loads:
    """Return the loads of a case's draws, each with its own cloudy days where there is a panel."""
    plain = loads_of(case)
    solar = case.solar
    if solar is None or solar.cloud_sd == 0.0 or case.charging_a is None:
        return plain
    steady = (case.charging_a - solar.charging_a)[:, None]
    factor = cloud_factor(case, case.draws, sd=solar.cloud_sd)
    wide = {
        name: np.repeat(getattr(plain, name), case.draws, axis=-1)
        for name in plain.__slots__
        if name != "charging_a"
    }
    return Loads(**wide, charging_a=steady + solar.charging_a[:, None] * factor)
