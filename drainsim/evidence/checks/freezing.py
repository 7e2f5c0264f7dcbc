"""Freezing point of the electrolyte."""

from collections.abc import Callable
from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.asking import FLOODED
from drainsim.evidence.check import (
    MEMORY,
    OTHER_SOURCE,
    SAME_SOURCE,
    Check,
    Independence,
    Published,
    found_in,
)
from drainsim.evidence.sources import Source

_check = partial(Check, subject="freezing")

_SPREAD = "four printed tables agree within 3 K"
_OUTLIER = (
    "10 to 14 K colder than four other tables, on the dangerous side; the figures look like "
    "Celsius relabelled as Fahrenheit. What follows for the user: never trust a table that lets a "
    "flat battery stand at -20 °C"
)

_point = partial(
    _check, quantity="freezing point", unit="°C", tolerance=3.0, tolerance_reason=_SPREAD
)


def _at(gravity: float) -> Callable[[], float]:
    return partial(asking.freezing_c, gravity)


def _row(
    key: str,
    gravity: float,
    published: Published,
    source: Source,
    independence: Independence = OTHER_SOURCE,
    **more: str,
) -> Check:
    return _point(
        key=f"freeze-{key}",
        conditions=f"specific gravity {gravity:.3f}",
        published=published,
        **found_in(source, independence, more.get("clause", "")),
        expected_to_disagree=more.get("disagree", ""),
        model=_at(gravity),
    )


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        _row("1190-truck", 1.190, -26.1, s.TM_TRUCK, SAME_SOURCE, clause="table 2"),
        _row("1120-truck", 1.120, -9.4, s.TM_TRUCK, SAME_SOURCE, clause="table 2"),
        _row("1150-course", 1.150, -15.0, s.ORDNANCE),
        _row("1200-course", 1.200, -27.0, s.ORDNANCE),
        _row("1250-course", 1.250, -52.0, s.ORDNANCE),
        _row("1100-roller", 1.100, -7.0, s.TM_ROLLER, SAME_SOURCE, clause="table III"),
        _row("1160-traction", 1.160, -17.2, s.TM_TRACTION, clause="table 1-1"),
        _row("1220-traction", 1.220, -35.0, s.TM_TRACTION, clause="table 1-1"),
        _row("1155-outlier", 1.155, -26.7, s.MAKER_TABLE, clause="table 6", disagree=_OUTLIER),
        _point(
            key="freeze-flat-storage",
            conditions="flat battery",
            published=-12.2,
            tolerance=3.0,
            **found_in(s.TM_STORAGE, OTHER_SOURCE, "'can freeze at +10 °F'"),
            model=lambda: asking.freezing_at_charge_c(FLOODED, 0.0),
        ),
        _point(
            key="freeze-flat-manual",
            conditions="flat battery",
            published=-7.0,
            tolerance=3.0,
            **found_in(s.CAR_MANUAL_1997, OTHER_SOURCE, "'as high as -7 °C'"),
            model=lambda: asking.freezing_at_charge_c(FLOODED, 0.0),
        ),
        _point(
            key="freeze-30-percent-acid",
            conditions="30 % acid by weight, specific gravity 1.2185",
            published=-36.2,
            **found_in(
                s.OWN_MEMORY, OTHER_SOURCE, "handbook of chemistry, freezing depression", MEMORY
            ),
            model=_at(1.2185),
        ),
    )
