"""What earlier stands taught of one vehicle: a normal distribution over its inputs and offsets."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.files.profile import BatteryProfile
from drainsim.physics.tables import FloatArray

# Inputs a night voltage depends on, in the standard normal space of the draws, and two offsets.
INPUTS: Final = ("state_of_charge", "capacity_health", "quiescent_a", "unit_a", "self_discharge")
SIZE: Final = len(INPUTS) + 1  # and the slope of the curve
# Between batteries of a type at one charge 40 to 60 mV were measured, half of what published
# tables differ by, which the profiles hold (they mix fills, rounding and rests).
_OF_PROFILE: Final = 0.56
UNIT_OFFSET_SD_V: Final = 0.06  # uncalibrated inputs: 0.5 %, dividers 1 % (open firmware threads)
MODEL_OFFSET_SD_V: Final = 0.04  # of that, what units of one model share: no source
# How much of it still holds at the next stand: what is drawn and what the battery is stay; the
# charge a drive leaves differs each time. Common practice, no source.
_KEPT: Final = np.array([0.6, 0.98, 0.95, 0.95, 0.98, 0.98, 0.98, 0.98])


@dataclass(frozen=True, slots=True)
class Learned:
    """Mean and covariance of six inputs (standard deviations) and two offsets [V]: battery, unit.

    `fault` is the probability of an extra drain when it was last looked at, `stands` how many
    stands taught it.
    """

    mean: FloatArray
    covariance: FloatArray
    stands: int = 0
    fault: float = 0.0

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON-ready data."""
        return {
            "mean": self.mean.tolist(),
            "covariance": self.covariance.tolist(),
            "stands": self.stands,
            "fault": self.fault,
        }

    @classmethod
    def from_dict(cls, found: dict[str, Any]) -> "Learned":
        """Return what `as_dict` wrote."""
        return cls(
            np.array(found["mean"]), np.array(found["covariance"]), found["stands"], found["fault"]
        )


def nothing_learned(profile: BatteryProfile, *, unit_offset: tuple[float, float]) -> Learned:
    """Return what is known of a vehicle before its first stand.

    Parameters
    ----------
    profile : BatteryProfile
    unit_offset : (float, float)
        Mean and standard deviation of the unit's error. [V]
    """
    curve_sd_v = _OF_PROFILE * profile.number_or("open_circuit_offset_sd_v", 0.08)
    mean = np.zeros(SIZE + 2)
    mean[-1] = unit_offset[0]
    return Learned(mean, np.diag([*np.ones(SIZE), curve_sd_v**2, unit_offset[1] ** 2]))


def at_next_stand(learned: Learned, fresh: Learned) -> Learned:
    """Return what is known when the vehicle parks again: learned, and a part forgotten.

    Parameters
    ----------
    learned : Learned
        At the end of the stand before.
    fresh : Learned
        Of a vehicle nothing is known of.
    """
    kept = np.outer(_KEPT, _KEPT)
    mean = fresh.mean + _KEPT * (learned.mean - fresh.mean)
    return Learned(
        mean,
        kept * learned.covariance + (1.0 - kept) * fresh.covariance,
        learned.stands,
        learned.fault,
    )
