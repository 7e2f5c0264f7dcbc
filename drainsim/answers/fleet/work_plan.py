"""Who does what on which day at a depot, where chargers and people are few."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.errors import DrainsimError
from drainsim.files.reading import nearest
from drainsim.language import Message, joined, message

_WORKING_H: Final = 6.0  # at vehicles, of one person's day; common practice, no source

EVERY_DAY: Final = frozenset(range(7))


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Chargers and people at a depot; a depot not named has as many as it takes.

    `weekdays` are those on which anyone works, Monday 0.
    """

    chargers: Mapping[str, int] = field(default_factory=dict)
    people: Mapping[str, int] = field(default_factory=dict)
    weekdays: frozenset[int] = EVERY_DAY

    def __bool__(self) -> bool:
        """Say whether anything is limited."""
        return bool(self.chargers or self.people or self.weekdays != EVERY_DAY)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One vehicle's action on a day; None where there is no day left for it."""

    day: dt.date | None
    depot: str
    action: Action

    @property
    def in_time(self) -> bool:
        """Say whether it is done by its act-by date."""
        return self.day is not None and self.day <= self.action.act_by

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "day": self.day.isoformat() if self.day else None,
            "depot": self.depot,
            "in_time": self.in_time,
            **self.action.as_dict(),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkPlan:
    """Every action with its day: first by day, then by depot, those without a day last."""

    jobs: tuple[Job, ...]
    hour_price: float | None
    call_out_price: float | None

    @property
    def saved(self) -> float:
        """No-starts avoided by what is done in time, expected; what comes late counts nothing."""
        return sum(job.action.saves for job in self.jobs if job.in_time)

    @property
    def hours(self) -> float:
        """Hours of work of everything that has a day, travel not counted."""
        done = [job.action for job in self.jobs if job.day is not None]
        return sum(action.work_h * action.people for action in done)

    @property
    def in_words(self) -> Message:
        """The plan in one sentence or two."""
        in_time = sum(job.in_time for job in self.jobs)
        late = sum(job.day is not None for job in self.jobs) - in_time
        words = message(
            "Plan: {in_time} of {jobs} done in time, {late} late, {never} with no day left; "
            "{saved:.1f} no-starts avoided for {hours:.1f} h of work.",
            in_time=in_time,
            jobs=len(self.jobs),
            late=late,
            never=len(self.jobs) - in_time - late,
            saved=self.saved,
            hours=self.hours,
        )
        if self.hour_price is None or self.call_out_price is None:
            return words
        costs = message(
            "Acting costs {cost:,.0f}, call-outs of {avoided:,.0f} are avoided.",
            cost=self.hour_price * self.hours,
            avoided=self.call_out_price * self.saved,
        )
        return joined(" ", [words, costs])

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        hour, call_out = self.hour_price, self.call_out_price
        return {
            "jobs": [job.as_dict() for job in self.jobs],
            "no_starts_avoided": round(self.saved, 3),
            "work_h": round(self.hours, 2),
            "cost_of_acting": None if hour is None else hour * self.hours,
            "call_outs_avoided": None if call_out is None else call_out * self.saved,
        }


def work_plan(
    answer: FleetAnswer,
    actions: Mapping[str, Action],
    limits: Limits,
    *,
    hour_price: float | None = None,
) -> WorkPlan:
    """Return the day of every action, so that most no-starts are avoided.

    Parameters
    ----------
    answer, actions
        Of the list, as `answer_fleet` and `cheapest_actions` return them.
    limits : Limits
        A charger serves one vehicle a day, a person works 6 h a day at vehicles.
    hour_price : float, optional
        Of an hour of work, in the owner's currency.

    Raises
    ------
    DrainsimError
        If a depot is not in the list, or a limit is below 0.

    Notes
    -----
    The vehicles with most to save choose first, each the last free day in time. Where only
    chargers are few that is the best there is: unit jobs with deadlines, the greedy choice of a
    matroid (scheduling theory, from memory). Where people are few as well it is a good plan, not
    proved the best.
    """
    depots = {vehicle.depot for vehicle in answer.vehicles}
    for option, counts in (("--chargers", limits.chargers), ("--people", limits.people)):
        for depot, count in counts.items():
            if depot not in depots:
                raise DrainsimError(f"{option} {depot!r}: no such depot; {nearest(depot, depots)}")
            if count < 0:
                raise DrainsimError(f"{option} {depot}={count}: must be 0 or more")
    today = answer.settings.today
    used = _Used(limits)
    jobs: list[Job] = []
    acting = [vehicle for vehicle in answer.vehicles if vehicle.id in actions]
    waiting = sorted(acting, key=lambda v: (-actions[v.id].saves, actions[v.id].act_by, v.id))
    for in_time in (True, False):  # what comes late takes no day from what could be in time
        tried = [used.job(v, actions[v.id], today, in_time=in_time) for v in waiting]
        jobs += [job for job in tried if job.day is not None or not in_time]
        waiting = [v for v, job in zip(waiting, tried, strict=True) if job.day is None]
    jobs.sort(key=lambda job: (job.day or dt.date.max, job.depot, job.action.id))
    return WorkPlan(jobs=tuple(jobs), hour_price=hour_price, call_out_price=answer.call_out_price)


class _Used:
    """What of each depot's days is taken."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.chargers: dict[tuple[str, dt.date], int] = defaultdict(int)
        self.hours: dict[tuple[str, dt.date], float] = defaultdict(float)

    def job(self, vehicle: VehicleAnswer, action: Action, today: dt.date, *, in_time: bool) -> Job:
        """Return an action on the last free day in time, or on the first free one late."""
        last = (action.act_by - today).days
        ahead = range(last, -1, -1) if in_time else range(last + 1, (action.until - today).days)
        days = [today + dt.timedelta(days=n) for n in ahead]
        day = next((day for day in days if self._free(vehicle.depot, day, action)), None)
        if day is not None:
            self.chargers[vehicle.depot, day] += action.charger
            self.hours[vehicle.depot, day] += action.work_h * action.people
        return Job(day=day, depot=vehicle.depot, action=action)

    def _free(self, depot: str, day: dt.date, action: Action) -> bool:
        chargers, people = self.limits.chargers.get(depot), self.limits.people.get(depot)
        if day.weekday() not in self.limits.weekdays:
            return False
        if action.charger and chargers is not None and self.chargers[depot, day] >= chargers:
            return False
        if people is None:
            return True
        hours = self.hours[depot, day] + action.work_h * action.people
        return hours <= _WORKING_H * people and action.people <= people
