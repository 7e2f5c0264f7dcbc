"""A vehicle that is driven a little is stored with the charge its driving leaves."""

from drainsim.answers.standing.park import park
from drainsim.answers.storage.risk import StandQuestion
from drainsim.vehicle.case import resolve
from drainsim.vehicle.scenario import scenario_from_dict

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
