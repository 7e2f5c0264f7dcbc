"""The catalogue: each entry is what `park` says, and tables carry it unharmed."""

import csv
import io
from typing import Any

import openpyxl
import pytest

from drainsim.answers.standing.park import park
from drainsim.answers.storage.catalogue import (
    CatalogueQuestion,
    catalogue,
)
from drainsim.errors import DrainsimError
from drainsim.sheets.catalogue_sheet import (
    catalogue_csv,
    catalogue_html,
    catalogue_rows,
    catalogue_xlsx,
)
from drainsim.vehicle.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.site import SITE
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
