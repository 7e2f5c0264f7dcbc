"""Weeks of driving: charge of every lane from trip to trip, a charge balance that closes.

Between trips the charge is integrated exactly, as in a stand. A trip is a start, then steps of
a few minutes in which the alternator gives what the loads leave over and the battery takes what
voltage over charging resistance allows.

Weeks of driving run before the stand with the same lanes, weather and draws;
`answers.driving.before_parking` puts the charge they leave into the case. A failed start is
counted and helped from outside, so that the course goes on.
"""

import math
from dataclasses import dataclass, fields, replace
from typing import Final, NamedTuple

import numpy as np

from drainsim.physics.acceptance import (
    Acceptance,
    accepted_current_a,
    charge_efficiency,
    cold_factor,
)
from drainsim.physics.alternator import DRIVING_SHARE, start_charge_ah
from drainsim.physics.charging import MIDDLE_V, regulated_voltage_v
from drainsim.physics.cranking import COLDEST_C, WARMEST_C
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.parked_step import ParkedState, changing_modes, parked_step
from drainsim.simulation.trip_groups import grouped
from drainsim.simulation.trip_groups import longest_step_h as step_for
from drainsim.simulation.weather import WeatherLanes
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.pattern import Pattern
from drainsim.vehicle.trip import HOURS_PER_WEEK, Trip

_STEP_H: Final = 0.12  # longest step of a trip; the taper's time constant is about 0.8 h
_SETTLED_PER_H: Final = 1e-4  # share of a full charge that still moves once a trip changes nothing
HEATED_BELOW_C: Final = 3.0  # heated screens are switched on below; common practice, no source

BROUGHT: Final = frozenset({"charged", "charged_parked"})  # entries that come in; the rest goes out


@dataclass(slots=True, kw_only=True)
class DrivingBalance:
    """Charge balance since the first day, Ah per lane.

    start = left + key_off + vehicle + unit + other + lost + cranked + drawn_driving
    + efficiency_loss + refused − charged − charged_parked.
    """

    charged: FloatArray  # into the battery while driving
    charged_parked: FloatArray  # what stays of a panel's, maintainer's or top-ups' current
    efficiency_loss: FloatArray  # of `charged`, lost to gassing and side reactions
    refused: FloatArray  # offered by a charger when full
    cranked: FloatArray
    drawn_driving: FloatArray  # what the alternator could not cover
    key_off: FloatArray
    vehicle: FloatArray
    unit: FloatArray
    other: FloatArray
    lost: FloatArray  # self-discharge

    @classmethod
    def empty(cls, lanes: int) -> "DrivingBalance":
        """Return a balance with nothing entered."""
        return cls(**{field.name: np.zeros(lanes) for field in fields(cls)})

    def copy(self) -> "DrivingBalance":
        """Return the state of now."""
        return DrivingBalance(**{f.name: getattr(self, f.name).copy() for f in fields(self)})

    def net_ah(self) -> FloatArray:
        """Return what came in less what went out, which is the change of charge. [Ah]."""
        signed = ((1.0 if f.name in BROUGHT else -1.0, f.name) for f in fields(self))
        return np.asarray(sum(sign * getattr(self, name) for sign, name in signed))


class DrivingDraws(NamedTuple):
    """What differs from lane to lane while driving, shape (lanes,)."""

    regulated_shift_v: FloatArray
    acceptance_factor: FloatArray
    trip_factor: FloatArray
    extra_h: FloatArray  # longer by so much each trip


@dataclass(frozen=True, slots=True, kw_only=True)
class Weeks:
    """Result; weekly arrays have shape (weeks + 1, lanes) or (weeks, lanes).

    `charge` is the share of full at the start of each week and at the end of the last;
    `lowest_charge` and `lowest_margin` are those met at the starts of a week.
    """

    charge: FloatArray
    lowest_charge: FloatArray
    lowest_margin: FloatArray
    mean_temperature_c: FloatArray
    balance: tuple[DrivingBalance, ...]  # running, one per week end, after the first all-zero entry
    start_ah: FloatArray
    left_ah: FloatArray
    parked_charge: FloatArray  # after the last trip, before its key-off sequence
    failed_starts: FloatArray  # starts that needed help


