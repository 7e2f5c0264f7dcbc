"""Air temperature and sunshine of a climate against published means."""

from collections.abc import Callable
from functools import partial

import numpy as np

from drainsim.evidence import sources as s
from drainsim.evidence.check import OTHER_SOURCE, SAME_SOURCE, SECONDARY, Check, found_in
from drainsim.files.presets import preset
from drainsim.physics import ambient, solar
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.solar import CLEAR_SHARE

_check = partial(Check, subject="climate")

_mean = partial(
    _check,
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


def _sun_kwh(climate: str, month: int) -> Callable[[], float]:
    def month_kwh_m2() -> float:
        days = np.arange(_MONTH_DAYS[month - 1] + 1, _MONTH_DAYS[month] + 1)
        share = preset("sunshine", climate, where="evidence").values["clear_share"][month - 1]
        latitude = preset("climates", climate, where="evidence").values["latitude_deg"]
        return float(solar.peak_sun_hours(latitude, days, clear_share=share).sum())

    return month_kwh_m2


def _unknown_december_kwh() -> float:
    days = np.arange(_MONTH_DAYS[11] + 1, _MONTH_DAYS[12] + 1)
    return float(solar.peak_sun_hours(53.5, days, clear_share=CLEAR_SHARE).sum())


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_air(), *_sunshine())


def _sunshine() -> tuple[Check, ...]:
    sun = partial(
        _check,
        quantity="sunshine on a level square metre in a month",
        unit="kWh/m²",
        independence=OTHER_SOURCE,
        tolerance=0.0,
        source=s.SUN_DE,
        grade=SECONDARY,
    )
    single_year = "a single year of the same source lies as far from its mean"
    return (
        sun(
            key="sun-temperate-december",
            conditions="temperate (Potsdam), December",
            published=(11.0, 15.0),
            tolerance_reason="the printed range itself, a December at the thirty-year mean",
            clause="December 2022, north Germany",
            model=_sun_kwh("temperate", 12),
        ),
        sun(
            key="sun-unknown-december",
            conditions="place unknown, 53.5° north, December: no more than the dullest region",
            published=(7.0, 11.0),
            tolerance_reason="the dullest single December printed, and the least long-term mean",
            clause="December 2020, north; December 2024, long-term means of north Germany",
            independence=SAME_SOURCE,
            model=_unknown_december_kwh,
        ),
        sun(
            key="sun-temperate-march",
            conditions="temperate (Potsdam), March; mean of the country",
            published=75.0,
            tolerance=13.0,
            tolerance_reason=f"{single_year}: 88 against 75",
            clause="mean of 1981 to 2010",
            model=_sun_kwh("temperate", 3),
        ),
        sun(
            key="sun-temperate-june",
            conditions="temperate (Potsdam), June; mean of the country",
            published=159.0,
            tolerance=23.0,
            tolerance_reason=f"{single_year}: 182 against 159",
            clause="mean of 1981 to 2010",
            model=_sun_kwh("temperate", 6),
        ),
    )


def _air() -> tuple[Check, ...]:
    return (
        _mean(
            key="climate-continental-january",
            conditions="continental (Winnipeg), January",
            published=-17.8,
            **found_in(s.NORMALS_CA, SAME_SOURCE),
            model=_month_c("continental", 1),
        ),
        _mean(
            key="climate-continental-july",
            conditions="continental (Winnipeg), July",
            published=19.5,
            **found_in(s.NORMALS_CA, SAME_SOURCE),
            model=_month_c("continental", 7),
        ),
        _mean(
            key="climate-temperate-january",
            conditions="temperate (Potsdam), January",
            published=1.0,
            **found_in(s.TEST_YEARS_DE, SAME_SOURCE),
            model=_month_c("temperate", 1),
        ),
        _mean(
            key="climate-temperate-march",
            conditions="temperate (Potsdam), March",
            published=4.7,
            **found_in(s.TEST_YEARS_DE, SAME_SOURCE),
            model=_month_c("temperate", 3),
        ),
        _mean(
            key="climate-subtropical-january",
            conditions="humid subtropical (Greensboro), January",
            published=0.3,
            **found_in(s.TYPICAL_US, SAME_SOURCE),
            model=_month_c("humid_subtropical", 1),
        ),
    )
