"""One vehicle's forecast from its readings, and the case that every other question takes."""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from drainsim.answers.fleet.fleet_vehicle import act_by
from drainsim.answers.readings.history.stands import Cut, Stand, cut
from drainsim.answers.readings.posterior.conditioning import Posterior
from drainsim.answers.readings.posterior.fault import extra_drain
from drainsim.answers.readings.posterior.known import Known
from drainsim.answers.readings.posterior.learned import UNIT_OFFSET_SD_V
from drainsim.answers.readings.posterior.learning import (
    Learner,
    Past,
    cranks_before,
    fresh_of,
    past_of,
    with_unit_offset,
)
from drainsim.answers.readings.results import (
    CHARGING,
    DRIVEN,
    PARKED,
    SILENT,
    TOO_FEW,
    UNREADABLE,
    ExtraDrain,
    NightBand,
    Range,
    VehicleForecast,
    iso,
)
from drainsim.answers.readings.state import Memory
from drainsim.answers.readings.vehicle_case import Setting, VehicleCase, vehicle_case
from drainsim.files.readings.history import BEHIND_SWITCH, History
from drainsim.language import Message, joined, message
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import standard_draws
from drainsim.simulation.lanes import Lanes, lanes_from_draws
from drainsim.simulation.many import DrawnStand
from drainsim.units import HOURS_PER_DAY, SECONDS_PER_DAY, SECONDS_PER_HOUR
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.scenario import Scenario

UNIT_OFFSET: Final = (0.0, UNIT_OFFSET_SD_V)
_BAND_AHEAD_DAYS: Final = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """One vehicle with its stands cut and its past learned."""

    history: History
    scenario: Scenario  # as it was given
    setting: Setting
    vehicle: VehicleCase
    found: Cut
    learner: Learner
    past: Past
    reason: str  # why nothing can be forecast; empty if something can

    def day_of(self, moment_s: float) -> dt.date:
        """Return the local calendar day of a moment."""
        return dt.datetime.fromtimestamp(moment_s + self.learner.shift_s, tz=dt.UTC).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A vehicle whose forecast waits for its draws' stand."""

    watched: Watched
    posterior: Posterior
    known: Known
    case: Case  # from this morning on, with draws that agree with the readings
    nights: int
    since_s: float  # the moment the draws' charge is of


def watch(
    history: History, scenario: Scenario, setting: Setting, memory: Mapping[str, Any]
) -> Watched:
    """Return a vehicle with its past gone through.

    Parameters
    ----------
    history : History
    scenario : Scenario
        What is known of it beside its readings.
    setting : Setting
    memory : mapping
        Results kept by an earlier morning.
    """
    given = scenario
    shift_s = setting.shift_s(setting.now_s)
    two = scenario.get_or_default(BATTERY.system) == "24V"
    found = cut(history, now_s=setting.now_s, two_in_series=two, shift_s=shift_s)
    if found.pair and not two and scenario.get(BATTERY.system) is None:
        scenario = scenario.with_values({BATTERY.system: "24V"})
    first_s = float(history.time_s[0]) if len(history.time_s) else setting.now_s
    parked = found.parked
    vehicle = vehicle_case(
        scenario,
        first_s=min(first_s, setting.now_s),
        parked_s=None if parked is None else parked.start_s,
        setting=setting,
    )
    learner = Learner(
        vehicle=vehicle,
        found=found,
        shift_s=shift_s,
        curves=curves_of(vehicle.now),
        memory=Memory(memory),
    )
    reason = _why_nothing(found, vehicle)
    fresh = fresh_of(vehicle, found, UNIT_OFFSET)
    teaches = found if not reason else replace(found, stands=())
    past = past_of(replace(learner, found=teaches), fresh)
    return Watched(
        history=history,
        scenario=given,
        setting=setting,
        vehicle=vehicle,
        found=found,
        learner=learner,
        past=past,
        reason=reason,
    )


