"""What a history's readings show: drives, chargers, sun, another battery, and what nobody measured.

By the ignition where it is known, else by the shape of the voltage. A fixed limit would call a
battery that was just switched off running, as it shows more than 13.2 V for over an hour, and a
smart alternator parked, as it regulates between 12.5 and 15 V (a charger manual). So a drive is a
rise, and it ends before the last sudden drop that follows, or at its peak, from where it decays.
"""

import math
from typing import Final, NamedTuple

import numpy as np

from drainsim.files.readings.history import History, SetAside
from drainsim.language import message
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.units import HOURS_PER_DAY, SECONDS_PER_DAY, SECONDS_PER_HOUR

OWN_CELL: Final = message("3 to 4.4 V: the unit's own cell, not the vehicle's battery")
OUTSIDE: Final = message("outside what a starting battery shows")
STUCK: Final = message("one value for days: stuck, not measured")
FLOOR: Final = message("at the lowest value the unit can show: a limit, not a measurement")
CHARGER: Final = message("a charger: charged and steady for more than 12 h")
SUN: Final = message("rises by day without a drive: sun or a charger with a clock")
CHARGED: Final = message("rises without the ignition: charged while parked")
OWN_CELL_V: Final = (3.0, 4.4)
_SHOWN_V: Final = (6.0, 16.5)  # by a 12 V battery with a working alternator or charger
_STUCK_H: Final = 72.0
_STUCK_COARSE_H: Final = 21 * HOURS_PER_DAY  # a step of 0.1 V takes a quiet vehicle two weeks
_FINE_V: Final = 0.03
# A rise that only charging makes, and a fall that only its end makes; in steps of the unit at
# least. Common practice, no source; relaxation falls by 0.1 V in 1.5 h (open telemetry 2019).
_RISE_V: Final = 0.15
_DROP_V: Final = 0.25
_BACK_V: Final = 0.15  # above the level before: the charge has left the surface
_LONGEST_RISE_H: Final = 48.0
_CHARGER_H: Final = 12.0
_CHARGER_V: Final = (13.0, 15.0)
_STEADY_V: Final = 0.1
_MOSTLY: Final = 0.8
_SUN_DAYS: Final = 3
LOW_V: Final = 11.9  # below it a battery is nearly empty, and units fall silent
GAP_H: Final = 72.0  # without a reading, or so many of the unit's usual intervals


