"""One what-if control: its name in the address, its key in the scenario, how it is drawn."""

import datetime as dt
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.language import Message, marked, message, say, spoken
from drainsim.units import (
    a_from_ma,
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    ma_from_a,
    percent_from_share,
    share_from_percent,
)
from drainsim.vehicle.keys.parameter import Parameter, Table

ASSUMED: Final = marked("assumed")  # in the address: take the value out again
_FILE: Final = re.compile(r"[0-9a-f]{16}/[\w.-]{1,60}")  # as `temperature_file` names it
_ON: Final = {"on": True, "off": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a shown number becomes the scenario's, and back."""

    unit: str
    to_scenario: Callable[[float], float]
    from_scenario: Callable[[float], float]


MILLIAMPERES: Final = Scale(unit="mA", to_scenario=a_from_ma, from_scenario=ma_from_a)
PER_CENT: Final = Scale(unit="%", to_scenario=share_from_percent, from_scenario=percent_from_share)
_TEMPERATURES: Final = {
    "C": Scale(unit="°C", to_scenario=float, from_scenario=float),
    "F": Scale(
        unit="°F", to_scenario=celsius_from_fahrenheit, from_scenario=fahrenheit_from_celsius
    ),
}
PER_CENT_OF_FULL: Final = replace(PER_CENT, unit=marked("% of full"))
PER_CENT_OF_NEW: Final = replace(PER_CENT, unit=marked("% of new"))


def labelled(label: str, unit: str) -> Message:
    """Return a label with its unit behind it, where there is one."""
    if not unit:
        return message(label)
    return message("{label} [{unit}]", label=message(label), unit=message(unit))


def temperature_scale() -> Scale:
    """Return how temperatures are shown in this visit; kept is always °C."""
    return _TEMPERATURES[spoken().temperature_unit]


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One what-if: its name in the address, its key in the scenario and how it is drawn.

    `kind`: slider, steps, box (may be empty), choice, date, file or switch (a whole table).
    `scale` is None where the shown unit is the scenario's own, `seen` where the visit sees that.
    """

    name: str
    key: Parameter
    kind: str
    label: str
    low: float = 0.0
    high: float = 1.0
    step: float = 1.0
    whole: bool = False
    steps: tuple[float, ...] = ()
    fallback: Any = None
    empty: str = ""
    note: str = ""
    scale: Scale | None = None
    seen: Scale | None = None
    options: Callable[[], dict[str, str]] = dict

    def here(self) -> "Control":
        """Return the control as this visit sees it: temperatures in the unit chosen."""
        if self.key.unit != "°C" or spoken().temperature_unit == "C":
            return self
        seen = temperature_scale()
        low, high = seen.from_scenario(self.low), seen.from_scenario(self.high)
        label = labelled(self.key.label, seen.unit)
        return replace(self, seen=seen, low=low, high=high, label=label)

    def see(self, value: Any) -> Any:
        """Return a value in the unit the visit sees; None stays None."""
        return (
            round(self.seen.from_scenario(value), 4) if self.seen and value is not None else value
        )

    def parse(self, text: str) -> Any:
        """Return the value an address gives for this control.

        Raises
        ------
        ScenarioError
            Saying what was written and what would be right.
        """
        if text == ASSUMED and self.kind in {"slider", "steps", "box", "choice", "file"}:
            return None
        if self.kind == "file":
            if not _FILE.fullmatch(text):
                raise ScenarioError("an address cannot bring a file; load it")
            return text
        if self.kind in {"switch", "choice"}:
            words = _ON if self.kind == "switch" else {word: word for word in self.options()}
            if text not in words:
                raise ScenarioError(f"use one of {', '.join(words)}")
            return words[text]
        if self.kind == "date":
            try:
                return dt.date.fromisoformat(text)
            except ValueError:
                raise ScenarioError("a date is needed, written like 2026-12-01") from None
        return self._number(text)

    def _number(self, text: str) -> float:
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
        """Return a value for a sentence, in the visit's language."""
        if value is None:
            return say(self.empty or ASSUMED)
        if self.kind == "switch":
            return say(self.write(value))
        if self.kind == "choice":
            return say(self.options().get(value, str(value)))
        if self.kind == "date":
            return spoken().day(value)
        if self.kind == "file":
            return str(value).rpartition("/")[2]
        return say("{value:.6g}", value=self.see(value))


def slider(name: str, key: Parameter, **narrowed: Any) -> Control:
    """Return a slider over a parameter; see `_of` for what may be narrowed."""
    return _of(name, key, "slider", **narrowed)


def box(name: str, key: Parameter, **narrowed: Any) -> Control:
    """Return a box for a number that may be left empty; see `_of`."""
    control = _of(name, key, "box", **narrowed)
    empty = control.empty or key.otherwise or key.default_in_words()
    return replace(control, fallback=None, empty=empty, step=float(control.step))


def steps(name: str, key: Parameter, values: tuple[float, ...]) -> Control:
    """Return a slider over a few values of a parameter, in its own unit."""
    return _of(name, key, "steps", steps=values)


def choice(name: str, key: Parameter, **narrowed: Any) -> Control:
    """Return a list of the words a parameter may be, or of those `options` returns."""
    return _of(name, key, "choice", **{"options": lambda: dict(key.choices), **narrowed})


def date(name: str, key: Parameter) -> Control:
    """Return a calendar."""
    return _of(name, key, "date")


def file(name: str, key: Parameter) -> Control:
    """Return a place for a file of the visitor's own."""
    return _of(name, key, "file")


def switch(name: str, table: Table, label: str) -> Control:
    """Return a switch that puts a whole table there or takes it away."""
    return Control(name=name, key=Parameter(table.name, kind="table"), kind="switch", label=label)


def _of(
    name: str,
    key: Parameter,
    kind: str,
    *,
    unit: str = "",
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
    scale: Scale | None = None,
    fallback: Any = None,
    **more: Any,
) -> Control:
    """Return a control of a parameter: label, unit, limits and default are the parameter's.

    Parameters
    ----------
    name : str
        In the address.
    key : Parameter
    kind : str
    unit : str, optional
        Beside the label, instead of the scale's or the parameter's.
    low, high, step : float, optional
        Narrower than what a scenario accepts. [shown unit]
    scale : Scale, optional
        Where the shown unit is not the parameter's.
    fallback : object, optional
        Where it stands while the answer uses none and the parameter has no default.
    """
    shown = unit or (scale.unit if scale else key.unit)
    control = Control(
        name=name,
        key=key,
        kind=kind,
        label=labelled(key.label, shown),
        whole=key.kind == "integer",
        note=key.note,
        scale=scale,
        **more,
    )
    if key.kind not in {"number", "integer"}:
        return replace(control, fallback=key.default if fallback is None else fallback)
    number = int if control.whole else float
    usual = None if key.default is None else control.shown(key.default)
    return replace(
        control,
        low=number(control.shown(float(key.low)) if low is None else low),
        high=number(control.shown(float(key.high)) if high is None else high),
        step=step or (1.0 if scale else key.step),
        fallback=usual if fallback is None else fallback,
    )
