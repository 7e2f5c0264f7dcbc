"""One label, one consistent battery: whatever is printed or measured fixes the rest.

The default vehicle is an average one in a temperate winter, three years old, 85 % charged: a
default must not sit at the optimistic end. All label values given are weighed together. Cranking
health is share^((age/life)²), capacity falls evenly: starting batteries keep cranking current
nearly to the end while capacity fades.
"""

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

from drainsim.errors import OutOfRangeError, ScenarioError
from drainsim.files.profile import BatteryProfile
from drainsim.physics.ageing import health_after_years, service_life_at_years
from drainsim.physics.capacity import (
    KineticParameters,
    capacity_from_reserve_ah,
    kinetic_from_label,
    reserve_from_capacity_min,
    reserve_range_min,
)
from drainsim.physics.cranking import RATING_C, rating_to_30s_a
from drainsim.vehicle.ledger import Ledger
from drainsim.vehicle.starting_charge import StartingCharge, resting_v, starting_charge

_DEFAULT_AGE_YEARS: Final = 3.0  # an average fleet battery: common practice, no source
_COMMON_PRACTICE: Final = "common practice, no source"
# Relative standard deviations of a capacity that was not printed. From reserve capacity: four
# full labels of car batteries miss the rule by 4 %, four published rules differ by 3 %, garden
# tractor sizes miss it by up to 30 %. From the engine and of a label: common practice, no source.
_FROM_RESERVE_SD: Final = 0.08
# A current from reserve capacity alone: batteries of one capacity trade minutes for amperes. 12
# catalogue pairs of minutes and amperes miss by 0.18 (logarithmic, -35 to +36 %), of which the
# capacity's and the ratio's spreads explain 0.14.
_MINUTES_FOR_AMPERES_SD: Final = 0.12
_FROM_ENGINE_SD: Final = 0.20
_LABEL_SD: Final = 0.05
# Above this size cold cranking current grows more slowly than capacity: from memory.
_HEAVY_AH: Final = 100.0
_HEAVY_EXPONENT: Final = 0.7
_RESERVE_SLACK: Final = 0.15  # published conversions differ by as much at truck sizes
_LARGEST_AH: Final = 400.0  # as the scenario's own limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """A battery as fitted: new label values, what age left of them, and how well we know it.

    Label values are for the new battery: `capacity_ah` at the 20 h rate, 25 °C;
    `cold_cranking_a` after 30 s at -18 °C and 7.2 V, whatever the label's standard.
    """

    profile: BatteryProfile
    capacity_ah: float
    reserve_capacity_min: float
    cold_cranking_a: float
    kinetic: KineticParameters
    capacity_health: float
    cranking_health: float
    start: StartingCharge
    capacity_health_sd: float
    cranking_health_sd: float

    @property
    def state_of_charge(self) -> float:
        """Share of full at parking."""
        return self.start.charge

    @property
    def full_charge_ah(self) -> float:
        """Charge this battery gives at milliamperes when full, at its age. [Ah]."""
        return self.kinetic.low_rate_capacity_ah * self.capacity_health


def usual_capacity_ah(engine_litres: float, *, diesel: bool) -> float:
    """Return the capacity usually fitted to an engine. [Ah].

    Common practice, no source: 45 Ah + 7.5 Ah per litre, for diesels 10 Ah + 5 Ah per litre
    more. A retailer's usual cold cranking currents by cylinders at 9 A per Ah agree for petrol.

    Examples
    --------
    >>> usual_capacity_ah(2.0, diesel=False), usual_capacity_ah(2.0, diesel=True)
    (60.0, 80.0)
    """
    petrol = 45.0 + 7.5 * engine_litres
    return min(petrol + (10.0 + 5.0 * engine_litres if diesel else 0.0), 225.0)


def usual_cold_cranking_a(capacity_ah: float, *, per_ah: float) -> float:
    """Return the cold cranking current usually printed beside a capacity. [A].

    Proportional up to 100 Ah; heavy-duty sizes carry less per Ah (180 to 225 Ah about 5 to
    6 A/Ah): from memory.

    Examples
    --------
    >>> usual_cold_cranking_a(60.0, per_ah=9.0)
    540.0
    """
    return float(per_ah * capacity_ah * min(1.0, (_HEAVY_AH / capacity_ah) ** _HEAVY_EXPONENT))


def capacity_from_cold_cranking_ah(
    cold_cranking_a: float, *, per_ah: float, spread: float
) -> tuple[float, float]:
    """Return the capacity that goes with a 30 s current [Ah] and its relative spread.

    Proportional throughout, which is what a current printed alone means: labels without ampere
    hours are those of cars and of heavy sizes of about 100 Ah and 1,000 A. Above 100 Ah a truck's
    battery of the same current may be larger by the bend of `usual_cold_cranking_a`: the capacity
    stays on the small, cautious side and half of that gap widens the spread.

    Examples
    --------
    >>> capacity_from_cold_cranking_ah(540.0, per_ah=9.0, spread=0.12)
    (60.0, 0.12)
    >>> ah, sd = capacity_from_cold_cranking_ah(1000.0, per_ah=9.0, spread=0.12)
    >>> round(ah), round(sd, 2)
    (111, 0.17)
    """
    plain_ah = cold_cranking_a / per_ah
    bend = _HEAVY_EXPONENT / (1.0 - _HEAVY_EXPONENT)
    truck = bend * math.log(max(1.0, plain_ah / _HEAVY_AH))
    return plain_ah, math.hypot(spread, 0.5 * truck)


def battery_from_scenario(
    ledger: Ledger,
    profile: BatteryProfile,
    *,
    engine_litres: float,
    diesel: bool,
    life_temperature_c: float,
    usual_ah: float | None = None,
    cranking_per_ah: float | None = None,
    cranking_spread: float | None = None,
) -> Battery:
    """Return the battery a scenario's label values describe.

    Raises
    ------
    ScenarioError
        If label values contradict each other or a measured voltage fits no healthy battery.
    """
    if usual_ah is None:
        usual_ah = usual_capacity_ah(engine_litres, diesel=diesel)
    ratio = _Ratio(
        per_ah=max(profile.number("cold_cranking_a_per_ah"), cranking_per_ah or 0.0),
        spread=cranking_spread or profile.number("cold_cranking_spread"),
        source=profile.provenance("cold_cranking_a_per_ah")
        if cranking_per_ah is None
        else f"{cranking_per_ah:g} A/Ah, the middle of labels of small batteries",
    )
    capacity_ah, capacity_sd = _capacity(ledger, profile, usual_ah, ratio)
    cold_cranking_a, cranking_sd = _cold_cranking(ledger, profile, capacity_ah, capacity_sd, ratio)
    reserve_min = _reserve(ledger, profile, capacity_ah)
    try:
        kinetic = kinetic_from_label(
            capacity_ah=capacity_ah,
            reserve_capacity_min=reserve_min,
            low_rate_gain=profile.number("low_rate_gain"),
        )
    except OutOfRangeError as error:
        raise ScenarioError(f"{ledger.scenario.where}: battery.{error}") from None
    capacity_health, cranking_health, health_sds = _health(ledger, profile, life_temperature_c)
    start = starting_charge(ledger, profile)
    return Battery(
        profile=profile,
        capacity_ah=capacity_ah,
        reserve_capacity_min=reserve_min,
        cold_cranking_a=cold_cranking_a,
        kinetic=kinetic,
        capacity_health=capacity_health,
        cranking_health=cranking_health,
        start=start,
        capacity_health_sd=math.hypot(health_sds[0], capacity_sd * capacity_health),
        cranking_health_sd=math.hypot(health_sds[1], cranking_sd * cranking_health),
    )


class _Ratio(NamedTuple):
    """Cold cranking current over capacity: usual value [A/Ah], relative spread, where from."""

    per_ah: float
    spread: float
    source: str


def _capacity(
    ledger: Ledger, profile: BatteryProfile, usual_ah: float, ratio: _Ratio
) -> tuple[float, float]:
    """Return (C20, relative sd) from all of the label there is.

    A printed capacity stands as it is. Reserve capacity and cranking current are weighed by the
    inverse of their variances on a logarithmic scale.
    """
    get = ledger.scenario.get
    given = get("battery", "capacity_ah")
    if given is not None:
        ledger.note("battery.capacity_ah", given, "Ah", "given")
        return given, _LABEL_SD
    found: dict[str, tuple[float, float, str]] = {}
    reserve_min = get("battery", "reserve_capacity_min")
    if reserve_min is not None:
        from_reserve_ah = capacity_from_reserve_ah(
            reserve_min,
            factor=profile.number("reserve_minutes_factor"),
            exponent=profile.number("reserve_minutes_exponent"),
        )
        if from_reserve_ah > _LARGEST_AH:
            raise _too_large(ledger, "reserve_capacity_min")
        source = f"from reserve capacity; {profile.provenance('reserve_minutes_factor')}"
        found["reserve_capacity_min"] = float(from_reserve_ah), _FROM_RESERVE_SD, source
    rated_a = get("battery", "cold_cranking_a")
    if rated_a is not None:
        per_ah = ratio.per_ah
        current_a = _rated_30s_a(ledger, profile, rated_a)
        if current_a > usual_cold_cranking_a(_LARGEST_AH, per_ah=per_ah):
            raise _too_large(ledger, "cold_cranking_a")
        ah, sd = capacity_from_cold_cranking_ah(
            current_a,
            per_ah=per_ah,
            spread=ratio.spread,
        )
        source = f"from cold cranking current; {ratio.source}"
        found["cold_cranking_a"] = ah, sd, source
    if not found:
        source = f"usual size for the engine; {_COMMON_PRACTICE}"
        ledger.note("battery.capacity_ah", usual_ah, "Ah", "estimated", source)
        return usual_ah, _FROM_ENGINE_SD
    weights = [sd**-2 for _, sd, _ in found.values()]
    logs = [math.log(ah) for ah, _, _ in found.values()]
    value = math.exp(sum(w * x for w, x in zip(weights, logs, strict=True)) / sum(weights))
    said = "; ".join(source for _, _, source in found.values())
    ledger.note("battery.capacity_ah", value, "Ah", "estimated", said)
    return value, sum(weights) ** -0.5


def _too_large(ledger: Ledger, key: str) -> ScenarioError:
    return ScenarioError(
        f"{ledger.scenario.where}: battery.{key} = {ledger.scenario.get('battery', key):g} is more "
        f"than goes with the {_LARGEST_AH:g} Ah of the largest 12 V battery meant here; check the "
        "label or give battery.capacity_ah"
    )


def _rated_30s_a(ledger: Ledger, profile: BatteryProfile, rated_a: float) -> float:
    """Return the 30 s current behind the label's."""
    standard = ledger.scenario.get("battery", "cranking_standard") or "EN"
    full_cold_v = resting_v(profile, 1.0, RATING_C)
    return rating_to_30s_a(
        rated_a,
        standard=standard,
        full_v=full_cold_v,
        knee_v=profile.number("cranking_knee_v"),
    )


