"""The vehicle: what it draws parked, and what its engine asks of the battery."""

from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.files.presets import preset
from drainsim.physics.load import average_current_a
from drainsim.units import SECONDS_PER_HOUR, ah_from_as
from drainsim.vehicle.kind import KINDS, high_voltage_caution, key_off_default, usual_demand_a
from drainsim.vehicle.ledger import Ledger

_DEFAULT_QUIESCENT_A: Final = 0.030
_QUIESCENT_SOURCE: Final = "workshop manuals 1997 to 2023 print limits of 25 to 50 mA"
# Logarithmic spreads by how a value is known: common practice, no source.
_QUIESCENT_SIGMA: Final = {"given": 0.10, "measured": 0.05}
_GUESSED_QUIESCENT_SIGMA: Final = 0.35
_ESTIMATED_DEMAND_SIGMA: Final = 0.20
_GIVEN_DEMAND_SIGMA: Final = 0.10


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
    kind: str = "engine"

    @property
    def starts(self) -> bool:
        """Whether someone will want to start it; a trailer only feeds its unit."""
        return self.kind != "trailer"

    @property
    def turns_engine(self) -> bool:
        """Whether starting means turning an engine over, which cold oil makes harder."""
        return self.kind in {"engine", "motorcycle"}


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

    kind, _ = take("kind", "", "engine", "a vehicle with a starter")
    usual = KINDS[kind]
    quiescent_a, quiescent_origin = take(
        "quiescent_a",
        "A",
        _DEFAULT_QUIESCENT_A if usual.quiescent_a is None else usual.quiescent_a,
        usual.quiescent_source or _QUIESCENT_SOURCE,
    )
    litres, _ = take("engine_litres", "l", usual.litres, "common practice, no source")
    fuel, _ = take("fuel", "", "petrol", "common practice, no source")
    stages, _ = take(
        "key_off_stages",
        "",
        key_off_default(kind),
        "common practice, no source, within workshop manuals",
    )
    wake_ups, _ = take("wake_ups", "", [], "no recurring wake-ups known")
    minimum_v = scenario.get("vehicle", "minimum_cranking_v")  # of a 24 V system: see system.py
    if minimum_v is None or scenario.get("battery", "system") != "24V":
        minimum_v, _ = take("minimum_cranking_v", "V", usual.minimum_v, usual.minimum_source)
    caution = high_voltage_caution(kind)
    if caution:
        ledger.warn(caution)
    demand_a, demand_sigma = _demand(ledger, kind, litres, diesel=fuel == "diesel")
    _warn_of_low_currents(ledger, stages, wake_ups, quiescent_a)
    return Vehicle(
        quiescent_a=quiescent_a,
        wake_up_a=_wake_up_a(scenario.where, wake_ups, quiescent_a),
        key_off_ah=ah_from_as(
            sum(
                stage["duration_s"] * max(stage["current_a"] - quiescent_a, 0.0) for stage in stages
            )
        ),
        other_a=_others_a(ledger),
        engine_litres=litres,
        diesel=fuel == "diesel",
        demand_a=demand_a,
        minimum_cranking_v=minimum_v,
        quiescent_sigma=_QUIESCENT_SIGMA.get(quiescent_origin, _GUESSED_QUIESCENT_SIGMA),
        demand_sigma=demand_sigma,
        kind=kind,
    )


def _demand(ledger: Ledger, kind: str, litres: float, *, diesel: bool) -> tuple[float, float]:
    """Return the starting current of the warm engine [A] and its logarithmic spread."""
    scenario = ledger.scenario
    given_a = scenario.get("vehicle", "cranking_demand_a")
    if given_a is not None:
        ledger.note("vehicle.cranking_demand_a", given_a, "A", "given")
        return float(given_a), _GIVEN_DEMAND_SIGMA
    demand_a, source = usual_demand_a(kind, litres, diesel=diesel)
    if scenario.get("battery", "system") == "24V" and kind == "engine":
        demand_a, source = 0.5 * demand_a, f"{source}; half at 24 V for the same power"
    ledger.note("vehicle.cranking_demand_a", demand_a, "A", "estimated", source)
    return demand_a, _ESTIMATED_DEMAND_SIGMA


def _warn_of_low_currents(
    ledger: Ledger,
    stages: list[dict[str, float]],
    wake_ups: list[dict[str, float]],
    quiescent_a: float,
) -> None:
    """Warn of currents awake below the one asleep: they count as no more than that."""
    for key, entries in (("key_off_stages", stages), ("wake_ups", wake_ups)):
        for number, entry in enumerate(entries, start=1):
            if entry["current_a"] < quiescent_a:
                ledger.warn(
                    f"vehicle.{key}[{number}].current_a = {entry['current_a']:g} A is below the "
                    f"quiescent {quiescent_a:g} A and counts as that; give the vehicle's whole "
                    "current meanwhile"
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
        if entry.get("fed_from") == "auxiliary":
            continue  # belongs to the auxiliary battery: see system.py
        ledger.note(f"other.{entry['name']}", entry["current_a"], "A", "given")
        total += entry["current_a"]
    return total
