"""A history cut into drives and stands, and what cannot be used named.

By the ignition where it is known, else by the shape of the voltage. A fixed limit would call a
battery that was just switched off running, as it shows more than 13.2 V for over an hour, and a
smart alternator parked, as it regulates between 12.5 and 15 V (a charger manual). So a drive is a
rise, and it ends before the last sudden drop that follows, or at its peak, from where it decays.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from drainsim.answers.readings.nights import NIGHT_H, Nights, crossings
from drainsim.files.readings.history import History, SetAside
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.units import HOURS_PER_DAY, SECONDS_PER_DAY, SECONDS_PER_HOUR

OWN_CELL: Final = "3 to 4.4 V: the unit's own cell, not the vehicle's battery"
OUTSIDE: Final = "outside what a starting battery shows"
STUCK: Final = "one value for days: stuck, not measured"
FLOOR: Final = "at the lowest value the unit can show: a limit, not a measurement"
CHARGER: Final = "a charger: charged and steady for more than 12 h"
SUN: Final = "rises by day without a drive: sun or a charger with a clock"
CHARGED: Final = "rises without the ignition: charged while parked"
FED_FROM_ONE: Final = "12 V on a 24 V vehicle: fed from one of two batteries"

_PAIR_ABOVE_V: Final = 18.0
_OWN_CELL_V: Final = (3.0, 4.4)
_SHOWN_V: Final = (6.0, 16.5)  # by a 12 V battery with a working alternator or charger
_STUCK_H: Final = 72.0
_STUCK_COARSE_H: Final = 21 * HOURS_PER_DAY  # a step of 0.1 V takes a quiet vehicle two weeks
_FINE_V: Final = 0.03
_LOW_V: Final = 11.9  # below it a battery is nearly empty, and units fall silent
# A rise that only charging makes, and a fall that only its end makes; in steps of the unit at
# least. Common practice, no source; relaxation falls by 0.1 V in 1.5 h (open telemetry 2019).
_RISE_V: Final = 0.15
_DROP_V: Final = 0.25
_BACK_V: Final = 0.15  # above the level before: the charge has left the surface
_LONGEST_RISE_H: Final = 48.0
_CHARGER_H: Final = 12.0
_CHARGER_V: Final = (13.0, 15.0)
_STEADY_V: Final = 0.1
_SUN_DAYS: Final = 3
_NEW_LEVEL_V: Final = 0.12  # up from one night to the next, and staying
SETTLED_H: Final = 4.0  # rest after which a voltage counts
_SILENT_H: Final = 48.0
_GAP_H: Final = 72.0  # without a reading, or so many of the unit's usual intervals
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
        return self.last_v < _LOW_V


def cut(history: History, *, now_s: float, two_in_series: bool, shift_s: float = 0.0) -> Cut:
    """Return a history in stands.

    Parameters
    ----------
    history : History
    now_s : float
        Readings after it are not looked at. [s]
    two_in_series : bool
        Whether the vehicle is said to have 24 V.
    shift_s : float
        Local time less UTC. [s]
    """
    history = _until(history, now_s)
    volts, pair, notes = _as_one_battery(history, two_in_series)
    volts, aside = _unusable(history.time_s, volts, history.step_v)
    driven, charged, found = _moved(history, volts, shift_s)
    for reason, part in found:
        volts = np.where(part, np.nan, volts)
        aside += spans(history.time_s, part, reason)
    stands = _stands(history.time_s, driven, charged, volts)
    stands = [piece for stand in stands for piece in _at_new_levels(history, volts, stand)]
    count = len(history.time_s)
    silent_h = (now_s - history.time_s[-1]) / SECONDS_PER_HOUR if count else math.inf
    usual_h = _usual_interval_h(history.time_s)
    return Cut(
        history=history,
        voltage_v=volts,
        pair=pair,
        stands=tuple(stands),
        set_aside=(*history.set_aside, *aside),
        now_s=now_s,
        charging=bool(count and charged[-1]),
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
        voltmeter_h=rested_h[read],
        voltmeter_v=found.history.voltmeter_v[read] / (2.0 if found.pair else 1.0),
        crossed_h=crossed_h,
        crossed_v=crossed_v,
    )


def spans(time_s: FloatArray, part: BoolArray, reason: str) -> list[SetAside]:
    """Return the stretches of readings that are part of something, with its reason."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], part, [False]]).astype(int)))
    return [
        SetAside(float(time_s[begin]), float(time_s[end - 1]), int(end - begin), reason)
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
    ]


