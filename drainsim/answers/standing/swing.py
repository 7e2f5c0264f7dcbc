"""Which input the answer depends on most: one at a time, from its 10 % to its 90 % value."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import INPUTS, normal_quantile
from drainsim.simulation.lanes import Lanes, lanes_from_draws, nominal_draws
from drainsim.units import ma_from_a
from drainsim.vehicle.case import Case

# What each input is called, and what would pin it down.
LABELS: Final = {
    "state_of_charge": ("charge at parking", "read the resting voltage before parking"),
    "capacity_health": ("battery capacity left", "have the capacity tested"),
    "cranking_health": ("cranking current left", "have the cold cranking current tested"),
    "quiescent_a": ("vehicle quiescent current", "measure the key-off current after sleep"),
    "unit_a": ("unit's draw", "measure the unit's mean current over whole reports"),
    "self_discharge": ("self-discharge", "a rest with the battery disconnected would show it"),
    "demand": ("cranking demand of the engine", "measure the starter current"),
    "low_charge": (
        "charge at which cranking collapses",
        "no simple measurement; keep a reserve",
    ),
    "season": ("warmth of the season", "name the place's own temperatures"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Days to no-start with one input at either end of its range; None is past the horizon."""

    name: str
    label: str
    advice: str
    low_value: str
    high_value: str
    days_at_low: float | None
    days_at_high: float | None
    swing_days: float

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {
            "name": self.name,
            "label": self.label,
            "low_value": self.low_value,
            "high_value": self.high_value,
            "days_at_low": self.days_at_low,
            "days_at_high": self.days_at_high,
            "swing_days": self.swing_days,
            "measure_next": self.advice,
        }


def varied_inputs(case: Case) -> list[str]:
    """Return the inputs that have any spread in this case."""
    spreads = case.spreads
    sizes = {
        "state_of_charge": spreads.state_of_charge_sd,
        "capacity_health": spreads.capacity_health_sd,
        "cranking_health": spreads.cranking_health_sd,
        "quiescent_a": spreads.quiescent_sigma,
        "unit_a": spreads.unit_sigma,
        "self_discharge": spreads.self_discharge_sigma,
        "demand": spreads.demand_sigma,
        "low_charge": spreads.low_charge_sd,
        "season": spreads.season_sd_c,
    }
    return [name for name in INPUTS if sizes[name] > 0.0]


def swing_lanes(case: Case, names: list[str]) -> tuple[Lanes, FloatArray]:
    """Return lanes (nominal, then low and high of each input) and their season draws."""
    count = 1 + 2 * len(names)
    z = nominal_draws(count)
    varied = {name: np.zeros(count) for name in names}
    low, high = normal_quantile([0.1, 0.9])
    for number, name in enumerate(names):
        z[name][1 + 2 * number] = low
        z[name][2 + 2 * number] = high
        varied[name][1 + 2 * number : 3 + 2 * number] = 1.0
    return lanes_from_draws(case, z, varied=varied), z["season"]


def swings(
    case: Case, names: list[str], lanes: Lanes, season_z: FloatArray, no_start_h: FloatArray
) -> tuple[Swing, ...]:
    """Return the swings, largest first, from the hours at which each lane failed."""
    days = no_start_h / 24.0
    found = []
    for number, name in enumerate(names):
        low, high = 1 + 2 * number, 2 + 2 * number
        bounded = np.minimum(days[[low, high]], float(case.horizon_days))
        label, advice = LABELS[name]
        found.append(
            Swing(
                name=name,
                label=label,
                advice=advice,
                low_value=_shown(case, name, lanes, season_z, low),
                high_value=_shown(case, name, lanes, season_z, high),
                days_at_low=_or_none(days[low]),
                days_at_high=_or_none(days[high]),
                swing_days=float(abs(bounded[1] - bounded[0])),
            )
        )
    return tuple(sorted(found, key=lambda swing: -swing.swing_days))


def _or_none(days: float) -> float | None:
    return float(days) if np.isfinite(days) else None


def _shown(case: Case, name: str, lanes: Lanes, season_z: FloatArray, lane: int) -> str:
    """Return an input's value in a lane, with its unit."""
    if name == "state_of_charge":
        return f"{100 * lanes.start_ah[lane] / lanes.full_ah[lane]:.0f} %"
    if name == "capacity_health":
        return f"{lanes.full_ah[lane]:.0f} Ah"
    if name == "cranking_health":
        return f"{case.vehicle.demand_a / lanes.need[lane]:.0f} A"
    if name == "quiescent_a":
        return f"{ma_from_a(lanes.quiescent_a[lane]):.0f} mA"
    if name == "unit_a":
        return f"{ma_from_a(case.unit.normal_current_a * lanes.unit_factor[lane]):.1f} mA"
    if name == "self_discharge":
        return f"{100 * -np.expm1(-24.0 * lanes.loss_per_h[lane]):.2f} %/day at 25 °C"
    if name == "demand":
        warm_a = lanes.need[lane] * case.battery.cold_cranking_a * case.battery.cranking_health
        return f"{warm_a:.0f} A warm"
    if name == "low_charge":
        return f"{100 * lanes.low_charge_shift[lane]:+.0f} % of charge"
    return f"{case.spreads.season_sd_c * season_z[lane]:+.1f} K"
