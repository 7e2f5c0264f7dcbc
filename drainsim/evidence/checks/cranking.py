"""Cranking power a battery has, cold and discharged."""

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
from drainsim.vehicle.batteries.label import usual_capacity_ah, usual_cold_cranking_a

_check = partial(Check, subject="cranking")

_available = asking_at(
    asking.power_ratio,
    subject="cranking",
    quantity="cranking power left of warm (26.7 °C), full battery",
    unit="",
    tolerance=0.05,
    tolerance_reason=(
        "sources round to 5 or 10 % of the warm power; seven sources agree within this"
    ),
)
_by_charge = partial(
    _check,
    quantity="cranking power left of full",
    unit="",
    tolerance=0.03,
    tolerance_reason="the profile carries this table: rounding to a whole step of gravity",
    source=s.TM_ROLLER,
    clause="table IV",
)


def _usual_rated_a(litres: float) -> float:
    per_ah = asking.profile(asking.FLOODED).number("cold_cranking_a_per_ah")
    return usual_cold_cranking_a(usual_capacity_ah(litres, diesel=False), per_ah=per_ah)


def _coldest_start_c(preset: str, oil: str) -> float:
    return asking.coldest_start_c(
        asking.case(
            {"vehicle": {"preset": preset, "oil_grade": oil}, "battery": {"age_years": 0.0}}
        )
    )


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_power(), *_load_tests(), *_whole())


def _power() -> tuple[Check, ...]:
    return (
        _available("crank-power-0c", "0 °C", 0.65, 0.0, s.TM_TRUCK, SAME_SOURCE, "table 3"),
        _available("crank-power-18c", "-17.8 °C", 0.40, -17.8, s.TM_TRUCK, SAME_SOURCE, "table 3"),
        _available(
            "crank-power-roller-1c", "-1.1 °C (30 °F)", 0.65, -1.1, s.TM_ROLLER, SAME_SOURCE
        ),
        _available(
            key="crank-power-automotive",
            conditions="-18 °C against 27 °C",
            published=0.40,
            at=-18.0,
            **found_in(s.TM_AUTOMOTIVE, SAME_SOURCE, "page 289"),
        ),
        _available(
            key="crank-power-qa",
            conditions="-20 °C against 20 °C",
            published=0.40,
            at=(-20.0, 20.0),
            **found_in(s.BATTERY_QA, OTHER_SOURCE, grade=SECONDARY),
            quantity="cranking power left of that at 20 °C, full battery",
        ),
        _available(
            "crank-power-29c-chart", "-28.9 °C (-20 °F)", 0.25, -28.9, s.GARAGE_CHART, SAME_SOURCE
        ),
        _available(
            key="crank-power-29c-manual",
            conditions="-28.9 °C (-20 °F)",
            published=0.20,
            at=-28.9,
            **found_in(s.TM_TRUCK, SAME_SOURCE, "table 3"),
            expected_to_disagree=(
                "20, 25 and 30 % are printed for -29 °C and measured impedance leaves 33 %: their "
                "middle is kept, and all of them lie within the spread that is drawn. What "
                "follows for the user: below -20 °C batteries differ, heat decides"
            ),
        ),
        _available(
            key="crank-power-40c-impedance",
            conditions="-40 °C, resistance alone",
            published=0.74,
            at=(-40.0, -18.0),
            **found_in(s.COLD_STUDY, SAME_SOURCE, "1 kHz, ten batteries"),
            quantity="cranking power left of that at -18 °C, full battery",
            tolerance=0.0,
            tolerance_reason="an upper bound: cranking adds what diffusion takes",
            bound="at most",
        ),
        _available("crank-power-29c-magazine", "-29 °C", 0.30, -29.0, s.MAGAZINE, SAME_SOURCE),
        _available(
            key="crank-power-blog",
            conditions="-17.8 °C (0 °F)",
            published=0.65,
            at=-17.8,
            **found_in(s.COLD_BLOG, OTHER_SOURCE, grade=SECONDARY),
            expected_to_disagree=(
                "every other source prints 40 % there and 65 % at 0 °C: this table's temperature "
                "column is shifted by a row. What follows for the user: do not trust it"
            ),
        ),
        _by_charge(
            key="crank-charge-75",
            conditions="75 % (1.250 of 1.280), 26.7 °C, voltage limit as in the rating",
            published=0.75,
            independence=SAME_SOURCE,
            model=lambda: asking.available_a(0.75, 26.7) / asking.available_a(1.0, 26.7),
        ),
        _by_charge(
            key="crank-charge-50",
            conditions="50 % (1.220 of 1.280), 26.7 °C, voltage limit as in the rating",
            published=0.50,
            independence=SAME_SOURCE,
            model=lambda: asking.available_a(0.5, 26.7) / asking.available_a(1.0, 26.7),
        ),
    )


