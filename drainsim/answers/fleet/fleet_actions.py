"""The cheapest thing to do about each vehicle whose risk is over the owner's limit."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final

from drainsim.answers.driving.before_parking import parked_from_pattern
from drainsim.answers.fleet.answer import in_run_order, resolved
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.fleet.in_parts import Progress, in_parts
from drainsim.errors import DrainsimError
from drainsim.files.presets import presets
from drainsim.simulation.many import run_cases
from drainsim.vehicle.documents.fleet_rows import FleetSettings, FleetVehicle
from drainsim.vehicle.scenario import Scenario

_RARE_REPORT_H: Final = 24.0
_RECHARGED: Final = 0.97  # after a mains charge; common practice, no source
_MAINTAINER_A: Final = 1.0  # a small mains maintainer; common practice, no source
_GARAGE_C: Final = 5.0
_LONGEST_SPREAD: Final = 0.4  # of charge, as the scenario allows
_SAME_END_DAYS: Final = 30  # runs end together in steps of these: few runs, none much too long

# key: what to do, from the least effort to the most: a message, visits, hardware, money.
ACTIONS: Final = {
    "report_less": "set the unit to one report a day",
    "recharge": "charge fully by {act_by}",
    "disconnect": "disconnect the unit (no position, no alarm)",
    "maintainer": "connect a mains maintainer",
    "shelter": "connect a mains maintainer and park it above 5 °C",
    "replace": "fit a new, charged battery",
}
NOTHING: Final = "nothing"
# What must come before any of them, where a measured value is not one to build a plan on.
_DEAD_V: Final = 11.9  # resting, of a 12 V lead battery: flat; common practice, no source
_DOUBTFUL_QUIESCENT_A: Final = 1.0  # parked and asleep; common practice, no source
_LITHIUM: Final = "lithium_iron_phosphate_12v"
FIRST: Final = {
    "check_entry": "check the entry: {amperes:g} A while parked is hardly a quiescent current",
    "test_battery": "thaw it first if it may be frozen, charge it slowly, then test the battery",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """What to do about a vehicle, and its risk on the day that counts before and after."""

    id: str
    key: str
    words: str
    until: dt.date
    risk_before: float
    risk_after: float

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {
            "id": self.id,
            "action": self.key,
            "words": self.words,
            "until": self.until.isoformat(),
            "risk_before": round(self.risk_before, 4),
            "risk_after": round(self.risk_after, 4),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Risky:
    """A vehicle over the limit: as listed, answered, and the day it must still start."""

    vehicle: FleetVehicle
    answer: VehicleAnswer
    act_by: dt.date
    until: dt.date


def cheapest_actions(
    vehicles: Sequence[FleetVehicle],
    answers: Sequence[VehicleAnswer],
    settings: FleetSettings,
    *,
    risk: float,
    days: int = 30,
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
        That day for a vehicle without a planned return, counted from today.
    progress : callable, optional
        Called with (steps tried, the most that can be tried); a vehicle's search ends with the
        first step that is enough, so the second falls.

    Returns
    -------
    dict
        Vehicle id → Action; vehicles within the limit on that day are left out. Key
        `nothing` says that no single step is enough.

    Notes
    -----
    A step begins today: the vehicle stands on from the mean charge the draws give it today,
    with their spread, instead of repeating its past.
    """
    if not 1 <= days <= settings.days_ahead:
        raise DrainsimError(f"days = {days} must be between 1 and {settings.days_ahead}")
    by_id = {vehicle.id: vehicle for vehicle in vehicles}
    open_: dict[str, _Risky] = {}
    for answer in answers:
        last = settings.today + dt.timedelta(days=settings.days_ahead)
        until = min(answer.planned_return or settings.today + dt.timedelta(days=days), last)
        over = answer.chance_on(until, settings.today) > risk
        if over and answer.act_by is not None and answer.act_by < until:
            open_[answer.id] = _Risky(
                vehicle=by_id[answer.id], answer=answer, act_by=answer.act_by, until=until
            )
    if not open_:
        return {}
    before = {id_: _risk_if_nothing_is_done(risky, settings) for id_, risky in open_.items()}
    found = {
        id_: Action(
            id=id_,
            key=key,
            words=words,
            until=risky.until,
            risk_before=before[id_],
            risk_after=before[id_],
        )
        for id_, risky in open_.items()
        for key, words in _to_do_first(risky.vehicle.scenario)
    }
    open_ = {id_: risky for id_, risky in open_.items() if id_ not in found}
    closest: dict[str, Action] = {}
    tried = 0
    for number, (key, words) in enumerate(ACTIONS.items(), start=1):
        changed = [
            replace(risky.vehicle, scenario=scenario, starts=scenario.get("site", "parked_from"))
            for risky in open_.values()
            if (scenario := _scenario_after(key, risky, settings)) is not None
        ]
        after = _risks_on_the_day(
            changed,
            {id_: risky.until for id_, risky in open_.items()},
            settings,
            workers,
            progress and _seen_from(tried, len(open_) * (len(ACTIONS) - number), progress),
        )
        tried += len(changed)
        for id_, most in after.items():
            risky = open_[id_]
            action = Action(
                id=id_,
                key=key,
                words=words.format(act_by=risky.act_by),
                until=risky.until,
                risk_before=before[id_],
                risk_after=most,
            )
            if id_ not in closest or most < closest[id_].risk_after:
                closest[id_] = action
            if most <= risk:
                found[id_] = action
                del open_[id_]
    if progress:
        progress(tried, tried)
    found.update({id_: _not_enough(risky, closest.get(id_)) for id_, risky in open_.items()})
    return found


