"""Lists that were once read wrongly in silence: each is read right, or asked about.

The lists are of our own invention; what a person would understand stands beside each. Meanings
of words and numbers are the trade's (common practice, no source) unless said otherwise.
"""

import datetime as dt
import io
from typing import Any

import openpyxl
import pytest

from drainsim.answers.fleet.answer import answer_fleet
from drainsim.errors import FleetError
from drainsim.sheets.fleet.fleet_understood import list_record, rests_on, understood_rows
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings
from drainsim.vehicle.vehicle import VEHICLE
from tests.fleet_build import SETTINGS, TODAY, fleet_of, workbook


def said(content: str | bytes, **more: Any) -> dict[tuple[str, str], Any]:
    """Return (vehicle, key) → value of everything that comes from the list."""
    fleet = fleet_of(content, **more)
    return {
        (str(row[0]), str(row[1])): _number(row[2])
        for row in understood_rows(fleet, SETTINGS)
        if row[4] != "default"
    }


def _number(cell: Any) -> Any:
    try:
        return float(cell)
    except (TypeError, ValueError):
        return cell.isoformat() if isinstance(cell, dt.date) else cell


def questions(fleet: Fleet) -> str:
    """Return all that is asked about a list."""
    return "\n".join(f"{doubt.question} {doubt.option}" for doubt in fleet.doubts)


def reasons(fleet: Fleet) -> str:
    """Return why rows are kept aside."""
    return "\n".join(problem.sentence for problem in fleet.problems)


# 1. Charge ------------------------------------------------------------------------------------


def test_one_per_cent_stays_one_per_cent() -> None:
    """85 and 1 under a per cent sign: 1 % is nearly flat, not full."""
    found = said("id;SoC (%)\na;85\nb;1")
    assert (found["a", "state_of_charge"], found["b", "state_of_charge"]) == (0.85, 0.01)
    assert said("id;SoC\na;85\nb;1")["b", "state_of_charge"] == 0.01  # the column's other cells


@pytest.mark.parametrize("cells", [["85", "0,9"], ["0,85", "85", "1"]])
def test_parts_of_one_among_percentages_are_asked_about(cells: list[str]) -> None:
    """0.9 may be 0.9 % or 90 %."""
    fleet = fleet_of("id;SoC (%)\n" + "\n".join(f"v{n};{c}" for n, c in enumerate(cells)))
    assert "% or" in questions(fleet)
    assert len(fleet.vehicles) < len(cells)


def test_a_column_that_is_a_share_throughout_is_one() -> None:
    """0.9 and 1 without a per cent sign are 90 % and full."""
    found = said("id;Ladezustand\na;0,9\nb;1")
    assert (found["a", "state_of_charge"], found["b", "state_of_charge"]) == (0.9, 1.0)


# 2. Where the table lies ----------------------------------------------------------------------


@pytest.mark.parametrize("as_book", [False, True])
def test_a_title_above_the_heading_is_no_heading(as_book: bool) -> None:
    """All columns are read, rows count as the sheet shows them, the heading is no vehicle."""
    rows = [["Fleet North 2026"], [], ["Vehicle", "Depot", "Dark current (mA)"], ["A1", "N", 25]]
    text = "\n".join(";".join(map(str, row)) for row in rows)
    fleet = fleet_of(workbook(rows) if as_book else text)
    assert [(v.id, v.row, v.depot) for v in fleet.vehicles] == [("A1", 4, "N")]
    assert fleet.vehicles[0].scenario.get(VEHICLE.quiescent_a) == 0.025


def test_two_heading_rows_and_a_row_of_units_are_joined() -> None:
    """Ah and cranking current under a merged "Battery" are theirs, not dropped."""
    text = (
        "Vehicle;Battery;;;Vehicle draw\n;Type;Capacity;CCA;Quiescent\n;;Ah;A (EN);mA\n"
        "A1;AGM;70;640;25"
    )
    found = said(text)
    assert found["A1", "battery_type"] == "agm"
    assert (found["A1", "capacity_ah"], found["A1", "cold_cranking_a"]) == (70.0, 640.0)
    assert (found["A1", "cranking_standard"], found["A1", "quiescent_a"]) == ("EN", 0.025)


