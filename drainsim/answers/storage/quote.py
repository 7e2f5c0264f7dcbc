"""May each vehicle of a list be left standing? One storage question a vehicle."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from drainsim.answers.fleet.answer import problem_of
from drainsim.answers.fleet.done import as_of_today
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.storage.answer import StorageAnswer, storage
from drainsim.answers.storage.remedies import Preferences
from drainsim.answers.storage.risk import StandQuestion
from drainsim.errors import DrainsimError
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, FleetVehicle, RowProblem

DRAWS: Final = 400  # cases per vehicle


@dataclass(frozen=True, slots=True, kw_only=True)
class Quoted:
    """One vehicle of the list with its answer."""

    vehicle: FleetVehicle
    answer: StorageAnswer

    @property
    def until(self) -> dt.date:
        """The last day asked about."""
        return self.answer.case.site.parked_from + dt.timedelta(days=self.answer.question.days)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """Every vehicle answered, in the list's order, and the rows that could not be."""

    vehicles: tuple[Quoted, ...]
    problems: tuple[RowProblem, ...]

    @property
    def price(self) -> float | None:
        """The cheapest ways of all together; None where one that is needed has no price."""
        ways = [q.answer.remedies.cheapest for q in self.vehicles if not q.answer.holds.holds]
        prices = [way.price if way else None for way in ways]
        known = [price for price in prices if price is not None]
        return sum(known) if len(known) == len(prices) else None

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "vehicles": [
                {"id": q.vehicle.id, "depot": q.vehicle.depot, **q.answer.as_dict()}
                for q in self.vehicles
            ],
            "price": self.price,
            "to_correct": [
                {"row": p.row, "column": p.column, "what_is_wrong": p.sentence}
                for p in self.problems
            ],
        }


def quote(
    fleet: Fleet,
    settings: FleetSettings,
    *,
    days: int | None = None,
    risk: float = DEFAULT_RISK,
    when: str = "on_day",
    preferences: Preferences | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Quote:
    """Return the storage answer of every vehicle of a list.

    Parameters
    ----------
    fleet, settings : Fleet, FleetSettings
    days : int, optional
        How long each will stand: from today where it stands already, with the charge it then has;
        left out, until its planned return.
    risk, when, preferences
        As in `StandQuestion` and `storage`.
    progress : callable, optional
        Called with (vehicles done, vehicles in all).

    Raises
    ------
    DrainsimError
        If the days, the risk or a preference cannot be used.
    """
    found: list[Quoted] = []
    aside = list(fleet.problems)
    already = {vehicle.id for vehicle in fleet.vehicles if vehicle.starts < settings.today}
    for number, vehicle in enumerate(as_of_today(fleet, settings, workers=1).vehicles, start=1):
        try:
            question = StandQuestion(
                scenario=vehicle.scenario,
                days=_days(vehicle, days),
                risk=risk,
                when=when,
                profile_folders=settings.profile_folders,
                standing=vehicle.id in already,
            )
            found.append(
                Quoted(vehicle=vehicle, answer=storage(question, preferences, inverse=False))
            )
        except DrainsimError as error:
            aside.append(problem_of(vehicle, error))
        if progress:
            progress(number, len(fleet.vehicles))
    problems = sorted(aside, key=lambda problem: problem.row)
    return Quote(vehicles=tuple(found), problems=tuple(problems))


def _days(vehicle: FleetVehicle, days: int | None) -> int:
    """Return how long a vehicle will stand."""
    if days is not None:
        return days
    if vehicle.planned_return is None:
        raise DrainsimError(
            "no planned return to come: give one in the list, or --days for all vehicles"
        )
    stands = (vehicle.planned_return - vehicle.starts).days
    if stands < 1:
        raise DrainsimError(
            f"planned return {vehicle.planned_return} is not after {vehicle.starts}, the day from "
            "which it is asked about"
        )
    return stands
