"""What charges each draw of a parked battery: cloudy runs on a panel, luck with a charger."""

import math
import zlib
from functools import lru_cache
from typing import Final

import numpy as np

from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER, day_noise, weather_of_draw
from drainsim.simulation.lanes import Loads, loads_of
from drainsim.vehicle.case import Case

# Correlation of one day's sunshine with the next: runs of two to three days; common practice,
# no source.
_CORRELATION: Final = 0.5
_MEMORY_DAYS: Final = 10  # the correlation is a thousandth by then
_CLOUD_STREAM: Final = 77  # sets the clouds apart from the other draws of a seed
_CHARGER_STREAM: Final = 78


def cloud_factor(case: Case, draws: int, *, sd: float) -> FloatArray:
    """Return each day's sunshine over its mean, shape (days, draws); its mean is 1.

    Parameters
    ----------
    case : Case
    draws : int
    sd : float
        Standard deviation of one day's sunshine over its mean.

    Notes
    -----
    Log-normal with runs; draws that share a weather share its clouds, and so do vehicles of one
    place on one day, whenever each was parked.
    """
    place = (case.weather_seed, zlib.crc32(case.site.place.encode()), _CLOUD_STREAM)
    first, weathers = case.site.parked_from.toordinal(), -(-draws // DRAWS_PER_WEATHER)
    return _kept_clouds(place, first, case.horizon_days, weathers, sd)[:, weather_of_draw(draws)]


@lru_cache(maxsize=32)  # a month of parking days: 60 kB each at 200 draws and 180 days
def _kept_clouds(
    place: tuple[int, ...], first: int, days: int, weathers: int, sd: float
) -> FloatArray:
    fresh = math.sqrt(1.0 - _CORRELATION**2)
    z = np.zeros(weathers)
    kept = np.empty((days, weathers))
    for day in range(-_MEMORY_DAYS, days):
        z = _CORRELATION * z + fresh * day_noise((*place, first + day), weathers)
        if day >= 0:
            kept[day] = z
    sigma = math.sqrt(math.log1p(sd**2))
    return np.exp(sigma * kept - 0.5 * sigma**2)


def add_charging_a(case: Case, charging_a: FloatArray) -> None:
    """Add what charges each draw on each day, in place, shape (days, draws)."""
    if case.solar is not None:
        clouds = cloud_factor(case, case.draws, sd=case.solar.cloud_sd)
        charging_a += case.solar.charging_a[:, None] * clouds
    z = np.random.default_rng([case.seed, _CHARGER_STREAM]).standard_normal(case.draws)
    for charger in (case.maintainer, case.top_up):
        if charger is not None:
            charging_a += charger.charging_a[:, None] * np.exp(charger.sigma * z)


def drawn_loads(case: Case) -> Loads:
    """Return the loads of a case's draws, each with its own clouds and charger."""
    plain = loads_of(case)
    if case.charging_a is None:
        return plain
    wide = {
        name: np.repeat(getattr(plain, name), case.draws, axis=-1)
        for name in plain.__slots__
        if name != "charging_a"
    }
    charging_a = np.zeros((case.horizon_days, case.draws))
    add_charging_a(case, charging_a)
    return Loads(**wide, charging_a=charging_a)
