"""A history cut into stands, each with its nights."""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from drainsim.answers.readings.history.nights import NIGHT_H, Nights, crossings, scatter_v
from drainsim.answers.readings.history.shapes import (
    GAP_H,
    LOW_V,
    OWN_CELL_V,
    Moved,
    moved_by,
    spans,
    unusable,
)
from drainsim.files.readings.history import MEASURED, History, SetAside
from drainsim.language import message
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.units import HOURS_PER_DAY, SECONDS_PER_DAY, SECONDS_PER_HOUR

LATER: Final = message("after the morning that was asked about")
FED_FROM_ONE: Final = message("12 V on a 24 V vehicle: fed from one of two batteries")

_PAIR_ABOVE_V: Final = 18.0
_NEW_LEVEL_V: Final = 0.12  # up from one night to the next, and staying
SETTLED_H: Final = 4.0  # rest after which a voltage counts
_SILENT_H: Final = 48.0
_GAP_INTERVALS: Final = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """From parking until a drive, a charge or now; epoch seconds."""

    start_s: float
    end_s: float
    started: bool  # it ended with a start of the engine
    anew: bool  # what was learned before does not hold: another battery or unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A history in stands. `voltage_v` is as one 12 V battery shows it, NaN where kept aside."""

    history: History
    voltage_v: FloatArray
    pair: bool  # two batteries in series
    stands: tuple[Stand, ...]
    set_aside: tuple[SetAside, ...]
    now_s: float
    charging: bool  # at the end
    parked_since_s: float | None  # last drive, or first reading; None while driven
    silent_h: float  # since the last reading; 0 while it reports
    notes: tuple[str, ...]

    @property
    def last_v(self) -> float:
        """The last voltage that counts; NaN without one."""
        seen = self.voltage_v[np.isfinite(self.voltage_v)]
        return float(seen[-1]) if len(seen) else math.nan

    @property
    def parked(self) -> Stand | None:
        """The stand that has not ended."""
        last = self.stands[-1] if self.stands else None
        return last if last is not None and not math.isfinite(last.end_s) else None

    @property
    def low(self) -> bool:
        """Whether the last voltage is one at which units fall silent."""
        return self.last_v < LOW_V


def cut(history: History, *, now_s: float, two_in_series: bool, shift_s: float = 0.0) -> Cut:
    """Return a history in stands.

    Parameters
    ----------
    history : History
    now_s : float
        Readings after it are set aside. [s]
    two_in_series : bool
        Whether the vehicle is said to have 24 V.
    shift_s : float
        Local time less UTC. [s]
    """
    later = spans(history.time_s, history.time_s > now_s, LATER)
    history = _until(history, now_s)
    volts, pair, notes = _as_one_battery(history, two_in_series)
    volts, aside = unusable(history.time_s, volts, history.step_v)
    moved = moved_by(history, volts, shift_s)
    for reason, part in moved.named:
        volts = np.where(part, np.nan, volts)
        aside += spans(history.time_s, part, reason)
    stands = _stands(history.time_s, moved)
    stands = [piece for stand in stands for piece in _at_new_levels(history, volts, stand)]
    count = len(history.time_s)
    silent_h = (now_s - history.time_s[-1]) / SECONDS_PER_HOUR if count else math.inf
    usual_h = _usual_interval_h(history.time_s)
    return Cut(
        history=history,
        voltage_v=volts,
        pair=pair,
        stands=tuple(stands),
        set_aside=(*history.set_aside, *aside, *later),
        now_s=now_s,
        charging=bool(count and moved.while_parked[-1]),
        parked_since_s=_parked_since_s(history.time_s, moved.driven),
        silent_h=silent_h if silent_h > max(_SILENT_H, 4.0 * usual_h) else 0.0,
        notes=notes,
    )


def nights_of(
    found: Cut,
    stand: Stand,
    *,
    start_hour: int,
    shift_s: float = 0.0,
    until_s: float = math.inf,
) -> Nights:
    """Return the night medians of a stand, the first counted from four hours of rest.

    Parameters
    ----------
    found : Cut
    stand : Stand
    start_hour : int
        Local hour at which nights end. [h]
    shift_s : float
        Local time less UTC. [s]
    until_s : float
        Readings after it are not looked at. [s]
    """
    time_s, volts = found.history.time_s, found.voltage_v
    until_s = min(until_s, stand.end_s - 1.0)
    settled = (time_s >= stand.start_s + SETTLED_H * SECONDS_PER_HOUR) & (time_s <= until_s)
    day = (time_s + shift_s) / SECONDS_PER_DAY - start_hour / HOURS_PER_DAY
    number = np.floor(day)
    by_night = (day - number) * HOURS_PER_DAY >= HOURS_PER_DAY - NIGHT_H
    kept = settled & np.isfinite(volts) & by_night
    if len(np.unique(number[settled & np.isfinite(volts)])) > 2 * len(np.unique(number[kept])):
        kept = settled & np.isfinite(volts)  # it reports by day only
    at_s, medians = _medians(number[kept], time_s[kept], volts[kept])
    _, sizes = np.unique(number[kept], return_counts=True)
    warmth = found.history.battery_temperature_c
    read = settled & np.isfinite(found.history.voltmeter_v)
    step_v = found.history.step_v / (2.0 if found.pair else 1.0)
    seen = settled & np.isfinite(volts)
    rested_h = (time_s - stand.start_s) / SECONDS_PER_HOUR
    crossed_h, crossed_v = crossings(rested_h[seen], volts[seen], step_v)
    return Nights(
        rested_h=(at_s - stand.start_s) / SECONDS_PER_HOUR,
        voltage_v=medians,
        temperature_c=_medians(number[kept], time_s[kept], warmth[kept])[1],
        step_v=step_v,
        scatter_v=scatter_v(volts[kept], medians, sizes),
        voltmeter_h=rested_h[read],
        voltmeter_v=found.history.voltmeter_v[read] / (2.0 if found.pair else 1.0),
        crossed_h=crossed_h,
        crossed_v=crossed_v,
    )


