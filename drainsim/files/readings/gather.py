"""Blocks of readings as one history a vehicle: sorted by measured time, doubles aside."""

from typing import Any, Final

import numpy as np
import pandas as pd

from drainsim.files.readings.block import Block, Found
from drainsim.files.readings.history import (
    APART_S,
    History,
    SetAside,
    in_order,
    with_zeros_judged,
)
from drainsim.files.readings.values import step_of
from drainsim.files.readings.words import MEASURED
from drainsim.language import message
from drainsim.physics.tables import FloatArray

DOUBLE: Final = message("sent twice: the same time, nothing new")
OTHER_VALUE: Final = message(
    "another voltage at a time that has one already: the first in the file is used"
)


def histories_of(blocks: list[Block], found: Found) -> tuple[History, ...]:
    """Return one history a vehicle, by its id; empties `blocks`."""
    if not blocks:
        return ()
    quantities = [name for name in MEASURED if any(name in block.columns for block in blocks)]
    vehicle = np.concatenate([block.vehicle for block in blocks])
    time_s = np.concatenate([block.time_s for block in blocks])
    order = np.lexsort((time_s, vehicle))  # stable: what came first stays first
    vehicle, time_s = vehicle[order], time_s[order]
    reason = np.concatenate([block.reason for block in blocks])[order]
    values = {}
    for name in quantities:
        parts = [block.columns.get(name, np.full(len(block.time_s), np.nan)) for block in blocks]
        values[name] = np.concatenate(parts)[order]
    del order
    blocks.clear()
    _join_doubles(vehicle, time_s, values, reason, found)
    names = {number: name for name, number in found.vehicles.items()}
    bounds = np.flatnonzero(np.diff(vehicle)) + 1
    starts, ends = [0, *bounds], [*bounds, len(vehicle)]
    histories = []
    for start, end in zip(starts, ends, strict=True):
        part = slice(int(start), int(end))
        own = {name: array[part] for name, array in values.items()}
        name = names[int(vehicle[start])]
        histories.append(_history(name, time_s[part], own, reason[part], list(found.reasons)))
    return tuple(sorted(histories, key=lambda history: history.vehicle_id))


def _join_doubles(
    vehicle: Any, time_s: FloatArray, values: dict[str, FloatArray], reason: Any, found: Found
) -> None:
    """Keep the first of readings of one time; what only later ones measured is joined to it."""
    used = np.flatnonzero(reason <= 0)
    same = (np.diff(vehicle[used]) == 0) & (np.diff(time_s[used]) == 0.0)
    if not same.any():
        return
    group = np.concatenate([[0], np.cumsum(~same)])
    later = np.concatenate([[False], same])
    first = used[~later]  # one row a group
    voltage = values.get("voltage")
    differs = np.zeros(int(later.sum()), dtype=bool)
    if voltage is not None:
        kept, other = voltage[first][group[later]], voltage[used[later]]
        differs = np.isfinite(kept) & np.isfinite(other) & (kept != other)
    for array in values.values():
        known = pd.Series(array[used]).groupby(group).first()  # of each group, NaN passed over
        array[first] = known.to_numpy()
    with_voltage = np.unique(group[reason[used] == 0])
    reason[first[with_voltage]] = 0
    reason[used[later]] = np.where(differs, found.reason(OTHER_VALUE), found.reason(DOUBLE))


def _history(
    name: str, time_s: FloatArray, values: dict[str, FloatArray], reason: Any, sentences: list[str]
) -> History:
    used = reason <= 0
    arrays = {
        quantity: values[quantity][used] if quantity in values else np.full(int(used.sum()), np.nan)
        for quantity in MEASURED
    }
    history = History(
        vehicle_id=name,
        time_s=time_s[used],
        voltage_v=arrays["voltage"],
        ignition=arrays["ignition"],
        battery_temperature_c=arrays["battery_temperature"],
        air_temperature_c=arrays["air_temperature"],
        cranking_minimum_v=arrays["cranking_minimum"],
        voltmeter_v=arrays["voltmeter"],
        step_v=step_of(arrays["voltage"]),
        set_aside=_spans(time_s, reason, sentences),
    )
    return with_zeros_judged(history)


def _spans(time_s: FloatArray, reason: Any, sentences: list[str]) -> tuple[SetAside, ...]:
    """Return what is aside: spans of one reason, apart where more than a day lies between."""
    found = []
    for number in np.unique(np.abs(reason[reason != 0])):
        times = time_s[np.abs(reason) == number]
        known = times[np.isfinite(times)]
        cuts = np.flatnonzero(np.diff(known) > APART_S) + 1
        for part in np.split(known, cuts) if len(known) else ():
            found.append(
                SetAside(float(part[0]), float(part[-1]), len(part), sentences[int(number)])
            )
        if len(known) < len(times):
            nan = float("nan")
            found.append(SetAside(nan, nan, len(times) - len(known), sentences[int(number)]))
    return in_order(found)
