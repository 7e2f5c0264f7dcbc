"""The page of readings: the invented morning, one vehicle of it, own and bad files."""

from functools import cache
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.answers.readings.morning import morning
from drainsim.files.readings.example import EXAMPLE_LIST, EXAMPLE_READINGS
from drainsim.files.readings.reader import read_readings
from drainsim.sheets.fleet.morning_list import act_today, draining, local_day, unseen, zone_of
from tests.invented_readings import list_csv, readings_csv, told_of

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGE = str(_APP.parent / "drainsim" / "dashboard" / "pages" / "readings_page.py")
_PATIENCE_S = 90.0


@cache
def opened() -> AppTest:
    """Return the app on the page, with the invented readings."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S).run()
    return app.switch_page(_PAGE).run()


def said(app: AppTest) -> str:
    """Return all words of the page."""
    parts = [*app.markdown, *app.header, *app.caption, *app.subheader, *app.error, *app.warning]
    return "\n".join(str(part.value) for part in parts)


def test_the_shipped_example_is_what_its_script_writes() -> None:
    """Nobody edits it by hand: its truth can be read in the script."""
    assert EXAMPLE_READINGS.read_text("utf-8") == readings_csv()
    assert EXAMPLE_LIST.read_text("utf-8") == list_csv()


def test_the_invented_morning_names_whom_to_act_on() -> None:
    """The three faults, the silent and the unreadable vehicle; the healthy ones are not accused."""
    app = opened()
    assert not app.exception
    words = said(app)
    for name in ("HY&#45;11", "HY&#45;12", "RS&#45;11"):
        assert f"**{name}**: draws" in words
    assert words.count("more than expected since") == 3
    assert "**MV&#45;11**: silent" in words
    assert "**RS&#45;13**: unreadable" in words
    assert "Night voltage 7 days ahead" in words


def test_one_vehicle_shows_what_its_readings_taught() -> None:
    """Before and after, with range and unit; its nights and its risk as charts."""
    app = opened()
    app.selectbox(key="readings_vehicle").set_value("RS-05").run()
    assert not app.exception
    taught = app.table[-1].value
    assert list(taught.index) == ["charge", "drain", "no-start"]
    assert taught.map(lambda cell: "8 in 10" in cell).all().all()


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"", "empty"),
        (b"vehicle,time,voltage\nA,03/04/2026 06:00,12.5\n", "day or month first"),
        (b"\x00\x01\x02", "text"),
    ],
)
def test_a_file_that_cannot_be_read_gets_one_sentence(content: bytes, part: str) -> None:
    """And the page stays."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S).run()
    app.switch_page(_PAGE).run()
    app.file_uploader(key="readings_files").upload("mine.csv", content, "text/csv").run()
    assert not app.exception
    (error,) = app.error
    assert part in error.value
    assert any(button.label == "Back to the invented readings" for button in app.button)


def test_the_faults_are_found_without_a_list(tmp_path: Path) -> None:
    """The function names the page's vehicles from readings alone."""
    path = tmp_path / "some.csv"
    path.write_text(told_of(), "utf-8")
    readings = read_readings([path])
    found = morning(readings.histories, workers=1)
    today = local_day(found.now_s, zone_of(None))
    assert {one.id for one in draining(found)} >= {"HY-11", "HY-12", "RS-11"}
    assert {one.id for one in unseen(found)} == {"MV-11", "RS-13"}
    assert "HY-12" in {one.id for one in act_today(found, today)}


def with_list(readings: bytes, listed: bytes) -> AppTest:
    """Return the page with own readings and a list of their vehicles."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S).run()
    app.switch_page(_PAGE).run()
    app.file_uploader(key="readings_list").upload("list.csv", listed, "text/csv").run()
    return app.file_uploader(key="readings_files").upload("r.csv", readings, "text/csv").run()


def test_rows_of_the_list_that_are_kept_aside_are_told() -> None:
    """As the command tells them: which row, where, why."""
    hours = "".join(f"A,2026-11-{n // 24 + 10}T{n % 24:02d}:00Z,12.6\n" for n in range(96))
    app = with_list(f"vehicle,time,voltage\n{hours}".encode(), b"id,capacity_ah\nA,60\nB,six\n")
    assert not app.exception
    (warning,) = [one.value for one in app.warning if "kept aside" in one.value]
    assert "row 3" in warning


def test_a_list_beside_readings_without_any_voltage_time_is_one_sentence() -> None:
    """No vehicle has a reading: that is said, and nothing breaks over the list's day."""
    app = with_list(b"vehicle,time,voltage\nA,never,12.6\n", b"id\nA\n")
    assert not app.exception
    assert len(app.error) == 1
