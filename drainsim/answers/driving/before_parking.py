"""The charge a pattern of driving leaves: shared by the weekly answer and by every stand."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from drainsim.physics.acceptance import acceptance_of
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.chargers import drawn_loads
from drainsim.simulation.draws import standard_draws, weather_of_draw
from drainsim.simulation.lanes import (
    drawn_weather,
    lanes_from_draws,
    loads_of,
    nominal_draws,
    nominal_weather,
)
from drainsim.simulation.week import DrivingDraws, Weeks, run_weeks
from drainsim.vehicle.assumption import Assumption
from drainsim.vehicle.battery import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.pattern import Pattern
from drainsim.vehicle.run import UNCERTAINTY

_DRAWS: Final = 200  # enough for a mean and a standard deviation
_DRIVING_STREAM: Final = 20_260  # sets the driving draws apart from the others of a seed
_LEAST_SD: Final = 0.02  # what no pattern knows: common practice, no source


def driving_pattern(case: Case) -> Pattern:
    """Return the case's pattern.

    Raises
    ------
    ValueError
        If it has none.
    """
    if case.pattern is None:
        raise ValueError("this case has no pattern of driving")
    return case.pattern


def sharing_the_alternator(case: Case) -> Case:
    """Return the case with what an auxiliary battery takes of the alternator while driving.

    Its mean charging current over its own weeks is one more load of every trip.
    """
    pattern, beside = case.pattern, case.auxiliary
    if pattern is None or pattern.shared or beside is None or beside.pattern is None:
        return case
    driven_h = pattern.minutes_per_week / 60.0 * pattern.weeks
    if driven_h == 0.0:
        return case
    taken_a = float(nominal_weeks(beside).balance[-1].charged[0]) / driven_h
    trips = tuple(replace(trip, load_a=trip.load_a + taken_a) for trip in pattern.trips)
    taken = Assumption(
        name="auxiliary.charging_current",
        value=taken_a,
        unit="A",
        origin="estimated",
        source="mean while driving, out of the same alternator",
    )
    return replace(
        case,
        pattern=replace(pattern, trips=trips, shared=True),
        assumptions=(*case.assumptions, taken),
    )


def _earlier(case: Case) -> Case:
    """Return the case in its weeks of driving instead of its stand."""
    pattern = driving_pattern(case)
    return replace(
        case,
        site=pattern.site,
        horizon_days=7 * pattern.weeks + 1,
        solar=pattern.solar,
        maintainer=pattern.maintainer,
        top_up=pattern.top_up,
    )


def nominal_weeks(case: Case) -> Weeks:
    """Return the weeks of the case's own values, one lane."""
    before = _earlier(case)
    z = nominal_draws(1)
    one, none = np.ones(1), np.zeros(1)
    return run_weeks(
        lanes_from_draws(before, z, varied={}),
        curves_of(case),
        loads_of(before),
        nominal_weather(before, z["season"]),
        driving_pattern(case),
        DrivingDraws(regulated_shift_v=none, acceptance_factor=one, trip_factor=one, extra_h=none),
        demand_a=np.full(1, _demand_a(case)),
        kind=acceptance_of(case.battery.profile.chemistry),
    )


def drawn_weeks(
    case: Case,
    count: int,
    *,
    extra_minutes_per_week: float | Sequence[float] = 0.0,
    every: int = 1,
) -> Weeks:
    """Return the weeks of a number of draws of everything uncertain, driven so much longer.

    Parameters
    ----------
    case : Case
    count : int
    extra_minutes_per_week : float or sequence of float
        Of several, each one's draws lie behind those of the one before.
    every : int
        Run only each so many-th draw.
    """
    pattern = driving_pattern(case)
    before = replace(_earlier(case), draws=count)
    lanes = lanes_from_draws(before, standard_draws(count, case.seed))
    rng = np.random.default_rng([case.seed, _DRIVING_STREAM])
    extra_h = np.atleast_1d(extra_minutes_per_week) / 60.0 / max(len(pattern.trips), 1)
    some = np.arange(0, count, every)
    index = np.tile(some, len(extra_h))
    draws = DrivingDraws(
        regulated_shift_v=(pattern.regulated_sd_v * rng.standard_normal(count))[index],
        acceptance_factor=np.exp(pattern.acceptance_sigma * rng.standard_normal(count))[index],
        trip_factor=np.exp(pattern.trip_sigma * rng.standard_normal(count))[index],
        extra_h=np.repeat(extra_h, len(some)),
    )
    return run_weeks(
        replace(lanes, weather=weather_of_draw(count)).take(index),
        curves_of(case),
        drawn_loads(before).take(index),
        drawn_weather(before),
        pattern,
        draws,
        demand_a=np.full(len(index), _demand_a(case)),
        kind=acceptance_of(case.battery.profile.chemistry),
    )


def _demand_a(case: Case) -> float:
    return case.vehicle.demand_a if case.vehicle.starts else 0.0


def parked_from_pattern(case: Case) -> Case:
    """Return the case with the charge its driving leaves, where nothing better is known.

    A case without a pattern, or with a charge or voltage given, comes back as it is.
    """
    case = _auxiliary_settled(sharing_the_alternator(case))
    pattern = case.pattern
    if pattern is None or pattern.settled or pattern.charge_given:
        return case
    drawn = drawn_weeks(case, _DRAWS).parked_charge
    charge = float(np.median(drawn))
    sd = float(np.hypot(np.sqrt(np.mean((drawn - charge) ** 2)), _LEAST_SD))
    given_sd = any(
        item.name == UNCERTAINTY.state_of_charge_sd and item.origin == "given"
        for item in case.assumptions
    )
    if given_sd:
        sd = case.spreads.state_of_charge_sd
    source = f"where {pattern.spelled_out()} leave it after {pattern.weeks} weeks"
    found: dict[str, float] = {BATTERY.state_of_charge: charge, UNCERTAINTY.state_of_charge_sd: sd}
    assumptions = tuple(
        Assumption(name=a.name, value=found[a.name], unit="", origin="estimated", source=source)
        if a.name in found and a.origin == "default"
        else a
        for a in case.assumptions
    )
    return replace(
        case,
        battery=replace(
            case.battery, start=replace(case.battery.start, charge=charge, charge_sd=sd)
        ),
        spreads=replace(case.spreads, state_of_charge_sd=sd),
        pattern=replace(pattern, settled=True),
        assumptions=assumptions,
    )


def _auxiliary_settled(case: Case) -> Case:
    """Return the case with the charge its driving leaves in the auxiliary battery."""
    if case.auxiliary is None:
        return case
    beside = parked_from_pattern(case.auxiliary)
    if beside is case.auxiliary:
        return case
    pattern = driving_pattern(beside)
    left = Assumption(
        name="auxiliary.state_of_charge",
        value=beside.battery.state_of_charge,
        unit="",
        origin="estimated",
        source=f"where {pattern.spelled_out()} leave it after {pattern.weeks} weeks",
    )
    return replace(case, auxiliary=beside, assumptions=(*case.assumptions, left))