def _cold_cranking(
    ledger: Ledger,
    profile: BatteryProfile,
    capacity_ah: float,
    capacity_sd: float,
    ratio: _Ratio,
) -> tuple[float, float]:
    """Return (30 s cold cranking current, relative sd)."""
    rated_a = ledger.scenario.get("battery", "cold_cranking_a")
    if rated_a is None:
        value = usual_cold_cranking_a(capacity_ah, per_ah=ratio.per_ah)
        source = f"from capacity; {ratio.source}"
        ledger.note("battery.cold_cranking_a", value, "A", "estimated", source)
        get = ledger.scenario.get
        traded = get("battery", "capacity_ah") is None and get("battery", "reserve_capacity_min")
        spread = math.hypot(ratio.spread, capacity_sd)
        return value, math.hypot(spread, _MINUTES_FOR_AMPERES_SD if traded else 0.0)
    standard = ledger.scenario.get("battery", "cranking_standard")
    ledger.note("battery.cold_cranking_a", rated_a, "A", "given")
    ledger.note(
        "battery.cranking_standard",
        standard or "EN",
        "",
        "given" if standard else "default",
        ""
        if standard
        else "usual on labels in Europe; EN and SAE figures differ by a few per cent",
    )
    per_ah = rated_a / capacity_ah
    if not 2.0 <= per_ah <= 25.0:
        ledger.warn(
            f"battery: {rated_a:g} A cold cranking current from {capacity_ah:.0f} Ah is unusual "
            "(starting batteries give about 6 to 14 A per Ah, small ones 15 to 20); check the label"
        )
    return _rated_30s_a(ledger, profile, rated_a), _LABEL_SD


