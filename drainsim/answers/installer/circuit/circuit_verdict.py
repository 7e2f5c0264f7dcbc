"""The verdict on one circuit in one purpose, and the reasons it is weighed from."""

from dataclasses import asdict, dataclass, field
from typing import Any, Final

from drainsim.answers.installer.circuit.circuit_numbers import CircuitNumbers, SupplyNeeds
from drainsim.files.circuits import Circuit
from drainsim.language import Message, Said, message

ACCEPTED, REFUSED, CANNOT_TELL = "accepted", "refused", "cannot tell"
_EFFECTS: Final = ("refuses", "unknown", "consequence", "condition", "speaks for")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One sentence; `effect` is refuses, unknown, consequence, condition or speaks for."""

    effect: str
    text: str
    value: float | None = None
    unit: str = ""
    reading: str = ""  # the column it rests on, or the one that is missing

    def as_dict(self) -> dict[str, Any]:
        """Return the reason as JSON-ready data."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleVerdict:
    """Whether a circuit serves one purpose."""

    circuit: Circuit
    role: str
    verdict: str
    reasons: tuple[Reason, ...]
    deciding_reading: str | None  # the one reading to take next
    days_lost: float | None

    @property
    def consequences(self) -> tuple[Reason, ...]:
        """Return what accepting it brings with it."""
        return tuple(reason for reason in self.reasons if reason.effect == "consequence")

    def as_dict(self) -> dict[str, Any]:
        """Return the verdict as JSON-ready data."""
        return {
            "name": self.circuit.name,
            "class": self.circuit.kind,
            "role": self.role,
            "verdict": self.verdict,
            "reasons": [reason.as_dict() for reason in self.reasons],
            "deciding_reading": self.deciding_reading,
            "days_lost": self.days_lost,
        }


@dataclass(slots=True)
class CircuitCase:
    """Collects the reasons of one circuit in one role."""

    circuit: Circuit
    needs: SupplyNeeds
    numbers: CircuitNumbers
    reasons: list[Reason] = field(default_factory=list)

    def judge(
        self,
        effect: str,
        text: str,
        value: float | None = None,
        unit: str = "V",
        reading: str = "",
        **figures: Said,
    ) -> None:
        """Write down a reason, as `message` takes it."""
        said = text if isinstance(text, Message) else message(text, **figures)
        shown = unit if value is not None else ""
        self.reasons.append(
            Reason(effect=effect, text=said, value=value, unit=shown, reading=reading)
        )

    def missing(self, column: str, why: str, **figures: Said) -> None:
        """Write down a reading that would decide, and why as `message` takes it."""
        text = message("{reading} was not read: {why}", reading=column, why=message(why, **figures))
        self.judge("unknown", text, reading=column)

    def verdict(self, role: str, days_lost: float | None) -> RoleVerdict:
        """Weigh the reasons."""
        effects = {reason.effect for reason in self.reasons}
        unknown = [reason.reading for reason in self.reasons if reason.effect == "unknown"]
        verdict = REFUSED if "refuses" in effects else CANNOT_TELL if unknown else ACCEPTED
        return RoleVerdict(
            circuit=self.circuit,
            role=role,
            verdict=verdict,
            reasons=tuple(sorted(self.reasons, key=lambda reason: _EFFECTS.index(reason.effect))),
            deciding_reading=unknown[0] if verdict == CANNOT_TELL else None,
            days_lost=days_lost,
        )
