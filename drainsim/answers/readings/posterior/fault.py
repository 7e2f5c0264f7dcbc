"""A drain beyond the expected one: how sure, how much, since when, and of what kind."""

from typing import Final

import numpy as np

from drainsim.answers.readings.history.stands import Cut, Stand
from drainsim.answers.readings.posterior.conditioning import Posterior
from drainsim.answers.readings.results import (
    AFTER_DRIVES,
    STEADY,
    STEPPED,
    ExtraDrain,
    Range,
)
from drainsim.language import message
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_HOUR

FOUND_FROM: Final = 0.5  # probability from which an extra drain counts as found
_FEWEST: Final = 10  # draws with an extra drain that make a range
_DIP_V: Final = 0.03  # of a reading below its neighbours: a unit awake takes 20 to 50 mV
_MORE_DIPS: Final = 0.15  # share of readings that dip, above that of the nights before
_WINDOW: Final = 7
_CANNOT_TELL: Final = message(
    "which circuit draws it: a voltage knows only how much is drawn in all"
)
_NEXT: Final = {
    STEADY: message(
        "a clamp on the battery's negative lead after an hour's sleep, then fuse by fuse"
    ),
    STEPPED: message(
        "a current log over two reports of the unit: how long it stays awake each time"
    ),
    AFTER_DRIVES: message(
        "a current log of the first hour after a drive: which control unit stays awake"
    ),
}
_TOO_SOON: Final = message("one more night; a voltmeter at the battery's posts tells sooner")


def extra_drain(
    posterior: Posterior, found: Cut, stand: Stand, *, earlier: tuple[float, ...]
) -> ExtraDrain:
    """Return what a stand's draws say of an extra drain.

    Parameters
    ----------
    posterior : Posterior
    found : Cut
    stand : Stand
        The one the draws are of.
    earlier : tuple of float
        Probability of an extra drain in each of the vehicle's earlier stands.

    Notes
    -----
    Steady, stepped and after drives is all a voltage shows: readings that dip more often than
    before are a unit or control unit that wakes; a drain since parking that earlier stands did
    not all have is one that some drives leave behind.
    """
    with_extra = posterior.extra_a > 0.0
    probability = round(posterior.fault, 4)
    if probability < FOUND_FROM or int(with_extra.sum()) < _FEWEST:
        return ExtraDrain(
            probability=probability,
            cannot_tell=_CANNOT_TELL,
            tells_next=_TOO_SOON if probability >= 0.1 else "",
        )
    begins_s = stand.start_s + SECONDS_PER_HOUR * posterior.begins_h[with_extra]
    low, middle, high = np.quantile(begins_s, [0.1, 0.5, 0.9], method="inverted_cdf")
    kind = _kind(found, stand, float(middle), earlier)
    return ExtraDrain(
        probability=probability,
        current_a=Range.of(posterior.extra_a[with_extra]),
        since_s=float(middle),
        since_range_s=(float(low), float(high)),
        kind=kind,
        cannot_tell=_CANNOT_TELL,
        tells_next=_NEXT[kind],
    )


def _kind(found: Cut, stand: Stand, since_s: float, earlier: tuple[float, ...]) -> str:
    time_s = found.history.time_s
    inside = np.isfinite(found.voltage_v) & (time_s >= stand.start_s + 4.0 * SECONDS_PER_HOUR)
    since = time_s[inside] >= since_s
    dips = _dips(found.voltage_v[inside], found.history.step_v)
    before = float(dips[~since].mean()) if (~since).sum() >= _WINDOW else 0.0
    if since.sum() >= _WINDOW and float(dips[since].mean()) - before > _MORE_DIPS:
        return STEPPED
    found_before = [chance >= FOUND_FROM for chance in earlier]
    at_parking = since_s - stand.start_s < 12.0 * SECONDS_PER_HOUR
    if at_parking and len(found_before) > 1 and any(found_before) and not all(found_before):
        return AFTER_DRIVES
    return STEADY


def _dips(volts: FloatArray, step_v: float) -> FloatArray:
    """Return 1 for each reading well below the middle of its neighbours, else 0."""
    if len(volts) < _WINDOW:
        return np.zeros(len(volts))
    near = np.lib.stride_tricks.sliding_window_view(
        np.pad(volts, _WINDOW // 2, mode="edge"), _WINDOW
    )
    least = max(_DIP_V, 1.5 * step_v if np.isfinite(step_v) else 0.0)
    return np.asarray((np.median(near, axis=1) - volts > least).astype(float))
