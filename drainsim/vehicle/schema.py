"""The scenario file's keys: one declaration serves validation, JSON Schema, example and help."""

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from drainsim.files.formats import KEY, NEWEST
from drainsim.vehicle.schema_driving import MAINTAINER, PATTERN, SOLAR_FIELDS, SPREADS
from drainsim.vehicle.schema_fields import Field as Field
from drainsim.vehicle.schema_fields import Table as Table
from drainsim.vehicle.schema_fields import number as _number
from drainsim.vehicle.schema_systems import BATTERY_FIELDS, TOP_UP
from drainsim.vehicle.schema_unit import UNIT
from drainsim.vehicle.schema_vehicle import OTHER, VEHICLE

_BATTERY = Table(
    name="battery",
    meaning="What is printed on the battery and what was measured on it",
    fields=(
        Field(
            key="profile",
            kind="text",
            meaning="battery type, see: drainsim profiles",
            default="flooded_calcium",
            example="flooded_calcium",
        ),
        _number(
            "capacity_ah",
            "Ah",
            1,
            400,
            "20-hour capacity on the label",
            default="estimated from the other label values, else from the engine",
            example=60,
        ),
        _number(
            "reserve_capacity_min",
            "min",
            1,
            1000,
            "reserve capacity on the label: minutes at 25 A to 10.5 V",
            default="estimated from the capacity",
        ),
        _number(
            "cold_cranking_a",
            "A",
            10,
            2500,
            "cold cranking current on the label",
            default="estimated from the capacity",
            example=540,
        ),
        Field(
            key="cranking_standard",
            kind="choice",
            choices=("SAE", "EN", "DIN", "JIS"),
            meaning="standard of the cold cranking current",
            default="EN",
            example="EN",
        ),
        _number("age_years", "years", 0, 20, "age of the battery", default="3 years", example=3),
        _number(
            "state_of_charge",
            "",
            0,
            1,
            "charge at parking as a share of full, 0 to 1",
            default="0.85",
            example=0.85,
        ),
        _number(
            "resting_voltage_v",
            "V",
            6,
            16,
            "voltage of the 12 V battery after resting for hours; gives the state of charge",
        ),
        _number(
            "full_resting_voltage_v",
            "V",
            6,
            16,
            "voltage of the 12 V battery a day after a full charge, at about 20 °C: how far this "
            "make rests beside the usual curve",
        ),
        _number(
            "resting_temperature_c",
            "°C",
            -40,
            60,
            "battery temperature when the resting voltage was read",
            default="20 °C",
        ),
        _number(
            "rested_h",
            "h",
            0,
            1000,
            "hours the battery had rested when its voltage was read",
            default="not known",
        ),
        _number(
            "health",
            "",
            0.2,
            1.1,
            "state of health as a share of new, for capacity and cranking alike",
            default="estimated from age and climate",
        ),
        _number(
            "capacity_health", "", 0.2, 1.1, "capacity left as a share of new", default="health"
        ),
        _number(
            "cranking_health",
            "",
            0.1,
            1.2,
            "cold cranking current left as a share of new",
            default="health",
        ),
        *BATTERY_FIELDS,
    ),
)

_SOLAR = Table(
    name="solar",
    meaning="A panel that charges the parked battery, by default lying flat in the open",
    fields=(
        _number("panel_w", "W", 0, 1000, "rated power of the panel", default="none"),
        _number(
            "latitude_deg",
            "°",
            -90,
            90,
            "latitude, north positive",
            default="of the climate preset",
        ),
        _number(
            "clear_share",
            "",
            0.05,
            0.85,
            "share of the sunshine above the air that reaches the ground, all year",
            default="monthly values of the climate preset, else 0.20",
        ),
        _number(
            "efficiency",
            "",
            0.05,
            1,
            "charge kept by the battery as a share of rated power × sun hours",
            default="0.6",
        ),
        *SOLAR_FIELDS,
    ),
)

_SITE = Table(
    name="site",
    meaning="Where and when it stands; give one of temperature_c, climate, hourly_csv, epw",
    fields=(
        _number("temperature_c", "°C", -40, 60, "constant air temperature"),
        Field(
            key="climate",
            kind="text",
            meaning="climate preset, see: drainsim profiles",
            default="temperate",
            example="temperate",
        ),
        Field(
            key="hourly_csv",
            kind="text",
            meaning="CSV file with a temperature_c column, hourly, beside the scenario file",
        ),
        Field(key="epw", kind="text", meaning="EPW weather file, beside the scenario file"),
        Field(
            key="parked_from",
            kind="date",
            meaning="day of parking",
            default="the coming 1 December, ahead of a northern winter",
            example=dt.date(2026, 12, 1),
        ),
        Field(
            key="start_hour",
            kind="integer",
            unit="h",
            low=0,
            high=23,
            meaning="hour of the day when someone would turn the key",
            default="7 h",
            example=7,
        ),
        _number(
            "battery_lag_h", "h", 0, 72, "how slowly the battery follows the air", default="6 h"
        ),
        _number(
            "sun_soak_c",
            "K",
            0,
            40,
            "how much the sun warms the battery at noon",
            default="0 K",
        ),
    ),
)

