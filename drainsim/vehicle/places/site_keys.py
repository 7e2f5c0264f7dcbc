"""The keys of where and when it stands, and which of them gives the temperature."""

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.vehicle.keys.given import Scenario, given_in
from drainsim.vehicle.keys.parameter import Keys, Parameter, date, number, text, usual, whole


class SITE(Keys, name="site"):
    """Where and when it stands: climate, latitude, coldest month, file or one temperature."""

    temperature_c = number(
        (-40, 60, "°C"),
        "constant air temperature",
        label="Constant temperature",
        column="temperature_c",
    )
    climate = text(
        "climate preset, see: drainsim profiles",
        default="temperate",
        example="temperate",
        label="Climate",
        column="climate",
    )
    latitude_deg = number(
        (-55, 75, "°"),
        "latitude, north positive: gives the temperatures, or beside coldest_month_c only the half "
        "of the earth",
        label="Latitude of the place",
        note="North positive. Without the longitude the range is wide.",
        step=0.1,
    )
    longitude_deg = number(
        (-180, 180, "°"),
        "longitude, east positive, beside latitude_deg",
        otherwise="all land of the latitude",
        label="Longitude of the place",
        note="East positive, as maps on a phone show it.",
        step=0.1,
    )
    altitude_m = number(
        (-450, 5500, "m"),
        "altitude above the sea, beside latitude_deg",
        **usual(0.0, "at the sea"),
        label="Altitude",
        step=50.0,
    )
    coldest_month_c = number(
        (-35, 30, "°C"),
        "mean temperature of the coldest month, day and night",
        label="Mean of the coldest month",
        note="Day and night together, as tables of climates give it.",
    )
    warmest_month_c = number(
        (-10, 45, "°C"),
        "mean temperature of the warmest month, beside coldest_month_c",
        otherwise="as usual for such a coldest month",
        label="Mean of the warmest month",
    )
    hourly_csv = text(
        "CSV file with a temperature_c column, hourly, or EPW, beside the scenario file",
        label="Temperature file",
        note="CSV: a heading, then one row an hour, temperatures under temperature_c, times under "
        "time if it has any. Or a weather file of a place, EPW.",
    )
    epw = text("EPW weather file, beside the scenario file", label="Weather file")
    parked_from = date(
        "day of parking",
        otherwise="the coming 1 December, ahead of a northern winter; 1 June at a southern "
        "site.latitude_deg",
        source="ahead of the winter there: the cautious half of the year",
        example=dt.date(2026, 12, 1),
        label="Parked on",
        column="parked_from",
    )
    start_hour = whole(
        (0, 23, "h"),
        "hour of the day when someone would turn the key",
        **usual(7, "a morning start"),
        example=7,
        label="Hour of the start",
    )
    battery_lag_h = number((0, 72, "h"), "how slowly the battery follows the air", **usual(6.0))
    sun_soak_c = number(
        (0, 40, "K"),
        "how much the sun warms the battery at noon",
        **usual(0.0, "parked in the shade"),
    )


# What can give the temperature; one of them does. A latitude beside the coldest month says only in
# which half of the earth.
TEMPERATURES: Final = (
    SITE.temperature_c,
    SITE.climate,
    SITE.coldest_month_c,
    SITE.latitude_deg,
    SITE.hourly_csv,
    SITE.epw,
)
_BESIDE: Final = {
    SITE.longitude_deg: SITE.latitude_deg,
    SITE.altitude_m: SITE.latitude_deg,
    SITE.warmest_month_c: SITE.coldest_month_c,
}
TOLD: Final = (SITE.latitude_deg, SITE.coldest_month_c)
_KEPT: Final = {
    SITE.latitude_deg: {*TOLD, *_BESIDE},
    SITE.coldest_month_c: {*TOLD, SITE.warmest_month_c},
}


def instead_of(said: Parameter) -> tuple[Parameter, ...]:
    """Return the keys of a temperature that another one takes the place of, none for other keys."""
    if said not in TEMPERATURES:
        return ()
    kept = _KEPT.get(said, {said})
    return tuple(key for key in (*TEMPERATURES, *_BESIDE) if key not in kept)


def goes_with(said: Parameter, tables: Mapping[str, Any]) -> bool:
    """Say whether a key that only stands beside another has it there and in use."""
    partner = _BESIDE.get(said)
    if partner is None:
        return True
    told = [key for key in TOLD if given_in(tables, key) is not None]
    return told[-1:] == [partner]


def has_climate(tables: Mapping[str, Any]) -> bool:
    """Say whether a climate preset, the usual one included, gives the temperature."""
    return all(given_in(tables, said) is None for said in TEMPERATURES if said != SITE.climate)


def temperature_source(scenario: Scenario) -> Parameter:
    """Return which key gives the temperature, the climate where none is given."""
    given = [said for said in TEMPERATURES if scenario.get(said) is not None]
    if SITE.coldest_month_c in given and SITE.latitude_deg in given:
        given.remove(SITE.latitude_deg)
    if len(given) > 1:
        raise ScenarioError(
            f"{scenario.where}: site has {' and '.join(said.key for said in given)}; keep one of "
            f"{', '.join(said.key for said in TEMPERATURES)}"
        )
    source = given[0] if given else SITE.climate
    for said, partner in _BESIDE.items():
        if scenario.get(said) is not None and source != partner:
            raise ScenarioError(
                f"{scenario.where}: {said} goes with {partner}, but {source} gives the "
                f"temperature; take {said.key} out"
            )
    return source


def is_southern(scenario: Scenario) -> bool:
    """Say whether the place is told to lie in the southern half of the earth."""
    return float(scenario.get(SITE.latitude_deg) or 0.0) < 0.0
