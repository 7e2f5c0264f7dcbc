"""Truth: what an added unit reports of a battery, with every error such readings have."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from tests.readings_truth.battery import Array, margin, resting_v
from tests.readings_truth.truth import Stands

_REST_4H_V = 0.050  # scale of the surface charge left after 4 h; tails of t(5)
_GAIN = 0.0045  # of an uncalibrated unit: 0.5 % (open firmware threads)
_LOST_SHARE = 0.03  # readings that never arrive: common practice, no source
_AWAKE_SHARE = 0.06  # readings taken while a control unit happens to be awake


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """One vehicle's readings in the order they arrived; NaN where a column has nothing."""

    time: Array  # epoch s
    voltage_v: Array
    ignition: Array
    cranking_minimum_v: Array
    voltmeter_v: Array  # read by a person at the battery


def relaxation_v(rng: np.random.Generator, hours_since: Array, count: int, cold_c: Array) -> Array:
    """Return surface charge after a drive, falling as a power of time, shape (..., vehicles). [V].

    Not an exponential: what is left after 4 h is |t(5)| × 50 mV, and falls with an exponent of
    0.6 to 1.4; slower in the cold (measured 3.8 h at -22 °C, sheet of readings).
    """
    left = np.minimum(np.abs(_REST_4H_V * rng.standard_t(5, count)), 0.3)
    scale = rng.uniform(0.2, 1.0, count) * 2 ** ((15 - np.clip(cold_c, -20, 25)) / 20)
    power = rng.uniform(0.6, 1.4, count)
    at_4h = (1 + 4 / scale) ** power
    return np.minimum(left * at_4h, 1.2) * (1 + hours_since[..., None] / scale) ** -power


def _slow(rng: np.random.Generator, hours: int, count: int) -> Array:
    """Return an error that wanders over days, its steps heavy-tailed, 3 to 14 mV. [V]."""
    days = hours // 24 + 3
    correlated = np.exp(-1 / rng.uniform(4, 25, count))
    size = rng.uniform(0.003, 0.014, count)
    steps = rng.standard_t(5, (days + 40, count)) / np.sqrt(5 / 3)
    found = np.zeros((days + 40, count))
    for day in range(1, days + 40):
        found[day] = correlated * found[day - 1] + np.sqrt(1 - correlated**2) * steps[day]
    at = np.arange(hours) / 24
    low = at.astype(int)
    found = size * found[40:]
    return found[low] + (at - low)[:, None] * (found[low + 1] - found[low])


def read(
    s: Stands,
    seed: int | list[int],
    *,
    days: float,
    step_v: float,
    drives_days: int = 1,
    dips: bool = False,
    voltmeter_day: float | None = None,
    unit_seed: int | list[int] | None = None,
) -> list[Readings]:
    """Return what each vehicle's unit reported up to `days` after parking.

    Parameters
    ----------
    s : Stands
    seed : int or list of int
        The same seed gives the same errors whatever `days` and `step_v` are.
    days : float
        At most 36.
    step_v : float
        Steps the unit reports in. [V]
    drives_days : int
        Days of going to work and back before the stand.
    dips : bool
        Whether the unit keeps the lowest voltage of each start.
    voltmeter_day : float, optional
        When a person reads a voltmeter at the battery (error 0.15 % and 5 mV).
    unit_seed : int or list of int, optional
        Of the units, so that another stand can have the same ones; as `seed` by default.
    """
    unit = np.random.default_rng([3, *np.atleast_1d(seed if unit_seed is None else unit_seed)])
    rng = np.random.default_rng(seed)
    count, hours = s.count, 36 * 24
    resting = s.rests_v[:hours]
    gain = 1 + _GAIN * unit.standard_t(6, count)
    offset = 0.015 * unit.standard_normal(count)  # lead, divider, ground
    per_k = 0.0002 * unit.standard_normal(count)  # divider with temperature
    white = unit.uniform(0.003, 0.008, count)
    cut = unit.random(count) < 0.3  # some firmware cuts off, some rounds
    # A reading meant for the full hour comes up to some minutes off; every unit has its minute.
    minute = unit.uniform(0, 3500, count)
    meter = rng.standard_normal((2, count))
    since = np.arange(hours, dtype=float)
    surface = relaxation_v(rng, since, count, s.battery_c[0])
    clean = resting + surface + _slow(rng, hours, count) + per_k * (s.air_c[:hours] - 20)
    noise = white * rng.standard_t(5, (hours, count))
    awake = (rng.random((hours, count)) < _AWAKE_SHARE) * rng.exponential(0.025, (hours, count))
    late = rng.uniform(0, 60, (hours, count))
    heard = rng.random((hours, count)) > _LOST_SHARE
    drives = [_drives(s, rng, one, drives_days) for one in range(count)]
    epoch = s.begin.timestamp()
    told = []
    for one in range(count):

        def reported(volts: Array, one: int = one) -> Array:
            raw = (volts * gain[one] + offset[one]) / step_v
            return np.round((np.floor(raw) if cut[one] else np.round(raw)) * step_v, 4)

        parked = np.flatnonzero((since < days * 24 - minute[one] / 3600) & heard[:, one])
        after = epoch + since[parked] * 3600 + minute[one] + late[parked, one]
        volts = clean[parked, one] - awake[parked, one] + noise[parked, one]
        drive = drives[one]
        nothing = np.full(len(parked), np.nan)
        read_v = nothing.copy()
        if voltmeter_day is not None and len(parked):
            at = int(np.argmin(np.abs(since[parked] - 24 * voltmeter_day)))
            exact = clean[parked[at], one] * (1 + 0.0015 * meter[0, one])
            read_v[at] = round(exact + 0.005 * meter[1, one], 2)
        told.append(
            Readings(
                time=np.concatenate([epoch + drive["at_s"], after]),
                voltage_v=np.concatenate([reported(drive["volts"]), reported(volts)]),
                ignition=np.concatenate([drive["on"], 0 * after]),
                cranking_minimum_v=np.concatenate(
                    [reported(drive["dip"]) if dips else drive["dip"] * np.nan, nothing]
                ),
                voltmeter_v=np.concatenate([drive["dip"] * np.nan, read_v]),
            )
        )
    return told


