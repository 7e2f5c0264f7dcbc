"""The vehicle: what it draws parked, and what its engine asks of the battery."""

import math
from dataclasses import dataclass
from typing import Final

from drainsim.errors import ScenarioError
from drainsim.physics.load import average_current_a
from drainsim.physics.oil import (
    ENGINE_SD_K,
    GRADE_STEP_K,
    OIL_GRADES,
    WITHIN_GRADE_SD_K,
    warm_oil_factor,
)
from drainsim.units import SECONDS_PER_HOUR, ah_from_as
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Keys, choice, number, table_of, text, usual
from drainsim.vehicle.kind import (
    KINDS,
    high_voltage_caution,
    key_off_default,
    usual_demand_a,
    usual_for_kinds,
    usual_oil,
)

TURNED: Final = frozenset({"engine", "motorcycle"})  # kinds whose engine a starter turns
_HEATER: Final = "Needs mains for 3 to 4 hours before each start."
# Any vehicle's quiescent current: a trade rule accepts 20 to 75 mA, a training institute prints
# under 50 mA for older cars and 50 to 85 mA for newer ones (2021). The default is the middle of
# 20 to 85 mA on a logarithmic scale, and this the spread whose 10 and 90 % lie there.
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


class STAGE(
    Keys, name="key_off_stages", of="vehicle", repeated=True, required=("duration_s", "current_a")
):
    """What is drawn between key off and sleep, stage by stage."""

    duration_s = number((0, 86400, "s"), "length of the stage", example=300)
    current_a = number((0, 200, "A"), "total vehicle current", example=3.0)


class WAKEUP(
    Keys,
    name="wake_ups",
    of="vehicle",
    repeated=True,
    required=("every_h", "duration_s", "current_a"),
):
    """Recurring wake-ups of the sleeping vehicle."""

    every_h = number((0.002, 10000, "h"), "time between them", example=24)
    duration_s = number((0, 86400, "s"), "length", example=60)
    current_a = number((0, 200, "A"), "total vehicle current meanwhile", example=2.0)


class VEHICLE(Keys, name="vehicle"):
    """The vehicle's own draw and what its engine asks of the battery."""

    preset = text("generic vehicle to start from, see: drainsim profiles", label="Vehicle")
    quiescent_a = number(
        (0, 50, "A"),
        "settled current once everything sleeps",
        **usual(0.040, "trade rule 20 to 75 mA; training institute 2021: newer cars 50 to 85 mA"),
        usual_for=usual_for_kinds("quiescent_a"),
        example=0.03,
        label="Key-off current of the vehicle",
        note="Once every control unit sleeps, without the added unit.",
        column="quiescent_a",
    )
    engine_litres = number(
        (0.05, 16, "l"),
        "swept volume",
        **usual(2.0),
        usual_for=usual_for_kinds("litres"),
        example=2.0,
        label="Engine",
        step=0.1,
        column="engine_litres",
    )
    fuel = choice(
        ("petrol", "diesel"),
        "engine type",
        **usual("petrol"),
        example="petrol",
        label="Fuel",
        column="fuel",
    )
    cranking_demand_a = number(
        (5, 3000, "A"),
        "starter current of the warm engine (27 °C)",
        otherwise="estimated from the engine",
    )
    minimum_cranking_v = number(
        (6, 23, "V"),
        "battery voltage starter and control electronics need",
        **usual(7.5, "voltage kept by a battery at its EN 50342-1 rating (secondary source)"),
        usual_for=usual_for_kinds("minimum_v"),
        otherwise="two in series twice as much",
    )
    oil_grade = choice(
        OIL_GRADES,
        "SAE grade of the engine oil: how much harder the engine turns in the cold",
        otherwise="usual for fuel, engine size and climate",
        source="usual by fuel, engine size and cold nights; common practice, no source",
        example="5W-30",
        label="Engine oil",
        note="On the last service label. Thinner oil starts in deeper cold; the range narrows.",
    )
    block_heater_k = number(
        (0, 80, "K"),
        "how much warmer than the air a block heater on mains keeps engine and oil at a start",
        default=0.0,
        otherwise="no heater",
        label="Block heater, oil warmer than the air by",
        note=_HEATER,
        step=5.0,
    )
    battery_heater_k = number(
        (0, 60, "K"),
        "how much warmer than the air a battery heater on mains keeps the battery at a start",
        default=0.0,
        otherwise="no heater",
        label="Battery heater, battery warmer than the air by",
        note=_HEATER,
        step=5.0,
    )
    kind = choice(
        {name: kind.words for name, kind in KINDS.items()},
        "what the battery must do: turn an engine, close the contactors of a hybrid or "
        "electric vehicle, or only feed the unit of a trailer",
        **usual("engine", "a vehicle with a starter"),
        label="Kind of vehicle",
        note="Another kind starts from its own usual values.",
        column="vehicle_kind",
    )
    key_off_stages = table_of(STAGE, source="common practice, no source, within workshop manuals")
    wake_ups = table_of(WAKEUP, **usual([], "no recurring wake-ups known"))


