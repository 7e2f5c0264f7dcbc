"""Many cases in few runs: vehicles that share battery curves and a parking day step together."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.blocks import case_block_h
from drainsim.simulation.chargers import add_charging_a
from drainsim.simulation.draws import weather_of_draw
from drainsim.simulation.lanes import Lanes, Loads, draws_of, lanes_from_draws, loads_of, weathers_c
from drainsim.simulation.standing.silence import silent_daily
from drainsim.simulation.standing.stand import Stand, run_stand
from drainsim.simulation.weather import WeatherLanes
from drainsim.vehicle.case import Case

MOST_LANES: Final = 20_000  # of one run; bounds memory, and fits the processor's cache


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnStand:
    """One case's draws. Hours are inf where it did not happen; arrays have shape (draws,).

    `no_start_daily` has shape (days + 1, draws); the `*_ah` are means over the draws.
    """

    no_start_h: FloatArray
    half_charge_h: FloatArray
    unit_off_h: FloatArray
    empty_h: FloatArray
    freezing_h: FloatArray
    no_start_daily: BoolArray
    snapshot_charge: FloatArray
    vehicle_ah: float
    unit_ah: float
    other_ah: float
    lost_ah: float


def run_cases(
    cases: Sequence[Case],
    *,
    snapshot: dt.date | None = None,
    step_h: float | None = None,
    mornings_only: bool = False,
) -> Iterator[tuple[int, DrawnStand]]:
    """Yield (number of the case, its draws), group by group.

    Parameters
    ----------
    cases : sequence of Case
    snapshot : date, optional
        Day whose charge is kept; the day of parking for a case parked later.
    step_h : float, optional
        Length of a block, a divisor of 24; each case's own by the day if left out. [h]
    mornings_only : bool
        As in `stand.run_stand`: two thirds of the time.

    The same numbers as one `answers.park.run_draws` per case, to rounding: each case keeps its
    own draws and its place's weather.
    """
    groups: dict[tuple[float, *tuple[object, ...]], list[int]] = {}
    for number, case in enumerate(cases):
        block_h = step_h or case_block_h(case, by_day=True)
        groups.setdefault((block_h, *group_key(case)), []).append(number)
    for (block_h, *_), members in groups.items():
        size = max(1, MOST_LANES // cases[members[0]].draws)
        for start in range(0, len(members), size):
            part = members[start : start + size]
            group = [cases[number] for number in part]
            yield from zip(part, _run_group(group, snapshot, block_h, mornings_only), strict=True)


def group_key(case: Case) -> tuple[object, ...]:
    """Return what vehicles of one run must share."""
    site = case.site
    return (
        id(case.battery.profile),
        case.vehicle.minimum_cranking_v,
        case.vehicle.turns_engine,
        case.vehicle.oil,
        case.vehicle.block_heater_k,
        case.vehicle.battery_heater_k,
        case.vehicle.starts,
        site.parked_from.toordinal() + case.horizon_days,
        case.draws,
        site.start_hour,
        site.lag_h,
        case.charging_a is None and case.vehicle.other_a >= 0.0,  # charge that only falls is fast
    )


def _run_group(
    cases: Sequence[Case], snapshot: dt.date | None, step_h: float, mornings_only: bool
) -> Iterator[DrawnStand]:
    """Run cases of one group from the first parking on and cut the result up again."""
    first = min(cases, key=lambda case: case.site.parked_from)
    draws = first.draws
    lanes, loads, weather = joined(cases)
    stand = run_stand(
        lanes,
        curves_of(first),
        loads,
        weather,
        horizon_days=first.horizon_days,
        step_h=step_h,
        to_the_end=not first.vehicle.starts,
        snapshot_day=(snapshot - first.site.parked_from).days if snapshot else 0,
        ends=(),
        mornings_only=mornings_only and first.vehicle.starts,
    )
    parts_of = (
        _cut(stand, slice(n * draws, (n + 1) * draws), int(lanes.start_day[n * draws]))
        for n in range(len(cases))
    )
    return parts_of if first.vehicle.starts else map(_silent, parts_of)


def joined(cases: Sequence[Case]) -> tuple[Lanes, Loads, WeatherLanes]:
    """Return the draws of cases that share a `group_key`, case behind case.

    Days are those of the first parking on; each case is parked on its own.
    """
    first = min(cases, key=lambda case: case.site.parked_from)
    draws = first.draws
    weather, place_of = _weather(cases, first)
    of_draw = weather_of_draw(draws)
    parts = [
        replace(
            lanes_from_draws(case, draws_of(case)),
            weather=of_draw + (int(of_draw[-1]) + 1) * place,
            start_day=np.full(draws, (case.site.parked_from - first.site.parked_from).days),
        )
        for case, place in zip(cases, place_of, strict=True)
    ]
    lanes = Lanes(
        **{
            field.name: np.concatenate([getattr(part, field.name) for part in parts])
            for field in fields(Lanes)
        }
    )
    return lanes, _loads(cases, draws, first.horizon_days), weather


def _silent(drawn: DrawnStand) -> DrawnStand:
    """Return a trailer's draws: its no-start is the unit's silence."""
    hours = np.minimum(drawn.unit_off_h, drawn.empty_h)
    daily = silent_daily(hours, len(drawn.no_start_daily) - 1)
    return replace(drawn, no_start_h=hours, no_start_daily=daily)


def _weather(cases: Sequence[Case], first: Case) -> tuple[WeatherLanes, list[int]]:
    """Return the weathers of all places of a group and each case's place among them."""
    by_key: dict[tuple[object, ...], list[int]] = {}
    for number, case in enumerate(cases):
        by_key.setdefault(_place_key(case), []).append(number)
    place_of = [0] * len(cases)
    drawn, courses = [], []
    for place, members in enumerate(by_key.values()):
        for number in members:
            place_of[number] = place
        case = min((cases[n] for n in members), key=lambda case: case.site.parked_from)
        drawn.append(weathers_c(case, first.site.parked_from, first.horizon_days))
        course = case.site.battery_c
        ahead = 24 * first.horizon_days + 1 - len(course)  # hours before its first vehicle
        courses.append(np.concatenate([np.full(ahead, course[0]), course]))
    seasons, anomalies, settled = zip(*drawn, strict=True)
    weather = WeatherLanes(
        course_c=np.stack(courses, axis=1),
        season_c=np.concatenate(seasons),
        anomaly_c=np.concatenate(anomalies, axis=1),
        settled_c=np.concatenate(settled),
        lag_h=first.site.lag_h,
        doubling_k=first.battery.profile.number("self_discharge_doubling_k"),
        site=np.repeat(np.arange(len(courses)), len(seasons[0])),
    )
    return weather, place_of