def _reserve(ledger: Ledger, profile: BatteryProfile, capacity_ah: float) -> float:
    """Return the reserve capacity."""
    usual = float(
        reserve_from_capacity_min(
            capacity_ah,
            factor=profile.number("reserve_minutes_factor"),
            exponent=profile.number("reserve_minutes_exponent"),
        )
    )
    low_min, high_min = reserve_range_min(
        capacity_ah=capacity_ah, low_rate_gain=profile.number("low_rate_gain")
    )
    given = ledger.scenario.get("battery", "reserve_capacity_min")
    if given is None:
        source = f"from capacity; {profile.provenance('reserve_minutes_factor')}"
        held = min(max(usual, low_min), high_min)
        if abs(held / usual - 1.0) > 1e-3:
            source += f", {usual:.0f} min held to the nearest a two-well battery can have"
        ledger.note("battery.reserve_capacity_min", held, "min", "estimated", source)
        return held
    ledger.note("battery.reserve_capacity_min", given, "min", "given")
    held = min(max(given, low_min), high_min)
    if held != given and abs(held / given - 1.0) <= _RESERVE_SLACK:
        ledger.warn(
            f"battery: reserve capacity {given:g} min is just outside the {low_min:.0f} to "
            f"{high_min:.0f} min this model knows for {capacity_ah:.0f} Ah; {held:.0f} min is used "
            "(it sets the charge at high rates only, not the days)"
        )
        return float(held)
    if abs(given / usual - 1.0) > 0.25:
        ledger.warn(
            f"battery: reserve capacity {given:g} min and {capacity_ah:.0f} Ah rarely go together "
            f"(about {usual:.0f} min would); check the label"
        )
    return float(given)


