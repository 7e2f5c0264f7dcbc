"""The what-if controls, declared once: what the panel draws and the address can say."""

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.models.presets import presets
from drainsim.models.profile import list_profiles, load_profile
from drainsim.units import a_from_ma, ma_from_a, percent_from_share, share_from_percent

NO_UNIT: Final = "none"
OWN: Final = "own"
ASSUMED: Final = "assumed"  # in the address: take the value out again
GROUPS: Final = ("Battery", "Unit", "Vehicle", "Place")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a shown number becomes the scenario's, and back."""

    to_scenario: Callable[[float], float]
    from_scenario: Callable[[float], float]


_MILLIAMPERES: Final = Scale(to_scenario=a_from_ma, from_scenario=ma_from_a)
_PER_CENT: Final = Scale(to_scenario=share_from_percent, from_scenario=percent_from_share)


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One what-if: its name in the address, its key in the scenario and how it is drawn.

    `kind`: slider, steps, box (may be empty), choice, date. `scale` is None where the shown
    unit is the scenario's own.
    """

    name: str
    key: str
    label: str
    group: str
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
        if isinstance(value, float):
            return f"{value:.6g}"
        return str(value)

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
        if self.kind == "choice":
            return self.options().get(value, str(value))
        if self.kind == "date":
            return f"{value.day} {value:%B %Y}"
        return f"{value:.6g}"


def _profiles() -> dict[str, str]:
    return {key: load_profile(key).name for key in list_profiles()}


def _units() -> dict[str, str]:
    named = {key: one.name for key, one in presets("units").items()}
    return {NO_UNIT: "No added unit", **named, OWN: "Own values"}


def _vehicles() -> dict[str, str]:
    return {**{key: one.name for key, one in presets("vehicles").items()}, OWN: "Own values"}


def _climates() -> dict[str, str]:
    return {key: one.name for key, one in presets("climates").items()}


def _supplies() -> dict[str, str]:
    return {"switching": "switching (constant power)", "linear": "linear (constant current)"}


def _fuels() -> dict[str, str]:
    return {"petrol": "petrol", "diesel": "diesel"}


_INTERVALS_H: Final = (0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 24.0, 48.0, 168.0)

_ALL: Final = (
    Control(
        name="profile",
        key="battery.profile",
        label="Battery type",
        group="Battery",
        kind="choice",
        options=_profiles,
    ),
    Control(
        name="capacity_ah",
        key="battery.capacity_ah",
        label="Capacity on the label [Ah]",
        group="Battery",
        kind="slider",
        low=20.0,
        high=240.0,
        note="20-hour capacity",
    ),
    Control(
        name="cold_cranking_a",
        key="battery.cold_cranking_a",
        label="Cold cranking current on the label [A]",
        group="Battery",
        kind="box",
        low=10.0,
        high=2500.0,
        step=10.0,
        empty="from the capacity",
        note="Left empty, it is estimated from the capacity and the range grows.",
    ),
    Control(
        name="age_years",
        key="battery.age_years",
        label="Battery age [years]",
        group="Battery",
        kind="slider",
        low=0.0,
        high=12.0,
        step=0.5,
    ),
    Control(
        name="charge_percent",
        key="battery.state_of_charge",
        label="Charge at parking [% of full]",
        group="Battery",
        kind="slider",
        low=10.0,
        high=100.0,
        scale=_PER_CENT,
    ),
    Control(
        name="resting_v",
        key="battery.resting_voltage_v",
        label="Resting voltage [V]",
        group="Battery",
        kind="slider",
        low=11.5,
        high=13.0,
        step=0.01,
        fallback=12.5,
        note="Read after at least 4 h of rest, better overnight.",
    ),
    Control(
        name="unit", key="unit", label="Added unit", group="Unit", kind="choice", options=_units
    ),
    Control(
        name="interval_h",
        key="unit.report_interval_h",
        label="Time between reports [h]",
        group="Unit",
        kind="steps",
        steps=_INTERVALS_H,
        fallback=1.0,
    ),
    Control(
        name="sleep_ma",
        key="unit.sleep_a",
        label="Sleep current [mA]",
        group="Unit",
        kind="slider",
        low=0.0,
        high=30.0,
        step=0.1,
        fallback=4.0,
        note="Between events, on the battery side; without what keeps it reachable.",
        scale=_MILLIAMPERES,
    ),
    Control(
        name="report_as",
        key="unit.report_charge_as",
        label="Charge of one report [A·s]",
        group="Unit",
        kind="box",
        low=0.0,
        high=5000.0,
        step=0.5,
        empty="phase by phase, from the preset",
        note="Above the sleep current. 3600 A·s are 1 Ah.",
    ),
    Control(
        name="cutoff_v",
        key="unit.cutoff_v",
        label="Switches itself off below [V]",
        group="Unit",
        kind="box",
        low=6.0,
        high=14.0,
        step=0.1,
        empty="no cut-off",
    ),
    Control(
        name="supply",
        key="unit.supply",
        label="Supply stage",
        group="Unit",
        kind="choice",
        options=_supplies,
        fallback="switching",
    ),
    Control(
        name="vehicle",
        key="vehicle",
        label="Vehicle",
        group="Vehicle",
        kind="choice",
        options=_vehicles,
    ),
    Control(
        name="quiescent_ma",
        key="vehicle.quiescent_a",
        label="Quiescent current of the vehicle [mA]",
        group="Vehicle",
        kind="slider",
        low=0.0,
        high=150.0,
        note="Once every control unit sleeps, without the added unit.",
        scale=_MILLIAMPERES,
    ),
    Control(
        name="engine_litres",
        key="vehicle.engine_litres",
        label="Engine [l]",
        group="Vehicle",
        kind="slider",
        low=0.8,
        high=8.0,
        step=0.1,
    ),
    Control(
        name="fuel",
        key="vehicle.fuel",
        label="Fuel",
        group="Vehicle",
        kind="choice",
        options=_fuels,
    ),
    Control(
        name="climate",
        key="site.climate",
        label="Climate",
        group="Place",
        kind="choice",
        options=_climates,
        fallback="temperate",
    ),
    Control(
        name="temperature_c",
        key="site.temperature_c",
        label="Constant temperature [°C]",
        group="Place",
        kind="slider",
        low=-30.0,
        high=45.0,
        fallback=10.0,
    ),
    Control(
        name="parked_from",
        key="site.parked_from",
        label="Parked on",
        group="Place",
        kind="date",
        fallback=dt.date(2026, 12, 1),
    ),
    Control(
        name="start_hour",
        key="site.start_hour",
        label="Hour of the start [h]",
        group="Place",
        kind="slider",
        low=0,
        high=23,
        whole=True,
    ),
    Control(
        name="horizon_days",
        key="run.horizon_days",
        label="Look ahead [days]",
        group="Place",
        kind="slider",
        low=14,
        high=730,
        whole=True,
    ),
)

CONTROLS: Final = {control.name: control for control in _ALL}
PRESETS: Final = ("unit", "vehicle")  # a choice that replaces a whole table
EITHER: Final = {  # one of each pair may be given
    "charge_percent": "resting_v",
    "resting_v": "charge_percent",
    "climate": "temperature_c",
    "temperature_c": "climate",
}
# Known rather than assumed, each of these narrows the range.
KNOWABLE: Final = ("capacity_ah", "age_years", "charge_percent", "quiescent_ma", "sleep_ma")
