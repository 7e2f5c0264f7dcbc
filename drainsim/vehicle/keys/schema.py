"""Every table of a scenario: one declaration serves check, JSON Schema, example and help."""

from typing import Any, Final

from drainsim.files.formats import KEY, NEWEST
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.batteries.chargers import MAINTAINER, TOPUP
from drainsim.vehicle.keys.given import FORMAT_LINE, MEASURED, Scenario, toml_value
from drainsim.vehicle.keys.parameter import Parameter, Table
from drainsim.vehicle.pattern import PATTERN
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.run import RUN, UNCERTAINTY
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import OTHER, VEHICLE

SCENARIO: Final = Table(
    name="scenario",
    meaning="A parked vehicle; only battery needs any entry",
    tables=tuple(
        keys.TABLE
        for keys in (
            BATTERY,
            UNIT,
            VEHICLE,
            OTHER,
            TOPUP,
            SOLAR,
            MAINTAINER,
            PATTERN,
            SITE,
            RUN,
            UNCERTAINTY,
            MEASURED,
        )
    ),
    required=("battery",),
)
Scenario.declared = SCENARIO
PARAMETERS: Final[dict[str, Parameter]] = SCENARIO.parameters()
# Column of a fleet list → the parameter it gives.
BY_COLUMN: Final = {each.column: each for each in PARAMETERS.values() if each.column}


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


def _example_lines(table: Table, path: str) -> list[str]:
    head = f"[[{path}]]" if table.repeated else f"[{path}]"
    off = "# " if table.repeated or table.optional or "." in path else ""
    lines = ["", f"# {table.meaning}.", off + head]
    for field in table.fields:
        shown = toml_value(field.example) if field.example is not None else ""
        assignment = f"{field.key} = {shown}" if shown else f"# {field.key} ="
        prefix = off if shown else ""
        lines.append(f"{prefix}{assignment}  # {field.description()}")
    for inner in table.tables:
        lines += _example_lines(inner, f"{path}.{inner.name}")
    return lines


def example_toml() -> str:
    """Return a commented scenario file with every key."""
    lines = ["# A drainsim scenario. Invented example; every key but [battery] may be left out."]
    lines += ["", FORMAT_LINE + "  # version of this file format"]
    for table in SCENARIO.tables:
        lines += _example_lines(table, table.name)
    return "\n".join(lines) + "\n"
