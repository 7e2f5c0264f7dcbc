"""Resistance of conductors and fuses."""

from collections.abc import Callable
from functools import partial

from drainsim.evidence import sources as s
from drainsim.evidence.check import (
    DEFINITION,
    MEASUREMENT,
    MEMORY,
    OTHER_SOURCE,
    READ,
    SAME_SOURCE,
    SECONDARY,
    Check,
    Independence,
    found_in,
    within,
)
from drainsim.evidence.sources import Source
from drainsim.physics import wiring

_check = partial(Check, subject="wiring")

_PRINTED = (
    "two printed tables and the formula agree within 0.3 %; rounding to three digits adds 0.1 %"
)
_LIMIT = (
    "a limit for all sections by one factor: the printed limits over resistivity and section run "
    "from 1.124 to 1.157, 3 % apart"
)


def _ohm_per_km(gauge: int) -> float:
    return 1000.0 * float(wiring.solid_wire_ohm_per_m(wiring.awg_area_mm2(gauge)))


def _cable(section_mm2: float) -> Callable[[], float]:
    return lambda: 1000.0 * float(wiring.cable_ohm_per_m(section_mm2))


def _wire(gauge: int, published: float) -> Check:
    return _check(
        key=f"wire-awg-{gauge}",
        quantity="resistance of a solid copper wire",
        conditions=f"{gauge} AWG, 20 °C",
        **within(published, "ohm/km", 0.004, _PRINTED, relative=True),
        **found_in(s.WIRE_TABLES, DEFINITION),
        model=partial(_ohm_per_km, gauge),
    )


def _stranded(
    key: str,
    section_mm2: float,
    published: float,
    tolerance: float,
    reason: str,
    source: Source,
    *,
    clause: str = "",
    memory: bool = False,
    independence: Independence = OTHER_SOURCE,
) -> Check:
    return _check(
        key=key,
        quantity="resistance to reckon with, fine-stranded cable",
        conditions=f"{section_mm2:g} mm², 20 °C, one conductor",
        **within(published, "mohm/m", tolerance, reason, relative=True),
        **found_in(source, independence, clause, MEMORY if memory else READ),
        model=_cable(section_mm2),
    )


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_wires(), *_cables(), *_fuses())


def _wires() -> tuple[Check, ...]:
    return (
        _check(
            key="wire-awg-4-0-diameter",
            quantity="diameter of 4/0 AWG",
            conditions="solid round wire",
            **within(11.684, "mm", 0.001, "0.460 in is a definition: only rounding is allowed"),
            **found_in(s.WIRE_STANDARD, DEFINITION, grade=SECONDARY),
            model=lambda: float(wiring.awg_diameter_mm(-3)),
        ),
        _wire(12, 5.21),
        _wire(18, 20.95),
        _wire(24, 84.20),
        _check(
            key="copper-mass-resistivity",
            quantity="mass resistivity of annealed copper, density 8.89 g/cm³",
            conditions="20 °C",
            published=0.15328,
            unit="ohm·g/m²",
            tolerance=0.0001,
            tolerance_reason="a definition of the same note in other units: rounding only",
            **found_in(s.COPPER_NOTE, DEFINITION, grade=SECONDARY),
            model=lambda: float(wiring.copper_resistivity_ohm_mm2_per_m(20.0)) * 8.89,
        ),
        _check(
            key="copper-90c",
            quantity="resistance of copper over that at 20 °C",
            conditions="90 °C",
            published=1.28,
            unit="",
            tolerance=0.01,
            tolerance_reason=(
                "'about +28 %': rounded to one per cent, commercial copper 97 to 101 %"
            ),
            **found_in(s.COPPER_TRADE, OTHER_SOURCE),
            model=lambda: float(
                wiring.copper_resistivity_ohm_mm2_per_m(90.0)
                / wiring.copper_resistivity_ohm_mm2_per_m(20.0)
            ),
        ),
    )