def _to_do_first(scenario: Scenario) -> list[tuple[str, str]]:
    """Return what must be done before a plan means anything: (key, words), at most one."""
    amperes = scenario.get("vehicle", "quiescent_a")
    if amperes is not None and amperes > _DOUBTFUL_QUIESCENT_A:
        return [("check_entry", FIRST["check_entry"].format(amperes=amperes))]
    volts = scenario.get("battery", "resting_voltage_v")
    lead = scenario.get("battery", "profile") != _LITHIUM
    if volts is not None and volts < _DEAD_V and lead:
        return [("test_battery", FIRST["test_battery"])]
    return []


def _risk_if_nothing_is_done(risky: _Risky, settings: FleetSettings) -> float:
    """Return P(no-start) on the day that counts if nothing is done."""
    return risky.answer.chance_on(risky.until, settings.today)


def _not_enough(risky: _Risky, closest: Action | None) -> Action:
    words = "no single step is enough"
    if closest is not None:
        words += f"; closest: {closest.words}"
    return Action(
        id=risky.vehicle.id,
        key=NOTHING,
        words=words,
        until=risky.until,
        risk_before=closest.risk_before if closest else 1.0,
        risk_after=closest.risk_after if closest else 1.0,
    )


def _scenario_after(key: str, risky: _Risky, settings: FleetSettings) -> Scenario | None:
    """Return the vehicle's scenario from the step on; None where the step does not apply."""
    scenario, today = risky.vehicle.scenario, settings.today
    day = max(today, risky.vehicle.starts)
    fitted = scenario.has("unit")
    if key == "report_less":
        if not fitted or _report_interval_h(scenario) >= _RARE_REPORT_H:
            return None
        return _standing_on(risky, settings, {"unit.report_interval_h": _RARE_REPORT_H})
    if key == "recharge":
        if not day <= risky.act_by < risky.until:
            return None
        return _from_day(risky, risky.act_by, settings, charge=_RECHARGED)
    if key == "disconnect":
        return _standing_on(risky, settings).without("unit") if fitted else None
    if key in {"maintainer", "shelter"}:
        maintainer = [{"name": "mains maintainer", "current_a": -_MAINTAINER_A}]
        kept = _standing_on(risky, settings).with_table("other", maintainer)
        return kept if key == "maintainer" else kept.with_table("site", _sheltered(kept))
    new = {"battery.age_years": 0.0}
    return _from_day(risky, day, settings, charge=_RECHARGED, more=new)


