"""Key-off currents: presets and defaults against what workshop manuals print."""

import math
from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import (
    DEFINITION,
    OTHER_SOURCE,
    SAME_SOURCE,
    SECONDARY,
    Check,
    found_in,
)
from drainsim.files.presets import preset

_check = partial(Check, subject="vehicle")

_HIGH_Z = 1.2816  # standard normal deviate of 90 %
_printed = partial(
    _check,
    quantity="settled key-off current, mean of wake-ups included",
    unit="mA",
    tolerance=0.0,
    tolerance_reason="the printed range or limit itself",
)


def _settled_ma(name: str) -> float:
    found = asking.case({"vehicle": {"preset": name} if name else {}}).vehicle
    return 1000.0 * (found.quiescent_a + found.wake_up_a)


def _default_end_ma(z: float) -> float:
    found = asking.case({}).vehicle
    return 1000.0 * found.quiescent_a * math.exp(z * found.quiescent_sigma)


def _settling_min(name: str) -> float:
    stages = preset("vehicles", name, where="evidence").values["key_off_stages"]
    return float(sum(stage["duration_s"] for stage in stages)) / 60.0


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        _printed(
            key="vehicle-small-2008",
            conditions="small car preset; after 5 min",
            published=(10.0, 30.0),
            **found_in(s.SEDAN_2008, SAME_SOURCE),
            model=lambda: _settled_ma("small_petrol"),
        ),
        _printed(
            key="vehicle-compact-2009",
            conditions="compact preset; asleep",
            published=(10.0, 35.0),
            **found_in(s.COMPACT_2009, SAME_SOURCE),
            model=lambda: _settled_ma("compact_petrol"),
        ),
        _printed(
            key="vehicle-older",
            conditions="older car preset; up to 14.1 mA with alarm",
            published=(1.0, 14.1),
            **found_in(s.SMALL_1995, SAME_SOURCE),
            model=lambda: _settled_ma("older_car"),
        ),
        _printed(
            key="vehicle-diesel-limit",
            conditions="family diesel preset; limit after 40 min",
            published=(10.0, 50.0),
            **found_in(s.SUV_2004, SAME_SOURCE),
            model=lambda: _settled_ma("family_diesel"),
        ),
        _printed(
            key="vehicle-connected-rule",
            conditions="modern connected preset; acceptable one hour after shut-off",
            published=(20.0, 75.0),
            **found_in(s.TRADE_RULE, SAME_SOURCE),
            model=lambda: _settled_ma("modern_connected"),
        ),
        _printed(
            key="vehicle-default-press",
            conditions="default of a vehicle not described",
            published=(25.0, 50.0),
            **found_in(s.TRADE_PRESS, OTHER_SOURCE),
            model=lambda: _settled_ma(""),
        ),
        _printed(
            key="vehicle-default-training",
            conditions="default of a vehicle not described; acceptable",
            published=40.0,
            bound="at most",
            **found_in(s.TRAINING_SITE, OTHER_SOURCE),
            model=lambda: _settled_ma(""),
        ),
        _printed(
            key="vehicle-default-high",
            quantity="settled key-off current that nine in ten vehicles not described stay under",
            conditions="default and its spread; the upper half of what newer cars draw",
            published=(67.5, 85.0),
            **found_in(s.TRAINING_2021, SAME_SOURCE),
            model=lambda: _default_end_ma(_HIGH_Z),
        ),
        _printed(
            key="vehicle-default-low",
            quantity="settled key-off current that nine in ten vehicles not described exceed",
            conditions="default and its spread; the low end of what is accepted",
            published=20.0,
            bound="at most",
            **found_in(s.TRADE_RULE, SAME_SOURCE),
            model=lambda: _default_end_ma(-_HIGH_Z),
        ),
        _printed(
            key="vehicle-newer",
            conditions="newer car preset",
            published=(50.0, 85.0),
            **found_in(s.TRAINING_2021, SAME_SOURCE),
            model=lambda: _settled_ma("newer_petrol"),
        ),
        _printed(
            key="vehicle-van-article",
            conditions="panel van preset; two 2010-11 vehicles from the factory",
            published=(25.0, 45.0),
            **found_in(s.DRAIN_ARTICLE, SAME_SOURCE),
            model=lambda: _settled_ma("panel_van_diesel"),
        ),
        _printed(
            key="vehicle-truck-guide",
            conditions="light truck preset; highest specification found",
            published=65.0,
            **found_in(s.POLICE_GUIDE, SAME_SOURCE, "page 18"),
            model=lambda: _settled_ma("light_truck_diesel"),
        ),
        _check(
            key="vehicle-settling-press",
            quantity="time until the networks sleep, panel van preset",
            conditions="components asleep",
            published=(20.0, 45.0),
            unit="min",
            tolerance=5.0,
            tolerance_reason="the preset's first minute comes on top of the printed time",
            **found_in(s.TRADE_PRESS, SAME_SOURCE),
            model=lambda: _settling_min("panel_van_diesel"),
        ),
        _check(
            key="vehicle-key-off-charge",
            quantity="charge of the key-off sequence, modern connected preset",
            conditions="850 mA for up to 20 min before sleep",
            published=0.850 * 20.0 / 60.0,
            unit="Ah",
            tolerance=0.5,
            tolerance_reason="'up to 20 min or more', and lamps and door in the first minute",
            tolerance_kind="relative",
            **found_in(s.TRADE_RULE, SAME_SOURCE),
            model=lambda: (
                asking.case({"vehicle": {"preset": "modern_connected"}}).vehicle.key_off_ah
            ),
        ),
        _check(
            key="vehicle-100ma-per-day",
            quantity="vehicle's share of the daily budget",
            conditions="100 mA settled, simulated to the no-start",
            published=2.4,
            unit="Ah/day",
            tolerance=0.005,
            tolerance_reason="arithmetic: 0.1 A for 24 h, no key-off sequence, a known current",
            **found_in(s.DRAIN_ARTICLE, DEFINITION, grade=SECONDARY),
            model=lambda: (
                asking.answer(
                    {
                        "vehicle": {"quiescent_a": 0.1, "key_off_stages": []},
                        "uncertainty": {"quiescent_sigma": 0.0},
                    }
                ).budget.vehicle
            ),
        ),
    )
