"""Cranking power an engine needs, warm and cold."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import MEASUREMENT, MEMORY, OTHER_SOURCE, SAME_SOURCE, SECONDARY, Check
from drainsim.physics import cranking, oil
from drainsim.vehicle.battery import Battery
from drainsim.vehicle.kind import usual_demand_a
from drainsim.vehicle.vehicle import VEHICLE

_check = partial(Check, subject="engine")

_needed = partial(
    _check,
    quantity="cranking power needed over warm (26.7 °C)",
    unit="",
    tolerance=0.2,
    tolerance_kind="relative",
    tolerance_reason="charts differ by 20 % at -18 °C (210 and 250 %)",
)


def _saved() -> float:
    thin, thick = (
        oil.turning_factor(-30.0, grade=grade, thicker_k=half) * oil.warm_oil_factor(grade)
        for grade, half in (("0W-16", -2.5), ("5W-30", 2.5))
    )
    return float(1.0 - thin / thick)


def _thickening(grade: str, key: str) -> Check:
    def ratio() -> float:
        cold, warm = oil.oil_viscosity_mpas([-35.0, -30.0], grade=grade)
        return float(cold / warm)

    return _check(
        key=key,
        independence=OTHER_SOURCE,
        quantity="thickening of oil by 5 K",
        conditions=f"{grade}, -30 to -35 °C",
        published=(1.7, 1.9),
        unit="",
        tolerance=0.05,
        tolerance_reason="typical viscosities are quoted to two digits",
        source=s.OIL_FORUM,
        grade=SECONDARY,
        model=ratio,
    )


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_engine(), *_small(), *_heavier(), *_contactors())


def _small() -> tuple[Check, ...]:
    labels = partial(
        _check,
        independence=SAME_SOURCE,
        quantity="cold cranking current of a motorcycle's usual battery",
        unit="A",
        tolerance=0.05,
        tolerance_kind="relative",
        tolerance_reason="a line through three sizes",
        source=s.CYCLE_ADVICE,
    )

    def fitted(litres: float) -> Battery:
        return asking.case({"vehicle": {"kind": "motorcycle", "engine_litres": litres}}).battery

    def demand_a(litres: float) -> float:
        return usual_demand_a("motorcycle", litres, diesel=False)[0]

    return (
        labels(
            key="motorcycle-125",
            conditions="125 cm³",
            published=120.0,
            model=lambda: fitted(0.125).cold_cranking_a,
        ),
        labels(
            key="motorcycle-600",
            conditions="600 cm³",
            published=(220.0, 240.0),
            model=lambda: fitted(0.6).cold_cranking_a,
        ),
        labels(
            key="motorcycle-1200",
            conditions="1,200 cm³",
            published=(300.0, 350.0),
            model=lambda: fitted(1.2).cold_cranking_a,
        ),
        _check(
            key="motorcycle-per-ah",
            independence=OTHER_SOURCE,
            quantity="cold cranking current per Ah, small batteries",
            conditions="4 to 18 Ah, eleven labels, median",
            published=16.2,
            unit="A/Ah",
            tolerance=0.12,
            tolerance_kind="relative",
            tolerance_reason="one standard deviation of the labels",
            source=s.SMALL_LABELS,
            model=lambda: fitted(0.6).cold_cranking_a / fitted(0.6).capacity_ah,
        ),
        _check(
            key="motorcycle-starter",
            independence=SAME_SOURCE,
            quantity="starter current of a motorcycle, 0.8 l twin",
            conditions="from warm to very cold",
            published=(65.0, 130.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="the measured ends themselves",
            source=s.CYCLE_OWNER,
            model=lambda: demand_a(0.82),
        ),
        _check(
            key="motorcycle-starter-small",
            independence=SAME_SOURCE,
            quantity="starter current of a motorcycle under rated load",
            conditions="smaller models, 125 cm³",
            published=(40.0, 50.0),
            unit="A",
            source=s.CYCLE_ADVICE,
            model=lambda: demand_a(0.125),
        ),
    )


def _heavier() -> tuple[Check, ...]:
    """Return starter currents that are printed higher than the model's."""
    asks = partial(_check, unit="A", grade=SECONDARY)
    too_easy = (
        "printed figures are up to twice ours. Do not use the usual starting current where the "
        "answer matters: give the measured one; with more current the days are fewer"
    )

    def truck_a() -> float:
        found = asking.case(
            {
                "vehicle": {"engine_litres": 12.8, "fuel": "diesel"},
                "battery": {"system": "24V", "capacity_ah": 180.0},
            }
        ).vehicle
        return found.demand_a * asking.demand_ratio(-18.0, oil=found.oil or "15W-40")

    return (
        asks(
            key="motorcycle-running-250",
            independence=OTHER_SOURCE,
            quantity="starter current of a motorcycle",
            conditions="250 cm³, warm and in winter",
            published=(100.0, 120.0),
            tolerance=0.0,
            tolerance_reason="the printed values themselves",
            source=s.CYCLE_WORKSHOP,
            known_weakness=too_easy,
            model=lambda: usual_demand_a("motorcycle", 0.25, diesel=False)[0],
        ),
        asks(
            key="motorcycle-running-large",
            independence=OTHER_SOURCE,
            quantity="starter current of a motorcycle",
            conditions="over 600 cm³, asked at 700",
            published=150.0,
            bound="at least",
            tolerance=0.0,
            tolerance_reason="'easily' more",
            source=s.CYCLE_WORKSHOP,
            known_weakness=too_easy,
            model=lambda: usual_demand_a("motorcycle", 0.7, diesel=False)[0],
        ),
        asks(
            key="truck-starter-cold",
            quantity="starter current of a heavy truck, 24 V",
            conditions="12.8 l diesel, -18 °C",
            published=1000.0,
            bound="at least",
            tolerance=0.0,
            tolerance_reason="'well over'",
            source=s.HEAVY_STARTER,
            independence=SAME_SOURCE,
            model=truck_a,
        ),
    )


