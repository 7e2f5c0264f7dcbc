"""Rows to vehicles: numbers, dates and names as people write them, mistakes kept aside."""

import datetime as dt
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainsim.errors import FleetError
from drainsim.files.fleet.table import table_from_bytes
from drainsim.sheets.fleet.fleet_understood import rests_on
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import KEY_INPUTS, FleetSettings, FleetVehicle
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN
from tests.fleet_build import MIXED, SETTINGS, TODAY, fleet_of, tables_of, workbook


def one(content: str) -> FleetVehicle:
    """Return the only vehicle of a list without mistakes."""
    fleet = fleet_of(content)
    assert fleet.problems == ()
    (vehicle,) = fleet.vehicles
    return vehicle


def complaint(content: str) -> str:
    """Return what is wrong with the only row of a list."""
    fleet = fleet_of(content)
    assert fleet.vehicles == ()
    (problem,) = fleet.problems
    return problem.sentence


def test_an_id_is_enough() -> None:
    """Every missing value gets a default, and the row says that all of it is assumed."""
    vehicle = one("id\nx\n")
    assert vehicle.assumed == tuple(KEY_INPUTS)
    assert vehicle.parked_from == TODAY
    case = resolve(vehicle.scenario)
    assert case.unit.fitted
    assert all(item.origin != "given" for item in case.assumptions if item.name.startswith("bat"))


def test_what_a_row_gives_is_not_called_assumed() -> None:
    """The assumed share falls with every key input given."""
    vehicle = one("id,quiescent_a,battery_age_years,sleep_a\nx,0.03,4,0.002\n")
    assert set(KEY_INPUTS) - set(vehicle.assumed) == {
        "vehicle quiescent current", "battery age", "unit"
    }  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("60", 60.0),
        ("60,5", 60.5),
        ("60.5", 60.5),
        (" 60 ", 60.0),
        ("6e1", 60.0),
        ("+60", 60.0),
        ("60 Ah", 60.0),
        ("60Ah", 60.0),
        ("60000 mAh", 60.0),
        ("60'000 mAh", 60.0),
        ("60 000 mAh", 60.0),
        ("60.000,0 mAh", 60.0),
        ("60,000.0 mAh", 60.0),
    ],
)
def test_numbers_people_write(cell: str, value: float) -> None:
    """Decimal commas, thousands separators and units behind the number."""
    assert tables_of(f"id\tcapacity_ah\nx\t{cell}")["battery"]["capacity_ah"] == value


@pytest.mark.parametrize("cell", ["", "-", "?", "n/a", "NA", "unknown", "#N/A", "None given"])
def test_words_for_nothing(cell: str) -> None:
    """Placeholders count as empty."""
    assert "capacity_ah" not in tables_of(f"id;capacity_ah\nx;{cell}")["battery"]


@pytest.mark.parametrize(
    ("heading", "cell", "says"),
    [
        ("capacity_ah", "six", "'six' is not a number"),
        ("capacity_ah", "no 60", "'no 60' is not a number"),
        ("capacity_ah", "6O", "is not a unit of capacity_ah"),
        ("capacity_ah", "60 V", "'V' is not a unit of capacity_ah; use Ah, mAh"),
        ("capacity_ah", "-60", "outside 1 to 400 Ah"),
        ("capacity_ah", "1e999", "not a finite number"),
        ("capacity_ah", "1-60", "is not a number"),
        ("resting_voltage_v", "480", "outside 6 to 16 V"),
        ("state_of_charge", "120", "outside 0 to 1"),
        ("battery_profile", "nuclear", "'nuclear' is not known; use one of agm"),
        ("fuel", "steam", "use one of diesel, petrol"),
        ("unit", "spaceship", "is not known; use one of"),
        ("climate", "moon", "is not known; use one of"),
        ("parked_from", "31.02.2026", "there is no such day"),
        ("parked_from", "yesterday", "write it like 2026-12-01"),
        ("parked_from", "1926-11-20", "not between 2000 and 2099"),
        ("parked_from", "2020-11-20", "too far from today"),
    ],
)
def test_a_mistake_names_the_column_and_what_would_be_right(
    heading: str, cell: str, says: str
) -> None:
    """One wrong cell keeps its row aside with its reason."""
    fleet = fleet_of(f"id;{heading}\nx;{cell}\ny;")
    assert [v.id for v in fleet.vehicles] == ["y"]
    (problem,) = fleet.problems
    assert (problem.row, problem.column) == (2, heading)
    assert says in problem.sentence


