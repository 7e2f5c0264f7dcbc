"""Straight-line interpolation in published tables, never beyond their ends."""

from typing import Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainsim.errors import OutOfRangeError

FloatArray: TypeAlias = NDArray[np.float64]
IndexArray: TypeAlias = NDArray[np.intp]
BoolArray: TypeAlias = NDArray[np.bool_]


def require_within(
    values: ArrayLike, limits: tuple[float, float, str], *, name: str, why: str
) -> FloatArray:
    """Return values as a float array, or refuse the first one outside the limits.

    Parameters
    ----------
    values : array_like, shape (...)
    limits : (float, float, str)
        Least and greatest value, both included, and their unit.
    name, why : str
        Said in the error: what it is, and what sets the limits.

    Returns
    -------
    ndarray of float, shape (...)

    Raises
    ------
    OutOfRangeError
        If a value is NaN or outside the limits.
    """
    low, high, unit = limits
    array = np.asarray(values, dtype=float)
    outside = ~((array >= low) & (array <= high))  # catches NaN too
    if outside.any():
        worst = float(array[outside].flat[0])
        shown_unit = f" {unit}" if unit else ""
        raise OutOfRangeError(
            f"{name}={worst:g}{shown_unit} is outside the {low:g} to {high:g}{shown_unit} {why}"
        )
    return array


def interpolate(x: ArrayLike, curve: ArrayLike, *, name: str, unit: str) -> FloatArray:
    """Return the curve's value at x by straight lines between its points.

    Parameters
    ----------
    x : array_like, shape (...)
    curve : array_like, shape (points, 2)
        Rows of (x, y), x strictly rising.
    name, unit : str
        Name and unit of x, for the error.

    Returns
    -------
    ndarray of float, shape (...)

    Raises
    ------
    OutOfRangeError
        If x is NaN or beyond the ends of the curve.
    """
    points = np.asarray(curve, dtype=float)
    inside = require_within(
        x, (float(points[0, 0]), float(points[-1, 0]), unit), name=name, why="the table covers"
    )
    return np.asarray(np.interp(inside, points[:, 0], points[:, 1]), dtype=float)


_ROWS_AT_ONCE: Final = 8  # of a sort: what is copied fits the processor's cache


def quantiles_by_row(values: FloatArray, shares: FloatArray) -> FloatArray:
    """Return quantiles of each row, shape (quantiles, rows), as `numpy.quantile` does.

    Parameters
    ----------
    values : shape (rows, count)
    shares : shape (quantiles,)
        0 to 1.
    """
    found = np.empty((len(shares), len(values)))
    for first in range(0, len(values), _ROWS_AT_ONCE):
        rows = slice(first, first + _ROWS_AT_ONCE)
        found[:, rows] = quantiles_of_sorted(np.sort(values[rows], axis=1), shares)
    return found


def quantiles_of_sorted(values: FloatArray, shares: FloatArray) -> FloatArray:
    """Return quantiles of rows already in order, by straight lines between ranks.

    Parameters
    ----------
    values : shape (..., count)
        Rising along the last axis.
    shares : shape (quantiles,)
        0 to 1.

    Returns
    -------
    ndarray of float, shape (quantiles, ...)
        The same numbers as `numpy.quantile`, which partitions every row for each call.

    Examples
    --------
    >>> quantiles_of_sorted(np.array([0.0, 1.0, 4.0]), np.array([0.25, 1.0]))
    array([0.5, 4. ])
    """
    rank = shares * (values.shape[-1] - 1)
    below = np.floor(rank).astype(np.intp)
    part = rank - below
    low = values[..., below]
    high = values[..., np.minimum(below + 1, values.shape[-1] - 1)]
    with np.errstate(invalid="ignore"):  # inf less inf: both ends are the same
        rise = np.where(high > low, high - low, 0.0)
    between = np.where(part < 0.5, low + rise * part, high - rise * (1.0 - part))
    return np.asarray(np.moveaxis(between, -1, 0))