def test_cells_without_a_heading_are_asked_about() -> None:
    """Numbers right of the last heading are not dropped without a word."""
    fleet = fleet_of(workbook([["id", "Ah"], ["a", 70, 640], ["b", 80, 720]]))
    assert "640 in column 3, which has no heading" in questions(fleet)
    found = said(
        workbook([["id", "Ah"], ["a", 70, 640], ["b", 80, 720]]),
        chosen={"(column 3)": "cold_cranking_a"},
    )
    assert found["a", "cold_cranking_a"] == 640.0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Bus 1;Utrecht;70;28\nBus 2;Ede;80;31\nBus 3;Ede;60;22", "no headings"),
        ("x;Van 1;Van 2\nBattery Ah;70;80\nDepot;N;S\nRest V;12.5;12.6", "turn rows and columns"),
    ],
)
def test_lists_of_another_shape_are_refused(text: str, says: str) -> None:
    """Without headings, or with vehicles side by side, nothing is guessed."""
    with pytest.raises(FleetError, match=says):
        fleet_of(text)


# 3. Numbers -----------------------------------------------------------------------------------


def test_the_column_says_what_a_point_or_comma_is() -> None:
    """1.250 beside 28,5 and 1.050,5 is one thousand two hundred and fifty."""
    found = said("id;Quiescent current (mA)\na;1.250\nb;28,5\nc;1.050,5")
    assert found["a", "quiescent_a"] == 1.25
    assert found["c", "quiescent_a"] == 1.0505
    # without neighbours that tell, the other columns of the file do
    assert said("id;Quiescent (mA);Rest V\na;1.250;12,5")["a", "quiescent_a"] == 1.25


@pytest.mark.parametrize("cell", ["2 80", "2,5,0", "1.2.3", "25-30", "<5"])
def test_what_is_no_number_is_not_pressed_into_one(cell: str) -> None:
    """Blanks and commas that group no thousands are a slip, not 280 Ah."""
    fleet = fleet_of(f"id;Ah\na;{cell}\nb;70")
    assert [v.id for v in fleet.vehicles] == ["b"]
    assert "is not a number" in reasons(fleet)


def test_a_capacity_of_one_thousand_is_not_one() -> None:
    """1.050 Ah is neither 1.05 nor a battery's 1050 Ah."""
    fleet = fleet_of("id;Ah;Rest V\na;1.050;12,6")
    assert "outside 1 to 400 Ah" in reasons(fleet)


# 4., 5. Units ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "heading",
    [
        "mA quiescent current",
        "Quiescent current mA avg",
        "Ruhestrom in mA",
        "Courant de repos [mA]",
        "Ruhestrom",  # 25 A parked does not exist
        "Corriente de reposo",
    ],
)
def test_milliamperes_are_not_amperes(heading: str) -> None:
    """25 is 25 mA, by the heading or because nothing else can be."""
    found = said(f"id;{heading}\na;25\nb;31")
    assert found["a", "quiescent_a"] == 0.025


def test_a_unit_that_may_be_two_is_asked_about_and_the_answer_used() -> None:
    """2 under Ruhestrom may be mA or A: neither until somebody says."""
    text = "id;Ruhestrom\na;2\nb;3"
    fleet = fleet_of(text)
    assert "2 under 'Ruhestrom': A or mA?" in questions(fleet)
    assert "--column 'Ruhestrom=quiescent_a [mA]'" in questions(fleet)
    assert fleet.vehicles == ()
    found = said(text, chosen={"Ruhestrom": "quiescent_a [mA]"})
    assert found["a", "quiescent_a"] == 0.002


