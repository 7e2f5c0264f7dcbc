"""Many stands in few runs: cases that can step together do, the others go alone."""

from collections.abc import Sequence

from drainsim.answers.park import run_draws
from drainsim.models.case import Case
from drainsim.simulation.law import law_of
from drainsim.simulation.many import DrawnStand, run_cases
from drainsim.simulation.stand import Stand


def stands_of(cases: Sequence[Case]) -> list[Stand | DrawnStand]:
    """Return the draws of each case, in order; the same numbers as one run for each.

    A run's cost lies half in its steps and half in its lanes, so ten cases together take about
    the time of three. Vehicles without a starter go alone: what counts there (the unit's
    silence) may come after a lane was let go.
    """
    together = [number for number, case in enumerate(cases) if case.vehicle.starts]
    found: dict[int, Stand | DrawnStand] = {
        number: run_draws(case, law_of(case), trace=False)
        for number, case in enumerate(cases)
        if not case.vehicle.starts
    }
    for place, drawn in run_cases([cases[number] for number in together]):
        found[together[place]] = drawn
    return [found[number] for number in range(len(cases))]
