"""Air temperature of a climate against the place's own published means."""

from collections.abc import Callable
from functools import partial

import numpy as np

from drainsim.evidence import sources as s
from drainsim.evidence.check import Check
from drainsim.files.presets import preset
from drainsim.physics import ambient
from drainsim.units import HOURS_PER_DAY

_mean = partial(
    Check,
    subject="climate",
    quantity="mean air temperature of a month",
    unit="°C",
    tolerance=1.0,
    tolerance_reason="the mean of 24 hours and of daily lows and highs differ by up to 1 K",
)
_MONTH_DAYS = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365)


def _month_c(climate: str, month: int) -> Callable[[], float]:
    def mean_c() -> float:
        values = preset("climates", climate, where="evidence").values
        hours = np.arange(
            HOURS_PER_DAY * _MONTH_DAYS[month - 1], HOURS_PER_DAY * _MONTH_DAYS[month]
        )
        course = ambient.climate_temperature_c(
            hours / HOURS_PER_DAY,
            hours % HOURS_PER_DAY,
            daily_low_c=values["daily_low_c"],
            daily_high_c=values["daily_high_c"],
        )
        return float(course.mean())

    return mean_c


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        _mean(
            key="climate-continental-january",
            conditions="continental (Winnipeg), January",
            published=-17.8,
            source=s.NORMALS_CA,
            model=_month_c("continental", 1),
        ),
        _mean(
            key="climate-continental-july",
            conditions="continental (Winnipeg), July",
            published=19.5,
            source=s.NORMALS_CA,
            model=_month_c("continental", 7),
        ),
        _mean(
            key="climate-temperate-january",
            conditions="temperate (Potsdam), January",
            published=1.0,
            source=s.TEST_YEARS_DE,
            model=_month_c("temperate", 1),
        ),
        _mean(
            key="climate-temperate-march",
            conditions="temperate (Potsdam), March",
            published=4.7,
            source=s.TEST_YEARS_DE,
            model=_month_c("temperate", 3),
        ),
        _mean(
            key="climate-subtropical-january",
            conditions="humid subtropical (Greensboro), January",
            published=0.3,
            source=s.TYPICAL_US,
            model=_month_c("humid_subtropical", 1),
        ),
    )
