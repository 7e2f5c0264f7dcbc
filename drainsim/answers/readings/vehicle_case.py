"""What is known of a vehicle beside its readings, on the day of each of its stands."""

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np

from drainsim.answers.driving.before_parking import parked_from_pattern
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_DAY, SECONDS_PER_HOUR
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN

HORIZON_DAYS: Final = 180
_LONGEST_DAYS: Final = 500  # of history that is looked at
_AHEAD_DAYS: Final = 30  # beyond now for which a stand's temperatures are wanted
_SAME_STAND_DAYS: Final = 2.0  # a list's date of parking and the readings' own
_USUAL: Final[dict[str, Any]] = {"battery": {}, "unit": {"preset": "hourly"}}
_OF_A_DAY: Final = (
    BATTERY.state_of_charge,
    BATTERY.resting_voltage_v,
    BATTERY.resting_temperature_c,
    BATTERY.rested_h,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What one morning asks of every vehicle."""

    now_s: float
    draws: int
    risk: float
    zone: str | None = None

    def shift_s(self, moment_s: float) -> float:
        """Return local time less UTC. [s]."""
        if self.zone is None:
            return 0.0
        offset = dt.datetime.fromtimestamp(moment_s, tz=ZoneInfo(self.zone)).utcoffset()
        return offset.total_seconds() if offset else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleCase:
    """A vehicle's case over its history and from this morning on."""

    scenario: Scenario
    past: Scenario  # the same, as stands that ended were conditioned on
    over: Case  # parked on the first day of the history, of `past`
    now: Case  # parked this morning
    given_charge: float  # at parking, before a pattern of driving was considered
    begin_s: float  # hour 0 of `over`
    morning_s: float  # hour 0 of `now`: the last start hour

    def battery_c(self, start_s: float) -> FloatArray:
        """Return the battery temperature every hour from a moment of the history on."""
        hour = (start_s - self.begin_s) / SECONDS_PER_HOUR
        course = self.over.site.battery_c
        first = max(int(hour), 0)
        at = np.arange(first, len(course), dtype=float) + (hour - math.floor(hour))
        return np.interp(np.minimum(at, len(course) - 1.0), np.arange(len(course)), course)


def usual_vehicle() -> Scenario:
    """Return what is taken where nothing is known of a vehicle but its readings."""
    return scenario_from_dict(_USUAL, where="the usual vehicle")


def vehicle_case(
    scenario: Scenario, *, first_s: float, parked_s: float | None, setting: Setting
) -> VehicleCase:
    """Return the case of a vehicle.

    Parameters
    ----------
    scenario : Scenario
        Its day of parking, charge and voltage hold for the stand that is going on, if that began
        on the same day; its horizon and draws are not used.
    first_s : float
        First reading. [s]
    parked_s : float, optional
        Beginning of the stand that is going on. [s]
    setting : Setting
    """
    start_hour = int(scenario.get_or_default(SITE.start_hour))
    shift_s = setting.shift_s(setting.now_s)
    morning_s = _last_start_s(setting.now_s, start_hour, shift_s)
    first_s = max(first_s, morning_s - _LONGEST_DAYS * SECONDS_PER_DAY)
    begin_s = _last_start_s(first_s, start_hour, shift_s)
    days = round((morning_s - begin_s) / SECONDS_PER_DAY)
    plain = _of_this_stand(scenario, parked_s, shift_s)
    past = _roughly_aged(plain)

    def parked(known: Scenario, moment_s: float, horizon_days: int) -> Case:
        changes: dict[str, Any] = {
            SITE.parked_from: _date(moment_s + shift_s),
            RUN.horizon_days: horizon_days,
            RUN.draws: setting.draws,
        }
        return resolve(known.with_values(changes))

    over, now = parked(past, begin_s, days + _AHEAD_DAYS), parked(plain, morning_s, HORIZON_DAYS)
    settled = parked_from_pattern(now)
    if settled is not now:
        over = replace(
            over,
            battery=replace(over.battery, start=settled.battery.start),
            spreads=replace(over.spreads, state_of_charge_sd=settled.spreads.state_of_charge_sd),
        )
    return VehicleCase(
        scenario=plain,
        past=past,
        over=over,
        now=settled,
        given_charge=now.battery.start.charge,
        begin_s=begin_s,
        morning_s=morning_s,
    )


def _of_this_stand(scenario: Scenario, parked_s: float | None, shift_s: float) -> Scenario:
    """Return the scenario without a charge or voltage of another day."""
    given = [said for said in _OF_A_DAY if scenario.get(said) is not None]
    told = scenario.get(SITE.parked_from)
    if not given:
        return scenario
    if told is not None and parked_s is not None:
        apart = (_date(parked_s + shift_s) - told).days
        if abs(apart) <= _SAME_STAND_DAYS:
            return scenario
    return scenario.with_values(dict.fromkeys(given))


def _roughly_aged(scenario: Scenario) -> Scenario:
    """Return the scenario with its battery's age to half a year.

    A list that gives the day of fitting says another age every few mornings; stands that ended
    stay what they came to.
    """
    years = scenario.get(BATTERY.age_years)
    return (
        scenario
        if years is None
        else scenario.with_values({BATTERY.age_years: round(2 * years) / 2})
    )


def _last_start_s(moment_s: float, start_hour: int, shift_s: float) -> float:
    """Return the last start hour of the day before a moment, epoch seconds."""
    late_s = start_hour * SECONDS_PER_HOUR - shift_s
    return math.floor((moment_s - late_s) / SECONDS_PER_DAY) * SECONDS_PER_DAY + late_s


def _date(local_s: float) -> dt.date:
    return dt.datetime.fromtimestamp(local_s, tz=dt.UTC).date()
