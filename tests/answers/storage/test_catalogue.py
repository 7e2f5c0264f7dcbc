"""The catalogue: each entry is what `park` says, and tables carry it unharmed."""

import csv
import io
from typing import Any

import openpyxl
import pytest

from drainsim.answers.standing.park import park
from drainsim.answers.storage.catalogue import (
    CatalogueQuestion,
    assumption_lines,
    catalogue,
)
from drainsim.answers.storage.catalogue_rows import battery_rows, own_vehicle
from drainsim.errors import DrainsimError
from drainsim.files.presets import presets
from drainsim.sheets.storage.catalogue_sheet import (
    catalogue_csv,
    catalogue_html,
    catalogue_rows,
    catalogue_xlsx,
)
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.vehicle import VEHICLE


def ask(**more: Any) -> CatalogueQuestion:
    """Return a small catalogue question."""
    run = {"draws": 200}
    units = {
        "hourly": scenario_from_dict({"battery": {}, "unit": {"preset": "hourly"}, "run": run}),
        "=HYPERLINK(1)<b>": scenario_from_dict(
            {"battery": {"age_years": 0.0}, "unit": {"preset": "daily"}, "run": run}
        ),
    }
    settings: dict[str, Any] = {
        "units": units,
        "vehicles": ("compact_petrol", "older_car"),
        "climates": ("temperate", "hot_desert"),
        "horizon_days": 60,
        **more,
    }
    return CatalogueQuestion(**settings)


def _warnings(scenario: Scenario) -> tuple[str, ...]:
    return resolve(scenario).warnings


def test_every_entry_is_what_park_answers() -> None:
    """The days of a cell are `park`'s days at 5 % risk for the cell's own scenario."""
    table = catalogue(ask())
    assert len(table.cells) == 2 * 2 * 2 * 2
    for cell in table.cells:
        assert cell.days == park(resolve(cell.scenario)).days_at_risk
        assert cell.scenario.get(VEHICLE.preset) == cell.vehicle
        assert cell.scenario.get(SITE.climate) == cell.climate


def test_a_class_gets_its_own_battery_and_keeps_the_stated_condition() -> None:
    """A label belongs to one vehicle and is dropped; age and the like are kept."""
    base = scenario_from_dict(
        {
            "battery": {"capacity_ah": 200.0, "age_years": 0.0},
            "unit": {"preset": "daily"},
            "run": {"draws": 100},
        }
    )
    table = catalogue(ask(units={"mine": base}, vehicles=("small_petrol", "light_truck_diesel")))
    sizes = {cell.vehicle: cell.capacity_ah for cell in table.cells}
    assert sizes["small_petrol"] < sizes["light_truck_diesel"] < 200.0
    assert all(cell.scenario.get(BATTERY.age_years) == 0.0 for cell in table.cells)


def test_sunshine_belongs_to_the_climate_not_to_the_unit() -> None:
    """A panel of a scenario from the south gets each climate's own latitude, and it is said."""
    base = {"battery": {}, "unit": {"preset": "daily"}, "run": {"draws": 100}}
    units = {
        "south": scenario_from_dict(
            {**base, "solar": {"panel_w": 5.0, "latitude_deg": -35.0, "clear_share": 0.8}}
        ),
        "plain": scenario_from_dict({**base, "solar": {"panel_w": 5.0}}),
    }
    table = catalogue(ask(units=units, vehicles=("compact_petrol",)))
    for climate, season in table.columns():
        south, plain = (table.days(unit, "compact_petrol", climate, season) for unit in units)
        assert south == plain
    lines = " ".join(table.as_dict()["assumptions"])
    assert "own latitude" in lines
    assert "northern half of the earth" in lines
    assert not any("latitude" in warning for c in table.cells for warning in _warnings(c.scenario))


def test_beyond_the_horizon_is_never_shown_as_the_horizon() -> None:
    """More than the horizon is written with its sign, in every form."""
    table = catalogue(ask(vehicles=("older_car",), climates=("marine",), horizon_days=10))
    assert {cell.days for cell in table.cells} == {None}
    assert catalogue_rows(table)[1][2] == "> 10"
    assert "&gt; 10" in catalogue_html(table)
    assert table.as_dict()["rows"][0]["days"] is None


def test_csv_reads_back_and_holds_no_formula() -> None:
    """The CSV has the days of every cell; a name that looks like a formula is defused."""
    table = catalogue(ask())
    rows = list(csv.reader(io.StringIO(catalogue_csv(table))))
    assert len(rows[0]) == 2 + 4
    shown = table.days("hourly", "compact_petrol", "temperate", "winter")
    assert rows[1][2] == str(shown)
    assert all(not row[0].startswith("=") for row in rows if row)


