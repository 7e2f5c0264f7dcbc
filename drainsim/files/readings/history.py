"""One vehicle's readings as they were measured, and what of them was kept aside and why."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from drainsim.language import message
from drainsim.physics.tables import FloatArray
from drainsim.units import SECONDS_PER_DAY

# Why a reading is kept aside, where an answer asks for the reason; the guide lists all of them.
BEHIND_SWITCH: Final = message("behind the ignition switch: 0 V whenever the ignition is off")
ZERO: Final = message("0 V: not measured")
EMPTY: Final = message("empty: not measured")
APART_S: Final = SECONDS_PER_DAY  # between spans of one reason
# 0 V readings by which a unit behind the switch shows itself, and the share of them that lies
# where the ignition is off: common practice, no source.
_ZEROS: Final = 10
_SHARE: Final = 0.9
_CHARGING_V: Final = 12.9  # above a full battery at rest; common practice, no source


@dataclass(frozen=True, slots=True)
class SetAside:
    """Readings of one vehicle that were not used: from, until (both belong to it), how many, why.

    A reading whose time is not known stands in a span of NaN.
    """

    start_s: float  # epoch seconds, UTC
    end_s: float
    rows: int
    reason: str


def last_reading_s(histories: Iterable["History"]) -> float | None:
    """Return the time of the last reading of all, None where there is none. Epoch seconds."""
    return max((float(one.time_s[-1]) for one in histories if len(one.time_s)), default=None)


def joined_spans(spans: Iterable[SetAside]) -> tuple[SetAside, ...]:
    """Return spans read at different times as one reading of all rows would have told them.

    Spans of one reason with at most a day between them are one. Rows where spans overlap were read
    twice and count once, by the span's own rhythm; so do those whose time is not known.

    Examples
    --------
    >>> day = 86_400.0
    >>> parts = [SetAside(0.0, day, 3, "x"), SetAside(1.5 * day, 2 * day, 2, "x")]
    >>> joined_spans([*parts, SetAside(0.0, day, 3, "x")])
    (SetAside(start_s=0.0, end_s=172800.0, rows=5, reason='x'),)
    """
    found: dict[str, list[SetAside]] = {}
    for span in sorted(spans, key=lambda one: (one.reason, _begin(one), one.end_s)):
        same = found.setdefault(span.reason, [])
        last = same[-1] if same else None
        if last is None or not _near(last, span):
            same.append(span)
            continue
        rows = last.rows + span.rows - _twice(last, span)
        same[-1] = replace(last, end_s=max(last.end_s, span.end_s), rows=rows)
    return in_order(span for same in found.values() for span in same)


def in_order(spans: Iterable[SetAside]) -> tuple[SetAside, ...]:
    """Return spans by their beginning, those of unknown time first."""
    return tuple(sorted(spans, key=lambda one: (_begin(one), one.reason)))


def _begin(span: SetAside) -> float:
    return -math.inf if math.isnan(span.start_s) else span.start_s


def _twice(last: SetAside, span: SetAside) -> int:
    """Return how many rows of a span an earlier one holds already."""
    if math.isnan(span.start_s) or span.end_s <= last.end_s:
        return min(last.rows, span.rows)
    if span.start_s > last.end_s:
        return 0
    share = (last.end_s - span.start_s) / (span.end_s - span.start_s)
    return 1 + int(share * (span.rows - 1))


def _near(last: SetAside, span: SetAside) -> bool:
    if math.isnan(last.start_s) or math.isnan(span.start_s):
        return math.isnan(last.start_s) and math.isnan(span.start_s)
    return span.start_s - last.end_s <= APART_S


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """One vehicle's readings in the order they were measured, doubles removed.

    All arrays have the shape (n,); NaN where a row holds no such value, all NaN without such a
    column. A row without any voltage is there for its ignition or temperature; it counts as set
    aside. Voltages are those of the system as it is, 12 or 24 V.
    """

    vehicle_id: str
    time_s: FloatArray  # epoch seconds, UTC, strictly increasing
    voltage_v: FloatArray
    ignition: FloatArray  # 1 on, 0 off
    battery_temperature_c: FloatArray
    air_temperature_c: FloatArray
    cranking_minimum_v: FloatArray
    voltmeter_v: FloatArray  # read by a person at the battery
    step_v: float  # quantisation step of `voltage_v`; NaN without a voltage
    set_aside: tuple[SetAside, ...]

    @property
    def used(self) -> int:
        """How many rows hold a voltage of any kind."""
        volts = (self.voltage_v, self.cranking_minimum_v, self.voltmeter_v)
        return int(np.any([np.isfinite(one) for one in volts], axis=0).sum())


def with_zeros_judged(history: History) -> History:
    """Return a history that says of its 0 V readings whether the unit loses its supply.

    By the rows without a voltage that tell the ignition; where none does, a unit behind the switch
    has charging voltage whenever it is not 0 V. Told anew whenever rows are added, so that a
    history read in parts is the one read whole.
    """
    aside = joined_spans(_named(history.set_aside, ZERO))  # read twice, counted once
    zeros = sum(part.rows for part in aside if part.reason == ZERO)
    on, none = history.ignition, ~np.isfinite(history.voltage_v)
    told = int((none & np.isfinite(on)).sum())
    seen = history.voltage_v[~none]
    if told >= _SHARE * zeros:
        off, running = none[on == 0.0], none[on == 1.0]
        behind = bool(
            zeros >= _SHARE * told
            and len(off)
            and len(running)
            and off.mean() >= _SHARE
            and running.mean() <= 1.0 - _SHARE
        )
    else:
        behind = len(seen) >= _ZEROS and bool((seen >= _CHARGING_V).mean() >= _SHARE)
    reason = BEHIND_SWITCH if behind and zeros >= _ZEROS else ZERO
    return replace(history, set_aside=in_order(_named(aside, reason)))


def _named(parts: Iterable[SetAside], reason: str) -> list[SetAside]:
    zeros = {ZERO, BEHIND_SWITCH}
    return [replace(part, reason=reason) if part.reason in zeros else part for part in parts]


MEASURED: Final = (
    "voltage_v", "ignition", "battery_temperature_c", "air_temperature_c", "cranking_minimum_v",
    "voltmeter_v",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Refused:
    """Rows of a file that belong to no vehicle: which row is the first, how many, and why."""

    where: str  # file
    row: int  # as a spreadsheet counts
    rows: int
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """What the files hold: one history a vehicle, in the order of their ids, and the rest.

    `rows` = used + set aside of every history + refused: nothing is lost.
    """

    histories: tuple[History, ...]
    refused: tuple[Refused, ...]
    rows: int
    notes: tuple[str, ...]  # what was taken as what: units, columns not read
    delimiter: str = ","  # of the first file; "" of a workbook
    decimal: str = "."  # of the first file
