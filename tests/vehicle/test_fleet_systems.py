"""Other systems and driving in a fleet list."""

from datetime import date
from pathlib import Path

from drainsim.answers.fleet.answer import answer_fleet
from drainsim.files.fleet.table import read_table
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, fleet_from_table
from drainsim.vehicle.vehicle import VEHICLE

SETTINGS = FleetSettings(today=date(2026, 12, 1), draws=100, days_ahead=60)


def fleet(tmp_path: Path, text: str) -> Fleet:
    """Return a list read."""
    path = tmp_path / "fleet.csv"
    path.write_text(text, "utf-8")
    return fleet_from_table(read_table(path), SETTINGS, where="fleet.csv")


def test_columns_name_system_kind_and_driving(tmp_path: Path) -> None:
    """Usual words land in the scenario's keys; a wrong word is kept aside."""
    found = fleet(
        tmp_path,
        "id,system,second battery health [%],vehicle kind,trips per week,trip minutes\n"
        "a,24 V,60,truck,3,15\nb,,,trailer,,\nc,48 V,,car,,\n",
    )
    a, b = found.vehicles
    assert a.scenario.get(BATTERY.system) == "24V"
    assert a.scenario.get(BATTERY.second_health) == 0.6
    assert a.scenario.get(VEHICLE.kind) == "engine"
    assert a.scenario.tables["pattern"] == {"trips_per_week": 3.0, "trip_minutes": 15.0}
    assert b.scenario.get(VEHICLE.kind) == "trailer"
    assert "pattern" not in b.scenario.tables
    (problem,) = found.problems
    assert problem.row == 4


def test_little_driving_shows_in_the_fleet_s_risk(tmp_path: Path) -> None:
    """A vehicle driven a little is riskier than one driven daily, all else alike."""
    found = fleet(
        tmp_path,
        "id,climate,parked since,trips per week,trip minutes\n"
        "little,continental,2026-11-20,1,10\nmuch,continental,2026-11-20,14,60\n",
    )
    answer = answer_fleet(found, SETTINGS, risk=0.05, dates=[], workers=1)
    risk = {vehicle.id: vehicle.risk_today for vehicle in answer.vehicles}
    assert risk["little"] > risk["much"]
