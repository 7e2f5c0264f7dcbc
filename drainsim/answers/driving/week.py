"""Does the driving keep the battery charged, and how much more driving would?"""

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields
from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim import __version__
from drainsim.answers.driving.before_parking import drawn_weeks, sharing_the_alternator
from drainsim.answers.driving.charge_left import driving_pattern
from drainsim.errors import ScenarioError
from drainsim.language import Celsius, Message, marked, message
from drainsim.physics.alternator import DRIVING_SHARE
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER
from drainsim.simulation.driving.trip_groups import together
from drainsim.simulation.driving.week import DrivingBalance, Weeks
from drainsim.vehicle.case import Case
from drainsim.vehicle.trip import shortest_gap_h

_SEASONS: Final = {
    marked("December to February"): (12, 1, 2),
    marked("March to May"): (3, 4, 5),
    marked("June to August"): (6, 7, 8),
    marked("September to November"): (9, 10, 11),
}
_YEAR_WEEKS: Final = 52
_FORGET_WEEKS: Final = 8  # the charge at the start is forgotten by then
_LONGEST_EXTRA_MIN: Final = 60.0  # more per trip is another life, not a change of habit
_ROUGH_SHARES: Final = (0.0, 0.015, 0.03, 0.06, 0.12, 0.25, 0.5, 1.0)  # of the most that is tried
_MOST_ROUNDS: Final = 12
_CLOSE: Final = 0.003  # of charge above the target: nobody drives more exactly
_MEMORABLE: Final = 0.02
_FEWEST_DRAWS: Final = 100
_MOST_DRAWS: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Where the charge stands in three months: medians of the draws.

    `low_*` is exceeded in nine of ten draws.
    """

    name: str
    temperature_c: float
    charge: float
    lowest_charge: float
    low_lowest_charge: float
    balance: DrivingBalance  # a mean week of the draws, each part one number [Ah/week]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekAnswer:
    """What a pattern of driving does to the battery.

    Weekly arrays have one value per week's beginning and one for the end, shape (weeks + 1,).
    Charges are medians of the draws, `charge_low` and `charge_high` hold their middle 80 %; what
    goes in and out is their mean.
    """

    case: Case
    day: tuple[dt.date, ...]
    charge: FloatArray
    charge_low: FloatArray
    charge_high: FloatArray
    net_ah: FloatArray  # of each week, shape (weeks,)
    seasons: tuple[Season, ...]
    lowest_charge: float  # once the start is forgotten
    lowest_day: dt.date
    parked_charge: float
    parked_charge_sd: float
    failed_start_share: float  # of the draws with at least one start that needs help
    first_failed_week: int | None  # of the median draw; None: most never fail
    extra_minutes_per_week: float | None  # None: no amount tried is enough
    longest_extra_tried: float
    limited_by: Message
    warnings: tuple[str, ...]
    auxiliary: "WeekAnswer | None" = None  # of the separated battery that feeds the unit

    def __repr__(self) -> str:
        """Return the answer in one line."""
        return (
            f"<WeekAnswer: lowest charge {100 * self.lowest_charge:.0f} % in the week of "
            f"{self.lowest_day}, {100 * self.parked_charge:.0f} % at parking>"
        )

    def to_frame(self) -> pd.DataFrame:
        """Return the charge at the beginning of every week, with the middle 80 % of the cases."""
        columns = {"charge": self.charge, "charge_low": self.charge_low}
        return pd.DataFrame({**columns, "charge_high": self.charge_high}, index=list(self.day))

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        pattern = driving_pattern(self.case)
        return {
            "drainsim_version": __version__,
            "trips_per_week": len(pattern.trips),
            "minutes_per_week": pattern.minutes_per_week,
            "weeks": pattern.weeks,
            "week_begins": [day.isoformat() for day in self.day],
            "charge": [round(float(c), 6) for c in self.charge],
            "charge_p10": [round(float(c), 6) for c in self.charge_low],
            "charge_p90": [round(float(c), 6) for c in self.charge_high],
            "net_ah_per_week": [round(float(n), 6) for n in self.net_ah],
            "seasons": [
                {
                    "name": season.name,
                    "temperature_c": season.temperature_c,
                    "charge": season.charge,
                    "lowest_charge": season.lowest_charge,
                    "lowest_charge_p10": season.low_lowest_charge,
                    "balance_ah_per_week": parts_of(season.balance),
                }
                for season in self.seasons
            ],
            "lowest_charge": self.lowest_charge,
            "lowest_week": self.lowest_day.isoformat(),
            "charge_at_parking": self.parked_charge,
            "charge_at_parking_sd": self.parked_charge_sd,
            "share_of_draws_with_a_failed_start": self.failed_start_share,
            "first_failed_week": self.first_failed_week,
            "target_charge": pattern.target_charge,
            "extra_minutes_per_week": self.extra_minutes_per_week,
            "longest_extra_minutes_tried": self.longest_extra_tried,
            "limited_by": self.limited_by,
            "auxiliary_battery": self.auxiliary.as_dict() if self.auxiliary else None,
            "warnings": list(self.warnings),
            "assumptions": [item.as_dict() for item in self.case.assumptions],
        }


def week(case: Case) -> WeekAnswer:
    """Return where the charge settles under a case's pattern of driving.

    Raises
    ------
    ScenarioError
        If the scenario has no [pattern] table.
    """
    pattern = case.pattern
    if pattern is None:
        raise ScenarioError(
            "no [pattern] table in the scenario: add one with trips_per_week and trip_minutes, or "
            "[[pattern.trips]]"
        )
    (case,) = sharing_the_alternator([case])
    beside = case.auxiliary
    drawn = drawn_weeks(case, _draws(case))
    first = pattern.site.parked_from
    days = tuple(first + dt.timedelta(weeks=number) for number in range(pattern.weeks + 1))
    begin = _first_counted(pattern.weeks)
    lowest = _lowest(drawn, begin)
    worst = begin + int(np.median(drawn.lowest_charge[begin:], axis=1).argmin())
    enough = lowest >= pattern.target_charge
    extra, tried = (0.0, 0.0) if enough else _more_minutes(case, lowest)
    low, middle, high = np.quantile(drawn.charge, [0.1, 0.5, 0.9], axis=1)
    return WeekAnswer(
        case=case,
        day=days,
        charge=middle,
        charge_low=low,
        charge_high=high,
        net_ah=np.diff([entry.net_ah().mean() for entry in drawn.balance]),
        seasons=_seasons(case, drawn, days),
        lowest_charge=lowest,
        lowest_day=days[worst],
        parked_charge=float(np.median(drawn.parked_charge)),
        parked_charge_sd=float(drawn.parked_charge.std()),
        failed_start_share=float((drawn.failed_starts > 0).mean()),
        first_failed_week=_first_failed_week(drawn),
        extra_minutes_per_week=extra,
        longest_extra_tried=tried,
        limited_by=_limited_by(case, drawn, worst),
        warnings=(*case.warnings, *_warnings(case, drawn, lowest)),
        auxiliary=week(beside) if beside is not None and beside.pattern is not None else None,
    )


def _draws(case: Case) -> int:
    """Return how many draws are enough for the band: the case's own number, within limits."""
    whole = case.draws // DRAWS_PER_WEATHER * DRAWS_PER_WEATHER
    return min(max(whole, _FEWEST_DRAWS), _MOST_DRAWS)


