"""Which winter is this battery's last, as far as anyone can say.

Ageing is optional and wide: a factor of e^±0.5 on the rate, and no advice to replace where a new
battery would fail too.
"""

import datetime as dt
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from drainsim.answers.driving.before_parking import parked_from_pattern
from drainsim.answers.driving.charge_left import nominal_weeks
from drainsim.errors import OutOfRangeError
from drainsim.language import message
from drainsim.physics.ageing import health_after_seasons
from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import standard_draws
from drainsim.simulation.lanes import lanes_from_draws
from drainsim.vehicle.batteries.battery import cranking_lateness
from drainsim.vehicle.case import Case
from drainsim.vehicle.places.site import Site

MOST_WINTERS: Final = 15
_MONTH_YEARS: Final = 1.0 / 12.0
_BONNET_K: Final = 5.0  # a battery in use lives warmer than it parks; common practice, no source
# How much single batteries' ageing differs (log standard deviation): wide, as field studies
# find; common practice, no source.
_RATE_SIGMA: Final = 0.5
# The coldest morning of a winter lies about this many day-to-day deviations below the average
# course's coldest hour; common practice, no source.
_COLD_SPELL_SDS: Final = 1.5
_STREAM: Final = 4_711
_YEAR_H: Final = 365 * 24
_AGEING_WARNING: Final = message(
    "ageing is known within a factor of two at best: heat and standing half-charged are the known "
    "causes, single batteries fail without warning; have the battery tested before deciding"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Winter:
    """One winter: health with the middle 80 % of the draws, and the risk of its coldest start."""

    year: int  # the winter that ends in this year
    cranking_health: float
    cranking_health_low: float
    cranking_health_high: float
    capacity_health: float
    risk: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeingAnswer:
    """Winters ahead and the one before which to replace; None within the years looked at."""

    case: Case
    winters: tuple[Winter, ...]
    coldest_c: float
    charge: float
    risk_limit: float
    replace_before_winter: int | None
    new_battery_risk: float  # of the coldest start with a new one of the same size
    warnings: tuple[str, ...]

    @property
    def new_one_fails(self) -> bool:
        """Say whether a new battery would be over the limit too: replacing it does not help."""
        return self.new_battery_risk > self.risk_limit

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "winters": [asdict(winter) for winter in self.winters],
            "coldest_c": self.coldest_c,
            "charge": self.charge,
            "risk_limit": self.risk_limit,
            "replace_before_winter": self.replace_before_winter,
            "new_battery_risk": self.new_battery_risk,
            "warnings": list(self.warnings),
        }


def refuse_question(*, winters: int, risk: float) -> None:
    """Raise an OutOfRangeError if no vehicle can be asked this.

    Parameters
    ----------
    winters : int
        How many to look ahead.
    risk : float
        Accepted chance of a no-start. [-]
    """
    if not 1 <= winters <= MOST_WINTERS:
        raise OutOfRangeError(f"winters={winters} is outside 1 to {MOST_WINTERS}")
    if not 0.0 < risk < 1.0:
        raise OutOfRangeError(f"risk={risk:g} must be between 0 and 1")


