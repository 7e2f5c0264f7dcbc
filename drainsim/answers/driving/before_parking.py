"""The charge a pattern of driving leaves: shared by the weekly answer and by every stand."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from drainsim.answers.driving.charge_left import (
    charged_ah,
    charges_left,
    drive,
    driving_draws,
    driving_pattern,
    earlier,
)
from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import normal_quantile, truncated_normal
from drainsim.simulation.driving.week import DrivingDraws, Weeks
from drainsim.simulation.many import joined
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.assumption import Assumption
from drainsim.vehicle.run import UNCERTAINTY

_DRAWS: Final = 200  # enough for the middle and the lower tail
_LEAST_SD: Final = 0.02  # what no pattern knows: common practice, no source
_FIFTHS: Final = normal_quantile([0.1, 0.3, 0.5, 0.7, 0.9])  # each charge with that about it


def sharing_the_alternator(cases: Sequence[Case]) -> list[Case]:
    """Return cases with what an auxiliary battery takes of the alternator while driving.

    Its mean charging current over its own weeks is one more load of every trip.
    """
    beside = {n: other for n, case in enumerate(cases) if (other := _sharing(case)) is not None}
    found = list(cases)
    for number, ah in zip(beside, charged_ah([*beside.values()]), strict=True):
        found[number] = _shared(found[number], ah)
    return found


def _sharing(case: Case) -> Case | None:
    """Return the auxiliary battery that takes of the alternator and is not counted yet."""
    pattern, beside = case.pattern, case.auxiliary
    if pattern is None or pattern.shared or beside is None or beside.pattern is None:
        return None
    return beside if pattern.minutes_per_week * pattern.weeks > 0.0 else None


def _shared(case: Case, charged_ah: float) -> Case:
    pattern = driving_pattern(case)
    taken_a = charged_ah / (pattern.minutes_per_week / 60.0 * pattern.weeks)
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
    before = earlier(case, count)
    lanes, loads, weather = joined([before])
    trips = max(len(driving_pattern(case).trips), 1)
    extra_h = np.atleast_1d(extra_minutes_per_week) / 60.0 / trips
    some = np.arange(0, count, every)
    index = np.tile(some, len(extra_h))
    drawn = DrivingDraws(*(values[index] for values in driving_draws(before)))
    draws = drawn._replace(extra_h=np.repeat(extra_h, len(some)))
    return drive(before, lanes.take(index), loads.take(index), weather, draws)


def parked_from_pattern(case: Case) -> Case:
    """Return the case with the charge its driving leaves, where nothing better is known.

    A case without a pattern, or with a charge or voltage given, comes back as it is.
    """
    return parked_from_patterns([case])[0]


def parked_from_patterns(
    cases: Sequence[Case], *, rough: bool = False, alone: bool = False
) -> list[Case]:
    """Return cases with the charge their driving leaves: as one by one, in less time.

    Parameters
    ----------
    cases : sequence of Case
    rough : bool
        As in `charges_left`.
    alone : bool
        Of two batteries only the one that starts is asked about.
    """
    found = sharing_the_alternator(
        [replace(case, auxiliary=None) if alone and not _open(case) else case for case in cases]
    )
    beside = {n: case.auxiliary for n, case in enumerate(found) if case.auxiliary is not None}
    if beside and not alone:
        parked = parked_from_patterns(list(beside.values()), rough=rough)
        for number, settled in zip(beside, parked, strict=True):
            found[number] = _beside(found[number], settled)
    open_ = [number for number, case in enumerate(found) if _open(case)]
    left = charges_left([earlier(found[number], _DRAWS) for number in open_], rough=rough)
    for number, charges in zip(open_, left, strict=True):
        found[number] = _left_with(found[number], charges)
    return found


def _open(case: Case) -> bool:
    """Say whether driving decides the charge, and has not yet."""
    pattern = case.pattern
    return pattern is not None and not pattern.settled and not pattern.charge_given


def _left_with(case: Case, drawn: FloatArray) -> Case:
    """Return a case parked with the charges drawn for the end of its driving.

    As they are: their lower tail is far longer than that of a normal distribution so wide.
    """
    pattern = driving_pattern(case)
    charge = float(np.median(drawn))
    sd = float(np.hypot(np.sqrt(np.mean((drawn - charge) ** 2)), _LEAST_SD))
    given_sd = any(
        item.name == UNCERTAINTY.state_of_charge_sd and item.origin == "given"
        for item in case.assumptions
    )
    about = truncated_normal(_FIFTHS[:, None], mean=drawn, sd=_LEAST_SD, low=0.0, high=1.0)
    left = tuple(np.sort(about, axis=None).tolist())
    if given_sd:
        sd, left = case.spreads.state_of_charge_sd, ()
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
            case.battery, start=replace(case.battery.start, charge=charge, charge_sd=sd, left=left)
        ),
        spreads=replace(case.spreads, state_of_charge_sd=sd),
        pattern=replace(pattern, settled=True),
        assumptions=assumptions,
    )


def _beside(case: Case, settled: Case) -> Case:
    """Return the case with the charge its driving leaves in the auxiliary battery."""
    if settled is case.auxiliary:
        return case
    pattern = driving_pattern(settled)
    left = Assumption(
        name="auxiliary.state_of_charge",
        value=settled.battery.state_of_charge,
        unit="",
        origin="estimated",
        source=f"where {pattern.spelled_out()} leave it after {pattern.weeks} weeks",
    )
    return replace(case, auxiliary=settled, assumptions=(*case.assumptions, left))