def _until(history: History, now_s: float) -> History:
    kept = history.time_s <= now_s
    if kept.all():
        return history
    columns = (
        "time_s voltage_v ignition battery_temperature_c air_temperature_c "
        "cranking_minimum_v voltmeter_v"
    )
    return replace(history, **{name: getattr(history, name)[kept] for name in columns.split()})


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
    seen = volts[np.isfinite(volts) & (volts > _OWN_CELL_V[1])]
    middle = float(np.median(seen)) if len(seen) else math.nan
    if middle > _PAIR_ABOVE_V:
        notes = () if two_in_series else ("24 V: two batteries in series, each half of it",)
        return volts / 2.0, True, notes
    return volts, False, (FED_FROM_ONE,) if two_in_series and math.isfinite(middle) else ()


def _unusable(
    time_s: FloatArray, volts: FloatArray, step_v: float
) -> tuple[FloatArray, list[SetAside]]:
    """Return voltages without what no battery shows, and those kept aside."""
    own = (volts >= _OWN_CELL_V[0]) & (volts <= _OWN_CELL_V[1])
    outside = np.isfinite(volts) & ~own & ~((volts >= _SHOWN_V[0]) & (volts <= _SHOWN_V[1]))
    aside = [*spans(time_s, own, OWN_CELL), *spans(time_s, outside, OUTSIDE)]
    volts = np.where(own | outside, np.nan, volts)
    stuck, floor = _one_value(time_s, volts, step_v)
    aside += [*spans(time_s, stuck, STUCK), *spans(time_s, floor, FLOOR)]
    return np.where(stuck | floor, np.nan, volts), aside


def _one_value(time_s: FloatArray, volts: FloatArray, step_v: float) -> tuple[BoolArray, BoolArray]:
    """Return which readings repeat one value for days, and which of them lie at a floor."""
    stuck, floor = np.zeros((2, len(volts)), dtype=bool)
    if not len(volts) or not np.isfinite(volts).any():
        return stuck, floor
    longest_h = _STUCK_H if not step_v > _FINE_V else _STUCK_COARSE_H
    begins = np.flatnonzero(np.diff(volts, prepend=np.nan) != 0.0)
    ends = np.append(begins[1:], len(volts))
    long = time_s[ends - 1] - time_s[begins] > longest_h * SECONDS_PER_HOUR
    lowest = float(np.nanmin(volts))
    for begin, end in zip(begins[long], ends[long], strict=True):
        if np.isfinite(volts[begin]):
            at_floor = volts[begin] == lowest and lowest < _LOW_V
            (floor if at_floor else stuck)[begin + 1 : end] = True
    return stuck, floor


def _moved(
    history: History, volts: FloatArray, shift_s: float
) -> tuple[BoolArray, BoolArray, list[tuple[str, BoolArray]]]:
    """Return which readings are of drives, which of charging while parked, and the latter named."""
    time_s = history.time_s
    known = np.isfinite(history.ignition)
    by_ignition = bool(known.any()) and 2 * int(known.sum()) >= len(known)
    driven = _held(history.ignition) == 1.0 if by_ignition else np.zeros(len(volts), dtype=bool)
    charger, sun, charged = np.zeros((3, len(volts)), dtype=bool)
    rises = _rises(time_s, volts, history.step_v)
    by_day: list[slice] = []
    for part, peak_end in rises:
        if by_ignition and driven[max(part.start - 1, 0) : part.stop].any():
            continue
        if _steady(time_s[part], volts[part]):
            charger[part] = True
        elif by_ignition:
            charged[part] = True
        elif _in_sunshine(time_s[part] + shift_s, volts[part]):
            by_day.append(part)
        else:
            driven[part.start : peak_end] = True
    for part in by_day:
        (sun if len(by_day) >= _SUN_DAYS else driven)[part] = True
    named = [(CHARGER, charger), (SUN, sun), (CHARGED, charged)]
    return driven, charger | sun | charged, named


def _held(ignition: FloatArray) -> FloatArray:
    """Return the ignition with gaps filled by what was known last."""
    place = np.where(np.isfinite(ignition), np.arange(len(ignition)), 0)
    return np.asarray(ignition[np.maximum.accumulate(place)])


