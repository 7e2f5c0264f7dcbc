"""Scores of forecasts against the truth: coverage, error, bands, accusations."""

import numpy as np
from numpy.typing import NDArray

from tests.readings_truth.battery import Array
from tests.readings_truth.truth import HORIZON_DAYS, Stands
from tests.readings_truth.voltmeter import Readings

_NIGHT_H = 6


def inside(truth: Array, p10: Array, p90: Array) -> NDArray[np.bool_]:
    """Say whether the true days lie in the band; beyond the horizon counts as one value."""
    cap = float(HORIZON_DAYS)
    return (np.minimum(p10, cap) <= np.minimum(truth, cap)) & (
        np.minimum(truth, cap) <= np.minimum(p90, cap)
    )


def rmse(truth: Array, days: Array) -> float:
    """Return the root mean square error of days, both cut at the horizon."""
    cap = float(HORIZON_DAYS)
    return float(np.sqrt(np.mean((np.minimum(truth, cap) - np.minimum(days, cap)) ** 2)))


def width(p10: Array, p90: Array) -> Array:
    """Return the band's width, cut at the horizon."""
    cap = float(HORIZON_DAYS)
    return np.minimum(p90, cap) - np.minimum(p10, cap)


def interval_score(truth: Array, p10: Array, p90: Array) -> float:
    """Return the mean width of 80 % bands and ten times what each truth lies outside by. [days].

    Gneiting & Raftery 2007, eq. 43: least for the true quantiles, so neither a narrow band that
    misses nor a wide one that holds does well.
    """
    cap = float(HORIZON_DAYS)
    truth, low, high = (np.minimum(days, cap) for days in (truth, p10, p90))
    outside = np.maximum(low - truth, 0.0) + np.maximum(truth - high, 0.0)
    return float(np.mean(high - low + 2.0 / 0.2 * outside))


def chance(p: float, count: int, sigmas: float = 3.0) -> float:
    """Return how far a share of `count` trials strays from `p` by chance (binomial)."""
    return sigmas * float(np.sqrt(p * (1 - p) / max(count, 1)))


def night_medians(s: Stands, one: Readings, day: float) -> tuple[Array, Array]:
    """Return days after parking and median volts of the nights so far (01 to 07 UTC)."""
    since = (one.time - s.begin.timestamp()) / 86400
    kept = (since > 0) & (since <= day)
    clock = (since * 24 + s.begin.hour) % 24
    night = kept & (clock >= 7 - _NIGHT_H) & (clock < 7)
    number = np.floor(since + s.begin.hour / 24).astype(int)
    nights = np.unique(number[night])
    volts = [float(np.median(one.voltage_v[night & (number == n)])) for n in nights]
    return nights + (4 - s.begin.hour) / 24, np.array(volts)


def straight_line(s: Stands, readings: list[Readings], day: float, limit_v: Array) -> Array:
    """Return the days left by a straight line through the night voltages to a limit."""
    left = []
    for number, one in enumerate(readings):
        at, volts = night_medians(s, one, day)
        if len(at) < 2:
            left.append(float(HORIZON_DAYS))
            continue
        slope, level = np.polyfit(at, volts, 1)
        days = (limit_v[number] - level - slope * day) / slope if slope < 0 else np.inf
        left.append(float(np.clip(days, 0, HORIZON_DAYS)))
    return np.array(left)
