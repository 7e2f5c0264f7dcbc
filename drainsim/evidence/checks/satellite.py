"""Satellite receiver: time to a fix and current, as the unit presets carry them."""

from functools import partial

from drainsim.evidence import sources as s
from drainsim.evidence.check import SAME_SOURCE, SECONDARY, Check, found_in, within
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
            conditions="3 h after the last fix",
            published=(1.0, 2.0),
            tolerance_reason=band,
            **found_in(s.GNSS_GUIDES, SAME_SOURCE),
            model=lambda: _fix_s(3.0),
        ),
        fix(
            key="unit-fix-after-ephemeris",
            conditions="4.1 h after the last fix: orbit data has expired",
            published=(20.0, 30.0),
            tolerance_reason=band,
            **found_in(s.GNSS_WARM, SAME_SOURCE),
            model=lambda: _fix_s(4.1),
        ),
        fix(
            key="unit-fix-cold",
            conditions="30 days after the last fix, open sky",
            published=(23.0, 29.0),
            tolerance_reason=band,
            **found_in(s.GNSS_GUIDES, SAME_SOURCE),
            model=lambda: _fix_s(720.0),
        ),
        _unit(
            key="unit-ephemeris",
            quantity="how long orbit data stays valid, presets",
            conditions="broadcast ephemeris",
            **within(4.0, "h", 0.0, "a definition"),
            **found_in(s.IS_GPS, SAME_SOURCE, grade=SECONDARY),
            model=lambda: float(
                preset("units", "hourly", where="evidence").values["report"]["ephemeris_valid_h"]
            ),
        ),
        _unit(
            key="unit-receiver",
            quantity=(
                "receiver current while acquiring, behind the preset, processor 10 mA taken off"
            ),
            conditions="preset current brought back to the module at 3.0 V",
            **within(
                (25.0, 32.0),
                "mA",
                0.1,
                "the preset rounds to 1 mA of 10; one or two constellations",
                relative=True,
            ),
            **found_in(s.GNSS_SHEET, SAME_SOURCE, "table 8, acquisition"),
            model=lambda: _module_ma("fix_a", 10.0),
        ),
    )
