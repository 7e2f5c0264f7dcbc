"""Which constants no outside value holds, and how far each of them moves an answer.

`tests/evidence/constant_effects.py` changes them; this module reads what it stored.
"""

from dataclasses import asdict, dataclass
from typing import Any

from drainsim.evidence import stored
from drainsim.evidence.constant_words import constant_in_words
from drainsim.language import Message, marked, message

OWN_SOURCE = marked("only by the source it was taken from, or from memory")
NOTHING = marked("by nothing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change of one constant that moves an example by more than the threshold.

    `held_by` names checks of other sources or measurements that fail with it, `carried_by` those
    that share the constant's source, define it or come from memory. `days_after` and `moved_by`
    are None where the model refuses the changed value.
    """

    constant: str
    value: float
    change: str
    changed_to: float
    example: str
    days_before: float
    days_after: float | None
    moved_by: float | None
    held_by: list[str]
    carried_by: list[str]

    @property
    def in_words(self) -> str:
        """Say what the constant is."""
        return constant_in_words(self.constant)

    @property
    def held(self) -> str:
        """Say what would notice the change."""
        if self.held_by:
            return ", ".join(self.held_by)
        return OWN_SOURCE if self.carried_by else NOTHING


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """All changes that move an example; constants are counted by their weakest change."""

    threshold: float  # share by which the median days of an example must move
    examples: dict[str, float]  # median days
    constants: int
    changes: tuple[Change, ...]

    @property
    def moving(self) -> int:
        """Count the constants that move an example."""
        return len({change.constant for change in self.changes})

    @property
    def unheld(self) -> tuple[Change, ...]:
        """Return changes that no outside value would notice, the ones moving most first."""
        found = [change for change in self.changes if not change.held_by]
        return tuple(
            sorted(found, key=lambda c: -abs(c.moved_by) if c.moved_by is not None else -9.0)
        )

    @property
    def unheld_constants(self) -> int:
        """Count the constants with a change that no outside value would notice."""
        return len({change.constant for change in self.unheld})

    @property
    def free_constants(self) -> int:
        """Count the constants with a change that no check at all would notice."""
        return len({change.constant for change in self.unheld if not change.carried_by})

    def as_dict(self) -> dict[str, Any]:
        """Return counts and the changes no outside value would notice, for JSON."""
        return {
            "threshold": self.threshold,
            "examples_median_days": self.examples,
            "constants": self.constants,
            "moving": self.moving,
            "held": self.moving - self.unheld_constants,
            "not_held": self.unheld_constants,
            "noticed_by_nothing": self.free_constants,
            "no_outside_value_holds": [asdict(change) for change in self.unheld],
        }


def holding() -> Holding:
    """Return the stored results."""
    document = stored.constants()
    return Holding(
        threshold=document["threshold"],
        examples=document["examples"],
        constants=len(document["constants"]),
        changes=tuple(Change(**row) for row in document["rows"]),
    )


def holding_words(found: Holding) -> tuple[Message, ...]:
    """Return the counts as sentences."""
    return (
        message(
            "{constants} numbers of the model were changed by a stated amount, both ways. "
            "{moving} of them move the median of one of {examples} examples by more than "
            "{percent:g} %.",
            constants=found.constants,
            moving=found.moving,
            examples=len(found.examples),
            percent=100.0 * found.threshold,
        ),
        message(
            "{held} of these {moving} are held: a check of another source, or a measurement, fails "
            "when they are changed.",
            held=found.moving - found.unheld_constants,
            moving=found.moving,
        ),
        message(
            "{unheld} are not, to one side or both: {noticed} are noticed {source}, {free} "
            "{nothing}. They are listed with what they do.",
            unheld=found.unheld_constants,
            noticed=found.unheld_constants - found.free_constants,
            source=message(OWN_SOURCE),
            free=found.free_constants,
            nothing=message(NOTHING),
        ),
    )


def effect_words(change: Change) -> str:
    """Return "31 → 36 days (+16 %)" or that the model refuses the value."""
    if change.days_after is None or change.moved_by is None:
        return "refused"
    percent = f"{100.0 * change.moved_by:+.0f} %"
    return f"{change.days_before:.0f} → {change.days_after:.0f} days ({percent})"


def change_words(change: Change) -> str:
    """Return what is changed and what it does, as one line."""
    return (
        f"{change.in_words} = {change.value:.4g}, {change.change} ({change.changed_to:.4g}): "
        f"{change.example} {effect_words(change)}; noticed {change.held}"
    )
