"""What is kept between mornings: every vehicle's readings, and what its past stands taught.

A morning with a state adds the new rows to the kept ones and works as from the beginning; past
stands are looked up by what they were conditioned on instead of being worked out again. So both
ways give the same answer, whatever arrives late.
"""

import base64
import hashlib
import math
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from drainsim.errors import ReadingsError
from drainsim.files.readings.history import MEASURED, History, SetAside, with_zeros_judged
from drainsim.files.readings.values import step_of
from drainsim.physics.tables import FloatArray

_MOST_BYTES: Final = 100_000_000  # of a column: ten years of a reading every half minute


@dataclass(slots=True)
class Memory:
    """Results of past stands by what they depend on; only what was asked for is kept."""

    before: Mapping[str, Any]
    kept: dict[str, Any] = field(default_factory=dict)

    def keep(self, parts: Sequence[Any], result: Any) -> None:
        """Keep what these parts gave."""
        self.kept[_digest(parts)] = result

    def recall(self, parts: Sequence[Any], work: Callable[[], Any]) -> Any:
        """Return what these parts gave before, or work it out; JSON-ready data.

        Parameters
        ----------
        parts : sequence
            Arrays, numbers and texts the result depends on.
        work : callable
        """
        key = _digest(parts)
        if key not in self.kept:
            self.kept[key] = self.before[key] if key in self.before else work()
        return self.kept[key]


def _digest(parts: Sequence[Any]) -> str:
    code = hashlib.sha256()
    for part in parts:
        code.update(part.tobytes() if isinstance(part, np.ndarray) else repr(part).encode())
    return code.hexdigest()[:24]


def kept_history(history: History) -> dict[str, Any]:
    """Return a history as JSON-ready data, every bit of it."""
    columns = {
        name: _packed(values)
        for name in MEASURED
        if np.isfinite(values := getattr(history, name)).any()
    }
    aside = [
        [*(None if math.isnan(one) else one for one in (part.start_s, part.end_s)),
         part.rows, part.reason]
        for part in history.set_aside
    ]  # fmt: skip
    return {"time_s": _packed(history.time_s), **columns, "set_aside": aside}


def history_kept(vehicle_id: str, kept: Mapping[str, Any]) -> History:
    """Return what `kept_history` wrote.

    Raises
    ------
    ReadingsError
        If it is something else.
    """
    try:
        time_s = _unpacked(kept["time_s"])
        columns = {
            name: _unpacked(kept[name]) if name in kept else np.full(len(time_s), np.nan)
            for name in MEASURED
        }
        aside = tuple(
            SetAside(_moment(start), _moment(end), rows, reason)
            for start, end, rows, reason in kept["set_aside"]
        )
        if {len(values) for values in columns.values()} != {len(time_s)}:
            raise ValueError
    except (KeyError, TypeError, ValueError, zlib.error):
        raise ReadingsError(
            f"the kept state of {vehicle_id!r} is damaged: begin anew from all readings"
        ) from None
    step_v = step_of(columns["voltage_v"])
    return History(vehicle_id, time_s, **columns, step_v=step_v, set_aside=aside)


def _moment(kept: float | None) -> float:
    return math.nan if kept is None else float(kept)


def joined(kept: History, new: History) -> History:
    """Return kept and new readings as one history; a moment read twice counts once."""
    aside = (*kept.set_aside, *new.set_aside)
    if not len(new.time_s):
        return with_zeros_judged(replace(kept, set_aside=aside))
    time_s = np.concatenate([kept.time_s, new.time_s])
    found, first = np.unique(time_s, return_index=True)
    columns = {
        name: np.concatenate([getattr(kept, name), getattr(new, name)])[first] for name in MEASURED
    }
    step_v = step_of(columns["voltage_v"])
    return with_zeros_judged(
        History(kept.vehicle_id, found, **columns, step_v=step_v, set_aside=aside)
    )


def _packed(values: FloatArray) -> str:
    return base64.b64encode(zlib.compress(values.astype("<f8").tobytes(), 1)).decode("ascii")


def _unpacked(text: str) -> FloatArray:
    packed = zlib.decompressobj()
    content = packed.decompress(base64.b64decode(text), _MOST_BYTES)
    if packed.unconsumed_tail:
        raise ValueError
    return np.frombuffer(content, dtype="<f8").astype(float)