def _rises(time_s: FloatArray, volts: FloatArray, step_v: float) -> list[tuple[slice, int]]:
    """Return where the voltage rose and stayed up, and where in it charging ended.

    Parameters
    ----------
    time_s : shape (n,)
        [s].
    volts : shape (n,)
        [V].
    step_v : float
        [V].
    """
    seen = np.flatnonzero(np.isfinite(volts))
    v, t = volts[seen], time_s[seen]
    if len(v) < 3:
        return []
    step = step_v if math.isfinite(step_v) else 0.0
    rise_v, drop_v = max(_RISE_V, 1.5 * step), max(_DROP_V, 2.5 * step)
    early = np.concatenate([v[:1], v[:1], v])  # a single wild reading neither lifts nor lowers it
    before = np.median([early[:-3], early[1:-2], early[2:-1]], axis=0)
    after = np.append(v[2:], v[-1] if v[-1] - before[-1] >= drop_v else before[-1])
    lasting = after - before >= 0.4 * rise_v
    seen_rising = np.diff(t) <= _GAP_H * SECONDS_PER_HOUR
    places = np.flatnonzero((v[1:] - before >= rise_v) & lasting & seen_rising) + 1
    found: list[tuple[slice, int]] = []
    done = 0
    first = np.flatnonzero(np.diff(v[t <= t[0] + _LONGEST_RISE_H * SECONDS_PER_HOUR]) <= -drop_v)
    if len(first):  # the history begins on a drive
        done = int(first[-1]) + 1
        found.append((slice(int(seen[0]), int(seen[done - 1]) + 1), int(seen[done - 1]) + 1))
    for place in places:
        if place < done:
            continue
        last = int(np.searchsorted(t, t[place] + _LONGEST_RISE_H * SECONDS_PER_HOUR, "right"))
        back = np.flatnonzero(v[place:last] <= before[place - 1] + max(_BACK_V, step))
        done = max(int(place) + (int(back[0]) if len(back) else last - int(place)), int(place) + 1)
        up = v[place : done + 1]
        drops = np.flatnonzero(np.diff(up) <= -drop_v)
        peak = int(drops[-1]) if len(drops) else int(np.argmax(v[place:done]))
        found.append(
            (slice(int(seen[place]), int(seen[done - 1]) + 1), int(seen[place + peak]) + 1)
        )
    return found


def _steady(time_s: FloatArray, volts: FloatArray) -> bool:
    """Say whether a charger holds the voltage for most of a day."""
    charged = (volts >= _CHARGER_V[0]) & (volts <= _CHARGER_V[1])
    if not charged.any():
        return False
    at, level = time_s[charged], volts[charged]
    held = np.abs(level - np.median(level)) <= _STEADY_V
    return bool(
        at[-1] - at[0] > _CHARGER_H * SECONDS_PER_HOUR
        and held.mean() > 0.8
        and charged.mean() > 0.5
    )


def _in_sunshine(local_s: FloatArray, volts: FloatArray) -> bool:
    """Say whether a rise begins by day, swells to a peak around noon and ebbs, with no drop."""
    hour = (local_s / SECONDS_PER_HOUR) % HOURS_PER_DAY
    peak = int(np.argmax(volts))
    swells = peak >= 2 and len(volts) - peak >= 2
    by_day = 6.0 <= hour[0] <= 12.0 and 10.0 <= hour[peak] <= 16.0
    return swells and by_day and bool(np.abs(np.diff(volts)).max() < _DROP_V)


def _stands(
    time_s: FloatArray, driven: BoolArray, charged: BoolArray, volts: FloatArray
) -> list[Stand]:
    """Return the stretches in which nothing drives or charges, as far as anybody saw."""
    if not len(time_s):
        return []
    moving = driven | charged
    edges = np.flatnonzero(np.diff(np.concatenate([[True], moving, [True]]).astype(int)))
    found = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        last = end == len(time_s)
        found.append(
            Stand(
                start_s=float(time_s[max(begin - 1, 0)]),
                end_s=math.inf if last else float(time_s[end]),
                started=not last and bool(driven[end]),
                anew=False,
            )
        )
    return [piece for stand in found for piece in _at_gaps(time_s[np.isfinite(volts)], stand)]


def _at_gaps(seen_s: FloatArray, stand: Stand) -> list[Stand]:
    """Return a stand cut where nothing was read for days: nobody knows whether it was driven."""
    at = seen_s[(seen_s >= stand.start_s) & (seen_s < stand.end_s)]
    longest_h = max(_GAP_H, _GAP_INTERVALS * _usual_interval_h(seen_s))
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