def _outlives() -> float:
    battery = asking.battery(age_years=4.0)
    return battery.cranking_health - battery.capacity_health


def _load_tests() -> tuple[Check, ...]:
    limit = partial(
        _check,
        quantity="voltage under half the rated current, battery at its end of life",
        unit="V",
        tolerance=0.3,
        tolerance_reason="15 s is not 30 s, and the meter is read to 0.1 V",
        source=s.TM_TRUCK,
        clause="table 5, lowest passing voltage after 15 s",
    )
    end = "cranking_at_end_of_life"
    return (
        limit(
            key="crank-load-test-18c",
            conditions="-18 °C, cranking current left 70 %",
            published=8.5,
            independence=SAME_SOURCE,
            model=lambda: asking.cranking_v(
                270.0, -18.0, health=asking.profile(asking.FLOODED).number(end)
            ),
        ),
        limit(
            key="crank-load-test-21c",
            conditions="21 °C, cranking current left 70 %",
            published=9.6,
            independence=OTHER_SOURCE,
            expected_to_disagree=(
                "from 21 to -18 °C the pass limits imply a resistance 1.3 times higher, the power "
                "tables 2.3 times; both are in the same manual. A pass limit is a floor for any "
                "battery, the power table is used. What follows for the user: a battery that just "
                "passes a warm load test is worse in frost than at its end of life here"
            ),
            model=lambda: asking.cranking_v(
                270.0, 21.0, health=asking.profile(asking.FLOODED).number(end)
            ),
        ),
        _check(
            key="crank-outlives-capacity",
            quantity="cranking current left less capacity left, flooded",
            conditions="four years in a temperate climate; no figure printed: not below 0",
            **within(0.0, "", 0.0, "the order is what is printed", bound="at least"),
            **found_in(s.AGEING_LESSON, SAME_SOURCE),
            model=_outlives,
        ),
        _check(
            key="crank-resistance-warm",
            quantity="internal resistance, 60 Ah, 540 A",
            conditions="25 °C, full, new",
            **within((3.0, 8.0), "mohm", 0.0, "the remembered range itself"),
            **found_in(s.OWN_MEMORY, OTHER_SOURCE, grade=MEMORY),
            model=lambda: (
                (asking.cranking_v(100.0, 25.0) - asking.cranking_v(300.0, 25.0)) / 200.0 * 1000.0
            ),
        ),
    )