def test_a_cell_that_does_not_go_with_its_heading_is_asked_about() -> None:
    """0,031 under mA is hardly 31 µA."""
    fleet = fleet_of("id;Ruhestrom (mA)\na;0,031\nb;25\nc;28")
    assert [v.id for v in fleet.vehicles] == ["b", "c"]
    assert "'0,031' under 'Ruhestrom (mA)': mA or A?" in questions(fleet)


@pytest.mark.parametrize(
    ("cell", "hours"), [("4x/day", 6.0), ("every 15 min", 0.25), ("00:30", 0.5), ("daily", 24.0)]
)
def test_report_intervals_in_words(cell: str, hours: float) -> None:
    """What people write for how often a unit reports."""
    assert said(f"id;Report interval (h)\na;{cell}")["a", "report_interval_h"] == hours


def test_a_bare_report_interval_is_asked_about() -> None:
    """15 is minutes or hours."""
    assert "15 under 'Report interval': h or min?" in questions(
        fleet_of("id;Report interval\na;15")
    )


def test_zero_is_not_measured_and_asked_about() -> None:
    """No vehicle draws nothing; until the answer the default stands."""
    fleet = fleet_of("id;Quiescent (mA)\na;0\nb;25")
    assert "quiescent_a" not in fleet.vehicles[0].scenario.tables["vehicle"]
    assert "not measured, or really 0?" in questions(fleet)
    assert [doubt.row for doubt in fleet.doubts] == [2]
    # Asked once of a column, not of every cell.
    assert [doubt.row for doubt in fleet_of("id;Quiescent (mA)\na;0\nb;0").doubts] == [None]
    found = said(
        "id;Quiescent (mA)\na;0\nb;25", chosen={"Quiescent (mA)": "quiescent_a [mA, 0: 0]"}
    )
    assert found["a", "quiescent_a"] == 0.0


def test_an_age_of_eighteen_is_months() -> None:
    """No battery of a fleet is 18 and 30 years old."""
    assert said("id;Battery age\na;18\nb;30")["a", "battery_age_years"] == 1.5


# 6., 7. Voltage and dates ---------------------------------------------------------------------


def test_twelve_everywhere_is_the_system() -> None:
    """Not a resting 12.0 V, which is a nearly flat battery."""
    found = said("id;Voltage\na;12\nb;24")
    assert (found["a", "system"], found["b", "system"]) == ("12V", "24V")
    assert "measured, or the nominal voltage?" in questions(
        fleet_of("id;Voltage\na;12\nb;12.6\nc;12.4")
    )


def test_the_voltage_of_a_pair() -> None:
    """25.2 V on a 24 V row is two batteries' (half each); elsewhere the hint says so."""
    assert said("id;System;Rest V\na;24 V;25.2")["a", "resting_voltage_v"] == 12.6
    assert "24 V system" in reasons(fleet_of("id;Rest V\na;25.2"))


def test_dates_are_read_as_all_of_the_column_allows() -> None:
    """10/25/2026 above says that 11/05/2026 is November; 26-11-25 says nothing and is asked."""
    found = said("id;Parked since\na;10/25/2026\nb;11/05/2026")
    assert found["b", "parked_since"] == "2026-11-05"
    fleet = fleet_of("id;Parked since\na;26-11-25")
    assert "day first or year first?" in questions(fleet)
    assert fleet.vehicles == ()
    chosen = {"Parked since": "parked_since [year first]"}
    assert said("id;Parked since\na;26-11-25", chosen=chosen)["a", "parked_since"] == "2026-11-25"


def test_contradicting_dates_decide_for_none() -> None:
    """Day first and month first in one column: only the cells that can be but one day count."""
    fleet = fleet_of("id;Parked on\na;10/25/2026\nb;25/10/2026\nc;05/11/2026")
    assert [v.id for v in fleet.vehicles] == ["a", "b"]
    assert fleet.doubts[0].row == 4


