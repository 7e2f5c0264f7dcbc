"""Collects every value an answer uses, where it came from, and what to warn of."""

from dataclasses import dataclass, field
from typing import Any, Final

from drainsim.files.presets import Preset, preset
from drainsim.language import Message, Said, message
from drainsim.vehicle.keys.assumption import Assumption
from drainsim.vehicle.keys.given import Scenario
from drainsim.vehicle.keys.parameter import Parameter

_PRESETS: Final = {"unit": "units", "vehicle": "vehicles"}  # table → kind of preset
_DECLARED: Final = object()  # take the parameter's own default


@dataclass(slots=True)
class Ledger:
    """The book-keeping of one case while it is being resolved."""

    scenario: Scenario
    assumptions: list[Assumption] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    _started: dict[str, Preset] = field(default_factory=dict)

    def start_from(self, parameter: Parameter) -> None:
        """Let a table start from the preset it names, if it names one.

        Raises
        ------
        ProfileError
            If there is no such preset.
        """
        chosen = self.scenario.get(parameter)
        if chosen:
            found = preset(_PRESETS[parameter.table], chosen, where=parameter)
            self._started[parameter.table] = found
            self.note(parameter, chosen, "given", f"{found.name}; {found.source}")

    def preset_value(self, parameter: Parameter) -> Any:
        """Return what the preset its table started from says, None where it says nothing."""
        started = self._started.get(parameter.table)
        return started.values.get(parameter.key) if started else None

    def note(
        self, name: str, value: Any, origin: str, source: str = "", *, unit: str | None = None
    ) -> None:
        """Write down a value that was used; one given may be one that was measured.

        Parameters
        ----------
        name : str
            A parameter, or the dotted name of a figure that is none.
        value : object
        origin : str
            given, measured, preset, estimated, default or profile.
        source : str
        unit : str, optional
            Of a figure that is no parameter.
        """
        if origin == "given":
            origin = self.scenario.origins.get(name, origin)
        if unit is None:
            unit = name.unit if isinstance(name, Parameter) else ""
        self.assumptions.append(
            Assumption(name=str(name), value=value, unit=unit, origin=origin, source=source)
        )

    def warn(self, text: str, /, **figures: Said) -> None:
        """Write down something the user should know, as `message` takes it."""
        sentence = text if isinstance(text, Message) else message(text, **figures)
        if sentence not in self.warnings:
            self.warnings.append(sentence)

    def take(self, parameter: Parameter, default: Any = _DECLARED, source: str = "") -> Any:
        """Return the value of a parameter and write it down: see `take_with_origin`.

        Parameters
        ----------
        parameter : Parameter
        default : object
            Instead of the parameter's own, where it is worked out. [parameter's unit]
        source : str
            Instead of the parameter's own source.
        """
        return self.take_with_origin(parameter, default, source)[0]

    def take_with_origin(
        self, parameter: Parameter, default: Any = _DECLARED, source: str = ""
    ) -> tuple[Any, str]:
        """Return (value, origin): the user's, else the preset's, else the default.

        Parameters
        ----------
        parameter : Parameter
        default : object
            Instead of the parameter's own default, where it is worked out. [parameter's unit]
        source : str
            Instead of the parameter's own source.
        """
        value = self.scenario.get(parameter)
        if value is not None:
            origin = self.scenario.origins.get(parameter, "given")
            self.note(parameter, value, origin)
            return value, origin
        started = self._started.get(parameter.table)
        if started is not None and parameter.key in started.values:
            value = started.values[parameter.key]
            self.note(parameter, value, "preset", f"{started.name}; {started.source}")
            return value, "preset"
        value = parameter.default if default is _DECLARED else default
        self.note(parameter, value, "default", source or parameter.source)
        return value, "default"
