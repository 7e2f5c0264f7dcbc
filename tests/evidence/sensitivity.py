"""Which inputs change the answer, over a dozen vehicles that stand for many."""

import copy
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.answers.standing.swing import LABELS
from drainsim.evidence import asking
from drainsim.files.presets import preset
from drainsim.files.writing import write_text
from tests.evidence.fleet import FLEET

# Factors on a unit's figures: the same range as the 10 to 90 % of a quiescent current that nobody
# measured (logarithmic spread 0.55), so that rows can be compared.
_LOW, _HIGH = 0.49, 2.02
_RUN: Final = {"draws": 500, "horizon_days": 365}
_SENDING: Final = "sending"
_SLEEPING: Final = "sleeping"
UNIT_LABELS: Final = {
    _SENDING: "unit's sending power (attach and transmit current)",
    _SLEEPING: "unit's sleep current (listening included)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """Mean swing of one input over the fleet; None past the horizon counts as the horizon."""

    name: str
    label: str
    vehicles: int
    mean_swing_days: float
    mean_swing_share: float  # of the vehicle's own median days
    largest_swing_days: float

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON."""
        return {name: getattr(self, name) for name in self.__slots__}


def influences() -> tuple[Influence, ...]:
    """Return every input's mean swing, largest share first."""
    swings: dict[str, list[tuple[float, float]]] = {}
    for tables in FLEET.values():
        found = asking.answer({**tables, "run": _RUN})
        horizon = float(found.case.horizon_days)
        median = found.days_to_no_start.p50
        base = max(horizon if median is None else median, 1.0)
        for swing in found.swings:
            swings.setdefault(swing.name, []).append((swing.swing_days, swing.swing_days / base))
        for name in UNIT_LABELS if "unit" in tables else ():
            low, high = (_days(_changed(tables, name, factor), horizon) for factor in (_LOW, _HIGH))
            swings.setdefault(name, []).append((abs(high - low), abs(high - low) / base))
    rows = [
        Influence(
            name=name,
            label=UNIT_LABELS.get(name) or LABELS[name][0],
            vehicles=len(pairs),
            mean_swing_days=float(np.mean([days for days, _ in pairs])),
            mean_swing_share=float(np.mean([share for _, share in pairs])),
            largest_swing_days=max(days for days, _ in pairs),
        )
        for name, pairs in swings.items()
    ]
    return tuple(sorted(rows, key=lambda row: -row.mean_swing_share))


def _days(tables: dict[str, Any], horizon: float) -> float:
    days = asking.answer({**tables, "run": _RUN}).days_to_no_start.p50
    return horizon if days is None else min(days, horizon)


def _changed(tables: dict[str, Any], name: str, factor: float) -> dict[str, Any]:
    """Return the scenario with one of the unit's figures multiplied."""
    changed = copy.deepcopy(tables)
    unit = changed["unit"]
    values = preset("units", unit["preset"], where="evidence").values
    if name == _SENDING:
        phases = dict(values["report"])
        for phase in ("attach_a", "transmit_a"):
            phases[phase] *= factor
        unit["report"] = phases
    else:
        unit["sleep_a"] = values["sleep_a"] * factor
        unit["listening"] = values["listening"]
        unit["listening_a"] = values["listening_a"] * factor
    return changed


def conclusion(rows: Sequence[Influence]) -> str:
    """Return what the numbers say, in plain words."""
    first, second = rows[0], rows[1]
    by_name = {row.name: row for row in rows}
    sending = by_name[_SENDING]
    times = first.mean_swing_share / max(sending.mean_swing_share, 1e-9)
    judged = (
        "hardly matters once the unit sleeps" if times >= 4.0 else "matters, but less than they do"
    )
    return (
        f"The answer depends most on {first.label} ({100 * first.mean_swing_share:.0f} % of the "
        f"days, from its lowest to its highest fifth) and {second.label} "
        f"({100 * second.mean_swing_share:.0f} %). The unit's sending power, changed as much as an "
        f"unmeasured quiescent current ({_LOW:g} to {_HIGH:g} times), moves it by "
        f"{100 * sending.mean_swing_share:.0f} % and {judged}."
    )


def write_results(path: Path, rows: Sequence[Influence]) -> None:
    """Write the results to the file the command and the page read."""
    document = {
        "vehicles": list(FLEET),
        "inputs": [row.as_dict() for row in rows],
        "conclusion": conclusion(rows),
    }
    write_text(path, json.dumps(document, indent=1, ensure_ascii=False) + "\n")
