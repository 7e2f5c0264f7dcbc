"""Which of my parked vehicles will not start, and by when must someone act?"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final, NamedTuple

import numpy as np
import pandas as pd

from drainsim.answers.driving.before_parking import parked_from_patterns
from drainsim.answers.fleet.counts import (
    AnsweredPart,
    DayRisk,
    GroupRisk,
    day_risk,
    group_risks,
    groups_as_dicts,
    no_counts,
)
from drainsim.answers.fleet.fleet_vehicle import (
    VehicleAnswer,
    vehicle_answer,
    vehicle_run,
)
from drainsim.answers.fleet.in_parts import Progress, in_parts
from drainsim.answers.fleet.joint_risk import LEVELS
from drainsim.errors import DrainsimError
from drainsim.language import Message, counted_message, joined, message
from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER
from drainsim.simulation.many import run_cases
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, FleetVehicle, RowProblem
from drainsim.vehicle.places.site_keys import TEMPERATURES, instead_of


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetAnswer:
    """The whole list answered: vehicles ranked by when someone must act, and the fleet's risk."""

    settings: FleetSettings
    risk: float
    dates: tuple[dt.date, ...]
    vehicles: tuple[VehicleAnswer, ...]
    problems: tuple[RowProblem, ...]
    expected_by_day: FloatArray
    on_dates: tuple[DayRisk, ...]
    course: tuple[DayRisk, ...]  # weekly, for the chart
    by_depot: tuple[tuple[GroupRisk, ...], ...]  # one tuple per date
    by_battery: tuple[tuple[GroupRisk, ...], ...]
    call_out_price: float | None

    def __repr__(self) -> str:
        """Return the answer in one line."""
        now = self.must_act["today"]
        aside = len({problem.row for problem in self.problems})
        return (
            f"<FleetAnswer: {len(self.vehicles)} vehicles on {self.settings.today}, {now} to act "
            f"on today, {aside} rows to correct>"
        )

    def to_frame(self) -> pd.DataFrame:
        """Return a row a vehicle, in the order of the list."""
        names = (
            "id",
            "depot",
            "act_by",
            "risk_today",
            "days_left_p10",
            "days_left_p50",
            "days_left_p90",
            "charge_today",
            "planned_return",
            "risk_on_return",
            "cause",
        )
        ordered = sorted(self.vehicles, key=lambda vehicle: vehicle.row)
        rows = [[getattr(vehicle, name) for name in names] for vehicle in ordered]
        return pd.DataFrame(rows, columns=list(names)).set_index("id")

    @property
    def must_act(self) -> dict[str, int]:
        """How many vehicles need someone: today, within days from today, before a planned return.

        A vehicle that is driven again before its act-by date needs nobody.
        """
        needing = [vehicle for vehicle in self.vehicles if vehicle.needs_someone]
        days = [(v.act_by - self.settings.today).days for v in needing if v.act_by]
        return {
            "today": sum(ahead <= 0 for ahead in days),
            "within_7_days": sum(ahead <= 7 for ahead in days),
            "within_30_days": sum(ahead <= 30 for ahead in days),
            f"within_{self.settings.days_ahead}_days": len(days),
            "before_planned_return": sum(v.planned_return is not None for v in needing),
        }

    @property
    def needing(self) -> Message:
        """How many vehicles need someone by when, in one sentence."""
        counts = self.must_act
        ahead = self.settings.days_ahead
        today = counted_message(
            "{number} vehicle needs someone today",
            "{number} vehicles need someone today",
            counts["today"],
        )
        looked_at = [days for days in (7, 30) if days < ahead] + [ahead]
        later = [
            message("{count} within {days} days", count=counts[f"within_{days}_days"], days=days)
            for days in looked_at
        ]
        needing = joined(", ", [today, *later])
        if all(vehicle.planned_return is None for vehicle in self.vehicles):
            return message("{needing}.", needing=needing)
        return message(
            "{needing}; {back} of them before the planned return.",
            needing=needing,
            back=counts["before_planned_return"],
        )

    def as_dict(self) -> dict[str, Any]:
        """Return the fleet's summary as JSON-ready data."""
        price = self.call_out_price
        return {
            "today": self.settings.today.isoformat(),
            "days_ahead": self.settings.days_ahead,
            "risk_limit": self.risk,
            "draws": self.settings.draws,
            "seed": self.settings.seed,
            "vehicles_answered": len(self.vehicles),
            "rows_to_correct": len({problem.row for problem in self.problems}),
            "must_act": self.must_act,
            "on_dates": [
                {
                    **day.as_dict(),
                    "expected_cost": None if price is None else price * day.count.expected,
                    "by_depot": groups_as_dicts(depots),
                    "by_battery_type": groups_as_dicts(batteries),
                }
                for day, depots, batteries in zip(
                    self.on_dates, self.by_depot, self.by_battery, strict=True
                )
            ],
            "course": [day.as_dict() for day in self.course],
            "call_out_price": price,
        }