def test_dates_that_a_spreadsheet_exchanged_are_asked_about() -> None:
    """25/10/2026 stayed text while 11/05 became a date: it was 5 November once."""
    rows = [["id", "Parked on"], ["a", "25/10/2026"], ["b", dt.date(2026, 5, 11)]]
    fleet = fleet_of(workbook(rows))
    assert "2026-05-11 or 2026-11-05" in questions(fleet)
    assert [v.id for v in fleet.vehicles] == ["a"]


@pytest.mark.parametrize(
    ("heading", "cell", "years"),
    [
        ("Battery fitted", "2024", 2.4),
        ("Batt. fitted", "25.11.2024", 2.0),
        ("Battery date", "11/2024", 2.03),
        ("Batterie eingebaut", "Nov 2024", 2.03),
        ("Accu geplaatst", "2024-11-25", 2.0),
    ],
)
def test_the_day_a_battery_was_fitted_is_its_age(heading: str, cell: str, years: float) -> None:
    """A year counts from its middle, a month from its 15th."""
    found = said(f"id;{heading}\na;{cell}")
    assert found["a", "battery_age_years"] == pytest.approx(years, abs=0.02)


# 8. What is no vehicle ------------------------------------------------------------------------


def test_totals_notes_and_headings_again_are_no_vehicles() -> None:
    """They are told and do not count in the expected no-starts."""
    text = (
        "Vehicle;Depot;Ah\nA-1;N;60\nA-2;N;70\nA-3;S;80\nVehicle;Depot;Ah\nTotal;;210\n"
        "Sous-total N;2;130\nØ;;70\nAs of 25.11.2026;;\n* measured in the workshop;;\nA-4;;\n"
    )
    fleet = fleet_of(text)
    assert [v.id for v in fleet.vehicles] == ["A-1", "A-2", "A-3", "A-4"]
    assert [one.row for one in fleet.table.not_vehicles] == [5, 6, 7, 8, 9, 10]


# 9. Workbooks ---------------------------------------------------------------------------------


def book(**sheets: Any) -> openpyxl.Workbook:
    """Return a workbook with one sheet a keyword."""
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    return made


def saved(made: openpyxl.Workbook) -> bytes:
    """Return the content of a workbook."""
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def test_a_workbook_is_read_as_it_is_shown() -> None:
    """Merged depots, units and per cents of number formats, leading zeros, hidden rows."""
    made = book(
        List=[
            ["id", "depot", "Quiescent", "Charge"],
            [7, "north", 25, 0.85],
            [8, None, 31, 0.01],
            [9, None, 40, 0.5],
        ]
    )
    sheet = made["List"]
    sheet.merge_cells("B2:B4")
    for row in (2, 3, 4):
        sheet[f"A{row}"].number_format = "000"
        sheet[f"C{row}"].number_format = '0" mA"'
        sheet[f"D{row}"].number_format = "0%"
    sheet.row_dimensions[4].hidden = True
    fleet = fleet_of(saved(made))
    assert [(v.id, v.depot) for v in fleet.vehicles] == [("007", "north"), ("008", "north")]
    assert fleet.vehicles[1].scenario.get(BATTERY.state_of_charge) == 0.01
    assert fleet.vehicles[0].scenario.get(VEHICLE.quiescent_a) == 0.025
    assert [(one.row, one.reason) for one in fleet.table.not_vehicles] == [(4, "hidden row")]
    assert any("hidden row" in sentence for sentence in rests_on(fleet))


def test_a_hidden_sheet_is_not_the_list() -> None:
    """The first visible sheet with vehicles is; a second one is asked about."""
    rows = [["id", "Ah"], ["old", 10]]
    made = book(draft=rows, List=[["id", "Ah"], ["a", 70]], South=[["id", "Ah"], ["b", 80]])
    made["draft"].sheet_state = "hidden"
    made.active = 1
    fleet = fleet_of(saved(made))
    assert [v.id for v in fleet.vehicles] == ["a"]
    assert "'South' seems to hold vehicles" in questions(fleet)
    assert fleet.table.unread_sheets == ("South", "draft (hidden)")


