"""Where nobody turns a key: the stand ends when the unit goes silent."""

from dataclasses import replace
from typing import Final

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.simulation.outcome import Event, Stand
from drainsim.units import HOURS_PER_DAY

ENDS: Final = (Event.UNIT_OFF, Event.EMPTY)  # what silences a unit
_TALKING, _SILENT = 2.0, 0.0  # shown in place of a start margin; 1.0 is the limit


def silent_h(stand: Stand) -> FloatArray:
    """Return when each lane's unit stops: at its cut-off, at the latest when empty. [h]."""
    return np.asarray(np.minimum(stand.unit_off_h, stand.empty_h))


def silent_daily(hours: FloatArray, days: int) -> BoolArray:
    """Return whether the unit is silent on each day, shape (days + 1, lanes)."""
    return np.asarray(HOURS_PER_DAY * np.arange(days + 1)[:, None] >= hours)


def as_silence(stand: Stand) -> Stand:
    """Return the stand of a vehicle without a starter: its no-start is the unit's silence."""
    hours = silent_h(stand)
    daily = silent_daily(hours, len(stand.no_start_daily) - 1)
    trace = stand.trace
    if trace is not None:
        trace = replace(trace, margin=np.where(daily, _SILENT, _TALKING))
    return replace(
        stand,
        no_start_h=hours,
        start_hour_no_start_h=HOURS_PER_DAY * np.ceil(hours / HOURS_PER_DAY),
        no_start_daily=daily,
        trace=trace,
    )