def cranking_lateness(profile: BatteryProfile) -> float:
    """Return how late in life cranking current fades; evenly where the profile does not say."""
    return profile.number_or("cranking_lateness", 1.0)


def _health(
    ledger: Ledger, profile: BatteryProfile, life_temperature_c: float
) -> tuple[float, float, tuple[float, float]]:
    """Return capacity and cranking health with their standard deviations."""
    get = ledger.scenario.get
    age = get("battery", "age_years")
    ledger.note(
        "battery.age_years",
        _DEFAULT_AGE_YEARS if age is None else age,
        "years",
        "default" if age is None else "given",
        f"average fleet battery; {_COMMON_PRACTICE}" if age is None else "",
    )
    years = _DEFAULT_AGE_YEARS if age is None else float(age)
    life = service_life_at_years(
        life_temperature_c,
        life_years_at_20c=profile.number("service_life_years"),
        halving_k=profile.number("service_life_halving_k"),
    )
    values, sds = [], []
    for key, share, lateness in (
        ("capacity_health", "capacity_at_end_of_life", 1.0),
        ("cranking_health", "cranking_at_end_of_life", cranking_lateness(profile)),
    ):
        given = get("battery", key)
        given = get("battery", "health") if given is None else given
        if given is not None:
            ledger.note(f"battery.{key}", given, "", "given")
            values.append(float(given))
            sds.append(0.05)
            continue
        estimate = float(
            health_after_years(
                years,
                life_years=life,
                share_at_end_of_life=profile.number(share),
                lateness=lateness,
            )
        )
        source = (
            f"{years:g} years at {life_temperature_c:.0f} °C on average; "
            f"{profile.provenance(share)}"
        )
        ledger.note(f"battery.{key}", estimate, "", "estimated", source)
        values.append(estimate)
        # Batteries of one age differ more the older they are: common practice, no source.
        sds.append(min(0.02 + 0.02 * years, 0.15) if age is not None else 0.10)
    return values[0], values[1], (sds[0], sds[1])