def spans(time_s: FloatArray, part: BoolArray, reason: str) -> list[SetAside]:
    """Return the stretches of readings that are part of something, with its reason."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], part, [False]]).astype(int)))
    return [
        SetAside(float(time_s[begin]), float(time_s[end - 1]), int(end - begin), reason)
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
    ]


def unusable(
    time_s: FloatArray, volts: FloatArray, step_v: float
) -> tuple[FloatArray, list[SetAside]]:
    """Return voltages without what no battery shows, and those kept aside."""
    own = (volts >= OWN_CELL_V[0]) & (volts <= OWN_CELL_V[1])
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
            at_floor = volts[begin] == lowest and lowest < LOW_V
            (floor if at_floor else stuck)[begin + 1 : end] = True
    return stuck, floor


class Moved(NamedTuple):
    """Which readings are of what, shape (n,), and where another battery came in (numbers)."""

    driven: BoolArray
    charger: BoolArray
    sun: BoolArray
    charged: BoolArray
    swapped: tuple[int, ...]

    @property
    def named(self) -> list[tuple[str, BoolArray]]:
        """What is kept aside, with its reason."""
        return [(CHARGER, self.charger), (SUN, self.sun), (CHARGED, self.charged)]

    @property
    def while_parked(self) -> BoolArray:
        """Charged without a drive."""
        return self.charger | self.sun | self.charged


def moved_by(history: History, volts: FloatArray, shift_s: float) -> Moved:
    """Return which readings are of drives, and which of charging while parked."""
    time_s = history.time_s
    known = np.isfinite(history.ignition)
    by_ignition = bool(known.any()) and 2 * int(known.sum()) >= len(known)
    driven = _held(history.ignition) == 1.0 if by_ignition else np.zeros(len(volts), dtype=bool)
    charger, sun, charged = np.zeros((3, len(volts)), dtype=bool)
    swapped, by_day = [], []
    for part, peak_end in _rises(time_s, volts, history.step_v):
        if by_ignition and driven[max(part.start - 1, 0) : peak_end + 1].any():
            continue
        held = _charged_until(time_s[part], volts[part])
        if held:
            charger[part.start : part.start + held] = True
        elif _another_battery(time_s[part], volts[part]):
            swapped.append(part.start)
        elif _in_sunshine(time_s[part] + shift_s, volts[part]):
            by_day.append(part)
        else:
            (charged if by_ignition else driven)[part.start : peak_end] = True
    for part in by_day:
        often = len(by_day) >= _SUN_DAYS
        (sun if often else charged if by_ignition else driven)[part] = True
    return Moved(driven, charger, sun, charged, tuple(swapped))


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
    seen_rising = np.diff(t) <= GAP_H * SECONDS_PER_HOUR
    places = np.flatnonzero((v[1:] - before >= rise_v) & lasting & seen_rising) + 1
    found: list[tuple[slice, int]] = []
    done, longest_s = 0, _LONGEST_RISE_H * SECONDS_PER_HOUR
    first = np.flatnonzero(np.diff(v[t <= t[0] + longest_s]) <= -drop_v)
    if len(first):  # the history begins on a drive
        done = int(first[-1]) + 1
        found.append((slice(int(seen[0]), int(seen[done - 1]) + 1), int(seen[done - 1]) + 1))
    for place in places.tolist():
        if place < done:
            continue
        back = np.flatnonzero(v[place + 1 :] <= before[place - 1] + max(_BACK_V, step))
        end = place + 1 + int(back[0]) if len(back) else len(v)
        near = place + int(np.searchsorted(t[place:end], t[place] + longest_s, "right"))
        drops = np.flatnonzero(np.diff(v[place : near + 1]) <= -drop_v)
        peak = int(drops[-1]) if len(drops) else int(np.argmax(v[place:near]))
        done = max(end if _charged_until(t[place:end], v[place:end]) else near, place + 1)
        found.append((slice(int(seen[place]), int(seen[end - 1]) + 1), int(seen[place + peak]) + 1))
    return found


def _charged_until(time_s: FloatArray, volts: FloatArray) -> int:
    """Return how many readings a charger holds the voltage for, 0 if for less than half a day."""
    charged = (volts >= _CHARGER_V[0]) & (volts <= _CHARGER_V[1])
    if not charged.any():
        return 0
    ends = np.flatnonzero(~charged[1:] & charged[:-1])
    first = int(np.argmax(charged))
    last = int(ends[ends >= first][0]) if (ends >= first).any() else len(volts) - 1
    if first > 2 or time_s[last] - time_s[first] <= _CHARGER_H * SECONDS_PER_HOUR:
        return 0
    level = volts[first : last + 1]
    steady = np.abs(level - np.median(level)) <= _STEADY_V
    return last + 1 if steady.mean() > _MOSTLY else 0


def _another_battery(time_s: FloatArray, volts: FloatArray) -> bool:
    """Say whether a rise is a new level at rest: no charge left on the surface that decays."""
    day = (time_s - time_s[0]) <= SECONDS_PER_DAY
    whole = time_s[-1] - time_s[0] >= _CHARGER_H * SECONDS_PER_HOUR
    flat = float(volts[day].max() - np.median(volts[day])) < _STEADY_V
    return whole and flat and float(volts[day].max()) < _CHARGER_V[0]


def _in_sunshine(local_s: FloatArray, volts: FloatArray) -> bool:
    """Say whether a rise begins by day, swells to a peak around noon and ebbs, with no drop."""
    hour = (local_s / SECONDS_PER_HOUR) % HOURS_PER_DAY
    peak = int(np.argmax(volts))
    swells = peak >= 2 and len(volts) - peak >= 2
    by_day = 6.0 <= hour[0] <= 12.0 and 10.0 <= hour[peak] <= 16.0
    return swells and by_day and bool(np.diff(volts).min() > -_DROP_V)