def _cables() -> tuple[Check, ...]:
    fine = "an ordinary value below the limit we reckon with: 3 to 6 % measured between the two"
    return (
        _stranded(
            "cable-class5-0.5", 0.5, 39.0, 0.03, _LIMIT, s.IEC_60228, independence=SAME_SOURCE
        ),
        _stranded(
            "cable-class5-1.0", 1.0, 19.5, 0.03, _LIMIT, s.IEC_60228, independence=SAME_SOURCE
        ),
        _stranded(
            "cable-class5-2.5", 2.5, 7.98, 0.03, _LIMIT, s.IEC_60228, independence=SAME_SOURCE
        ),
        _stranded(
            "cable-vde-0.34",
            0.34,
            57.0,
            0.04,
            _LIMIT,
            s.VDE_0295,
            clause="page 3",
            independence=SAME_SOURCE,
        ),
        _stranded("cable-towing-1.0", 1.0, 18.9, 0.08, fine, s.TOWING_CABLE),
        _stranded("cable-towing-1.5", 1.5, 12.5, 0.08, fine, s.TOWING_CABLE),
        _stranded("cable-towing-2.5", 2.5, 7.5, 0.08, fine, s.TOWING_CABLE),
        _stranded("cable-chart-1.5", 1.5, 12.7, 0.08, fine, s.CABLE_CHART),
        _stranded(
            "cable-iso-0.5", 0.5, 37.1, 0.08, fine, s.OWN_MEMORY, clause="ISO 6722-1", memory=True
        ),
    )


def _fuses() -> tuple[Check, ...]:
    return (
        _check(
            key="fuse-10a-chart",
            quantity="current for 1 mV across a medium 10 A blade fuse",
            conditions="cold, parked vehicle",
            published=130.0,
            unit="mA",
            tolerance=0.02,
            tolerance_reason="the chart rounds to 10 mA; half of it is 4 %, 2 % is one digit more",
            tolerance_kind="relative",
            **found_in(s.FUSE_CHART, SAME_SOURCE),
            model=lambda: 1000.0 * float(wiring.fuse_current_a(0.001, rating_a=10.0)),
        ),
        _check(
            key="fuse-15a-measured",
            quantity="cold resistance of a medium 15 A blade fuse",
            conditions="about 20 °C, measured",
            published=4.5,
            unit="mohm",
            tolerance=0.07,
            tolerance_reason=(
                "the same post quotes 4.8 from the data sheet: 7 % above the measurement"
            ),
            tolerance_kind="relative",
            **found_in(s.FUSE_FORUM, MEASUREMENT),
            model=lambda: 1000.0 * wiring.fuse_cold_ohm(15.0),
        ),
        _check(
            key="fuse-15a-sheet",
            quantity="cold resistance of a medium 15 A blade fuse",
            conditions="data sheet",
            **within(4.8, "mohm", 0.05, "rounding of the quoted value"),
            **found_in(s.FUSE_FORUM, SAME_SOURCE, grade=SECONDARY),
            model=lambda: 1000.0 * wiring.fuse_cold_ohm(15.0),
        ),
        _check(
            key="fuse-continuous",
            quantity="continuous load of a 10 A blade fuse",
            conditions="25 °C, free air",
            **within(7.5, "A", 0.01, "the rule itself"),
            **found_in(s.FUSEOLOGY, SAME_SOURCE, "75 % of rating at 25 °C"),
            model=lambda: float(wiring.fuse_continuous_a(10.0)),
        ),
        _check(
            key="fuse-drop-at-rating",
            quantity="voltage across a medium 10 A blade at its rated current",
            conditions="hot",
            **within(109.0, "mV", 0.1, "a nominal value", relative=True),
            **found_in(s.OWN_MEMORY, OTHER_SOURCE, grade=MEMORY),
            expected_to_disagree=(
                "the table holds cold resistances for small parked currents; near its rating a "
                "fuse is hot and 40 % higher. What follows for the user: the fuse method is not "
                "for large currents"
            ),
            model=lambda: (
                1000.0
                * float(
                    wiring.voltage_drop_v(
                        10.0, length_m=0.0, ohm_per_m=0.0, extra_ohm=wiring.fuse_cold_ohm(10.0)
                    )
                )
            ),
        ),
    )
