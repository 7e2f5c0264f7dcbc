"""What weeks of driving leave in the battery: many cases in one run, and kept for those alike.

Weeks that few draws, begun flat and begun full, both forget are left out. A stand draws its
charge by rank from the charges driven, each with 2 % about it: a normal curve of the same width
lacks their lower tail, where no-starts come from.
"""

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
from drainsim.simulation.driving.week import DrivingDraws, Weeks, run_weeks
from drainsim.simulation.lanes import Lanes, Loads, nominal_draws
from drainsim.simulation.many import group_key, joined
from drainsim.simulation.weather import WeatherLanes
from drainsim.vehicle.case import Case
from drainsim.vehicle.pattern import Pattern
from drainsim.vehicle.run import Spreads

_DRIVING_STREAM: Final = 20_260  # sets the driving draws apart from the others of a seed
_LANES_AT_ONCE: Final = 8_000  # of one run: what a step works on fits the processor's cache
_TRIED_WEEKS: Final = 9  # most driving has forgotten by then with what it began
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
        """Return parts of so many-th draws, begun so full: (halfway and at the end, case, draw)."""
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
        driven = drive(
            first,
            replace(some, start_ah=np.where(as_drawn, some.start_ah, begun * some.full_ah)),
            loads.take(index),
            weather,
            DrivingDraws(*(values[index % first.draws] for values in draws)),
            first_week=weeks - latest,
            alike=min(map(len, few)) // len(who),
        )
        charge = np.array([driven.charge[-1 - latest // 2], driven.parked_charge])
        ends = np.cumsum([len(part) for part in few])[:-1]
        return [part.reshape(2, len(who), -1) for part in np.split(charge, ends, axis=1)]

    whole, rare = (1, None), (DRAWS_PER_WEATHER, None)
    bounds = [(DRAWS_PER_WEATHER, share) for share in _BEGAN]
    open_ = np.arange(len(cases))
    if rough:
        return np.asarray(left(open_, min(weeks, _TRIED_WEEKS), rare)[0][1])
    found = np.empty((len(cases), first.draws))
    needed = np.full(len(cases), _TRIED_WEEKS)
    for _ in range(2):
        some = open_[2 * needed[open_] <= weeks]
        if len(some):
            latest = int(needed[some].max())
            drawn, flat, full = left(some, latest, whole, *bounds)
            found[some] = drawn[1]
            apart = np.max(
                [abs(of(full, axis=2) - of(flat, axis=2)) for of in (np.median, np.std)], axis=0
            )
            needed[some] = _weeks_needed(apart, latest)
            open_ = np.setdiff1d(open_, some[apart[1] < _SAME_CHARGE])
    if len(open_):
        found[open_] = left(open_, weeks, whole)[0][1]
    return found


def _weeks_needed(apart: FloatArray, weeks: int) -> NDArray[np.intp]:
    """Return after how many weeks flat and full are the same, from halfway and the end of some."""
    halfway, end = np.maximum(apart, _SAME_CHARGE / 10.0)
    falls = np.log(halfway / end) / (weeks - weeks // 2)  # a week
    more = np.log(end / _SAME_CHARGE) / np.maximum(falls, 1e-3)
    return np.asarray(weeks + np.ceil(1.5 * more), dtype=np.intp)
