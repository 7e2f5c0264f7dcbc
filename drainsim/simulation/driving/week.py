"""Weeks of driving: charge of every lane from trip to trip, a charge balance that closes.

Between trips the charge is integrated exactly, as in a stand. A trip is a start, then steps of
a few minutes in which the alternator gives what the loads leave over and the battery takes what
voltage over charging resistance allows.

Weeks of driving run before the stand with the same lanes, weather and draws;
`answers.driving.before_parking` puts the charge they leave into the case. A failed start is
counted and helped from outside, so that the course goes on.
"""

import itertools
from dataclasses import dataclass, fields, replace
from typing import Final, TypeAlias

import numpy as np

from drainsim.physics.acceptance import Acceptance
from drainsim.physics.self_discharge import mean_factor
from drainsim.physics.tables import FloatArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.driving.timetable import WeekTimes, timetable
from drainsim.simulation.driving.trip_groups import grouped
from drainsim.simulation.driving.trip_groups import longest_step_h as step_for
from drainsim.simulation.driving.trips import DrivingDraws as DrivingDraws
from drainsim.simulation.driving.trips import Trips, Ways, take
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.standing.parked_step import ParkedState, changing_modes, parked_step
from drainsim.simulation.weather import WeatherLanes
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.pattern import Pattern
from drainsim.vehicle.trip import HOURS_PER_WEEK

