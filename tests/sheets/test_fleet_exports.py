"""What leaves the house: vehicles, rows to correct, calendar, action list."""

import csv
import datetime as dt
import io
import re
from html import escape
from html.parser import HTMLParser

import pytest

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet
from drainsim.answers.fleet.fleet_actions import cheapest_actions
from drainsim.answers.words import FROZEN_CAUTION
from drainsim.language import LANGUAGES, language
from drainsim.sheets.fleet.action_list import action_list_html
from drainsim.sheets.fleet.calendar import act_by_calendar
from drainsim.sheets.fleet.fleet_tables import to_correct_csv, vehicle_heading, vehicle_rows
from drainsim.sheets.spreadsheet import csv_text, xlsx_bytes
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.documents.fleet_rows import Fleet
from tests.fleet_build import MIXED, SETTINGS, TODAY, fleet_of, workbook
from tests.sheets.said import MARKED, figures, text_of, unmarked

icalendar = pytest.importorskip("icalendar")  # in the extra test

NASTY = [
    "<script>alert(1)</script>",
    "=HYPERLINK(0)",
    "a, b; c\\n d",
    "<b onclick='x()'>bold</b>",
    "&lt;already&gt;",
    "שלום עולם",
    "ж" * 80,
    "x'\"><img src=http://h/x.png>",
]


def answered(text: str) -> tuple[Fleet, FleetAnswer, dict[str, Action]]:
    """Return a list with its answer and actions."""
    fleet = fleet_of(text)
    answer = answer_fleet(fleet, SETTINGS, call_out_price=120.0, workers=1)
    known = {v.id for v in answer.vehicles}
    vehicles = [v for v in fleet.vehicles if v.id in known]
    actions = cheapest_actions(vehicles, answer.vehicles, SETTINGS, risk=0.05, workers=1)
    return fleet, answer, actions


