"""What a battery's label says, and what it leaves to be estimated."""

import math
from typing import Final, NamedTuple

from drainsim.errors import ScenarioError
from drainsim.files.profile import BatteryProfile
from drainsim.physics.capacity import (
    capacity_from_reserve_ah,
    reserve_from_capacity_min,
    reserve_range_min,
)
from drainsim.physics.cranking import RATING_C, rating_to_30s_a
from drainsim.vehicle.batteries.battery_keys import BATTERY, LARGEST_AH
from drainsim.vehicle.batteries.starting_charge import resting_v
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import PRACTICE, Parameter

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


def usual_capacity_ah(engine_litres: float, *, diesel: bool) -> float:
    """Return the capacity usually fitted to an engine. [Ah].

    Common practice, no source: 45 Ah + 7.5 Ah per litre, for diesels 10 Ah + 5 Ah per litre
    more. A retailer's usual cold cranking currents by cylinders at 9 A per Ah agree for petrol.

    Parameters
    ----------
    engine_litres : float
        Swept volume. [l]
    diesel : bool

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

    Parameters
    ----------
    capacity_ah : float
        At the 20 h rate. [Ah]
    per_ah : float
        Cold cranking current over capacity. [A/Ah]

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

    Parameters
    ----------
    cold_cranking_a : float
        After 30 s at -18 °C and 7.2 V. [A]
    per_ah : float
        Cold cranking current over capacity. [A/Ah]
    spread : float
        Relative standard deviation of that. [-]

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


class Ratio(NamedTuple):
    """Cold cranking current over capacity: usual value [A/Ah], relative spread, where from."""

    per_ah: float
    spread: float
    source: str


def capacity(
    ledger: Ledger, profile: BatteryProfile, usual_ah: float, ratio: Ratio
) -> tuple[float, float]:
    """Return (C20, relative sd) from all of the label there is.

    A printed capacity stands as it is. Reserve capacity and cranking current are weighed by the
    inverse of their variances on a logarithmic scale.

    Parameters
    ----------
    ledger, profile : Ledger, BatteryProfile
    usual_ah : float
        Capacity usually fitted, where no label says it. [Ah]
    ratio : Ratio
        Cranking current over capacity.
    """
    get = ledger.scenario.get
    given = get(BATTERY.capacity_ah)
    if given is not None:
        ledger.note(BATTERY.capacity_ah, given, "given")
        return given, _LABEL_SD
    found: dict[str, tuple[float, float, str]] = {}
    reserve_min = get(BATTERY.reserve_capacity_min)
    if reserve_min is not None:
        from_reserve_ah = capacity_from_reserve_ah(
            reserve_min,
            factor=profile.number("reserve_minutes_factor"),
            exponent=profile.number("reserve_minutes_exponent"),
        )
        if from_reserve_ah > LARGEST_AH:
            raise _too_large(ledger, BATTERY.reserve_capacity_min)
        source = f"from reserve capacity; {profile.provenance('reserve_minutes_factor')}"
        found["reserve_capacity_min"] = float(from_reserve_ah), _FROM_RESERVE_SD, source
    rated_a = get(BATTERY.cold_cranking_a)
    if rated_a is not None:
        per_ah = ratio.per_ah
        current_a = _rated_30s_a(ledger, profile, rated_a)
        if current_a > usual_cold_cranking_a(LARGEST_AH, per_ah=per_ah):
            raise _too_large(ledger, BATTERY.cold_cranking_a)
        ah, sd = capacity_from_cold_cranking_ah(current_a, per_ah=per_ah, spread=ratio.spread)
        source = f"from cold cranking current; {ratio.source}"
        found["cold_cranking_a"] = ah, sd, source
    if not found:
        source = f"usual size for the engine; {PRACTICE}"
        ledger.note(BATTERY.capacity_ah, usual_ah, "estimated", source)
        return usual_ah, _FROM_ENGINE_SD
    weights = [sd**-2 for _, sd, _ in found.values()]
    logs = [math.log(ah) for ah, _, _ in found.values()]
    value = math.exp(sum(w * x for w, x in zip(weights, logs, strict=True)) / sum(weights))
    said = "; ".join(source for _, _, source in found.values())
    ledger.note(BATTERY.capacity_ah, value, "estimated", said)
    return value, sum(weights) ** -0.5


def _too_large(ledger: Ledger, said: Parameter) -> ScenarioError:
    return ScenarioError(
        f"{ledger.scenario.where}: {said} = {ledger.scenario.get(said):g} is more "
        f"than goes with the {LARGEST_AH:g} Ah of the largest 12 V battery meant here; check the "
        f"label or give {BATTERY.capacity_ah}"
    )


def _rated_30s_a(ledger: Ledger, profile: BatteryProfile, rated_a: float) -> float:
    """Return the 30 s current behind the label's."""
    standard = ledger.scenario.get_or_default(BATTERY.cranking_standard)
    full_cold_v = resting_v(profile, 1.0, RATING_C)
    return rating_to_30s_a(
        rated_a, standard=standard, full_v=full_cold_v, knee_v=profile.number("cranking_knee_v")
    )


