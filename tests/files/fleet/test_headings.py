"""Headings: what people write, the units they add, and what is left in doubt."""

import pytest

from drainsim.errors import FleetError
from drainsim.files.fleet.columns import BY_NAME, COLUMNS
from drainsim.files.fleet.headings import match_headings
from tests.fleet_build import fleet_of, tables_of

# The list of the issue, word for word.
CANONICAL = [
    "id",
    "depot",
    "battery_profile",
    "capacity_ah",
    "reserve_capacity_min",
    "cold_cranking_a",
    "battery_age_years",
    "state_of_charge",
    "resting_voltage_v",
    "resting_voltage_at",
    "quiescent_a",
    "unit",
    "sleep_a",
    "report_interval_h",
    "report_charge_as",
    "engine_litres",
    "fuel",
    "climate",
    "temperature_c",
    "parked_from",
    "planned_return",
]


def test_every_canonical_heading_is_accepted_as_itself() -> None:
    """The promised names work together in one file, without a unit to convert."""
    assert set(CANONICAL) <= set(BY_NAME)  # more may have come since
    for match, name in zip(match_headings(list(BY_NAME)), BY_NAME, strict=True):
        assert (match.column, match.certain, match.factor, match.offset) == (name, True, 1.0, 0.0)


def test_every_canonical_column_takes_a_value() -> None:
    """A file with all canonical columns filled gives a vehicle (but one of each either-or)."""
    heading = [name for name in CANONICAL if name not in {"state_of_charge", "climate"}]
    cells = {
        "id": "x", "depot": "north", "battery_profile": "agm", "capacity_ah": "70",
        "reserve_capacity_min": "120", "cold_cranking_a": "700", "battery_age_years": "3",
        "resting_voltage_v": "12.6", "resting_voltage_at": "2026-11-20", "quiescent_a": "0.02",
        "unit": "hourly", "sleep_a": "0.003", "report_interval_h": "4", "report_charge_as": "9",
        "engine_litres": "2", "fuel": "diesel", "temperature_c": "-3",
        "parked_from": "2026-11-18", "planned_return": "2026-12-18",
    }  # fmt: skip
    tables = tables_of(",".join(heading) + "\n" + ",".join(cells[name] for name in heading))
    assert tables["battery"]["cold_cranking_a"] == 700.0
    assert tables["unit"] == {
        "preset": "hourly", "sleep_a": 0.003, "report_interval_h": 4.0, "report_charge_as": 9.0
    }  # fmt: skip
    assert tables["site"]["temperature_c"] == -3.0
    assert tables["vehicle"] == {"quiescent_a": 0.02, "engine_litres": 2.0, "fuel": "diesel"}


