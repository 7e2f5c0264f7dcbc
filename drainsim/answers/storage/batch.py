"""Many stands in few runs."""

from collections.abc import Sequence

from drainsim.simulation.many import DrawnStand, run_cases
from drainsim.vehicle.case import Case


def stands_of(cases: Sequence[Case], *, step_h: float | None = None) -> list[DrawnStand]:
    """Return the draws of each case, in order; the same numbers as one run for each.

    Parameters
    ----------
    cases : sequence of Case
    step_h : float, optional
        Length of a block for all of them; each case's own if left out. [h]

    Notes
    -----
    A run's cost lies half in its steps and half in its lanes, so ten cases together take about
    the time of three.
    """
    found = dict(run_cases(cases, step_h=step_h))
    return [found[number] for number in range(len(cases))]