def test_xlsx_reads_back_the_same() -> None:
    """The spreadsheet holds the same rows, days as numbers, and what they assume."""
    table = catalogue(ask())
    book = openpyxl.load_workbook(io.BytesIO(catalogue_xlsx(table)))
    rows = [list(row) for row in book.worksheets[0].iter_rows(values_only=True)]
    wanted = catalogue_rows(table)
    assert rows[: len(wanted)] == wanted
    assert any(isinstance(value, int) for value in rows[1])
    assert "5 %" in str(rows[len(wanted) + 1][0])


def test_html_escapes_the_unit_name() -> None:
    """A unit named like markup is shown as text."""
    page = catalogue_html(catalogue(ask()))
    assert "&lt;b&gt;" in page
    assert "HYPERLINK(1)<b>" not in page


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"units": {}}, "1 to 4"),
        ({"units": {str(i): scenario_from_dict({"battery": {}}) for i in range(5)}}, "1 to 4"),
        ({"vehicles": ("spaceship",)}, "spaceship"),
        ({"climates": ("moon",)}, "moon"),
        ({"seasons": ("monsoon",)}, "monsoon"),
        ({"seasons": ()}, "at least one"),
    ],
)
def test_wrong_questions_are_named(wrong: dict[str, Any], named: str) -> None:
    """Unknown classes, climates and seasons, and too many units, are sentences."""
    with pytest.raises(DrainsimError, match=named):
        ask(**wrong)


def test_named_batteries_are_rows_of_their_own() -> None:
    """Each row is `park` with that label on the battery; a larger one never stands shorter."""
    labels = ["45Ah/390A-EN", "60Ah/540A-EN", "dear one=95Ah/850A-EN/agm"]
    rows = battery_rows(("compact_petrol",), {}, labels)
    table = catalogue(ask(vehicles=tuple(rows), own_vehicles=rows, climates=("temperate",)))
    compact = presets("vehicles")["compact_petrol"].name
    assert [row.split("; ")[1] for row in rows] == [
        "45 Ah, 390 A (EN)",
        "60 Ah, 540 A (EN)",
        "dear one",
    ]
    for cell in table.cells:
        assert cell.vehicle.startswith(f"{compact}; ")
        case = resolve(cell.scenario)
        assert cell.days == park(case).days_at_risk
    assert [c.capacity_ah for c in table.cells[::2]] == [45.0, 60.0, 95.0] * 2
    assert table.cells[4].scenario.get(BATTERY.profile) == "agm"
    days = [table.days("hourly", row, "temperate", "winter") for row in rows]
    assert days == sorted(days, key=lambda day: 1000 if day is None else day)
    assert "dear one" in catalogue_html(table)
    assert any(row[1] == f"{compact}; 60 Ah, 540 A (EN)" for row in catalogue_rows(table)[1:])


@pytest.mark.parametrize("wrong", ["60", "sixty Ah", "60Ah/A-EN", "60Ah/540A-EN/agm/x", ""])
def test_a_label_that_cannot_be_read_is_a_sentence(wrong: str) -> None:
    """It names the option, what was written and what would be right."""
    with pytest.raises(DrainsimError, match=r"--battery .*60Ah/540A-EN"):
        battery_rows(("compact_petrol",), {}, [wrong])


def test_two_batteries_of_one_name_are_refused() -> None:
    """They would be one row, and one of them gone without a word."""
    with pytest.raises(DrainsimError, match="already"):
        battery_rows(("compact_petrol",), {}, ["60Ah/540A-EN", "60 Ah/540 A"])


def test_an_own_vehicle_and_place_are_a_row_and_a_column() -> None:
    """The scenario's own vehicle, label and temperature make the same days as `park` gives."""
    van = scenario_from_dict(
        {
            "battery": {"capacity_ah": 80.0, "cold_cranking_a": 700.0},
            "vehicle": {"engine_litres": 2.5, "fuel": "diesel", "quiescent_a": 0.02},
        }
    )
    yard = scenario_from_dict({"battery": {}, "site": {"temperature_c": -5.0}})
    table = catalogue(
        ask(
            vehicles=("van",),
            own_vehicles={"van": own_vehicle(van)},
            climates=("yard",),
            own_climates={"yard": yard},
            seasons=("winter",),
        )
    )
    cell = table.cells[0]
    assert cell.capacity_ah == 80.0
    assert cell.scenario.get(SITE.temperature_c) == -5.0
    assert cell.scenario.get(BATTERY.cold_cranking_a) == 700.0
    assert cell.scenario.get(VEHICLE.quiescent_a) == 0.02
    assert cell.days == park(resolve(cell.scenario)).days_at_risk