@pytest.mark.parametrize(
    ("heading", "cell", "key", "value"),
    [
        ("Quiescent current (mA)", "25", "vehicle.quiescent_a", 0.025),
        ("Quiescent current [A]", "0.025", "vehicle.quiescent_a", 0.025),
        ("quiescent_ma", "25", "vehicle.quiescent_a", 0.025),
        ("Parasitic draw mA", "25", "vehicle.quiescent_a", 0.025),
        ("Quiescent current (µA)", "25000", "vehicle.quiescent_a", 0.025),
        ("Quiescent current (μA)", "25000", "vehicle.quiescent_a", 0.025),  # Greek mu
        ("Key-off current", "25 mA", "vehicle.quiescent_a", 0.025),
        ("Quiescent current (A)", "25 mA", "vehicle.quiescent_a", 0.025),
        ("Temperature (°F)", "14", "site.temperature_c", -10.0),
        ("temp_f", "14", "site.temperature_c", -10.0),
        ("Air temperature [°C]", "-10", "site.temperature_c", -10.0),
        ("temperature_c", "14 °F", "site.temperature_c", -10.0),
        ("Reserve capacity (h)", "2", "battery.reserve_capacity_min", 120.0),
        ("RC (min)", "120", "battery.reserve_capacity_min", 120.0),
        ("RC", "120 min", "battery.reserve_capacity_min", 120.0),
        ("Capacity (mAh)", "60000", "battery.capacity_ah", 60.0),
        ("Battery Ah", "60", "battery.capacity_ah", 60.0),
        ("C20 [Ah]", "60", "battery.capacity_ah", 60.0),
        ("CCA", "540", "battery.cold_cranking_a", 540.0),
        ("Battery age (months)", "30", "battery.age_years", 2.5),
        ("State of charge (%)", "85", "battery.state_of_charge", 0.85),
        ("SoC", "85", "battery.state_of_charge", 0.85),
        ("SoC", "0.85", "battery.state_of_charge", 0.85),
        ("SoC (%)", "0.5 %", "battery.state_of_charge", 0.005),  # said in so many words
        ("Last voltage (mV)", "12550", "battery.resting_voltage_v", 12.55),
        ("Engine (cc)", "1998", "vehicle.engine_litres", 1.998),
        ("Engine (ccm)", "1998", "vehicle.engine_litres", 1.998),
        ("Engine size (l)", "2.0", "vehicle.engine_litres", 2.0),
        ("engine_cc", "1998", "vehicle.engine_litres", 1.998),
        ("Report interval (min)", "30", "unit.report_interval_h", 0.5),
        ("Reports every (days)", "2", "unit.report_interval_h", 48.0),
        ("Charge per report (mAh)", "2", "unit.report_charge_as", 7.2),
        ("Sleep current (mA)", "3", "unit.sleep_a", 0.003),
        ("Vehicle consumption mA", "30", "vehicle.quiescent_a", 0.03),
        ("Verbrauch Fahrzeug mA", "30", "vehicle.quiescent_a", 0.03),
        ("Consommation véhicule mA", "30", "vehicle.quiescent_a", 0.03),
        ("Consumo vehículo mA", "30", "vehicle.quiescent_a", 0.03),
        ("mA consumo veicolo", "30", "vehicle.quiescent_a", 0.03),
        ("Verbruik voertuig mA", "30", "vehicle.quiescent_a", 0.03),
        ("Fahrzeugverbrauch mA", "30", "vehicle.quiescent_a", 0.03),
        ("Fahrzeugverbrauch (mA)", "30", "vehicle.quiescent_a", 0.03),
        ("Consumo equipo mA", "3", "unit.sleep_a", 0.003),
    ],
)
def test_headings_and_units_people_write(heading: str, cell: str, key: str, value: float) -> None:
    """Usual headings and units mean what they say, by the definitions of the units."""
    table, name = key.split(".")
    tables = tables_of(f"id;{heading}\nx;{cell}")
    assert tables[table][name] == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("heading", "cell", "question"),
    [
        ("Fahrzeugverbrauch", "18", "quiescent current or the fuel it uses"),
        ("Vehicle consumption", "8.1", "quiescent current or the fuel it uses"),
        ("Batterie 24 V", "180 Ah", "capacity or how many volts they make"),
    ],
)
def test_a_heading_of_two_things_is_asked_about(heading: str, cell: str, question: str) -> None:
    """Fuel is no current, and 24 V no capacity, unless the owner says so."""
    fleet = fleet_of(f"id;{heading}\nx;{cell}")
    assert fleet.matches[1].column is None
    assert [question in doubt.question for doubt in fleet.doubts] == [True]


@pytest.mark.parametrize("unit", ["l/100 km", "l/100km", "mpg"])
def test_fuel_is_never_read_as_a_current(unit: str) -> None:
    """8.1 l/100 km is not 8.1 mA: the unit of another thing leaves the column out."""
    fleet = fleet_of(f"id;Verbrauch Fahrzeug ({unit})\nx;8.1")
    assert fleet.matches[1].column is None
    assert "is not a unit of quiescent_a" in fleet.matches[1].note


def test_a_foreign_unit_is_not_converted_and_not_hidden() -> None:
    """A load capacity in kg is no battery capacity; the reason is kept for the user."""
    fleet = fleet_of("id,Capacity (kg)\nx,900")
    match = fleet.matches[1]
    assert match.column is None
    assert "'kg' is not a unit of capacity_ah; use one of Ah, mAh" in match.note
    assert "capacity_ah" not in fleet.vehicles[0].scenario.tables["battery"]
    with pytest.raises(FleetError, match=r"'Capacity \(kg\)'.*'kg' is not a unit"):
        match_headings(["id", "Capacity (kg)"], chosen={"Capacity (kg)": "capacity_ah"})


