"""Which input the answer depends on most: the draws with its lowest and its highest values.

Swings are medians of the fifths of the answer's own draws: free, centred on the answer, honest
about correlated inputs; `chance_days` says what noise can do.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.language import Celsius, Message, message
from drainsim.physics.cranking import COLDEST_C, cold_fall_log
from drainsim.physics.tables import FloatArray, quantiles_of_sorted
from drainsim.simulation.draws import INPUTS, season_draws, weather_of_draw
from drainsim.simulation.lanes import Lanes, draws_of, lanes_from_draws
from drainsim.units import HOURS_PER_DAY, ma_from_a
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.batteries.starting_charge import READ_AT_C, resting_v
from drainsim.vehicle.case import Case
from drainsim.vehicle.vehicle import VEHICLE

_PART: Final = 0.2  # of the draws at either end of an input

# What each input is called, and what would pin it down.
LABELS: Final = {
    "state_of_charge": (
        message("charge at parking"),
        message("read the resting voltage before parking"),
    ),
    "capacity_health": (message("battery capacity left"), message("have the capacity tested")),
    "cranking_health": (
        message("cranking current left"),
        message("have the cold cranking current tested"),
    ),
    "quiescent_a": (
        message("vehicle quiescent current"),
        message("measure the key-off current after sleep"),
    ),
    "unit_a": (
        message("unit's draw"),
        message("measure the unit's mean current over whole reports"),
    ),
    "self_discharge": (
        message("self-discharge"),
        message("a rest with the battery disconnected would show it"),
    ),
    "demand": (message("cranking demand of the engine"), message("measure the starter current")),
    "low_charge": (
        message("charge at which cranking collapses"),
        message("no simple measurement; keep a reserve"),
    ),
    "season": (message("warmth of the season"), message("name the place's own temperatures")),
    "oil": (
        message("thickness of the engine oil"),
        message("read the oil's grade on the last service label"),
    ),
    "cold_power": (
        message("cranking power in deep cold"),
        message("no simple measurement; heat the battery before a start"),
    ),
    "open_circuit_offset": (
        message("resting voltage of this make"),
        message(
            "read the voltage a day after a full charge ({key})",
            key=str(BATTERY.full_resting_voltage_v),
        ),
    ),
}
# What is left to measure once the value in question was read.
_READ_BEFORE: Final = {
    "open_circuit_offset": (
        BATTERY.full_resting_voltage_v,
        message("have the capacity tested, from full to empty"),
    ),
    "state_of_charge": (
        BATTERY.resting_voltage_v,
        message("read the resting voltage again after another undisturbed day"),
    ),
    "oil": (VEHICLE.oil_grade, message("measure the starter current on a cold morning")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Median days to no-start where one input is low and where it is high.

    The values are the input's own medians there; None is past the horizon; `chance_days` is the
    standard error of `swing_days`: what no input at all would show.
    """

    name: str
    label: Message
    advice: Message
    low_value: Message
    high_value: Message
    days_at_low: float | None
    days_at_high: float | None
    swing_days: float
    chance_days: float

    @property
    def matters(self) -> bool:
        """Whether the input moves the answer more than chance would."""
        return self.swing_days > 2.0 * self.chance_days

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {
            "name": self.name,
            "label": self.label,
            "low_value": self.low_value,
            "high_value": self.high_value,
            "days_at_low": self.days_at_low,
            "days_at_high": self.days_at_high,
            "swing_days": self.swing_days,
            "chance_days": self.chance_days,
            "measure_next": self.advice,
        }


def varied_inputs(case: Case) -> list[str]:
    """Return the inputs that have any spread in this case."""
    spreads = case.spreads
    sizes = {
        "state_of_charge": spreads.state_of_charge_sd,
        "capacity_health": spreads.capacity_health_sd,
        "cranking_health": spreads.cranking_health_sd,
        "quiescent_a": spreads.quiescent_sigma,
        "unit_a": spreads.unit_sigma,
        "self_discharge": spreads.self_discharge_sigma,
        "demand": spreads.demand_sigma,
        "low_charge": spreads.low_charge_sd,
        "season": spreads.season_sd_c,
        "open_circuit_offset": spreads.open_circuit_offset_sd_v if _voltage_counts(case) else 0.0,
        "oil": spreads.oil_sd_k if case.vehicle.turns_engine else 0.0,
        "cold_power": spreads.cold_power_sigma,
    }
    return [name for name in INPUTS if sizes[name] > 0.0]


def _voltage_counts(case: Case) -> bool:
    """Say whether a charge is read from a voltage, or a unit's threshold can be met."""
    empty_v = resting_v(case.battery.profile, 0.0, READ_AT_C)
    thresholds = [mode.enter_below_v or 0.0 for mode in case.unit.modes]
    return case.battery.start.reading is not None or max(thresholds) > empty_v


