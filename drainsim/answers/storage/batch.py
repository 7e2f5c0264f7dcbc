"""Many stands in few runs."""

from collections.abc import Sequence

from drainsim.answers.driving.before_parking import parked_from_patterns
from drainsim.simulation.many import DrawnStand, run_cases
from drainsim.vehicle.case import Case


def stands_of(
    cases: Sequence[Case], *, step_h: float | None = None, every: int = 1
) -> list[DrawnStand]:
    """Return the draws of each case, parked as its driving leaves it, in order.

    Parameters
    ----------
    cases : sequence of Case
    step_h : float, optional
        Length of a block for all of them; each case's own if left out. [h]
    every : int
        As in `parked_from_patterns`.

    Notes
    -----
    The same numbers as one run for each. A run's cost lies half in its steps and half in its
    lanes, so ten cases together take about the time of three.
    """
    found = dict(run_cases(parked_from_patterns(cases, every=every), step_h=step_h))
    return [found[number] for number in range(len(cases))]
