"""One what-if control: its name in the address, its key in the scenario, how it is drawn."""

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.units import a_from_ma, ma_from_a, percent_from_share, share_from_percent
from drainsim.vehicle.parameter import Parameter

ASSUMED: Final = "assumed"  # in the address: take the value out again
_ON: Final = {"on": True, "off": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a shown number becomes the scenario's, and back."""

    to_scenario: Callable[[float], float]
    from_scenario: Callable[[float], float]


MILLIAMPERES: Final = Scale(to_scenario=a_from_ma, from_scenario=ma_from_a)
PER_CENT: Final = Scale(to_scenario=share_from_percent, from_scenario=percent_from_share)


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One what-if: its name in the address, its key in the scenario and how it is drawn.

    `kind`: slider, steps, box (may be empty), choice, date, switch (a whole table, on or off).
    `scale` is None where the shown unit is the scenario's own.
    """

    name: str
    key: Parameter
    label: str
    kind: str
    low: float = 0.0
    high: float = 1.0
    step: float = 1.0
    whole: bool = False
    steps: tuple[float, ...] = ()
    fallback: Any = None
    empty: str = ""
    note: str = ""
    scale: Scale | None = None
    options: Callable[[], dict[str, str]] = dict

    def parse(self, text: str) -> Any:
        """Return the value an address gives for this control.

        Raises
        ------
        ScenarioError
            Saying what was written and what would be right.
        """
        if text == ASSUMED and self.kind in {"slider", "steps", "box"}:
            return None
        if self.kind == "switch":
            if text not in _ON:
                raise ScenarioError(f"use one of {', '.join(_ON)}")
            return _ON[text]
        if self.kind == "choice":
            if text not in self.options():
                raise ScenarioError(f"use one of {', '.join(self.options())}")
            return text
        if self.kind == "date":
            try:
                return dt.date.fromisoformat(text)
            except ValueError:
                raise ScenarioError("a date is needed, written like 2026-12-01") from None
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise ScenarioError("a number is needed, written like 12.5")
        if self.whole and not value.is_integer():
            raise ScenarioError("a whole number is needed")
        return int(value) if self.whole else value

    def write(self, value: Any) -> str:
        """Return a value as the address holds it."""
        if value is None:
            return ASSUMED
        if isinstance(value, bool):
            return "on" if value else "off"
        if not isinstance(value, float):
            return str(value)
        short = f"{value:.6g}"
        return short if float(short) == value else repr(value)

    def shown(self, value: Any) -> Any:
        """Return a scenario's value in the control's own unit."""
        scaled = self.scale.from_scenario(value) if self.scale else value
        return round(scaled, 6) if isinstance(scaled, float) else scaled

    def to_scenario(self, value: Any) -> Any:
        """Return a shown value in the scenario's unit; None stays None."""
        return self.scale.to_scenario(value) if self.scale and value is not None else value

    def words(self, value: Any) -> str:
        """Return a value for a sentence."""
        if value is None:
            return self.empty or ASSUMED
        if self.kind == "switch":
            return self.write(value)
        if self.kind == "choice":
            return self.options().get(value, str(value))
        if self.kind == "date":
            return f"{value.day} {value:%B %Y}"
        return f"{value:.6g}"
