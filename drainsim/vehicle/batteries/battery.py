"""One label, one consistent battery: whatever is printed or measured fixes the rest.

The default vehicle is an average one in a temperate winter, three years old, 85 % charged: a
default must not sit at the optimistic end. All label values given are weighed together. Cranking
health is share^((age/life)²), capacity falls evenly: starting batteries keep cranking current
nearly to the end while capacity fades.
"""

import math
from dataclasses import dataclass

from drainsim.errors import OutOfRangeError, ScenarioError
from drainsim.files.profile import BatteryProfile
from drainsim.physics.ageing import health_after_years, service_life_at_years
from drainsim.physics.capacity import KineticParameters, kinetic_from_label
from drainsim.vehicle.batteries.battery_keys import BATTERY as BATTERY
from drainsim.vehicle.batteries.label import (
    Ratio,
    capacity,
    cold_cranking,
    reserve,
    usual_capacity_ah,
)
from drainsim.vehicle.batteries.starting_charge import StartingCharge, starting_charge
from drainsim.vehicle.keys.ledger import Ledger


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

    Parameters
    ----------
    ledger, profile : Ledger, BatteryProfile
    engine_litres : float
        Swept volume. [l]
    diesel : bool
    life_temperature_c : float
        Mean temperature the battery has lived at. [°C]
    usual_ah : float
        Capacity usually fitted, where no label says it. [Ah]
    cranking_per_ah : float, optional
        Usual cold cranking current over capacity of this kind of vehicle. [A/Ah]
    cranking_spread : float, optional
        Its relative standard deviation. [-]

    Raises
    ------
    ScenarioError
        If label values contradict each other or a measured voltage fits no healthy battery.
    """
    if usual_ah is None:
        usual_ah = usual_capacity_ah(engine_litres, diesel=diesel)
    ratio = Ratio(
        per_ah=max(profile.number("cold_cranking_a_per_ah"), cranking_per_ah or 0.0),
        spread=cranking_spread or profile.number("cold_cranking_spread"),
        source=profile.provenance("cold_cranking_a_per_ah")
        if cranking_per_ah is None
        else f"{cranking_per_ah:g} A/Ah, the middle of labels of small batteries",
    )
    capacity_ah, capacity_sd = capacity(ledger, profile, usual_ah, ratio)
    cold_cranking_a, cranking_sd = cold_cranking(ledger, profile, capacity_ah, capacity_sd, ratio)
    reserve_min = reserve(ledger, profile, capacity_ah)
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


def cranking_lateness(profile: BatteryProfile) -> float:
    """Return how late in life cranking current fades; evenly where the profile does not say."""
    return profile.number_or("cranking_lateness", 1.0)


def _health(
    ledger: Ledger, profile: BatteryProfile, life_temperature_c: float
) -> tuple[float, float, tuple[float, float]]:
    """Return capacity and cranking health with their standard deviations."""
    get = ledger.scenario.get
    years, origin = ledger.take_with_origin(BATTERY.age_years)
    life = service_life_at_years(
        life_temperature_c,
        life_years_at_20c=profile.number("service_life_years"),
        halving_k=profile.number("service_life_halving_k"),
    )
    values, sds = [], []
    for health, share, lateness in (
        (BATTERY.capacity_health, "capacity_at_end_of_life", 1.0),
        (BATTERY.cranking_health, "cranking_at_end_of_life", cranking_lateness(profile)),
    ):
        given = get(health)
        given = get(BATTERY.health) if given is None else given
        if given is not None:
            ledger.note(health, given, "given")
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
        ledger.note(health, estimate, "estimated", source)
        values.append(estimate)
        # Batteries of one age differ more the older they are: common practice, no source.
        sds.append(min(0.02 + 0.02 * years, 0.15) if origin != "default" else 0.10)
    return values[0], values[1], (sds[0], sds[1])
