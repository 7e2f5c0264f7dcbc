"""The scenario file's keys: one declaration serves validation, JSON Schema, example and help."""

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from drainsim.models.formats import KEY, NEWEST
from drainsim.models.schema_driving import MAINTAINER, PATTERN, SOLAR_FIELDS, SPREADS
from drainsim.models.schema_fields import Field as Field
from drainsim.models.schema_fields import Table as Table
from drainsim.models.schema_fields import number as _number
from drainsim.models.schema_systems import (
    BATTERY_FIELDS,
    OTHER_FIELDS,
    TOP_UP,
    UNIT_FIELDS,
    VEHICLE_FIELDS,
)

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

_REPORT = Table(
    name="report",
    meaning="One report phase by phase, instead of unit.report_charge_as; currents at rated_at_v",
    fields=(
        _number("wake_s", "s", 0, 600, "time awake before anything else", default="0"),
        _number("wake_a", "A", 0, 5, "current while waking", default="0"),
        _number("fix_a", "A", 0, 5, "current while looking for satellites", default="0"),
        _number("fix_hot_s", "s", 0, 3600, "fix time with valid orbit data", default="2"),
        _number("fix_warm_s", "s", 0, 3600, "fix time with rough orbit data", default="28"),
        _number("fix_cold_s", "s", 0, 3600, "fix time with none", default="35"),
        _number("ephemeris_valid_h", "h", 0, 48, "how long orbit data stays valid", default="4"),
        _number("attach_s", "s", 0, 3600, "time to find and join the network", default="0"),
        _number("attach_a", "A", 0, 5, "current meanwhile", default="0"),
        _number("transmit_s", "s", 0, 3600, "time sending", default="0"),
        _number("transmit_a", "A", 0, 5, "current while sending", default="0"),
        _number("tail_s", "s", 0, 3600, "time the network holds the link afterwards", default="0"),
        _number("tail_a", "A", 0, 5, "current meanwhile", default="0"),
    ),
)

_UNIT = Table(
    name="unit",
    meaning="The added always-on unit; leave the table out for a vehicle without one",
    fields=(
        Field(
            key="preset",
            kind="text",
            meaning="generic unit to start from, see: drainsim profiles",
            example="hourly",
        ),
        _number(
            "sleep_a",
            "A",
            0,
            5,
            "current between events, battery side",
            default="0.004 A",
            example=0.004,
        ),
        _number(
            "report_interval_h",
            "h",
            0.002,
            10000,
            "time between reports while parked",
            default="1 h",
            example=1.0,
        ),
        _number(
            "report_charge_as",
            "A·s",
            0,
            5000,
            "charge of one report above sleep",
            default="7 A·s",
            example=7.0,
        ),
        _number("peak_a", "A", 0, 20, "highest current", default="0.25 A", example=0.25),
        Field(
            key="supply",
            kind="choice",
            choices=("switching", "linear"),
            meaning="supply stage: switching draws constant power, linear constant current",
            default="switching",
            example="switching",
        ),
        _number(
            "rated_at_v",
            "V",
            3,
            36,
            "voltage the currents were stated at",
            default="12 V",
            example=12.0,
        ),
        _number(
            "cutoff_v",
            "V",
            6,
            28,
            "voltage below which the unit switches itself off",
            default="none",
            example=11.5,
        ),
        _number(
            "resume_v",
            "V",
            6,
            30,
            "voltage above which it comes back",
            default="cutoff_v + 0.5 V",
        ),
        _number("off_a", "A", 0, 1, "current once switched off", default="0.0001 A"),
        _number(
            "heartbeat_interval_h",
            "h",
            0.002,
            10000,
            "time between short signs of life",
            default="none",
        ),
        _number("heartbeat_charge_as", "A·s", 0, 5000, "charge of one above sleep", default="0"),
        Field(
            key="listening",
            kind="choice",
            choices=("none", "paging", "edrx", "psm"),
            meaning="how it stays reachable between reports",
            default="none",
        ),
        _number("listening_a", "A", 0, 5, "mean current of that, on top of sleep", default="0 A"),
        _number(
            "coverage",
            "",
            1,
            20,
            "factor on attach and transmit charge where reception is poor",
            default="1",
        ),
        _number(
            "backup_charge_a",
            "A",
            0,
            5,
            "current recharging its internal cell after parking",
            default="0 A",
        ),
        _number("backup_charge_h", "h", 0, 100, "how long that takes", default="0 h"),
        *UNIT_FIELDS,
        _number(
            "self_test_charge_as",
            "A·s",
            0,
            5000,
            "charge of its start-up self-test, drawn once",
            default="0",
        ),
    ),
    tables=(
        _REPORT,
        Table(
            name="ladder",
            meaning="Voltage ladder: below each voltage the unit reports less often",
            repeated=True,
            required=("below_v", "report_interval_h"),
            fields=(
                _number("below_v", "V", 6, 28, "voltage below which this interval applies"),
                _number("report_interval_h", "h", 0.002, 10000, "time between reports there"),
                _number(
                    "resume_v",
                    "V",
                    6,
                    30,
                    "voltage above which the step before returns",
                    default="below_v + 0.2 V",
                ),
            ),
        ),
    ),
)