def _first_counted(weeks: int) -> int:
    """Return the first week that counts: the last year, once the start is forgotten."""
    if weeks > _YEAR_WEEKS:
        return weeks - _YEAR_WEEKS
    return _FORGET_WEEKS if weeks > 2 * _FORGET_WEEKS else 0


def _lowest(drawn: Weeks, begin: int) -> float:
    """Return the median of the lowest charges of all draws, once the start is forgotten."""
    return float(np.median(drawn.lowest_charge[begin:].min(axis=0)))


def _first_failed_week(drawn: Weeks) -> int | None:
    """Return the week by which half of the draws have had a start that fails."""
    failed = np.logical_or.accumulate(drawn.lowest_margin < 1.0, axis=0).mean(axis=1) >= 0.5
    return int(failed.argmax()) + 1 if failed.any() else None


def _balance(balance: tuple[DrivingBalance, ...], which: BoolArray) -> DrivingBalance:
    """Return the draws' mean week over some weeks."""
    parts = {}
    for field in fields(DrivingBalance):
        running = np.array([getattr(entry, field.name).mean() for entry in balance])
        parts[field.name] = np.asarray(np.diff(running)[which].mean())
    return DrivingBalance(**parts)


def parts_of(balance: DrivingBalance) -> dict[str, float]:
    """Return a week's parts and the net change of charge. [Ah/week]."""
    parts = {name: float(part) for name, part in asdict(balance).items()}
    return {**parts, "net": float(balance.net_ah())}


def _seasons(case: Case, drawn: Weeks, days: tuple[dt.date, ...]) -> tuple[Season, ...]:
    """Return the quarters of the year the counted weeks touch, beginning with the coldest."""
    begin = _first_counted(driving_pattern(case).weeks)
    months = np.array([(day + dt.timedelta(days=3)).month for day in days[:-1]])
    counted = np.arange(len(months)) >= begin
    found = []
    for name, members in _SEASONS.items():
        which = counted & np.isin(months, members)
        if not which.any():
            continue
        low, middle = np.quantile(drawn.lowest_charge[which].min(axis=0), [0.1, 0.5])
        found.append(
            Season(
                name=name,
                temperature_c=float(drawn.mean_temperature_c[which].mean()),
                charge=float(np.median(drawn.charge[1:][which].mean(axis=0))),
                lowest_charge=float(middle),
                low_lowest_charge=float(low),
                balance=_balance(drawn.balance, which),
            )
        )
    return tuple(sorted(found, key=lambda season: season.temperature_c))


