"""Energy of cellular events: built from components, held against measured sums."""

from functools import partial
from typing import Final

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import (
    DEFINITION,
    MEASUREMENT,
    PRACTICE,
    SAME_SOURCE,
    SECONDARY,
    Check,
    found_in,
    within,
)
from drainsim.files.presets import preset
from drainsim.physics import load
from drainsim.units import SECONDS_PER_HOUR

_CAPACITY_WH: Final = 5.0
_TR_IDLE_W: Final = 0.015e-3
_HOURS_PER_YEAR: Final = 8766.0
_CELL_V: Final = 3.8  # at which the modules' currents are stated
_FRAME_MS: Final = 4.615
_SLOT_SHARE: Final = 1.0 / 8.0
# Second generation, registered and asleep: mean current at the shortest and longest paging cycle.
_PAGING_SHORT: Final = (470.8, 1.57)  # ms, mA
_PAGING_LONG: Final = (2118.4, 1.04)

_ARITHMETIC: Final = (
    "the source's own arithmetic, done by our sum of events: shows the sum, no more"
)

_unit = partial(Check, subject="unit energy")


def event_mah(phases: list[tuple[float, float]]) -> float:
    """Return the charge of an event of (seconds, milliamperes) phases. [mAh]."""
    return (
        load.event_charge_as([(time_s, ma) for time_s, ma in phases], sleep_a=0.0)
        / SECONDS_PER_HOUR
    )


def event_j(phases: list[tuple[float, float]], volts: float) -> float:
    """Return the energy of an event of (seconds, milliamperes) phases. [J]."""
    return load.event_charge_as([(t, ma / 1000.0) for t, ma in phases], sleep_a=0.0) * volts


def mean_ma(idle_ma: float, phases: list[tuple[float, float]], every_s: float) -> float:
    """Return the mean module current of idling plus an event. [mA]."""
    charge = load.event_charge_as(phases, sleep_a=idle_ma)
    return float(
        load.average_current_a(idle_ma, charge_as=charge, every_h=every_s / SECONDS_PER_HOUR)
    )


def years_of_life(sleep_w: float, event_ws: float, every_h: float) -> float:
    """Return how long 5 Wh feed a sleep power and an event. [years]."""
    mean_w = float(load.average_current_a(sleep_w, charge_as=event_ws, every_h=every_h))
    return _CAPACITY_WH / mean_w / _HOURS_PER_YEAR


def _paging_ma(cycle_ms: float) -> float:
    """Return the mean current at a paging cycle from the figures at the two outer ones."""
    (short_ms, short_ma), (long_ms, long_ma) = _PAGING_SHORT, _PAGING_LONG
    wake_ma_ms = (short_ma - long_ma) / (1.0 / short_ms - 1.0 / long_ms)
    floor_ma = short_ma - wake_ma_ms / short_ms
    return float(
        load.average_current_a(
            floor_ma, charge_as=wake_ma_ms / 1000.0, every_h=cycle_ms / 1000.0 / SECONDS_PER_HOUR
        )
    )


def _tail_s() -> float:
    return float(preset("units", "hourly", where="evidence").values["report"]["tail_s"])


def _preset_report_mah() -> float:
    """Return a report of the daily preset, full connection and sending, on the module's side."""
    phases = preset("units", "daily", where="evidence").values["report"]
    rows = [(phases[f"{p}_s"], 1000.0 * phases[f"{p}_a"]) for p in ("attach", "transmit", "tail")]
    one = float(
        load.module_to_vehicle_current_a(1.0, module_v=3.7, vehicle_v=12.0, efficiency=0.85)
    )
    return event_mah(rows) / one


def _daily_ah(unit: str) -> float:
    """Return what a unit preset takes from a 12 V supply in a day, its day of one-offs left out."""
    return 24.0 * asking.case({"unit": {"preset": unit}}).unit.normal_current_a


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_broadband(), *_narrow(), *_battery_life(), *_second_generation())