def answer_fleet(
    fleet: Fleet,
    settings: FleetSettings,
    *,
    risk: float = 0.05,
    dates: Sequence[dt.date] = (),
    call_out_price: float | None = None,
    progress: Progress | None = None,
    workers: int | None = None,
) -> FleetAnswer:
    """Return the risk of every vehicle of a list and of the fleet.

    Parameters
    ----------
    fleet : Fleet
    settings : FleetSettings
    risk : float
        Owner's limit on P(no-start), 0 to 1.
    dates : sequence of date
        Days asked about besides each planned return; 7 and 30 days ahead if none.
    call_out_price : float, optional
        Price of one call-out in the owner's currency.
    progress : callable, optional
        Called with (vehicles done, vehicles in all).
    workers : int, optional
        Processes; as many as cores, one for small lists.

    Raises
    ------
    DrainsimError
        If the risk or a date cannot be served.
    """
    asked = asked_for(settings, risk=risk, dates=dates, call_out_price=call_out_price)
    work = partial(answer_part, settings=settings, asked=asked)
    parts = in_parts(in_run_order(fleet.vehicles), work, workers=workers, progress=progress)
    return answer_from_parts(parts, fleet.problems, settings, asked)


class Asked(NamedTuple):
    """What is asked of a list, checked; as `answer_fleet` takes it."""

    risk: float
    dates: tuple[dt.date, ...]
    call_out_price: float | None


def asked_for(
    settings: FleetSettings, *, risk: float, dates: Sequence[dt.date], call_out_price: float | None
) -> Asked:
    """Return the question, 7 and 30 days ahead without dates; same errors as `answer_fleet`."""
    if not 0.0 < risk < 1.0:
        raise DrainsimError(f"risk = {risk:g} must be between 0 and 1, for example 0.05")
    if call_out_price is not None and not 0.0 <= call_out_price < 1e9:
        raise DrainsimError(f"call-out price = {call_out_price:g} must not be negative")
    asked = tuple(dates) or tuple(
        settings.today + dt.timedelta(days=d) for d in (7, 30) if d <= settings.days_ahead
    )
    for date in asked:
        if not 0 <= (date - settings.today).days <= settings.days_ahead:
            raise DrainsimError(
                f"{date} is not within {settings.days_ahead} days from {settings.today}"
            )
    return Asked(risk, asked, call_out_price)


def answer_from_parts(
    parts: Iterable[AnsweredPart],
    problems: Iterable[RowProblem],
    settings: FleetSettings,
    asked: Asked,
) -> FleetAnswer:
    """Return the fleet's answer from what `answer_part` gave for its parts, in any order."""
    answers: list[VehicleAnswer] = []
    aside = list(problems)
    counts = no_counts(settings)
    for found, wrong, sums in parts:
        answers.extend(found)
        aside.extend(wrong)
        counts.join(sums)
    answers.sort(key=lambda answer: answer.urgency)
    offsets = [(date - settings.today).days for date in asked.dates]
    weekly = range(0, settings.days_ahead + 1, 7)
    expected = (counts.by_level @ np.arange(LEVELS)).mean(axis=1) / DRAWS_PER_WEATHER
    return FleetAnswer(
        settings=settings,
        vehicles=tuple(answers),
        problems=tuple(sorted(aside, key=lambda problem: problem.row)),
        expected_by_day=np.asarray(expected),
        on_dates=tuple(day_risk(settings, counts, offset) for offset in offsets),
        course=tuple(day_risk(settings, counts, offset) for offset in weekly),
        by_depot=tuple(group_risks(counts, "depot", offset) for offset in offsets),
        by_battery=tuple(group_risks(counts, "battery", offset) for offset in offsets),
        **asked._asdict(),
    )


