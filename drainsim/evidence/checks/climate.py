"""Air temperature and sunshine of a climate against published means."""

from collections.abc import Callable
from functools import partial

import numpy as np

from drainsim.evidence import sources as s
from drainsim.evidence.check import OTHER_SOURCE, SAME_SOURCE, SECONDARY, Check, found_in
from drainsim.files.presets import preset
from drainsim.physics import ambient, solar
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.places.place import Place, place_at, place_of
from drainsim.vehicle.places.solar import CLEAR_SHARE

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
    return (*_air(), *_latitudes(), *_years(), *_sunshine())


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


def _latitudes() -> tuple[Check, ...]:
    """Return the coldest month by latitude and altitude, and the year's range, by other sources.

    Altitudes are from memory. The error is the check's difference: 8 K south and 12 K north of
    the mean at 50°, which is why the spread is what it is.
    """
    coldest = partial(
        _check,
        quantity="mean of the coldest month by latitude and altitude",
        unit="°C",
        independence=OTHER_SOURCE,
        tolerance_reason="two spreads of places at the latitude: it says nothing of the sea",
    )
    yearly = partial(
        _check,
        quantity="warmest less coldest month by latitude",
        unit="K",
        independence=OTHER_SOURCE,
        source=s.CONTINENTALITY,
        tolerance=2.0,
        tolerance_reason="half-way of an index from 0 at sea to 100 far inland, ±4 of it",
        clause="index of Gorczynski, 1.7 A/sin φ - 20.4 = 50",
    )
    located = partial(
        coldest,
        quantity="mean of the coldest month by coordinates and altitude",
        tolerance=6.8,
        tolerance_reason="two spreads of places about a grid of 15°",
    )
    normals = (
        ("winnipeg", "Winnipeg, 49.9° north, 97.1° west", 49.9, -97.1, 239.0, -17.8, s.NORMALS_CA),
        ("potsdam", "Potsdam, 52.4° north, 13.1° east", 52.4, 13.1, 80.0, 0.9, s.TEST_YEARS_DE),
        ("greensboro", "Greensboro NC, 36.1° north", 36.1, -79.9, 273.0, 0.3, s.TYPICAL_US),
    )
    stations = (
        ("winnipeg", "Winnipeg, 49.9° north, 239 m", 49.9, 239.0, -17.8, 16.0, s.NORMALS_CA),
        ("potsdam", "Potsdam, 52.4° north, 80 m", 52.4, 80.0, 0.9, 16.0, s.TEST_YEARS_DE),
        ("greensboro", "Greensboro NC, 36.1° north, 273 m", 36.1, 273.0, 0.3, 10.0, s.TYPICAL_US),
        ("johannesburg", "Johannesburg, 26.2° south, 1694 m", -26.2, 1694.0, 8.5, 6.5, s.CITIES),
        ("melbourne", "Melbourne, 37.8° south, 31 m", -37.8, 31.0, 9.7, 5.0, s.CITIES),
        ("quito", "Quito, 0.2° south, 2850 m", -0.2, 2850.0, 11.2, 5.0, s.CITIES),
    )
    return (
        *(
            located(
                key=f"coordinates-coldest-{name}",
                conditions=conditions,
                published=published,
                source=source,
                model=partial(_coldest_c, latitude, longitude, altitude),
            )
            for name, conditions, latitude, longitude, altitude, published, source in normals
        ),
        *(
            coldest(
                key=f"latitude-coldest-{name}",
                conditions=conditions,
                published=published,
                tolerance=tolerance,
                source=source,
                model=partial(_coldest_c, latitude, None, altitude),
            )
            for name, conditions, latitude, altitude, published, tolerance, source in stations
        ),
        *(
            yearly(
                key=f"latitude-range-{latitude:.0f}",
                conditions=f"{latitude:.0f}° north, land",
                published=published,
                model=partial(_range_k, latitude),
            )
            for latitude, published in ((30.0, 20.7), (40.0, 26.6), (50.0, 31.7), (60.0, 35.9))
        ),
    )


def _years() -> tuple[Check, ...]:
    """Return months between the coldest and the warmest, both given."""
    between = partial(
        _check,
        quantity="mean of a month, from those of the coldest and warmest",
        unit="°C",
        independence=OTHER_SOURCE,
        tolerance=3.2,
        tolerance_reason="two spreads of a month about a cosine, 1.6 K each",
    )
    moscow = place_of(-7.2, 19.2)
    return (
        between(
            key="year-winnipeg-april",
            conditions="Winnipeg, -17.8 and 19.5 °C; April",
            published=4.0,
            source=s.NORMALS_CA,
            model=partial(_of_month_c, place_of(-17.8, 19.5), 4),
        ),
        between(
            key="year-moscow-april",
            conditions="Moscow, -7.2 and 19.2 °C; April",
            published=6.4,
            source=s.CITIES,
            model=partial(_of_month_c, moscow, 4),
        ),
        between(
            key="year-moscow-october",
            conditions="Moscow, -7.2 and 19.2 °C; October",
            published=5.2,
            source=s.CITIES,
            model=partial(_of_month_c, moscow, 10),
        ),
        between(
            key="year-melbourne-april",
            conditions="Melbourne, 9.7 and 19.2 °C, in the south; April",
            published=15.2,
            source=s.CITIES,
            model=partial(_of_month_c, place_of(9.7, 19.2), 4, southern=True),
        ),
    )


def _coldest_c(latitude_deg: float, longitude_deg: float | None, altitude_m: float) -> float:
    return place_at(latitude_deg, longitude_deg, altitude_m).coldest_c


def _range_k(latitude_deg: float) -> float:
    place = place_at(latitude_deg, None, 0.0)
    return place.warmest_c - place.coldest_c


def _of_month_c(place: Place, month: int, *, southern: bool = False) -> float:
    means_c = ambient.yearly_means_c(place.coldest_c, place.warmest_c, southern=southern)
    return float(means_c[month - 1])
