"""The cheapest thing to do about each vehicle whose risk is over the owner's limit.

A unit switched off asks less of the battery than storage mode, that less than slower reports:
where the stronger is not enough the weaker is not tried.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final, TypeAlias

from drainsim.answers.advice import ADVICE, CHARGE_FULL
from drainsim.answers.advice_plans import Plan, easiest_plans
from drainsim.answers.driving.before_parking import parked_from_patterns
from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import in_run_order, resolved
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.fleet.going_on import standing_from, with_known_charge, with_steps
from drainsim.answers.fleet.in_parts import Progress, in_parts
from drainsim.answers.storage.changes import with_changes
from drainsim.answers.words import together_words
from drainsim.errors import DrainsimError
from drainsim.language import Message, marked, message
from drainsim.simulation.many import run_cases
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import FleetSettings, FleetVehicle
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN
from drainsim.vehicle.vehicle import VEHICLE

_Ways: TypeAlias = tuple[str, ...]
_UNTIL_DAYS: Final = 30  # a vehicle without a planned return should last
_SAME_END_DAYS: Final = 30  # runs end together in steps of these: few runs, none much too long

# What is tried, from the least effort to the most; of one effort in the order of the list.
STEPS: Final = tuple(
    sorted((key for key, way in ADVICE.items() if way.in_lists), key=lambda k: ADVICE[k].effort)
)
# What is tried where no single step is enough, from the least effort to the most.
PAIRS: Final = (
    (CHARGE_FULL, "slower_reports"),
    (CHARGE_FULL, "unit_off"),
    ("maintainer", "shelter"),
    ("maintainer", "block_heater"),
    ("battery_indoors", "block_heater"),
    ("unit_off", "new_battery"),
    ("maintainer", "new_battery"),
    ("shelter", "new_battery"),
)
_TRIED: Final = (*((key,) for key in STEPS), *PAIRS)
# Each asks less of the battery than the one before, and all else stays: where the last that applies
# is not enough, none before it is.
_UNIT_ASKS_LESS: Final[tuple[_Ways, ...]] = (("slower_reports",), ("storage_mode",), ("unit_off",))
NOTHING: Final = "nothing"
# What must come before any of them, where a measured value is not one to build a plan on.
_DEAD_V: Final = 11.9  # resting, of a 12 V lead battery: flat; common practice, no source
_DOUBTFUL_QUIESCENT_A: Final = 1.0  # parked and asleep; common practice, no source
_LITHIUM: Final = "lithium_iron_phosphate_12v"
FIRST: Final = {
    "check_entry": marked(
        "check the entry: {amperes:g} A while parked is hardly a quiescent current"
    ),
    "test_battery": marked(
        "thaw it first if it may be frozen, charge it slowly, then test the battery"
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Risky:
    """A vehicle over the limit: as listed, answered, and the day it must still start."""

    vehicle: FleetVehicle
    answer: VehicleAnswer
    act_by: dt.date
    until: dt.date
    before: float  # P(no-start) on that day if nothing is done
    now: Scenario  # from today's charge on
    plans: Mapping[str, Plan]

    def allows(self, ways: _Ways) -> bool:
        """Say whether all of some ways apply to it."""
        return all(key in self.plans for key in ways)

    def action(
        self, key: str, words: Message, *, keys: tuple[str, ...] = (), after: float | None = None
    ) -> Action:
        """Return a step about it, and the risk that is left."""
        return Action(
            id=self.vehicle.id,
            key=key,
            keys=keys,
            words=words,
            act_by=self.act_by,
            until=self.until,
            risk_before=self.before,
            risk_after=self.before if after is None else after,
        )


def usual_until(days_ahead: int) -> int:
    """Return for how many days a vehicle should last where nobody says; no longer than looked."""
    return min(_UNTIL_DAYS, days_ahead)


def cheapest_actions(
    vehicles: Sequence[FleetVehicle],
    answers: Sequence[VehicleAnswer],
    settings: FleetSettings,
    *,
    risk: float,
    days: int | None = None,
    progress: Progress | None = None,
    workers: int | None = None,
) -> dict[str, Action]:
    """Return the first action of the list that brings each risky vehicle under the limit.

    Parameters
    ----------
    vehicles, answers : sequences
        Every vehicle answered must be among the first; in any order.
    risk : float
        Owner's limit on P(no-start) on the day that counts.
    days : int
        That day for a vehicle without a planned return, counted from today; `usual_until` where
        nothing is said.
    progress : callable, optional
        Called with (steps tried, the most that can be tried); a vehicle's search ends with the
        first step or pair that is enough, so the second falls.

    Returns
    -------
    dict
        Vehicle id → Action; of every vehicle that needs someone. Key `nothing` says that no step
        or pair of steps is enough.

    Notes
    -----
    Ways come from the one list (`drainsim.answers.advice`). A step begins today: the vehicle
    stands on with the charge each of its draws has today, instead of repeating its past.
    """
    if days is None:
        days = usual_until(settings.days_ahead)
    if not 1 <= days <= settings.days_ahead:
        raise DrainsimError(
            f"until = {days} days must be between 1 and {settings.days_ahead}, the days "
            "looked ahead"
        )
    over = {
        risky.vehicle.id: risky
        for risky in _over_the_limit(vehicles, answers, settings, risk=risk, days=days)
    }
    found = {
        id_: risky.action(key, words)
        for id_, risky in over.items()
        for key, words in _to_do_first(risky.vehicle.scenario)
    }
    search = _Search(
        open={id_: risky for id_, risky in over.items() if id_ not in found},
        settings=settings,
        workers=workers,
        progress=progress,
    )
    found.update(search.until_within(risk))
    return found


@dataclass(kw_only=True)
class _Search:
    """Ways tried for vehicles that are still over the limit.

    Attributes
    ----------
    after : dict
        (vehicle id, ways) → P(no-start) on its day, of all that was tried.
    """

    open: dict[str, _Risky]
    settings: FleetSettings
    workers: int | None
    progress: Progress | None
    after: dict[tuple[str, _Ways], float] = field(default_factory=dict)

    def until_within(self, risk: float) -> dict[str, Action]:
        """Return each vehicle's first way that is enough, or that none is."""
        found = {}
        hopeful = list(self.open)
        for ways in reversed(_UNIT_ASKS_LESS):
            self._try(ways, hopeful)
            hopeful = [id_ for id_ in hopeful if self.after.get((id_, ways), 0.0) <= risk]
        for ways in _TRIED:
            if ways not in _UNIT_ASKS_LESS:
                self._try(ways, self.open)
            for id_, risky in list(self.open.items()):
                after = self.after.get((id_, ways))
                if after is not None and after <= risk:
                    words = _words(ways, risky)
                    found[id_] = risky.action("+".join(ways), words, keys=ways, after=after)
                    del self.open[id_]
        for ways in _UNIT_ASKS_LESS:  # none is enough, and one of these may come closest
            self._try(ways, [id_ for id_ in self.open if (id_, ways) not in self.after])
        if self.progress:
            self.progress(len(self.after), len(self.after))
        return found | {id_: self._not_enough(risky) for id_, risky in self.open.items()}

    def _try(self, ways: _Ways, ids: Iterable[str]) -> None:
        """Try ways for some open vehicles, where they apply."""
        changed = [
            replace(self.open[id_].vehicle, scenario=now, starts=now.get(SITE.parked_from))
            for id_ in ids
            if (now := _scenario_after(ways, self.open[id_], self.settings)) is not None
        ]
        risks = _risks_on_the_day(
            changed,
            {id_: risky.until for id_, risky in self.open.items()},
            self.settings,
            self.workers,
            self.progress and self._seen(self.progress),
        )
        self.after.update({(id_, ways): risk for id_, risk in risks.items()})

    def _seen(self, progress: Progress) -> Progress:
        """Return the progress of one step, told as a part of the whole search."""
        made = len(self.after)
        ahead = sum(
            (id_, ways) not in self.after and risky.allows(ways)
            for id_, risky in self.open.items()
            for ways in _TRIED
        )
        return lambda done, _: progress(made + done, made + ahead)

    def _not_enough(self, risky: _Risky) -> Action:
        """Return that nothing is enough, and the first of the ways that come closest."""
        words = message("no step or pair of steps is enough")
        tried = {ways: self.after.get((risky.vehicle.id, ways)) for ways in _TRIED}
        known = {ways: after for ways, after in tried.items() if after is not None}
        if not known:
            return risky.action(NOTHING, words)
        closest = min(known, key=known.__getitem__)
        words = message("{words}; closest: {step}", words=words, step=_words(closest, risky))
        return risky.action(NOTHING, words, keys=closest, after=known[closest])