def test_an_id_that_is_a_formula_without_a_value_is_no_vehicle() -> None:
    """It is kept aside with what to do."""
    fleet = fleet_of(workbook([["id", "Ah"], ["=A9", 70], ["b", 80]]))
    assert [v.id for v in fleet.vehicles] == ["b"]
    assert "save it and load it again" in reasons(fleet)


# 10., 11. Words -------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["cp850", "mac_roman", "cp1252", "utf-8", "utf-16"])
def test_old_encodings_do_not_garble(encoding: str) -> None:
    """Lists of old programs and of Macintosh computers."""
    text = "Fahrzeug;Standort;Kältestartstrom (A)\nB-1;Mühlenhof;640\nB-2;Großmarkt;720\n"
    found = said(text.encode(encoding))
    assert found["B-1", "depot"] == "Mühlenhof"
    assert found["B-2", "depot"] == "Großmarkt"
    assert found["B-2", "cold_cranking_a"] == 720.0


def test_words_with_two_meanings_are_asked_about() -> None:
    """Age of what? Gas of which kind?"""
    fleet = fleet_of("id;Age;Fuel\na;7;Gas\nb;8;diesel")
    assert "battery age or the vehicle's age?" in questions(fleet)
    assert "petrol, or natural gas?" in questions(fleet)
    found = said(
        "id;Age;Fuel\na;7;Gas\nb;8;diesel",
        chosen={"Age": "battery_age_years [years]", "Fuel": "fuel [gas: petrol]"},
    )
    assert (found["a", "fuel"], found["a", "battery_age_years"]) == ("petrol", 7.0)


@pytest.mark.parametrize(
    "text",
    [
        "Kennzeichen;Standort;Ruhestrom (mA);Ruhespannung;Kältestartstrom (A EN);Batteriealter",
        "Immatriculation;Dépôt;Courant de repos (mA);Tension au repos;"
        "Courant de démarrage (A EN);Âge de la batterie",
        "Matrícula;Base;Consumo en reposo (mA);Tensión en reposo;Arranque en frío (A EN);"
        "Edad de la batería",
        "Targa;Sede;Assorbimento a riposo (mA);Tensione a riposo;Spunto (A EN);Età batteria",
        "Kenteken;Vestiging;Ruststroom (mA);Rustspanning;Koudstartstroom (A EN);Leeftijd accu",
        "Registration;Yard;Dark current (mA);Rest V;CCA (EN);Battery age",
    ],
)
def test_headings_of_six_languages(text: str) -> None:
    """The same list in six languages is the same list."""
    found = said(f"{text}\nX-1;North;25;12,5;640;3\n")
    assert found == {
        ("X-1", "depot"): "North",
        ("X-1", "quiescent_a"): 0.025,
        ("X-1", "resting_voltage_v"): 12.5,
        ("X-1", "cranking_standard"): "EN",
        ("X-1", "cold_cranking_a"): 640.0,
        ("X-1", "battery_age_years"): 3.0,
    }


def test_columns_of_numbers_that_are_not_used_are_told_first() -> None:
    """A card must not say "not in the list" of what the list holds."""
    fleet = fleet_of("id;Mileage;Colour\na;120000;red\nb;80000;blue")
    assert fleet.unused_numbers == ("Mileage",)
    assert any("Mileage" in sentence for sentence in rests_on(fleet))


# 12. Rows -------------------------------------------------------------------------------------