# What a value takes the place of: only one of each pair may be given.
_INSTEAD_OF: Final[dict[str, tuple[str, ...]]] = {
    BATTERY.state_of_charge: (BATTERY.resting_voltage_v,),
    BATTERY.resting_voltage_v: (BATTERY.state_of_charge,),
    **{said: instead_of(said) for said in TEMPERATURES},
}


def changed_fleet(fleet: Fleet, changes: Mapping[str, Any]) -> Fleet:
    """Return the same list with scenario keys set for every vehicle (None takes one out).

    Vehicles without a unit keep going without one when a unit key is changed.

    Parameters
    ----------
    fleet : Fleet
    changes : mapping
        Dotted scenario key → value, in the key's own unit.

    Raises
    ------
    DrainsimError
        If a key is unknown or a value not allowed.
    """
    replaced = {old: None for key in changes for old in _INSTEAD_OF.get(key, ())}
    vehicles = []
    for vehicle in fleet.vehicles:
        own = {
            key: value
            for key, value in {**replaced, **changes}.items()
            if not key.startswith("unit.") or vehicle.scenario.has("unit")
        }
        scenario = vehicle.scenario.with_values(own) if own else vehicle.scenario
        vehicles.append(replace(vehicle, scenario=scenario))
    return replace(fleet, vehicles=tuple(vehicles))


def in_run_order(vehicles: Iterable[FleetVehicle]) -> list[FleetVehicle]:
    """Return vehicles with those that can step together beside each other."""
    return sorted(vehicles, key=lambda v: (v.scenario.get(BATTERY.profile) or "", v.starts))


def answer_part(
    vehicles: Sequence[FleetVehicle], settings: FleetSettings, asked: Asked
) -> AnsweredPart:
    """Return answers, problems and sums of some vehicles; parts may be joined in any order.

    Parameters
    ----------
    vehicles : sequence of FleetVehicle
    settings : FleetSettings
    asked : Asked
        From `asked_for`.
    """
    counts = no_counts(settings)
    cases, problems = resolved(vehicles, settings)
    answers = []
    parked = parked_from_patterns([case for _, case in cases])
    for number, stand in run_cases(parked, snapshot=settings.today):
        vehicle, case = cases[number]
        run = vehicle_run(vehicle, stand, settings)
        counts.add(vehicle, case.battery.profile.key, run.levels)
        answers.append(
            vehicle_answer(vehicle, case, run, settings, risk=asked.risk, dates=asked.dates)
        )
    return answers, problems, counts


def resolved(
    vehicles: Iterable[FleetVehicle], settings: FleetSettings
) -> tuple[list[tuple[FleetVehicle, Case]], list[RowProblem]]:
    """Return each vehicle with its case, and the rows whose values do not go together."""
    problems: list[RowProblem] = []
    kept: list[tuple[FleetVehicle, Case]] = []
    for vehicle in vehicles:
        try:
            case = resolve(vehicle.scenario, profile_folders=settings.profile_folders)
        except DrainsimError as error:
            problems.append(problem_of(vehicle, error))
        else:
            kept.append((vehicle, case))
    return kept, problems


def problem_of(vehicle: FleetVehicle, error: DrainsimError) -> RowProblem:
    """Return why a row of the list cannot be answered, the row told apart from the sentence.

    Parameters
    ----------
    vehicle : FleetVehicle
    error : DrainsimError
        Its sentence begins with the row.
    """
    sentence = str(error).removeprefix(f"row {vehicle.row}: ")
    return RowProblem(row=vehicle.row, column="", sentence=sentence)
