"""What stands in the way when nothing within reach makes a stand hold."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.answers.storage.changes import Changes
from drainsim.answers.storage.risk import StandQuestion, risk_by_day
from drainsim.language import Message, marked, message
from drainsim.simulation.many import DrawnStand
from drainsim.simulation.standing.stand import Stand
from drainsim.vehicle.case import Case

SENTENCES: Final = {
    "cranking_at_parking": (
        "already on the day of parking {percent:.0f} % would not start: the battery is too small, "
        "too old, too empty or too cold for this engine"
    ),
    "freezing": "the battery freezes in {percent:.0f} % of the cases",
    "vehicle": "the vehicle's own draw takes {percent:.0f} % of the charge that is lost",
    "unit": "the added unit takes {percent:.0f} % of the charge that is lost",
    "other": "other loads take {percent:.0f} % of the charge that is lost",
    "self_discharge": "self-discharge takes {percent:.0f} % of the charge that is lost",
    "cold": "the cold on the way: hardly any charge is drawn, but cranking power runs short",
}

# Of one value alone; the longer sentence stands in the headline.
_SHORT: Final = {
    "cranking_at_parking": marked("{percent:.0f} % would not start on the day of parking"),
}

_HARDLY: Final = 0.1  # share of the charge; common practice, no source
_MOST_HEALTH: Final = 1.2  # of capacity among the draws, `simulation.lanes`


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The binding limit: a key for translation, its figure, and the sentence."""

    key: str
    percent: float

    @property
    def sentence(self) -> Message:
        """The limit in plain words."""
        return message(SENTENCES[self.key], percent=self.percent)

    @property
    def short(self) -> Message:
        """The limit in few words."""
        return message(_SHORT.get(self.key, SENTENCES[self.key]), percent=self.percent)

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {"key": self.key, "percent": round(self.percent, 1), "sentence": self.sentence}


def binding_limit(
    question: StandQuestion,
    changes: Changes | None = None,
    *,
    stand: Stand | DrawnStand | None = None,
) -> Limit:
    """Return what ends the stand with changes, looked up in the same draws.

    Parameters
    ----------
    question : StandQuestion
    changes : mapping, optional
    stand : Stand or DrawnStand, optional
        That stand, where it was run already.
    """
    first_day = stand or question.stand(changes, days=1)
    at_parking = float(risk_by_day(first_day)[0])
    if at_parking > question.risk:
        return Limit(key="cranking_at_parking", percent=100.0 * at_parking)
    stand = stand or question.stand(changes)
    # Frozen first of all, not frozen because it was flat long before.
    first = np.isfinite(stand.freezing_h) & (stand.freezing_h <= stand.no_start_h)
    frozen = float(first.mean())
    if frozen > question.risk:
        return Limit(key="freezing", percent=100.0 * frozen)
    if isinstance(stand, DrawnStand) and not _much_drawn(question.case(changes), stand):
        stand = question.stand(changes)  # its balance says what was left
    drains = _drains_ah(stand)
    total = sum(drains.values())
    if isinstance(stand, Stand):
        start_ah = float(stand.balance.left_ah.mean()) + total
        if total < _HARDLY * start_ah:
            return Limit(key="cold", percent=100.0 * total / start_ah)
    largest = max(drains, key=lambda key: drains[key])
    return Limit(key=largest, percent=100.0 * drains[largest] / total)


def _drains_ah(stand: Stand | DrawnStand) -> dict[str, float]:
    """Return what took charge, the mean over the draws."""
    if isinstance(stand, DrawnStand):
        vehicle, unit, other, lost = stand.vehicle_ah, stand.unit_ah, stand.other_ah, stand.lost_ah
    else:
        balance = stand.balance
        parts = (balance.vehicle_ah, balance.unit_ah, balance.other_ah, balance.lost_ah)
        vehicle, unit, other, lost = (float(part.mean()) for part in parts)
    return {"vehicle": vehicle, "unit": unit, "other": max(other, 0.0), "self_discharge": lost}


def _much_drawn(case: Case, stand: DrawnStand) -> bool:
    """Say whether more was drawn than could be called hardly any, however full it began.

    What is left and drawn is at most the charge of the healthiest battery drawn, and what came in.
    """
    most_ah = _MOST_HEALTH * case.battery.kinetic.low_rate_capacity_ah + max(-stand.other_ah, 0.0)
    return sum(_drains_ah(stand).values()) >= _HARDLY * most_ah
