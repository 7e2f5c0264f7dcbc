"""More draw or age never helps, a charger or a heater never harms: in every family of vehicle.

Laws of the trade, no source needed; the same draws stand both times, so that no risk may move the
wrong way by more than the few draws that lie on the limit.
"""

import random
from typing import Any, Final

import numpy as np
import pytest

from drainsim.answers.storage.risk import StandQuestion, risk_by_day
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_DAYS: Final = 150
_CHANCE: Final = 0.02  # of the draws
_PROFILES: Final = (
    "flooded_calcium",
    "flooded_antimony",
    "enhanced_flooded",
    "agm",
    "gel",
    "lithium_iron_phosphate_12v",
)
_SYSTEMS: Final = ("12V", "24V", "parallel", "auxiliary")
_KINDS: Final = ("engine", "hybrid", "electric", "trailer")
_CLIMATES: Final = ("temperate", "subarctic", "continental", "hot_desert")


def _risks(scenario: Scenario) -> FloatArray:
    return risk_by_day(StandQuestion(scenario=scenario, days=_DAYS).stand())


def _vehicle(number: int) -> dict[str, Any]:
    """Return a vehicle of some family, no charger yet."""
    rng = random.Random(f"law {number}")
    system = _SYSTEMS[number % len(_SYSTEMS)]
    battery = {
        "profile": _PROFILES[number % len(_PROFILES)],
        "capacity_ah": rng.choice((36, 60, 110, 180)),
        "age_years": rng.choice((0, 2, 5)),
        "state_of_charge": rng.choice((0.7, 0.85, 1.0)),
        "system": system,
    }
    if system == "auxiliary":
        battery["second_capacity_ah"] = 80
    return {
        "battery": battery,
        "vehicle": {
            "quiescent_a": rng.choice((0.01, 0.03, 0.1)),
            "engine_litres": rng.choice((1.2, 2.0, 3.0)),
            "fuel": rng.choice(("petrol", "diesel")),
            "kind": rng.choice(_KINDS),
        },
        "unit": {"sleep_a": rng.choice((0.001, 0.004)), "report_interval_h": rng.choice((1, 24))},
        "site": {"climate": rng.choice(_CLIMATES)},
        "run": {"draws": 200},
    }


@pytest.mark.parametrize("number", range(12))
def test_what_burdens_never_helps_and_what_helps_never_burdens(number: int) -> None:
    """On no day of the stand, in no climate, with no kind of battery."""
    scenario = scenario_from_dict(_vehicle(number))
    before = _risks(scenario)
    assert 0.0 <= before.min() <= before.max() <= 1.0
    worse = (
        {"vehicle.quiescent_a": 1.3 * scenario.get(VEHICLE.quiescent_a)},
        {"unit.sleep_a": scenario.get(UNIT.sleep_a) + 0.005},
        {"battery.state_of_charge": scenario.get(BATTERY.state_of_charge) - 0.1},
        {"battery.age_years": scenario.get(BATTERY.age_years) + 2},
    )
    better: tuple[dict[str, Any], ...] = (
        {"vehicle.block_heater_k": 30},
        {"vehicle.battery_heater_k": 15},
        {"battery.capacity_ah": 1.3 * scenario.get(BATTERY.capacity_ah)},
        {"maintainer.current_a": 1.0},
        {"solar.panel_w": 20, "solar.latitude_deg": 45},
    )
    for sign, changes in ((-1.0, worse), (1.0, better)):
        for change in changes:
            moved = sign * (_risks(scenario.with_values(change)) - before)
            assert moved.max() <= _CHANCE, (change, int(np.argmax(moved)))