def after_each_other(first: Readings, second: Readings) -> Readings:
    """Return the readings of two stands as one history."""
    return Readings(
        **{
            field.name: np.concatenate([getattr(first, field.name), getattr(second, field.name)])
            for field in fields(Readings)
        }
    )


def _drives(s: Stands, rng: np.random.Generator, one: int, days: int) -> dict[str, Any]:
    """Return readings before the stand: two drives a day, hours of rest between them.

    Charge stands about where the stand begins: what a night takes a drive brings back.
    """
    b = {key: value[one] for key, value in s.battery.items()}
    regulated = rng.uniform(13.9, 14.6)
    smart = rng.random() < 0.2
    blunt = rng.normal(0, 0.08)  # of a sampler that misses the lowest instant
    rows: list[tuple[float, float, float, float]] = []  # s from key off, V, on, dip
    ends = [0.0]
    for day in range(days):
        ends += [-(day * 24 + 9.2) * 3600.0, -((day + 1) * 24) * 3600.0]
    charge = float(s.charge[0, one])
    for at, end in enumerate(ends[:-1]):
        length = rng.uniform(20, 55) * 60
        begin = end - length
        cold = float(s.battery_c[min(int(12 + at * 9) % 48, 47), one]) - 3
        now = np.array(charge - 0.01 * rng.random())
        rest = float(resting_v(now, np.array(cold), b))
        over = max(float(margin(now, np.array(cold), b)), 1.02)
        dip = rest - (rest - 7.5) / over + blunt + 0.12 * rng.standard_normal()
        steps = np.arange(begin, end - 1, 120.0)
        volts = regulated - 0.012 * (cold - 10) + 0.08 * rng.standard_normal(len(steps))
        if smart:
            volts = np.where(rng.random(len(steps)) < 0.5, volts - rng.uniform(0.6, 1.6), volts)
        for k, moment in enumerate(steps):
            rows.append((moment, float(volts[k]), 1.0, dip if k == 0 else np.nan))
        # The rest before this drive, back to the end of the one before it.
        before = ends[at + 1] if at + 1 < len(ends) else None
        if before is not None and before < begin - 3600:
            gap = np.arange(3600.0, begin - before - 600, 3600.0)
            left = abs(0.09 * rng.standard_t(5)) * 4**0.8
            fall = left * (gap / 3600 + 0.5) ** -0.8
            level = rest - 0.004 * rng.standard_normal(len(gap)) + np.minimum(fall, 1.0)
            rows += [(before + g, float(v), 0.0, np.nan) for g, v in zip(gap, level, strict=True)]
    rows.sort()
    at_s, volts_v, on, dip_v = (np.array(column) for column in zip(*rows, strict=True))
    return {"at_s": at_s, "volts": volts_v, "on": on, "dip": dip_v}
