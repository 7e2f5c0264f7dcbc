"""A dozen vehicles that stand for many: presets, climates, seasons and units mixed."""

import datetime as dt
from typing import Any, Final

_WINTER: Final = dt.date(2026, 12, 1)
_SUMMER: Final = dt.date(2026, 6, 1)


def _vehicle(
    preset: str, climate: str, unit: str | None, parked_from: dt.date = _WINTER, **battery: Any
) -> dict[str, Any]:
    tables: dict[str, Any] = {
        "battery": dict(battery),
        "vehicle": {"preset": preset},
        "site": {"climate": climate, "parked_from": parked_from},
    }
    if unit:
        tables["unit"] = {"preset": unit}
    return tables


# Name: scenario tables. Chosen by hand to cover every vehicle preset once or twice, cold to hot,
# with and without a unit; no source, not a sample of any real fleet.
FLEET: Final[dict[str, dict[str, Any]]] = {
    "small car, temperate winter, daily unit": _vehicle("small_petrol", "temperate", "daily"),
    "compact car, temperate winter, hourly unit": _vehicle("compact_petrol", "temperate", "hourly"),
    "compact car, continental winter, no unit": _vehicle("compact_petrol", "continental", None),
    "family diesel, marine winter, hourly unit": _vehicle("family_diesel", "marine", "hourly"),
    "family diesel, alpine winter, daily unit, AGM": _vehicle(
        "family_diesel", "alpine_valley", "daily", profile="agm"
    ),
    "panel van, temperate winter, hourly unit": _vehicle("panel_van_diesel", "temperate", "hourly"),
    "panel van, hot desert summer, hourly unit": _vehicle(
        "panel_van_diesel", "hot_desert", "hourly", _SUMMER
    ),
    "light truck, temperate winter, live unit": _vehicle("light_truck_diesel", "temperate", "live"),
    "light truck, subtropical winter, no unit": _vehicle(
        "light_truck_diesel", "humid_subtropical", None
    ),
    "older car, mountain winter, daily unit, antimony battery": _vehicle(
        "older_car", "mountain", "daily", profile="flooded_antimony"
    ),
    "connected car, mediterranean winter, hourly unit, AGM": _vehicle(
        "modern_connected", "mediterranean", "hourly", profile="agm"
    ),
    "connected car, temperate summer, unit with ladder": _vehicle(
        "modern_connected", "temperate", "hourly_with_ladder", _SUMMER
    ),
}