def _broadband() -> tuple[Check, ...]:
    measured = "the source rounds to 0.01 mAh and 1 mA: 1 %"
    return (
        _unit(
            key="unit-lte-connect",
            quantity="charge of connecting, broadband LTE board",
            conditions="179 mA for 47 s at 3.7 V",
            **within(2.34, "mAh", 0.01, measured, relative=True),
            **found_in(s.LTE_BOARD, DEFINITION),
            note=_ARITHMETIC,
            model=lambda: event_mah([(47.0, 179.0)]),
        ),
        _unit(
            key="unit-lte-preset-report",
            quantity="charge of connecting and sending, daily preset, brought back to 3.7 V",
            conditions="attach, transmit and tail of the preset",
            published=2.34 + 1.24,
            unit="mAh",
            tolerance=0.06,
            tolerance_reason=(
                "the tail is waiting at 115 mA where the source sends at 140 mA: 10 of 79 s"
            ),
            tolerance_kind="relative",
            **found_in(s.LTE_BOARD, SAME_SOURCE),
            model=_preset_report_mah,
        ),
        _unit(
            key="unit-lte-heartbeat",
            quantity="mean module current, 100 byte heartbeat every 5 min",
            conditions="built: asleep 1 mA, 2 s sending at 140 mA, 10.6 s tail at 115 mA",
            **within(
                (4.5, 7.0), "mA", 0.0, "two variants of one module: the printed values themselves"
            ),
            **found_in(s.LTE_BIS, MEASUREMENT, "online, normal, 3.8 V"),
            note="2 s of sending is from memory; the tail is the logged 10.6 s",
            model=lambda: mean_ma(1.0, [(2.0, 140.0), (10.6, 115.0)], 300.0),
        ),
        _unit(
            key="unit-lte-heartbeat-low",
            quantity="mean module current, 100 byte heartbeat every 5 min, low power",
            conditions="built: 9 uA asleep, one measured LTE-M message of 0.55 J at 3.8 V",
            **within((0.3, 0.5), "mA", 0.05, "values printed to 0.1 mA: half a digit"),
            **found_in(s.LTE_BIS, MEASUREMENT, "online, low power, 3.8 V"),
            note="two makers' modules of two network kinds: agreement shows the size, not the part",
            model=lambda: mean_ma(0.009, [(22.0, 1000.0 * 0.55 / _CELL_V / 22.0)], 300.0),
        ),
        _unit(
            key="unit-lte-tail",
            quantity="time the network holds the link after sending, presets",
            conditions="typical",
            **within(
                10.0, "s", 2.0, "10.6 s logged, 11.6 s remembered from a study: networks differ"
            ),
            **found_in(s.LTE_TAIL, SAME_SOURCE),
            model=_tail_s,
        ),
        _unit(
            key="unit-never-sleeps",
            quantity="charge taken in a day by a unit that never sleeps",
            conditions="0.25 A day and night at 12 V",
            **within(6.0, "Ah/day", 0.01, "0.25 A x 24 h: rounding only"),
            **found_in(s.PRACTICE_ONLY, DEFINITION, grade=PRACTICE),
            model=lambda: _daily_ah("never_sleeps"),
        ),
    )


def _narrow() -> tuple[Check, ...]:
    return (
        _unit(
            key="unit-narrow-message",
            quantity="energy of a message, LTE-M, 200 byte up and down",
            conditions="5 mA for 22 s at 5 V",
            **within(0.152 * 3.6, "J", 0.05, "current printed to 1 mA of 5: 10 %"),
            **found_in(s.NARROW_KIT, DEFINITION, "POWERCONSUMPTION, 0.152 mWh"),
            note=_ARITHMETIC,
            model=lambda: event_j([(22.0, 5.0)], 5.0),
        ),
        _unit(
            key="unit-narrow-preset-psm",
            quantity="module current behind the daily preset's power-save listening",
            conditions="preset current brought back to the module at 3.7 V",
            published=(9.0, 75.0),
            unit="uA",
            tolerance=0.18,
            tolerance_reason="the preset is printed to 10 uA: half a step is 5 of 27 uA, 18 %",
            tolerance_kind="relative",
            **found_in(s.NARROW_MODULE, SAME_SOURCE, "power-save mode; board 75 uA", SECONDARY),
            model=lambda: (
                preset("units", "daily", where="evidence").values["listening_a"]
                / float(
                    load.module_to_vehicle_current_a(
                        1e-6, module_v=3.7, vehicle_v=12.0, efficiency=0.85
                    )
                )
            ),
        ),
    )


def _battery_life() -> tuple[Check, ...]:
    life = partial(
        _unit, quantity="life of a 5 Wh battery", unit="years", tolerance_kind="relative"
    )
    return (
        life(
            key="unit-life-idle",
            conditions="idle only, 0.015 mW",
            published=38.0,
            tolerance=0.01,
            tolerance_reason="printed to whole years",
            **found_in(s.GPP_45820, DEFINITION, grade=SECONDARY),
            note=_ARITHMETIC,
            model=lambda: years_of_life(_TR_IDLE_W, 0.0, 1.0),
        ),
    )


def _second_generation() -> tuple[Check, ...]:
    return (
        _unit(
            key="unit-2g-paging",
            quantity="mean current registered and asleep, paging cycle 5",
            conditions="from the figures at cycles 2 and 9",
            published=1.14,
            unit="mA",
            tolerance=0.04,
            tolerance_reason=(
                "three values printed to 0.01 mA, base station activity not stated: 4 %"
            ),
            **found_in(s.SECOND_GEN, SAME_SOURCE),
            model=lambda: _paging_ma(1177.0),
        ),
        _unit(
            key="unit-2g-slot",
            quantity="mean current sending in one slot",
            conditions="bursts of 2.0 A in one of eight slots, 4.615 ms frame",
            published=250.0,
            unit="mA",
            tolerance=0.1,
            tolerance_reason="receiving and processing (60 to 120 mA for short times) comes on top",
            tolerance_kind="relative",
            **found_in(s.SECOND_GEN, SAME_SOURCE, "one transmit slot, full power"),
            model=lambda: mean_ma(
                0.0, [(_FRAME_MS * _SLOT_SHARE / 1000.0, 2000.0)], _FRAME_MS / 1000.0
            ),
        ),
    )
