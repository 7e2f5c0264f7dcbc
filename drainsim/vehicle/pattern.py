"""How a vehicle was driven before it was parked: trips of a week, alternator, season."""

import datetime as dt
from dataclasses import dataclass
from typing import Final

from drainsim.errors import DrainsimError, ScenarioError
from drainsim.language import Message, message
from drainsim.physics.alternator import CRANK_S, IDLE_SHARE
from drainsim.physics.charging import MIDDLE_V
from drainsim.units import MINUTES_PER_HOUR
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.batteries.chargers import Charger
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import Keys, choice, number, table_of, usual, whole
from drainsim.vehicle.kind import TRACTION
from drainsim.vehicle.places.site import SITE, Site, default_parked_from, site_from_scenario
from drainsim.vehicle.places.solar import Solar
from drainsim.vehicle.run import UNCERTAINTY
from drainsim.vehicle.trip import (
    HOURS_PER_WEEK,
    TRIP,
    Trip,
    gaps_h,
    listed_trips,
    refuse_overlap,
    spread_trips,
)
from drainsim.vehicle.vehicle import Vehicle

_TOWING_DROP_V: Final = 0.5  # along the cable and plug of a trailer: common practice, no source
# Highest voltage that is believed of a 12 V regulator: common practice, no source.
_HIGHEST_REGULATED_V: Final = 15.5


