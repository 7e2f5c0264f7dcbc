"""Straight lines between the points of a fine table, for many values in no order.

The same numbers as `numpy.interp`, which searches the table anew for every value; a grid of
equal cells tells where to begin instead and takes about a third of the time.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.physics.tables import FloatArray, IndexArray

_FEWEST_CELLS: Final = 1024
_MOST_CELLS: Final = 1 << 16


@dataclass(frozen=True, slots=True)
class Axis:
    """The x of one or several tables, strictly rising, and the grid laid over it."""

    x: FloatArray  # with an endless last segment
    first: IndexArray  # segment in which each cell begins
    per_x: float
    steps: int  # most points within a cell


@dataclass(frozen=True, slots=True)
class Lines:
    """The y of a table by segment: value at its beginning and slope."""

    y: FloatArray
    slope: FloatArray


def axis(x: FloatArray) -> Axis:
    """Return the axis of points."""
    cells = _FEWEST_CELLS
    while True:
        edges = np.linspace(x[0], x[-1], cells + 1)
        first = np.searchsorted(x, edges[:-1], side="right") - 1
        steps = int(np.diff(np.append(first, len(x) - 1)).max())
        if steps <= 1 or cells >= _MOST_CELLS:
            break
        cells *= 4
    return Axis(np.append(x, np.inf), first, cells / (x[-1] - x[0]), steps)


def lines(x: FloatArray, y: FloatArray) -> Lines:
    """Return the segments of a table; the last goes on level."""
    return Lines(y, np.append(np.diff(y) / np.diff(x), 0.0))


def look_up(at: FloatArray, on: Axis, table: Lines) -> FloatArray:
    """Return the table's values at `at`; beyond its ends the end's."""
    inside = np.maximum(at, on.x[0])
    cell = ((inside - on.x[0]) * on.per_x).astype(np.intp)
    segment = on.first.take(cell, mode="clip")
    for _ in range(on.steps):
        segment += inside >= on.x.take(segment + 1)
    since = inside - on.x.take(segment)
    return np.asarray(table.y.take(segment) + table.slope.take(segment) * since)


@dataclass(frozen=True, slots=True)
class Even:
    """A table at equal steps of x: no search at all."""

    low: float
    per_x: float
    last: float  # number of the last segment's end
    y: FloatArray
    rise: FloatArray  # to the next point

    def at(self, x: FloatArray) -> FloatArray:
        """Return the table's values at `x`; beyond its ends the end's."""
        place = (x - self.low) * self.per_x
        np.clip(place, 0.0, self.last, out=place)
        segment = place.astype(np.intp)
        place -= segment
        return np.asarray(self.y.take(segment) + place * self.rise.take(segment))


def even(x: FloatArray, y: FloatArray) -> Even:
    """Return the table of points at equal steps."""
    steps = len(x) - 1
    rise = np.append(np.diff(y), 0.0)
    return Even(float(x[0]), steps / float(x[-1] - x[0]), float(steps), y, rise)
