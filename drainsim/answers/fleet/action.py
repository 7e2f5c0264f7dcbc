"""What to do about one vehicle of a fleet: the step, what it takes and what it saves."""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final

from drainsim.answers.advice import ADVICE, CHARGE_FULL, label_of
from drainsim.answers.advice_plans import SHELTER_C
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import together_words
from drainsim.language import Celsius, Message, counted_message, message
from drainsim.units import whole_percent

_LOOK_H: Final = 0.5  # to look at a vehicle; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """What to do about a vehicle by when with what, and its risk on one day before and after.

    `until` is the day both risks are of: the planned return, else the last of the days asked
    about, else the riskiest day up to then. `keys` are the ways of the list, empty where something
    else comes first.
    """

    id: str
    key: str
    keys: tuple[str, ...] = ()
    words: Message
    act_by: dt.date
    until: dt.date
    risk_before: float
    risk_after: float

    @property
    def promises(self) -> bool:
        """Say whether it is a step whose effect is known, not what must come before any."""
        return bool(self.keys)

    @property
    def saves(self) -> float:
        """No-starts avoided on that day, as an expected number."""
        return max(self.risk_before - self.risk_after, 0.0)

    @property
    def work_h(self) -> float:
        """Hours of work, travel not counted; half an hour to look at it where no way is named."""
        return sum(ADVICE[key].work_h for key in self.keys) if self.keys else _LOOK_H

    @property
    def people(self) -> int:
        """People needed at once."""
        return max((ADVICE[key].people for key in self.keys), default=1)

    @property
    def charger(self) -> bool:
        """Say whether a charger is busy with it."""
        return any(ADVICE[key].charger for key in self.keys)

    @property
    def takes(self) -> Message:
        """What it takes: tools, hours, people."""
        tools = [
            message(tool, shelter_c=Celsius(SHELTER_C))
            for tool in dict.fromkeys(ADVICE[key].tools for key in self.keys)
        ]
        return message(
            "{tools}; {hours:g} h; {people}",
            tools=together_words(tools) if self.keys else message("a voltmeter"),
            hours=self.work_h,
            people=counted_message("{number} person", "{number} people", self.people),
        )

    @property
    def effect(self) -> Message:
        """What it saves: the risk on a named day before and after."""
        return message(
            "risk on {day}: {before} % -> {after} %"
            if self.promises
            else "risk on {day}: {before} % as it is",
            day=self.until.isoformat(),
            before=whole_percent(self.risk_before),
            after=whole_percent(self.risk_after),
        )

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON and tables."""
        return {
            "id": self.id,
            "action": self.key,
            "words": self.words,
            "act_by": self.act_by.isoformat(),
            "takes": self.takes,
            "until": self.until.isoformat(),
            "risk_before": round(self.risk_before, 4),
            "risk_after": round(self.risk_after, 4),
        }


def instruction(vehicle: VehicleAnswer, action: Action | None) -> Message:
    """Return what to do about a vehicle that needs someone, also where no step was searched for.

    Parameters
    ----------
    vehicle : VehicleAnswer
    action : Action or None
        What the search found for it; None where none was made.
    """
    if action is not None:
        return action.words
    return message(
        "{step} by {day} (no other step was tried)",
        step=message(label_of(CHARGE_FULL, {}, standing=True)),
        day=str(vehicle.act_by),
    )