_RUN = Table(
    name="run",
    meaning="How far ahead and how many random draws",
    fields=(
        Field(
            key="horizon_days",
            kind="integer",
            unit="days",
            low=1,
            high=730,
            meaning="how far ahead to look",
            default="180 days",
            example=180,
        ),
        Field(
            key="draws",
            kind="integer",
            low=100,
            high=20000,
            meaning="random draws for the range",
            default="1000",
            example=1000,
        ),
        Field(
            key="seed",
            kind="integer",
            low=0,
            high=2**32 - 1,
            meaning="same seed, same answer",
            default="1",
            example=1,
        ),
        Field(
            key="weather_seed",
            kind="integer",
            low=0,
            high=2**32 - 1,
            meaning="seed of the weather alone; vehicles of one place share it",
            default="as seed",
        ),
    ),
)

_UNCERTAINTY = Table(
    name="uncertainty",
    meaning="Spreads of the random draws; each default depends on how well the value is known",
    fields=(
        _number("state_of_charge_sd", "", 0, 0.4, "standard deviation of the starting charge"),
        _number(
            "open_circuit_offset_sd_v",
            "V",
            0,
            0.5,
            "standard deviation of the resting voltage between makes at one charge",
        ),
        _number("capacity_health_sd", "", 0, 0.5, "standard deviation of the capacity health"),
        _number("cranking_health_sd", "", 0, 0.5, "standard deviation of the cranking health"),
        _number("quiescent_sigma", "", 0, 2, "log standard deviation of the quiescent current"),
        _number("unit_sigma", "", 0, 2, "log standard deviation of the unit's draw"),
        _number("self_discharge_sigma", "", 0, 2, "log standard deviation of self-discharge"),
        _number("demand_sigma", "", 0, 1, "log standard deviation of the cranking demand"),
        _number("oil_sd_k", "K", 0, 10, "standard deviation of how much thicker the oil is"),
        _number(
            "cold_power_sigma",
            "",
            0,
            1,
            "log standard deviation of how fast cranking power falls below -18 °C",
        ),
        _number(
            "low_charge_sd",
            "",
            0,
            0.3,
            "standard deviation of the charge at which cranking collapses",
        ),
        _number("season_sd_c", "K", 0, 10, "standard deviation of a whole season's temperature"),
        _number("weather_sd_c", "K", 0, 15, "standard deviation of a day's temperature"),
        _number(
            "weather_correlation",
            "",
            0,
            0.99,
            "correlation of one day with the next",
            default="0.7",
        ),
        *SPREADS,
    ),
)

_MEASURED: Final = Table(
    name="measured",
    meaning="Which values were measured on the vehicle, so that they count as better known",
    fields=(
        Field(
            key="keys",
            kind="text",
            meaning="dotted keys of this file, with commas: vehicle.quiescent_a, unit.sleep_a",
        ),
        Field(key="how", kind="text", meaning="with what and when"),
    ),
)

SCENARIO: Final = Table(
    name="scenario",
    meaning="A parked vehicle; only battery needs any entry",
    tables=(
        _BATTERY,
        UNIT,
        VEHICLE,
        OTHER,
        TOP_UP,
        _SOLAR,
        MAINTAINER,
        PATTERN,
        _SITE,
        _RUN,
        _UNCERTAINTY,
        _MEASURED,
    ),
    required=("battery",),
)


_FORMAT_LINE: Final = f"{KEY} = {NEWEST['scenario']}"


def scenario_json_schema() -> dict[str, Any]:
    """Return the JSON Schema of a scenario."""
    schema = SCENARIO.json_schema()
    version = {
        "description": "Version of this file format. Default: 1.",
        "type": "integer",
        "minimum": 1,
        "maximum": NEWEST["scenario"],
    }
    schema["properties"] = {KEY: version, **schema["properties"]}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "drainsim scenario",
        **schema,
    }


def _toml_value(value: Any) -> str:
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    return value.isoformat() if isinstance(value, dt.date) else repr(value)


def _example_lines(table: Table, path: str) -> list[str]:
    head = f"[[{path}]]" if table.repeated else f"[{path}]"
    off = "# " if table.repeated or table.optional or "." in path else ""
    lines = ["", f"# {table.meaning}.", off + head]
    for field in table.fields:
        shown = _toml_value(field.example) if field.example is not None else ""
        assignment = f"{field.key} = {shown}" if shown else f"# {field.key} ="
        prefix = off if shown else ""
        lines.append(f"{prefix}{assignment}  # {field.description()}")
    for inner in table.tables:
        lines += _example_lines(inner, f"{path}.{inner.name}")
    return lines


def example_toml() -> str:
    """Return a commented scenario file with every key."""
    lines = ["# A drainsim scenario. Invented example; every key but [battery] may be left out."]
    lines += ["", _FORMAT_LINE + "  # version of this file format"]
    for table in SCENARIO.tables:
        lines += _example_lines(table, table.name)
    return "\n".join(lines) + "\n"


def to_toml(scenario: Mapping[str, Any]) -> str:
    """Return a checked scenario as TOML text that reads back to the same scenario."""
    lines = [_FORMAT_LINE]

    def inline(entry: Mapping[str, Any]) -> str:
        return "{ " + ", ".join(f"{k} = {_toml_value(v)}" for k, v in entry.items()) + " }"

    for name, table in scenario.items():
        if isinstance(table, list):
            lines.append(f"{name} = [{', '.join(inline(item) for item in table)}]")
    for name, table in scenario.items():
        if isinstance(table, list):
            continue
        lines += ["", f"[{name}]"]
        for key, value in table.items():
            if isinstance(value, list):
                lines.append(f"{key} = [{', '.join(inline(item) for item in value)}]")
            elif isinstance(value, Mapping):
                lines.append(f"{key} = {inline(value)}")
            else:
                lines.append(f"{key} = {_toml_value(value)}")
    return "\n".join(lines).strip() + "\n"