def test_a_row_without_an_id_is_kept_aside() -> None:
    """It may still be a vehicle: its owner is told."""
    assert complaint("id;depot\n;north") == "empty; every vehicle needs an id"


def test_a_voltage_read_in_the_future_and_a_return_before_parking() -> None:
    """Dates that contradict each other keep the row aside."""
    text = "id,parked_from,planned_return,resting_voltage_v,resting_voltage_at\nx,{},{},{},{}"
    assert "in the future" in complaint(text.format("2026-11-20", "", 12.5, "2026-11-26"))
    assert "before it is parked" in complaint(text.format("2026-12-20", "2026-12-10", "", ""))


@pytest.mark.parametrize(
    ("cells", "dates"),
    [
        (["20/11/2026", "03/04/2026"], ["2026-11-20", "2026-04-03"]),  # day first: 20
        (["11/20/2026", "03/04/2026"], ["2026-11-20", "2026-03-04"]),  # month first: 20
        (["20.11.26", "03.04.2026"], ["2026-11-20", "2026-04-03"]),  # points: day first
        (["2026-11-20", "2026-11-20 08:30"], ["2026-11-20", "2026-11-20"]),
        (["2026-11-20T08:30:00", "05/05/2026"], ["2026-11-20", "2026-05-05"]),
    ],
)
def test_dates_are_read_as_the_column_writes_them(cells: list[str], dates: list[str]) -> None:
    """One row that tells decides for the whole column."""
    fleet = fleet_of("id;parked_from\n" + "\n".join(f"v{n};{c}" for n, c in enumerate(cells)))
    assert [v.parked_from.isoformat() for v in fleet.vehicles] == dates


def test_ambiguous_dates_are_not_guessed() -> None:
    """03/04/2026 with nothing to tell by is kept aside."""
    assert "day first or month first?" in complaint("id;parked_from\nx;03/04/2026")


def test_ambiguous_thousands_are_not_guessed() -> None:
    """4,500 µA is 4.5 or 4500 µA; 12,625 V and 1,998 cc can only be one."""
    assert "read in two ways" in complaint("id\tsleep_a (µA)\nx\t4,500")
    assert tables_of("id\tresting_voltage_v\nx\t12,625")["battery"]["resting_voltage_v"] == 12.625
    assert tables_of("id\tEngine (cc)\nx\t1,998")["vehicle"]["engine_litres"] == 1.998


def test_duplicate_ids_are_kept_aside_and_name_the_first() -> None:
    """The second row of an id is not a second vehicle."""
    fleet = fleet_of("id,depot\na,north\nb,north\na ,south\n")
    assert [v.id for v in fleet.vehicles] == ["a", "b"]
    assert fleet.problems[0].row == 4
    assert fleet.problems[0].sentence == "'a' is already in row 2"


def test_a_resting_voltage_counts_from_the_day_it_was_read() -> None:
    """The stand is looked at from the voltage on, days parked from parking on."""
    vehicle = one(
        "id,parked_from,resting_voltage_v,resting_voltage_at\nx,2026-11-02,12.4,2026-11-22"
    )
    assert vehicle.parked_from == dt.date(2026, 11, 2)
    assert vehicle.starts == vehicle.scenario.get(SITE.parked_from) == dt.date(2026, 11, 22)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("resting_voltage_v;parked_from,12.4;2026-11-02", "undated resting voltage"),
        ("resting_voltage_at,2026-11-22", "a date of the voltage but no voltage"),
        ("planned_return,2026-11-22", "in the past and not used"),
        ("planned_return,2027-11-22", "more than 60 days ahead"),
        ("parked_from,2026-12-02", "in the future"),
        ("quiescent_a,0", "not measured"),
    ],
)
def test_what_is_not_used_is_said(row: str, says: str) -> None:
    """A value set aside leaves a note on its vehicle."""
    heading, cell = row.split(",")
    assert any(says in note for note in one(f"id;{heading}\nx;{cell}").notes)


def test_of_two_charges_and_two_places_the_measured_one_counts() -> None:
    """Both may be filled in; the other is named."""
    vehicle = one(
        "id,state_of_charge,resting_voltage_v,climate,temperature_c\nx,0.9,12.4,continental,-5"
    )
    resolve(vehicle.scenario)
    assert vehicle.scenario.get(BATTERY.state_of_charge) is None
    assert vehicle.scenario.get(SITE.climate) is None
    assert len(vehicle.notes) == 2