def test_a_return_far_ahead_keeps_the_vehicle() -> None:
    """The longest-parked vehicles are answered as far as is looked, with a note."""
    fleet = fleet_of("id,parked_from,planned_return\na,2026-11-20,2027-08-31\n")
    (answer,) = answer_fleet(fleet, SETTINGS, workers=1).vehicles
    assert answer.planned_return == dt.date(2027, 8, 31)
    assert answer.risk_on_return is None
    assert any("more than 60 days ahead" in warning for warning in answer.warnings)


def test_a_parking_day_to_come_is_noted_or_asked() -> None:
    """Planned is possible, "since" a day to come is not."""
    (vehicle,) = fleet_of("id,parked_from\na,2026-12-05").vehicles
    assert any("in the future" in note for note in vehicle.notes)
    assert "still to come" in questions(fleet_of("id,Parked since\na,2026-12-05"))


def test_all_faults_of_a_row_at_once_with_hints() -> None:
    """Nobody corrects a row five times."""
    fleet = fleet_of(
        "id;Fuel;Battery type;Rest V;Report interval (h);Ah\na;steam;lithium;25.2;often;6O"
    )
    (record,) = list_record(fleet)["rejected"]
    assert (record["row"], record["vehicle"]) == (2, "a")
    assert len(record["reasons"]) == 5
    text = " ".join(record["reasons"])
    for hint in ("diesel, petrol", "LiFePO4", "24 V system", "like 6 h or 15 min"):
        assert hint in text


def test_an_electric_fuel_is_a_kind_of_vehicle() -> None:
    """What lists keep under "fuel"."""
    found = said("id;Fuel\na;electric\nb;Hybrid")
    assert (found["a", "vehicle_kind"], found["b", "vehicle_kind"]) == ("electric", "hybrid")


def test_a_charge_and_a_voltage_that_contradict_each_other() -> None:
    """1 % at 12.64 V cannot be."""
    assert "contradict each other" in reasons(fleet_of("id;SoC (%);Rest V\na;1;12.64\nb;85;12.6"))


def test_an_answer_that_is_mostly_assumed_says_so_first() -> None:
    """One deciding value of eight is no basis."""
    fleet = fleet_of("id;Ah\na;70")
    assert rests_on(fleet)[0].startswith("1 of 1 vehicle: fewer than half of the 8 values")
    assert list_record(fleet)["values"] == {
        "from_list": 1, "assumed": 7, "vehicles_mostly_assumed": 1
    }  # fmt: skip
    full = "id;Ah;Battery age (years);SoC (%);Quiescent (mA);climate\na;70;3;85;25;temperate"
    assert not fleet_of(full).vehicles[0].mostly_assumed


@pytest.mark.parametrize("labels", [1, 3])  # fewer than half of the column, and most of it
def test_labels_and_bare_capacities_stand_in_one_column(labels: int) -> None:
    """As yards write it: the type behind the capacity where it is known; no row is lost."""
    rows = ["a;95 Ah (AGM)", "b;80 Ah EFB", "c;74Ah AGM 680A EN"][:labels]
    fleet = fleet_of("\n".join(["id;Batterie", *rows, "x;70Ah", "y;ca. 60 Ah"]))
    assert fleet.problems == ()
    batteries = {v.id: v.scenario.tables["battery"] for v in fleet.vehicles}
    assert batteries["a"] == {"capacity_ah": 95.0, "profile": "agm"}
    assert batteries["x"] == {"capacity_ah": 70.0}
    assert batteries["y"] == {"capacity_ah": 60.0}
    (pair,) = fleet_of("id;Batterie;Bordnetz\nt;2 x 180 Ah AGM;24 V").vehicles
    assert pair.scenario.tables["battery"] == {
        "capacity_ah": 180.0,
        "profile": "agm",
        "system": "24V",
    }


def test_labels_in_one_cell() -> None:
    """Type, capacity and current where lists keep them together."""
    found = said("id;Battery\na;AGM 70Ah 760A EN\nb;EFB 60 Ah 540 A")
    assert (found["a", "battery_type"], found["a", "capacity_ah"]) == ("agm", 70.0)
    assert (found["b", "cold_cranking_a"], found["b", "battery_type"]) == (
        540.0,
        "enhanced_flooded",
    )


