"""The vehicle: what it draws parked, and what its engine asks of the battery."""

import math
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.files.presets import preset
from drainsim.physics.load import average_current_a
from drainsim.physics.oil import ENGINE_SD_K, GRADE_STEP_K, WITHIN_GRADE_SD_K, warm_oil_factor
from drainsim.units import SECONDS_PER_HOUR, ah_from_as
from drainsim.vehicle.kind import (
    KINDS,
    high_voltage_caution,
    key_off_default,
    usual_demand_a,
    usual_oil,
)
from drainsim.vehicle.ledger import Ledger

# Any vehicle: a trade rule accepts 20 to 75 mA, a training institute prints under 50 mA for older
# cars and 50 to 85 mA for newer ones (2021). The middle of 20 to 85 mA on a logarithmic scale, and
# the spread whose 10 and 90 % lie there.
_DEFAULT_QUIESCENT_A: Final = 0.040
_QUIESCENT_SOURCE: Final = "trade rule 20 to 75 mA; training institute 2021: newer cars 50 to 85 mA"
_GUESSED_QUIESCENT_SIGMA: Final = 0.55
# Logarithmic spreads where it is known better: common practice, no source.
_QUIESCENT_SIGMA: Final = {"given": 0.10, "measured": 0.05, "preset": 0.35}
# 8 in 10 engines of 2 litres within 96 to 177 A: textbook limits of 4 cylinders: 100 to 185 A.
_ESTIMATED_DEMAND_SIGMA: Final = 0.24
_GIVEN_DEMAND_SIGMA: Final = 0.10
# Heavy engines at 24 V, warm: 12.8 l then ask 1,070 A at -18 °C with 15W-40. A trade article
# on heavy starters prints "well over 1,000 A" cold; the textbook line above ends at 8 cylinders.
_HEAVY_24V_A_PER_LITRE: Final = 33.0
# Where nobody looked at the oil it is often a grade thicker or thinner: common practice, no source.
_OIL_SD_K: Final = math.hypot(WITHIN_GRADE_SD_K, ENGINE_SD_K)
_GUESSED_OIL_SD_K: Final = math.hypot(_OIL_SD_K, 0.8 * GRADE_STEP_K)


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
    oil: str | None = None  # SAE grade; None where no engine is turned
    oil_sd_k: float = 0.0  # how many kelvins thicker or thinner than that grade's middle
    block_heater_k: float = 0.0
    battery_heater_k: float = 0.0

    @property
    def starts(self) -> bool:
        """Whether someone will want to start it; a trailer only feeds its unit."""
        return self.kind != "trailer"

    @property
    def turns_engine(self) -> bool:
        """Whether starting means turning an engine over, which cold oil makes harder."""
        return self.kind in _TURNED


_TURNED: Final = frozenset({"engine", "motorcycle"})


def vehicle_from_scenario(ledger: Ledger, *, coldest_c: float | None = None) -> Vehicle:
    """Return the vehicle a scenario describes.

    Parameters
    ----------
    ledger : Ledger
    coldest_c : float, optional
        A cold night of the place, which the usual oil goes by. [°C]

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
    oil, oil_sd_k = None, 0.0
    if kind in _TURNED:
        oil, origin = take(
            "oil_grade",
            "",
            usual_oil(kind, litres, diesel=fuel == "diesel", coldest_c=coldest_c),
            "usual by fuel, engine size and cold nights; common practice, no source",
        )
        oil_sd_k = _OIL_SD_K if origin in {"given", "measured"} else _GUESSED_OIL_SD_K
    heaters = _heaters(ledger, kind)
    demand_a, demand_sigma = _demand(ledger, kind, litres, diesel=fuel == "diesel", oil=oil)
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
        oil=oil,
        oil_sd_k=oil_sd_k,
        block_heater_k=heaters[0],
        battery_heater_k=heaters[1],
    )


def _heaters(ledger: Ledger, kind: str) -> tuple[float, float]:
    """Return how much warmer than the air heaters on mains keep oil and battery. [K]."""
    found = []
    for key, serves in (("block_heater_k", kind in _TURNED), ("battery_heater_k", True)):
        kelvins = ledger.scenario.get("vehicle", key) or 0.0
        if kelvins and not serves:
            ledger.warn(f"vehicle.{key} is not used: a vehicle of kind {kind!r} turns no engine")
            kelvins = 0.0
        if kelvins:
            ledger.note(f"vehicle.{key}", kelvins, "K", "given")
        found.append(float(kelvins))
    if any(found):
        ledger.warn(
            "heaters: the answer counts on mains power for 3 to 4 hours before every start; "
            "without it expect the answer without heaters. Freezing is judged unheated"
        )
    return found[0], found[1]


def _demand(
    ledger: Ledger, kind: str, litres: float, *, diesel: bool, oil: str | None
) -> tuple[float, float]:
    """Return the starting current of the warm engine [A] and its logarithmic spread."""
    scenario = ledger.scenario
    given_a = scenario.get("vehicle", "cranking_demand_a")
    if given_a is not None:
        ledger.note("vehicle.cranking_demand_a", given_a, "A", "given")
        return float(given_a), _GIVEN_DEMAND_SIGMA
    demand_a, source = usual_demand_a(kind, litres, diesel=diesel)
    if oil is not None and kind == "engine":
        demand_a *= warm_oil_factor(oil)
        source = f"{source}, with {oil}"
    if scenario.get("battery", "system") == "24V" and kind == "engine":
        half_a, heavy_a = 0.5 * demand_a, _HEAVY_24V_A_PER_LITRE * litres
        demand_a = max(half_a, heavy_a)
        if heavy_a > half_a:
            source = "heavy 24 V starters take well over 1,000 A cold: a trade article"
        else:
            source = f"{source}; half at 24 V for the same power"
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