def run_weeks(
    lanes: Lanes,
    curves: BatteryCurves,
    loads: Loads,
    weather: WeatherLanes,
    pattern: Pattern,
    draws: DrivingDraws,
    *,
    demand_a: FloatArray,
    kind: Acceptance,
    longest_step_h: float | None = None,
) -> Weeks:
    """Return what the driving of a pattern does to each lane.

    Parameters
    ----------
    lanes, curves, loads, weather
        As for `stand.run_stand`; `weather` covers the weeks of `pattern`.
    pattern : Pattern
    draws : DrivingDraws
    demand_a : shape (lanes,)
        Warm starting current of each lane, 0 without a starter. [A]
    kind : Acceptance
        Charging constants of the battery.
    longest_step_h : float
        Longest step within a trip; the result hardly depends on it. [h]
    """
    pattern = replace(pattern, trips=grouped(pattern.trips, pattern.weeks))
    if longest_step_h is None:
        week_h = sum(float(_hours(trip, draws).max()) for trip in pattern.trips)
        longest_step_h = step_for(pattern.weeks * week_h, usual_h=_STEP_H)
    run = _Weeks(
        lanes=lanes,
        curves=curves,
        loads=loads,
        weather=weather,
        pattern=pattern,
        draws=draws,
        demand_a=demand_a,
        kind=kind,
        longest_step_h=longest_step_h,
    )
    return run.run()


def _hours(trip: Trip, draws: DrivingDraws) -> FloatArray:
    """Return how long each lane's trip lasts. [h]."""
    return trip.hours * draws.trip_factor + trip.starts * draws.extra_h


class _OnTheWay(NamedTuple):
    """What holds during a trip: share of idling, spare currents [A], voltage, temperature."""

    idle: float
    spare_idle_a: FloatArray
    spare_moving_a: FloatArray
    volts: FloatArray
    temperature_c: FloatArray
    cold: FloatArray  # charging resistance over that of a warm battery


