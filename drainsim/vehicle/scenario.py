"""A scenario: checked values by table and key, from a file, a text or a dictionary."""

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from drainsim.errors import ScenarioError
from drainsim.files.formats import newest_of
from drainsim.files.reading import parse_toml, read_text
from drainsim.vehicle.schema import SCENARIO, to_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """What the user said, checked; what was left out is filled in by `resolve`.

    `folder` is where relative weather files are looked for; None forbids files.
    """

    tables: dict[str, Any]
    where: str = "scenario"
    folder: Path | None = None
    origins: dict[str, str] = field(default_factory=dict)  # "vehicle.quiescent_a" -> "measured"

    def get(self, table: str, key: str) -> Any:
        """Return a value, or None where the user gave none."""
        return self.tables.get(table, {}).get(key)

    def has(self, table: str) -> bool:
        """Say whether the user gave a table at all."""
        return table in self.tables

    def with_values(self, values: Mapping[str, Any]) -> "Scenario":
        """Return a copy with dotted keys set; a value of None takes the key out.

        Raises
        ------
        ScenarioError
            If a key is unknown or a value is not allowed.
        """
        tables = copy.deepcopy(self.tables)
        for dotted, value in values.items():
            parts = dotted.split(".")
            if len(parts) < 2 or not all(parts):
                raise ScenarioError(
                    f"{dotted[:60]}: write the key as table.key, like battery.age_years"
                )
            target = tables
            for part in parts[:-1]:
                target = target.setdefault(part, {})
                if not isinstance(target, dict):
                    what = "a list: change it in the file"
                    if not isinstance(target, list):
                        what = "a value"
                    raise ScenarioError(f"{dotted[:60]}: {part[:60]} is {what}")
            if value is None:
                target.pop(parts[-1], None)
            else:
                target[parts[-1]] = value
        checked = SCENARIO.check(tables, where="")
        if "measured.keys" in values:
            return replace(self, tables=checked, origins=_measured(checked))
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
        """Return a copy with a whole table set; same errors as `with_values`."""
        checked = SCENARIO.check({**self.tables, name: value}, where="")
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


def scenario_from_dict(
    tables: Mapping[str, Any], *, where: str = "scenario", folder: Path | None = None
) -> Scenario:
    """Return a checked scenario.

    Raises
    ------
    ScenarioError
        Naming the key, what is wrong and what would be right.
    """
    document = newest_of(tables, "scenario", where=where, error=ScenarioError)
    try:
        checked = SCENARIO.check(document, where="")
    except ScenarioError as error:
        raise ScenarioError(f"{where}: {error}") from None
    return Scenario(tables=checked, where=where, folder=folder, origins=_measured(checked))


def _at(tables: Mapping[str, Any], dotted: str) -> Any:
    """Return the value at table.key, None where there is none."""
    table, _, key = dotted.partition(".")
    found = tables.get(table)
    return found.get(key) if isinstance(found, Mapping) else None


def _measured(tables: Mapping[str, Any]) -> dict[str, str]:
    """Return the origin of every key the [measured] table names."""
    names = (name.strip() for name in str(tables.get("measured", {}).get("keys", "")).split(","))
    return {name: "measured" for name in names if name}


def scenario_from_text(text: str, *, where: str, folder: Path | None = None) -> Scenario:
    """Return the scenario in a TOML text; same errors as `scenario_from_dict`."""
    document = parse_toml(text, where=where, error=ScenarioError)
    return scenario_from_dict(document, where=where, folder=folder)


def read_scenario(path: Path) -> Scenario:
    """Return the scenario in a TOML file.

    Raises
    ------
    ScenarioError
        Naming the file, the key, what is wrong and what would be right.
    """
    text = read_text(path, error=ScenarioError)
    return scenario_from_text(text, where=str(path), folder=path.resolve().parent)


def settings_from_words(words: Iterable[str]) -> dict[str, Any]:
    """Return dotted keys and values from "battery.age_years=4" words, values as in TOML.

    Raises
    ------
    ScenarioError
        If a word has no "=" or its value is not TOML; bare text counts as text.
    """
    settings: dict[str, Any] = {}
    for word in words:
        key, equals, text = word.partition("=")
        if not equals or not key.strip():
            raise ScenarioError(
                f"--set {word[:60]}: write it as key=value, like battery.age_years=4"
            )
        try:
            parsed = parse_toml(f"value = {text}", where="--set", error=ScenarioError)
        except ScenarioError:
            parsed = {"value": text}
        if set(parsed) != {"value"}:
            raise ScenarioError(f"--set {key.strip()[:60]}: give one value, on one line")
        value = parsed["value"]
        settings[key.strip()] = value
    return settings