def _whole() -> tuple[Check, ...]:
    usual = asking_at(
        _usual_rated_a,
        subject="cranking",
        quantity="cold cranking current usually fitted",
        unit="A",
        tolerance=0.15,
        tolerance_kind="relative",
        tolerance_reason="labels of one size differ by 15 % between makes (profile's own spread)",
        source=s.RETAIL_CCA,
    )
    coldest = partial(
        _check,
        quantity="lowest starting temperature, full new battery of the usual size",
        unit="°C",
        tolerance=2.0,
        tolerance_reason="the range is printed in steps of 5 °C: half a step, rounded down",
        source=s.STARTING_LESSON,
    )
    by_oil = asking_at(
        _coldest_start_c,
        subject="cranking",
        independence=OTHER_SOURCE,
        quantity="lowest starting temperature, full new battery of the usual size",
        unit="°C",
        tolerance=2.5,
        tolerance_reason="grades are steps of 5 °C: half a step",
    )
    return (
        usual(
            "crank-usual-4cyl", "4 cylinders, 2.0 l petrol", 600.0, 2.0, independence=SAME_SOURCE
        ),
        usual(
            "crank-usual-6cyl", "6 cylinders, 3.0 l petrol", 700.0, 3.0, independence=SAME_SOURCE
        ),
        usual(
            "crank-usual-8cyl", "8 cylinders, 5.0 l petrol", 750.0, 5.0, independence=SAME_SOURCE
        ),
        coldest(
            key="crank-limit-car",
            conditions="compact car, 2.0 l petrol, 10W-40 (the lesson names no oil)",
            published=(-25.0, -18.0),
            independence=OTHER_SOURCE,
            model=lambda: _coldest_start_c("compact_petrol", "10W-40"),
        ),
        coldest(
            key="crank-limit-truck",
            conditions="light truck, 3.0 l diesel, 15W-40 (the lesson names no oil)",
            published=(-20.0, -15.0),
            independence=OTHER_SOURCE,
            model=lambda: _coldest_start_c("light_truck_diesel", "15W-40"),
        ),
        coldest(
            key="crank-limit-heavy-truck",
            conditions="24 V truck, 12.8 l diesel, two of 180 Ah / 1,000 A, 15W-40",
            published=(-20.0, -15.0),
            independence=OTHER_SOURCE,
            model=lambda: asking.coldest_start_c(
                asking.case(
                    {
                        "vehicle": {"engine_litres": 12.8, "fuel": "diesel", "oil_grade": "15W-40"},
                        "battery": {
                            "system": "24V",
                            "capacity_ah": 180.0,
                            "cold_cranking_a": 1000.0,
                            "age_years": 0.0,
                        },
                    }
                )
            ),
        ),
        by_oil(
            key="crank-limit-0w",
            conditions="compact car, 2.0 l petrol, 0W-20",
            published=-35.0,
            at=("compact_petrol", "0W-20"),
            source=s.OIL_NEWS,
            grade=SECONDARY,
            expected_to_disagree=(
                "printed for the oil alone; with it a battery of the usual size gives out a few "
                "kelvin sooner, the cautious side. What follows for the user: below -30 °C it is "
                "the battery that needs heat or size, not the oil"
            ),
        ),
        by_oil(
            key="crank-limit-5w",
            conditions="compact car, 2.0 l petrol, 5W-30",
            published=-30.0,
            at=("compact_petrol", "5W-30"),
            source=s.OIL_NEWS,
            grade=SECONDARY,
        ),
        by_oil(
            key="crank-limit-5w-owner",
            conditions="compact car, 2.0 l petrol, 5W-30: thinner oil asked for below",
            published=-29.0,
            at=("compact_petrol", "5W-30"),
            source=s.OWNER_OIL,
        ),
        by_oil(
            key="crank-limit-15w-owner",
            conditions="compact car, 2.0 l petrol, 15W-40: recommended down to there",
            published=-12.0,
            at=("compact_petrol", "15W-40"),
            tolerance=0.0,
            tolerance_reason="what is recommended must start with something in hand",
            bound="at most",
            source=s.OIL_CHART,
        ),
        by_oil(
            key="crank-limit-jeep",
            conditions="petrol, 2.0 l, 10W-30 (the trials' abstract names no oil), no starting aid",
            published=-25.0,
            at=("compact_petrol", "10W-30"),
            **found_in(s.JEEP_TRIALS, MEASUREMENT),
        ),
        by_oil(
            key="crank-limit-diesel-5w",
            conditions="diesel, 3.0 l for a heavy one, 5W-30: started there without a heater",
            published=-23.0,
            at=("light_truck_diesel", "5W-30"),
            **found_in(s.SYNTHETIC_DIESEL, MEASUREMENT),
            tolerance=0.0,
            tolerance_reason="the coldest start tried, not the limit",
            bound="at most",
        ),
    )