def test_a_misspelt_heading_is_a_guess_and_marked() -> None:
    """A guess is used but not called certain; an unrelated heading is not used."""
    batery, colour = match_headings(["Batery capacity (Ah)", "Colour"])
    assert (batery.column, batery.certain) == ("capacity_ah", False)
    assert colour.column is None


def test_several_names_of_a_vehicle_take_the_closest_one() -> None:
    """Lists hold plate, number and name; one is the id and the others say so."""
    matches = fleet_of("Name,VIN,Fleet number,Depot\na,b,c,d").matches
    assert [match.column for match in matches] == [None, None, "id", "depot"]
    assert "read from 'Fleet number'" in matches[0].note


def test_a_name_that_repeats_is_no_name() -> None:
    """Of two names the one that tells the vehicles apart counts."""
    fleet = fleet_of("Vehicle,Reg\nvan,A 1\nvan,A 2\nvan,A 3")
    assert [vehicle.id for vehicle in fleet.vehicles] == ["A 1", "A 2", "A 3"]


def test_two_columns_of_numbers_for_one_are_asked_about() -> None:
    """Which of two capacities is right is the owner's to say; until then neither is used."""
    text = "id,Capacity (Ah),Battery Ah\na,60,80"
    fleet = fleet_of(text)
    assert [match.column for match in fleet.matches] == ["id", None, None]
    assert {doubt.number for doubt in fleet.doubts} == {1, 2}
    assert "both mean the capacity" in fleet.doubts[0].question
    fleet = fleet_of(text, chosen={"Battery Ah": "capacity_ah"})
    assert [match.column for match in fleet.matches] == ["id", None, "capacity_ah"]
    fleet = fleet_of(text, chosen={"Battery Ah": ""})
    assert [match.column for match in fleet.matches] == ["id", "capacity_ah", None]
    assert fleet.doubts == ()


def test_a_guess_yields_to_a_certain_heading() -> None:
    """A misspelling does not take a column from its proper name."""
    matches = fleet_of("id,capacityy,capacity_ah\na,60,70").matches
    assert [match.column for match in matches] == ["id", None, "capacity_ah"]


@pytest.mark.parametrize(
    ("chosen", "says"),
    [
        ({"Ref": "vehicle_id"}, "'vehicle_id' is not one of id, depot"),
        ({"Reff": "id"}, "no column 'Reff' in the file; it has: Ref, depot"),
    ],
)
def test_a_wrong_choice_is_one_sentence(chosen: dict[str, str], says: str) -> None:
    """A mapping to nowhere names the choices."""
    with pytest.raises(FleetError, match=says):
        match_headings(["Ref", "depot"], chosen=chosen)


def test_a_chosen_column_names_the_vehicles() -> None:
    """Any heading can be made the id."""
    fleet = fleet_of("Ref,x\n17,1", chosen={"Ref": "id"})
    assert [vehicle.id for vehicle in fleet.vehicles] == ["17"]


def test_every_usual_heading_is_understood() -> None:
    """No word of one column is taken for another column."""
    for column in COLUMNS:
        for word in column.words:
            (match,) = match_headings([word.capitalize()])
            assert (match.column, match.certain) == (column.name, True), word


@pytest.mark.parametrize(
    ("cell", "right"), [("1.7", False), ("4.9", False), ("5", True), ("1.7 %", True)]
)
def test_a_bare_number_just_above_full_is_asked_about(cell: str, right: bool) -> None:
    """1.7 is neither a share nor likely a percentage: kept aside, not taken for 1.7 %."""
    fleet = fleet_of(f"id;SoC\nx;{cell}")
    assert [p.column for p in fleet.problems] == ([] if right else ["SoC"])
    assert all("more than full" in p.sentence for p in fleet.problems)
