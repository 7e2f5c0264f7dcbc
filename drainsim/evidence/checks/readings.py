"""What a voltage at rest tells, and how a parked vehicle's readings scatter."""

import math
from functools import partial
from typing import Final

import numpy as np

from drainsim.answers.readings.history.stands import SETTLED_H
from drainsim.answers.readings.posterior.learned import UNIT_OFFSET_SD_V
from drainsim.answers.readings.posterior.voltage_errors import (
    NIGHT_SD_V,
    error_covariance_v2,
    error_mean_v,
)
from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.asking import AGM, FLOODED
from drainsim.evidence.check import MEASUREMENT, OTHER_SOURCE, SAME_SOURCE, Check, found_in, within
from drainsim.units import HOURS_PER_DAY

_check = partial(Check, subject="readings")
_STEP_V: Final = 0.01
_WEEK_H: Final = 72.0 + HOURS_PER_DAY * np.arange(7.0)  # nights of a stand well begun


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_slopes(), *_rest(), *_scatter())


def _percent_of_10_mv(key: str, high: float, low: float) -> float:
    volts = asking.rest_v(key, high) - asking.rest_v(key, low)
    return _STEP_V / volts * 100.0 * (high - low)


def _slopes() -> tuple[Check, ...]:
    return (
        _check(
            key="readings-slope-flooded",
            quantity="charge that 10 mV of resting voltage stand for",
            conditions="flooded, 60 to 90 % charge",
            **within(1.2, "%", 0.2, "a rule of thumb, printed to 0.1 %"),
            **found_in(s.VOLTAGE_RULE, OTHER_SOURCE, "10 mV is 1.2 % of charge"),
            model=lambda: _percent_of_10_mv(FLOODED, 0.9, 0.6),
        ),
        _check(
            key="readings-slope-agm",
            quantity="rise of resting voltage per per cent of charge",
            conditions="AGM, 50 to 90 % charge; makes differ",
            **within((8.0, 18.0), "mV/%"),
            **found_in(s.SULZER, SAME_SOURCE, "and tables of makers"),
            model=lambda: 10.0 / _percent_of_10_mv(AGM, 0.9, 0.5),
        ),
    )


def _rest() -> tuple[Check, ...]:
    return (
        _check(
            key="readings-rest-needed",
            quantity="rest after which a voltage counts",
            conditions="after driving or charging",
            published=4.0,
            unit="h",
            tolerance_reason="the shortest rest that is asked for; makers prefer 24 h",
            bound="at least",
            **found_in(s.REST_PAGE, SAME_SOURCE, "4 h, better 24 h"),
            model=lambda: SETTLED_H,
        ),
        _check(
            key="readings-relaxation-vrla",
            quantity="fall of the resting voltage when rest goes from 4 to 11 h",
            conditions="12 V VRLA, 24 °C, after charging",
            published=33.0,
            unit="mV",
            tolerance=0.5,
            tolerance_reason="one battery; charge left on the surface differs by half its size",
            tolerance_kind="relative",
            **found_in(s.SULZER, MEASUREMENT, "telemetry, 33 mV per factor e of time"),
            model=_fall_from_4_h_mv,
        ),
        _check(
            key="readings-relaxation-cold",
            quantity="share of the surface charge left 3.8 h later",
            conditions="about -22 °C, after weak charging",
            **within(1.0 / math.e, "", 0.15, "one night of one battery, fitted to 4 mV"),
            **found_in(
                s.POLAR_STATION, MEASUREMENT, "hourly, 170 mV with a time constant of 3.8 h"
            ),
            known_weakness=(
                "drainsim expects 10 h (8 in 10: 5 to 22 h), as after ordinary driving: after a "
                "weak charge the first night is taken as less settled than it is"
            ),
            model=lambda: _surface_left(3.8),
        ),
    )


def _scatter() -> tuple[Check, ...]:
    return (
        _check(
            key="readings-night-scatter",
            quantity="scatter of one night's voltage",
            conditions="parked, steps of 10 mV",
            **within(
                3.6, "mV", 0.5, "one station's daily means; 2.9 of it are the step", relative=True
            ),
            **found_in(s.POLAR_STATION, SAME_SOURCE, "55 sunless days"),
            model=lambda: 1000.0 * float(np.hypot(NIGHT_SD_V, _STEP_V / np.sqrt(12.0))),
        ),
        _check(
            key="readings-week-slope",
            quantity="error of a week's slope of night voltages",
            conditions="parked",
            **within(0.57, "mV/day", 0.5, "one station's 55 days", relative=True),
            **found_in(s.POLAR_STATION, SAME_SOURCE, "7-day slopes over 55 sunless days"),
            expected_to_disagree=(
                "a vehicle's curve, temperature and make are known worse than a research "
                "station's. What follows for the user: a wider forecast, which more often holds"
            ),
            model=_week_slope_mv,
        ),
        _check(
            key="readings-unit-error",
            quantity="error of a unit's voltage input",
            conditions="12 V, not calibrated",
            **within(0.5, "%", 0.1, "dividers alone differ by 1 % at worst"),
            **found_in(s.FIRMWARE_THREADS, SAME_SOURCE, "uncalibrated inputs"),
            model=lambda: 100.0 * UNIT_OFFSET_SD_V / 12.0,
        ),
    )


def _fall_from_4_h_mv() -> float:
    first, last = error_mean_v(np.array([4.0, 4.0 * math.e]))
    return float(1000.0 * (first - last))


def _surface_left(later_h: float) -> float:
    first, last = error_mean_v(np.array([4.0, 4.0 + later_h]))
    return float(last / first)


def _week_slope_mv() -> float:
    """Return the standard deviation of the slope of a straight line through seven nights."""
    day = (_WEEK_H - _WEEK_H.mean()) / HOURS_PER_DAY
    line = day / (day @ day)
    noise = (NIGHT_SD_V**2 + _STEP_V**2 / 12.0) * np.eye(len(day))
    return float(1000.0 * np.sqrt(line @ (error_covariance_v2(_WEEK_H) + noise) @ line))
