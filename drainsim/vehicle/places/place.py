"""A place told in numbers: coordinates and altitude, or means of its coldest and warmest month.

Latitude alone says little of a northern winter: at 50° places lie 8 K about the mean, mild coasts
(where most people live) above it; with the longitude 3 K are left. That spread is the place's own,
wide rather than hidden. The year is a cosine between the two months; how far a day's low and high
lie apart, and days about the season, is what the climates have on average.
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np

from drainsim.errors import ScenarioError
from drainsim.files.presets import presets
from drainsim.language import Celsius, Message, message
from drainsim.physics.ambient import yearly_means_c
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Parameter
from drainsim.vehicle.places.site_keys import SITE, is_southern


class Year(NamedTuple):
    """Monthly means of daily low and high [°C]; spread of days, of the place [K]; a name."""

    low_c: FloatArray
    high_c: FloatArray
    day_sd_c: float
    spread_k: float
    description: str


def told_year(ledger: Ledger, source: Parameter) -> Year:
    """Return the year of a place told by its latitude or by its coldest month, and note both.

    Parameters
    ----------
    ledger : Ledger
    source : Parameter
        Key that gives the temperature.

    Raises
    ------
    ScenarioError
        If the warmest month is the colder one.
    """
    get = ledger.scenario.get
    if get(SITE.latitude_deg) is not None:
        ledger.note(SITE.latitude_deg, get(SITE.latitude_deg), "given")
    if source == SITE.latitude_deg:
        place, description = _located(ledger)
    else:
        place = place_of(float(get(source)), get(SITE.warmest_month_c))
        description = message("coldest month {temperature:g}", temperature=Celsius(place.coldest_c))
        if place.warmest_c < place.coldest_c:
            raise ScenarioError(
                f"{ledger.scenario.where}: {SITE.warmest_month_c} = {place.warmest_c:g} °C is "
                f"below {SITE.coldest_month_c} = {place.coldest_c:g} °C"
            )
    months = {SITE.coldest_month_c: place.coldest_c, SITE.warmest_month_c: place.warmest_c}
    for month, month_c in months.items():
        told = ("given",) if get(month) is not None else ("estimated", place.source)
        ledger.note(month, month_c, *told)
    spread = SITE.TABLE.figure("place_spread")
    ledger.note(spread, place.spread_k, "estimated", place.source, unit="K")
    daily_k, at_0_k, per_k = _days_of_climates()
    southern = is_southern(ledger.scenario)
    mean_c = yearly_means_c(place.coldest_c, place.warmest_c, southern=southern)
    return Year(
        low_c=mean_c - daily_k / 2.0,
        high_c=mean_c + daily_k / 2.0,
        day_sd_c=at_0_k + per_k * (place.warmest_c - place.coldest_c),
        spread_k=place.spread_k,
        description=description,
    )


def _located(ledger: Ledger) -> tuple["Place", Message]:
    """Return the place at a latitude, and what to call it."""
    get = ledger.scenario.get
    latitude, longitude = get(SITE.latitude_deg), get(SITE.longitude_deg)
    altitude = ledger.take(SITE.altitude_m)
    place = place_at(latitude, longitude, altitude)
    if longitude is not None:
        ledger.note(SITE.longitude_deg, longitude, "given")
    else:
        ledger.warn(
            "latitude and altitude say little of a winter: places at {latitude:g}° differ by "
            "±{spread_k:.0f} K in their coldest month, here {coldest:.0f}, and mild coasts lie "
            "above that; the longitude, or the mean of the coldest month, narrows the range",
            latitude=latitude,
            spread_k=place.spread_k,
            coldest=Celsius(place.coldest_c),
        )
    return place, message(
        "latitude {latitude:g}°, {altitude:g} m", latitude=latitude, altitude=altitude
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Means of the coldest and warmest month [°C] and how far the place may lie from them [K]."""

    coldest_c: float
    warmest_c: float
    spread_k: float
    source: str


def place_at(latitude_deg: float, longitude_deg: float | None, altitude_m: float) -> Place:
    """Return the mean of the land about a place, of all land at its latitude without a longitude.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        North and east positive. [°]
    altitude_m : float
        Above the sea, to which it falls by the standard atmosphere. [m]
    """
    about = presets("places")["latitude" if longitude_deg is None else "coordinates"]
    values = about.values
    above_k = values["lapse_k_per_km"] * altitude_m / 1000.0

    def here(key: str) -> float:
        rows = np.asarray(values[key], dtype=float)
        if longitude_deg is not None:
            east_deg = -180.0 + values["longitude_step_deg"] * np.arange(rows.shape[1])
            rows = np.array([np.interp(longitude_deg, east_deg, row, period=360.0) for row in rows])
        return float(np.interp(latitude_deg, values["latitude_deg"], rows))

    spread_k = here("coldest_sd_k") if longitude_deg is None else float(values["spread_k"])
    return Place(
        coldest_c=here("coldest_c") - above_k,
        warmest_c=here("warmest_c") - above_k,
        spread_k=math.hypot(spread_k, _coldest_month("shape_sd_k")),
        source=f"{about.name}; {about.source}",
    )


def place_of(coldest_c: float, warmest_c: float | None) -> Place:
    """Return a place by its months; the warmest, where not given, is that of such places.

    Parameters
    ----------
    coldest_c, warmest_c : float
        Means of the month. [°C]
    """
    about = presets("places")["coldest_month"]
    guessed_k = 0.0
    if warmest_c is None:
        warmest_c = about.values["warmest_at_0_c"] + about.values["warmest_per_k"] * coldest_c
        guessed_k = 0.5 * about.values["warmest_sd_k"]  # half of it, half-way between the two
    return Place(
        coldest_c=coldest_c,
        warmest_c=warmest_c,
        spread_k=math.hypot(guessed_k, _coldest_month("shape_sd_k")),
        source=f"{about.name}; {about.source}",
    )


def _coldest_month(key: str) -> float:
    return float(presets("places")["coldest_month"].values[key])


@cache
def _days_of_climates() -> tuple[float, float, float]:
    """Return low to high of a day [K] and the line of day-to-day spread over the yearly range."""
    climates = [climate.values for climate in presets("climates").values()]
    low, high = (
        np.array([values[key] for values in climates]) for key in ("daily_low_c", "daily_high_c")
    )
    months = (low + high) / 2.0
    range_k = months.max(axis=1) - months.min(axis=1)
    per_k, at_0_k = np.polyfit(range_k, [values["day_to_day_sd_c"] for values in climates], 1)
    return float((high - low).mean()), float(at_0_k), float(per_k)
