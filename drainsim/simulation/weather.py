"""Battery temperature of every lane, block by block: season, day-to-day weather, lag.

Hourly files carry no extra daily weather; they are weather. Only a season's offset is drawn.

Monthly normals are kept as means, not as mid-month points: lines through the normals would clip
every winter by up to 1 K, the optimistic side.
"""

import math
from functools import cached_property
from typing import NamedTuple

import numpy as np

from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.self_discharge import REFERENCE_C
from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.units import HOURS_PER_DAY


class BlockWeather(NamedTuple):
    """One block of hours, per weather lane; `low_c` is never above the coldest hour."""

    end_c: FloatArray
    low_c: FloatArray
    mean_c: FloatArray
    loss_scale: FloatArray  # mean of 2^((T - 25 °C)/doubling) over the block


class WeatherLanes:
    """The hourly course of a site, plus per lane a season offset and day-to-day anomalies.

    Parameters
    ----------
    course_c : shape (hours + 1,) or (hours + 1, sites)
        Battery temperature every hour from parking on. [°C]
    season_c : shape (lanes,)
        Offset of the whole stand. [K]
    anomaly_c : shape (days, lanes)
        Air anomaly of each 24 h after parking; the battery follows it with the lag. [K]
    settled_c : shape (lanes,)
        The battery's own anomaly at the start of the first day. [K]
    lag_h : float
        First-order lag of the battery behind the air. [h]
    doubling_k : float
        Temperature rise that doubles self-discharge. [K]
    site : shape (lanes,), optional
        Column of `course_c` each lane follows; the first if left out.
    """

    def __init__(
        self,
        *,
        course_c: FloatArray,
        season_c: FloatArray,
        anomaly_c: FloatArray,
        settled_c: FloatArray,
        lag_h: float,
        doubling_k: float,
        site: IndexArray | None = None,
    ) -> None:
        course = course_c.reshape(len(course_c), -1)
        self.season_c = season_c
        self.held = 0  # lane values held to the model's temperature range so far
        self._course_c = course
        self._site = np.zeros(1, dtype=np.intp) if site is None else site
        self._air_c = anomaly_c
        self._lag_h = lag_h
        self._doubling_k = doubling_k
        self._loss_sum = _running(np.exp2((course - REFERENCE_C) / doubling_k))
        self._warm_sum = _running(course)
        self._random = bool(np.any(anomaly_c))
        self._settled_c = self._settle(settled_c)

    def _settle(self, first_c: FloatArray) -> FloatArray:
        """Return the battery's anomaly at the start of each day, shape (days + 1, lanes)."""
        days, lanes = self._air_c.shape
        settled = np.zeros((days + 1, lanes))
        if self._random:
            settled[0] = first_c
            left = self._left(HOURS_PER_DAY)
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

    def _offset_c(
        self,
        day: IndexArray | int,
        left: FloatArray | float,
        lanes: IndexArray | slice = slice(None),
    ) -> FloatArray:
        """Return how far lanes are from their course, so much of yesterday's anomaly left. [K]."""
        season_c = self.season_c[lanes]
        if not self._random:
            return season_c
        air, old = self._air_c[day, lanes], self._settled_c[day, lanes]
        return np.asarray(season_c + air + (old - air) * left)

    def block(self, from_h: float, hours: float) -> BlockWeather:
        """Return the weather of the `hours` after `from_h`; a block stays within one day."""
        until_h = from_h + hours
        day = int(from_h // HOURS_PER_DAY)
        since_h = from_h - HOURS_PER_DAY * day
        first, last = math.floor(from_h), math.ceil(until_h - 1e-9)
        end = _at(self._course_c, until_h)[self._site]
        low = self._course_c[first : last + 1].min(axis=0)[self._site]
        mean = _mean_between(self._warm_sum, from_h, until_h)[self._site]
        loss = _mean_between(self._loss_sum, from_h, until_h)[self._site]
        offset_low = self.season_c
        offset_mean = self._offset_c(day, self._mean_left(since_h, since_h + hours))
        if self._random:
            air, old = self._air_c[day], self._settled_c[day]
            offset_low = self.season_c + air + np.minimum(old - air, 0.0)
        return BlockWeather(
            end_c=self._within(end + self._offset_c(day, self._left(since_h + hours))),
            low_c=self._within(low + offset_low),
            mean_c=mean + offset_mean,
            loss_scale=loss * np.exp2(offset_mean / self._doubling_k),
        )

    def means(self, from_h: FloatArray, hours: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return mean temperature and loss scale of stretches within a day, as `block` does.

        Parameters
        ----------
        from_h, hours : shape (stretches,)
            Beginning, since the run's, and length. [h]

        Returns
        -------
        mean_c, loss_scale : shape (stretches, lanes)
        """
        until_h, day = from_h + hours, (from_h // HOURS_PER_DAY).astype(np.intp)
        mean, loss = (
            (_at_each(running, until_h) - _at_each(running, from_h))[:, self._site] / hours[:, None]
            for running in (self._warm_sum, self._loss_sum)
        )
        since_h, left = from_h - HOURS_PER_DAY * day, np.zeros(len(from_h))
        if self._lag_h > 0:
            begin, end = np.exp(-since_h / self._lag_h), np.exp(-(since_h + hours) / self._lag_h)
            left = self._lag_h * (begin - end) / hours
        offset = self._offset_c(day, left[:, None])
        return mean + offset, loss * np.exp2(offset / self._doubling_k)

    def blocks(self, step_h: int, days: int) -> BlockWeather:
        """Return the blocks of whole hours of the first days at once, shape (blocks, lanes).

        Row by row the same as `block`.
        """
        per_day = 24 // step_h
        course = self._course_c[: 24 * days + 1]
        end = course[step_h::step_h]
        low = np.minimum(course[:-1].reshape(len(end), step_h, -1).min(axis=1), end)
        mean, loss = (
            np.diff(running[: 24 * days + 1 : step_h], axis=0) / step_h
            for running in (self._warm_sum, self._loss_sum)
        )
        gap = self._settled_c[:days] - self._air_c[:days]
        base = self.season_c + self._air_c[:days]
        # Worked out in place: fresh arrays of this size cost more to touch than to compute with.
        daily = np.empty((4, days, per_day, len(self.season_c)))
        end_c, low_c, mean_c, loss_scale = daily.reshape(4, len(end), -1)
        daily[1] = (base + np.minimum(gap, 0.0))[:, None]
        for number in range(per_day):
            from_h, until_h = float(step_h * number), float(step_h * (number + 1))
            daily[0, :, number] = base + gap * self._left(until_h)
            daily[2, :, number] = base + gap * self._mean_left(from_h, until_h)
        np.exp2(np.divide(mean_c, self._doubling_k, out=loss_scale), out=loss_scale)
        for values, of_course in zip((end_c, low_c, mean_c), (end, low, mean), strict=True):
            values += of_course[:, self._site]
        loss_scale *= loss[:, self._site]
        return BlockWeather(
            end_c=self._within(end_c),
            low_c=self._within(low_c),
            mean_c=mean_c,
            loss_scale=loss_scale,
        )

    def in_blocks_c(self, block: IndexArray, step_h: int, lanes: IndexArray) -> FloatArray:
        """Return the temperature at every hour of some blocks, shape (step_h, blocks).

        Parameters
        ----------
        block : shape (blocks,)
            Numbers of the blocks from parking on, each of `step_h` whole hours.
        step_h : int
        lanes : shape (blocks,)
            The lane each is asked for.
        """
        hours = np.arange(1, step_h + 1)[:, None]
        site = self._site[lanes] if len(self._site) > 1 else self._site
        course = self._course_c[block * step_h + hours, site]
        day, since = np.divmod(block * step_h, 24)
        left = np.array([self._left(hour) for hour in range(25)])[since + hours]
        return self._within(course + self._offset_c(day, left, lanes))

    def at_hours_c(self, from_h: float, hours: FloatArray, lanes: IndexArray) -> FloatArray:
        """Return temperatures at moments of one day, shape (hours, lanes).

        Parameters
        ----------
        from_h : float
            Beginning, since the run's. [h]
        hours : shape (hours,)
            Moments after it. [h]
        lanes : shape (lanes,)
            Weather lanes asked for.
        """
        day = int(from_h // HOURS_PER_DAY)
        since = from_h - HOURS_PER_DAY * day + hours
        site = self._site[lanes] if len(self._site) > 1 else self._site
        course = np.stack([_at(self._course_c, from_h + hour)[site] for hour in hours])
        left = np.array([self._left(float(hour)) for hour in since])[:, None]
        return self._within(course + self._offset_c(day, left, lanes))

    def at_day_c(self, day: int) -> FloatArray:
        """Return the battery temperature at the start of a day, per lane."""
        course = self._course_c[24 * day][self._site]
        return self._within(course + self.season_c + self._settled_c[day])

    def low_after_c(self, day: int) -> FloatArray:
        """Return a temperature below which no lane falls from a day on, per lane."""
        return np.asarray(self._lows_after_c[min(day, len(self._lows_after_c) - 1)])

    @cached_property
    def _lows_after_c(self) -> FloatArray:
        """Return the lowest bound of all blocks from each day on, shape (days, lanes)."""
        days = len(self._air_c)
        lows = np.stack(
            [self._course_c[24 * d : 24 * d + 25].min(axis=0)[self._site] for d in range(days)]
        )
        lows = lows + self.season_c
        if self._random:
            lows = lows + np.minimum(self._air_c, self._settled_c[:-1])
        return np.minimum.accumulate(lows[::-1], axis=0)[::-1]

    def _within(self, temperature_c: FloatArray) -> FloatArray:
        """Hold chance excursions to the model's range and count them for a warning."""
        coldest, warmest = (
            temperature_c.min(initial=WARMEST_C),
            temperature_c.max(initial=COLDEST_C),
        )
        if coldest >= COLDEST_C and warmest <= WARMEST_C:
            return temperature_c
        held_c = np.clip(temperature_c, COLDEST_C, WARMEST_C)
        self.held += int(np.count_nonzero(held_c != temperature_c))
        return held_c


def _at(hourly: FloatArray, hour: float) -> FloatArray:
    """Return rows of hourly values at an hour, straight lines in between."""
    first = math.floor(hour + 1e-9)
    rest = hour - first
    if rest < 1e-9:
        return np.asarray(hourly[first])
    return np.asarray(hourly[first] + rest * (hourly[first + 1] - hourly[first]))


def _at_each(hourly: FloatArray, hours: FloatArray) -> FloatArray:
    """Return rows of hourly values at several hours, as `_at`."""
    first = np.floor(hours).astype(np.intp)
    rest = (hours - first)[:, None]
    after = np.minimum(first + 1, len(hourly) - 1)
    return np.asarray(hourly[first] + rest * (hourly[after] - hourly[first]))


def _running(values: FloatArray) -> FloatArray:
    """Return the integral of hourly values by the trapezoidal rule, from hour 0 on."""
    steps = np.cumsum(0.5 * (values[1:] + values[:-1]), axis=0)
    return np.concatenate([np.zeros((1, values.shape[1])), steps])


def _mean_between(running: FloatArray, from_h: float, until_h: float) -> FloatArray:
    """Return the mean between two times from a running integral."""
    return (_at(running, until_h) - _at(running, from_h)) / (until_h - from_h)
