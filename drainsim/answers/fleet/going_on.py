"""A vehicle of a list that goes on: from a day, with the charge it then has, after a step."""

import datetime as dt
from dataclasses import replace

import numpy as np

from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.readings.posterior.known import Known
from drainsim.answers.storage.changes import Changes, charge_changes, with_changes
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN, UNCERTAINTY


def with_known_charge(scenario: Scenario, answer: VehicleAnswer) -> Scenario:
    """Return a scenario that goes on with the charge each of its draws has on the answer's day."""
    known = Known.standing(
        np.array(answer.charge_of_draws),
        given_charge=answer.charge_today,
        source="median of what its stand so far leaves",
    )
    return with_changes(
        replace(scenario, known=known),
        {
            **charge_changes(answer.charge_today, scenario),
            UNCERTAINTY.state_of_charge_sd: min(
                answer.charge_today_sd, UNCERTAINTY.state_of_charge_sd.high
            ),
        },
    )


def with_steps(now: Scenario, changes: Changes, listed: Scenario) -> Scenario:
    """Return a scenario after steps; once charged, its charge is as sure as the list has it."""
    if BATTERY.state_of_charge in changes:
        spread = listed.get(UNCERTAINTY.state_of_charge_sd)
        changes = {**changes, UNCERTAINTY.state_of_charge_sd: spread}
    return with_changes(now, changes)


def standing_from(scenario: Scenario, day: dt.date, end: dt.date) -> Scenario:
    """Return a scenario that begins on a day and is looked at to another, a day at least."""
    days = max((end - day).days, 1)
    return with_changes(scenario, {SITE.parked_from: day, RUN.horizon_days: days})