_STEP_H: Final = 0.12  # longest step of a trip; the taper's time constant is about 0.8 h
# Of standing: beginning [h], hours, mean temperature [°C] and self-discharge rate [1/h] per lane.
_Stretch: TypeAlias = tuple[float, float, FloatArray, FloatArray]

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

    def net_ah(self) -> FloatArray:
        """Return what came in less what went out, which is the change of charge. [Ah]."""
        signed = ((1.0 if f.name in BROUGHT else -1.0, f.name) for f in fields(self))
        return np.asarray(sum(sign * getattr(self, name) for sign, name in signed))


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
    first_week: int = 0,
    alike: int | None = None,
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
    first_week : int
        Weeks of the pattern left out at its beginning.
    alike : int, optional
        So many lanes in turn have their trips cut short once nothing moves in any of them; all
        of them if left out.
    """
    pattern = replace(pattern, trips=grouped(pattern.trips, pattern.weeks))
    if longest_step_h is None:
        week_h = sum(float(draws.hours(trip).max()) for trip in pattern.trips)
        longest_step_h = step_for(pattern.weeks * week_h, usual_h=_STEP_H)
    trips = Trips(
        lanes=lanes,
        curves=curves,
        loads=loads,
        pattern=pattern,
        draws=draws,
        demand_a=demand_a,
        kind=kind,
        longest_step_h=longest_step_h,
        alike=alike or len(lanes),
    )
    run = _Weeks(
        trips=trips, lanes=lanes, curves=curves, loads=loads, weather=weather, pattern=pattern
    )
    return run.run(first_week)


@dataclass(kw_only=True)
class _Weeks:
    """A run in progress: charge and what has flowed are shares of full."""

    trips: Trips
    lanes: Lanes
    curves: BatteryCurves
    loads: Loads
    weather: WeatherLanes
    pattern: Pattern

    def __post_init__(self) -> None:
        """Begin with the charge of the first day."""
        lanes, loads, count = self.lanes, self.loads, len(self.lanes)
        self.charge = lanes.start_ah / lanes.full_ah
        self.changing = changing_modes(lanes, loads, self.curves)
        self.mode = np.zeros(count, dtype=np.intp)
        self.flown = {field.name: np.zeros(count) for field in fields(DrivingBalance)}
        self.stood_h = np.zeros(count)  # in which nothing but steady loads flowed
        self.failed = np.zeros(count)
        self.once = (lanes.vehicle_once_ah + lanes.unit_once_ah) / lanes.full_ah
        unit_a = np.broadcast_to(loads.current_a[0], count) * lanes.unit_factor
        self.linear_a = np.where(loads.switching, 0.0, unit_a)
        power_w = np.where(loads.switching, unit_a * loads.rated_at_v, 0.0)
        self.power = power_w / lanes.full_ah if loads.switching.any() else None
        self.steady = (lanes.quiescent_a + lanes.other_a + self.linear_a) / lanes.full_ah
        cold_matters = np.isfinite(loads.lowest_charging_c).any() and (lanes.other_a < 0.0).any()
        self.plain = not self.changing and not cold_matters

    def run(self, first_week: int) -> Weeks:
        """Drive all weeks from one on."""
        pattern, lanes = self.pattern, self.lanes
        charge = [self.charge]
        lowest, margins, temperature_c = [], [], []
        balance = [self._balance()]
        parked = self.charge
        weeks = timetable(self._events(), weeks=pattern.weeks, longest_h=self.trips.longest_h)
        for number, times in itertools.islice(enumerate(weeks), first_week, None):
            low, margin_low = np.full((2, len(lanes)), np.inf)
            mean_c, stands = self._stands(times)
            ways = self._ways(times)
            for is_trip, place in times.order:
                if not is_trip:
                    self._stand(*stands[place])
                    continue
                np.minimum(low, self.charge, out=low)
                trip, way = int(times.trip[place]), ways[place]
                np.minimum(margin_low, self._start(way, self.trips.starts[trip]), out=margin_low)
                self._trip(float(times.trip_h[place]), trip, way)
                parked = self.charge
                self._take("key_off", self.once)
            charge.append(self.charge)
            lowest.append(np.minimum(low, self.charge))
            margins.append(margin_low)
            temperature_c.append(mean_c if len(stands) else self._days_c(number))
            balance.append(self._balance())
        if not pattern.trips:
            parked = self.charge
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

    def _days_c(self, week: int) -> FloatArray:
        """Return the mean temperature of the days of a week, for one driven without a stand."""
        days: FloatArray = HOURS_PER_WEEK * week + HOURS_PER_DAY * np.arange(7.0)
        mean_c, _ = self.weather.means(days, np.full(7, HOURS_PER_DAY))
        return np.asarray(mean_c.mean(axis=0)[self.lanes.weather])

    def _events(self) -> list[tuple[float, int]]:
        """Return (hours since the run's own week began, number of the trip), in order."""
        site = self.pattern.site
        first = HOURS_PER_DAY * site.parked_from.weekday() + site.start_hour
        events = [
            ((trip.start_h - first) % HOURS_PER_WEEK, number)
            for number, trip in enumerate(self.pattern.trips)
        ]
        return sorted(events)

    def _balance(self) -> DrivingBalance:
        """Return the balance of now. [Ah]."""
        lanes = self.lanes
        found = {name: shares * lanes.full_ah for name, shares in self.flown.items()}
        found["vehicle"] += lanes.quiescent_a * self.stood_h
        found["other"] += lanes.other_a * self.stood_h
        found["unit"] += self.linear_a * self.stood_h
        return DrivingBalance(**found)

    def _take(self, name: str, wanted: FloatArray) -> None:
        """Draw a charge, or what is left of it."""
        charge = self.charge.copy()
        self.flown[name] += take(charge, wanted, self.curves.lowest_charge)
        self.charge = charge

    # --- between trips --------------------------------------------------------------------

    def _stands(self, times: WeekTimes) -> tuple[FloatArray, list[_Stretch]]:
        """Return a week's mean temperature and its stretches of standing."""
        place = self.lanes.weather
        mean_c, scale = (values[:, place] for values in times.stand_weather(self.weather))
        return mean_c.mean(axis=0) if len(mean_c) else mean_c, [
            (float(begin), hours, mean, loss * self.lanes.loss_per_h)
            for (begin, hours), mean, loss in zip(times.stand_h, mean_c, scale, strict=True)
        ]

    def _stand(
        self, from_h: float, hours: float | FloatArray, mean_c: FloatArray, loss_per_h: FloatArray
    ) -> None:
        """Carry every lane over a stretch of standing within a day, exactly."""
        decay = loss_per_h * hours
        kept = np.empty_like(decay)
        mean_factor(decay, most=float(decay.max(initial=0.0)), out=kept)
        load = self.steady * hours
        unit = brought = None
        if self.power is not None:
            volts = self.curves.resting_at_v(self.charge, mean_c) + self.lanes.resting_offset_v
            unit = self.power / volts * hours
            load += unit
        if self.loads.sunlit:
            brought = self.loads.brought_a(from_h, mean_c) * hours / self.lanes.full_ah
            load -= brought
        after = self.charge - (decay * self.charge + load) * kept
        if not self.plain or float(after.min(initial=1.0)) < self.curves.lowest_charge:
            self._stand_by_modes(from_h, hours, mean_c, loss_per_h)
            return
        flown = self.flown
        flown["lost"] += self.charge - after - load
        self.stood_h += hours
        if unit is not None:
            flown["unit"] += unit
        if brought is not None:
            flown["charged_parked"] += brought
        if float(after.max(initial=0.0)) > 1.0:
            flown["refused"] += np.maximum(after - 1.0, 0.0)
            np.minimum(after, 1.0, out=after)
        self.charge = after

    def _stand_by_modes(
        self, from_h: float, hours: float | FloatArray, mean_c: FloatArray, loss_per_h: FloatArray
    ) -> None:
        """Carry lanes over a stretch in which units change mode or batteries end empty."""
        full_ah = self.lanes.full_ah
        state, flow, _ = parked_step(
            ParkedState(charge=self.charge, mode=self.mode, current_a=self.charge),
            lanes=self.lanes,
            loads=self.loads,
            curves=self.curves,
            changing=self.changing,
            from_h=from_h,
            hours=hours,
            mean_c=mean_c,
            loss_per_h=loss_per_h,
        )
        self.charge, self.mode = state.charge, state.mode
        brought = self.loads.brought_a(from_h, mean_c) * flow.hours / full_ah
        flown = self.flown
        flown["charged_parked"] += brought
        flown["vehicle"] += flow.vehicle_ah / full_ah
        flown["other"] += flow.other_ah / full_ah + brought
        flown["unit"] += flow.unit_ah / full_ah
        flown["lost"] += flow.lost_ah / full_ah
        flown["refused"] += flow.refused_ah / full_ah

    # --- trips ----------------------------------------------------------------------------

    def _ways(self, times: WeekTimes) -> list[tuple[Ways, FloatArray]]:
        """Return what holds in each trip of a week, and the self-discharge rate. [1/h]."""
        if not len(times.trip):
            return []
        place = self.lanes.weather
        mean_c, scale = (values[:, place] for values in times.trip_weather(self.weather))
        ways = self.trips.ways(times.trip, mean_c)
        return [
            (Ways(*row), loss * self.lanes.loss_per_h)
            for *row, loss in zip(*ways, scale, strict=True)
        ]

    def _start(self, way: tuple[Ways, FloatArray], starts: int) -> FloatArray:
        """Crank, and return the start margin met; a failed start is helped from outside."""
        margin = self.trips.margin(self.charge, way[0].strength)
        asked = self.trips.demand_a > 0.0
        failing = margin < 1.0
        cranked = way[0].cranked
        if failing.any():
            self.failed += starts * (asked & failing)
            cranked = np.where(failing, 0.0, cranked)
        self._take("cranked", cranked)
        if starts > 1:
            self._take("key_off", (starts - 1) * self.once)
        return np.where(asked, margin, np.inf)

    def _trip(self, at_h: float, number: int, way: tuple[Ways, FloatArray]) -> None:
        """Drive; lanes back before the last one stand meanwhile."""
        going, loss_per_h = way
        self.charge, charged, lost, drawn = self.trips.drive(self.charge, number, going)
        self.flown["charged"] += charged
        self.flown["efficiency_loss"] += lost
        self.flown["drawn_driving"] += drawn
        early_h = self.trips.longest_h[number] - self.trips.hours[number]
        if early_h.any():
            self._stand(at_h, early_h, going.parked_c, loss_per_h)
