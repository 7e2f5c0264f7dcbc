"""A vehicle that is driven a little is stored with the charge its driving leaves."""

from typing import Any

import pytest

from drainsim.answers.driving import charge_left
from drainsim.answers.driving.before_parking import parked_from_pattern, parked_from_patterns
from drainsim.answers.standing.park import park
from drainsim.answers.storage.risk import StandQuestion
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict

TABLES = {
    "battery": {"capacity_ah": 60},
    "vehicle": {"quiescent_a": 0.04},
    "unit": {"preset": "hourly"},
    "pattern": {"trips_per_week": 3, "trip_minutes": 15, "weeks": 8},
    "site": {"temperature_c": 5},
    "run": {"draws": 200},
}


def test_storage_starts_from_the_charge_that_park_starts_from() -> None:
    """One question asked in two ways: no share of charge may differ."""
    scenario = scenario_from_dict(TABLES)
    asked = StandQuestion(scenario=scenario, days=30, risk=0.05).case()
    answered = park(resolve(scenario)).case
    assert asked.battery.start.charge == answered.battery.start.charge
    assert asked.spreads.state_of_charge_sd == answered.spreads.state_of_charge_sd
    described = {**TABLES, "battery": {"capacity_ah": 60, "state_of_charge": 0.9}}
    told = StandQuestion(scenario=scenario_from_dict(described), days=30, risk=0.05).case()
    assert told.battery.start.charge == 0.9
    assert asked.battery.start.charge < 0.8


def driven(**tables: dict[str, Any]) -> Case:
    """Return an invented driven case with whole tables changed."""
    base: dict[str, Any] = {
        "battery": {"capacity_ah": 60},
        "unit": {"preset": "hourly"},
        "pattern": {"trips_per_week": 9, "trip_minutes": 12, "weeks": 12},
    }
    return resolve(scenario_from_dict({**base, **tables}))


def test_weeks_driven_together_leave_what_each_leaves_alone() -> None:
    """Loads, sizes, ladder, cut-off, panel, chemistry, pattern: to rounding, however grouped."""
    cases = [
        driven(),
        driven(vehicle={"quiescent_a": 0.2}),
        driven(battery={"capacity_ah": 95, "age_years": 6.0}),
        driven(unit={"preset": "hourly_with_ladder"}, vehicle={"quiescent_a": 0.1}),
        driven(unit={"preset": "hourly", "cutoff_v": 12.4}),
        driven(solar={"panel_w": 10, "latitude_deg": 50}),
        driven(battery={"profile": "lithium_iron_phosphate_12v"}),
        driven(pattern={"trips_per_week": 2, "trip_minutes": 45, "weeks": 12}),
        driven(run={"seed": 7}),
        driven(),
    ]
    each = []
    for case in cases:
        charge_left.forget()
        each.append(parked_from_pattern(case).battery.start)
    charge_left.forget()
    together = parked_from_patterns(cases)
    for case, alone in zip(together, each, strict=True):
        assert case.battery.start.charge == pytest.approx(alone.charge, abs=1e-12)
        assert case.battery.start.charge_sd == pytest.approx(alone.charge_sd, abs=1e-12)
    assert len({start.charge for start in each}) == len(cases) - 1  # only the two alike are


@pytest.mark.parametrize(
    "pattern", [{}, {"trips_per_week": 2}, {"regulation": "smart"}, {"trip_minutes": 3}]
)
def test_weeks_left_out_are_forgotten(
    pattern: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Driving that forgets its beginning, one that hardly does and one that runs flat: as whole."""
    cases = [driven(pattern=pattern), driven(pattern=pattern, vehicle={"quiescent_a": 0.15})]
    short = parked_from_patterns(cases)
    charge_left.forget()
    monkeypatch.setattr(charge_left, "_TRIED_WEEKS", 60)
    for case, whole in zip(short, parked_from_patterns(cases), strict=True):
        begun, told = case.battery.start, whole.battery.start
        assert begun.charge == pytest.approx(told.charge, abs=1e-3)
        assert begun.charge_sd == pytest.approx(told.charge_sd, abs=1e-3)
    charge_left.forget()