def _report_interval_h(scenario: Scenario) -> float:
    """Return the hours between a unit's reports, its preset's where the list gives none."""
    given = scenario.get("unit", "report_interval_h")
    if given is not None:
        return float(given)
    kind = presets("units").get(scenario.get("unit", "preset") or "")
    return float(kind.values.get("report_interval_h", 0.0)) if kind else 0.0


def _sheltered(scenario: Scenario) -> dict[str, Any]:
    """Return the scenario's place, indoors."""
    outdoors = {"climate", "hourly_csv", "epw", "temperature_c", "sun_soak_c"}
    site = {k: v for k, v in scenario.tables["site"].items() if k not in outdoors}
    return {**site, "temperature_c": _GARAGE_C}


def _standing_on(
    risky: _Risky, settings: FleetSettings, more: Mapping[str, Any] | None = None
) -> Scenario:
    """Return the scenario from today's charge on, as the draws know it, with more values."""
    scenario, answer = risky.vehicle.scenario, risky.answer
    if risky.vehicle.starts >= settings.today:
        return scenario.with_values(more) if more else scenario
    spread = min(answer.charge_today_sd, _LONGEST_SPREAD)
    more = {"uncertainty.state_of_charge_sd": spread, **(more or {})}
    return _from_day(risky, settings.today, settings, charge=answer.charge_today, more=more)


def _from_day(
    risky: _Risky,
    day: dt.date,
    settings: FleetSettings,
    *,
    charge: float,
    more: Mapping[str, Any] | None = None,
) -> Scenario:
    """Return the scenario from a day with a known charge to the day that counts or soon after."""
    ahead = -(-(risky.until - settings.today).days // _SAME_END_DAYS) * _SAME_END_DAYS
    ends = settings.today + dt.timedelta(days=min(ahead, settings.days_ahead))
    return risky.vehicle.scenario.with_values(
        {
            "battery.resting_voltage_v": None,
            "battery.state_of_charge": charge,
            "site.parked_from": day,
            "run.horizon_days": max((ends - day).days, 1),
            **(more or {}),
        }
    )


def _seen_from(before: int, after: int, progress: Progress) -> Progress:
    """Return the progress of one step, told as a part of the whole search."""
    return lambda done, of: progress(before + done, before + of + after)


def _risks_on_the_day(
    vehicles: Sequence[FleetVehicle],
    until: Mapping[str, dt.date],
    settings: FleetSettings,
    workers: int | None,
    progress: Progress | None,
) -> dict[str, float]:
    """Return P(no-start) of each vehicle on the day it must start."""
    work = partial(_risks_of_part, until=until, settings=settings)
    ordered = sorted(in_run_order(vehicles), key=_end)  # those that end together run together
    parts = in_parts(ordered, work, workers=workers, progress=progress)
    return {id_: risk for part in parts for id_, risk in part}


def _end(vehicle: FleetVehicle) -> int:
    """Return the last day of a vehicle's run, as an ordinal."""
    return vehicle.starts.toordinal() + int(vehicle.scenario.get("run", "horizon_days"))


def _risks_of_part(
    vehicles: Sequence[FleetVehicle], until: Mapping[str, dt.date], settings: FleetSettings
) -> list[tuple[str, float]]:
    """Return (id, P(no-start) on its day) of some vehicles."""
    kept, _problems = resolved(vehicles, settings)
    found = []
    for number, drawn in run_cases([parked_from_pattern(case) for _, case in kept]):
        vehicle = kept[number][0]
        day = (until[vehicle.id] - vehicle.starts).days
        fails = int(drawn.no_start_daily[day].sum()) if day >= 0 else 0
        found.append((vehicle.id, fails / settings.draws))
    return found
