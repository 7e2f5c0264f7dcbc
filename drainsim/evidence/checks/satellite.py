"""Satellite receiver: time to a fix and current, as the unit presets carry them."""

from functools import partial

from drainsim.evidence import sources as s
from drainsim.evidence.check import SAME_SOURCE, SECONDARY, Check
from drainsim.files.presets import preset
from drainsim.physics import load

_unit = partial(Check, subject="unit energy")


def _fix_s(hours_since: float) -> float:
    phases = preset("units", "hourly", where="evidence").values["report"]
    return float(
        load.fix_time_s(
            hours_since,
            hot_s=phases["fix_hot_s"],
            warm_s=phases["fix_warm_s"],
            cold_s=phases["fix_cold_s"],
            ephemeris_valid_h=phases["ephemeris_valid_h"],
        )
    )


def _module_ma(phase: str, rest_ma: float) -> float:
    """Return the module current behind a phase of the hourly preset, less the processor's."""
    phases = preset("units", "hourly", where="evidence").values["report"]
    vehicle_ma = 1000.0 * float(phases[phase])
    one_ma = 1000.0 * float(
        load.module_to_vehicle_current_a(0.001, module_v=3.0, vehicle_v=12.0, efficiency=0.85)
    )
    return (vehicle_ma - rest_ma) / one_ma


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    fix = partial(_unit, quantity="time to a fix, presets", unit="s", tolerance=0.0)
    band = "the printed range itself"
    return (
        fix(
            key="unit-fix-hot",
            independence=SAME_SOURCE,
            conditions="3 h after the last fix",
            published=(1.0, 2.0),
            tolerance_reason=band,
            source=s.GNSS_GUIDES,
            model=lambda: _fix_s(3.0),
        ),
        fix(
            key="unit-fix-after-ephemeris",
            independence=SAME_SOURCE,
            conditions="4.1 h after the last fix: orbit data has expired",
            published=(20.0, 30.0),
            tolerance_reason=band,
            source=s.GNSS_WARM,
            model=lambda: _fix_s(4.1),
        ),
        fix(
            key="unit-fix-cold",
            independence=SAME_SOURCE,
            conditions="30 days after the last fix, open sky",
            published=(23.0, 29.0),
            tolerance_reason=band,
            source=s.GNSS_GUIDES,
            model=lambda: _fix_s(720.0),
        ),
        _unit(
            key="unit-ephemeris",
            independence=SAME_SOURCE,
            quantity="how long orbit data stays valid, presets",
            conditions="broadcast ephemeris",
            published=4.0,
            unit="h",
            tolerance=0.0,
            tolerance_reason="a definition",
            source=s.IS_GPS,
            grade=SECONDARY,
            model=lambda: float(
                preset("units", "hourly", where="evidence").values["report"]["ephemeris_valid_h"]
            ),
        ),
        _unit(
            key="unit-receiver",
            independence=SAME_SOURCE,
            quantity=(
                "receiver current while acquiring, behind the preset, processor 10 mA taken off"
            ),
            conditions="preset current brought back to the module at 3.0 V",
            published=(25.0, 32.0),
            unit="mA",
            tolerance=0.1,
            tolerance_kind="relative",
            tolerance_reason="the preset rounds to 1 mA of 10; one or two constellations",
            source=s.GNSS_SHEET,
            clause="table 8, acquisition",
            model=lambda: _module_ma("fix_a", 10.0),
        ),
    )
