"""The columns of a fleet list: canonical names, what people call them, units they write."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from drainsim.units import ABSOLUTE_ZERO_C, HOURS_PER_DAY, SECONDS_PER_HOUR

# unit as written (letters lower-cased, dots and blanks out) -> factor and offset to ours
_CURRENT: Final = {"a": (1.0, 0.0), "ma": (1e-3, 0.0), "ua": (1e-6, 0.0), "µa": (1e-6, 0.0)}
_CHARGE: Final = {"ah": (1.0, 0.0), "mah": (1e-3, 0.0)}
_PULSE: Final = {"as": (1.0, 0.0), "mas": (1e-3, 0.0), "c": (1.0, 0.0), "mah": (3.6, 0.0)}
_TEMPERATURE: Final = {
    "c": (1.0, 0.0),
    "°c": (1.0, 0.0),
    "degc": (1.0, 0.0),
    "f": (1 / 1.8, -32 / 1.8),
    "°f": (1 / 1.8, -32 / 1.8),
    "degf": (1 / 1.8, -32 / 1.8),
    "k": (1.0, ABSOLUTE_ZERO_C),
}
_HOURS: Final = {
    "h": (1.0, 0.0),
    "hours": (1.0, 0.0),
    "hrs": (1.0, 0.0),
    "min": (1 / 60, 0.0),
    "minutes": (1 / 60, 0.0),
    "s": (1 / SECONDS_PER_HOUR, 0.0),
    "d": (HOURS_PER_DAY, 0.0),
    "days": (HOURS_PER_DAY, 0.0),
}
_MINUTES: Final = {"min": (1.0, 0.0), "minutes": (1.0, 0.0), "mins": (1.0, 0.0), "h": (60.0, 0.0)}
_YEARS: Final = {
    "years": (1.0, 0.0),
    "yrs": (1.0, 0.0),
    "y": (1.0, 0.0),
    "a": (1.0, 0.0),
    "months": (1 / 12, 0.0),
}
_VOLTS: Final = {"v": (1.0, 0.0), "volt": (1.0, 0.0), "volts": (1.0, 0.0), "mv": (1e-3, 0.0)}
_SHARE: Final = {"%": (0.01, 0.0), "percent": (0.01, 0.0), "pct": (0.01, 0.0)}
_LITRES: Final = {
    "l": (1.0, 0.0),
    "litres": (1.0, 0.0),
    "liters": (1.0, 0.0),
    "cc": (1e-3, 0.0),
    "ccm": (1e-3, 0.0),
    "cm3": (1e-3, 0.0),
    "cm³": (1e-3, 0.0),
}


@dataclass(frozen=True, slots=True)
class Column:
    """A canonical column: kind of value, scenario key it feeds, headings people write, units."""

    name: str
    kind: str  # text, number, date
    key: str = ""
    words: tuple[str, ...] = ()
    units: Mapping[str, tuple[float, float]] = field(default_factory=dict)


COLUMNS: Final = (
    Column(
        "id",
        "text",
        "",
        (
            "vehicle id",
            "vehicle number",
            "vehicle no",
            "vehicle",
            "fleet number",
            "fleet no",
            "registration",
            "registration number",
            "reg",
            "reg no",
            "number plate",
            "plate",
            "licence plate",
            "license plate",
            "vin",
            "unit number",
            "asset",
            "asset id",
            "name",
        ),
    ),
    Column("depot", "text", "", ("site", "location", "yard", "branch", "base", "station")),
    Column(
        "battery_profile",
        "text",
        "battery.profile",
        ("battery type", "battery technology", "battery chemistry", "battery", "type of battery"),
    ),
    Column(
        "capacity_ah",
        "number",
        "battery.capacity_ah",
        (
            "capacity",
            "battery capacity",
            "c20",
            "ah",
            "battery ah",
            "rated capacity",
            "battery size",
        ),
        _CHARGE,
    ),
    Column(
        "reserve_capacity_min",
        "number",
        "battery.reserve_capacity_min",
        ("reserve capacity", "rc", "reserve", "battery rc"),
        _MINUTES,
    ),
    Column(
        "cold_cranking_a",
        "number",
        "battery.cold_cranking_a",
        (
            "cold cranking current",
            "cold cranking amps",
            "cold cranking",
            "cca",
            "cranking amps",
            "battery cca",
            "cold start current",
        ),
        _CURRENT,
    ),
    Column(
        "battery_age_years",
        "number",
        "battery.age_years",
        ("battery age", "age of battery", "age", "battery years"),
        _YEARS,
    ),
    Column(
        "state_of_charge",
        "number",
        "battery.state_of_charge",
        ("soc", "charge", "charge state", "battery charge", "charge level", "battery level"),
        _SHARE,
    ),
    Column(
        "resting_voltage_v",
        "number",
        "battery.resting_voltage_v",
        (
            "resting voltage",
            "rest voltage",
            "battery voltage",
            "voltage",
            "last voltage",
            "open circuit voltage",
            "ocv",
            "last resting voltage",
        ),
        _VOLTS,
    ),
    Column(
        "resting_voltage_at",
        "date",
        "",
        (
            "voltage date",
            "date of voltage",
            "voltage read at",
            "voltage read on",
            "resting voltage date",
            "last voltage date",
            "measured on",
            "measured at",
        ),
    ),
    Column(
        "quiescent_a",
        "number",
        "vehicle.quiescent_a",
        (
            "quiescent current",
            "quiescent",
            "key off current",
            "key-off current",
            "key off draw",
            "parasitic draw",
            "parasitic drain",
            "parasitic current",
            "standing drain",
            "standby current",
            "sleep draw of vehicle",
        ),
        _CURRENT,
    ),
    Column(
        "unit",
        "text",
        "unit.preset",
        ("unit type", "device", "device type", "tracker", "tracking unit", "unit preset"),
    ),
    Column(
        "sleep_a",
        "number",
        "unit.sleep_a",
        ("sleep current", "unit sleep current", "unit sleep", "sleep"),
        _CURRENT,
    ),
    Column(
        "report_interval_h",
        "number",
        "unit.report_interval_h",
        ("report interval", "reporting interval", "reports every", "report every", "interval"),
        _HOURS,
    ),
    Column(
        "report_charge_as",
        "number",
        "unit.report_charge_as",
        ("report charge", "charge per report", "charge of a report"),
        _PULSE,
    ),
    Column(
        "engine_litres",
        "number",
        "vehicle.engine_litres",
        ("engine", "engine size", "displacement", "engine capacity", "swept volume", "litres"),
        _LITRES,
    ),
    Column(
        "battery_system",
        "text",
        "battery.system",
        ("electrical system", "system", "system voltage", "batteries"),
    ),
    Column(
        "second_health",
        "number",
        "battery.second_health",
        ("health of second battery", "second battery health"),
        _SHARE,
    ),
    Column("vehicle_kind", "text", "vehicle.kind", ("kind", "vehicle kind", "kind of vehicle")),
    Column(
        "trips_per_week",
        "number",
        "pattern.trips_per_week",
        ("trips a week", "weekly trips", "trips/week"),
    ),
    Column(
        "trip_minutes",
        "number",
        "pattern.trip_minutes",
        ("trip length", "minutes per trip", "trip duration"),
        _MINUTES,
    ),
    Column("fuel", "text", "vehicle.fuel", ("fuel type", "engine type", "fuel")),
    Column("climate", "text", "site.climate", ("climate zone", "climate", "weather")),
    Column(
        "temperature_c",
        "number",
        "site.temperature_c",
        ("temperature", "temp", "ambient temperature", "air temperature", "parking temperature"),
        _TEMPERATURE,
    ),
    Column(
        "parked_from",
        "date",
        "site.parked_from",
        (
            "parked since",
            "parked on",
            "parked",
            "last driven",
            "last trip",
            "last used",
            "standing since",
            "last moved",
            "date parked",
        ),
    ),
    Column(
        "planned_return",
        "date",
        "",
        (
            "return",
            "planned return",
            "return date",
            "needed on",
            "next use",
            "next trip",
            "due back",
            "parked until",
            "back in service",
        ),
    ),
)
BY_NAME: Final = {column.name: column for column in COLUMNS}


def unit_factor(column: Column, unit: str) -> tuple[float, float] | None:
    """Return (factor, offset) of a unit as written, or None if it is not one of this column."""
    plain = unit.strip().lower().replace("·", "").replace(".", "").replace(" ", "")
    return column.units.get(plain.replace("μ", "µ"))  # Greek mu for the micro sign
