"""Battery temperature of every lane, block by block: season, day-to-day weather, lag."""

import math
from typing import NamedTuple

import numpy as np

from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.self_discharge import REFERENCE_C
from drainsim.physics.tables import FloatArray, IndexArray


class BlockWeather(NamedTuple):
    """One block of hours, per weather lane; `low_c` is never above the coldest hour."""

    end_c: FloatArray
    low_c: FloatArray
    mean_c: FloatArray
    loss_scale: FloatArray  # mean of 2^((T - 25 °C)/doubling) over the block


class WeatherLanes:
    """A shared hourly course, plus per lane a season offset and day-to-day anomalies.

    Parameters
    ----------
    course_c : shape (hours + 1,)
        Battery temperature every hour from parking on. [°C]
    season_c : shape (lanes,)
        Offset of the whole stand. [K]
    anomaly_c : shape (days, lanes)
        Air anomaly of each 24 h after parking; the battery follows it with the lag. [K]
    lag_h : float
        First-order lag of the battery behind the air. [h]
    doubling_k : float
        Temperature rise that doubles self-discharge. [K]
    """

    def __init__(
        self,
        *,
        course_c: FloatArray,
        season_c: FloatArray,
        anomaly_c: FloatArray,
        lag_h: float,
        doubling_k: float,
    ) -> None:
        self.course_c = course_c
        self.season_c = season_c
        self.held = 0  # lane values held to the model's temperature range so far
        self._air_c = anomaly_c
        self._lag_h = lag_h
        self._doubling_k = doubling_k
        self._hours = np.arange(len(course_c), dtype=float)
        self._loss_sum = _running(np.exp2((course_c - REFERENCE_C) / doubling_k))
        self._warm_sum = _running(course_c)
        self._random = bool(np.any(anomaly_c))
        self._settled_c = self._settle()

    def _settle(self) -> FloatArray:
        """Return the battery's anomaly at the start of each day, shape (days + 1, lanes)."""
        days, lanes = self._air_c.shape
        settled = np.zeros((days + 1, lanes))
        if self._random:
            settled[0] = self._air_c[0]
            left = self._left(24.0)
            for day in range(days):
                settled[day + 1] = self._air_c[day] + (settled[day] - self._air_c[day]) * left
        return settled

    def _left(self, hours: float) -> float:
        """Return the share of yesterday's anomaly still in the battery after `hours`."""
        return math.exp(-hours / self._lag_h) if self._lag_h > 0 else 0.0

    def _mean_left(self, since_h: float, until_h: float) -> float:
        """Return the mean of that share between two hours of a day."""
        if self._lag_h <= 0:
            return 0.0
        fall = self._left(since_h) - self._left(until_h)
        return self._lag_h * fall / (until_h - since_h)

    def block(self, from_h: float, hours: float) -> BlockWeather:
        """Return the weather of the `hours` after `from_h`; a block stays within one day."""
        until_h = from_h + hours
        day = int(from_h // 24.0)
        since_h = from_h - 24.0 * day
        end = float(np.interp(until_h, self._hours, self.course_c))
        first, last = math.floor(from_h), math.ceil(until_h)
        low = float(self.course_c[first : last + 1].min())
        mean = _mean_between(self._hours, self._warm_sum, from_h, until_h)
        loss = _mean_between(self._hours, self._loss_sum, from_h, until_h)
        season = self.season_c
        if not self._random:
            offset_end = offset_low = offset_mean = season
        else:
            air, old = self._air_c[day], self._settled_c[day]
            gap = old - air
            offset_end = season + air + gap * self._left(since_h + hours)
            offset_mean = season + air + gap * self._mean_left(since_h, since_h + hours)
            offset_low = season + air + np.minimum(gap, 0.0)
        return BlockWeather(
            end_c=self._within(end + offset_end),
            low_c=self._within(low + offset_low),
            mean_c=mean + offset_mean,
            loss_scale=loss * np.exp2(offset_mean / self._doubling_k),
        )

    def at_hours_c(self, from_h: float, hours: FloatArray, lanes: IndexArray) -> FloatArray:
        """Return temperatures at `from_h + hours` within one day, shape (hours, lanes)."""
        day = int(from_h // 24.0)
        since = from_h - 24.0 * day + hours
        course = np.interp(from_h + hours, self._hours, self.course_c)[:, None]
        offset = self.season_c[lanes]
        if self._random:
            air, old = self._air_c[day][lanes], self._settled_c[day][lanes]
            left = np.array([self._left(float(hour)) for hour in since])[:, None]
            offset = offset + air + (old - air) * left
        return self._within(course + offset)

    def at_parking_c(self) -> FloatArray:
        """Return the battery temperature at parking, per lane."""
        return self._within(self.course_c[0] + self.season_c + self._settled_c[0])

    def _within(self, temperature_c: FloatArray) -> FloatArray:
        """Hold chance excursions to the model's range and count them for a warning."""
        beyond = int(np.count_nonzero((temperature_c < COLDEST_C) | (temperature_c > WARMEST_C)))
        if not beyond:
            return temperature_c
        self.held += beyond
        return np.clip(temperature_c, COLDEST_C, WARMEST_C)


def _running(values: FloatArray) -> FloatArray:
    """Return the integral of hourly values by the trapezoidal rule, from hour 0 on."""
    return np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]))])


def _mean_between(hours: FloatArray, running: FloatArray, from_h: float, until_h: float) -> float:
    """Return the mean between two times from a running integral."""
    first, last = np.interp([from_h, until_h], hours, running)
    return float((last - first) / (until_h - from_h))