def _contactors() -> tuple[Check, ...]:
    return (
        _check(
            key="contactor-voltage",
            independence=OTHER_SOURCE,
            quantity="lowest voltage for an electric vehicle's contactors",
            conditions="-40 to 85 °C, control units not counted",
            published=9.0,
            bound="at least",
            unit="V",
            tolerance=0.0,
            tolerance_reason="the printed limit itself; what the wiring loses comes on top",
            source=s.CONTACTOR_SHEET,
            clause="operates from 9 to 16 V",
            model=lambda: VEHICLE.minimum_cranking_v.usual("electric"),
        ),
        _check(
            key="contactor-current",
            independence=OTHER_SOURCE,
            quantity="half of an electric vehicle's waking current: the contactors' coils",
            conditions="three pulled in at once at 12 V, 3.8 ohm each",
            published=9.5,
            unit="A",
            tolerance=0.25,
            tolerance_kind="relative",
            tolerance_reason="two to four contactors, coils that differ by a third",
            source=s.CONTACTOR_SHEET,
            clause="pull-in coil",
            model=lambda: 0.5 * usual_demand_a("electric", 0.0, diesel=False)[0],
        ),
    )


def _engine() -> tuple[Check, ...]:
    return (
        _needed(
            key="crank-need-0c",
            independence=SAME_SOURCE,
            conditions="0 °C (32 °F)",
            published=1.55,
            source=s.GARAGE_CHART,
            model=lambda: asking.demand_ratio(0.0),
        ),
        _needed(
            key="crank-need-18c",
            independence=SAME_SOURCE,
            conditions="-17.8 °C (0 °F)",
            published=2.10,
            source=s.GARAGE_CHART,
            model=lambda: asking.demand_ratio(-17.8),
        ),
        _needed(
            key="crank-need-29c",
            independence=SAME_SOURCE,
            conditions="-28.9 °C (-20 °F)",
            published=3.50,
            source=s.GARAGE_CHART,
            model=lambda: asking.demand_ratio(-28.9),
        ),
        _thickening("0W-20", "crank-oil-0w-slope"),
        _thickening("5W-30", "crank-oil-5w-slope"),
        _check(
            key="crank-oil-six",
            independence=MEASUREMENT,
            quantity="torque saved by the thinnest of six oils against the thickest",
            conditions="-30 °C, thick 5W-30 against thin 0W-16 (only the former is told)",
            published=0.36,
            unit="",
            tolerance=0.08,
            tolerance_reason="'almost 36 %' at the coldest; the thinnest oil's grade is not told",
            source=s.SIX_OILS,
            model=_saved,
        ),
        _needed(
            key="crank-need-18c-blog",
            independence=OTHER_SOURCE,
            conditions="-17.8 °C (0 °F), petrol",
            published=(2.0, 2.5),
            source=s.COLD_BLOG,
            grade=SECONDARY,
            tolerance=0.0,
            tolerance_reason="the published range itself",
            model=lambda: asking.demand_ratio(-17.8),
        ),
        _needed(
            key="crank-need-20c-garage",
            independence=OTHER_SOURCE,
            conditions="-20 °C, 5W-30 (the site names no oil)",
            published=2.0,
            source=s.COLD_SERVICE,
            model=lambda: asking.demand_ratio(-20.0, oil="5W-30"),
        ),
        _needed(
            key="crank-need-27c-garage",
            independence=OTHER_SOURCE,
            conditions="-27 °C, 5W-30 (the site names no oil)",
            published=3.0,
            source=s.COLD_SERVICE,
            model=lambda: asking.demand_ratio(-27.0, oil="5W-30"),
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
        _check(
            key="crank-current-4cyl",
            independence=SAME_SOURCE,
            quantity="warm starter current, 2.0 l petrol (4 cylinders)",
            conditions="room temperature",
            published=(100.0, 185.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="from 'normally below' to the highest test limit printed",
            source=s.STARTER_BOOK,
            model=lambda: float(cranking.engine_demand_a(2.0, diesel=False)),
        ),
        _check(
            key="crank-current-8cyl",
            independence=SAME_SOURCE,
            quantity="warm starter current, 5.0 l petrol (8 cylinders)",
            conditions="room temperature",
            published=(150.0, 250.0),
            unit="A",
            tolerance=0.0,
            tolerance_reason="from 'normally below' to the highest test limit printed",
            source=s.STARTER_BOOK,
            model=lambda: float(cranking.engine_demand_a(5.0, diesel=False)),
        ),
        _check(
            key="crank-current-blog",
            independence=OTHER_SOURCE,
            quantity="warm starter current, 2.0 l petrol",
            conditions="warm engine",
            published=(125.0, 200.0),
            unit="A",
            source=s.COLD_BLOG,
            model=lambda: float(cranking.engine_demand_a(2.0, diesel=False)),
        ),
        _check(
            key="crank-current-diesel",
            independence=OTHER_SOURCE,
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