def test_no_unit_is_something_a_list_can_say() -> None:
    """The word "none" is no unit; an empty cell is the stated default one."""
    assert "unit" not in tables_of("id,unit\nx,none")
    assert tables_of("id,unit\nx,")["unit"] == {"preset": "hourly"}


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("<script>alert(1)</script>", "<script>alert(1)</script>"),
        ("a\u202egnp.exe", "a gnp.exe"),  # right-to-left override
        ("tab\there", "tab here"),
        ("zero\u200bwidth", "zero width"),
        ("x" * 80, "x" * 80),
        ("שלום", "שלום"),
    ],
)
def test_names_are_one_line_of_printable_text(name: str, shown: str) -> None:
    """Marks that turn or hide text are taken out; nothing else is."""
    assert one(f'id;depot\n"{name}";x').id == shown


def test_a_name_too_long_is_refused_not_cut() -> None:
    """81 characters are one too many."""
    assert "81 characters; at most 80" in complaint("id\n" + "x" * 81)


def test_numeric_ids_of_a_workbook_stay_whole() -> None:
    """An id kept as a number does not gain a decimal point."""
    fleet = fleet_of(workbook([["id"], [12345678], [17.0]]))
    assert [v.id for v in fleet.vehicles] == ["12345678", "17"]


def test_a_list_without_names_is_refused() -> None:
    """The sentence says what was found."""
    with pytest.raises(FleetError, match=r"no column names the vehicles.*colour, wheels"):
        fleet_of("colour;wheels\nred;4\n")


@pytest.mark.parametrize(
    "wrong",
    [{"draws": 99}, {"draws": 202}, {"draws": 5000}, {"days_ahead": 0}, {"days_ahead": 366}],
)
def test_settings_no_run_can_serve(wrong: dict[str, int]) -> None:
    """Limits are named."""
    with pytest.raises(FleetError, match=r"draws|days ahead"):
        FleetSettings(today=TODAY, **wrong)


def test_one_seed_per_vehicle_and_one_weather_for_all() -> None:
    """Draws belong to the id, not to the place in the list; the weather to all."""
    forth, back = fleet_of("id\na\nb\n"), fleet_of("id\nb\na\n")
    seeds = {v.id: v.scenario.get(RUN.seed) for v in forth.vehicles}
    assert seeds == {v.id: v.scenario.get(RUN.seed) for v in back.vehicles}
    assert len(set(seeds.values())) == 2
    assert {v.scenario.get(RUN.weather_seed) for v in forth.vehicles} == {SETTINGS.seed}


def test_a_depot_may_have_its_own_weather_file(tmp_path: Path) -> None:
    """The file stands in for the climate of that depot only."""
    file = tmp_path / "north.csv"
    file.write_text("temperature_c\n" + "-5\n" * 8760, encoding="utf-8")
    settings = FleetSettings(today=TODAY, days_ahead=60, draws=100, depot_weather={"north": file})
    fleet = fleet_of("id,depot\na,north\nb,south\n", settings=settings)
    a, b = (resolve(v.scenario) for v in fleet.vehicles)
    assert a.site.battery_c.max() == pytest.approx(-5.0)
    assert b.site.battery_c.max() > 0.0


def test_a_climate_that_gives_way_to_a_depot_file_is_noted(tmp_path: Path) -> None:
    """A cell that is not used is said in the row's notes."""
    file = tmp_path / "north.csv"
    file.write_text("temperature_c\n" + "-5\n" * 8760, encoding="utf-8")
    settings = FleetSettings(today=TODAY, days_ahead=60, draws=100, depot_weather={"north": file})
    fleet = fleet_of(
        "id,depot,climate,temperature_c\na,north,temperate,\nb,north,,-3\n", settings=settings
    )
    a, b = fleet.vehicles
    assert any("climate not used" in note for note in a.notes)
    assert any("weather file not used" in note for note in b.notes)


def test_the_invented_list_has_the_gaps_and_mistakes_of_real_ones() -> None:
    """About 120 vehicles, four depots, some rows that need correcting, nothing lost."""
    raw = resources.files("drainsim").joinpath("data/examples/invented_fleet.csv").read_bytes()
    fleet = fleet_of(raw)
    assert len({v.depot for v in fleet.vehicles}) == 4
    assert len(fleet.vehicles) > 100
    assert 3 <= len(fleet.problems) <= 12
    assert len(fleet.vehicles) + len({p.row for p in fleet.problems}) == len(fleet.table.rows)
    assert {len(v.assumed) for v in fleet.vehicles} >= {0, 1, 2}


