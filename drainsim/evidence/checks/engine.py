"""Cranking power an engine needs, warm and cold."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import (
    MEASUREMENT,
    MEMORY,
    OTHER_SOURCE,
    SAME_SOURCE,
    SECONDARY,
    Check,
    asking_at,
    found_in,
    within,
)
from drainsim.physics import cranking, oil
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.kind import usual_demand_a
from drainsim.vehicle.vehicle import VEHICLE

_check = partial(Check, subject="engine")

_needed = asking_at(
    asking.demand_ratio,
    subject="engine",
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
        quantity="thickening of oil by 5 K",
        conditions=f"{grade}, -30 to -35 °C",
        **within((1.7, 1.9), "", 0.05, "typical viscosities are quoted to two digits"),
        **found_in(s.OIL_FORUM, OTHER_SOURCE, grade=SECONDARY),
        model=ratio,
    )


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_engine(), *_small(), *_heavier(), *_contactors())


def _small() -> tuple[Check, ...]:
    def fitted(litres: float) -> Battery:
        return asking.case({"vehicle": {"kind": "motorcycle", "engine_litres": litres}}).battery

    labels = asking_at(
        lambda litres: fitted(litres).cold_cranking_a,
        subject="engine",
        independence=SAME_SOURCE,
        quantity="cold cranking current of a motorcycle's usual battery",
        unit="A",
        tolerance=0.05,
        tolerance_kind="relative",
        tolerance_reason="a line through three sizes",
        source=s.CYCLE_ADVICE,
    )

    def demand_a(litres: float) -> float:
        return usual_demand_a("motorcycle", litres, diesel=False)[0]

    return (
        labels("motorcycle-125", "125 cm³", 120.0, 0.125),
        labels("motorcycle-600", "600 cm³", (220.0, 240.0), 0.6),
        labels("motorcycle-1200", "1,200 cm³", (300.0, 350.0), 1.2),
        _check(
            key="motorcycle-per-ah",
            quantity="cold cranking current per Ah, small batteries",
            conditions="4 to 18 Ah, eleven labels, median",
            **within(16.2, "A/Ah", 0.12, "one standard deviation of the labels", relative=True),
            **found_in(s.SMALL_LABELS, OTHER_SOURCE),
            model=lambda: fitted(0.6).cold_cranking_a / fitted(0.6).capacity_ah,
        ),
        _check(
            key="motorcycle-starter",
            quantity="starter current of a motorcycle, 0.8 l twin",
            conditions="from warm to very cold",
            **within((65.0, 130.0), "A", 0.0, "the measured ends themselves"),
            **found_in(s.CYCLE_OWNER, SAME_SOURCE),
            model=lambda: demand_a(0.82),
        ),
        _check(
            key="motorcycle-starter-small",
            quantity="starter current of a motorcycle under rated load",
            conditions="smaller models, 125 cm³",
            **within((40.0, 50.0), "A"),
            **found_in(s.CYCLE_ADVICE, SAME_SOURCE),
            model=lambda: demand_a(0.125),
        ),
    )


def _heavier() -> tuple[Check, ...]:
    """Return starter currents that are printed higher than the model's."""
    asks = partial(_check, unit="A")
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
            quantity="starter current of a motorcycle",
            conditions="250 cm³, warm and in winter",
            published=(100.0, 120.0),
            tolerance=0.0,
            tolerance_reason="the printed values themselves",
            **found_in(s.CYCLE_WORKSHOP, OTHER_SOURCE, grade=SECONDARY),
            known_weakness=too_easy,
            model=lambda: usual_demand_a("motorcycle", 0.25, diesel=False)[0],
        ),
        asks(
            key="motorcycle-running-large",
            quantity="starter current of a motorcycle",
            conditions="over 600 cm³, asked at 700",
            published=150.0,
            tolerance=0.0,
            tolerance_reason="'easily' more",
            bound="at least",
            **found_in(s.CYCLE_WORKSHOP, OTHER_SOURCE, grade=SECONDARY),
            known_weakness=too_easy,
            model=lambda: usual_demand_a("motorcycle", 0.7, diesel=False)[0],
        ),
        asks(
            key="truck-starter-cold",
            quantity="starter current of a heavy truck, 24 V",
            conditions="12.8 l diesel, -18 °C",
            published=1000.0,
            tolerance=0.0,
            tolerance_reason="'well over'",
            bound="at least",
            **found_in(s.HEAVY_STARTER, SAME_SOURCE, grade=SECONDARY),
            model=truck_a,
        ),
    )


