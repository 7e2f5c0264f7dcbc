"""What a log of the current says, in words: currents as well as they are known, and warnings."""

import math
from collections.abc import Iterator
from typing import Final

from drainsim.files.current_log.reader import CurrentLog
from drainsim.language import Message, counted_message, message
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


def ma(current_a: float | None) -> Message:
    """Return a current in milliamperes with three figures, "-" for none.

    Examples
    --------
    >>> ma(0.0323), ma(0.00042), ma(None)
    ('32.3 mA', '0.42 mA', '-')
    """
    if current_a is None:
        return message("-")
    if abs(current_a) < 1.0:
        return message("{current:.3g} mA", current=1000 * current_a)
    return message("{current:.0f} mA", current=1000 * current_a)


def every_words(group: PulseGroup) -> Message:
    """Return how often wake-ups come, "every 15.00 min", or that they are irregular."""
    if group.period_s is None:
        return message("irregular")
    return message("every {minutes:.2f} min", minutes=group.period_s / 60)


def plus_minus(value_a: float | None, uncertainty_a: float | None) -> Message:
    """Return a current with its uncertainty, no finer than the reading is known.

    Parameters
    ----------
    value_a, uncertainty_a : float, optional
        None is not known. [A]

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
    return message(
        "{current:.{places}f} ± {uncertainty:.{places}f} mA",
        current=1000 * value_a,
        uncertainty=up,
        places=places,
    )


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


def log_warnings(found: LogFindings, wake_ups: PulseGroup | None, log: CurrentLog) -> Iterator[str]:
    """Return what to mind, in words."""
    if not found.asleep:
        yield _not_asleep(found)
        return
    settled = found.settled_a or 0.0
    yield from _about_the_meter(found, settled)
    if settled > SUSPECT_A:
        yield message(
            "settled at {current}: above {limit:.0f} mA, where makers of cars say investigate; "
            "something may be kept awake",
            current=ma(settled),
            limit=1000 * SUSPECT_A,
        )
    largest = float(log.current_a.max())
    if 0.0 < found.resolution_a <= _FINE_RANGE_A and largest > _BURDEN_A:
        yield message(
            "up to {largest:.2g} A went through a meter with steps of {step}: on a mA jack (1 "
            "to 10 ohm, common practice, no source) that drops volts and can reset control "
            "units; use the 10 A jack or a clamp",
            largest=largest,
            step=ma(found.resolution_a),
        )
    yield from _about_wake_ups(found, wake_ups)
    limit = max(3.0 * found.noise_a / 10.0, found.resolution_a / 2.0, 0.05 * settled)
    if abs(found.drift_a) > limit:
        yield message(
            "the settled current still moves: {drift:+.3g} mA from the first to the second "
            "half of the sleep",
            drift=1000 * found.drift_a,
        )


def _not_asleep(found: LogFindings) -> Message:
    """Return why the vehicle does not count as asleep, and how to go on."""
    reason = (
        message(
            "above {limit:.0f} mA within the first {minutes:.0f} min",
            limit=1000 * SUSPECT_A,
            minutes=LONGEST_SETTLING_S / 60,
        )
        if found.steady_for_s >= STEADY_S
        else message("not steady for {minutes:.0f} min", minutes=STEADY_S / 60)
    )
    return message(
        "not asleep yet: keep measuring (level {reason}); workshop manuals give 40 s to 60 min "
        "until the networks sleep; close doors and bonnet latches, lock it, take the key away",
        reason=reason,
    )


def _about_the_meter(found: LogFindings, settled_a: float) -> Iterator[str]:
    """Return what the meter's step and accuracy leave open, in words."""
    step = ma(found.resolution_a)
    if found.resolution_a > _COARSE_SHARE * max(settled_a, 1e-9):
        yield (
            message(
                "the meter's step is {step}, {percent:.0f} % of the settled current: a change "
                "smaller than that cannot be seen",
                step=step,
                percent=100 * found.resolution_a / settled_a,
            )
            if settled_a > 0.0
            else message("the settled current is below the meter's step of {step}", step=step)
        )
    yield message("the meter's own accuracy (see its manual) comes on top of the ± given")


def _about_wake_ups(found: LogFindings, wake_ups: PulseGroup | None) -> Iterator[str]:
    """Return what to mind about the wake-ups, in words."""
    if wake_ups is not None and found.step_s > wake_ups.duration_s / 3.0:
        yield message(
            "a sample every {step:.3g} s is coarse for wake-ups of {duration:.0f} s: their "
            "charge is uncertain and shorter ones are missed",
            step=found.step_s,
            duration=wake_ups.duration_s,
        )
    elif found.step_s > 2.0:
        yield message(
            "wake-ups shorter than the {step:.3g} s between samples are missed",
            step=found.step_s,
        )
    if wake_ups is not None and wake_ups.period_s is None:
        yield message(
            "{count} wake-ups come at no regular interval: a scenario made from this log has "
            "them in its steady current",
            count=wake_ups.count,
        )
    if found.whole_periods == 0:
        yield message(
            "no regular wake-up was seen in {minutes:.0f} min asleep; rarer ones need a longer log",
            minutes=found.asleep_for_s / 60,
        )
    if found.stray_pulses:
        yield counted_message(
            "{number} single pulse, too few to tell a rhythm: of hourly reports log 4 hours",
            "{number} single pulses, too few to tell a rhythm: of hourly reports log 4 hours",
            found.stray_pulses,
        )
    if found.long_wakes:
        yield (
            message(
                "woken once for more than half an hour (door, key, remote?): left out of the mean"
            )
            if found.long_wakes == 1
            else message(
                "woken {number} times for more than half an hour (door, key, remote?): left out of "
                "the mean",
                number=found.long_wakes,
            )
        )


def about_reports(report_every_min: float | None, reports: PulseGroup | None) -> list[str]:
    """Return what to mind about the unit's reports, in words."""
    if report_every_min is None or reports is not None:
        return []
    return [
        message(
            "no wake-up comes every {minutes:g} min: the unit's reports are not in this log, or "
            "too small for the meter",
            minutes=report_every_min,
        )
    ]
