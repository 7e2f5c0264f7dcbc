"""Where it stands on the page: four ways besides a constant temperature, one in use at a time."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.answers.standing.first_words import act_words, case_words
from drainsim.answers.standing.park import park
from drainsim.dashboard import session, visit
from drainsim.dashboard.what_if import temperature_file
from drainsim.dashboard.what_if.what_if import example, to_address
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site import SITE

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGES = _APP.parent / "drainsim/dashboard/pages"
_YEAR = b"temperature_c\n" + b"-4.5\n" * 8760  # invented: every hour the same


def _opened(page: str = "", **query: str) -> AppTest:
    app = AppTest.from_file(str(_APP), default_timeout=180.0)
    for name, value in query.items():
        app.query_params[name] = value
    app.run()
    return app.switch_page(str(_PAGES / page)).run() if page else app


def _said(app: AppTest) -> str:
    return " ".join(str(one.value) for kind in ("header", "markdown") for one in app.get(kind))


def _assert_answers(app: AppTest, scenario: Scenario) -> None:
    assert not app.exception
    assert not app.error
    answer = park(resolve(scenario))
    assert act_words(answer) in str(app.header[1].value)


def _by(app: AppTest, way: str) -> AppTest:
    return app.selectbox(key="temperature_by").set_value(way).run()


def test_a_place_is_said_by_latitude_and_altitude() -> None:
    """Only the latitude is asked first, the altitude once it is known; the climate is gone."""
    app = _by(_opened(), "Latitude, longitude, altitude")
    with pytest.raises(KeyError):
        app.number_input(key="altitude_m")
    assert app.session_state["kept_choices"] == {}
    app.number_input(key="place_latitude").set_value(-42.0).run()
    app.number_input(key="place_longitude").set_value(147.0).run()
    app.number_input(key="altitude_m").set_value(600.0).run()
    wanted = {"site.climate": None, "site.latitude_deg": -42.0, "site.altitude_m": 600.0}
    wanted["site.longitude_deg"] = 147.0
    _assert_answers(app, example().with_values(wanted))
    assert "42° south" in case_words(resolve(example().with_values(wanted)))


def test_a_place_is_said_by_its_coldest_month() -> None:
    """The warmest month and the half of the earth may follow; another way lets go of all."""
    app = _by(_opened(), "Its coldest month")
    app.number_input(key="coldest_month_c").set_value(-8.0).run()
    cold = example().with_values({"site.climate": None, "site.coldest_month_c": -8.0})
    _assert_answers(app, cold)
    app.number_input(key="warmest_month_c").set_value(21.0).run()
    app.number_input(key="place_latitude").set_value(-30.0).run()
    more = {"site.warmest_month_c": 21.0, "site.latitude_deg": -30.0}
    _assert_answers(app, cold.with_values(more))
    _by(app, "A climate from the list")
    assert app.session_state["kept_choices"] == {}
    _assert_answers(app, example())


def test_looking_from_one_way_to_another_keeps_what_both_ask() -> None:
    """The latitude stays from the coldest month to latitude and altitude; the month does not."""
    app = _by(_opened(), "Its coldest month")
    app.number_input(key="coldest_month_c").set_value(-8.0).run()
    app.number_input(key="place_latitude").set_value(48.0).run()
    _by(app, "Latitude, longitude, altitude")
    assert app.session_state["kept_choices"] == {"place_latitude": 48.0}
    _assert_answers(app, example().with_values({"site.climate": None, "site.latitude_deg": 48.0}))


@pytest.mark.parametrize(
    "choices",
    [
        {"place_latitude": -42.0, "place_longitude": 147.0, "altitude_m": 600.0},
        {"coldest_month_c": -8.0, "warmest_month_c": 21.0, "place_latitude": -30.0},
    ],
)
def test_the_address_keeps_the_place(choices: dict[str, float]) -> None:
    """A link opens the same place, shown in the way that says it."""
    app = _opened(**to_address(example(), choices))
    assert app.session_state["kept_choices"] == choices
    assert not app.error
    for name, value in choices.items():
        assert app.number_input(key=name).value == value


def test_two_ways_in_one_address_are_said_so() -> None:
    """A climate and a coldest month: one is left out, in a sentence."""
    app = _opened(climate="marine", coldest_month_c="-8")
    assert len(app.error) == 1
    assert "was left out" in str(app.error[0].value)


def test_the_four_questions_offer_the_ways() -> None:
    """Someone who knows nothing of climates may say the coldest month."""
    app = _opened("questions_page.py")
    _by(app, "Its coldest month")
    app.number_input(key="coldest_month_c").set_value(-8.0).run()
    assert not app.exception
    assert not app.error
    assert app.session_state["kept_choices"]["coldest_month_c"] == -8.0


def test_an_own_file_answers_and_outlasts_a_reload_of_the_visit_only() -> None:
    """An upload gives the temperatures; its address is worth nothing in another visit."""
    app = _by(_opened(), "Own temperature file")
    app.file_uploader[0].upload("yard 1.csv", _YEAR, "text/csv").run()
    assert not app.exception
    assert not app.error
    value = app.session_state["kept_choices"]["temperature_file"]
    assert value.endswith("/yard_1.csv")
    wanted = example().with_values({"site.climate": None, "site.hourly_csv": value})
    scenario = Scenario(tables=wanted.tables, folder=temperature_file.FOLDER)
    _assert_answers(app, scenario)
    assert any("yard" in str(one.value) for one in app.caption)
    stranger = _opened(temperature_file=value)
    assert visit.GONE in str(stranger.error[0].value).replace("&#46;", ".").replace("&#58;", ":")
    assert stranger.session_state["kept_choices"] == {}


def test_a_file_without_temperatures_is_told_by_its_name() -> None:
    """One sentence with the file's name and what would be right; the place stays as it was."""
    app = _by(_opened(), "Own temperature file")
    app.file_uploader[0].upload("notes.csv", b"a,b\n1,2\n", "text/csv").run()
    told = str(app.error[0].value)
    assert "notes" in told
    assert "temperature" in told
    assert str(temperature_file.FOLDER).rpartition("/")[2] not in told
    assert app.session_state["kept_choices"] == {}