def swings(case: Case, no_start_h: FloatArray) -> tuple[Swing, ...]:
    """Return the swings, largest first, from the hours at which each draw failed.

    Parameters
    ----------
    case : Case
    no_start_h : array, shape (draws,)
        Of `answers.park.run_draws`; inf where a draw holds out. [h]

    Notes
    -----
    One end of a bar is the median of the fifth of the draws in which the input is lowest, the
    other that of the fifth in which it is highest: the answer's own draws, about its own median,
    with everything else as uncertain as it is. The middles of the fifths are the input's 10 % and
    90 % values. What moves together (the two healths of a battery) shows its common part in both
    bars, as a measurement of either would.
    """
    z = draws_of(case)
    seasons = season_draws(case.draws, seed=case.weather_seed, place=case.site.place)
    z["season"] = seasons[weather_of_draw(case.draws)]
    fifth = max(1, round(_PART * case.draws))
    found = []
    for name in varied_inputs(case):
        rank = np.argsort(z[name], kind="stable")
        ends = (rank[:fifth], rank[-fifth:])
        middles = np.array([end[len(end) // 2] for end in ends])
        z_there = {key: values[middles] for key, values in z.items()}
        lanes = lanes_from_draws(case, z_there, varied={name: np.ones(len(middles))})
        low, high = (_Middle.of(no_start_h[end] / HOURS_PER_DAY, case.horizon_days) for end in ends)
        values = [_shown(case, name, lanes, z_there["season"], end) for end in range(len(ends))]
        label, advice = LABELS[name]
        reading, instead = _READ_BEFORE.get(name, ("", advice))
        if any(used.name == reading for used in case.assumptions):
            advice = instead
        found.append(
            Swing(
                name=name,
                label=label,
                advice=advice,
                low_value=values[0],
                high_value=values[1],
                days_at_low=low.days,
                days_at_high=high.days,
                swing_days=abs(high.bounded - low.bounded),
                chance_days=float(np.hypot(low.error, high.error)),
            )
        )
    return tuple(sorted(found, key=lambda swing: -swing.swing_days))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Middle:
    """The middle of some draws' days: None past the horizon, held to it, with its error."""

    days: float | None
    bounded: float
    error: float

    @classmethod
    def of(cls, days: FloatArray, horizon_days: int) -> "_Middle":
        """Return the middle draw; its standard error are √n/2 ranks to either side."""
        ordered = np.sort(days)
        middle = float(ordered[math.ceil(len(days) / 2) - 1])
        ranks = math.sqrt(len(days)) / 2.0
        shares = np.clip(0.5 + np.array([-1, 1]) * ranks / len(days), 0, 1)
        below, above = quantiles_of_sorted(np.minimum(ordered, float(horizon_days)), shares)
        return cls(
            days=middle if np.isfinite(middle) else None,
            bounded=min(middle, float(horizon_days)),
            error=float(above - below) / 2.0,
        )


def _shown(case: Case, name: str, lanes: Lanes, season_z: FloatArray, lane: int) -> Message:
    """Return an input's value in a lane, with its unit."""
    if name == "season":
        return message("{kelvin:+.1f} K", kelvin=case.spreads.season_sd_c * season_z[lane])
    return _IN_WORDS[name](case, lanes, lane)


def _oil_in_words(case: Case, lanes: Lanes, lane: int) -> Message:
    shift_k = lanes.oil_k[lane]
    colder = shift_k >= 0
    return message(
        "{oil} as if {kelvin:.0f} K colder" if colder else "{oil} as if {kelvin:.0f} K warmer",
        oil=str(case.vehicle.oil),
        kelvin=abs(shift_k),
    )


def _warm_demand_a(case: Case, lanes: Lanes, lane: int) -> float:
    rated_a = case.battery.cold_cranking_a * case.battery.cranking_health
    return float(lanes.demand_ratio[lane] * rated_a)


def _coldest_share(case: Case, lanes: Lanes, lane: int) -> float:
    curve = case.battery.profile.curve("cranking_share_by_temperature")
    return float(np.exp(lanes.cold_fall[lane] * float(cold_fall_log(COLDEST_C, curve=curve))))


_IN_WORDS: Final[dict[str, Callable[[Case, Lanes, int], Message]]] = {
    "state_of_charge": lambda _, lanes, n: message(
        "{percent:.0f} %", percent=100 * lanes.start_ah[n] / lanes.full_ah[n]
    ),
    "capacity_health": lambda _, lanes, n: message("{ah:.0f} Ah", ah=lanes.full_ah[n]),
    "cranking_health": lambda case, lanes, n: message(
        "{amperes:.0f} A", amperes=case.vehicle.demand_a / lanes.demand_ratio[n]
    ),
    "quiescent_a": lambda _, lanes, n: message("{ma:.0f} mA", ma=ma_from_a(lanes.quiescent_a[n])),
    "unit_a": lambda case, lanes, n: message(
        "{ma:.1f} mA", ma=ma_from_a(case.unit.normal_current_a * lanes.unit_factor[n])
    ),
    "self_discharge": lambda _, lanes, n: message(
        "{percent:.2f} %/day at {warm}",
        percent=100 * -np.expm1(-24.0 * lanes.loss_per_h[n]),
        warm=Celsius(25.0),
    ),
    "demand": lambda case, lanes, n: message(
        "{amperes:.0f} A warm", amperes=_warm_demand_a(case, lanes, n)
    ),
    "low_charge": lambda _, lanes, n: message(
        "{percent:+.0f} % of charge", percent=100 * lanes.low_charge_shift[n]
    ),
    "open_circuit_offset": lambda _, lanes, n: message(
        "{volts:+.2f} V beside the usual curve", volts=lanes.resting_offset_v[n]
    ),
    "oil": _oil_in_words,
    "cold_power": lambda case, lanes, n: message(
        "{percent:.0f} % of {cold} left at {coldest}",
        percent=100 * _coldest_share(case, lanes, n),
        cold=Celsius(-18.0),
        coldest=Celsius(COLDEST_C),
    ),
}
