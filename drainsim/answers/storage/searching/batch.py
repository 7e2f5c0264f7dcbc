"""Many stands in few runs."""

from collections.abc import Sequence

from drainsim.answers.driving.before_parking import parked_from_patterns
from drainsim.simulation.many import DrawnStand, run_cases
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.case import Case


def stands_of(
    cases: Sequence[Case], *, rough: bool = False, mornings_only: bool = False
) -> list[DrawnStand]:
    """Return the draws of each case, parked as its driving leaves it, in order.

    Parameters
    ----------
    cases : sequence of Case
    rough : bool
        As in `charges_left`, and in blocks of a day.
    mornings_only : bool
        As in `run_cases`: enough for `risk_of` unless it asks for any time.

    Notes
    -----
    The same numbers as one run for each. A run's cost lies half in its steps and half in its
    lanes, so ten cases together take about the time of three.
    """
    found = dict(
        run_cases(
            parked_from_patterns(cases, rough=rough, alone=True),
            step_h=HOURS_PER_DAY if rough else None,
            mornings_only=mornings_only,
        )
    )
    return [found[number] for number in range(len(cases))]