def test_a_file_lost_from_the_folder_is_lent_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the visit still holds answers although the folder had to make room."""
    kept: dict[str, Any] = {}
    monkeypatch.setattr(session, "st", SimpleNamespace(session_state=kept))
    monkeypatch.setattr(visit, "kept_file", lambda key: (_YEAR, "yard.csv") if key else None)
    value = temperature_file.lend("0123456789abcdef", _YEAR, "yard.csv")
    (temperature_file.FOLDER / value).unlink()
    session.read({"temperature_file": value})
    assert kept["kept_choices"] == {"temperature_file": value}
    assert kept["kept_sentences"] == []
    assert session.scenario().get(SITE.hourly_csv) == value
    assert resolve(session.scenario()).site.description == "hourly temperatures of yard.csv"


def test_a_baseline_with_a_file_opens_for_its_visit_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """A comparison's link holds the file's name: who has loaded it goes on, nobody else."""
    kept: dict[str, Any] = {}
    monkeypatch.setattr(session, "st", SimpleNamespace(session_state=kept))
    value = temperature_file.lend("fedcba9876543210", _YEAR, "yard.csv")
    held = {"fedcba9876543210": (_YEAR, "yard.csv")}
    monkeypatch.setattr(visit, "kept_file", held.get)
    before = example().with_values({"site.climate": None, "site.hourly_csv": value})
    session.read(to_address(before, {"age_years": 6.0}))
    assert kept["kept_sentences"] == []
    assert resolve(session.scenario()).site.description == "hourly temperatures of yard.csv"
    held.clear()
    session.read(to_address(before, {"age_years": 6.0}))
    assert kept["kept_sentences"] == [visit.GONE]
    assert session.scenario().get(SITE.hourly_csv) is None
    assert kept["kept_choices"] == {"age_years": 6.0}


def test_the_folder_makes_room(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The files longest there go first, and no name leads out of the folder."""
    monkeypatch.setattr(temperature_file, "FOLDER", tmp_path)
    monkeypatch.setattr(temperature_file, "_MOST_BYTES", 2 * len(_YEAR))
    lent = [temperature_file.lend(f"{n:016x}", _YEAR, "../../a b.csv") for n in range(3)]
    there = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.glob("*/*"))
    assert there == sorted(lent[1:])