class OTHER(Keys, name="other", repeated=True, required=("name", "current_a")):
    """Further loads; a negative current is a maintainer."""

    name = text("what it is", example="dash camera")
    current_a = number((-20, 50, "A"), "mean current, negative when it charges", example=0.0)
    fed_from = choice(
        ("starter", "auxiliary"), "battery it is fed from", default="starter", example="starter"
    )


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
    kind: str
    oil: str | None  # SAE grade; None where no engine is turned
    oil_sd_k: float  # how many kelvins thicker or thinner than that grade's middle
    block_heater_k: float
    battery_heater_k: float

    @property
    def starts(self) -> bool:
        """Whether someone will want to start it; a trailer only feeds its unit."""
        return self.kind != "trailer"

    @property
    def turns_engine(self) -> bool:
        """Whether starting means turning an engine over, which cold oil makes harder."""
        return self.kind in TURNED


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
    ledger.start_from(VEHICLE.preset)
    take = ledger.take
    kind = take(VEHICLE.kind)
    usual = KINDS[kind]
    quiescent_a, quiescent_origin = ledger.take_with_origin(
        VEHICLE.quiescent_a, VEHICLE.quiescent_a.usual(kind), usual.quiescent_source
    )
    litres = take(VEHICLE.engine_litres, VEHICLE.engine_litres.usual(kind))
    fuel = take(VEHICLE.fuel)
    stages = take(VEHICLE.key_off_stages, key_off_default(kind))
    wake_ups = take(VEHICLE.wake_ups)
    minimum_v = scenario.get(VEHICLE.minimum_cranking_v)  # of a 24 V system: see system.py
    if minimum_v is None or scenario.get(BATTERY.system) != "24V":
        minimum_v = take(
            VEHICLE.minimum_cranking_v, VEHICLE.minimum_cranking_v.usual(kind), usual.minimum_source
        )
    caution = high_voltage_caution(kind)
    if caution:
        ledger.warn(caution)
    oil, oil_sd_k = None, 0.0
    if kind in TURNED:
        oil, origin = ledger.take_with_origin(
            VEHICLE.oil_grade, usual_oil(kind, litres, diesel=fuel == "diesel", coldest_c=coldest_c)
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
    for heater, serves in (
        (VEHICLE.block_heater_k, kind in TURNED),
        (VEHICLE.battery_heater_k, True),
    ):
        kelvins = ledger.scenario.get_or_default(heater)
        if kelvins and not serves:
            ledger.warn(
                "{heater} is not used: a vehicle of kind {kind} turns no engine",
                heater=str(heater),
                kind=repr(kind),
            )
            kelvins = 0.0
        if kelvins:
            ledger.note(heater, kelvins, "given")
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
    given_a = scenario.get(VEHICLE.cranking_demand_a)
    if given_a is not None:
        ledger.note(VEHICLE.cranking_demand_a, given_a, "given")
        return float(given_a), _GIVEN_DEMAND_SIGMA
    demand_a, source = usual_demand_a(kind, litres, diesel=diesel)
    if oil is not None and kind == "engine":
        demand_a *= warm_oil_factor(oil)
        source = f"{source}, with {oil}"
    if scenario.get(BATTERY.system) == "24V" and kind == "engine":
        half_a, heavy_a = 0.5 * demand_a, _HEAVY_24V_A_PER_LITRE * litres
        demand_a = max(half_a, heavy_a)
        if heavy_a > half_a:
            source = "heavy 24 V starters take well over 1,000 A cold: a trade article"
        else:
            source = f"{source}; half at 24 V for the same power"
    ledger.note(VEHICLE.cranking_demand_a, demand_a, "estimated", source)
    return demand_a, _ESTIMATED_DEMAND_SIGMA


def _warn_of_low_currents(
    ledger: Ledger,
    stages: list[dict[str, float]],
    wake_ups: list[dict[str, float]],
    quiescent_a: float,
) -> None:
    """Warn of currents awake below the one asleep: they count as no more than that."""
    for said, entries in ((VEHICLE.key_off_stages, stages), (VEHICLE.wake_ups, wake_ups)):
        for place, entry in enumerate(entries, start=1):
            if entry["current_a"] < quiescent_a:
                ledger.warn(
                    "{said}[{place}].current_a = {current_a:g} A is below the quiescent "
                    "{quiescent_a:g} A and counts as that; give the vehicle's whole current "
                    "meanwhile",
                    said=str(said),
                    place=place,
                    current_a=entry["current_a"],
                    quiescent_a=quiescent_a,
                )


def _wake_up_a(where: str, wake_ups: list[dict[str, float]], quiescent_a: float) -> float:
    """Return the mean current of all wake-ups above the quiescent current. [A]."""
    mean = 0.0
    for index, wake in enumerate(wake_ups):
        if wake["duration_s"] > wake["every_h"] * SECONDS_PER_HOUR:
            raise ScenarioError(
                f"{where}: {VEHICLE.wake_ups}[{index + 1}] lasts {wake['duration_s']:g} s but "
                f"comes every {wake['every_h']:g} h; a wake-up must end before the next"
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
        ledger.note(f"other.{entry['name']}", entry["current_a"], "given", unit="A")
        total += entry["current_a"]
    return total