def _why_nothing(found: Cut, vehicle: VehicleCase) -> str:
    """Return why readings say nothing of the starting battery; empty if they do."""
    case = vehicle.now
    behind = [part.end_s for part in found.set_aside if part.reason == BEHIND_SWITCH]
    seen = found.history.time_s[np.isfinite(found.voltage_v)]
    if behind and not (seen > max(behind) + SECONDS_PER_DAY).any():  # else it was fed anew
        return message("the unit is fed behind the ignition switch: no voltage at rest is seen")
    if not np.isfinite(found.voltage_v).any():
        reasons = sorted(found.set_aside, key=lambda part: -part.rows)
        return reasons[0].reason if reasons else message("no voltage was read")
    if case.auxiliary is not None:
        return message(
            "the unit is fed from the auxiliary battery: the starting battery is not seen"
        )
    if case.charging_a is not None:
        return message("a charger or panel keeps the battery up: its voltage at rest is not seen")
    return ""


def ask(watched: Watched, unit_offset: tuple[float, float]) -> Asked | None:
    """Return the draws of a vehicle this morning; None where its readings allow none.

    Parameters
    ----------
    watched : Watched
    unit_offset : (float, float)
        Mean and spread of the offset of a unit of this model. [V]
    """
    stand = watched.found.parked
    if watched.reason or watched.found.charging:
        return None
    learner, vehicle = watched.learner, watched.vehicle
    learned = with_unit_offset(watched.past.learned, UNIT_OFFSET, unit_offset)
    if stand is None:
        if not learned.stands:
            return None
        stand = Stand(start_s=watched.setting.now_s, end_s=math.inf, started=False, anew=False)
    elif stand.start_s < vehicle.begin_s:
        return None
    nights = learner.nights(stand)
    if not len(nights) and not learned.stands:
        return None
    since_s = max(vehicle.morning_s, stand.start_s)
    posterior = learner.posterior(
        stand,
        nights,
        now_h=(since_s - stand.start_s) / SECONDS_PER_HOUR,
        learned=learned,
        draws=watched.setting.draws,
        cranks=cranks_before(learner, stand.start_s),
        ahead_h=_moments_ahead(nights.rested_h),
    )
    known = Known.of(posterior, vehicle.now, given_charge=vehicle.given_charge, nights=len(nights))
    return Asked(
        watched=watched,
        posterior=posterior,
        known=known,
        case=known(vehicle.now),
        nights=len(nights),
        since_s=since_s,
    )


def depends_on(
    watched: Watched, unit_offset: tuple[float, float], until_s: float
) -> list[Any] | None:
    """Return all that the forecast of the stand going on depended on at a moment; None before it.

    Parameters
    ----------
    watched : Watched
    unit_offset : (float, float)
        As for `ask`. [V]
    until_s : float
        Epoch seconds. [s]
    """
    stand, setting = watched.found.parked, watched.setting
    if stand is None or stand.start_s >= until_s or watched.reason or watched.found.silent_h:
        return None
    learned = with_unit_offset(watched.past.learned, UNIT_OFFSET, unit_offset)
    nights = watched.learner.nights(stand, until_s)
    days_ago = round((setting.now_s - until_s) / SECONDS_PER_DAY)
    morning_s = watched.vehicle.morning_s - days_ago * SECONDS_PER_DAY
    age = watched.vehicle.scenario.get(BATTERY.age_years)
    asked = [max(morning_s, stand.start_s), until_s, setting.draws, setting.risk, setting.zone, age]
    return [*watched.learner.known(stand, nights, learned), *asked]


def _moments_ahead(rested_h: FloatArray) -> FloatArray:
    last_h = float(rested_h[-1]) if len(rested_h) else 0.0
    return last_h + HOURS_PER_DAY * np.arange(1.0, _BAND_AHEAD_DAYS + 1.0)


def answer(asked: Asked, stand: DrawnStand, *, risk: float) -> VehicleForecast:
    """Return the forecast of a vehicle whose draws were run.

    Parameters
    ----------
    asked : Asked
    stand : DrawnStand
        Of `asked.case`.
    risk : float
        Accepted chance of a no-start.
    """
    watched, posterior = asked.watched, asked.posterior
    found, setting = watched.found, watched.setting
    since = (setting.now_s - watched.vehicle.morning_s) / SECONDS_PER_DAY
    left = np.maximum(stand.no_start_h / HOURS_PER_DAY - since, 0.0)
    today = watched.day_of(setting.now_s)
    # Before the start hour the draws are of yesterday's; today's start is still to come.
    begun = (today - watched.day_of(watched.vehicle.morning_s)).days
    chance = stand.no_start_daily.mean(axis=1)[begun:]
    parked = found.parked
    status, reason = _status(watched, asked.nights)
    return VehicleForecast(
        **_common(watched),
        status=status,
        reason=reason,
        charge=Range.of(posterior.charge),
        drain_a=Range.of(drain_a(watched.vehicle.now, posterior.lanes) + posterior.extra_a),
        extra_drain=ExtraDrain()
        if parked is None or not asked.nights
        else extra_drain(posterior, found, parked, earlier=watched.past.faults),
        days_to_no_start=Range.of(left),
        risk_today=float(chance[0]),
        act_by=act_by(chance, today, risk),
        nights=_band(watched, posterior) if parked is not None else None,
        chance_by_day=tuple(float(p) for p in chance),
    )