@pytest.fixture(scope="module")
def nasty() -> tuple[Fleet, FleetAnswer, dict[str, Action]]:
    """Return vehicles whose names and depots try to be more than text."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";")
    writer.writerow(["id", "depot", "state_of_charge", "temperature_c"])
    for name in NASTY:
        writer.writerow([name, name, "0.4", "-5"])
    return answered(out.getvalue())


def events(text: str) -> list[object]:
    """Return the events of a calendar, read by an independent library."""
    return icalendar.Calendar.from_ical(text).walk("VEVENT")


def test_the_calendar_is_valid_and_holds_every_date(nasty: object) -> None:
    """RFC 5545: one all-day event per vehicle, read back by the `icalendar` library."""
    for _, answer, actions in (answered(MIXED), nasty):
        acting = {v.id: v for v in answer.vehicles if v.needs_someone}
        found = events(act_by_calendar(answer.vehicles, actions, today=TODAY))
        assert len(found) == len(acting)
        assert len({str(e["UID"]) for e in found}) == len(found)
        for event in found:
            assert event.errors == []
            name = next(i for i in acting if str(event["SUMMARY"]).startswith(f"{i}: "))
            vehicle = acting[name]
            assert event["DTSTART"].dt == vehicle.act_by
            assert event["DTEND"].dt == vehicle.act_by + dt.timedelta(days=1)
            assert event["DTSTAMP"].dt.date() == TODAY
            assert str(event.get("LOCATION", "")) == vehicle.depot
            action, said = actions[name], str(event["DESCRIPTION"])
            assert str(event["SUMMARY"]) == f"{name}: {action.words}"
            assert f"Until: {vehicle.act_by}. With: {action.takes}. " in said
            assert f"Saves: {action.effect}. Why: {vehicle.cause}. {FROZEN_CAUTION}" in said


def test_calendar_lines_end_and_fold_as_the_standard_says(nasty: object) -> None:
    """RFC 5545, section 3.1: CRLF, at most 75 octets a line, no character cut in two."""
    _, answer, actions = nasty
    raw = act_by_calendar(answer.vehicles, actions, today=TODAY).encode()
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert all(b"\n" not in line and b"\r" not in line for line in lines)
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)  # something was folded
    for line in lines:
        line.decode("utf-8")


def test_a_calendar_without_events_is_still_one() -> None:
    """Nobody has to act: an empty calendar, not an empty file."""
    assert events(act_by_calendar([], {}, today=TODAY)) == []


def test_the_vehicles_table_has_every_vehicle_and_no_formula(nasty: object) -> None:
    """CSV and XLSX: one row each, names as text."""
    _, answer, actions = nasty
    heading, rows = vehicle_heading(answer), vehicle_rows(answer, actions)
    assert all(len(row) == len(heading) for row in rows)
    read = list(csv.DictReader(io.StringIO(csv_text(heading, rows))))
    assert {row["id"].removeprefix("'") for row in read} == set(NASTY)
    assert not any(row["id"].startswith("=") for row in read)
    again = fleet_of(xlsx_bytes("vehicles", heading, rows))
    assert {v.id.removeprefix("'") for v in again.vehicles} == set(NASTY)


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_the_action_list_shows_names_as_text(nasty: object) -> None:
    """No script, picture or handler from a name; nothing is fetched; every name can be read."""
    _, answer, actions = nasty
    page = action_list_html(answer, actions)
    read = _Tags()
    read.feed(page)
    assert read.tags <= {
        "html", "head", "meta", "title", "style", "body", "h1", "p", "div", "table", "thead",
        "tbody", "tr", "th", "td", "span",
    }  # fmt: skip
    assert read.attributes <= {"lang", "charset", "name", "content", "class", "http-equiv"}
    policy = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
    assert page.count(policy) == page.count("http-equiv") == 1  # the page's own, from no name
    assert set(NASTY) <= set(read.words)
    assert "url(" not in page


def test_the_action_list_says_what_the_answer_says() -> None:
    """Every vehicle that needs someone, its date, its action, the cost and the cautions."""
    _, answer, actions = answered(MIXED)
    printed = action_list_html(answer, actions)
    body = printed.partition("<tbody>")[2].partition("</tbody>")[0]
    assert "&gt;" not in body
    assert not re.search(r"20\d\d-\d", body)  # no narrow column breaks a date or an arrow
    page = printed.replace("\N{WORD JOINER}", "").replace("→", "-&gt;")
    page = page.replace("\N{NO-BREAK SPACE}", " ")
    cells = set(re.findall(r"<td[^>]*>(.*?)</td>", page))
    for vehicle in answer.vehicles:
        assert (f"<td>{vehicle.id}</td>" in page) == vehicle.needs_someone
        if vehicle.needs_someone:
            action = actions[vehicle.id]
            assert str(vehicle.act_by) in page
            assert {escape(action.words), escape(action.takes), escape(action.effect)} <= cells
    assert answer.needing in page
    for day in answer.on_dates:
        assert f"{day.count.expected:.1f} no-starts expected" in page
        assert f"{120.0 * day.count.expected:,.0f} at 120 per call-out" in page
    assert "never charge or jump-start a frozen" in page


@pytest.fixture(scope="module")
def mixed() -> tuple[Fleet, FleetAnswer, dict[str, Action]]:
    """Return a list of vehicles of many kinds."""
    return answered(MIXED)


def test_every_word_of_the_action_list_can_be_said_in_another_language(
    mixed: tuple[Fleet, FleetAnswer, dict[str, Action]],
) -> None:
    """In a language that marks every text, list and calendar keep only names and keywords."""
    _, answer, actions = mixed
    own = [text for v in answer.vehicles for text in (v.id, v.depot) if text]
    assert unmarked(text_of(action_list_html(answer, actions, MARKED)), *own) == set()
    for tried in (actions, {}):  # with steps, and without a search for any
        found = events(act_by_calendar(answer.vehicles, tried, today=TODAY, say=MARKED))
        assert found
        for event in found:
            said = f"{event['SUMMARY']} {event['DESCRIPTION']}"
            assert unmarked(said, *own) == set()


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_action_list_shows_the_same_figures_in_every_language(
    code: str, mixed: tuple[Fleet, FleetAnswer, dict[str, Action]]
) -> None:
    """Dates, days, risks and hours are the English list's; the calendar stays a calendar."""
    _, answer, actions = mixed
    page = action_list_html(answer, actions, language(code))
    assert f'lang="{code}"' in page
    english = text_of(action_list_html(answer, actions))
    plain = [text.replace("\u202f", " ") for text in (text_of(page), english)]
    assert figures(plain[0]) == figures(plain[1])
    found = events(act_by_calendar(answer.vehicles, actions, today=TODAY, say=language(code)))
    assert all(event.errors == [] for event in found)
    assert language(code)(FROZEN_CAUTION) in str(found[0]["DESCRIPTION"])


