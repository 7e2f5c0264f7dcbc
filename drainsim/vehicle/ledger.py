"""Collects every value an answer uses, where it came from, and what to warn of."""

from dataclasses import dataclass, field
from typing import Any

from drainsim.files.presets import Preset
from drainsim.vehicle.assumption import Assumption
from drainsim.vehicle.scenario import Scenario


@dataclass(slots=True)
class Ledger:
    """The book-keeping of one case while it is being resolved."""

    scenario: Scenario
    assumptions: list[Assumption] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    def note(self, name: str, value: Any, unit: str, origin: str, source: str = "") -> None:
        """Write down a value that was used; one given may be one that was measured."""
        if origin == "given":
            origin = self.scenario.origins.get(name, origin)
        self.assumptions.append(
            Assumption(name=name, value=value, unit=unit, origin=origin, source=source)
        )

    def warn(self, sentence: str) -> None:
        """Write down something the user should know."""
        if sentence not in self.warnings:
            self.warnings.append(sentence)

    def take(
        self,
        table: str,
        key: str,
        unit: str,
        *,
        default: Any,
        source: str,
        preset: Preset | None = None,
    ) -> tuple[Any, str]:
        """Return (value, origin): the user's value, else the preset's, else the default."""
        name = f"{table}.{key}"
        value = self.scenario.get(table, key)
        if value is not None:
            origin = self.scenario.origins.get(name, "given")
            self.note(name, value, unit, origin)
        elif preset is not None and key in preset.values:
            value, origin = preset.values[key], "preset"
            self.note(name, value, unit, origin, f"{preset.name}; {preset.source}")
        else:
            value, origin = default, "default"
            self.note(name, value, unit, origin, source)
        return value, origin