def _more_minutes(case: Case, lowest: float) -> tuple[float | None, float]:
    """Return the least extra driving that keeps the target charge in half of the draws.

    Comes with the most that was tried. A few of the draws say how the lowest charge rises with the
    minutes; where that curve, moved to what all draws said last, meets the target, all drive again.
    """
    pattern = driving_pattern(case)
    begin, target = _first_counted(pattern.weeks), pattern.target_charge
    if not pattern.trips:
        return None, 0.0
    room_min = 60.0 * shortest_gap_h(pattern.trips)
    tried = min(_LONGEST_EXTRA_MIN, room_min) * len(pattern.trips)
    if tried <= 0.0:
        return None, 0.0
    grid = [tried * share for share in _ROUGH_SHARES]
    few = drawn_weeks(case, _draws(case), extra_minutes_per_week=grid, every=DRAWS_PER_WEATHER)
    each = few.lowest_charge[begin:].min(axis=0).reshape(len(grid), -1)
    curve = np.maximum.accumulate(np.median(each, axis=1))
    above_curve = lowest - curve[0]
    low, high = 0.0, math.inf
    for _ in range(_MOST_ROUNDS):
        edge = 0.05 * (min(high, tried) - low)
        guess = float(np.interp(target + 0.5 * _CLOSE - above_curve, curve, grid))
        guess = min(max(guess, low + edge), tried if math.isinf(high) else high - edge)
        found = _lowest(drawn_weeks(case, _draws(case), extra_minutes_per_week=guess), begin)
        above_curve = found - float(np.interp(guess, grid, curve))
        if found >= target:
            high = guess
            if found <= target + _CLOSE:
                break
        elif guess == tried:
            break
        else:
            low = guess
    return None if math.isinf(high) else high, tried


def _limited_by(case: Case, drawn: Weeks, worst: int) -> Message:
    """Say what keeps the charge down in the lowest week."""
    pattern = driving_pattern(case)
    if not pattern.trips:
        return message("no driving at all")
    cold = float(np.median(drawn.mean_temperature_c[worst]))
    load_a = max(trip.load_a for trip in pattern.trips)
    load_a += pattern.heated_screens_a if cold < 3.0 else 0.0
    idle_a = pattern.alternator_a * pattern.share_at_idle
    moving_a = pattern.alternator_a * DRIVING_SHARE
    if load_a > moving_a:
        return message(
            "the consumers ({load:.0f} A) ask for more than the alternator gives even under way "
            "({gives:.0f} A)",
            load=load_a,
            gives=moving_a,
        )
    if load_a > idle_a and max(trip.idle_share for trip in pattern.trips) > 0.0:
        return message(
            "at idle the consumers ({load:.0f} A) ask for more than the alternator gives "
            "({gives:.0f} A), so the battery pays",
            load=load_a,
            gives=idle_a,
        )
    if pattern.smart and np.median(drawn.charge[worst]) >= pattern.smart_charge - 0.05:
        return message(
            "smart regulation, which charges only to {percent:.0f} %",
            percent=100 * pattern.smart_charge,
        )
    if cold < 5.0:
        return message("a battery at {cold} takes little charge", cold=Celsius(cold))
    return message("a nearly full battery takes little charge in the minutes there are")


def _warnings(case: Case, drawn: Weeks, lowest: float) -> Iterator[Message]:
    pattern = driving_pattern(case)
    helped = float((drawn.failed_starts > 0).mean())
    if helped >= _MEMORABLE:
        yield message(
            "{percent:.0f} % of the cases have a start that needs help; the figures go on as "
            "if it was then jump-started",
            percent=100 * helped,
        )
    if lowest < pattern.target_charge:
        yield message(
            "the charge falls to {lowest:.0f} %: below {target:.0f} % plates sulfate and the "
            "battery ages faster",
            lowest=100 * lowest,
            target=100 * pattern.target_charge,
        )
    count = together(pattern.trips, pattern.weeks)
    if count > 1:
        yield message(
            "{trips} trips a week are worked out up to {count} at a time, each with its start "
            "and key-off: the charge may be off by 6 %",
            trips=len(pattern.trips),
            count=count,
        )
    if case.maintainer is not None and pattern.maintainer is None:
        yield message(
            "the maintainer counts from parking on, not between trips; say "
            "maintainer.between_trips = 'yes' if it is plugged in whenever the vehicle stands"
        )
    yield message(
        "how much a cold battery accepts is known roughly (a half at {cool}, a tenth at {cold} "
        "of {warm}, from memory): take the winter figures as a guide",
        cool=Celsius(0.0),
        cold=Celsius(-18.0),
        warm=Celsius(25.0),
    )
