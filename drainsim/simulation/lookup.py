"""Straight lines between the points of a fine table at equal steps.

The same numbers as `numpy.interp`, which searches the table anew for every value.
"""

from dataclasses import dataclass

import numpy as np

from drainsim.physics.tables import FloatArray, IndexArray


@dataclass(frozen=True, slots=True)
class Even:
    """A table at equal steps of x: no search at all."""

    low: float
    per_x: float
    last: float  # number of the last segment's end
    y: FloatArray
    rise: FloatArray  # to the next point
    foot: FloatArray  # y of a segment's line carried on to the table's first point

    def at(self, x: FloatArray) -> FloatArray:
        """Return the table's values at `x`; beyond its ends the end's."""
        place = (x - self.low) * self.per_x
        np.clip(place, 0.0, self.last, out=place)
        below = np.floor(place)
        segment = below.astype(np.intp)
        place -= below
        return np.asarray(self.y.take(segment) + place * self.rise.take(segment))

    def write(
        self, x: FloatArray, *, out: FloatArray, space: FloatArray, segment: IndexArray
    ) -> None:
        """Write the values of a table that begins at 0 to `out`, which is not `x`.

        Parameters
        ----------
        x : shape (...)
            Up to the table's end.
        out, space, segment : shape (...)
            The values, and workspaces.
        """
        np.multiply(x, self.per_x, out=space)
        np.maximum(space, 0.0, out=space)
        np.copyto(segment, space, casting="unsafe")
        np.take(self.rise, segment, out=out, mode="clip")
        out *= space
        np.take(self.foot, segment, out=space, mode="clip")
        out += space


def even(x: FloatArray, y: FloatArray) -> Even:
    """Return the table of points at equal steps."""
    steps = len(x) - 1
    rise = np.append(np.diff(y), 0.0)
    foot = y - rise * np.arange(len(x))
    return Even(float(x[0]), steps / float(x[-1] - x[0]), float(steps), y, rise, foot)