@dataclass(kw_only=True)
class _Weeks:
    """A run in progress: `state` holds charge, as a share of full, and the units' modes."""

    lanes: Lanes
    curves: BatteryCurves
    loads: Loads
    weather: WeatherLanes
    pattern: Pattern
    draws: DrivingDraws
    demand_a: FloatArray
    kind: Acceptance
    longest_step_h: float

    def __post_init__(self) -> None:
        """Begin with the charge of the first day."""
        lanes = self.lanes
        self.state = ParkedState.at(lanes.start_ah / lanes.full_ah, lanes)
        self.changing = changing_modes(lanes, self.loads, self.curves)
        self.balance = DrivingBalance.empty(len(lanes))
        self.capacity_ah = lanes.full_ah / (1.0 + self.curves.low_rate_gain)
        self.failed = np.zeros(len(lanes))

    @property
    def charge(self) -> FloatArray:
        """Share of full now."""
        return self.state.charge

    def run(self) -> Weeks:
        """Drive all weeks."""
        lanes, weeks = self.lanes, self.pattern.weeks
        events = self._events()
        charge = [self.charge]
        lowest, margins, temperature_c = [], [], []
        balance = [self.balance.copy()]
        parked = charge[0]
        now_h = 0.0
        for week in range(weeks):
            low = np.full(len(lanes), np.inf)
            margin_low = np.full(len(lanes), np.inf)
            means_c: list[FloatArray] = []
            for start_h, trip in events:
                at_h = HOURS_PER_WEEK * week + start_h
                self._stand(now_h, at_h, means_c)
                share = self.charge
                low = np.minimum(low, share)
                starts = self.pattern.trips[trip].starts
                margin_low = np.minimum(margin_low, self._start(at_h, share, starts))
                self._key_off(starts - 1)
                now_h = at_h + self._trip(at_h, trip)
                parked = self.charge
                self._key_off(1)
            self._stand(now_h, HOURS_PER_WEEK * (week + 1), means_c)
            now_h = max(now_h, HOURS_PER_WEEK * (week + 1))
            share = self.charge
            charge.append(share)
            lowest.append(np.minimum(low, share))
            margins.append(margin_low)
            temperature_c.append(np.mean(means_c or self._days_c(week), axis=0))
            balance.append(self.balance.copy())
        if not events:
            parked = charge[-1]
        return Weeks(
            charge=np.array(charge),
            lowest_charge=np.array(lowest),
            lowest_margin=np.array(margins),
            mean_temperature_c=np.array(temperature_c),
            balance=tuple(balance),
            start_ah=lanes.start_ah,
            left_ah=self.charge * lanes.full_ah,
            parked_charge=parked,
            failed_starts=self.failed,
        )

    def _days_c(self, week: int) -> list[FloatArray]:
        """Return the mean temperature of each day of a week, for one driven without a stand."""
        days = HOURS_PER_WEEK * week + HOURS_PER_DAY * np.arange(7)
        return [self.weather.block(at, HOURS_PER_DAY).mean_c[self.lanes.weather] for at in days]

    def _events(self) -> list[tuple[float, int]]:
        """Return (hours since the run's own week began, number of the trip), in order."""
        site = self.pattern.site
        first = HOURS_PER_DAY * site.parked_from.weekday() + site.start_hour
        events = [
            ((trip.start_h - first) % HOURS_PER_WEEK, number)
            for number, trip in enumerate(self.pattern.trips)
        ]
        return sorted(events)

    # --- between trips --------------------------------------------------------------------

    def _stand(self, from_h: float, until_h: float, means_c: list[FloatArray]) -> None:
        """Carry every lane over a stand, day by day, exactly."""
        while until_h - from_h > 1e-9:
            day_end = HOURS_PER_DAY * (math.floor(from_h / HOURS_PER_DAY + 1e-9) + 1)
            hours = min(until_h, day_end) - from_h
            block = self.weather.block(from_h, hours)
            mean_c, scale = (part[self.lanes.weather] for part in (block.mean_c, block.loss_scale))
            means_c.append(mean_c)
            self._stand_block(from_h, hours, mean_c, self.lanes.loss_per_h * scale)
            from_h += hours

    def _stand_block(
        self, from_h: float, hours: float | FloatArray, mean_c: FloatArray, loss_per_h: FloatArray
    ) -> None:
        self.state, flow, _ = parked_step(
            self.state,
            lanes=self.lanes,
            loads=self.loads,
            curves=self.curves,
            changing=self.changing,
            from_h=from_h,
            hours=hours,
            mean_c=mean_c,
            loss_per_h=loss_per_h,
        )
        brought_ah = self.loads.brought_a(from_h, mean_c) * flow.hours
        balance = self.balance
        balance.vehicle += flow.vehicle_ah
        balance.other += flow.other_ah + brought_ah
        balance.charged_parked += brought_ah
        balance.unit += flow.unit_ah
        balance.lost += flow.lost_ah
        balance.refused += flow.refused_ah

    # --- trips ----------------------------------------------------------------------------

    def _now(self, at_h: float) -> tuple[FloatArray, FloatArray]:
        """Return temperature and self-discharge rate at a time."""
        rest = HOURS_PER_DAY * (math.floor(at_h / HOURS_PER_DAY + 1e-9) + 1) - at_h
        block = self.weather.block(at_h, min(rest, 0.25))
        place = self.lanes.weather
        held = np.clip(block.mean_c[place], COLDEST_C, WARMEST_C)  # chance excursions, as a stand's
        return held, self.lanes.loss_per_h * block.loss_scale[place]

    def _move(self, charge: FloatArray) -> None:
        """Go on with another charge."""
        self.state = replace(self.state, charge=charge)

    def _take(self, wanted_ah: FloatArray) -> FloatArray:
        """Draw a charge, or what is left of it. [Ah]."""
        floor = np.minimum(self.curves.lowest_charge, self.charge)
        left = self.charge - wanted_ah / self.lanes.full_ah
        drawn_ah = np.where(left > floor, wanted_ah, (self.charge - floor) * self.lanes.full_ah)
        self._move(np.maximum(left, floor))
        return np.asarray(drawn_ah)

    def _start(self, at_h: float, share: FloatArray, starts: int) -> FloatArray:
        """Crank, and return the start margin met; a failed start is helped from outside."""
        temperature_c, _ = self._now(at_h)
        lanes = self.lanes
        usable_charge = self.curves.usable_charge(
            share,
            drawn_a=lanes.quiescent_a + lanes.other_a,
            full_ah=lanes.full_ah,
            low_charge_shift=lanes.low_charge_shift,
        )
        margin = self.curves.margin(
            usable_charge, temperature_c, lanes.demand_ratio, lanes.oil_k, lanes.cold_fall
        )
        asked = self.demand_a > 0.0
        self.failed += starts * (asked & (margin < 1.0))
        factor = self.curves.turning_at(temperature_c, lanes.oil_k)
        wanted = start_charge_ah(self.demand_a, demand_factor=factor, crank_s=self.pattern.crank_s)
        self.balance.cranked += self._take(np.where(margin < 1.0, 0.0, starts * wanted))
        return np.where(asked, margin, np.inf)

    def _trip(self, at_h: float, number: int) -> float:
        """Drive; return how long the longest lane's trip lasted. [h]."""
        pattern, trip = self.pattern, self.pattern.trips[number]
        hours = _hours(trip, self.draws)
        longest = float(hours.max())
        steps = max(2, math.ceil(longest / self.longest_step_h))
        parked_c, loss_per_h = self._now(at_h)
        temperature_c = np.minimum(parked_c + pattern.warm_up_k, WARMEST_C)
        heated = np.where(parked_c < HEATED_BELOW_C, pattern.heated_screens_a, 0.0)
        load_a = trip.load_a + heated
        regulated_v = regulated_voltage_v(temperature_c) + pattern.regulated_20c_v - MIDDLE_V
        way = _OnTheWay(
            idle=trip.idle_share,
            spare_idle_a=pattern.alternator_a * pattern.share_at_idle - load_a,
            spare_moving_a=pattern.alternator_a * DRIVING_SHARE - load_a,
            volts=regulated_v + self.draws.regulated_shift_v,
            temperature_c=temperature_c,
            cold=cold_factor(temperature_c),
        )
        for step in range(steps):
            before = self.charge
            self._trip_step(hours / steps, way)
            moved = np.abs(self.charge - before)
            if (moved * steps <= _SETTLED_PER_H * hours).all():
                self._trip_step(hours * ((steps - 1 - step) / steps), way)
                break  # full, or as low as the loads can take it: the rest of the trip is alike
        early_h = longest - hours  # lanes back before the last one stand meanwhile
        if early_h.any():
            self._stand_block(at_h, early_h, parked_c, loss_per_h)
        return longest

    def _net_a(
        self, charge: FloatArray, way: _OnTheWay
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return (current in, share of it kept, current out), means over idle and under way."""
        accepted_a = self.draws.acceptance_factor * accepted_current_a(
            charge,
            cold=way.cold,
            voltage_v=way.volts,
            resting_v=self.curves.resting_at_v(charge, way.temperature_c),
            capacity_ah=self.capacity_ah,
            kind=self.kind,
        )
        accepted_a = np.where(way.temperature_c < self.loads.lowest_charging_c, 0.0, accepted_a)
        if self.pattern.smart:
            accepted_a = np.where(charge >= self.pattern.smart_charge, 0.0, accepted_a)
        idle, moving = way.idle, 1.0 - way.idle
        into_a = idle * np.minimum(np.maximum(way.spare_idle_a, 0.0), accepted_a)
        into_a += moving * np.minimum(np.maximum(way.spare_moving_a, 0.0), accepted_a)
        out_a = idle * np.maximum(-way.spare_idle_a, 0.0)
        out_a += moving * np.maximum(-way.spare_moving_a, 0.0)
        return into_a, charge_efficiency(charge, kind=self.kind), out_a

    def _trip_step(self, hours: FloatArray, way: _OnTheWay) -> None:
        """One step by Heun's rule; what is entered is what moves the charge."""
        charge, full_ah = self.charge, self.lanes.full_ah
        into1, kept1, out1 = self._net_a(charge, way)
        ahead = charge + (into1 * kept1 - out1) * hours / full_ah
        into2, kept2, out2 = self._net_a(np.minimum(np.maximum(ahead, 0.0), 1.0), way)
        charged_ah = 0.5 * (into1 + into2) * hours
        stored_ah = 0.5 * (into1 * kept1 + into2 * kept2) * hours
        room_ah = np.maximum(1.0 - charge, 0.0) * full_ah
        shrink = np.where(
            stored_ah > room_ah, room_ah / np.where(stored_ah > 0.0, stored_ah, 1.0), 1.0
        )
        charged_ah, stored_ah = charged_ah * shrink, stored_ah * shrink
        self._move(np.minimum(charge + stored_ah / full_ah, 1.0))
        self.balance.charged += charged_ah
        self.balance.efficiency_loss += charged_ah - stored_ah
        self.balance.drawn_driving += self._take(0.5 * (out1 + out2) * hours)

    def _key_off(self, times: int) -> None:
        """Draw the vehicle's key-off sequence and what the unit does once after a trip."""
        once_ah = self.lanes.vehicle_once_ah + self.lanes.unit_once_ah
        self.balance.key_off += self._take(times * once_ah)
