"""What the user gave: checked values by parameter. It knows no room; `schema` knows them all.

The table `[measured]` names the keys that were measured; a value chosen anew leaves it.
"""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, ClassVar, Final

from drainsim.errors import ScenarioError
from drainsim.files.formats import KEY, NEWEST
from drainsim.vehicle.keys.parameter import Keys, Parameter, Table, text


class MEASURED(Keys, name="measured"):
    """Which values were measured on the vehicle, so that they count as better known."""

    keys = text("dotted keys of this file, with commas: vehicle.quiescent_a, unit.sleep_a")
    how = text("with what and when")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """What the user said, checked; what was left out is filled in by `resolve`.

    `folder` is where relative weather files are looked for; None forbids files. `declared` is
    every table there is; `schema` puts the rooms' tables together and sets it.
    """

    declared: ClassVar[Table]

    tables: dict[str, Any]
    where: str = "scenario"
    folder: Path | None = None
    origins: dict[str, str] = field(default_factory=dict)  # "vehicle.quiescent_a" -> "measured"
    known: Callable[[Any], Any] | None = None  # what readings taught of it: a case to a case

    def get(self, parameter: Parameter) -> Any:
        """Return a value, or None where the user gave none."""
        return given_in(self.tables, parameter)

    def get_or_default(self, parameter: Parameter) -> Any:
        """Return a value, or the parameter's default where the user gave none."""
        return value_in(self.tables, parameter)

    def has(self, table: str) -> bool:
        """Say whether the user gave a table at all."""
        return table in self.tables

    def with_values(self, values: Mapping[str, Any]) -> "Scenario":
        """Return a copy with values set, by parameter or dotted name; None takes the key out.

        Raises
        ------
        ScenarioError
            If a key is unknown or a value is not allowed.
        """
        tables = dict(self.tables)  # what is changed is copied, the check copies the rest
        for dotted, value in values.items():
            parts = dotted.split(".")
            if len(parts) < 2 or not all(parts):
                raise ScenarioError(
                    f"{dotted[:60]}: write the key as table.key, like battery.age_years"
                )
            target = tables
            for part in parts[:-1]:
                inner = target.get(part, {})
                if not isinstance(inner, dict):
                    what = "a list: change it in the file"
                    if not isinstance(inner, list):
                        what = "a value"
                    raise ScenarioError(f"{dotted[:60]}: {part[:60]} is {what}")
                target[part] = dict(inner)
                target = target[part]
            if value is None:
                target.pop(parts[-1], None)
            else:
                target[parts[-1]] = value
        checked = self.declared.check(tables, where="")
        if MEASURED.keys in values:
            return replace(self, tables=checked, origins=measured_in(checked))
        return self._changed(checked)

    def _changed(self, tables: dict[str, Any]) -> "Scenario":
        """Return a copy with other tables; a value chosen anew is no longer the measured one."""
        kept = {
            name: how
            for name, how in self.origins.items()
            if _at(tables, name) is not None and _at(tables, name) == _at(self.tables, name)
        }
        if "measured" in tables:
            measured = {**tables["measured"], "keys": ", ".join(kept)}
            tables = {**tables, "measured": measured}
        return replace(self, tables=tables, origins=kept)

    def with_table(self, name: str, value: Any) -> "Scenario":
        """Return a copy with a whole table set; same errors as `with_values`.

        Parameters
        ----------
        name : str
            Of the table.
        value : object
            As TOML or JSON gave it.
        """
        checked = self.declared.check({**self.tables, name: value}, where="")
        return self._changed(checked)

    def without(self, name: str) -> "Scenario":
        """Return a copy that does not mention a table."""
        return self._changed({k: v for k, v in self.tables.items() if k != name})

    def refuse_unknown_measured(self) -> None:
        """Raise a ScenarioError if [measured] names a key the scenario does not give."""
        for name in self.origins:
            if _at(self.tables, name) is None:
                raise ScenarioError(f"measured.keys: {name[:60]!r} is not a key of this scenario")

    def to_toml(self) -> str:
        """Return the scenario as TOML text."""
        return to_toml(self.tables)


def given_in(tables: Mapping[str, Any], parameter: Parameter) -> Any:
    """Return what the tables of a scenario give for a parameter, None where they give nothing.

    Parameters
    ----------
    tables : mapping
        Tables of a scenario, by name.
    parameter : Parameter
    """
    return tables.get(parameter.table, {}).get(parameter.key)


def value_in(tables: Mapping[str, Any], parameter: Parameter) -> Any:
    """Return what the tables of a scenario give for a parameter, else its default.

    Parameters
    ----------
    tables : mapping
        Tables of a scenario, by name.
    parameter : Parameter
    """
    given = given_in(tables, parameter)
    return parameter.default if given is None else given


def _at(tables: Mapping[str, Any], dotted: str) -> Any:
    """Return the value at table.key, None where there is none."""
    table, _, key = dotted.partition(".")
    found = tables.get(table)
    return found.get(key) if isinstance(found, Mapping) else None


def measured_in(tables: Mapping[str, Any]) -> dict[str, str]:
    """Return the origin of every key the [measured] table names."""
    names = (name.strip() for name in str(given_in(tables, MEASURED.keys) or "").split(","))
    return {name: "measured" for name in names if name}


FORMAT_LINE: Final = f"{KEY} = {NEWEST['scenario']}"


def toml_value(value: Any) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    return value.isoformat() if isinstance(value, dt.date) else repr(value)


def to_toml(scenario: Mapping[str, Any]) -> str:
    """Return a checked scenario as TOML text that reads back to the same scenario."""
    lines = [FORMAT_LINE]

    def inline(entry: Mapping[str, Any]) -> str:
        return "{ " + ", ".join(f"{k} = {toml_value(v)}" for k, v in entry.items()) + " }"

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
                lines.append(f"{key} = {toml_value(value)}")
    return "\n".join(lines).strip() + "\n"