TRUCK: dict[str, Any] = {
    "battery": {"system": "24V", "capacity_ah": 180.0, "age_years": 1.0, "profile": "agm"},
    "vehicle": {"engine_litres": 12.8, "fuel": "diesel", "quiescent_a": 0.1},
    "unit": {"preset": "hourly", "fed_from": "one_battery"},
}
ELECTRIC: dict[str, Any] = {
    "battery": {"capacity_ah": 45.0, "state_of_charge": 0.95},
    "vehicle": {"kind": "electric", "quiescent_a": 0.03},
    "top_up": {"every_h": 24.0},
    "unit": {"preset": "hourly"},
    "measured": {"keys": "vehicle.quiescent_a, battery.state_of_charge"},
}


@pytest.mark.parametrize("tables", [TRUCK, ELECTRIC])
def test_an_own_vehicle_is_the_whole_vehicle(tables: dict[str, Any]) -> None:
    """Its arrangement, type, age and chargers count: the row is what `park` says of the file."""
    there = {"battery_lag_h": 20.0, "sun_soak_c": 3.0, "start_hour": 5}
    unit = scenario_from_dict(
        {"battery": {}, "unit": {"preset": "hourly"}, "run": {"draws": 200}, "site": there}
    )
    own = scenario_from_dict(tables)
    asked = ask(
        units={"hourly": unit},
        vehicles=("own",),
        own_vehicles={"own": own_vehicle(own)},
        climates=("temperate",),
        seasons=("winter",),
    )
    (cell,) = catalogue(asked).cells
    site = {**there, "climate": "temperate", "parked_from": asked.parked_from("winter")}
    typed = {f"site.{key}": value for key, value in site.items()}
    wanted = own.with_values({**typed, "run.draws": 200, "run.horizon_days": 60})
    assert cell.scenario.tables == wanted.tables
    assert cell.scenario.origins == wanted.origins
    assert cell.days == park(resolve(wanted)).days_at_risk


def test_a_battery_that_hardly_fits_is_told() -> None:
    """Motorcycles carry 4 to 30 Ah (common practice, no source): a car's battery is not theirs."""
    rows = battery_rows(("motorcycle_small", "compact_petrol"), {}, ["60Ah/540A-EN", "6Ah"])
    lines = assumption_lines(ask(vehicles=tuple(rows), own_vehicles=rows))
    (told,) = [line for line in lines if "hardly to be fitted" in line]
    car_in_motorcycle, _, _, motorcycle_in_car = rows
    assert told.endswith(f"{car_in_motorcycle} · {motorcycle_in_car}.")


def test_a_southern_place_has_its_own_winter() -> None:
    """The same coldest month south of the equator: winter as here, half a year apart."""
    cold: dict[str, Any] = {"coldest_month_c": -8.0, "warmest_month_c": 15.0}
    places = {
        half: scenario_from_dict({"battery": {}, "site": {**cold, "latitude_deg": latitude}})
        for half, latitude in (("north", 45.0), ("south", -45.0))
    }
    question = ask(
        units={"hourly": ask().units["hourly"]},
        vehicles=("compact_petrol",),
        climates=tuple(places),
        own_climates=places,
        seasons=("winter", "summer"),
    )
    table = catalogue(question)
    parked = {
        (row["climate"], row["season"]): row["parked_from"][5:] for row in table.as_dict()["rows"]
    }
    assert parked["south", "winter"] == parked["north", "summer"] == "06-01"
    days = {
        (place, season): table.days("hourly", "compact_petrol", place, season)
        for place in places
        for season in question.seasons
    }
    for place in places:
        assert days[place, "winter"] < days[place, "summer"]
    assert any("half a year later: south" in line for line in assumption_lines(question))


def test_a_label_is_never_dropped_without_a_word() -> None:
    """A unit's file with a battery label: the table says that the label is not used, and why."""
    base = scenario_from_dict(
        {"battery": {"capacity_ah": 200.0}, "unit": {"preset": "daily"}, "run": {"draws": 100}}
    )
    lines = assumption_lines(ask(units={"mine": base}))
    assert any("capacity_ah = 200" in line and "not used" in line for line in lines)
    assert not any("not used" in line for line in assumption_lines(ask()))
    van = own_vehicle(scenario_from_dict({"battery": {"capacity_ah": 80.0}, "vehicle": {}}))
    rows = battery_rows(("van",), {"van": van}, ["60Ah"])
    assert [row[BATTERY.capacity_ah] for row in rows.values()] == [80.0, 60.0]
