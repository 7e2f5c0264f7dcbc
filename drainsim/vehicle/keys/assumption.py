"""One figure an answer rests on, with where it came from."""

from dataclasses import asdict, dataclass
from typing import Any, Final

from drainsim.language import Message, joined, marked, message

ORIGINS: Final = (
    marked("given"),
    marked("measured"),
    marked("preset"),
    marked("estimated"),
    marked("default"),
    marked("profile"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A named value, its unit, its origin and its source.

    `origin` says how it got into this answer: given, measured, preset, estimated or default.
    """

    name: str
    value: Any
    unit: str
    origin: str
    source: str

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON; what JSON does not hold becomes text."""
        value = self.value
        plain = value is None or isinstance(value, bool | int | float | str | list | dict)
        return {**asdict(self), "value": value if plain else str(value)}

    def in_words(self) -> Message:
        """Return "name = value unit (origin: source)"; a preset's source stands at its name.

        Names, values and units are those of a scenario in every language, sources are quoted.
        """
        sourced = self.source and self.origin != "preset"
        value = shown(self.value)
        unit = [message(self.unit)] if self.unit and value != "none" else []
        return message(
            "{what} ({origin}: {source})" if sourced else "{what} ({origin})",
            what=joined(" ", [f"{self.name} = {value}", *unit]),
            origin=message(self.origin),
            source=self.source,
        )


def shown(value: Any) -> str:
    """Return a value as a person reads it.

    Examples
    --------
    >>> shown(0.123456), shown([{"duration_s": 300.0, "current_a": 3.0}]), shown(None), shown([])
    ('0.1235', '[duration_s 300, current_a 3]', 'none', 'none')
    """
    if value is None or value == []:
        return "none"
    if isinstance(value, bool | str):
        return str(value)
    if isinstance(value, float):
        return f"{value:.4g}"
    if isinstance(value, dict):
        return ", ".join(f"{key} {shown(part)}" for key, part in value.items())
    if isinstance(value, list):
        return "; ".join(f"[{shown(part)}]" for part in value)
    return str(value)
