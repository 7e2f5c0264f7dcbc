"""How far ahead, how many draws, and the spreads they are drawn with."""

from dataclasses import dataclass
from typing import Final

from drainsim.errors import ScenarioError
from drainsim.physics.cranking import COLD_FALL_SIGMA
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Keys, number, usual, whole
from drainsim.vehicle.places.site import Site
from drainsim.vehicle.unit import Unit
from drainsim.vehicle.vehicle import Vehicle

_PRACTICE: Final = "common practice, no source"
_FITS: Final = f"fits how well the value is known; {_PRACTICE}"
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


class UNCERTAINTY(Keys, name="uncertainty"):
    """Spreads of the random draws; each default depends on how well the value is known."""

    state_of_charge_sd = number(
        (0, 0.4, ""), "standard deviation of the starting charge", source=_FITS
    )
    open_circuit_offset_sd_v = number(
        (0, 0.5, "V"),
        "standard deviation of the resting voltage between makes at one charge",
        source=_FITS,
    )
    capacity_health_sd = number(
        (0, 0.5, ""), "standard deviation of the capacity health", source=_FITS
    )
    cranking_health_sd = number(
        (0, 0.5, ""), "standard deviation of the cranking health", source=_FITS
    )
    quiescent_sigma = number(
        (0, 2, ""), "log standard deviation of the quiescent current", source=_FITS
    )
    unit_sigma = number((0, 2, ""), "log standard deviation of the unit's draw", source=_FITS)
    self_discharge_sigma = number(
        (0, 2, ""), "log standard deviation of self-discharge", source=_FITS
    )
    demand_sigma = number((0, 1, ""), "log standard deviation of the cranking demand", source=_FITS)
    oil_sd_k = number(
        (0, 10, "K"), "standard deviation of how much thicker the oil is", source=_FITS
    )
    cold_power_sigma = number(
        (0, 1, ""),
        "log standard deviation of how fast cranking power falls below -18 °C",
        **usual(COLD_FALL_SIGMA, _FITS),
    )
    low_charge_sd = number(
        (0, 0.3, ""),
        "standard deviation of the charge at which cranking collapses",
        **usual(0.05, _FITS),
    )
    season_sd_c = number(
        (0, 10, "K"), "standard deviation of a whole season's temperature", source=_FITS
    )
    weather_sd_c = number((0, 15, "K"), "standard deviation of a day's temperature", source=_FITS)
    weather_correlation = number(
        (0, 0.99, ""), "correlation of one day with the next", **usual(0.7, _FITS)
    )
    regulated_sd_v = number(
        (0, 1, "V"),
        "standard deviation of the regulated voltage (12 V)",
        **usual(0.2, "printed bands are ±0.5 V"),
    )
    acceptance_sigma = number(
        (0, 2, ""), "log standard deviation of what a battery accepts", **usual(0.35, _FITS)
    )
    trip_sigma = number(
        (0, 1, ""), "log standard deviation of the length of trips", **usual(0.15, _FITS)
    )
    # Of a charger's current from its rating, and of what a battery takes.
    charger_sigma = number(
        (0, 2, ""),
        "log standard deviation of what maintainer and top-ups bring",
        **usual(0.2, _PRACTICE),
    )
    # Dull and clear days differ by a factor of three or more.
    cloud_sd = number(
        (0, 1, ""),
        "standard deviation of a day's sunshine as a share of its mean",
        **usual(0.5, _PRACTICE),
    )


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
