"""What changing each constant does to an answer, and which check would notice.

Each constant is changed by a stated amount, both ways; where an example's median moves by more than
5 %, the checks are run with the changed constant.
"""

import json
import sys
import warnings
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.answers.driving import charge_left
from drainsim.answers.driving.before_parking import parked_from_pattern
from drainsim.answers.standing.park import run_draws
from drainsim.errors import DrainsimError
from drainsim.evidence import asking
from drainsim.evidence.check import Check
from drainsim.evidence.registry import all_checks
from drainsim.files.writing import write_text
from drainsim.simulation.battery_curves import curves_of
from drainsim.units import HOURS_PER_DAY
from tests.evidence.constants import Constant, find_constants

THRESHOLD: Final = 0.05
# Two of these are the first page's with something added: they answer for what was added.
_ONLY_FOR: Final[dict[str, tuple[str, ...]]] = {
    "driven little": (
        "physics.acceptance",
        "physics.alternator",
        "physics.charging",
        "simulation.driving.week",
        "vehicle.pattern",
        "vehicle.trip",
        "vehicle.batteries.chargers",
        "default",
    ),
    "small panel": (
        "physics.solar",
        "physics.tilt",
        "simulation.chargers",
        "vehicle.batteries.chargers",
        "vehicle.places.solar",
        "climates",
        "sunshine",
        "default",
    ),
}
# A constant changed beyond what the model can work with ends in one of these.
REFUSALS: Final = (DrainsimError, ValueError, IndexError, ArithmeticError)
_RUN: Final = {"draws": 100, "horizon_days": 90}
_CAR: Final = {"vehicle": {"preset": "compact_petrol"}, "unit": {"preset": "hourly"}}
_TEMPERATE: Final = {"climate": "temperate"}
# The first page's example, then one for each part of the model it does not touch. Answers of some
# weeks, so that 5 % is more than the step of a day.
EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "first page": {
        **_CAR,
        "battery": {"profile": "flooded_calcium", "capacity_ah": 60.0},
        "site": _TEMPERATE,
    },
    "nothing known": {},
    "AGM read at 12.5 V": {
        **_CAR,
        "battery": {"profile": "agm", "capacity_ah": 70.0, "resting_voltage_v": 12.5},
        "site": _TEMPERATE,
    },
    "diesel, reserve capacity known": {
        "battery": {"reserve_capacity_min": 140.0, "profile": "enhanced_flooded"},
        "vehicle": {"preset": "family_diesel"},
        "unit": {"preset": "daily"},
    },
    "24 V truck": {
        "battery": {"system": "24V", "capacity_ah": 180.0},
        "vehicle": {"engine_litres": 12.8, "fuel": "diesel", "quiescent_a": 0.1},
        "site": _TEMPERATE,
    },
    "small panel": {**_CAR, "solar": {"panel_w": 10.0}, "site": _TEMPERATE},
    "driven little": {
        **_CAR,
        "pattern": {"trips_per_week": 6, "trip_minutes": 20, "weeks": 12},
        "site": _TEMPERATE,
    },
    "motorcycle with an alarm": {
        "vehicle": {"kind": "motorcycle", "quiescent_a": 0.01},
        "site": {"temperature_c": 10.0},
    },
    "alpine winter": {**_CAR, "site": {"climate": "alpine_valley"}},
    "electric": {"vehicle": {"kind": "electric"}, "unit": {"preset": "hourly"}, "site": _TEMPERATE},
    "trailer": {
        "battery": {"capacity_ah": 12.0},
        "vehicle": {"kind": "trailer"},
        "unit": {"preset": "live"},
        "site": _TEMPERATE,
    },
    "lithium iron phosphate": {
        **_CAR,
        "battery": {"profile": "lithium_iron_phosphate_12v"},
        "site": _TEMPERATE,
    },
}
# Caches of what is changed in place, or of what no constant touches.
_REMEMBER: Final = {"presets", "_kept_profile", "own_folder", "_document", "_fitted"}


def forget() -> None:
    """Clear what the model has worked out with the constants as they were."""
    charge_left.forget()
    for name, module in list(sys.modules.items()):
        if name.startswith("drainsim"):
            for known, thing in list(vars(module).items()):
                if hasattr(thing, "cache_clear") and known not in _REMEMBER:
                    thing.cache_clear()


def _used_presets() -> set[tuple[str, str]]:
    used = set()
    for tables in EXAMPLES.values():
        for table, kind in (("unit", "units"), ("vehicle", "vehicles")):
            if "preset" in tables.get(table, {}):
                used.add((kind, tables[table]["preset"]))
    return used | {("climates", "temperate"), ("sunshine", "temperate")}


