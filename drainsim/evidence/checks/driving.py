"""Charging while driving, starts, 24 V equipment and chargers against published values."""

from functools import partial
from typing import Final

import numpy as np

from drainsim.answers.driving.charge_left import nominal_weeks
from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import (
    DEFINITION,
    MEASUREMENT,
    OTHER_SOURCE,
    SAME_SOURCE,
    SECONDARY,
    Check,
    found_in,
    within,
)
from drainsim.files.profile import load_profile
from drainsim.physics import acceptance, alternator, mains_charger
from drainsim.physics.cranking import engine_demand_a
from drainsim.vehicle.batteries.chargers import MAINTAINER
from drainsim.vehicle.batteries.starting_charge import resting_v
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.pattern import PATTERN

_check = partial(Check, subject="driving")

_COMPENSATION_V_PER_K: Final[float] = MAINTAINER.compensation_v_per_k.default
_VAN_AH = 65.0  # vans of the time carried 60 to 70 Ah; the manual prints no size


def _accepted_a(charge: float, temperature_c: float, volts: float, ah: float) -> float:
    profile = load_profile("flooded_calcium")
    return float(
        acceptance.accepted_current_a(
            charge,
            cold=acceptance.cold_factor(temperature_c),
            voltage_v=volts,
            resting_v=resting_v(profile, charge, temperature_c),
            capacity_ah=ah,
            kind=acceptance.FLOODED,
        )
    )


def _charging_h(volts: float, amps: float) -> float:
    charge = asking.charge_percent(asking.FLOODED, volts, 21.0) / 100.0
    return acceptance.charging_time_h(
        charge, 1.0, current_a=amps, full_ah=_VAN_AH, kind=acceptance.FLOODED
    )


def _sent_ah(kind: acceptance.Acceptance) -> float:
    """Return what fills 100 Ah from half, at 20 A."""
    hours = acceptance.charging_time_h(0.5, 1.0, current_a=20.0, full_ah=100.0, kind=kind)
    return hours * 20.0


def _agm_hour_ah() -> float:
    """Return what an AGM battery of 95.69 Ah stores in an hour from half charge: 42 A, 14.4 V."""
    stored_ah, step_h = 0.0, 1.0 / 600.0
    profile, kind = load_profile("agm"), acceptance.acceptance_of("agm")
    for _ in range(600):
        charge = 0.5 + stored_ah / 95.69
        accepted_a = acceptance.accepted_current_a(
            charge,
            cold=1.0,
            voltage_v=14.4,
            resting_v=resting_v(profile, charge, 25.0),
            capacity_ah=95.69,
            kind=kind,
        )
        kept = acceptance.charge_efficiency(charge, kind=kind)
        stored_ah += min(42.0, float(accepted_a)) * float(kept) * step_h
    return stored_ah


def _mean_efficiency() -> float:
    kept = acceptance.charge_efficiency(np.linspace(0.4, 1.0, 601), kind=acceptance.FLOODED)
    return float(kept.mean())


def _start_ah(litres: float) -> float:
    demand_a = engine_demand_a(litres, diesel=False)
    return float(alternator.start_charge_ah(demand_a, demand_factor=1.0))


def _truck(**pattern: object) -> Case:
    return resolve(
        scenario_from_dict(
            {
                "battery": {"system": "24V", "capacity_ah": 180, "state_of_charge": 0.7},
                "vehicle": {"engine_litres": 12.8, "fuel": "diesel", "quiescent_a": 0.05},
                "other": [
                    {"name": "refrigerator", "current_a": 2.0},
                    {"name": "parking heater", "current_a": 7.0},
                    {"name": "lights", "current_a": 5.0},
                    {"name": "entertainment", "current_a": 4.0},
                ]
                if not pattern
                else [],
                "site": {"temperature_c": 25},
                **({"pattern": pattern} if pattern else {}),
            }
        )
    )


def _truck_settles() -> float:
    case = _truck(trips_per_week=10, trip_minutes=120, alternator_a=100, weeks=12)
    return 100.0 * float(nominal_weeks([case]).charge[-1, 0])


