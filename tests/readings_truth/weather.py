"""Truth: the weather a vehicle stands in, its own year and not the average one."""

import datetime as dt

import numpy as np

from tests.readings_truth.battery import Array

# Mean of the year, half the swing of the seasons, day-to-day spread, daily range in winter and
# summer [K]: read off the climate tables the presets name (test reference year 2010; normals
# 1971-2000; airport 2012-2015; typical years), rounded to a cosine here.
PLACES = {
    "temperate": (9.6, 9.4, 3.9, 5.0, 11.0),
    "continental": (2.6, 18.8, 6.5, 10.5, 12.5),
    "marine": (12.0, 7.4, 2.9, 5.5, 11.5),
    "humid_subtropical": (13.6, 12.2, 5.3, 9.5, 10.0),
    "mediterranean": (19.2, 9.3, 2.1, 10.0, 16.0),
}
_HOTTEST_DAY = 202  # 21 July
_COLDEST_HOUR = 6.0


def air_c(
    rng: np.random.Generator, place: str, begin: dt.datetime, hours: int, count: int
) -> Array:
    """Return hourly air temperature, shape (hours, vehicles). [°C].

    A whole season's offset, an autoregressive daily part drawn straight between noons, and a
    daily swing that is small on dull days.
    """
    mean, swing, spread, winter, summer = PLACES[place]
    day = begin.timetuple().tm_yday + np.arange(hours + 48)[:, None] / 24 + begin.hour / 24
    season = np.cos(2 * np.pi * (day - _HOTTEST_DAY) / 365.25)
    days = hours // 24 + 4
    stays = rng.uniform(0.6, 0.85, count)
    noise = rng.standard_normal((days + 20, count))
    anomaly = np.zeros((days + 20, count))
    for one in range(1, days + 20):
        anomaly[one] = stays * anomaly[one - 1] + np.sqrt(1 - stays**2) * noise[one]
    anomaly = spread * anomaly[20:] + 1.4 * rng.standard_normal(count)
    at = np.arange(hours) / 24
    low = at.astype(int)
    daily = anomaly[low] + (at - low)[:, None] * (anomaly[low + 1] - anomaly[low])
    clear = rng.uniform(0.4, 1.6, (days, count))[low]
    range_k = (winter + summer) / 2 + (summer - winter) / 2 * season[:hours]
    hour = (begin.hour + np.arange(hours)[:, None]) % 24
    turn = np.cos(2 * np.pi * (hour - _COLDEST_HOUR) / 24)
    return mean + swing * season[:hours] + daily - range_k * clear / 2 * turn


def following(air: Array, lag_h: Array, warm_k: Array) -> Array:
    """Return what follows the air with a first-order lag, `warm_k` warmer at first."""
    found = np.empty_like(air)
    found[0] = air[:24].mean(axis=0) + warm_k
    follow = -np.expm1(-1 / lag_h)
    for hour in range(1, len(air)):
        found[hour] = found[hour - 1] + (air[hour] - found[hour - 1]) * follow
    return found
