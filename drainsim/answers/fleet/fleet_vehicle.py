"""One vehicle of a fleet: days left, risk on the days that matter, cause in words."""

import datetime as dt
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.language import Celsius, Message, joined, marked, message
from drainsim.physics.tables import FloatArray, IndexArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER
from drainsim.simulation.many import DrawnStand
from drainsim.vehicle.case import Case
from drainsim.vehicle.documents.fleet_rows import KEY_INPUTS, FleetSettings, FleetVehicle
from drainsim.vehicle.keys.schema import BY_COLUMN

_LIST_KEYS: Final = frozenset(BY_COLUMN.values())
_LOW_CHARGE: Final = 0.7
_HALF: Final = 0.5
_WORN: Final = 0.75
_HEAVY_QUIESCENT_A: Final = 0.05  # trade's usual threshold for looking into it; see README
_FREEZE_RISK: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleRun:
    """What the draws of a vehicle say from today on.

    `levels` counts failing draws of each weather, shape (days + 1, weathers); days are inf
    where it does not happen.
    """

    levels: IndexArray
    days_left: FloatArray  # (p10, p50, p90)
    freeze_chance: float
    half_charge_days: float  # median, from today
    shares: dict[str, float]  # of the drain: vehicle, unit, self-discharge, other
    charge_today: FloatArray  # share of full, of every draw

    @property
    def probability(self) -> FloatArray:
        """P(no-start) at the start hour of each day from today."""
        weathers = self.levels.shape[1]  # whole draws over draws: 10 of 200 is the 5 % of a limit
        return np.asarray(self.levels.sum(axis=1) / (weathers * DRAWS_PER_WEATHER))


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleAnswer:
    """One line of the action list; None means not within the days looked at."""

    id: str
    depot: str
    row: int
    battery_type: str
    days_parked: int
    days_left_p10: float | None
    days_left_p50: float | None
    days_left_p90: float | None
    charge_today: float  # mean and standard deviation over the draws, share of full
    charge_today_sd: float
    charge_of_draws: "array[float]"  # today, in their order
    risk_today: float
    planned_return: dt.date | None
    risk_on_return: float | None
    risk_on_dates: tuple[float, ...]
    act_by: dt.date | None
    needs_someone: bool  # the risk passes the limit by the day it is to be driven
    cause: Message
    measure_next: str
    assumed: tuple[str, ...]
    assumed_share: float
    warnings: tuple[str, ...]
    toml: str  # the vehicle's own scenario
    draws: int
    failing_by_day: "array[int]"  # draws that fail at the start hour, from today on
    as_used: tuple[tuple[str, Any], ...]  # scenario key → value of every list column

    def chance_on(self, day: dt.date, today: dt.date) -> float:
        """Return P(no-start) at the start hour of a day within those looked at."""
        return self.failing_by_day[(day - today).days] / self.draws

    @property
    def urgency(self) -> tuple[float, float, float, str]:
        """Sort key: soonest act-by date first, then the greatest risk today, then later."""
        day = self.act_by.toordinal() if self.act_by else float("inf")
        most = max((self.risk_today, self.risk_on_return or 0.0, *self.risk_on_dates))
        return (day, -self.risk_today, -most, self.id)

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {
            "id": self.id,
            "depot": self.depot,
            "row": self.row,
            "battery_type": self.battery_type,
            "days_parked": self.days_parked,
            "days_left_p10": self.days_left_p10,
            "days_left_p50": self.days_left_p50,
            "days_left_p90": self.days_left_p90,
            "charge_today": self.charge_today,
            "charge_today_sd": self.charge_today_sd,
            "risk_today": self.risk_today,
            "planned_return": self.planned_return.isoformat() if self.planned_return else None,
            "risk_on_return": self.risk_on_return,
            "risk_on_dates": list(self.risk_on_dates),
            "act_by": self.act_by.isoformat() if self.act_by else None,
            "needs_someone": self.needs_someone,
            "cause": self.cause,
            "measure_next": self.measure_next,
            "assumed_share": self.assumed_share,
            "assumed": list(self.assumed),
            "warnings": list(self.warnings),
        }


def vehicle_run(vehicle: FleetVehicle, stand: DrawnStand, settings: FleetSettings) -> VehicleRun:
    """Return a vehicle's draws seen from today."""
    before = (settings.today - vehicle.starts).days  # negative: parks in the future
    daily = stand.no_start_daily
    if before < 0:
        waiting = np.zeros((-before, daily.shape[1]), dtype=bool)
        daily = np.concatenate([waiting, daily])
    seen = daily[max(before, 0) : max(before, 0) + settings.days_ahead + 1]
    weathers = settings.draws // DRAWS_PER_WEATHER
    levels = seen.reshape(len(seen), weathers, DRAWS_PER_WEATHER).sum(axis=2)
    left = np.maximum(stand.no_start_h / 24.0 - before, 0.0)
    if stand.other_ah < 0.0:  # charged from outside: what failed before today may start again
        again = np.where(seen.any(axis=0), seen.argmax(axis=0), np.inf)
        left = np.where(stand.no_start_h / 24.0 < before, again, left)
    left = np.where(left <= settings.days_ahead, left, np.inf)
    total = stand.vehicle_ah + stand.unit_ah + stand.lost_ah + max(stand.other_ah, 0.0)
    parts = {
        marked("vehicle"): stand.vehicle_ah,
        marked("unit"): stand.unit_ah,
        marked("self-discharge"): stand.lost_ah,
        marked("other loads"): max(stand.other_ah, 0.0),
    }
    return VehicleRun(
        levels=levels.astype(np.intp),
        days_left=np.quantile(left, [0.1, 0.5, 0.9], method="inverted_cdf"),
        freeze_chance=float(np.isfinite(stand.freezing_h).mean()),
        half_charge_days=float(np.quantile(stand.half_charge_h, 0.5, method="inverted_cdf")) / 24.0
        - before,
        shares={name: part / total if total > 0 else 0.0 for name, part in parts.items()},
        charge_today=stand.snapshot_charge,
    )