def _contactors() -> tuple[Check, ...]:
    return (
        _check(
            key="contactor-voltage",
            quantity="lowest voltage for an electric vehicle's contactors",
            conditions="-40 to 85 °C, control units not counted",
            published=9.0,
            unit="V",
            tolerance_reason="the printed limit itself; what the wiring loses comes on top",
            bound="at least",
            **found_in(s.CONTACTOR_SHEET, OTHER_SOURCE, "operates from 9 to 16 V"),
            model=lambda: VEHICLE.minimum_cranking_v.usual("electric"),
        ),
        _check(
            key="contactor-current",
            quantity="half of an electric vehicle's waking current: the contactors' coils",
            conditions="three pulled in at once at 12 V, 3.8 ohm each",
            published=9.5,
            unit="A",
            tolerance=0.25,
            tolerance_reason="two to four contactors, coils that differ by a third",
            tolerance_kind="relative",
            **found_in(s.CONTACTOR_SHEET, OTHER_SOURCE, "pull-in coil"),
            model=lambda: 0.5 * usual_demand_a("electric", 0.0, diesel=False)[0],
        ),
    )


def _engine() -> tuple[Check, ...]:
    return (
        _needed("crank-need-0c", "0 °C (32 °F)", 1.55, 0.0, s.GARAGE_CHART, SAME_SOURCE),
        _needed("crank-need-18c", "-17.8 °C (0 °F)", 2.10, -17.8, s.GARAGE_CHART, SAME_SOURCE),
        _needed("crank-need-29c", "-28.9 °C (-20 °F)", 3.50, -28.9, s.GARAGE_CHART, SAME_SOURCE),
        _thickening("0W-20", "crank-oil-0w-slope"),
        _thickening("5W-30", "crank-oil-5w-slope"),
        _check(
            key="crank-oil-six",
            quantity="torque saved by the thinnest of six oils against the thickest",
            conditions="-30 °C, thick 5W-30 against thin 0W-16 (only the former is told)",
            **within(
                0.36, "", 0.08, "'almost 36 %' at the coldest; the thinnest oil's grade is not told"
            ),
            **found_in(s.SIX_OILS, MEASUREMENT),
            model=_saved,
        ),
        _needed(
            key="crank-need-18c-blog",
            conditions="-17.8 °C (0 °F), petrol",
            published=(2.0, 2.5),
            at=-17.8,
            **found_in(s.COLD_BLOG, OTHER_SOURCE, grade=SECONDARY),
            tolerance=0.0,
            tolerance_reason="the published range itself",
        ),
        _needed(
            key="crank-need-20c-garage",
            conditions="-20 °C, 5W-30 (the site names no oil)",
            published=2.0,
            at=(-20.0, "5W-30"),
            **found_in(s.COLD_SERVICE, OTHER_SOURCE),
        ),
        _needed(
            key="crank-need-27c-garage",
            conditions="-27 °C, 5W-30 (the site names no oil)",
            published=3.0,
            at=(-27.0, "5W-30"),
            **found_in(s.COLD_SERVICE, OTHER_SOURCE),
        ),
        _needed(
            key="crank-need-18c-older",
            conditions="-17.8 °C (0 °F)",
            published=2.5,
            at=-17.8,
            **found_in(s.OWN_MEMORY, OTHER_SOURCE, "older industry charts", MEMORY),
        ),
        _needed(
            key="crank-need-4c-club",
            conditions="4 °C",
            published=2.0,
            at=4.0,
            **found_in(s.CLUB_TIP, OTHER_SOURCE),
            expected_to_disagree=(
                "speaks of an engine of the 1930s with thick single-grade oil; charts for present "
                "oils print 155 % at 0 °C. What follows for the user: with a very old engine or "
                "heavy oil give the starter current you measured"
            ),
        ),
        _check(
            key="crank-current-4cyl",
            quantity="warm starter current, 2.0 l petrol (4 cylinders)",
            conditions="room temperature",
            **within(
                (100.0, 185.0), "A", 0.0, "from 'normally below' to the highest test limit printed"
            ),
            **found_in(s.STARTER_BOOK, SAME_SOURCE),
            model=lambda: float(cranking.engine_demand_a(2.0, diesel=False)),
        ),
        _check(
            key="crank-current-8cyl",
            quantity="warm starter current, 5.0 l petrol (8 cylinders)",
            conditions="room temperature",
            **within(
                (150.0, 250.0), "A", 0.0, "from 'normally below' to the highest test limit printed"
            ),
            **found_in(s.STARTER_BOOK, SAME_SOURCE),
            model=lambda: float(cranking.engine_demand_a(5.0, diesel=False)),
        ),
        _check(
            key="crank-current-blog",
            quantity="warm starter current, 2.0 l petrol",
            conditions="warm engine",
            **within((125.0, 200.0), "A"),
            **found_in(s.COLD_BLOG, OTHER_SOURCE),
            model=lambda: float(cranking.engine_demand_a(2.0, diesel=False)),
        ),
        _check(
            key="crank-current-diesel",
            quantity="warm starter current, 2.2 l diesel",
            conditions="lift-truck engine, typical",
            published=(180.0, 220.0),
            unit="A",
            tolerance_reason="the printed range itself; engine size 2 to 2.5 l is from memory",
            **found_in(s.TM_LIFT_DIESEL, OTHER_SOURCE),
            model=lambda: float(cranking.engine_demand_a(2.2, diesel=True)),
        ),
    )
