"""The risk of a stand: the share of draws that would not start, on the day someone comes back.

The risk of N days is the share of draws that would not start at the start hour on day N
(`on_day`); `every_day` takes the worst start until then, `any_time` every hour. Ways, maintainers
and panels are always judged by `every_day`: with charge coming in, a battery dead for weeks may
have recovered by the last day.
"""

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Protocol

import numpy as np

from drainsim.answers.driving.before_parking import parked_from_pattern, parked_from_patterns
from drainsim.answers.standing.park import DEFAULT_RISK, run_draws
from drainsim.answers.storage.changes import Changes, with_changes
from drainsim.errors import OutOfRangeError
from drainsim.language import message
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import weather_of_draw
from drainsim.simulation.standing.stand import Stand
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.run import RUN

LONGEST_DAYS: Final = 730  # the scenario's own limit
# What "the risk of N days" means. on_day: someone turns the key at the start hour of day N.
# every_day: the worst of the start hours up to day N. any_time: at some hour up to day N it
# would not have started, the strictest of the three.
WHEN: Final = ("on_day", "every_day", "any_time")
WHEN_WORDS: Final = {
    "on_day": message("at the start hour on the last day"),
    "every_day": message("at the start hour of the worst day up to then"),
    "any_time": message("at any hour up to then"),
}


class Failing(Protocol):
    """What a risk is counted from: each draw's no-start in a run, alone or among others."""

    @property
    def no_start_h(self) -> FloatArray:
        """First no-start at any hour, shape (draws,); inf for none. [h]."""

    @property
    def no_start_daily(self) -> BoolArray:
        """Whether a start would fail on each day, shape (days + 1, draws)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StandQuestion:
    """How a vehicle stands, for how long, and the risk that is still accepted.

    `standing`: it stands already, so that no way is worded as before parking.
    """

    scenario: Scenario
    days: int
    risk: float = DEFAULT_RISK
    when: str = "on_day"
    profile_folders: tuple[Path, ...] = ()
    standing: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be asked."""
        if isinstance(self.days, bool) or not isinstance(self.days, int):
            raise OutOfRangeError(f"days={self.days!r}: a whole number of days is needed")
        if not 1 <= self.days <= LONGEST_DAYS:
            raise OutOfRangeError(f"days={self.days} is outside 1 to {LONGEST_DAYS} days")
        if not 0.001 <= self.risk <= 0.5:
            raise OutOfRangeError(
                f"risk={self.risk:g} is outside 0.001 to 0.5; 0.05 means one vehicle in twenty"
            )
        if self.when not in WHEN:
            raise OutOfRangeError(f"when={self.when!r}: use one of {', '.join(WHEN)}")

    @property
    def all_along(self) -> "StandQuestion":
        """The question with every day on the way counting.

        With charge from outside a flat battery may have recovered by the last day, and the
        risk of that day alone would hide the dead weeks before.
        """
        return replace(self, when="every_day") if self.when == "on_day" else self

    @property
    def by_mornings(self) -> bool:
        """Say whether the start hours alone decide."""
        return self.when != "any_time"

    def changed(self, changes: Changes) -> Scenario:
        """Return the scenario with changes."""
        return with_changes(self.scenario, changes)

    def resolved(self, changes: Changes | None = None, *, days: int | None = None) -> Case:
        """Return the case with changes, exactly as far as asked; its driving is still to come."""
        changed = self.changed({**(changes or {}), RUN.horizon_days: days or self.days})
        return resolve(changed, profile_folders=self.profile_folders)

    def case(self, changes: Changes | None = None, *, days: int | None = None) -> Case:
        """Return the resolved case, parked as its driving leaves it, exactly as far as asked."""
        return parked_from_pattern(self.resolved(changes, days=days))

    def stand(self, changes: Changes | None = None, *, days: int | None = None) -> Stand:
        """Return the draws of the stand with changes."""
        (case,) = parked_from_patterns([self.resolved(changes, days=days)], alone=True)
        curves = curves_of(case)
        return run_draws(case, curves, by_day=True)


def risk_by_day(stand: Failing, when: str = "on_day") -> FloatArray:
    """Return the risk of leaving a vehicle for 0, 1, 2 ... days, shape (days + 1,).

    Parameters
    ----------
    stand : Failing
    when : str
        As for `risk_of`.
    """
    on_day = stand.no_start_daily.mean(axis=1)
    if when == "on_day":
        return np.asarray(on_day)
    if when == "every_day":
        return np.asarray(np.maximum.accumulate(on_day))
    hours = 24.0 * np.arange(len(on_day))
    return np.asarray((stand.no_start_h[None, :] <= hours[:, None]).mean(axis=1))


def risk_of(stand: Failing, when: str = "on_day") -> tuple[float, float]:
    """Return the risk on the last day of a stand and its standard error.

    Parameters
    ----------
    stand : Failing
    when : str
        "on_day": at the start hour of the last day; "every_day": of the worst day until then;
        "any_time": at any hour.
    """
    if when == "any_time":
        failing = np.isfinite(stand.no_start_h)
    else:
        on_day = stand.no_start_daily.mean(axis=1)
        failing = stand.no_start_daily[-1 if when == "on_day" else int(on_day.argmax())]
    return float(failing.mean()), sampling_error(failing)


def sampling_error(failing: BoolArray) -> float:
    """Return the standard error of a risk counted from random draws.

    Draws that share a weather fail together, so the larger of two errors is taken: draws one
    by one (at least half a draw from none), and the scatter between weathers.

    Examples
    --------
    >>> round(sampling_error(np.arange(1000) % 20 == 0), 4)
    0.0069
    """
    draws = len(failing)
    counted = (float(failing.sum()) + 0.5) / (draws + 1.0)
    alone = math.sqrt(counted * (1.0 - counted) / draws)
    weathers = weather_of_draw(draws)
    shares = np.bincount(weathers, weights=failing) / np.bincount(weathers)
    together = float(shares.std(ddof=1)) / math.sqrt(len(shares))
    return max(alone, together)
