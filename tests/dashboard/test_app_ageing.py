"""The page about winters shows what `ageing` returns, for one vehicle and for the list."""

from pathlib import Path

from streamlit.testing.v1 import AppTest

from drainsim.answers.driving.ageing_words import ageing_verdict, winter_words
from drainsim.answers.fleet.ageing_list import ageing_list, ageing_of, list_verdict
from drainsim.dashboard.forms import packed
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.what_if.what_if import example
from drainsim.files.fleet.example import EXAMPLE_TODAY, example_list
from drainsim.files.fleet.table import table_from_bytes
from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGE = "drainsim/dashboard/pages/ageing_page.py"
_PATIENCE_S = 180.0


def _opened(**query: str) -> AppTest:
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    for name, value in query.items():
        app.query_params[name] = value
    app.run()
    return app.switch_page(_PAGE).run()


def _said(app: AppTest) -> list[str]:
    return [part.value for part in app.markdown]


def test_the_page_says_what_the_answer_says() -> None:
    """Verdict, winters and warnings are those of `ageing` for the first page's vehicle."""
    app = _opened(age_years="6")
    assert not app.exception
    assert not app.error
    answer = ageing_of(example().with_values({"battery.age_years": 6.0}))
    assert f"**{plain(ageing_verdict(answer))}**" in _said(app)
    table = app.table[0].value
    assert list(table.index) == [winter_words(winter.year) for winter in answer.winters]
    assert list(table["risk of its coldest start"]) == [
        f"{100 * winter.risk:.0f}\u00a0%" for winter in answer.winters
    ]
    assert any("factor of two" in part for part in _said(app))
    assert app.get("plotly_chart")[0].proto.alt


def test_winters_and_limit_change_the_answer_and_are_kept() -> None:
    """The page's own question reaches the answer and the address."""
    app = _opened(ageing=packed({"winters": 3}))
    assert app.slider(key="ageing_winters").value == 3
    app.number_input(key="ageing_risk").set_value(20.0).run()
    app.slider(key="ageing_winters").set_value(8).run()
    answer = ageing_of(example(), winters=8, risk=0.2)
    assert f"**{plain(ageing_verdict(answer))}**" in _said(app)
    assert app.session_state["kept_form_ageing"] == {"winters": 8, "risk_percent": 20.0}


def test_what_an_address_cannot_ask_is_not_asked() -> None:
    """Values no control can stand at give the usual question."""
    app = _opened(ageing=packed({"winters": 99, "risk_percent": [1]}))
    assert not app.exception
    assert app.slider(key="ageing_winters").value == 5
    assert app.number_input(key="ageing_risk").value == 5.0


def test_the_list_of_the_fleet_page_is_answered() -> None:
    """The fleet's sentence and table are those of the same list on the command line."""
    app = _opened()
    settings = FleetSettings(today=EXAMPLE_TODAY)
    table = table_from_bytes(example_list(), where="invented list")
    found = ageing_list(fleet_from_table(table, settings, where="invented list"))
    assert f"**{list_verdict(found.vehicles, winters=5)}**" in _said(app)
    shown = app.dataframe[0].value
    assert shown.to_dict("records") == found.rows()


def test_choices_of_the_first_page_can_be_moved_here() -> None:
    """The age moved on this page is the first page's age."""
    app = _opened()
    app.slider(key="age_years").set_value(9.0).run()
    answer = ageing_of(example().with_values({"battery.age_years": 9.0}))
    assert f"**{plain(ageing_verdict(answer))}**" in _said(app)


def test_a_trailer_starts_nothing() -> None:
    """Where no start can fail the page says so instead of promising winters."""
    app = _opened(kind="trailer")
    assert not app.exception
    assert any("Nothing is started" in part for part in _said(app))


def test_a_list_loaded_on_the_fleet_page_is_the_one_answered_here() -> None:
    """The user's own list takes the invented one's place, rows left out are counted."""
    rows = "id;capacity ah;battery age\nVAN-ONE;60;2\nVAN-TWO;60;9\nVAN-ODD;six;3\n"
    app = _opened()
    app.switch_page("drainsim/dashboard/pages/fleet_page.py").run()
    app.file_uploader(key="fleet_file").upload("mine.csv", rows.encode(), "text/csv").run()
    app.switch_page(_PAGE).run()
    assert not app.exception
    said = " ".join(part.value for part in app.caption)
    assert plain("List of the fleet page: mine.csv.") in said
    assert "Rows left out: 1;" in said
    assert set(app.dataframe[0].value["vehicle"]) == {"VAN-ONE", "VAN-TWO"}
