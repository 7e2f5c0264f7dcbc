"""Cranking power an engine needs, warm and cold."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import MEMORY, OTHER_SOURCE, SAME_SOURCE, SECONDARY, Check
from drainsim.physics import cranking

_needed = partial(
    Check,
    subject="engine",
    quantity="cranking power needed over warm (26.7 °C)",
    unit="",
    tolerance=0.2,
    tolerance_kind="relative",
    tolerance_reason="charts differ by 20 % at -18 °C (210 and 250 %)",
)


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        _needed(
            key="crank-need-0c",
            independence=SAME_SOURCE,
            conditions="0 °C (32 °F)",
            published=1.55,
            source=s.GARAGE_CHART,
            tolerance=0.02,
            tolerance_reason="the model carries this table: rounding only",
            model=lambda: asking.demand_ratio(0.0),
        ),
        _needed(
            key="crank-need-18c",
            independence=SAME_SOURCE,
            conditions="-17.8 °C (0 °F)",
            published=2.10,
            source=s.GARAGE_CHART,
            tolerance=0.02,
            tolerance_reason="the model carries this table: rounding only",
            model=lambda: asking.demand_ratio(-17.8),
        ),
        _needed(
            key="crank-need-18c-blog",
            independence=OTHER_SOURCE,
            conditions="-17.8 °C (0 °F), petrol",
            published=(2.0, 2.5),
            source=s.COLD_BLOG,
            grade=SECONDARY,
            tolerance=0.0,
            tolerance_reason="the printed range itself",
            model=lambda: asking.demand_ratio(-17.8),
        ),
        _needed(
            key="crank-need-20c-garage",
            independence=OTHER_SOURCE,
            conditions="-20 °C",
            published=2.0,
            source=s.COLD_SERVICE,
            model=lambda: asking.demand_ratio(-20.0),
        ),
        _needed(
            key="crank-need-27c-garage",
            independence=OTHER_SOURCE,
            conditions="-27 °C",
            published=3.0,
            source=s.COLD_SERVICE,
            model=lambda: asking.demand_ratio(-27.0),
        ),
        _needed(
            key="crank-need-18c-older",
            independence=OTHER_SOURCE,
            conditions="-17.8 °C (0 °F)",
            published=2.5,
            source=s.OWN_MEMORY,
            clause="older industry charts",
            grade=MEMORY,
            model=lambda: asking.demand_ratio(-17.8),
        ),
        _needed(
            key="crank-need-4c-club",
            independence=OTHER_SOURCE,
            conditions="4 °C",
            published=2.0,
            source=s.CLUB_TIP,
            expected_to_disagree=(
                "speaks of an engine of the 1930s with thick single-grade oil; charts for present "
                "oils print 155 % at 0 °C. What follows for the user: with a very old engine or "
                "heavy oil give the starter current you measured"
            ),
            model=lambda: asking.demand_ratio(4.0),
        ),
        Check(
            key="crank-current-4cyl",
            independence=SAME_SOURCE,
            subject="engine",
            quantity="warm starter current, 2.0 l petrol (4 cylinders)",
            conditions="room temperature",
            published=(100.0, 185.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="from 'normally below' to the highest test limit printed",
            source=s.STARTER_BOOK,
            model=lambda: float(cranking.engine_demand_a(2.0, diesel=False)),
        ),
        Check(
            key="crank-current-8cyl",
            independence=SAME_SOURCE,
            subject="engine",
            quantity="warm starter current, 5.0 l petrol (8 cylinders)",
            conditions="room temperature",
            published=(150.0, 250.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="from 'normally below' to the highest test limit printed",
            source=s.STARTER_BOOK,
            model=lambda: float(cranking.engine_demand_a(5.0, diesel=False)),
        ),
        Check(
            key="crank-current-blog",
            independence=OTHER_SOURCE,
            subject="engine",
            quantity="warm starter current, 2.0 l petrol",
            conditions="warm engine",
            published=(125.0, 200.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="the printed range itself",
            source=s.COLD_BLOG,
            model=lambda: float(cranking.engine_demand_a(2.0, diesel=False)),
        ),
        Check(
            key="crank-current-diesel",
            independence=OTHER_SOURCE,
            subject="engine",
            quantity="warm starter current, 2.2 l diesel",
            conditions="lift-truck engine, typical",
            published=(180.0, 220.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="the printed range itself; engine size 2 to 2.5 l is from memory",
            source=s.TM_LIFT_DIESEL,
            model=lambda: float(cranking.engine_demand_a(2.2, diesel=True)),
        ),
    )
