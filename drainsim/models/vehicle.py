"""The vehicle: what it draws parked, and what its engine asks of the battery."""

from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.models.ledger import Ledger
from drainsim.models.presets import preset
from drainsim.physics.cranking import engine_demand_a
from drainsim.physics.load import average_current_a
from drainsim.units import SECONDS_PER_HOUR

# Workshop manuals: > 100 mA to some amperes for 2 to 45 min until the networks sleep; these
# two stages are common practice, no source.
_KEY_OFF: Final = (
    {"duration_s": 300.0, "current_a": 3.0},
    {"duration_s": 1500.0, "current_a": 0.3},
)
_DEFAULT_QUIESCENT_A: Final = 0.030
_QUIESCENT_SOURCE: Final = "workshop manuals 1997 to 2023 print limits of 25 to 50 mA"
_DEFAULT_LITRES: Final = 2.0
_MINIMUM_V: Final = 7.5
_MINIMUM_SOURCE: Final = "voltage kept by a battery at its EN 50342-1 rating (secondary source)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """Loads and starting demand; currents in A, `demand_a` for the warm engine (26.7 °C)."""

    quiescent_a: float
    wake_up_a: float  # mean of recurring wake-ups above quiescent
    key_off_ah: float  # charge of the key-off sequence above quiescent
    other_a: float
    engine_litres: float
    diesel: bool
    demand_a: float
    minimum_cranking_v: float
    quiescent_sigma: float
    demand_sigma: float


def vehicle_from_scenario(ledger: Ledger) -> Vehicle:
    """Return the vehicle a scenario describes.

    Raises
    ------
    ScenarioError
        If wake-ups overlap.
    """
    scenario = ledger.scenario
    chosen = scenario.get("vehicle", "preset")
    start = preset("vehicles", chosen, where="vehicle.preset") if chosen else None
    if start:
        ledger.note("vehicle.preset", chosen, "", "given", f"{start.name}; {start.source}")

    def take(key: str, unit: str, default: Any, source: str) -> tuple[Any, str]:
        return ledger.take("vehicle", key, unit, default=default, source=source, preset=start)

    quiescent_a, quiescent_origin = take(
        "quiescent_a", "A", _DEFAULT_QUIESCENT_A, _QUIESCENT_SOURCE
    )
    litres, _ = take("engine_litres", "l", _DEFAULT_LITRES, "common practice, no source")
    fuel, _ = take("fuel", "", "petrol", "common practice, no source")
    stages, _ = take(
        "key_off_stages",
        "",
        list(_KEY_OFF),
        "common practice, no source, within workshop manuals",
    )
    wake_ups, _ = take("wake_ups", "", [], "no recurring wake-ups known")
    minimum_v, _ = take("minimum_cranking_v", "V", _MINIMUM_V, _MINIMUM_SOURCE)
    demand_a = scenario.get("vehicle", "cranking_demand_a")
    if demand_a is None:
        demand_a = float(engine_demand_a(litres, diesel=fuel == "diesel"))
        source = "textbook limits of starter current by engine size, room temperature"
        ledger.note("vehicle.cranking_demand_a", demand_a, "A", "estimated", source)
        demand_sigma = 0.20
    else:
        ledger.note("vehicle.cranking_demand_a", demand_a, "A", "given")
        demand_sigma = 0.10
    return Vehicle(
        quiescent_a=quiescent_a,
        wake_up_a=_wake_up_a(scenario.where, wake_ups, quiescent_a),
        key_off_ah=sum(
            stage["duration_s"] * max(stage["current_a"] - quiescent_a, 0.0) for stage in stages
        )
        / SECONDS_PER_HOUR,
        other_a=_others_a(ledger),
        engine_litres=litres,
        diesel=fuel == "diesel",
        demand_a=demand_a,
        minimum_cranking_v=minimum_v,
        quiescent_sigma={"given": 0.10, "measured": 0.05}.get(quiescent_origin, 0.35),
        demand_sigma=demand_sigma,
    )


def _wake_up_a(where: str, wake_ups: list[dict[str, float]], quiescent_a: float) -> float:
    """Return the mean current of all wake-ups above the quiescent current."""
    mean = 0.0
    for index, wake in enumerate(wake_ups):
        if wake["duration_s"] > wake["every_h"] * SECONDS_PER_HOUR:
            raise ScenarioError(
                f"{where}: vehicle.wake_ups[{index + 1}] lasts {wake['duration_s']:g} s but comes "
                f"every {wake['every_h']:g} h; a wake-up must end before the next"
            )
        extra_as = wake["duration_s"] * (wake["current_a"] - quiescent_a)
        mean = float(average_current_a(mean, charge_as=max(extra_as, 0.0), every_h=wake["every_h"]))
    return mean


def _others_a(ledger: Ledger) -> float:
    """Return the sum of other loads, negative when they charge."""
    total = 0.0
    for entry in ledger.scenario.tables.get("other", []):
        ledger.note(f"other.{entry['name']}", entry["current_a"], "A", "given")
        total += entry["current_a"]
    return total