_output = partial(_check, quantity="alternator output, hot", unit="A")
_hours = partial(
    _check,
    quantity="charging time to full",
    unit="h",
    tolerance=0.15,
    tolerance_kind="relative",
    tolerance_reason="printed to whole hours (8 to 5 %), and the size is 60 to 70 Ah (8 %)",
    source=s.CHARGE_MANUAL,
)


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        *(
            _output(
                key=f"alternator-{rpm:.0f}",
                conditions=f"50 A alternator, {rpm:.0f} alternator revolutions a minute",
                published=amps,
                tolerance=0.5,
                tolerance_reason="printed in whole amperes",
                **found_in(s.MARINE_MANUAL, SAME_SOURCE),
                model=partial(lambda n: 50.0 * float(alternator.alternator_share(n)), rpm),
            )
            for rpm, amps in ((1300.0, 16.0), (2500.0, 41.0), (5000.0, 48.0))
        ),
        _check(
            key="acceptance-agm-hour",
            quantity="charge stored in an hour, AGM battery of 95.7 Ah",
            conditions="used deep-cycle AGM, from half charge, 42 A until 14.4 V, about 25 °C",
            published=33.43,
            unit="Ah",
            tolerance=0.10,
            tolerance_reason="absorption voltage 14.3 to 14.4 V, leads and one battery only",
            tolerance_kind="relative",
            **found_in(s.AGM_HOUR, MEASUREMENT, "0.4 C for one hour, discharged again to half"),
            model=_agm_hour_ah,
        ),
        _check(
            key="acceptance-agm-kept",
            quantity="share of the charging current that stays, AGM",
            conditions="from half charge to full",
            published=(0.95, 0.98),
            unit="",
            tolerance_reason="up to 0.98 measured, less at higher rates: 0.95 a round lower end",
            **found_in(s.AGM_EFFICIENCY, SAME_SOURCE),
            model=lambda: 50.0 / _sent_ah(acceptance.acceptance_of("agm")),
        ),
        _check(
            key="alternator-idle-column",
            quantity="alternator output at idle, share of that at speed",
            conditions="about 20 A at idle, more than 100 A at 2 500 revolutions a minute",
            **within(0.2, "", 0.1, "round figures; idle speed and pulley are not said"),
            **found_in(s.IDLE_COLUMN, SAME_SOURCE),
            expected_to_disagree=(
                "0.2, 0.33 and 0.86 are published; 0.4 lies between. What follows for the user: a "
                "weak alternator at idle loses more in queues than we say; measure and give "
                f"{PATTERN.alternator_idle_share}"
            ),
            model=lambda: alternator.IDLE_SHARE,
        ),
        _check(
            key="alternator-idle-1997",
            quantity="alternator output at idle, share of that at speed",
            conditions="1997 car, all consumers on: 67 A at idle, 78 A at 2 000",
            **within(67.0 / 78.0, "", 0.1, "whole amperes, one car"),
            **found_in(s.CAR_1997_ALTERNATOR, SAME_SOURCE),
            expected_to_disagree=(
                "load-limited: the car asked for no more. What follows for the user: some "
                "alternators give far more at idle than assumed; measure and give "
                f"{PATTERN.alternator_idle_share}"
            ),
            model=lambda: alternator.IDLE_SHARE,
        ),
        _check(
            key="alternator-driving",
            quantity="share of its rating an alternator gives while driving",
            conditions="output test of a 2018 small car",
            **within(0.70, "", 0.0, "the printed pass limit itself", bound="at least"),
            **found_in(s.ALTERNATOR_LINE, OTHER_SOURCE),
            model=lambda: alternator.DRIVING_SHARE,
        ),
        _check(
            key="start-charge-2l",
            quantity="charge of one warm start",
            conditions="2 l petrol, 100 to 200 A for 1 to 2 s",
            published=(0.028, 0.111),
            unit="Ah",
            tolerance_reason="the range itself, computed from printed currents and times",
            **found_in(s.STARTER_BOOK, SAME_SOURCE, grade=SECONDARY),
            model=lambda: _start_ah(2.0),
        ),
        *(
            _hours(
                key=f"charging-{volts:g}v-{amps:g}a",
                conditions=f"resting at {volts:g} V, {amps:g} A, 21 °C",
                published=hours,
                independence=OTHER_SOURCE,
                model=partial(_charging_h, volts, amps),
            )
            for volts, amps, hours in ((12.37, 5.0, 6.0), (12.12, 5.0, 10.0))
        ),
        _check(
            key="charge-return-factor",
            quantity="charge to return ÷ charge removed",
            conditions="from half to full",
            **within(1.25, "", 0.06, "a rounded factor"),
            **found_in(s.CHARGER_MANUAL, SAME_SOURCE),
            model=lambda: _sent_ah(acceptance.FLOODED) / 50.0,
        ),
        _check(
            key="charge-efficiency-mean",
            quantity="charge kept ÷ charge sent, lead-acid",
            conditions="in use between 40 and 100 %",
            **within(0.85, "", 0.05, "a round figure without conditions"),
            **found_in(s.EFFICIENCY_PAGE, OTHER_SOURCE, grade=SECONDARY),
            model=_mean_efficiency,
        ),
        _check(
            key="acceptance-cold-federal",
            quantity="current into a cold battery",
            conditions="0 °C, half charged, 14.4 V, 60 Ah, 540 A (charge and volts from memory)",
            published=0.02 * 540.0,
            unit="A",
            tolerance_reason="the printed minimum itself: 2 % of the cold cranking current",
            bound="at least",
            **found_in(s.FEDERAL_BATTERY, OTHER_SOURCE, "3.18"),
            model=lambda: _accepted_a(0.5, 0.0, 14.4, 60.0),
        ),
        _check(
            key="truck-equipment-night",
            quantity="charge of cab equipment in 10 h, 24 V",
            conditions="refrigerator 2 A, heater 7 A, lights 5 A, entertainment 4 A",
            **within(180.0, "Ah", 1.0, "arithmetic of the printed currents"),
            **found_in(s.TRUCK_LIFE, DEFINITION),
            model=lambda: 10.0 * _truck().vehicle.other_a,
        ),
        _check(
            key="truck-alternator-tops-at-90",
            quantity="charge a 24 V alternator reaches",
            conditions="25 °C, two hours twice a working day",
            **within(90.0, "%", 3.0, "'about 90 %'"),
            **found_in(s.TRUCK_LIFE, OTHER_SOURCE),
            expected_to_disagree=(
                "a battery maker's caution that fits worn batteries and cool days; the voltage "
                "printed beside it (28.8 V) does fill a sound battery in hours. What follows for "
                "the user: a truck may be parked nearer 90 % than we say: read the resting voltage"
            ),
            model=_truck_settles,
        ),
        _check(
            key="charger-end--18c",
            quantity="charger end voltage",
            conditions="conventional battery, -18 °C",
            **within(15.1, "V", 0.1, "the page prints tenths of a volt"),
            **found_in(s.CHARGER_PAGE, SAME_SOURCE),
            model=lambda: float(
                mains_charger.compensated_v(14.4, -18.0, per_k=_COMPENSATION_V_PER_K)
            ),
        ),
        _check(
            key="charger-per-k-deep",
            quantity="change of a charger's end voltage with temperature, 12 V",
            conditions="deep-cycle flooded, 0.028 V per cell per 10 °F",
            **within(-30.0, "mV/K", 2.0, "one maker prints ±2 mV/K on its own slope"),
            **found_in(s.DEEP_FAQ, OTHER_SOURCE),
            expected_to_disagree=(
                "a charger seller's table gives -17 mV/K; the smaller change is used. What follows "
                "for the user: set a maintainer by its own maker's table"
            ),
            model=lambda: 1000.0 * _COMPENSATION_V_PER_K,
        ),
    )