@given(st.binary(max_size=300))
def test_any_bytes_give_a_list_or_one_sentence(noise: bytes) -> None:
    """Whatever is dropped in, rows in = vehicles + rows kept aside, or a FleetError."""
    raw = b"id;capacity_ah;parked_from\n" + noise
    try:
        fleet = fleet_of(raw)
    except FleetError as error:
        told = str(error)
    else:
        told = ""
        rows = len(fleet.vehicles) + len({p.row for p in fleet.problems})
        assert rows == len(fleet.table.rows)
    assert "\n" not in told


@given(st.lists(st.text(max_size=12), min_size=3, max_size=3))
def test_any_cells_give_a_vehicle_or_a_reason(cells: list[str]) -> None:
    """No cell, however odd, ends the run."""
    text = MIXED.splitlines()[0] + "\n" + ";".join(["x", "", "", cells[0], cells[1], cells[2]])
    try:
        table_from_bytes(text.encode("utf-8", "replace"), where="x")
    except FleetError:
        return
    fleet = fleet_of(text.encode("utf-8", "replace"))
    assert len(fleet.vehicles) + len({p.row for p in fleet.problems}) == len(fleet.table.rows)


@pytest.mark.parametrize(
    ("fitted", "given_age", "age"),
    [
        ("2022-11-25", "", 1461 / 365.25),  # four years, one of them a leap year
        ("2026-11-25", "", 0.0),
        ("2026-11-26", "", "is in the future"),
        ("2026", "", 147 / 365.25),  # a year alone: its middle, 1 July
        ("2007-01-01", "", 19.9),
        ("2006-11-01", "", "more than 20 years ago"),
        # An age and a fitting date may be 1.5 years apart: common practice, no source.
        ("2022-11-25", "5.4", 5.4),
        ("2022-11-25", "5.6", "keep one of them"),
        ("2022-11-25", "2.6", 2.6),
        ("2022-11-25", "2.4", "keep one of them"),
    ],
)
def test_age_is_counted_from_the_day_of_fitting(
    fitted: str, given_age: str, age: float | str
) -> None:
    """Days since then over 365.25; a contradiction or a day to come is asked about."""
    text = f"id;battery_fitted;battery_age_years\nx;{fitted};{given_age}"
    if isinstance(age, str):
        assert age in complaint(text)
    else:
        used = tables_of(text)["battery"]["age_years"]
        assert used == pytest.approx(age, abs=0.005)


def test_a_year_of_fitting_whose_middle_is_still_to_come_is_this_day() -> None:
    """In spring a battery "of this year" is new, not of the future."""
    settings = FleetSettings(today=dt.date(2026, 3, 1), days_ahead=60, draws=100)
    fleet = fleet_of("id;battery_fitted\nx;2026", settings=settings)
    assert fleet.problems == ()
    assert fleet.vehicles[0].scenario.get(BATTERY.age_years) == 0.0


@pytest.mark.parametrize(
    ("charge", "volts", "fits"),
    [
        # A lead battery rests at 11.8 V flat and 12.75 V full, in round numbers (common practice):
        # 12.2 V is about 42 %, 12.15 V about 37 %, 12.7 V about 95 %.
        (0.9, 12.20, True),
        (0.9, 12.15, False),
        (0.46, 12.70, True),
        (0.44, 12.70, False),
        (0.4, 11.5, True),
        (0.51, 11.5, False),
        (0.51, 13.1, True),
        (0.49, 13.1, False),
    ],
)
def test_a_charge_and_a_voltage_that_cannot_be_one_batterys_are_asked_about(
    charge: float, volts: float, fits: bool
) -> None:
    """Half a battery apart is too much; a lithium battery's flat curve tells nothing."""
    text = f"id;state_of_charge;resting_voltage_v\nx;{charge};{volts}"
    fleet = fleet_of(text)
    assert bool(fleet.vehicles) == fits
    if not fits:
        assert "contradict each other" in complaint(text)
        lithium = fleet_of(
            "id;state_of_charge;resting_voltage_v;battery_profile\n"
            f"x;{charge};{volts};lithium_iron_phosphate_12v"
        )
        assert lithium.problems == ()


def test_the_voltage_of_a_pair_is_halved_where_the_row_says_it_is_one() -> None:
    """24.8 V of a 24 V system are 12.4 V each; without the word it is asked about."""
    vehicle = one("id;resting_voltage_v;battery_system\nx;24.8;24V")
    assert vehicle.scenario.get(BATTERY.resting_voltage_v) == pytest.approx(12.4)
    assert any("24.8 V across the pair taken as 12.4 V each" in note for note in vehicle.notes)
    single = one("id;resting_voltage_v;battery_system\nx;12.4;24V")
    assert single.scenario.get(BATTERY.resting_voltage_v) == 12.4
    assert "24 V system's voltage" in complaint("id;resting_voltage_v\nx;24.8")
    for volts in ("17.5", "33"):  # neither one battery's nor a pair's
        assert "outside" in complaint(f"id;resting_voltage_v;battery_system\nx;{volts};24V")