def cold_cranking(
    ledger: Ledger, profile: BatteryProfile, capacity_ah: float, capacity_sd: float, ratio: Ratio
) -> tuple[float, float]:
    """Return (30 s cold cranking current, relative sd).

    Parameters
    ----------
    ledger, profile : Ledger, BatteryProfile
    capacity_ah : float
        At the 20 h rate. [Ah]
    capacity_sd : float
        Its relative standard deviation. [-]
    ratio : Ratio
        Cranking current over capacity.
    """
    rated_a = ledger.scenario.get(BATTERY.cold_cranking_a)
    if rated_a is None:
        value = usual_cold_cranking_a(capacity_ah, per_ah=ratio.per_ah)
        source = f"from capacity; {ratio.source}"
        ledger.note(BATTERY.cold_cranking_a, value, "estimated", source)
        get = ledger.scenario.get
        traded = get(BATTERY.capacity_ah) is None and get(BATTERY.reserve_capacity_min)
        spread = math.hypot(ratio.spread, capacity_sd)
        return value, math.hypot(spread, _MINUTES_FOR_AMPERES_SD if traded else 0.0)
    ledger.note(BATTERY.cold_cranking_a, rated_a, "given")
    ledger.take(BATTERY.cranking_standard)
    per_ah = rated_a / capacity_ah
    if not 2.0 <= per_ah <= 25.0:
        ledger.warn(
            "battery: {rated_a:g} A cold cranking current from {capacity_ah:.0f} Ah is "
            "unusual (starting batteries give about 6 to 14 A per Ah, small ones 15 to 20); "
            "check the label",
            rated_a=rated_a,
            capacity_ah=capacity_ah,
        )
    return _rated_30s_a(ledger, profile, rated_a), _LABEL_SD


def reserve(ledger: Ledger, profile: BatteryProfile, capacity_ah: float) -> float:
    """Return the reserve capacity.

    Parameters
    ----------
    ledger, profile : Ledger, BatteryProfile
    capacity_ah : float
        At the 20 h rate. [Ah]
    """
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
    given = ledger.scenario.get(BATTERY.reserve_capacity_min)
    if given is None:
        source = f"from capacity; {profile.provenance('reserve_minutes_factor')}"
        held = min(max(usual, low_min), high_min)
        if abs(held / usual - 1.0) > 1e-3:
            source += f", {usual:.0f} min held to the nearest a two-well battery can have"
        ledger.note(BATTERY.reserve_capacity_min, held, "estimated", source)
        return held
    ledger.note(BATTERY.reserve_capacity_min, given, "given")
    held = min(max(given, low_min), high_min)
    if held != given and abs(held / given - 1.0) <= _RESERVE_SLACK:
        ledger.warn(
            "battery: reserve capacity {given:g} min is just outside the {low_min:.0f} to "
            "{high_min:.0f} min this model knows for {capacity_ah:.0f} Ah; {held:.0f} min is "
            "used (it sets the charge at high rates only, not the days)",
            given=given,
            low_min=low_min,
            high_min=high_min,
            capacity_ah=capacity_ah,
            held=held,
        )
        return float(held)
    if abs(given / usual - 1.0) > 0.25:
        ledger.warn(
            "battery: reserve capacity {given:g} min and {capacity_ah:.0f} Ah rarely go "
            "together (about {usual:.0f} min would); check the label",
            given=given,
            capacity_ah=capacity_ah,
            usual=usual,
        )
    return float(given)