def drain_a(case: Case, lanes: Lanes) -> FloatArray:
    """Return the expected mean current of each lane: vehicle, unit, other loads. [A]."""
    unit_a = lanes.unit_factor * case.unit.normal_current_a
    return np.asarray(lanes.quiescent_a + unit_a + lanes.other_a)


def unanswered(watched: Watched) -> VehicleForecast:
    """Return what can be said of a vehicle whose readings allow no forecast."""
    found = watched.found
    status, reason = _status(watched, 0)
    if watched.reason:
        status, reason = UNREADABLE, watched.reason
    elif found.charging:
        status, reason = CHARGING, "its charge is known once it rests without the charger"
    return VehicleForecast(
        **_common(watched),
        status=status,
        reason=reason,
    )


def _common(watched: Watched) -> dict[str, Any]:
    found = watched.found
    return {
        "id": watched.history.vehicle_id,
        "parked_since_s": found.parked_since_s,
        "readings_used": int(np.isfinite(found.voltage_v).sum()),
        "set_aside": found.set_aside,
        "stands": tuple((stand.start_s, min(stand.end_s, found.now_s)) for stand in found.stands),
    }


def _status(watched: Watched, nights: int) -> tuple[str, str]:
    """Return what a vehicle is doing, and a sentence about it."""
    found = watched.found
    if found.silent_h:
        return SILENT, _silence(found)
    if found.parked is None:
        learned = watched.past.learned.stands
        return DRIVEN, message("as if parked now" if learned else "no stand of two nights yet")
    if not nights and not watched.past.learned.stands:
        return TOO_FEW, message("no night at rest yet: it needs one, better three")
    notes: list[str] = [*found.notes]
    if watched.past.begun_anew_s is not None:
        since = str(iso(watched.past.begun_anew_s))
        notes.append(message("another battery or unit since {since}: begun anew", since=since))
    if not nights:
        notes.append(message("no night at rest yet: by what earlier stands taught"))
    return PARKED, joined("; ", notes)


def _silence(found: Cut) -> Message:
    if not math.isfinite(found.silent_h):
        return message("no reading at all")
    days = found.silent_h / HOURS_PER_DAY
    if not math.isfinite(found.last_v):
        return message("no reading for {days:.0f} days", days=days)
    return message(
        "no reading for {days:.0f} days, the last {volts:.2f} V: units fall silent when the "
        "battery is nearly empty"
        if found.low
        else "no reading for {days:.0f} days, the last {volts:.2f} V",
        days=days,
        volts=found.last_v,
    )


def _band(watched: Watched, posterior: Posterior) -> NightBand | None:
    """Return measured nights and the band of those to come; a pair is shown as one battery."""
    stand = watched.found.parked
    if stand is None:
        return None
    nights = watched.learner.nights(stand)
    ahead_h = _moments_ahead(nights.rested_h)
    low, middle, high = np.quantile(posterior.ahead_v, [0.1, 0.5, 0.9], axis=0)
    measured = [float(v) for v in nights.voltage_v]
    return NightBand(
        time_s=tuple(
            stand.start_s + SECONDS_PER_HOUR * float(h) for h in (*nights.rested_h, *ahead_h)
        ),
        measured_v=(*measured, *[None] * len(ahead_h)),
        low_v=(*measured, *map(float, low)),
        middle_v=(*measured, *map(float, middle)),
        high_v=(*measured, *map(float, high)),
    )


def before_readings(case: Case) -> dict[str, FloatArray]:
    """Return charge and drain of the draws that no reading has touched, parked now."""
    lanes = lanes_from_draws(case, standard_draws(case.draws, case.seed))
    return {"charge": lanes.start_ah / lanes.full_ah, "drain_a": drain_a(case, lanes)}
