"""Which batteries of a fleet list should be replaced, and before which winter?"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from drainsim.answers.driving.ageing import AgeingAnswer, ageing, refuse_question
from drainsim.answers.driving.ageing_words import due_words
from drainsim.answers.fleet.answer import changed_fleet, problem_of
from drainsim.answers.fleet.in_parts import Progress
from drainsim.errors import DrainsimError
from drainsim.language import Message, marked, message
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import Fleet, RowProblem
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.run import RUN

YEAR: Final[Mapping[str, Any]] = {RUN.horizon_days: 365}  # a stand that holds a winter
_LAST: Final = 9999  # sorts what is not due behind every year


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeingVehicle:
    """One vehicle of a list and its answer."""

    id: str
    answer: AgeingAnswer


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeingList:
    """Vehicles by who is due first, and the rows that could not be answered."""

    vehicles: tuple[AgeingVehicle, ...]
    problems: tuple[RowProblem, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "vehicles": [
                {marked("vehicle"): one.id, **one.answer.as_dict()} for one in self.vehicles
            ],
            "left_out": [asdict(problem) for problem in self.problems],
        }

    def rows(self) -> list[dict[str, Any]]:
        """Return one row a vehicle, for tables: shares in per cent."""
        return [
            {
                marked("vehicle"): one.id,
                marked("replace before"): due_words(one.answer),
                marked("risk this winter [%]"): round(100 * one.answer.winters[0].risk),
                marked("cranking health [%]"): round(100 * one.answer.winters[0].cranking_health),
            }
            for one in self.vehicles
        ]


def ageing_of(
    scenario: Scenario,
    *,
    winters: int = 5,
    risk: float = 0.05,
    profile_folders: Sequence[Path] = (),
) -> AgeingAnswer:
    """Return the ageing answer to a scenario, looked at over a whole year.

    Parameters
    ----------
    scenario : Scenario
    winters : int
        How many to look ahead.
    risk : float
        Accepted chance of a no-start on a winter's coldest morning. [-]
    profile_folders : tuple of Path
        Where further battery profiles are.

    Raises
    ------
    DrainsimError
        If the scenario or the question cannot be.
    """
    year = scenario.with_values(YEAR)
    return ageing(resolve(year, profile_folders=profile_folders), winters=winters, risk=risk)


def ageing_list(
    fleet: Fleet,
    *,
    winters: int = 5,
    risk: float = 0.05,
    changes: Mapping[str, Any] | None = None,
    profile_folders: Sequence[Path] = (),
    progress: Progress | None = None,
) -> AgeingList:
    """Return the answer for every vehicle of a list, the most urgent first.

    Parameters
    ----------
    fleet : Fleet
    winters, risk
        As `ageing` takes them.
    changes : mapping, optional
        Dotted keys set in every vehicle.
    profile_folders : sequence of Path
        Folders of the user's own battery profiles.
    progress : callable, optional
        Called with (vehicles done, vehicles in all).

    Raises
    ------
    DrainsimError
        If the question cannot be asked of any vehicle; a vehicle it cannot be asked of is a row
        left out.
    """
    refuse_question(winters=winters, risk=risk)
    listed = changed_fleet(fleet, {**(changes or {}), **YEAR})
    found: list[AgeingVehicle] = []
    problems = list(listed.problems)
    for done, vehicle in enumerate(listed.vehicles):
        if progress:
            progress(done, len(listed.vehicles))
        try:
            answer = ageing_of(
                vehicle.scenario, winters=winters, risk=risk, profile_folders=profile_folders
            )
        except DrainsimError as error:
            problems.append(problem_of(vehicle, error))
        else:
            found.append(AgeingVehicle(id=vehicle.id, answer=answer))
    found.sort(key=lambda one: (one.answer.replace_before_winter or _LAST, one.id))
    return AgeingList(vehicles=tuple(found), problems=tuple(problems))


def list_verdict(vehicles: Iterable[AgeingVehicle], *, winters: int) -> Message:
    """Return the fleet's answer in one sentence.

    Parameters
    ----------
    vehicles : iterable of AgeingVehicle
    winters : int
        How many were looked ahead.
    """
    answers = [one.answer for one in vehicles]
    due = [answer.replace_before_winter for answer in answers if answer.replace_before_winter]
    first = min((answer.winters[0].year for answer in answers), default=0)
    now = sum(year == first for year in due)
    hopeless = sum(answer.new_one_fails for answer in answers)
    return message(
        "{now} of {all} batteries should be replaced before the coming winter, {more} more within "
        "{winters} winters; for {hopeless} a new battery would not help."
        if hopeless
        else "{now} of {all} batteries should be replaced before the coming winter, {more} more "
        "within {winters} winters.",
        now=now,
        all=len(answers),
        more=len(due) - now,
        winters=winters,
        hopeless=hopeless,
    )
