"""What current flows through a fuse, from the millivolts across it?"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim import __version__
from drainsim.errors import OutOfRangeError
from drainsim.language import Message, message
from drainsim.physics.wiring import CONTINUOUS_SHARE, FuseKind, fuse_cold_ohm, fuse_current_a

# ISO 8820-3 types by their letter and in trade words.
FUSE_NAMES: Final[dict[str, FuseKind]] = {
    "medium": "medium",
    "regular": "medium",
    "blade": "medium",
    "c": "medium",
    "mini": "mini",
    "f": "mini",
}
DEFAULT_RESOLUTION_MV: Final = 0.1  # a workshop meter's lowest range: common practice, no source
_HIGHEST_MV: Final = 200.0  # a blade fuse at its rating drops 84 to 176 mV: from memory
# Nominal resistances vary between makers, and copies do not follow the charts at all: measured
# 4.5 against 4.8 mohm for 15 A is 6 %; 10 % is common practice, no source.
_CHART_SHARE: Final = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseDropAnswer:
    """A current through a fuse with its range, and what the meter cannot see."""

    kind: FuseKind
    rating_a: float
    drop_mv: float
    resolution_mv: float
    resistance_ohm: float
    current_a: float
    low_a: float
    high_a: float
    step_a: float  # current of one step of the meter
    wanted_a: float | None
    sees_wanted: bool | None
    verdict: Message
    warnings: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "fuse_type": self.kind,
            "fuse_a": self.rating_a,
            "drop_mv": self.drop_mv,
            "resolution_mv": self.resolution_mv,
            "fuse_resistance_ohm": self.resistance_ohm,
            "current_a": self.current_a,
            "current_low_a": self.low_a,
            "current_high_a": self.high_a,
            "smallest_visible_a": self.step_a,
            "looking_for_a": self.wanted_a,
            "can_see_it": self.sees_wanted,
            "verdict": self.verdict,
            "warnings": list(self.warnings),
        }


def _fuse_kind(name: str) -> FuseKind:
    """Return the kind of a fuse by its name, or refuse one that is not known."""
    kind = FUSE_NAMES.get(name.strip().lower())
    if kind is None:
        raise OutOfRangeError(
            f"fuse type {name[:40]!r}: use medium (ISO 8820-3 type C) or mini (type F)"
        )
    return kind


def fuse_drop(
    *,
    kind: str,
    rating_a: float,
    drop_mv: float,
    resolution_mv: float = DEFAULT_RESOLUTION_MV,
    wanted_a: float | None = None,
) -> FuseDropAnswer:
    """Return the current through a fuse left in place.

    Parameters
    ----------
    kind : str
        "medium" or "mini".
    rating_a : float
        Fuse rating. [A]
    drop_mv : float
        Voltage across the fuse; the sign is the direction and is left out. [mV]
    resolution_mv : float
        Step of the meter. [mV]
    wanted_a : float, optional
        Current someone hopes to see, such as the added unit's. [A]

    Raises
    ------
    OutOfRangeError
        If a value cannot be.
    """
    fuse = _fuse_kind(kind)
    if not 0.0 < resolution_mv <= 100.0:
        raise OutOfRangeError(f"resolution_mv={resolution_mv:g} mV must be above 0 and at most 100")
    if not abs(drop_mv) <= _HIGHEST_MV:
        raise OutOfRangeError(
            f"mv={drop_mv:g} mV: a fuse in place drops at most some {_HIGHEST_MV:g} mV; is it "
            "blown or the meter on volts?"
        )
    if wanted_a is not None and not wanted_a > 0.0:
        raise OutOfRangeError(f"looking_for={wanted_a:g} A must be above 0 A")
    size_mv = abs(drop_mv)
    ohm = fuse_cold_ohm(rating_a, kind=fuse)
    edges = np.array([size_mv, max(size_mv - resolution_mv, 0.0), size_mv + resolution_mv])
    current, low, high = fuse_current_a(edges / 1000.0, rating_a=rating_a, kind=fuse)
    low, high = low / (1.0 + _CHART_SHARE), high / (1.0 - _CHART_SHARE)
    step = resolution_mv / 1000.0 / ohm
    sees = None if wanted_a is None else bool(wanted_a >= 2.0 * step)
    shown = (
        message("{ma:.0f} mA", ma=1000 * current)
        if current < 1.0
        else message("{amperes:.2f} A", amperes=current)
    )
    verdict = message(
        "{current} through the fuse ({low:.0f} to {high:.0f} mA).",
        current=shown,
        low=1000 * low,
        high=1000 * high,
    )
    if size_mv < resolution_mv:
        verdict = message(
            "Nothing to see: less than {ma:.0f} mA, one step of the meter.", ma=1000 * step
        )
    warnings = [
        message(
            "one step of {mv:g} mV is {ma:.0f} mA through this fuse: smaller currents and changes "
            "cannot be seen",
            mv=resolution_mv,
            ma=1000 * step,
        ),
        message(
            "nominal cold resistance, most values from memory; copies of fuses do not follow the "
            "charts; read on the two test points on the back, fuse left in place"
        ),
    ]
    if drop_mv < 0.0:
        warnings.append(
            message("the sign is left out: the leads are the other way round, or the current is")
        )
    if sees is False and wanted_a is not None:
        warnings.append(
            message(
                "{ma:.3g} mA cannot be seen through a {rating:g} A fuse with this meter: use a "
                "clamp for milliamperes or a meter in series",
                ma=1000 * wanted_a,
                rating=rating_a,
            )
        )
    if current > CONTINUOUS_SHARE * rating_a:
        warnings.append(
            message(
                "above {percent:.0f} % of the rating the fuse is hot and its resistance higher: "
                "the true current is smaller",
                percent=100 * CONTINUOUS_SHARE,
            )
        )
    return FuseDropAnswer(
        kind=fuse,
        rating_a=rating_a,
        drop_mv=drop_mv,
        resolution_mv=resolution_mv,
        resistance_ohm=ohm,
        current_a=float(current),
        low_a=float(low),
        high_a=float(high),
        step_a=step,
        wanted_a=wanted_a,
        sees_wanted=sees,
        verdict=verdict,
        warnings=tuple(warnings),
    )