def _place_key(case: Case) -> tuple[object, ...]:
    """Return what cases of one place and weather share; the course's end stands for all of it."""
    site, spreads = case.site, case.spreads
    return (
        site.place,
        site.battery_c[-24:].tobytes(),
        case.weather_seed,
        spreads.season_sd_c,
        spreads.weather_sd_c,
        spreads.weather_correlation,
    )


def _loads(cases: Sequence[Case], draws: int, days: int) -> Loads:
    """Return the loads of all cases lane by lane; shorter ladders repeat their last mode."""
    each = [loads_of(case) for case in cases]
    most = max(len(loads.current_a) for loads in each)

    def rows(name: str, fill: float | None) -> FloatArray:
        columns = []
        for loads in each:
            column = getattr(loads, name)[:, 0]
            tail = column[-1] if fill is None else fill
            columns.append(np.concatenate([column, np.full(most - len(column), tail)]))
        return np.repeat(np.stack(columns, axis=1), draws, axis=1)

    return Loads(
        current_a=rows("current_a", None),
        enter_below_v=rows("enter_below_v", np.nan),
        leave_above_v=rows("leave_above_v", np.nan),
        switching=np.repeat([loads.switching[0] for loads in each], draws),
        rated_at_v=np.repeat([loads.rated_at_v[0] for loads in each], draws),
        off_mode=np.repeat([loads.off_mode[0] for loads in each], draws),
        lowest_charging_c=np.repeat([loads.lowest_charging_c[0] for loads in each], draws),
        charging_a=_charging_a(cases, draws, days),
    )


def _charging_a(cases: Sequence[Case], draws: int, days: int) -> FloatArray:
    """Return what charges each lane on each day of the run; no days at all without a charger."""
    if all(case.charging_a is None for case in cases):
        return np.zeros((0, draws * len(cases)))
    lanes = np.zeros((days, draws * len(cases)))
    for number, case in enumerate(cases):
        if case.charging_a is not None:
            own = slice(number * draws, (number + 1) * draws)
            add_charging_a(case, lanes[days - case.horizon_days :, own])  # all end together
    return lanes


def _cut(stand: Stand, part: slice, from_day: int) -> DrawnStand:
    """Return one case's share of a run, from its own parking on."""
    means = {name: float(ah[part].mean()) for name, ah in stand.balance._asdict().items()}
    return DrawnStand(
        no_start_h=stand.no_start_h[part],
        half_charge_h=stand.half_charge_h[part],
        unit_off_h=stand.unit_off_h[part],
        empty_h=stand.empty_h[part],
        freezing_h=stand.freezing_h[part],
        no_start_daily=stand.no_start_daily[from_day:, part],
        snapshot_charge=stand.snapshot_charge[part],
        **{name: means[name] for name in ("vehicle_ah", "unit_ah", "other_ah", "lost_ah")},
    )
