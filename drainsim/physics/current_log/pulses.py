"""Wake-ups in a log: where they are, which belong together, how often they come."""

from dataclasses import dataclass

import numpy as np

from drainsim.physics.current_log.steps import Samples
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseGroup:
    """Wake-ups of one kind; `period_s` is None where they do not come regularly."""

    count: int
    period_s: float | None
    charge_as: float  # median, above the settled current
    duration_s: float
    peak_a: float
    start_s: FloatArray


def pulse_period_s(start_s: FloatArray, segment: IndexArray) -> float | None:
    """Return the period of events, or None where they do not come regularly.

    Parameters
    ----------
    start_s : ndarray, shape (events,)
    segment : ndarray of int
        Events of different segments (clock jump, gap) are not counted across.

    Notes
    -----
    Slope of start against number, one line a segment with a shared slope: a missed event
    counts as two periods. Regular: half of the events within 10 % of their place.
    """
    same = np.diff(segment) == 0
    pauses = np.diff(start_s)[same]
    if len(pauses) < 2:
        return None
    usual = float(np.median(pauses))
    numbers, times = [], []
    for each in np.unique(segment):
        here = start_s[segment == each]
        if len(here) < 2:
            continue
        number = np.concatenate([[0.0], np.cumsum(np.maximum(np.round(np.diff(here) / usual), 1))])
        numbers.append(number - number.mean())
        times.append(here - here.mean())
    number, time = np.concatenate(numbers), np.concatenate(times)
    period = float(number @ time / (number @ number))
    late = np.abs(time - period * number)
    return period if float(np.median(late)) < 0.1 * period else None


def pulse_runs(
    samples: Samples, awake: BoolArray, *, merge_s: float
) -> tuple[IndexArray, IndexArray]:
    """Return first and last step of each wake-up, short pauses within bridged."""
    index = np.flatnonzero(awake)
    if not len(index):
        empty = np.zeros(0, dtype=np.intp)
        return empty, empty
    stop = samples.time_s[index[:-1]] + samples.duration_s[index[:-1]]
    apart = (samples.time_s[index[1:]] - stop > merge_s) | (np.diff(samples.segment[index]) > 0)
    split = np.flatnonzero(apart)
    return index[np.append(0, split + 1)], index[np.append(split, len(index) - 1)]


def mask_of_runs(count: int, starts: IndexArray, ends: IndexArray, *, margin: int) -> BoolArray:
    """Return which steps lie in runs, widened by a margin."""
    change = np.zeros(count + 1)
    np.add.at(change, np.maximum(starts - margin, 0), 1.0)
    np.add.at(change, np.minimum(ends + margin, count - 1) + 1, -1.0)
    return np.asarray(np.cumsum(change[:-1]) > 0.5)


def pulse_groups(
    samples: Samples, starts: IndexArray, ends: IndexArray, settled: float
) -> tuple[tuple[PulseGroup, ...], int]:
    """Sort wake-ups into kinds by their charge; return the kinds and how many fit none."""
    if not len(starts):
        return (), 0
    extra = np.concatenate([[0.0], np.cumsum((samples.current_a - settled) * samples.duration_s)])
    charge = extra[ends + 1] - extra[starts]
    segment = samples.segment
    last = len(segment) - 1
    whole = (ends < last) & (segment[starts - 1] == segment[starts])
    whole &= segment[np.minimum(ends + 1, last)] == segment[ends]
    length = samples.time_s[ends] + samples.duration_s[ends] - samples.time_s[starts]
    peak = np.array([samples.current_a[a : b + 1].max() for a, b in zip(starts, ends, strict=True)])
    found: list[PulseGroup] = []
    stray = 0
    for kind in _kinds(np.log(np.maximum(charge, 1e-9)), samples.time_s[starts], segment[starts]):
        if len(kind) < 3:
            stray += len(kind)
            continue
        complete = kind[whole[kind]] if whole[kind].any() else kind
        found.append(
            PulseGroup(
                count=len(kind),
                period_s=pulse_period_s(samples.time_s[starts[kind]], segment[starts[kind]]),
                charge_as=float(np.median(charge[complete])),
                duration_s=float(np.median(length[complete])),
                peak_a=float(np.median(peak[complete])),
                start_s=samples.time_s[starts[kind]],
            )
        )
    found.sort(key=lambda group: (group.period_s is None, -group.count * group.charge_as))
    return tuple(found), stray


def _kinds(size: FloatArray, start_s: FloatArray, segment: IndexArray) -> list[IndexArray]:
    """Return the numbers of the wake-ups of each kind, split at the widest gap in size."""

    def split(members: IndexArray) -> list[IndexArray]:
        regular = pulse_period_s(start_s[members], segment[members]) is not None
        if len(members) < 4:
            return [members]
        order = members[np.argsort(size[members])]
        gaps = np.diff(size[order])
        at = int(gaps.argmax())
        if gaps[at] < np.log(2.0):
            return [members]
        low, high = np.sort(order[: at + 1]), np.sort(order[at + 1 :])
        if regular and min(len(low), len(high)) < 3:
            return [members]
        return split(low) + split(high)

    return split(np.arange(len(size)))