def _until(history: History, now_s: float) -> History:
    kept = history.time_s <= now_s
    if kept.all():
        return history
    columns = ("time_s", *MEASURED)
    return replace(history, **{name: getattr(history, name)[kept] for name in columns})


def _medians(
    group: FloatArray, time_s: FloatArray, values: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the mean time and the median of each group of neighbours."""
    if not len(group):
        return group, values
    begins = np.flatnonzero(np.diff(group, prepend=-math.inf))
    order = np.lexsort((values, group))  # NaN last in each group
    known = np.add.reduceat(np.isfinite(values).astype(np.intp), begins)
    sizes = np.diff(np.append(begins, len(group)))
    ranked = values[order]
    low, high = begins + np.maximum(known - 1, 0) // 2, begins + np.maximum(known, 0) // 2
    high = np.minimum(high, begins + np.maximum(known - 1, 0))
    return np.add.reduceat(time_s, begins) / sizes, 0.5 * (ranked[low] + ranked[high])


def _usual_interval_h(time_s: FloatArray) -> float:
    return float(np.median(np.diff(time_s))) / SECONDS_PER_HOUR if len(time_s) > 2 else 0.0


def _as_one_battery(
    history: History, two_in_series: bool
) -> tuple[FloatArray, bool, tuple[str, ...]]:
    """Return the voltages as one 12 V battery shows them, and what was found."""
    volts = history.voltage_v
    seen = volts[np.isfinite(volts) & (volts > OWN_CELL_V[1])]
    middle = float(np.median(seen)) if len(seen) else math.nan
    if middle > _PAIR_ABOVE_V:
        notes = (
            () if two_in_series else (message("24 V: two batteries in series, each half of it"),)
        )
        return volts / 2.0, True, notes
    return volts, False, (FED_FROM_ONE,) if two_in_series and math.isfinite(middle) else ()


def _parked_since_s(time_s: FloatArray, driven: BoolArray) -> float | None:
    if not len(time_s) or driven[-1]:
        return None
    drives = np.flatnonzero(driven)
    return float(time_s[drives[-1] if len(drives) else 0])


def _stands(time_s: FloatArray, moved: Moved) -> list[Stand]:
    """Return the stretches in which nothing drives or charges, as far as anybody saw."""
    if not len(time_s):
        return []
    moving = moved.driven | moved.while_parked
    edges = np.flatnonzero(np.diff(np.concatenate([[True], moving, [True]]).astype(int)))
    found = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        last = end == len(time_s)
        stand = Stand(
            start_s=float(time_s[max(begin - 1, 0)]),
            end_s=math.inf if last else float(time_s[end]),
            started=not last and bool(moved.driven[end]),
            anew=False,
        )
        for place in moved.swapped:
            if begin < place < end:
                move_s = float(time_s[place])
                found.append(replace(stand, end_s=move_s, started=False))
                stand = replace(stand, start_s=move_s, anew=True)
        found.append(stand)
    return [piece for stand in found for piece in _at_gaps(time_s, stand)]


def _at_gaps(seen_s: FloatArray, stand: Stand) -> list[Stand]:
    """Return a stand cut where nothing was read for days: nobody knows whether it was driven."""
    at = seen_s[(seen_s >= stand.start_s) & (seen_s < stand.end_s)]
    longest_h = max(GAP_H, _GAP_INTERVALS * _usual_interval_h(seen_s))
    pieces = []
    for gap in np.flatnonzero(np.diff(at) > longest_h * SECONDS_PER_HOUR):
        pieces.append(replace(stand, end_s=float(at[gap]) + 1.0, started=False))
        stand = replace(stand, start_s=float(at[gap + 1]))
    if (
        len(at)
        and math.isfinite(stand.end_s)
        and stand.end_s - at[-1] > longest_h * SECONDS_PER_HOUR
    ):
        stand = replace(stand, end_s=float(at[-1]) + 1.0, started=False)
    return [*pieces, stand]


def _exchanged(medians: FloatArray, place: int) -> bool:
    """Say whether a level stayed above all earlier ones: more than a charge would leave."""
    return bool(medians[place + 1 :].min() > medians[: place + 1].max() + _NEW_LEVEL_V)


def _at_new_levels(history: History, volts: FloatArray, stand: Stand) -> list[Stand]:
    """Return a stand cut where its nights' level rises for good: another battery or unit."""
    inside = (history.time_s >= stand.start_s) & (history.time_s < stand.end_s)
    at, level = history.time_s[inside], volts[inside]
    seen = np.isfinite(level)
    number = np.floor(at[seen] / SECONDS_PER_DAY)
    _, medians = _medians(number, at[seen], level[seen])
    least = max(_NEW_LEVEL_V, 1.5 * history.step_v if math.isfinite(history.step_v) else 0.0)
    steps = np.flatnonzero(np.diff(medians) >= least)
    later = [k for k in steps if medians[k + 1 :].size > 1 and medians[k + 2] >= medians[k] + least]
    if not later:
        return [stand]
    move_s = float(at[seen][np.flatnonzero(number == np.unique(number)[later[-1] + 1])[0]])
    return [
        replace(stand, end_s=move_s, started=False),
        replace(stand, start_s=move_s, anew=stand.anew or _exchanged(medians, int(later[-1]))),
    ]
