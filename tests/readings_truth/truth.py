"""Truth: stands of a fleet hour by hour, by an integrator and a start criterion of its own."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.readings_truth.battery import Array, battery_population, resting_v, starts
from tests.readings_truth.weather import PLACES, air_c, following

HORIZON_DAYS = 180
# Two stands of one truth: 21 days of readings, then a horizon.
HOURS = (HORIZON_DAYS + 36) * 24
_KEY_OFF_AH = (0.05, 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """One stand of each vehicle, all from one hour on; hourly arrays (hours, vehicles)."""

    begin: dt.datetime  # key off, UTC
    place: str
    battery: dict[str, Array]
    says: dict[str, Any]  # what a list says, arrays (vehicles,) or one word
    quiescent_a: Array  # (vehicles,)
    unit_a: Array  # (vehicles,) at 12 V
    extra_a: Array  # (hours, vehicles) the fault
    charge: Array
    battery_c: Array
    air_c: Array
    rests_v: Array
    fails: Array  # (hours, vehicles) an attempt would fail

    @property
    def drain_a(self) -> Array:
        """Everything expected, without the fault. [A]."""
        return self.quiescent_a + self.unit_a

    @property
    def count(self) -> int:
        """How many vehicles."""
        return self.charge.shape[1]

    def days_left(self, day: float) -> Array:
        """Return days from `day` to the first failing hour; inf past the horizon from there."""
        first = round(day * 24)
        ahead = self.fails[first : first + HORIZON_DAYS * 24]
        hour = np.argmax(ahead, axis=0).astype(float)
        return np.where(ahead.any(axis=0), hour / 24, np.inf)

    def alive(self, day: float) -> Any:
        """Say which vehicles would have started at every hour so far."""
        return ~self.fails[: round(day * 24) + 1].any(axis=0)


def stands(
    seed: int | list[int],
    count: int,
    *,
    place: str,
    begin: dt.datetime,
    extra_a: Any = 0.0,
    extra_from_day: float = 0.0,
    strong: bool = False,
    like: Stands | None = None,
) -> Stands:
    """Return the stands of a fleet.

    Parameters
    ----------
    seed : int or list of int
    count : int
        Vehicles.
    place : str
        One of `weather.PLACES`.
    begin : datetime
        Key off, a full hour in UTC.
    extra_a : float or array, shape (vehicles,)
        Fault beyond what is expected. [A]
    extra_from_day : float
        When it begins, days after parking.
    strong : bool
        Long-lived vehicles (charged well, drained little), so that a stand of 30 days stays one.
    like : Stands, optional
        Another stand of the same vehicles: the same batteries, drains and list.
    """
    rng = np.random.default_rng(seed)
    b, says = battery_population(rng, count, PLACES[place][0])
    # Key-off current: older cars below 50, newer 50 to 85 mA (training institute 2021), 20 to 45
    # published for most of both (sheet D 5). Half of the list has no figure; where it has one it
    # was measured on this vehicle, a tenth wrong.
    newer = rng.random(count) < 0.4
    middle = np.where(newer, 0.058, 0.030)
    listed_a = middle * np.exp(np.where(newer, 0.28, 0.46) * rng.standard_normal(count))
    known = rng.random(count) < 0.5
    quiescent_a = listed_a * np.where(known, np.exp(0.1 * rng.standard_normal(count)), 1.0)
    says["quiescent_a"] = np.where(known, np.round(listed_a, 3), np.nan)
    says["climate"] = place
    # The unit: 4 mA asleep, 7 A·s an hour, as its maker states; reception costs more or less.
    says["unit_sleep_a"], says["report_interval_h"], says["unit_report_charge_as"] = 0.004, 1.0, 7.0
    unit_a = (0.004 + 7 / 3600) * np.exp(0.12 * rng.standard_t(6, count))
    # Charge of vehicles in service: mostly 72 to 95 %, some far below after short trips.
    charge0 = 0.98 - 0.30 * rng.beta(1.5, 2.2, count) - 0.06 * rng.exponential(0.7, count)
    if strong:
        charge0 = 0.9 + 0.08 * rng.random(count)
        quiescent_a = np.minimum(quiescent_a, 0.03 * np.exp(0.2 * rng.standard_normal(count)))
        says["quiescent_a"] = np.where(known, np.round(quiescent_a, 3), np.nan)
        b["full_ah"] = np.maximum(b["full_ah"], 50 + 20 * rng.random(count))
        says["capacity_ah"] = np.maximum(says["capacity_ah"], np.round(b["full_ah"] / 1.05))
    if like is not None:
        b, says, quiescent_a, unit_a = like.battery, like.says, like.quiescent_a, like.unit_a
    air = air_c(rng, place, begin, HOURS, count)
    battery_c = following(air, rng.uniform(3, 10, count), rng.uniform(0, 15, count))
    extra = np.zeros((HOURS, count))
    extra[round(24 * extra_from_day) :] = extra_a
    charge = np.empty((HOURS, count))
    charge[0] = np.clip(charge0, 0.3, 1.0)
    once = rng.uniform(*_KEY_OFF_AH, count) / b["full_ah"]
    for hour in range(1, HOURS):
        now = charge[hour - 1]
        # The unit's switching supply draws power; about 0.25 V less than 12.6 V over half a charge.
        unit_now = unit_a * 12 / (11.8 + 0.85 * now)
        loss = b["loss_per_day_20c"] / 24
        loss = loss * b["loss_per_10k"] ** ((battery_c[hour] - 20) / 10) * now
        spent = (quiescent_a + unit_now + extra[hour - 1]) / b["full_ah"] + loss
        charge[hour] = np.maximum(now - spent - (once if hour == 1 else 0.0), 0.0)
    return Stands(
        begin=begin,
        place=place,
        battery=b,
        says=says,
        quiescent_a=quiescent_a,
        unit_a=unit_a,
        extra_a=extra,
        charge=charge,
        battery_c=battery_c,
        air_c=air,
        rests_v=resting_v(charge, battery_c, b),
        fails=~starts(charge, battery_c, b),
    )
