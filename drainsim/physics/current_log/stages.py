"""The stages of a log: where its level changes, found by the exact best split.

Change points are found by our own exact split (NumPy on window medians): a library (compiled,
several dependencies) would return the same split; what makes it robust (medians, log scale,
wake-ups cut out first) is ours anyway.

Asleep means steady for ten minutes, and above 50 mA only after an hour: published settling times
run to 60 min, and the trade rule is 50 mA after one hour.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from drainsim.physics.current_log.steps import Samples, scatter
from drainsim.physics.tables import FloatArray, IndexArray

_MOST_STAGES: Final = 12
_MOST_POINTS: Final = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A stretch of one level; the current is charge over time. [s, s, A]."""

    start_s: float
    duration_s: float
    current_a: float


def change_points(level: ArrayLike, *, noise: float, penalty: float) -> IndexArray:
    """Return where a level changes: the exact best split into constant pieces.

    Parameters
    ----------
    level : array_like, shape (points,)
    noise : float
        Standard deviation of a point about its piece, in the level's unit.
    penalty : float
        What one more piece must save, in units of noise squared.

    Returns
    -------
    ndarray of int
        First point of every piece; begins with 0.

    Notes
    -----
    Optimal partitioning by dynamic programming: cost(j) = min over i of cost(i) + squares of
    piece (i, j) + penalty · noise². Quadratic in the number of points.

    Examples
    --------
    >>> change_points([5, 5, 5, 1, 1, 1, 1], noise=0.1, penalty=10)
    array([0, 3])
    """
    values = np.asarray(level, dtype=float)
    count = len(values)
    total = np.concatenate([[0.0], np.cumsum(values)])
    squares = np.concatenate([[0.0], np.cumsum(values**2)])
    each = penalty * noise**2
    best = np.zeros_like(total)
    best[0] = -each
    came_from = np.zeros_like(total, dtype=np.intp)
    for end in range(1, count + 1):
        begin = np.arange(end)
        piece = squares[end] - squares[:end] - (total[end] - total[:end]) ** 2 / (end - begin)
        cost = best[:end] + piece + each
        came_from[end] = int(cost.argmin())
        best[end] = cost[came_from[end]]
    found = []
    at = count
    while at > 0:
        at = int(came_from[at])
        found.append(at)
    return np.array(found[::-1], dtype=np.intp)


def stages_before(
    samples: Samples, at: FloatArray, level: FloatArray, *, until_s: float | None
) -> tuple[Stage, ...]:
    """Return the stages before sleep, or of the whole log where it never sleeps."""
    if len(at) < 2:
        return ()
    end = float(at[-1] + np.median(np.diff(at))) if until_s is None else until_s
    before = at < end
    if before.sum() < 2:
        return ()
    points, values = at[before], level[before]
    logged = np.log(np.maximum(values, 1e-4))
    noise = max(scatter(np.diff(logged)) / np.sqrt(2.0), 0.05)
    if len(logged) > 4:  # a single odd window is no stage
        logged = np.median(
            np.lib.stride_tricks.sliding_window_view(np.pad(logged, 1, "edge"), 3), 1
        )
    stride = -(-len(logged) // _MOST_POINTS)
    points, logged = points[::stride], logged[::stride]
    penalty = 3.0 * np.log(len(logged))
    found = change_points(logged, noise=noise, penalty=penalty)
    while len(found) > _MOST_STAGES:
        penalty *= 2.0
        found = change_points(logged, noise=noise, penalty=penalty)
    edges = np.append(points[found], end)
    stages = []
    for begin, stop in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        inside = (samples.time_s >= begin) & (samples.time_s < stop)
        if inside.any():
            stages.append(
                Stage(
                    start_s=float(begin),
                    duration_s=float(stop - begin),
                    current_a=samples.cut(inside).mean_a(),
                )
            )
    return tuple(_merged(stages))


def _merged(stages: list[Stage]) -> list[Stage]:
    """Join neighbours that differ by less than a tenth."""
    kept: list[Stage] = []
    for stage in stages:
        last = kept[-1] if kept else None
        if last and abs(stage.current_a - last.current_a) < 0.1 * abs(last.current_a):
            span = last.duration_s + stage.duration_s
            mean = (last.current_a * last.duration_s + stage.current_a * stage.duration_s) / span
            kept[-1] = Stage(start_s=last.start_s, duration_s=span, current_a=mean)
        else:
            kept.append(stage)
    return kept