BROKEN = """\
Ref;Depot;Capacity (Ah);Parked since;Temperature;Note
a;north;60;20/11/2026;-5,5;ok
b;north;sixty;03/04/2026;-5,5;=1+1
;south;60;05/04/2026;3;no name
c;south;60;31/02/2026;-10;
d;north;60;01/04/2026;1;shifted;2
"""
CORRECTED = {"sixty": "60", "\n;south;60;": "\ne;south;60;", "31/02/2026": "2026-03-28"}


def test_rows_to_correct_hold_the_file_and_the_reason() -> None:
    """The row's own cells unchanged, its number, column and reason; nothing else of the file."""
    fleet = fleet_of(BROKEN.replace("/04/", "/11/"), chosen={"Ref": "id"})
    rows = list(csv.DictReader(io.StringIO(to_correct_csv(fleet, fleet.problems)), delimiter=";"))
    assert [row["row_in_file"] for row in rows] == ["3", "4", "5", "6"]
    assert [row["column_to_correct"] for row in rows[:3]] == [
        "Capacity (Ah)",
        "Ref",
        "Parked since",
    ]
    assert all(row["what_is_wrong"] for row in rows)
    assert rows[0]["Temperature"] == "-5,5"
    assert rows[0]["Note"] == "'=1+1"
    assert rows[3][""] == "2"


def test_corrected_rows_read_again_complete_the_list() -> None:
    """Correct, feed back, and every vehicle means what it would have meant in the first place."""
    text = BROKEN.replace("/04/", "/11/").replace("shifted;2", "shifted")
    fleet = fleet_of(text, chosen={"Ref": "id"})
    corrected = to_correct_csv(fleet, fleet.problems)
    for wrong, right in CORRECTED.items():
        assert wrong in corrected
        corrected = corrected.replace(wrong, right)
        text = text.replace(wrong, right)
    again, whole = (fleet_of(t, chosen={"Ref": "id"}) for t in (corrected, text))
    assert (again.problems, whole.problems) == ((), ())
    expected = {v.id: v.scenario.tables for v in whole.vehicles}
    assert {v.id for v in again.vehicles} == {"b", "e", "c"}
    for vehicle in again.vehicles:
        assert vehicle.scenario.tables == expected[vehicle.id]
    assert {v.id for v in fleet.vehicles} | {v.id for v in again.vehicles} == set(expected)


def test_rows_of_a_workbook_come_back_without_loss() -> None:
    """Dates, long numbers and formulas-as-text survive the way through the CSV."""
    fleet = fleet_of(
        workbook(
            [
                ["id", "parked_from", "resting_voltage_v", "fuel", "depot"],
                [123456789012, dt.datetime(2026, 11, 20, 8, 0), 12.456789012, "steam", "x"],
            ]
        )
    )
    corrected = to_correct_csv(fleet, fleet.problems).replace("steam", "diesel")
    (vehicle,) = fleet_of(corrected).vehicles
    assert vehicle.id == "123456789012"
    assert vehicle.parked_from == dt.date(2026, 11, 20)
    assert vehicle.scenario.get(BATTERY.resting_voltage_v) == 12.456789012
