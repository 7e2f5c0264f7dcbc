"""A case: everything one answer needs, resolved from a scenario, with nothing left open."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from drainsim.errors import DrainsimError, ScenarioError
from drainsim.files.profile import load_profile
from drainsim.physics.tables import FloatArray
from drainsim.vehicle.batteries.battery import BATTERY, Battery, battery_from_scenario
from drainsim.vehicle.batteries.between_trips import with_chargers
from drainsim.vehicle.batteries.chargers import (
    Charger,
    maintainer_from_scenario,
    top_up_from_scenario,
)
from drainsim.vehicle.batteries.system import arranged, auxiliary_scenario
from drainsim.vehicle.compatibility import warn_of_the_south, warn_of_unused
from drainsim.vehicle.keys.assumption import Assumption
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.kind import KINDS, usual_kind_capacity_ah
from drainsim.vehicle.pattern import Pattern, pattern_from_scenario
from drainsim.vehicle.places.site import Site, site_from_scenario
from drainsim.vehicle.places.solar import Solar, solar_from_scenario
from drainsim.vehicle.run import RUN, Spreads, draws_within, spreads_from_scenario
from drainsim.vehicle.unit import UNIT, Unit, unit_from_scenario
from drainsim.vehicle.vehicle import Vehicle, vehicle_from_scenario


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A scenario with every gap filled."""

    battery: Battery
    unit: Unit
    vehicle: Vehicle
    site: Site
    spreads: Spreads
    horizon_days: int
    draws: int
    seed: int
    weather_seed: int
    assumptions: tuple[Assumption, ...]
    warnings: tuple[str, ...]
    solar: Solar | None = None
    auxiliary: "Case | None" = None  # the battery the unit is fed from, where it is another one
    system: str = "12V"
    maintainer: Charger | None = None
    top_up: Charger | None = None
    pattern: Pattern | None = None
    known: Mapping[str, FloatArray] | None = None  # draws that agree with readings, by input

    @property
    def charging_a(self) -> FloatArray | None:
        """Mean current that stays as charge on each day of parking; None without a charger."""
        chargers = [c for c in (self.solar, self.maintainer, self.top_up) if c is not None]
        return (
            sum((c.charging_a for c in chargers[1:]), chargers[0].charging_a) if chargers else None
        )

    def label(self, key: str) -> float:
        """Return a figure of the label of one battery, given or estimated; `battery` is a bank."""
        return float(next(item.value for item in self.assumptions if item.name == key))


def resolve(scenario: Scenario, *, profile_folders: Sequence[Path] = ()) -> Case:
    """Return the case a scenario describes, filling gaps with stated defaults.

    Parameters
    ----------
    scenario : Scenario
    profile_folders : sequence of Path
        Folders of the user's own battery profiles, searched first.

    Raises
    ------
    DrainsimError
        Naming the scenario, the key, what is wrong and what would be right.
    """
    ledger = Ledger(scenario)
    try:
        case = _resolve(ledger, profile_folders)
        return case if scenario.known is None else scenario.known(case)
    except DrainsimError as error:
        message = str(error)
        if message.startswith(scenario.where):
            raise
        raise type(error)(f"{scenario.where}: {message}") from None


def _resolve(ledger: Ledger, profile_folders: Sequence[Path]) -> Case:
    scenario = ledger.scenario
    scenario.refuse_unknown_measured()
    profile = load_profile(ledger.take(BATTERY.profile), profile_folders)
    horizon = ledger.take(RUN.horizon_days)
    draws = draws_within(ledger.take(RUN.draws), horizon)
    seed = ledger.take(RUN.seed)
    weather_seed = ledger.take(RUN.weather_seed, seed)
    site = site_from_scenario(ledger, horizon_days=horizon)
    warn_of_the_south(ledger)
    vehicle = vehicle_from_scenario(ledger, coldest_c=site.coldest_c)
    unit = unit_from_scenario(ledger)
    beside = auxiliary_scenario(ledger)  # a panel charges the battery the unit is fed from
    solar = None if beside else solar_from_scenario(ledger, site, horizon_days=horizon)
    battery = battery_from_scenario(
        ledger,
        profile,
        engine_litres=vehicle.engine_litres,
        diesel=vehicle.diesel,
        life_temperature_c=site.life_temperature_c,
        usual_ah=usual_kind_capacity_ah(vehicle.kind, vehicle.engine_litres),
        cranking_per_ah=KINDS[vehicle.kind].cold_cranking_a_per_ah,
        cranking_spread=KINDS[vehicle.kind].cold_cranking_spread,
    )
    battery, unit, vehicle = arranged(ledger, battery, unit, vehicle)
    vehicle = _until_the_protection(ledger, battery, vehicle)
    top_up, vehicle = top_up_from_scenario(ledger, battery, vehicle, unit, horizon_days=horizon)
    maintainer = maintainer_from_scenario(
        ledger, battery, vehicle, unit, site, horizon_days=horizon
    )
    pattern = pattern_from_scenario(ledger, vehicle)
    if pattern is not None:
        pattern = with_chargers(ledger, pattern, battery, vehicle, unit, sunlit=beside is None)
    auxiliary = resolve(beside, profile_folders=profile_folders) if beside else None
    if auxiliary is not None:
        ledger.warnings += [w for w in auxiliary.warnings if w not in ledger.warnings]
    if unit.switches_off and not unit.modes[-1].enter_below_v:
        raise ScenarioError(f"{scenario.where}: {UNIT.cutoff_v} must be above 0 V")
    warn_of_unused(ledger)
    spreads = spreads_from_scenario(ledger, battery, unit, vehicle, site)
    for figure in ("self_discharge_per_day", "low_rate_gain", "cranking_share_by_charge"):
        value = profile.figures[figure].value
        shown = value if not isinstance(value, list) else "see profile"
        ledger.note(f"profile.{figure}", shown, "profile", profile.provenance(figure))
    return Case(
        battery=battery,
        unit=unit,
        vehicle=vehicle,
        site=site,
        spreads=spreads,
        horizon_days=horizon,
        draws=draws,
        seed=seed,
        weather_seed=weather_seed,
        assumptions=tuple(ledger.assumptions),
        warnings=tuple(ledger.warnings),
        solar=solar,
        auxiliary=auxiliary,
        maintainer=maintainer,
        top_up=top_up,
        pattern=pattern,
        system=scenario.get_or_default(BATTERY.system),
    )


def _until_the_protection(ledger: Ledger, battery: Battery, vehicle: Vehicle) -> Vehicle:
    """Return the vehicle whose start ends at the higher of its own and the battery's limit."""
    profile, name = battery.profile, "protection_cutoff_v"
    if not profile.has(name):
        return vehicle
    opens_v = profile.number(name)
    source = f"built-in protection, 12 V battery; {profile.provenance(name)}"
    if opens_v > vehicle.minimum_cranking_v:
        source = f"ends a start before {vehicle.minimum_cranking_v:g} V does; {source}"
    ledger.note(f"profile.{name}", opens_v, "profile", source, unit="V")
    return replace(vehicle, minimum_cranking_v=max(vehicle.minimum_cranking_v, opens_v))
