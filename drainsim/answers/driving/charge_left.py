"""What weeks of driving leave in the battery: many cases in one run, and kept for those alike."""

import hashlib
import pickle
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, replace
from functools import partial
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from drainsim.physics.acceptance import acceptance_of
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import DRAWS_PER_WEATHER
from drainsim.simulation.lanes import Lanes, Loads, nominal_draws
from drainsim.simulation.many import group_key, joined
from drainsim.simulation.weather import WeatherLanes
from drainsim.simulation.week import DrivingDraws, Weeks, run_weeks
from drainsim.vehicle.case import Case
from drainsim.vehicle.pattern import Pattern
from drainsim.vehicle.run import Spreads

_DRIVING_STREAM: Final = 20_260  # sets the driving draws apart from the others of a seed
_LANES_AT_ONCE: Final = 8_000  # of one run: what a step works on fits the processor's cache
_FORGOTTEN_AFTER: Final = (12, 26)  # weeks, tried in turn
_BEGAN: Final = (0.05, 1.0)  # share of full, flat and full
_SAME_CHARGE: Final = 1e-3  # of full: far below what is known of any charge
_MOST_KEPT: Final = 500  # of charges left, 1.6 kB each
_OWN: Final = {"site", "solar", "maintainer", "top_up"}  # of a pattern, what cases need not share
_kept: Final[dict[bytes, FloatArray]] = {}


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


def earlier(case: Case, draws: int) -> Case:
    """Return so many draws of the case in its weeks of driving instead of its stand."""
    pattern = driving_pattern(case)
    return replace(
        case,
        draws=draws,
        known=None,
        site=pattern.site,
        horizon_days=7 * pattern.weeks + 1,
        solar=pattern.solar,
        maintainer=pattern.maintainer,
        top_up=pattern.top_up,
    )


def driving_draws(case: Case) -> DrivingDraws:
    """Return what differs from draw to draw while driving."""
    pattern, count = driving_pattern(case), case.draws
    rng = np.random.default_rng([case.seed, _DRIVING_STREAM])
    return DrivingDraws(
        regulated_shift_v=pattern.regulated_sd_v * rng.standard_normal(count),
        acceptance_factor=np.exp(pattern.acceptance_sigma * rng.standard_normal(count)),
        trip_factor=np.exp(pattern.trip_sigma * rng.standard_normal(count)),
        extra_h=np.zeros(count),
    )


def drive(
    case: Case,
    lanes: Lanes,
    loads: Loads,
    weather: WeatherLanes,
    draws: DrivingDraws,
    **how: Any,
) -> Weeks:
    """Return what the pattern of a case does to lanes of it; the rest as for `run_weeks`."""
    demand_a = case.vehicle.demand_a if case.vehicle.starts else 0.0
    return run_weeks(
        lanes,
        curves_of(case),
        loads,
        weather,
        driving_pattern(case),
        draws,
        demand_a=np.full(len(lanes), demand_a),
        kind=acceptance_of(case.battery.profile.chemistry),
        **how,
    )


def charges_left(cases: Sequence[Case], *, rough: bool = False) -> list[FloatArray]:
    """Return the charges drawn for the end of each case's driving, as shares of full.

    Parameters
    ----------
    cases : sequence of Case
        In their weeks of driving, from `earlier`.
    rough : bool
        Drive fewer draws, and the latest weeks only: about the same.
    """
    return _each_kept(cases, "rough" if rough else "charge", partial(_driven, rough=rough))


def charged_ah(cases: Sequence[Case]) -> list[float]:
    """Return what each case's own values take from the alternator in all its weeks. [Ah]."""
    bare = [_nominal(case) for case in cases]
    charged = _each_kept(bare, "charged", lambda part: _weeks_of_own(part).balance[-1].charged)
    return [float(each) for each in charged]


def nominal_weeks(cases: Sequence[Case]) -> Weeks:
    """Return the weeks of the own values of cases that drive together, a lane each."""
    return _weeks_of_own([_nominal(case) for case in cases])


def _weeks_of_own(bare: Sequence[Case]) -> Weeks:
    none, one = np.zeros(len(bare)), np.ones(len(bare))
    draws = DrivingDraws(
        regulated_shift_v=none, acceptance_factor=one, trip_factor=one, extra_h=none
    )
    return drive(bare[0], *joined(bare), draws, alike=1)


