"""Lanes: one parked vehicle under one draw of everything uncertain."""

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.capacity import deficit_share
from drainsim.physics.load import supply_current_a
from drainsim.physics.self_discharge import REFERENCE_C, loss_rate_per_h
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.draws import (
    INPUTS,
    kept_truncated,
    normal_probability,
    standard_draws,
    truncated_normal,
    weather_draws,
)
from drainsim.simulation.weather import WeatherLanes
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.batteries.starting_charge import READING_SD_V, charge_read
from drainsim.vehicle.case import Case

# Ends of what is drawn: a charge is at most full; a battery in use keeps some of its figures and
# none exceeds its label by much more than a fifth. Common practice, no source.
_CHARGE: Final = (0.0, 1.0)
_CAPACITY_HEALTH: Final = (0.1, 1.2)
_CRANKING_HEALTH: Final = (0.05, 1.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lanes:
    """Arrays of shape (lanes,).

    `demand_ratio` is warm cranking demand ÷ 30 s cold cranking current at its age; `unit_factor`
    multiplies the unit's mean currents; `weather` picks each lane's weather lane.
    """

    start_ah: FloatArray
    full_ah: FloatArray
    demand_ratio: FloatArray
    quiescent_a: FloatArray
    other_a: FloatArray
    unit_factor: FloatArray
    vehicle_once_ah: FloatArray
    unit_once_ah: FloatArray
    loss_per_h: FloatArray
    low_charge_shift: FloatArray
    resting_offset_v: FloatArray  # how far above the profile's curve it rests
    oil_k: FloatArray  # by how much the oil is thicker than its grade's middle
    cold_fall: FloatArray  # how fast cranking power falls below -18 °C, 1 as in the profile
    catch_up_per_h: FloatArray  # how fast charge behind follows, `k_per_h` of the two wells
    weather: IndexArray
    start_day: IndexArray  # day of the run on which the lane is parked

    def usable_charge(
        self,
        curves: BatteryCurves,
        charge: FloatArray,
        *,
        drawn_a: FloatArray,
        at_h: FloatArray | IndexArray | float,
        lane: IndexArray | slice = slice(None),
    ) -> FloatArray:
        """Return the charge a crank can reach at hours of the run, behind since parking.

        Parameters
        ----------
        curves : BatteryCurves
        charge, drawn_a : shape (..., cells)
            Share of full, and current drawn while standing. [-, A]
        at_h : shape (..., cells)
            Since the run began; before a lane is parked as at its parking. [h]
        lane : optional
            Numbers of the lanes of the cells; all of them if left out.
        """
        stood_h = np.maximum(at_h - HOURS_PER_DAY * self.start_day[lane], 0.0)
        return curves.usable_charge(
            charge,
            drawn_a=drawn_a,
            full_ah=self.full_ah[lane],
            low_charge_shift=self.low_charge_shift[lane],
            deficit=deficit_share(stood_h, self.catch_up_per_h[lane]),
        )

    def take(self, index: IndexArray | slice) -> "Lanes":
        """Return the lanes at an index."""
        return Lanes(**{name: getattr(self, name)[index] for name in self.__slots__})

    def __len__(self) -> int:
        return len(self.start_ah)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """The units' modes and supply stages, shape (modes, lanes) and (lanes,); 1 lane serves all.

    A mode begins below `enter_below_v` and ends above `leave_above_v` (nan for the first). A
    unit with fewer modes than the others repeats its last with voltages never reached.
    `charging_a`, shape (days, lanes), is what charges a parked battery on each day after
    parking, of no days at all without a charger; below `lowest_charging_c` a battery takes none
    of it.
    """

    current_a: FloatArray
    enter_below_v: FloatArray
    leave_above_v: FloatArray
    switching: BoolArray
    rated_at_v: FloatArray
    off_mode: IndexArray  # number of the switched-off mode, -1 for a unit without
    lowest_charging_c: FloatArray
    charging_a: FloatArray

    def take(self, index: IndexArray | slice) -> "Loads":
        """Return the loads of the lanes at an index."""
        if len(self.switching) == 1:
            return self
        return Loads(**{name: getattr(self, name)[..., index] for name in self.__slots__})

    def unit_a(self, mode: IndexArray, battery_v: FloatArray) -> FloatArray:
        """Return what each lane's unit draws in its mode at a battery voltage. [A]."""
        rated_a = self.current_a[mode, self._columns(len(mode))]
        return supply_current_a(
            rated_a, battery_v, rated_at_v=self.rated_at_v, switching=self.switching
        )

    def enters_v(self, mode: IndexArray, lane: IndexArray | None = None) -> FloatArray:
        """Return the voltage below which each lane's unit goes on to the next mode; nan for none.

        Parameters
        ----------
        mode : shape (lanes,)
        lane : shape (lanes,), optional
            Numbers of the lanes asked for; all of them if left out.
        """
        last = len(self.enter_below_v) - 1
        entered = self.enter_below_v[np.minimum(mode + 1, last), self._columns(len(mode), lane)]
        return np.where(mode < last, entered, np.nan)

    def leaves_v(self, mode: IndexArray, lane: IndexArray | None = None) -> FloatArray:
        """Return the voltage above which it goes back; parameters as `enters_v`."""
        return np.asarray(self.leave_above_v[mode, self._columns(len(mode), lane)])

    def _columns(self, count: int, lane: IndexArray | None = None) -> IndexArray | int:
        """Return where the values of lanes stand."""
        if self.current_a.shape[1] == 1:
            return 0
        return np.arange(count) if lane is None else lane

    @property
    def sunlit(self) -> bool:
        """Say whether any lane has a panel, a maintainer or top-ups."""
        return len(self.charging_a) > 0

    def net_other_a(self, other_a: FloatArray, from_h: float, mean_c: FloatArray) -> FloatArray:
        """Return the other loads of a block less what a charger brings on its day.

        Parameters
        ----------
        other_a : shape (lanes,)
            Loads besides vehicle and unit, negative for what charges. [A]
        from_h : float
            Beginning of the block; chargers bring what they do on its day. [h]
        mean_c : shape (lanes,)
            Mean battery temperature of the block: too cold to be charged, it only gives. [°C]
        """
        cold = mean_c < self.lowest_charging_c
        net_a = np.where(cold, np.maximum(other_a, 0.0), other_a) if cold.any() else other_a
        return net_a - self.brought_a(from_h, mean_c) if self.sunlit else net_a

    def brought_a(self, from_h: float, mean_c: FloatArray) -> FloatArray:
        """Return what the chargers of a parked battery bring on a block's day."""
        if not self.sunlit:
            return np.zeros(len(mean_c))
        cold = mean_c < self.lowest_charging_c
        return np.where(cold, 0.0, self.charging_a[int(from_h // HOURS_PER_DAY)])


def loads_of(case: Case) -> Loads:
    """Return the loads of a case, to serve all its lanes."""
    unit = case.unit
    return Loads(
        current_a=np.array([[mode.current_a] for mode in unit.modes]),
        enter_below_v=_voltages(mode.enter_below_v for mode in unit.modes),
        leave_above_v=_voltages(mode.leave_above_v for mode in unit.modes),
        switching=np.array([unit.switching]),
        rated_at_v=np.array([unit.rated_at_v]),
        off_mode=np.array([len(unit.modes) - 1 if unit.switches_off else -1]),
        lowest_charging_c=np.array(
            [case.battery.profile.number_or("lowest_charging_temperature_c", -math.inf)]
        ),
        charging_a=np.zeros((0, 1)) if case.charging_a is None else case.charging_a[:, None],
    )


def _voltages(values: Iterable[float | None]) -> FloatArray:
    return np.array([[np.nan if value is None else value] for value in values])


def nominal_draws(lanes: int) -> dict[str, FloatArray]:
    """Return draws that are all zero; with no input varied they give the nominal case."""
    return {name: np.zeros(lanes) for name in INPUTS}


def draws_of(case: Case) -> dict[str, FloatArray]:
    """Return a case's draws: those its readings left, or those of its seed."""
    return standard_draws(case.draws, case.seed) if case.known is None else dict(case.known)


def lanes_from_draws(
    case: Case, z: dict[str, FloatArray], *, varied: dict[str, FloatArray] | None = None
) -> Lanes:
    """Return lanes for standard normal draws of each input.

    Parameters
    ----------
    case : Case
    z : dict of arrays, shape (lanes,)
        One per name in `draws.INPUTS`. Draws that agree with readings also hold the charge
        itself (`charge`, share of full) and a drain beyond the expected one (`extra_a`, A).
    varied : dict of arrays, shape (lanes,), optional
        Factor on the spread of each input, lane by lane: 0 holds it at its nominal value.
        Inputs not named are held; None varies all.
    """
    spreads, battery, vehicle = case.spreads, case.battery, case.vehicle
    lanes = len(z["state_of_charge"])

    def spread(name: str, size: float) -> FloatArray:
        factor = np.ones(lanes) if varied is None else varied.get(name, np.zeros(lanes))
        return size * factor

    def share(name: str, mean: float, sd: float, ends: tuple[float, float]) -> FloatArray:
        if varied is None:
            return kept_truncated(z[name].tobytes(), mean, sd, *ends)
        return truncated_normal(z[name], mean=mean, sd=spread(name, sd), low=ends[0], high=ends[1])

    def factor(name: str, sigma: float) -> FloatArray:
        return np.exp(spread(name, sigma) * z[name])

    start = battery.start
    offset_v = (
        start.offset_v
        + spread("open_circuit_offset", spreads.open_circuit_offset_sd_v) * z["open_circuit_offset"]
    )
    charge = share("state_of_charge", start.charge, spreads.state_of_charge_sd, _CHARGE)
    if start.left:
        rank = normal_probability(spread("state_of_charge", 1.0) * z["state_of_charge"])
        charge = np.quantile(start.left, rank)
    if start.reading is not None:
        misread = spread("state_of_charge", spreads.state_of_charge_sd / start.charge_sd)
        charge = charge_read(
            battery.profile,
            start.reading,
            offset_v=offset_v,
            misread_v=misread * READING_SD_V * z["state_of_charge"],
        )
    charge = z.get("charge", charge)
    capacity_health = share(
        "capacity_health", battery.capacity_health, spreads.capacity_health_sd, _CAPACITY_HEALTH
    )
    cranking_health = share(
        "cranking_health", battery.cranking_health, spreads.cranking_health_sd, _CRANKING_HEALTH
    )
    full_ah = battery.kinetic.low_rate_capacity_ah * capacity_health
    demand_a = vehicle.demand_a * factor("demand", spreads.demand_sigma)
    quiescent_a = vehicle.quiescent_a * factor("quiescent_a", spreads.quiescent_sigma)
    loss_per_h = loss_rate_per_h(
        REFERENCE_C,
        per_day_at_25c=battery.profile.number("self_discharge_per_day"),
        doubling_k=battery.profile.number("self_discharge_doubling_k"),
    )
    return Lanes(
        start_ah=charge * full_ah,
        full_ah=full_ah,
        demand_ratio=demand_a / (battery.cold_cranking_a * cranking_health),
        quiescent_a=quiescent_a + vehicle.wake_up_a,
        other_a=vehicle.other_a + z.get("extra_a", np.zeros(lanes)),
        unit_factor=factor("unit_a", spreads.unit_sigma),
        vehicle_once_ah=np.full(lanes, vehicle.key_off_ah),
        unit_once_ah=np.full(lanes, case.unit.once_ah),
        loss_per_h=loss_per_h * factor("self_discharge", spreads.self_discharge_sigma),
        low_charge_shift=spread("low_charge", spreads.low_charge_sd) * z["low_charge"],
        resting_offset_v=offset_v,
        oil_k=spread("oil", spreads.oil_sd_k) * z["oil"],
        cold_fall=factor("cold_power", spreads.cold_power_sigma),
        catch_up_per_h=np.full(lanes, battery.kinetic.k_per_h),
        weather=np.arange(lanes),
        start_day=np.zeros(lanes, dtype=np.intp),
    )


def nominal_weather(case: Case, season_z: FloatArray) -> WeatherLanes:
    """Return the site's course with season offsets and no daily weather, one lane each."""
    quiet = np.zeros((case.horizon_days, len(season_z)))
    return _weather(case, case.spreads.season_sd_c * season_z, quiet, quiet[0])


def drawn_weather(case: Case) -> WeatherLanes:
    """Return the weathers of a case's place; `weather_of_draw` says which draw stands in which."""
    return _weather(case, *weathers_c(case, case.site.parked_from, case.horizon_days))


def weathers_c(
    case: Case, first_day: dt.date, days: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what a case's weathers depart from its place's course: season, daily, settled. [K]."""
    drawn = weather_draws(
        case.draws,
        first_day=first_day,
        days=days,
        correlation=case.spreads.weather_correlation,
        seed=case.weather_seed,
        place=case.site.place,
        lag_h=case.site.lag_h,
    )
    sd_c = case.spreads.weather_sd_c
    season_c = case.spreads.season_sd_c * drawn.season_z
    return season_c, sd_c * drawn.anomaly_z, sd_c * drawn.settled_z


def _weather(
    case: Case, season_c: FloatArray, anomaly_c: FloatArray, settled_c: FloatArray
) -> WeatherLanes:
    return WeatherLanes(
        course_c=case.site.battery_c,
        season_c=season_c,
        anomaly_c=anomaly_c,
        settled_c=settled_c,
        lag_h=case.site.lag_h,
        doubling_k=case.battery.profile.number("self_discharge_doubling_k"),
    )
