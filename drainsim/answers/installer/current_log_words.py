"""What a log of the current says, in words: currents as well as they are known, and warnings."""

import math
from typing import Final

from drainsim.files.current_log.reader import CurrentLog
from drainsim.physics.current_log.pulses import PulseGroup
from drainsim.physics.current_log.settled import (
    LONGEST_SETTLING_S,
    STEADY_S,
    SUSPECT_A,
    LogFindings,
)

_COARSE_SHARE: Final = 0.1  # a step above this share of the settled current is worth a word
# A mA jack has 1 to 10 ohm: common practice, no source. Its step is 0.1 mA or finer.
_FINE_RANGE_A: Final = 1.01e-4
_BURDEN_A: Final = 0.3


def ma(current_a: float | None) -> str:
    """Return a current in milliamperes with three figures, "-" for none.

    Examples
    --------
    >>> ma(0.0323), ma(0.00042), ma(None)
    ('32.3 mA', '0.42 mA', '-')
    """
    if current_a is None:
        return "-"
    shown = f"{1000 * current_a:.3g}" if abs(current_a) < 1.0 else f"{1000 * current_a:.0f}"
    return f"{shown} mA"


def every_words(group: PulseGroup) -> str:
    """Return how often wake-ups come, "every 15.00 min", or that they are irregular."""
    return "irregular" if group.period_s is None else f"every {group.period_s / 60:.2f} min"


def plus_minus(value_a: float | None, uncertainty_a: float | None) -> str:
    """Return a current with its uncertainty, no finer than the reading is known.

    Examples
    --------
    >>> plus_minus(0.021987, 0.000073), plus_minus(0.0031, 0.013), plus_minus(0.00042, 0.000004)
    ('22.0 ± 0.1 mA', '3 ± 13 mA', '0.420 ± 0.004 mA')
    """
    if value_a is None or uncertainty_a is None or not uncertainty_a > 0.0:
        return ma(value_a)
    places = known_places(value_a, uncertainty_a)
    # Half a thousandth of a step forgives what a float cannot hold.
    up = math.ceil(1000.0 * uncertainty_a * 10.0**places - 5e-4) / 10.0**places
    return f"{1000 * value_a:.{places}f} ± {up:.{places}f} mA"


def known_places(value_a: float, uncertainty_a: float) -> int:
    """Return how many decimals of a milliampere an uncertainty leaves to a current.

    One figure of the uncertainty, two where the first is a 1 (a digit more tells less than the
    rounding of the digit before), and at most three figures of the current: meters for 10 A and
    clamps count no finer. The uncertainty itself is rounded up (ISO/IEC Guide 98-3, 7.2.6, from
    memory: no more than two figures, rounding up where it is cautious).
    """
    shown = 1000.0 * uncertainty_a
    exponent = math.floor(math.log10(shown))
    figures = 2 if shown < 2.0 * 10.0**exponent else 1
    places = figures - 1 - exponent
    largest = max(abs(1000.0 * value_a), shown)
    return max(0, min(places, 2 - math.floor(math.log10(largest))))


def log_warnings(found: LogFindings, wake_ups: PulseGroup | None, log: CurrentLog) -> list[str]:
    """Return what to mind, in words."""
    said = []
    if not found.asleep:
        reason = (
            f"above {1000 * SUSPECT_A:.0f} mA within the first {LONGEST_SETTLING_S / 60:.0f} min"
            if found.steady_for_s >= STEADY_S
            else f"not steady for {STEADY_S / 60:.0f} min"
        )
        said.append(
            f"not asleep yet: keep measuring (level {reason}); workshop manuals give 40 s to "
            "60 min until the networks sleep; close doors and bonnet latches, lock it, take the "
            "key away"
        )
        return said
    settled = found.settled_a or 0.0
    if found.resolution_a > _COARSE_SHARE * max(settled, 1e-9):
        said.append(
            f"the meter's step is {ma(found.resolution_a)}, "
            f"{100 * found.resolution_a / settled:.0f} % of the settled current: a change smaller "
            "than that cannot be seen"
            if settled > 0.0
            else f"the settled current is below the meter's step of {ma(found.resolution_a)}"
        )
    said.append("the meter's own accuracy (see its manual) comes on top of the ± given")
    if settled > SUSPECT_A:
        said.append(
            f"settled at {ma(settled)}: above {1000 * SUSPECT_A:.0f} mA, where makers of cars say "
            "investigate; something may be kept awake"
        )
    largest = float(log.current_a.max())
    if 0.0 < found.resolution_a <= _FINE_RANGE_A and largest > _BURDEN_A:
        said.append(
            f"up to {largest:.2g} A went through a meter with steps of {ma(found.resolution_a)}: "
            "on a mA jack (1 to 10 ohm, common practice, no source) that drops volts and can reset "
            "control units; use the 10 A jack or a clamp"
        )
    said += _about_wake_ups(found, wake_ups)
    limit = max(3.0 * found.noise_a / 10.0, found.resolution_a / 2.0, 0.05 * settled)
    if abs(found.drift_a) > limit:
        said.append(
            f"the settled current still moves: {1000 * found.drift_a:+.3g} mA from the first to "
            "the second half of the sleep"
        )
    return said


def _about_wake_ups(found: LogFindings, wake_ups: PulseGroup | None) -> list[str]:
    """Return what to mind about the wake-ups, in words."""
    said = []
    if wake_ups is not None and found.step_s > wake_ups.duration_s / 3.0:
        said.append(
            f"a sample every {found.step_s:.3g} s is coarse for wake-ups of "
            f"{wake_ups.duration_s:.0f} s: their charge is uncertain and shorter ones are missed"
        )
    elif found.step_s > 2.0:
        said.append(f"wake-ups shorter than the {found.step_s:.3g} s between samples are missed")
    if wake_ups is not None and wake_ups.period_s is None:
        said.append(
            f"{wake_ups.count} wake-ups come at no regular interval: a scenario made from this log "
            "has them in its steady current"
        )
    if found.whole_periods == 0:
        said.append(
            f"no regular wake-up was seen in {found.asleep_for_s / 60:.0f} min asleep; rarer ones "
            "need a longer log"
        )
    if found.stray_pulses:
        pulses = found.stray_pulses
        many = "1 single pulse fits" if pulses == 1 else f"{pulses} single pulses fit"
        said.append(f"{many} no kind of wake-up")
    if found.long_wakes:
        often = "once" if found.long_wakes == 1 else f"{found.long_wakes} times"
        said.append(
            f"woken {often} for more than half an hour (door, key, remote?): left out of the mean"
        )
    return said


def about_reports(report_every_min: float | None, reports: PulseGroup | None) -> list[str]:
    """Return what to mind about the unit's reports, in words."""
    if report_every_min is None or reports is not None:
        return []
    return [
        f"no wake-up comes every {report_every_min:g} min: the unit's reports are not in this log, "
        "or too small for the meter"
    ]
