"""Where does a rising risk pass a limit? As few runs as possible, many candidates in each.

A coarse grid of rough risks says about where; exact ones close in from both sides until two
neighbours lie either side of the limit. Rough risks only choose where to look.
"""

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from drainsim.simulation.draws import normal_quantile

_GRID: Final = 13
_PARTS: Final = (7, 9, 11, 13)  # how far into the grid before the harder values are run at all
_FEW: Final = 3  # so many candidates are simply all run
_ROUGH_SD: Final = 0.25  # of a rough risk, in standard deviations of the drawn vehicles
_SMALLEST: Final = 1e-3  # risks nearer to 0 or 1 say nothing about distance


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Candidates whose risk is wanted, by number; rough: few draws will do."""

    numbers: tuple[int, ...]
    rough: bool = False


Asking: TypeAlias = Generator[Ask, Mapping[int, float], int | None]


def last_holding(count: int, limit: float, *, rough: bool) -> Asking:
    """Ask for risks until the last candidate that holds is known; return its number or None.

    Parameters
    ----------
    count : int
        Candidates, from the one most likely to hold to the hardest.
    limit : float
        Risk that is still accepted.
    rough : bool
        Rough risks are cheaper; without them the grid is exact, too.

    Notes
    -----
    Both sides of the limit are asked for exactly: the candidate returned holds, the next one
    does not. Where the risk rises throughout it is the candidate plain bisection finds.
    """
    grid: dict[int, float] = {}
    whole = np.unique(np.linspace(0, count - 1, _GRID).round().astype(int)).tolist()
    done = 0
    for end in _PARTS:
        part, done = tuple(whole[done:end]), end
        if part:
            grid |= yield Ask(numbers=part, rough=rough)
        if max(grid.values()) > limit:
            break
    exact = {} if rough else dict(grid)
    while True:
        holds = max((n for n, risk in exact.items() if risk <= limit), default=-1)
        fails = min((n for n, risk in exact.items() if risk > limit and n > holds), default=count)
        if fails - holds == 1:
            return holds if holds >= 0 else None
        if fails - holds <= _FEW + 1:
            wanted = set(range(holds + 1, fails))
        elif holds >= 0 and fails < count:
            wanted = _between(exact, holds, fails, limit)
        else:
            wanted = _beyond(exact, grid, holds, fails, limit)
        inside = sorted({min(max(n, holds + 1), fails - 1) for n in wanted})
        exact |= yield Ask(numbers=tuple(inside))


def _z(risk: float) -> float:
    """Return a risk in standard deviations: near a straight line against most inputs."""
    return float(normal_quantile(min(max(risk, _SMALLEST), 1.0 - _SMALLEST)))


def _between(exact: Mapping[int, float], holds: int, fails: int, limit: float) -> set[int]:
    """Return where to look next between two exact risks: near the line's crossing."""
    width = fails - holds
    if exact[holds] <= _SMALLEST or exact[fails] >= 1.0 - _SMALLEST:  # no line to be drawn
        return {holds + width // 4, holds + width // 2, fails - width // 4}
    low, high = _z(exact[holds]), _z(exact[fails])
    near = holds + int((_z(limit) - low) / (high - low) * width)
    aside = max(1, width // 8)
    wanted = {near - aside, near, near + 1, near + 1 + aside}
    if near <= holds or near + 1 >= fails:  # a risk that hardly moves: never a step at a time
        wanted.add(holds + width // 2)
    return wanted


def _beyond(
    exact: Mapping[int, float], grid: Mapping[int, float], holds: int, fails: int, limit: float
) -> set[int]:
    """Return where to look next while one side has no exact risk: about the grid's crossing.

    Where that misses, far on the other side, too, to have the limit between two.
    """
    last = max(grid)
    below = max((n for n, risk in grid.items() if risk <= limit), default=0)
    above = min((n for n, risk in grid.items() if risk > limit and n > below), default=last)
    rise = max(_z(grid[above]) - _z(grid[below]), 1e-3)
    width = max(above - below, 1)
    aside = max(1, round(width * min(_ROUGH_SD / rise, 0.5)))
    if exact and holds >= 0:
        return {holds + 4 * aside, last if last > holds else (holds + fails) // 2}
    if exact:
        return {fails - 4 * aside, fails // 2, 0}
    if grid[0] > limit:
        return {0}
    if grid[above] <= limit:
        return {fails - 1}
    near = below + round(width * (_z(limit) - _z(grid[below])) / rise)
    return {near - aside, near + aside}