def ageing(case: Case, *, winters: int = 5, risk: float = 0.05) -> AgeingAnswer:
    """Return the risk of the coldest start of each coming winter.

    Parameters
    ----------
    case : Case
        Its stand (or its weeks of driving) must hold a winter; resolve it with a horizon of a
        year for that.
    winters : int
        How many to look ahead.
    risk : float
        Chance of a no-start on the coldest morning above which the battery should be replaced
        before that winter.

    Raises
    ------
    OutOfRangeError
        If winters or risk cannot be.
    """
    refuse_question(winters=winters, risk=risk)
    case = parked_from_pattern(case)
    site = case.site if case.pattern is None else case.pattern.site
    draws = standard_draws(case.draws, case.seed)
    spread, battery = case.spreads, case.battery
    coldest_c = float(site.battery_c.min()) - _COLD_SPELL_SDS * spread.weather_sd_c
    cold_c = np.clip(coldest_c + spread.season_sd_c * draws["season"], COLDEST_C, WARMEST_C)
    margin_now = _margins(case, draws, cold_c)
    drawn = battery.cranking_health + battery.cranking_health_sd * draws["cranking_health"]
    health_now = np.clip(drawn, 0.05, 1.3)  # as the lanes hold it
    months_c = _months_c(case, site)
    cranking, capacity = _worn(case, np.resize(months_c, 12 * winters))
    found = []
    for month, year in _coldest_months(months_c, case.site.parked_from, winters):
        left = cranking[month]
        low, high = np.quantile(health_now * left, [0.1, 0.9])
        found.append(
            Winter(
                year=year,
                cranking_health=float(np.median(health_now * left)),
                cranking_health_low=float(low),
                cranking_health_high=float(high),
                capacity_health=float(case.battery.capacity_health * np.median(capacity[month])),
                risk=_risk(case, margin_now * left),
            )
        )
    new_risk = _risk(case, margin_now / health_now)
    cured = new_risk <= risk
    due = next((winter.year for winter in found if cured and winter.risk > risk), None)
    said = [_AGEING_WARNING]
    if not cured:
        said.insert(
            0,
            message(
                "even a new battery of this size would fail the coldest start in {percent:.0f} % "
                "of the cases: replacing it does not cure this; preheat, shelter, or keep it "
                "charged",
                percent=100 * new_risk,
            ),
        )
    return AgeingAnswer(
        case=case,
        winters=tuple(found),
        coldest_c=float(np.median(cold_c)),
        charge=case.battery.state_of_charge,
        risk_limit=risk,
        replace_before_winter=due,
        new_battery_risk=new_risk,
        warnings=(*case.warnings, *said),
    )


def _risk(case: Case, margin: FloatArray) -> float:
    """Return the share of the draws whose start fails; a trailer has none to fail."""
    return float((margin < 1.0).mean()) if case.vehicle.starts else 0.0


def _months_c(case: Case, site: Site) -> FloatArray:
    """Return the mean battery temperatures of the twelve months from parking on. [°C].

    The year of driving before parking stands for the year after it, season for season; a course
    shorter than a year stands for the whole year.
    """
    course_c = site.battery_c[:_YEAR_H] if case.pattern is None else site.battery_c[-_YEAR_H:]
    return np.array([float(part.mean()) for part in np.array_split(course_c, 12)])


def _margins(case: Case, draws: dict[str, FloatArray], cold_c: FloatArray) -> FloatArray:
    """Return each draw's start margin on the coldest morning, the battery as it is today."""
    lanes = lanes_from_draws(case, draws)
    charge = np.clip(lanes.start_ah / lanes.full_ah, 0.0, 1.0)
    usable = np.clip(charge - lanes.low_charge_shift * (1.0 - charge), 0.0, 1.0)
    return curves_of(case).margin(usable, cold_c, lanes.demand_ratio, lanes.oil_k, lanes.cold_fall)


def _worn(case: Case, months_c: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what is left of today's cranking and capacity after each month, (months, draws)."""
    charge = case.battery.state_of_charge
    if case.pattern is not None:
        charge = float(nominal_weeks([case]).charge[-52:, 0].mean())
    battery, profile = case.battery, case.battery.profile
    rng = np.random.default_rng([case.seed, _STREAM])
    rate = np.exp(_RATE_SIGMA * rng.standard_normal(case.draws))
    cranking, capacity = (
        health_after_seasons(
            np.full(case.draws, now),
            temperature_c=months_c + _BONNET_K,
            charge=np.full(len(months_c), charge),
            years_each=_MONTH_YEARS,
            life_years_at_20c=profile.number("service_life_years"),
            halving_k=profile.number("service_life_halving_k"),
            share_at_end_of_life=profile.number(share),
            lateness=lateness,
            rate_factor=rate,
        )
        / now
        for share, now, lateness in (
            ("cranking_at_end_of_life", battery.cranking_health, cranking_lateness(profile)),
            ("capacity_at_end_of_life", battery.capacity_health, 1.0),
        )
    )
    return cranking, capacity


def _coldest_months(months_c: FloatArray, first: dt.date, winters: int) -> list[tuple[int, int]]:
    """Return (month from now, year in which that winter ends) of each winter's coldest month."""
    coldest = int(months_c.argmin())
    found = []
    for number in range(winters):
        month = coldest + 12 * number
        day = first + dt.timedelta(days=30.4 * month)
        found.append((month, day.year + (1 if day.month >= 7 else 0)))
    return found