def test_today_is_the_settings_day() -> None:
    """Ages are reckoned to the day of the question, not to the clock's."""
    later = FleetSettings(today=TODAY + dt.timedelta(days=365), days_ahead=60, draws=100)
    young, old = (
        fleet_of("id;Battery fitted\na;2024-11-25", settings=settings).vehicles[0]
        for settings in (SETTINGS, later)
    )
    ages = [v.scenario.get(BATTERY.age_years) for v in (young, old)]
    assert ages == pytest.approx([2.0, 3.0], abs=0.01)


def test_two_batteries_in_one_cell_need_to_be_joined_somehow() -> None:
    """2x180 Ah on a 24 V row is 180 Ah in series; elsewhere the row says what is missing."""
    found = said("id;System;Ah\na;24V;2x180\nb;12V;70")
    assert found["a", "capacity_ah"] == 180.0
    assert "in series) or parallel" in reasons(fleet_of("id;Ah\na;2x70"))
    rested = said("id;Ah;Rest voltage\na;2 x 180 Ah;25.4\nb;70;12.6")  # only in series
    assert (rested["a", "system"], rested["a", "resting_voltage_v"]) == ("24V", 12.7)
    assert ("b", "system") not in rested or rested["b", "system"] == "12V"
    labelled = said("id;Battery\na;2 x 180 Ah 24 V\nb;2x70Ah, 24V")
    assert (labelled["a", "system"], labelled["a", "capacity_ah"]) == ("24V", 180.0)
    assert (labelled["b", "system"], labelled["b", "capacity_ah"]) == ("24V", 70.0)
    assert "a" not in {key for key, _ in said("id;Ah;Rest voltage\na;2x70;12.6\nb;70;12.5")}


def test_a_template_s_example_row_is_no_vehicle() -> None:
    """It stands there to show how to fill in the list."""
    fleet = fleet_of("id;Ah\nBeispiel;70\nB-1;80")
    assert [v.id for v in fleet.vehicles] == ["B-1"]
    assert fleet.table.not_vehicles[0].reason == "an example row"


def test_dates_that_are_not_used_tell_how_dates_are_written() -> None:
    """05/31/2028 beside it says that 11/02/2026 is 2 November."""
    found = said("id;Date parked;Warranty\na;11/02/2026;05/31/2028\nb;11/12/2026;01/15/2029")
    assert found["a", "parked_since"] == "2026-11-02"


def test_a_name_again_is_told_beside_the_other_faults() -> None:
    """All that is wrong with a row stands there at once."""
    fleet = fleet_of("id;Ah\na;70\na;six")
    (record,) = list_record(fleet)["rejected"]
    assert len(record["reasons"]) == 2


def test_a_question_is_one_line_however_many_headings_it_quotes() -> None:
    """Sixty columns of one meaning, one of them with a terminal control (found by fuzzing)."""
    headings = ";".join(["Report interval (h)"] * 60 + ["Report interval\x1b (h)"])
    fleet = fleet_of(f"id;{headings}\na{';4' * 61}")
    assert fleet.doubts
    assert all(len(doubt.question) < 800 for doubt in fleet.doubts)
    assert all(doubt.question.isprintable() for doubt in fleet.doubts)


def test_one_cell_in_fahrenheit_does_not_turn_the_others() -> None:
    """Two bare -4 beside one 25 °F: -4 °C or -20 °C is asked, not guessed."""
    fleet = fleet_of("id,Temp\na,-4\nb,-4\nc,25 F")
    assert any("°C or °F" in doubt.question for doubt in fleet.doubts)
    assert not {vehicle.id for vehicle in fleet.vehicles} & {"a", "b"}
