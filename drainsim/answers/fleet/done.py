"""A fleet list that goes on from what was done: steps marked in an earlier result."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace

from drainsim.answers.advice import ADVICE
from drainsim.answers.advice_plans import easiest_plans
from drainsim.answers.fleet.answer import answer_fleet
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.fleet.going_on import standing_from, with_known_charge, with_steps
from drainsim.answers.words import counted, together_words
from drainsim.errors import DrainsimError
from drainsim.files.fleet.marks import Mark
from drainsim.language import Message, message
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, FleetVehicle
from drainsim.vehicle.keys.scenario import Scenario


def with_done(
    fleet: Fleet, done: Sequence[Mark], settings: FleetSettings, *, workers: int | None = None
) -> Fleet:
    """Return the list as it stands after what was done.

    Each vehicle goes on from the charge the draws give it on that day, with the changes of what
    was done; the values of the list itself are not touched before that day.

    Parameters
    ----------
    fleet, settings : Fleet, FleetSettings
    done : sequence of Mark
        Steps with vehicle and day.
    workers : int, optional
        Processes, as for `answer_fleet`.

    Raises
    ------
    DrainsimError
        If a vehicle is not in the list, a step is none of the ways, or a day is in the future.
    """
    by_id = {vehicle.id: vehicle for vehicle in fleet.vehicles}
    kept_aside = {problem.row for problem in fleet.problems}
    after = dict(by_id)
    for day in sorted({one.day for one in done}):
        todays = [one for one in done if one.day == day]
        for one in todays:
            _check(one, after, settings.today, aside=bool(kept_aside))
        then = [after[one.id] for one in todays if one.id in after]
        found = _answers_on(day, [v for v in then if v.starts < day], fleet, settings, workers)
        for one in todays:
            if one.id in after:
                after[one.id] = _after(one, after[one.id], found.get(one.id), settings)
    return replace(fleet, vehicles=tuple(after[vehicle.id] for vehicle in fleet.vehicles))


def done_words(done: Sequence[Mark]) -> Message:
    """Return what was read back, in one sentence."""
    return message(
        "Goes on from {steps} marked as done: {vehicles}.",
        steps=counted(len(done), "step"),
        vehicles=", ".join(dict.fromkeys(one.id for one in done)),
    )


def as_of_today(fleet: Fleet, settings: FleetSettings, *, workers: int | None = None) -> Fleet:
    """Return the list with each vehicle that stands already going on from the charge it has.

    Parameters
    ----------
    fleet, settings : Fleet, FleetSettings
    workers : int, optional
        Processes, as for `answer_fleet`.
    """
    today = settings.today
    standing = [vehicle for vehicle in fleet.vehicles if vehicle.starts < today]
    found = _answers_on(today, standing, fleet, settings, workers)
    vehicles = tuple(
        replace(v, scenario=_from_day(today, v, found[v.id], settings), starts=today)
        if v.id in found
        else v
        for v in fleet.vehicles
    )
    return replace(fleet, vehicles=vehicles)


def _check(one: Mark, vehicles: Mapping[str, FleetVehicle], today: dt.date, *, aside: bool) -> None:
    """Refuse what cannot have been done; a vehicle whose row is kept aside is let pass."""
    if one.id not in vehicles and not aside:
        raise DrainsimError(f"{one.where}: vehicle {one.id!r} is not in the list")
    for key in one.step.split("+"):
        if key not in ADVICE:
            raise DrainsimError(
                f"{one.where}: step {one.step!r} is none that drainsim can go on from; change the "
                f"list's own values instead, or use one of {', '.join(ADVICE)}"
            )
    if one.day > today:
        raise DrainsimError(f"{one.where}: done on {one.day} is after today, {today}")


def _answers_on(
    day: dt.date,
    vehicles: list[FleetVehicle],
    fleet: Fleet,
    settings: FleetSettings,
    workers: int | None,
) -> dict[str, VehicleAnswer]:
    """Return each vehicle's answer on a day, for the charge it has then."""
    if not vehicles:
        return {}
    part = replace(fleet, vehicles=tuple(vehicles), problems=())
    on_day = replace(settings, today=day)
    return {v.id: v for v in answer_fleet(part, on_day, workers=workers).vehicles}


def _from_day(
    day: dt.date, vehicle: FleetVehicle, answer: VehicleAnswer | None, settings: FleetSettings
) -> Scenario:
    """Return a vehicle's scenario from a day on, with the charge an answer gives it then."""
    known = vehicle.scenario if answer is None else with_known_charge(vehicle.scenario, answer)
    return standing_from(known, day, settings.today + dt.timedelta(days=settings.days_ahead))


def _after(
    one: Mark, vehicle: FleetVehicle, answer: VehicleAnswer | None, settings: FleetSettings
) -> FleetVehicle:
    """Return a vehicle from the day on which something was done."""
    day = max(one.day, vehicle.starts)
    scenario = _from_day(day, vehicle, answer, settings)
    case = resolve(scenario, profile_folders=settings.profile_folders)
    plans = easiest_plans(scenario, case, days=settings.days_ahead)
    said = []
    for key in one.step.split("+"):
        if key in plans:  # a way that no longer applies was done before
            scenario = with_steps(scenario, plans[key].changes, vehicle.scenario)
            said.append(plans[key].words(standing=True))
    note = message(
        "done on {day}: {what}",
        day=one.day.isoformat(),
        what=together_words(said) if said else message("nothing new"),
    )
    return replace(vehicle, scenario=scenario, starts=day, notes=(*vehicle.notes, note))