def all_constants() -> tuple[Constant, ...]:
    """Return every constant, by home."""
    return find_constants(EXAMPLES.values(), sorted(_used_presets()))


def drawn_days(tables: Mapping[str, Any]) -> float:
    """Return the draws' median days to the first no-start, between two draws if need be.

    Past the horizon, the horizon; nothing else of the answer is worked out.
    """
    found = parked_from_pattern(asking.case(tables))
    drawn = run_draws(found, curves_of(found))
    days = np.minimum(drawn.no_start_h / HOURS_PER_DAY, float(found.horizon_days))
    return float(np.median(days))


def medians(names: Iterable[str]) -> dict[str, float]:
    """Return the examples' median days; inf where the model refuses the changed constant."""
    found = {}
    for name in names:
        try:
            found[name] = drawn_days({**EXAMPLES[name], "run": _RUN})
        except REFUSALS:
            found[name] = float("nan")
    return {name: days if np.isfinite(days) else float("inf") for name, days in found.items()}


def passing() -> list[Check]:
    """Return the checks that pass."""
    return [check for check in all_checks() if check.run().passed]


def fails(check: Check) -> bool:
    """Say whether a check fails; one that cannot be asked any more does."""
    try:
        return not check.run().passed
    except REFUSALS:
        return True


def _failing(checks: Iterable[Check]) -> list[str]:
    return [check.key for check in checks if fails(check)]


@cache
def _fitted(name: str) -> tuple[str, ...]:
    """Return the homes of the profile and presets an example uses."""
    tables = EXAMPLES[name]
    return (
        f"profile {asking.case(tables).battery.profile.key}",
        f"units {tables.get('unit', {}).get('preset')}",
        f"vehicles {tables.get('vehicle', {}).get('preset')}",
    )


def _touched(constant: Constant) -> list[str]:
    """Return the examples a constant could move: all, or those of its profile or preset."""
    if constant.home.split(" ")[0] in {"profile", "units", "vehicles"}:
        return [name for name in EXAMPLES if constant.home in _fitted(name)]
    return [name for name in EXAMPLES if constant.home.startswith(_ONLY_FOR.get(name, ""))]


def rows_of(
    constant: Constant, before: Mapping[str, float], passed: Sequence[Check]
) -> list[dict[str, Any]]:
    """Return a row for each change of a constant that moves an example by more than 5 %.

    `carried_by` is looked for only where nothing holds the change.
    """
    able = {check.key for check in passed if check.is_independent and not check.is_remembered}
    rows = []
    for words, value in constant.changes():
        with constant.put(value), np.errstate(all="ignore"), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a wrong constant may divide by nothing
            forget()
            after = medians(_touched(constant))
            moved = {name: days / before[name] - 1.0 for name, days in after.items()}
            most = max(moved, key=lambda name: abs(moved[name]), default="")
            if not most or abs(moved[most]) <= THRESHOLD:
                if not rows and most and abs(moved[most]) < 1e-9:
                    break  # nothing listens to it: the other way moves nothing either
                continue
            held_by = _failing(check for check in passed if check.key in able)
            carried_by = (
                [] if held_by else _failing(check for check in passed if check.key not in able)
            )
        refused = not np.isfinite(after[most])
        rows.append(
            {
                "constant": constant.key,
                "value": constant.value,
                "change": words,
                "changed_to": value,
                "example": most,
                "days_before": round(before[most], 1),
                "days_after": None if refused else round(after[most], 1),
                "moved_by": None if refused else round(moved[most], 3),
                "held_by": held_by,
                "carried_by": carried_by,
            }
        )
    forget()
    return rows


def _work(part: tuple[int, int]) -> list[tuple[int, list[dict[str, Any]]]]:
    """Return the rows of every n-th constant; each process finds the constants anew."""
    first, step = part
    constants = all_constants()
    forget()
    before, passed = medians(EXAMPLES), passing()
    return [
        (number, rows_of(constants[number], before, passed))
        for number in range(first, len(constants), step)
    ]


def document(processes: int = 2) -> dict[str, Any]:
    """Return every constant's value, and a row for each change that moves an example."""
    with ProcessPoolExecutor(processes) as pool:
        parts = pool.map(_work, [(first, processes) for first in range(processes)])
        rows = dict(pair for part in parts for pair in part)
    return {
        "threshold": THRESHOLD,
        "examples": {name: round(days, 1) for name, days in medians(EXAMPLES).items()},
        "constants": {constant.key: constant.value for constant in all_constants()},
        "rows": [row for number in sorted(rows) for row in rows[number]],
    }


def write_results(path: Path) -> None:
    """Write the results to the file the command and the page read."""
    write_text(path, json.dumps(document(), indent=1, ensure_ascii=False) + "\n")