def _nominal(case: Case) -> Case:
    """Return the case in its weeks of driving, one draw of its own values."""
    none = Spreads(**{field.name: 0.0 for field in fields(Spreads)})
    return replace(earlier(case, 1), spreads=none, known=nominal_draws(1))


def _each_kept(
    cases: Sequence[Case], what: str, work_out: Callable[[Sequence[Case]], Iterable[FloatArray]]
) -> list[FloatArray]:
    """Return what each case's driving comes to: alike ones once, those that go together at once."""
    keys = [_alike(case, what) for case in cases]
    # Another visitor's answer may forget all at any time.
    found = {key: left for key in keys if (left := _kept.get(key)) is not None}
    groups: dict[tuple[object, ...], dict[bytes, Case]] = {}
    for key, case in zip(keys, cases, strict=True):
        if key not in found:
            groups.setdefault(_together(case), {})[key] = case
    for members in groups.values():
        todo = list(members.items())
        size = max(1, _LANES_AT_ONCE // todo[0][1].draws)
        for first in range(0, len(todo), size):
            part = dict(todo[first : first + size])
            found |= zip(part, work_out(list(part.values())), strict=True)
    if len(_kept) > _MOST_KEPT:
        forget()
    _kept.update(found)
    return [found[key] for key in keys]


def forget() -> None:
    """Drive anew from now on."""
    _kept.clear()


def _alike(case: Case, what: str) -> bytes:
    """Return a key of all that decides what driving leaves."""
    bare = replace(case, assumptions=(), warnings=(), auxiliary=None)
    return hashlib.blake2b(pickle.dumps((bare, what)), digest_size=16).digest()


def _together(case: Case) -> tuple[object, ...]:
    """Return what cases whose weeks are driven in one run must share."""
    pattern = driving_pattern(case)
    return (
        group_key(case),
        case.seed,  # the longest trip drawn sets the steps
        *(getattr(pattern, field.name) for field in fields(pattern) if field.name not in _OWN),
    )


def _driven(cases: Sequence[Case], rough: bool) -> FloatArray:
    """Return what cases that drive together are left with, shape (cases, draws).

    Weeks long before parking are left out where driving forgets them: what few draws that began
    flat and few that began full are left with does not differ.
    """
    first, weeks = cases[0], driving_pattern(cases[0]).weeks
    lanes, loads, weather = joined(cases)
    draws = driving_draws(first)

    def left(
        who: NDArray[np.intp], latest: int, *parts: tuple[int, float | None]
    ) -> list[FloatArray]:
        """Return what parts of so many-th draws, begun so full, are left with: (cases, draws)."""
        few = [
            (who[:, None] * first.draws + np.arange(0, first.draws, every)).ravel()
            for every, _ in parts
        ]
        index = np.concatenate(few)
        some = lanes.take(index)
        begun = np.repeat(
            [np.nan if share is None else share for _, share in parts], [len(part) for part in few]
        )
        as_drawn = np.isnan(begun)
        charge = drive(
            first,
            replace(some, start_ah=np.where(as_drawn, some.start_ah, begun * some.full_ah)),
            loads.take(index),
            weather,
            DrivingDraws(*(values[index % first.draws] for values in draws)),
            first_week=weeks - latest,
            alike=min(map(len, few)) // len(who),
        ).parked_charge
        ends = np.cumsum([len(part) for part in few])[:-1]
        return [part.reshape(len(who), -1) for part in np.split(charge, ends)]

    whole, rare = (1, None), (DRAWS_PER_WEATHER, None)
    bounds = [(DRAWS_PER_WEATHER, share) for share in _BEGAN]
    open_ = np.arange(len(cases))
    if rough:
        return left(open_, min(weeks, _FORGOTTEN_AFTER[0]), rare)[0]
    found = np.empty((len(cases), first.draws))
    # By how much flat and full still differ after some weeks: it falls at a rate, case by case.
    apart, driven = np.zeros(len(cases)), 1
    for latest in _FORGOTTEN_AFTER:
        some = open_[apart[open_] ** (latest / driven) < _SAME_CHARGE]
        if len(some) and 2 * latest <= weeks:
            found[some], flat, full = left(some, latest, whole, *bounds)
            gaps = [of(full, axis=1) - of(flat, axis=1) for of in (np.median, np.std)]
            apart[some], driven = np.abs(gaps).max(axis=0) / np.ptp(_BEGAN), latest
            open_ = open_[apart[open_] * np.ptp(_BEGAN) >= _SAME_CHARGE]
    if len(open_):
        found[open_] = left(open_, weeks, whole)[0]
    return found