_VEHICLE = Table(
    name="vehicle",
    meaning="The vehicle's own draw and what its engine asks of the battery",
    fields=(
        Field(
            key="preset",
            kind="text",
            meaning="generic vehicle to start from, see: drainsim profiles",
        ),
        _number(
            "quiescent_a",
            "A",
            0,
            50,
            "settled current once everything sleeps",
            default="0.030 A",
            example=0.03,
        ),
        _number("engine_litres", "l", 0.05, 16, "swept volume", default="2.0 l", example=2.0),
        Field(
            key="fuel",
            kind="choice",
            choices=("petrol", "diesel"),
            meaning="engine type",
            default="petrol",
            example="petrol",
        ),
        _number(
            "cranking_demand_a",
            "A",
            5,
            3000,
            "starter current of the warm engine (27 °C)",
            default="estimated from the engine",
        ),
        _number(
            "minimum_cranking_v",
            "V",
            6,
            23,
            "battery voltage starter and control electronics need",
            default="7.5 V, for two in series 15 V",
        ),
        *VEHICLE_FIELDS,
    ),
    tables=(
        Table(
            name="key_off_stages",
            meaning="What is drawn between key off and sleep, stage by stage",
            repeated=True,
            required=("duration_s", "current_a"),
            fields=(
                _number("duration_s", "s", 0, 86400, "length of the stage", example=300),
                _number("current_a", "A", 0, 200, "total vehicle current", example=3.0),
            ),
        ),
        Table(
            name="wake_ups",
            meaning="Recurring wake-ups of the sleeping vehicle",
            repeated=True,
            required=("every_h", "duration_s", "current_a"),
            fields=(
                _number("every_h", "h", 0.002, 10000, "time between them", example=24),
                _number("duration_s", "s", 0, 86400, "length", example=60),
                _number("current_a", "A", 0, 200, "total vehicle current meanwhile", example=2.0),
            ),
        ),
    ),
)

_OTHER = Table(
    name="other",
    meaning="Further loads; a negative current is a maintainer",
    repeated=True,
    required=("name", "current_a"),
    fields=(
        Field(key="name", kind="text", meaning="what it is", example="dash camera"),
        _number("current_a", "A", -20, 50, "mean current, negative when it charges", example=0.0),
        *OTHER_FIELDS,
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
            default="monthly values of the climate preset, else 0.35",
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
            default="1 December 2026, ahead of a winter",
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
        _number("capacity_health_sd", "", 0, 0.5, "standard deviation of the capacity health"),
        _number("cranking_health_sd", "", 0, 0.5, "standard deviation of the cranking health"),
        _number("quiescent_sigma", "", 0, 2, "log standard deviation of the quiescent current"),
        _number("unit_sigma", "", 0, 2, "log standard deviation of the unit's draw"),
        _number("self_discharge_sigma", "", 0, 2, "log standard deviation of self-discharge"),
        _number("demand_sigma", "", 0, 1, "log standard deviation of the cranking demand"),
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
        _UNIT,
        _VEHICLE,
        _OTHER,
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