def _over_the_limit(
    vehicles: Sequence[FleetVehicle],
    answers: Sequence[VehicleAnswer],
    settings: FleetSettings,
    *,
    risk: float,
    days: int,
) -> Iterator[_Risky]:
    """Yield every vehicle over the limit on the day that counts, with the ways that apply to it."""
    by_id = {vehicle.id: vehicle for vehicle in vehicles}
    for answer in answers:
        if not answer.needs_someone or answer.act_by is None:
            continue
        until = _day_that_counts(answer, answer.act_by, settings, risk=risk, days=days)
        before = answer.chance_on(until, settings.today)
        vehicle = by_id[answer.id]
        now = _standing_on(vehicle, answer, until, settings)
        case = resolve(now, profile_folders=settings.profile_folders)
        yield _Risky(
            vehicle=vehicle,
            answer=answer,
            act_by=answer.act_by,
            until=until,
            before=before,
            now=now,
            plans=easiest_plans(now, case, days=(until - settings.today).days),
        )


def _day_that_counts(
    answer: VehicleAnswer, act_by: dt.date, settings: FleetSettings, *, risk: float, days: int
) -> dt.date:
    """Return the day whose risk is told before and after.

    The planned return; without one so many days from today, or from the act-by date where that is
    later. If the risk is within the limit again by then, the riskiest day on the way.
    """
    today = settings.today
    ahead = (act_by - today).days
    asked = days if ahead < days else ahead + days
    if answer.planned_return is not None:
        asked = (answer.planned_return - today).days
    asked = min(asked, settings.days_ahead)
    failing = answer.failing_by_day[: asked + 1]
    if answer.chance_on(today + dt.timedelta(days=asked), today) > risk:
        return today + dt.timedelta(days=asked)
    return today + dt.timedelta(days=max(range(len(failing)), key=failing.__getitem__))


