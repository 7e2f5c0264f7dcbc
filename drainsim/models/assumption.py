"""One figure an answer rests on, with where it came from."""

from dataclasses import dataclass
from typing import Any


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
        """Return the plain dictionary for JSON and tables."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "origin": self.origin,
            "source": self.source,
        }

    def in_words(self) -> str:
        """Return "name = value unit (origin: source)"."""
        shown = f"{self.value:.4g}" if isinstance(self.value, float) else str(self.value)
        unit = f" {self.unit}" if self.unit else ""
        source = f": {self.source}" if self.source else ""
        return f"{self.name} = {shown}{unit} ({self.origin}{source})"