def vehicle_answer(
    vehicle: FleetVehicle,
    case: Case,
    run: VehicleRun,
    settings: FleetSettings,
    *,
    risk: float,
    dates: tuple[dt.date, ...],
) -> VehicleAnswer:
    """Return a vehicle's line of the action list.

    Parameters
    ----------
    vehicle, case : FleetVehicle, Case
    run : VehicleRun
        Its draws, seen from today.
    settings : FleetSettings
    risk : float
        Owner's limit on P(no-start). [-]
    dates : tuple of date
        Days asked about.
    """
    chance = run.probability
    p10, p50, p90 = (float(d) if np.isfinite(d) else None for d in run.days_left)
    back = vehicle.planned_return
    waits = None if back is None else (back - settings.today).days + 1
    return VehicleAnswer(
        id=vehicle.id,
        depot=vehicle.depot,
        row=vehicle.row,
        battery_type=case.battery.profile.key,
        days_parked=max((settings.today - vehicle.parked_from).days, 0),
        days_left_p10=p10,
        days_left_p50=p50,
        days_left_p90=p90,
        # rounded: the last bits depend on which vehicles stepped beside it
        charge_today=round(float(run.charge_today.mean()), 6),
        charge_today_sd=round(float(run.charge_today.std()), 6),
        charge_of_draws=array("f", run.charge_today.round(6)),
        risk_today=float(chance[0]),
        planned_return=back,
        risk_on_return=_chance_on(chance, back, settings),
        risk_on_dates=tuple(float(chance[(date - settings.today).days]) for date in dates),
        act_by=act_by(chance, settings.today, risk),
        needs_someone=bool((chance[:waits] > risk).any()),
        cause=_cause_in_words(case, run),
        measure_next=vehicle.assumed[0] if vehicle.assumed else "",
        assumed=vehicle.assumed,
        assumed_share=len(vehicle.assumed) / len(KEY_INPUTS),
        warnings=(*vehicle.notes, *_warnings(case, run, settings)),
        toml=vehicle.scenario.to_toml(),
        draws=settings.draws,
        failing_by_day=array("H", run.levels.sum(axis=1).tolist()),
        as_used=values_as_used(case),
    )


def _chance_on(chance: FloatArray, day: dt.date | None, settings: FleetSettings) -> float | None:
    """Return P(no-start) on a day; None without one, or past the days looked at."""
    ahead = None if day is None else (day - settings.today).days
    return None if ahead is None or ahead > settings.days_ahead else float(chance[ahead])


def values_as_used(case: Case) -> tuple[tuple[str, Any], ...]:
    """Return (scenario key, value) for every key that a column of a list can give."""
    return tuple(
        (entry.name, entry.value) for entry in case.assumptions if entry.name in _LIST_KEYS
    )


def act_by(chance: FloatArray, today: dt.date, risk: float) -> dt.date | None:
    """Return the last day before P(no-start) first exceeds the limit; today if it does already.

    Parameters
    ----------
    chance : array, shape (days + 1,)
        P(no-start) at the start hour of each day from today on. [-]
    today : date
    risk : float
        Owner's limit. [-]
    """
    too_risky = np.flatnonzero(chance > risk)
    if not len(too_risky):
        return None
    return today + dt.timedelta(days=max(int(too_risky[0]) - 1, 0))


def _cause_in_words(case: Case, run: VehicleRun) -> Message:
    """Say what takes most of the charge and what is weak about the battery."""
    name, share = max(run.shares.items(), key=lambda part: part[1])
    battery = case.battery
    said = [
        message(
            "{what} takes {percent:.0f} % of the drain", what=message(name), percent=100 * share
        )
    ]
    if name == "vehicle" and case.vehicle.quiescent_a > _HEAVY_QUIESCENT_A:
        ma = 1000 * case.vehicle.quiescent_a
        said.append(message("quiescent current {ma:.0f} mA is high", ma=ma))
    if battery.state_of_charge < _LOW_CHARGE and float(np.median(run.charge_today)) < _LOW_CHARGE:
        percent = 100 * battery.state_of_charge
        said.append(message("only {percent:.0f} % charged when last known", percent=percent))
    if battery.cranking_health < _WORN:
        percent = 100 * battery.cranking_health
        said.append(
            message("battery worn: {percent:.0f} % of its cranking current", percent=percent)
        )
    coldest = float(case.site.battery_c.min())
    if coldest < -10.0:
        said.append(message("cold to {coldest:.0f}", coldest=Celsius(coldest)))
    return joined("; ", said)


def _warnings(case: Case, run: VehicleRun, settings: FleetSettings) -> Iterator[str]:
    yield from case.warnings
    if run.freeze_chance >= _FREEZE_RISK:
        yield message(
            "can freeze ({percent:.0f} % of the cases): never charge or jump-start a frozen "
            "battery",
            percent=100 * run.freeze_chance,
        )
    if 0.0 <= run.half_charge_days <= settings.days_ahead:
        yield message(
            "below half charge in about {days:.0f} days: the plates sulfate",
            days=run.half_charge_days,
        )
    elif run.half_charge_days < 0.0 and float(np.median(run.charge_today)) < _HALF:
        yield message("probably below half charge already: the plates sulfate")
