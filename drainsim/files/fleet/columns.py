"""The columns of a fleet list: kind of value, room of the scenario, units, what can exist."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from drainsim.files.fleet.words import COLUMN_OF, HEADINGS, UNITS, plain
from drainsim.units import ABSOLUTE_ZERO_C, HOURS_PER_DAY, SECONDS_PER_HOUR

# plain unit -> factor and offset to ours
_CURRENT: Final = {"a": (1.0, 0.0), "ma": (1e-3, 0.0), "ua": (1e-6, 0.0)}
_CHARGE: Final = {"ah": (1.0, 0.0), "mah": (1e-3, 0.0)}
_PULSE: Final = {"as": (1.0, 0.0), "mas": (1e-3, 0.0), "mah": (3.6, 0.0)}
_TEMPERATURE: Final = {"°c": (1.0, 0.0), "°f": (1 / 1.8, -32 / 1.8), "k": (1.0, ABSOLUTE_ZERO_C)}
_HOURS: Final = {
    "h": (1.0, 0.0),
    "min": (1 / 60, 0.0),
    "s": (1 / SECONDS_PER_HOUR, 0.0),
    "d": (HOURS_PER_DAY, 0.0),
}
_DAYS: Final = {"d": (1.0, 0.0), "h": (1 / HOURS_PER_DAY, 0.0)}
_MINUTES: Final = {"min": (1.0, 0.0), "h": (60.0, 0.0)}
_YEARS: Final = {"years": (1.0, 0.0), "months": (1 / 12, 0.0)}
_VOLTS: Final = {"v": (1.0, 0.0), "mv": (1e-3, 0.0)}
_SHARE: Final = {"%": (0.01, 0.0)}
_LITRES: Final = {"l": (1.0, 0.0), "cc": (1e-3, 0.0)}
_PER_WEEK: Final = {"/week": (1.0, 0.0)}
SHOWN: Final = {
    "a": "A", "ma": "mA", "ua": "µA", "ah": "Ah", "mah": "mAh", "as": "A·s", "mas": "mA·s",
    "°c": "°C", "°f": "°F", "k": "K", "v": "V", "mv": "mV",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """A canonical column: kind of value, room of the scenario it feeds, units, what can exist.

    Which key it feeds, and that key's unit, the key itself says (`Parameter.column`).

    `usual` are the units a bare number may be in, the customary one first; `exists` is what such
    a value can be in our unit, narrower than what a scenario accepts (common practice, no
    source); `zero_is_blank` says that 0 there stands for "not measured".
    """

    name: str
    kind: str  # text, number, date, choice
    room: str = ""  # table of a scenario that it feeds
    units: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    usual: tuple[str, ...] = ()
    exists: tuple[float, float] = (-math.inf, math.inf)
    zero_is_blank: bool = False
    plain_key: str = ""  # its name in understood.csv where it is not `name`

    @property
    def words(self) -> tuple[str, ...]:
        """What headings may call it, in every language."""
        return tuple(word for words in HEADINGS[self.name].values() for word in words)

    @property
    def spoken(self) -> str:
        """What a question calls it."""
        return self.words[0]

    @property
    def public(self) -> str:
        """Its name in what is written."""
        return self.plain_key or self.name


COLUMNS: Final = (
    Column("id", "text"),
    Column("depot", "text"),
    Column("battery_profile", "choice", "battery", plain_key="battery_type"),
    Column(
        "capacity_ah", "number", "battery", _CHARGE, ("ah",), (3.0, 300.0), True
    ),
    Column(
        "reserve_capacity_min", "number", "battery", _MINUTES,
        ("min", "h"), (10.0, 600.0), True,
    ),
    Column(
        "cold_cranking_a", "number", "battery", _CURRENT, ("a",),
        (40.0, 2000.0), True,
    ),
    Column("cranking_standard", "choice", "battery"),
    Column(
        "battery_age_years", "number", "battery", _YEARS, ("years", "months"),
        (0.0, 20.0), False,
    ),
    Column("battery_fitted", "date"),
    Column("health", "number", "battery", _SHARE, ("%",), (0.2, 1.1), True),
    Column("state_of_charge", "number", "battery", _SHARE, ("%",), (0.0, 1.0)),
    Column(
        "resting_voltage_v", "number", "battery", _VOLTS, ("v", "mv"),
        (6.0, 32.0), True,
    ),
    Column("resting_voltage_at", "date"),
    Column(
        "resting_temperature_c", "number", "battery", _TEMPERATURE,
        ("°c", "°f"), (-40.0, 50.0), False,
    ),
    Column("rested_h", "number", "battery", _HOURS, ("h", "d"), (0.0, 1000.0), False),
    Column(
        "quiescent_a", "number", "vehicle", _CURRENT, ("a", "ma"),
        (1e-3, 5.0), True,
    ),
    Column("unit", "choice", "unit", plain_key="unit_preset"),
    Column(
        "sleep_a", "number", "unit", _CURRENT, ("a", "ma", "ua"),
        (1e-6, 1.0), True, "unit_sleep_a",
    ),
    Column(
        "report_interval_h", "number", "unit", _HOURS, ("h", "min"),
        (2 / 60, 744.0), True,
    ),
    Column(
        "report_charge_as", "number", "unit", _PULSE, ("as", "mah", "mas"),
        (0.05, 500.0), True, "unit_report_charge_as",
    ),
    Column(
        "engine_litres", "number", "vehicle", _LITRES, ("l", "cc"),
        (0.05, 16.0), True,
    ),
    Column("battery_system", "choice", "battery", plain_key="system"),
    Column(
        "second_health", "number", "battery", _SHARE, ("%",), (0.2, 1.1), True,
        "battery_second_health",
    ),
    Column("vehicle_kind", "choice", "vehicle"),
    Column("trips_per_week", "number", "pattern", _PER_WEEK),
    Column(
        "trip_minutes", "number", "pattern", _MINUTES, ("min", "h"),
        (1.0, 1440.0), False,
    ),
    Column("fuel", "choice", "vehicle"),
    Column("climate", "choice", "site"),
    Column(
        "temperature_c", "number", "site", _TEMPERATURE, ("°c", "°f"),
        (-40.0, 50.0), False,
    ),
    Column("parked_from", "date", "site", plain_key="parked_since"),
    Column("parked_days", "number", "", _DAYS, ("d",), (0.0, 3650.0)),
    Column("planned_return", "date"),
)  # fmt: skip
BY_NAME: Final = {column.name: column for column in COLUMNS}
BY_PUBLIC: Final = {column.public: column for column in COLUMNS} | BY_NAME
# A bare number of these is in the customary unit unless the whole column says otherwise.
CUSTOMARY: Final = frozenset(
    {
        "capacity_ah",
        "cold_cranking_a",
        "temperature_c",
        "resting_temperature_c",
        "battery_age_years",
        "rested_h",
        "parked_days",
    }
)
_UNITS_OF: Final = {
    column.name: {word: unit for unit in column.units for word in UNITS[unit]}
    | ({"a": "years"} if column.units is _YEARS else {})
    for column in COLUMNS
}


def unit_of(column: Column, text: str) -> str | None:
    """Return the plain name of a unit as written, or None if it is not one of this column."""
    words = plain(text.replace("·", " ").replace(".", ""))
    return _UNITS_OF[column.name].get(words)


def shown_unit(unit: str | None) -> str:
    """Return a unit as a person writes it."""
    return SHOWN.get(unit or "", unit or "")


def customary_unit(column: Column) -> str:
    """Return the unit of a column as its own name says it: ours."""
    return next((unit for unit, how in column.units.items() if how == (1.0, 0.0)), "")


def column_named(words: str) -> Column | None:
    """Return the column that a heading's plain words name."""
    name = COLUMN_OF.get(words)
    return BY_NAME[name] if name else None
