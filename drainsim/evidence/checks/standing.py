"""Published "weeks parked" statements and worked examples, against the main answer."""

import datetime as dt
from functools import partial
from typing import Any, Final

import numpy as np

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import DEFINITION, OTHER_SOURCE, SECONDARY, Check, found_in

_check = partial(Check, subject="standing")

_ANY_ENGINE: Final = "2.0 l petrol; engine and climate are not said in the source: our defaults"

_days = partial(_check, quantity="days parked to the first no-start", unit="days")


def _bulletin() -> dict[str, Any]:
    """Return the bulletin's example at its own temperature; the vehicle's age is not printed."""
    return {
        "battery": {"reserve_capacity_min": 70.0, "state_of_charge": 1.0},
        "vehicle": {"quiescent_a": 0.030},
        "site": {"temperature_c": 25.0},
    }


def _charge_out_ah() -> float:
    """Return the charge gone at the no-start, the bulletin's battery as an average fleet one."""
    found = asking.answer(_bulletin())
    course, days = found.course, found.days_to_no_start.p50
    if days is None:
        return float("nan")
    out = course.charge[0] - np.interp(days, course.day, course.charge)
    return float(out * found.case.battery.full_charge_ah)


def _lamps_h(load_a: float) -> float:
    return 24.0 * asking.nominal_days(
        {
            "battery": {"reserve_capacity_min": 90.0, "state_of_charge": 1.0},
            "vehicle": {"quiescent_a": 0.0, "key_off_stages": []},
            "other": [{"name": "headlights", "current_a": load_a}],
            "site": {"temperature_c": 10.0},
            "run": {"draws": 100, "horizon_days": 3},
        }
    )


def _truck(**vehicle: float) -> dict[str, Any]:
    """Return a truck with all cab consumers on."""
    battery = {"capacity_ah": 225.0, "reserve_capacity_min": 500.0, "health": 1.0}
    return {
        "battery": {**battery, "state_of_charge": 1.0},
        "vehicle": {"quiescent_a": 0.0, "key_off_stages": [], "fuel": "diesel", **vehicle},
        "other": [{"name": "refrigerator, heater, lights, screen", "current_a": 18.0}],
        "site": {"temperature_c": 5.0},
        "run": {"draws": 100, "horizon_days": 3},
    }


def _truck_half_h() -> float:
    half = asking.answer(_truck()).days_to_half_charge
    return float("nan") if half is None else 24.0 * half


def _idle_days(month: int, climate: str) -> float:
    """Return the days a vehicle without any drain stands on an antimony battery."""
    return asking.nominal_days(
        {
            "battery": {"profile": asking.ANTIMONY, "state_of_charge": 1.0},
            "vehicle": {"quiescent_a": 0.0, "key_off_stages": []},
            "site": {"climate": climate, "parked_from": dt.date(2026, month, 1)},
            "run": {"draws": 100, "horizon_days": 730},
        }
    )


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_bulletins(), *_loads(), *_care())


def _bulletins() -> tuple[Check, ...]:
    at_its_word = (
        "taken at its word the maker's rule ends a stand in a warm car with 60 % of the charge "
        "left; cars started from less. We read it as a rule with a margin for a weak battery on a "
        "cold morning. What follows for the user: in summer a battery stands longer than the maker "
        "promises; do not plan on it"
    )
    bulletin = partial(
        _check,
        independence=OTHER_SOURCE,
        conditions="RC 70 min, 30 mA, full; average fleet battery, 25 °C; " + _ANY_ENGINE,
        source=s.DRAIN_BULLETIN,
        grade=SECONDARY,
    )
    return (
        bulletin(
            key="stand-bulletin-rule",
            quantity="days parked to the first no-start",
            published=70.0 * 0.6 * 0.4 / 0.030 / 24.0,
            unit="days",
            tolerance=0.2,
            tolerance_kind="relative",
            tolerance_reason="the bulletin's own 20 to 30 Ah is ±20 %",
            clause="no start after 40 % of 0.6 RC at 25 °C",
            expected_to_disagree=at_its_word,
            model=lambda: asking.nominal_days(_bulletin()),
        ),
        bulletin(
            key="stand-bulletin-ah-out",
            quantity="charge gone at the no-start",
            published=(20.0, 30.0),
            unit="Ah",
            tolerance=5.0,
            tolerance_reason="printed in steps of ten: half a step",
            clause="typically 20 to 30 Ah out",
            expected_to_disagree="",
            model=_charge_out_ah,
        ),
    )


def _loads() -> tuple[Check, ...]:
    return (
        _check(
            key="stand-headlights",
            quantity="hours with headlights on to a no-start",
            conditions=(
                "RC 90 min, full, 3 years, 10 °C, 11 A (two 55 W lamps and tail lamps: common "
                "practice)"
            ),
            published=(2.0, 5.0),
            unit="h",
            tolerance_reason="two editions of one FAQ: a couple of hours, four to five hours",
            **found_in(s.BATTERY_FAQ, OTHER_SOURCE),
            model=lambda: _lamps_h(11.0),
        ),
        _check(
            key="stand-truck-half",
            quantity="hours with all cab consumers on to half charge, 225 Ah, 24 V truck",
            conditions="refrigerator 2 A, heater 7 A, lights 5 A, screen 4 A; 5 °C",
            published=225.0 * 0.5 / 18.0,
            unit="h",
            tolerance=0.1,
            tolerance_reason="half of what the battery gives at milliamperes is up to 8 % more",
            tolerance_kind="relative",
            **found_in(s.TRUCK_LIFE, DEFINITION, "180 Ah in 10 h; about half of 225 Ah usable"),
            model=_truck_half_h,
        ),
        _check(
            key="stand-truck-night",
            quantity="hours with all cab consumers on to a no-start, 225 Ah, 24 V truck",
            conditions="18 A, new and full, 6 l diesel, 5 °C",
            published=(6.25, 10.0),
            unit="h",
            tolerance_reason=(
                "after half of the charge starting 'may fail'; after 10 h 180 Ah are gone"
            ),
            **found_in(s.TRUCK_LIFE, OTHER_SOURCE, "prolonging battery life"),
            model=lambda: 24.0 * asking.nominal_days(_truck(engine_litres=6.0)),
        ),
    )


def _care() -> tuple[Check, ...]:
    """Return the intervals at which makers ask for care: a battery must outlast each of them."""
    care = partial(
        _days,
        independence=OTHER_SOURCE,
        bound="at least",
        tolerance_reason="a maker's interval ends before the no-start",
    )
    return (
        care(
            key="stand-manual-30-days",
            conditions="30 mA limit, full; average fleet battery, temperate winter; " + _ANY_ENGINE,
            published=30.0,
            source=s.CAR_MANUAL_1997,
            clause="disconnect only if not in service for 30 days",
            model=lambda: asking.nominal_days(
                {"battery": {"state_of_charge": 1.0}, "vehicle": {"quiescent_a": 0.030}}
            ),
        ),
        care(
            key="stand-idle-hot",
            conditions="no drain, flooded antimony, full, hot desert, from June",
            published=60.0,
            source=s.TM_STORAGE,
            clause="2-5: hot climate, recharge every 60 days",
            model=lambda: _idle_days(6, "hot_desert"),
        ),
        care(
            key="stand-truck-three-weeks",
            conditions="light truck preset, temperate winter, average fleet battery",
            published=21.0,
            source=s.TRUCK_LIFE,
            clause="recharge at least every 3 weeks",
            model=lambda: asking.nominal_days({"vehicle": {"preset": "light_truck_diesel"}}),
        ),
    )