@pytest.mark.parametrize(
    ("parked", "volts_at", "back", "noted", "refused"),
    [
        # Today is 25 November 2026, the list looks 60 days ahead, to 24 January 2027.
        ("2026-11-20", "2026-11-25", "2027-01-24", "", ""),
        ("2026-11-20", "2026-11-25", "2027-01-25", "more than 60 days ahead", ""),
        ("2026-11-20", "2026-11-20", "2026-11-25", "", ""),
        ("2026-11-20", "2026-11-20", "2026-11-24", "in the past", ""),
        ("2026-11-20", "2026-11-19", "", "before parking", ""),
        ("2026-11-20", "2026-11-26", "", "", "in the future"),
        ("2025-01-25", "", "", "", ""),  # 670 days ago and 60 ahead: 730
        ("2025-01-23", "", "", "", "too far from today"),
        ("2027-01-23", "", "", "in the future", ""),
        ("2027-01-24", "", "", "in the future", "not before 2027-01-24, the last day looked at"),
    ],
)
def test_days_are_taken_up_to_their_limits(
    parked: str, volts_at: str, back: str, noted: str, refused: str
) -> None:
    """The last day that counts does, the next one is noted or refused."""
    volts = "12.4" if volts_at else ""
    fleet = fleet_of(
        "id;parked_from;resting_voltage_v;resting_voltage_at;planned_return\n"
        f"x;{parked};{volts};{volts_at};{back}"
    )
    if refused:
        assert refused in fleet.problems[0].sentence
        return
    (vehicle,) = fleet.vehicles
    assert (noted in "; ".join(vehicle.notes)) if noted else vehicle.notes == ()
    starts = max(vehicle.parked_from.isoformat(), volts_at)
    assert vehicle.starts.isoformat() == starts
    horizon = (TODAY - vehicle.starts).days + 60
    assert vehicle.scenario.get(RUN.horizon_days) == horizon


def test_a_vehicle_is_mostly_assumed_when_more_than_half_of_what_decides_is() -> None:
    """Four of eight deciding inputs given are enough."""
    text = "id;quiescent_a;state_of_charge;battery_age_years;capacity_ah\nx;0.03;0.9;4;{}"
    assert not one(text.format("60")).mostly_assumed
    assert one(text.format("")).mostly_assumed


@pytest.mark.parametrize(
    "heading",
    [
        "Days parked",
        "Parked since (days)",
        "Steht seit (Tage)",
        "Standtage",
        "Jours à l'arrêt",
        "Días parado",
        "Fermo da (giorni)",
        "Dagen stil",
    ],
)
def test_days_that_a_vehicle_has_stood_give_the_day_of_parking(heading: str) -> None:
    """Counted back from today, as lists of depots keep it."""
    vehicle = one(f"id;{heading}\nx;12\n")
    assert vehicle.parked_from == TODAY - dt.timedelta(days=12)
    assert "parked_since" not in complaint(f"id;{heading}\nx;-3\n")


def test_days_parked_and_another_day_of_parking_contradict_each_other() -> None:
    """A day apart may be the hour of the export; a month is a slip somewhere."""
    day = TODAY - dt.timedelta(days=12)
    assert one(f"id;Days parked;Parked since\nx;13;{day}\n").parked_from == day
    assert "keep one" in complaint(f"id;Days parked;Parked since\nx;40;{day}\n")


@pytest.mark.parametrize("heading", ["voltage date", "Messdatum"])
def test_an_undated_voltage_of_a_long_stand_is_said_first(heading: str) -> None:
    """Read at parking or today is the difference of the stand's own drain: it is told, once.

    The heading it asks for is understood, in the languages of the pages.
    """
    fleet = fleet_of("id;resting_voltage_v;parked_from\nx;12,4;2026-11-02\ny;12,4;2026-11-25")
    (told,) = (sentence for sentence in rests_on(fleet) if "resting voltage" in sentence)
    assert told.startswith("1 vehicle: ")
    dated = fleet_of(f"id;resting_voltage_v;parked_from;{heading}\nx;12,4;2026-11-02;2026-11-22")
    assert not any("resting voltage" in sentence for sentence in rests_on(dated))
    assert dated.vehicles[0].starts == dt.date(2026, 11, 22)
