"""What stands in the way when nothing within reach makes a stand hold."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.answers.changes import Changes
from drainsim.answers.risk import StandQuestion, risk_by_day
from drainsim.simulation.stand import Stand

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The binding limit: a key for translation, its figure, and the sentence."""

    key: str
    percent: float

    @property
    def sentence(self) -> str:
        """The limit in plain words."""
        return SENTENCES[self.key].format(percent=self.percent)

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {"key": self.key, "percent": round(self.percent, 1), "sentence": self.sentence}


def binding_limit(
    question: StandQuestion, changes: Changes | None = None, *, stand: Stand | None = None
) -> Limit:
    """Return what ends the stand with changes, looked up in the same draws.

    Parameters
    ----------
    question : StandQuestion
    changes : mapping, optional
    stand : Stand, optional
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
    books = stand.books
    drains = {
        "vehicle": float(books.vehicle_ah.sum()),
        "unit": float(books.unit_ah.sum()),
        "other": max(float(books.other_ah.sum()), 0.0),
        "self_discharge": float(books.lost_ah.sum()),
    }
    total = sum(drains.values())
    start_ah = float(books.left_ah.sum()) + total
    if total < 0.1 * start_ah:
        return Limit(key="cold", percent=100.0 * total / start_ah)
    largest = max(drains, key=lambda key: drains[key])
    return Limit(key=largest, percent=100.0 * drains[largest] / total)