def _words(keys: tuple[str, ...], risky: _Risky) -> Message:
    """Return what to do, for a vehicle that stands already."""
    words = together_words([risky.plans[key].words(standing=True) for key in keys])
    if keys != (CHARGE_FULL,):
        return words
    return message("{step} by {day}", step=words, day=risky.act_by.isoformat())


def _to_do_first(scenario: Scenario) -> list[tuple[str, Message]]:
    """Return what must be done before a plan means anything: (key, words), at most one."""
    amperes = scenario.get(VEHICLE.quiescent_a)
    if amperes is not None and amperes > _DOUBTFUL_QUIESCENT_A:
        return [("check_entry", message(FIRST["check_entry"], amperes=amperes))]
    volts = scenario.get(BATTERY.resting_voltage_v)
    lead = scenario.get(BATTERY.profile) != _LITHIUM
    if volts is not None and volts < _DEAD_V and lead:
        return [("test_battery", message(FIRST["test_battery"]))]
    return []


def _scenario_after(
    keys: tuple[str, ...], risky: _Risky, settings: FleetSettings
) -> Scenario | None:
    """Return the vehicle's scenario from the steps on; None where one does not apply."""
    if not risky.allows(keys):
        return None
    changes = {name: v for key in keys for name, v in risky.plans[key].changes.items()}
    if keys != (CHARGE_FULL,):
        return with_steps(risky.now, changes, risky.vehicle.scenario)
    if not max(settings.today, risky.vehicle.starts) <= risky.act_by <= risky.until:
        return None
    changed = with_changes(risky.vehicle.scenario, changes)
    return standing_from(changed, risky.act_by, _run_end(risky.until, settings))


def _standing_on(
    vehicle: FleetVehicle, answer: VehicleAnswer, until: dt.date, settings: FleetSettings
) -> Scenario:
    """Return the scenario from today's charge on, as the draws know it, or from its parking on."""
    end = _run_end(until, settings)
    if vehicle.starts >= settings.today:
        return standing_from(vehicle.scenario, vehicle.starts, end)
    return standing_from(with_known_charge(vehicle.scenario, answer), settings.today, end)


def _run_end(until: dt.date, settings: FleetSettings) -> dt.date:
    """Return the day on which runs end that must reach the one that counts."""
    ahead = -(-(until - settings.today).days // _SAME_END_DAYS) * _SAME_END_DAYS
    return settings.today + dt.timedelta(days=min(ahead, settings.days_ahead))


def _risks_on_the_day(
    vehicles: Sequence[FleetVehicle],
    until: Mapping[str, dt.date],
    settings: FleetSettings,
    workers: int | None,
    progress: Progress | None,
) -> dict[str, float]:
    """Return P(no-start) of each vehicle on the day it must start."""
    work = partial(_risks_of_part, until=until, settings=settings)
    ordered = sorted(  # those that end together run together
        in_run_order(vehicles),
        key=lambda v: v.starts.toordinal() + v.scenario.get(RUN.horizon_days),
    )
    parts = in_parts(ordered, work, workers=workers, progress=progress)
    return {id_: risk for part in parts for id_, risk in part}


def _risks_of_part(
    vehicles: Sequence[FleetVehicle], until: Mapping[str, dt.date], settings: FleetSettings
) -> list[tuple[str, float]]:
    """Return (id, P(no-start) on its day) of some vehicles."""
    kept, _problems = resolved(vehicles, settings)
    cases = parked_from_patterns([case for _, case in kept])
    found = []
    for number, drawn in run_cases(cases, mornings_only=True):
        vehicle = kept[number][0]
        day = (until[vehicle.id] - vehicle.starts).days
        fails = int(drawn.no_start_daily[day].sum()) if day >= 0 else 0
        found.append((vehicle.id, fails / settings.draws))
    return found
