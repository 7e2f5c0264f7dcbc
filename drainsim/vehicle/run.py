"""How far ahead, how many draws, and the spreads they are drawn with."""

from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.physics.cranking import COLD_FALL_SIGMA
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import PRACTICE, Keys, Parameter, number, usual, whole
from drainsim.vehicle.places.site import Site
from drainsim.vehicle.unit import Unit
from drainsim.vehicle.vehicle import Vehicle

_FITS: Final = f"fits how well the value is known; {PRACTICE}"
MOST_DRAW_DAYS: Final = 2_000_000  # answered within about three seconds of processor time
_LARGEST_SEED: Final = 2**32 - 1


class RUN(Keys, name="run"):
    """How far ahead and how many random draws."""

    horizon_days = whole(
        (1, 730, "days"),
        "how far ahead to look",
        **usual(180, "half a year"),
        example=180,
        label="Look ahead",
    )
    draws = whole((100, 20000, ""), "random draws for the range", default=1000, example=1000)
    seed = whole((0, _LARGEST_SEED, ""), "same seed, same answer", default=1, example=1)
    weather_seed = whole(
        (0, _LARGEST_SEED, ""),
        "seed of the weather alone; vehicles of one place share it",
        otherwise="as seed",
        source="as run.seed",
    )


def _spread(most: float, unit: str, of: str, **more: Any) -> Parameter:
    """Return the parameter of a spread, which fits how well a value is known."""
    return number((0, most, unit), f"standard deviation of {of}", **{"source": _FITS, **more})


def _log_spread(most: float, of: str, **more: Any) -> Parameter:
    return number((0, most, ""), f"log standard deviation of {of}", **{"source": _FITS, **more})


class UNCERTAINTY(Keys, name="uncertainty"):
    """Spreads of the random draws; each default depends on how well the value is known."""

    state_of_charge_sd = _spread(0.4, "", "the starting charge")
    open_circuit_offset_sd_v = _spread(0.5, "V", "the resting voltage between makes at one charge")
    capacity_health_sd = _spread(0.5, "", "the capacity health")
    cranking_health_sd = _spread(0.5, "", "the cranking health")
    quiescent_sigma = _log_spread(2, "the quiescent current")
    unit_sigma = _log_spread(2, "the unit's draw")
    self_discharge_sigma = _log_spread(2, "self-discharge")
    demand_sigma = _log_spread(1, "the cranking demand")
    oil_sd_k = _spread(10, "K", "how much thicker the oil is")
    cold_power_sigma = _log_spread(
        1, "how fast cranking power falls below -18 °C", default=COLD_FALL_SIGMA
    )
    low_charge_sd = _spread(0.3, "", "the charge at which cranking collapses", default=0.05)
    season_sd_c = _spread(10, "K", "a whole season's temperature")
    weather_sd_c = _spread(15, "K", "a day's temperature")
    weather_correlation = number(
        (0, 0.99, ""), "correlation of one day with the next", **usual(0.7, _FITS)
    )
    regulated_sd_v = _spread(
        1, "V", "the regulated voltage (12 V)", **usual(0.2, "printed bands are ±0.5 V")
    )
    acceptance_sigma = _log_spread(2, "what a battery accepts", default=0.35)
    trip_sigma = _log_spread(1, "the length of trips", default=0.15)
    # Of a charger's current from its rating, and of what a battery takes.
    charger_sigma = _log_spread(2, "what maintainer and top-ups bring", **usual(0.2))
    # Dull and clear days differ by a factor of three or more.
    cloud_sd = _spread(1, "", "a day's sunshine as a share of its mean", **usual(0.5))


def draws_within(draws: int, horizon_days: int) -> int:
    """Return the draws; more than are answered within seconds are refused, not cut."""
    most = MOST_DRAW_DAYS // horizon_days
    if draws > most:
        raise ScenarioError(
            f"{RUN.draws} = {draws} over {horizon_days} days is more than one answer computes; "
            f"at most {most} draws, or fewer days"
        )
    return draws


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Spreads of the random draws; sd for plain, sigma for logarithmic ones."""

    state_of_charge_sd: float
    open_circuit_offset_sd_v: float
    capacity_health_sd: float
    cranking_health_sd: float
    quiescent_sigma: float
    unit_sigma: float
    self_discharge_sigma: float
    demand_sigma: float
    oil_sd_k: float
    cold_power_sigma: float
    low_charge_sd: float
    season_sd_c: float
    weather_sd_c: float
    weather_correlation: float


def spreads_from_scenario(
    ledger: Ledger, battery: Battery, unit: Unit, vehicle: Vehicle, site: Site
) -> Spreads:
    """Return the spreads: the user's, else what fits how each value is known.

    Parameters
    ----------
    ledger : Ledger
    battery, unit, vehicle, site : Battery, Unit, Vehicle, Site
        Each knows how well its own values are known.
    """
    known = {
        UNCERTAINTY.state_of_charge_sd: battery.start.charge_sd,
        UNCERTAINTY.open_circuit_offset_sd_v: battery.start.offset_sd_v,
        UNCERTAINTY.capacity_health_sd: battery.capacity_health_sd,
        UNCERTAINTY.cranking_health_sd: battery.cranking_health_sd,
        UNCERTAINTY.quiescent_sigma: vehicle.quiescent_sigma,
        UNCERTAINTY.unit_sigma: unit.sigma,
        UNCERTAINTY.self_discharge_sigma: battery.profile.number("self_discharge_sigma"),
        UNCERTAINTY.demand_sigma: vehicle.demand_sigma,
        UNCERTAINTY.oil_sd_k: vehicle.oil_sd_k,
        UNCERTAINTY.cold_power_sigma: UNCERTAINTY.cold_power_sigma.default,
        UNCERTAINTY.low_charge_sd: UNCERTAINTY.low_charge_sd.default,
        UNCERTAINTY.season_sd_c: site.season_sd_c,
        UNCERTAINTY.weather_sd_c: site.weather_sd_c,
        UNCERTAINTY.weather_correlation: UNCERTAINTY.weather_correlation.default,
    }
    return Spreads(**{each.key: float(ledger.take(each, sd)) for each, sd in known.items()})
