"""What do the wake-ups in a current log cost: share of the drain, and days?"""

from dataclasses import asdict, dataclass
from typing import Any, Final

from drainsim.answers.installer.current_log import CurrentLogAnswer, measured_scenario
from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.words import days_words
from drainsim.language import Message, Said, marked, message
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_LEAST_SHARE: Final = 0.01  # below it a meter's wander is no less


@dataclass(frozen=True, slots=True, kw_only=True)
class WakeUpCost:
    """What wake-ups cost a parked vehicle; days of None are beyond the horizon."""

    share: float  # of the mean current while asleep
    days_with: float | None
    days_without: float | None
    horizon_days: int
    vehicle: str  # whose days
    noun: str = "wake-ups"

    def as_dict(self) -> dict[str, Any]:
        """Return the cost as JSON-ready data."""
        return {key: value for key, value in asdict(self).items() if key != "noun"}

    @property
    def words(self) -> Message:
        """Return the cost in a sentence."""
        horizon = self.horizon_days
        with_, without = (days_words(one, horizon) for one in (self.days_with, self.days_without))
        figures: dict[str, Said] = {
            "what": message(self.noun),
            "percent": 100 * self.share,
            "without": without,
            "with_": with_,
            "vehicle": self.vehicle,
        }
        if self.days_with is None:
            return message(
                "The {what} are {percent:.0f} % of the drain ({without} instead of {with_}; "
                "{vehicle}).",
                **figures,
            )
        more = (horizon if self.days_without is None else self.days_without) - self.days_with
        return message(
            "The {what} are {percent:.0f} % of the drain; without them at least {more:+.0f} days "
            "({without} instead of {with_}; {vehicle})."
            if self.days_without is None
            else "The {what} are {percent:.0f} % of the drain; without them {more:+.0f} days "
            "({without} instead of {with_}; {vehicle}).",
            **figures,
            more=more,
        )


def wake_up_cost(
    answer: CurrentLogAnswer, *, base: Scenario | None = None, log_of: str = "vehicle"
) -> WakeUpCost | None:
    """Return what the wake-ups cost, None where the log shows none worth a word.

    Parameters
    ----------
    answer : CurrentLogAnswer
    base : Scenario, optional
        The vehicle whose days are calculated; an average one otherwise.
    log_of : {"vehicle", "total", "unit"}
        What the log measured, as for `measured_scenario`.

    Notes
    -----
    Both stands draw one steady current, the log's mean and its settled current: the days apart
    are the wake-ups' and nothing else's.
    """
    found = answer.findings
    if found.settled_a is None or found.mean_a is None or found.mean_a <= 0.0:
        return None
    share = 1.0 - max(found.settled_a, 0.0) / found.mean_a
    if share < _LEAST_SHARE or (answer.wake_ups is None and answer.unit_reports is None):
        return None
    scenario = measured_scenario(answer, base=base, log_of=log_of)

    def stand(current_a: float) -> ParkAnswer:
        """Return the stand in which what was measured draws one current throughout."""
        steady: dict[str, Any] = (
            {UNIT.sleep_a: current_a, UNIT.report_charge_as: 0.0}
            if log_of == "unit"
            else {VEHICLE.quiescent_a: current_a, VEHICLE.wake_ups: []}
        )
        return park(resolve(scenario.with_values(steady)))

    all_in, without = stand(found.mean_a), stand(max(found.settled_a, 0.0))
    return WakeUpCost(
        share=share,
        days_with=all_in.days_to_no_start.p50,
        days_without=without.days_to_no_start.p50,
        horizon_days=all_in.case.horizon_days,
        vehicle=base.where if base else message("an average vehicle, no scenario given"),
        noun=marked("reports") if log_of == "unit" else marked("wake-ups"),
    )