class PATTERN(Keys, name="pattern", optional=True):
    """How the vehicle was driven in the weeks before parking; gives the charge at parking."""

    trips_per_week = number(
        (0, 200, "1/week"),
        "trips a week, spread over the days, where no trips are listed",
        **usual(10),
        example=10,
        column="trips_per_week",
    )
    trip_minutes = number(
        (0.1, 1440, "min"), "length of one", **usual(20.0), example=20, column="trip_minutes"
    )
    idle_share = number((0, 1, ""), "share of the time at idle", **usual(0.25))
    # Ignition, pumps, fans, lights: 20 to 30 A; heated screens and seats come on top (common
    # practice, no source). A motorcycle or trailer has less.
    load_a = number(
        (0, 500, "A"),
        "electrical consumers while driving without heated screens",
        **usual(25.0),
        usual_for={"24V": 15.0, "motorcycle": 10.0, "trailer": 0.0},
    )
    heated_screens_a = number(
        (0, 300, "A"), "heated screens and seats, switched on when colder than 3 °C", **usual(0.0)
    )
    alternator_a = number(
        (0, 500, "A"),
        "rated output of the alternator (DC-DC converter in an electric vehicle)",
        **usual(90.0),
        usual_for={"motorcycle": 25.0, "hybrid": 120.0, "electric": 120.0, "trailer": 15.0},
    )
    alternator_idle_share = number(
        (0, 1, ""),
        "share of it available at idle",
        **usual(IDLE_SHARE, "between published 0.2 and 0.86"),
        usual_for=dict.fromkeys(TRACTION, 1.0),
    )
    regulated_v = number(
        (12, 31, "V"),
        "voltage held at 20 °C, whole system",
        **usual(
            MIDDLE_V,
            "middle of the band of a 2018 small car's workshop manual; single vehicles ±0.5 V",
        ),
        usual_for={"trailer": MIDDLE_V - _TOWING_DROP_V},
        otherwise="at 24 V twice as much",
    )
    regulation = choice(
        ("usual", "smart"),
        "smart: the engine computer charges only up to smart_charge",
        **usual("usual"),
    )
    smart_charge = number((0.5, 1, ""), "charge smart regulation aims at, 0 to 1", **usual(0.8))
    crank_s = number(
        (0, 60, "s"), "length of a warm start", **usual(CRANK_S, "published row: 1 to 2 s")
    )
    charging_warm_up_k = number(
        (0, 40, "K"),
        "how much warmer than parked the battery is while driving",
        **usual(0.0, "cautious: short trips do not warm it"),
    )
    weeks = whole(
        (1, 104, "weeks"),
        "weeks of driving to look at, up to the day of parking",
        **usual(60, "eight weeks to forget the start, then a year"),
    )
    target_charge = number(
        (0.2, 1, ""),
        "charge the battery should not fall below in ordinary weeks",
        **usual(0.8, "below 80 % plates sulfate (trade FAQ)"),
    )
    trips = table_of(TRIP)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Weeks of driving up to the day of parking; voltages are those of one 12 V battery."""

    trips: tuple[Trip, ...]
    alternator_a: float
    share_at_idle: float
    regulated_20c_v: float
    smart: bool
    smart_charge: float
    crank_s: float
    heated_screens_a: float
    warm_up_k: float
    weeks: int
    target_charge: float
    site: Site  # of the driving weeks; hour 0 is `site.start_hour` of its first day
    charge_given: bool  # then the pattern does not set the charge at parking
    regulated_sd_v: float
    acceptance_sigma: float
    trip_sigma: float
    settled: bool = False  # the charge at parking is worked out
    shared: bool = False  # an auxiliary battery's share is among the loads
    solar: Solar | None = None  # these three: between the trips, day by day of the weeks
    maintainer: Charger | None = None
    top_up: Charger | None = None

    @property
    def minutes_per_week(self) -> float:
        """Minutes driven in a week."""
        return MINUTES_PER_HOUR * sum(trip.hours for trip in self.trips)

    def spelled_out(self) -> Message:
        """Return "10 trips a week, 200 min in all"."""
        return message(
            "{trips} trips a week, {minutes:.0f} min in all",
            trips=len(self.trips),
            minutes=self.minutes_per_week,
        )


def pattern_from_scenario(ledger: Ledger, vehicle: Vehicle) -> Pattern | None:
    """Return the driving a scenario describes, or None without a [pattern] table.

    Parameters
    ----------
    ledger, vehicle : Ledger, Vehicle

    Raises
    ------
    ScenarioError
        If trips overlap or cannot be read, or voltages do not fit the system.
    """
    scenario = ledger.scenario
    if not scenario.has(PATTERN.TABLE.name):
        return None
    take = ledger.take
    system = scenario.get_or_default(BATTERY.system)
    kind = vehicle.kind
    idle = take(PATTERN.idle_share)
    load_a = take(PATTERN.load_a, PATTERN.load_a.usual(system, kind))
    weeks = take(PATTERN.weeks)
    factor = 2.0 if system == "24V" else 1.0
    regulated_v = take(PATTERN.regulated_v, factor * PATTERN.regulated_v.usual(kind))
    if not 12.0 <= regulated_v / factor <= _HIGHEST_REGULATED_V:
        raise ScenarioError(
            f"{scenario.where}: {PATTERN.regulated_v} = {regulated_v:g} V is outside "
            f"{12.0 * factor:g} to {_HIGHEST_REGULATED_V * factor:g} V of this system"
        )
    trips = _trips(ledger, idle_share=idle, load_a=load_a)
    refuse_overlap(scenario.where, trips)
    charge_given = any(
        scenario.get(said) is not None
        for said in (BATTERY.state_of_charge, BATTERY.resting_voltage_v)
    )
    at_idle = PATTERN.alternator_idle_share
    return Pattern(
        trips=trips,
        alternator_a=take(PATTERN.alternator_a, PATTERN.alternator_a.usual(kind)),
        share_at_idle=take(
            at_idle,
            at_idle.usual(kind),
            "a DC-DC converter does not care" if kind in TRACTION else at_idle.source,
        ),
        regulated_20c_v=regulated_v / factor,
        smart=take(PATTERN.regulation) == "smart",
        smart_charge=take(PATTERN.smart_charge),
        crank_s=take(PATTERN.crank_s),
        heated_screens_a=take(PATTERN.heated_screens_a),
        warm_up_k=take(PATTERN.charging_warm_up_k),
        weeks=weeks,
        target_charge=take(PATTERN.target_charge),
        site=_site_before(ledger, weeks),
        charge_given=charge_given,
        regulated_sd_v=take(UNCERTAINTY.regulated_sd_v),
        acceptance_sigma=take(UNCERTAINTY.acceptance_sigma),
        trip_sigma=take(UNCERTAINTY.trip_sigma),
    )


def _trips(ledger: Ledger, *, idle_share: float, load_a: float) -> tuple[Trip, ...]:
    """Return the trips of the week: those listed, else a number of equal ones."""
    scenario = ledger.scenario
    listed = scenario.get(PATTERN.trips)
    if listed is None:
        per_week = ledger.take(PATTERN.trips_per_week)
        minutes = ledger.take(PATTERN.trip_minutes)
        return spread_trips(per_week, minutes, idle_share=idle_share, load_a=load_a)
    if scenario.get(PATTERN.trips_per_week) is not None:
        raise ScenarioError(
            f"{scenario.where}: pattern has both trips and trips_per_week; keep one of them"
        )
    trips = listed_trips(
        f"{scenario.where}: {PATTERN.trips}", listed, idle_share=idle_share, load_a=load_a
    )
    ledger.note(PATTERN.trips, [dict(trip) for trip in listed], "given")
    if any(TRIP.days.key not in trip for trip in listed):
        ledger.note(TRIP.days, TRIP.days.default, "default", TRIP.days.source)
    return trips


def _site_before(ledger: Ledger, weeks: int) -> Site:
    """Return the place in the weeks before parking."""
    scenario = ledger.scenario
    parked = scenario.get(SITE.parked_from) or default_parked_from(scenario)
    first = parked - dt.timedelta(weeks=weeks)
    try:
        earlier = scenario.with_values({SITE.parked_from: first})
        return site_from_scenario(Ledger(earlier), horizon_days=7 * weeks + 1)
    except DrainsimError as error:
        raise ScenarioError(
            f"{scenario.where}: pattern needs the weather of the {weeks} weeks before parking: "
            f"{error}; make {PATTERN.weeks} smaller or use a climate"
        ) from None


def longest_gap_h(pattern: Pattern) -> float:
    """Return the longest time from the end of a trip to the next start. [h]."""
    return max(gaps_h(pattern.trips), default=HOURS_PER_WEEK * pattern.weeks)
