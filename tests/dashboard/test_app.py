"""The page shows exactly what `park` returns, and bad input becomes a sentence."""

import dataclasses
import datetime as dt
import tomllib
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.answers.standing.first_words import act_words, case_words, half_words
from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.storage.helps import helps_most, helps_words
from drainsim.answers.words import difference_words
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.what_if.controls import CONTROLS
from drainsim.dashboard.what_if.what_if import (
    changed,
    example,
    from_address,
    own_vehicle,
    to_address,
)
from drainsim.errors import ScenarioError
from drainsim.figures.by_date import by_date_alt
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict, scenario_from_text

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGES = _APP.parent / "drainsim" / "dashboard" / "pages"
_PATIENCE_S = 180.0

# Every part no widget shows; invented.
_DETAILED = """
other = [{ name = "dash camera", current_a = 0.002 }]

[battery]
capacity_ah = 70
cranking_standard = "SAE"

[unit]
sleep_a = 0.002
cutoff_v = 11.5
ladder = [{ below_v = 12.2, report_interval_h = 12.0 }]
report = { transmit_s = 20.0, transmit_a = 0.06 }

[vehicle]
quiescent_a = 0.02
wake_ups = [{ every_h = 24.0, duration_s = 60.0, current_a = 1.0 }]

[run]
draws = 200
horizon_days = 90
"""


def _opened(**query: str) -> AppTest:
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    for name, value in query.items():
        app.query_params[name] = value
    return app.run()


def _said(app: AppTest) -> str:
    """Return all words in the main area."""
    parts = [*app.markdown, *app.header, *app.caption]
    return "\n".join(str(part.value) for part in parts)


def _answer(scenario: Scenario) -> ParkAnswer:
    return park(resolve(scenario))


def _assert_shows(app: AppTest, answer: ParkAnswer) -> None:
    assert not app.exception
    assert not app.error
    _assert_answers(app, answer)


def _assert_answers(app: AppTest, answer: ParkAnswer) -> None:
    assert act_words(answer) in [header.value for header in app.header]
    assert f"{half_words(answer)}." in [part.value for part in app.markdown]
    assert plain(case_words(answer.case)) in _said(app)
    (chart,) = app.get("plotly_chart")
    assert chart.proto.alt == by_date_alt(answer, "risk")


def test_first_visit_answers_the_example() -> None:
    """Without any input the page holds the answer to the example, called invented."""
    app = _opened()
    _assert_shows(app, _answer(example()))
    assert "**Invented example:**" in _said(app)
    case = _answer(example()).case
    assert app.slider(key="quiescent_ma").value == 1000.0 * case.vehicle.quiescent_a
    assert app.slider(key="charge_percent").value == 100.0 * case.battery.state_of_charge
    assert app.number_input(key="cold_cranking_a").value is None


def test_quick_moves_are_neither_undone_nor_told_back() -> None:
    """A browser that has not heard of the first move yet sends the box beside it as it stood."""
    app = _opened()
    before = app.slider(key="capacity_ah").value
    for slider, box, taken in ((61.0, before, 61.0), (64.0, before, 64.0), (64.0, 70.0, 70.0)):
        app.slider(key="capacity_ah").set_value(slider)
        app.number_input(key="capacity_ah_box").set_value(box).run()
        assert app.slider(key="capacity_ah").value == taken
        assert app.number_input(key="capacity_ah_box").value == taken
        moved_slider = box == before
        assert app.slider(key="capacity_ah").proto.set_value is not moved_slider
        assert app.number_input(key="capacity_ah_box").proto.set_value is moved_slider
    _assert_shows(app, _answer(example().with_values({"battery.capacity_ah": 70.0})))


def test_what_helps_most_is_told_of_the_case_as_it_stands() -> None:
    """It comes last on the page: the words of the move before must not stay."""
    app = _opened()
    moved = example().with_values({"vehicle.quiescent_a": 0.09})
    for scenario in (example(), moved):
        words = helps_words(*helps_most(scenario, _answer(scenario)))
        (told,) = [part.value for part in app.markdown if "helps most" in part.value]
        assert told == f"**What helps most:** {plain(str(words))}."
        app.slider(key="quiescent_ma").set_value(90.0).run()


@pytest.mark.parametrize(
    ("name", "value", "key", "scenario_value"),
    [
        ("quiescent_ma", 55.0, "vehicle.quiescent_a", 0.055),
        ("age_years", 7.0, "battery.age_years", 7.0),
        ("charge_percent", 60.0, "battery.state_of_charge", 0.6),
        ("capacity_ah", 90.0, "battery.capacity_ah", 90.0),
        ("sleep_ma", 25.0, "unit.sleep_a", 0.025),
        ("engine_litres", 3.5, "vehicle.engine_litres", 3.5),
        ("start_hour", 14, "site.start_hour", 14),
        ("horizon_days", 30, "run.horizon_days", 30),
    ],
)
def test_a_moved_slider_shows_what_park_returns(
    name: str, value: float, key: str, scenario_value: float
) -> None:
    """A slider's value reaches the scenario in its unit; a difference is told on request only."""
    app = _opened()
    app.slider(key=name).set_value(value).run()
    after = _answer(example().with_values({key: scenario_value}))
    before = _answer(example())
    _assert_shows(app, after)
    assert "(before: " not in _said(app)
    app = _opened()
    app.button(key="compare").click().run()
    app.slider(key=name).set_value(value).run()
    _assert_shows(app, after)
    change = difference_words(before.days_at_risk, after.days_at_risk, after.case.horizon_days)
    assert f"**{act_words(after)}**: **{change}**" in _said(app)
    assert "Invented example" not in _said(app)


def test_choices_and_dates_reach_the_scenario() -> None:
    """Select boxes, the report interval, an empty box and the date work like sliders."""
    app = _opened()
    app.selectbox(key="profile").select("agm").run()
    app.selectbox(key="unit").select("daily").run()
    app.select_slider(key="interval_h").set_value(12.0).run()
    app.number_input(key="cold_cranking_a").set_value(400.0).run()
    app.date_input(key="parked_from").set_value(dt.date(2026, 7, 1)).run()
    wanted = scenario_from_dict(
        {
            **example().tables,
            "battery": {"profile": "agm", "capacity_ah": 60.0, "cold_cranking_a": 400.0},
            "unit": {"preset": "daily", "report_interval_h": 12.0},
            "site": {"climate": "temperate", "parked_from": dt.date(2026, 7, 1)},
        }
    )
    _assert_shows(app, _answer(wanted))


def test_voltage_or_percentage_and_climate_or_constant_exclude_each_other() -> None:
    """Switching to the other way of saying it leaves only that one in the scenario."""
    app = _opened()
    app.radio(key="charge_by").set_value("resting voltage").run()
    app.number_input(key="resting_v").set_value(12.3).run()
    app.selectbox(key="temperature_by").set_value("Constant temperature").run()
    app.number_input(key="temperature_c").set_value(-18.0).run()
    wanted = example().with_values(
        {"battery.resting_voltage_v": 12.3, "site.climate": None, "site.temperature_c": -18.0}
    )
    _assert_shows(app, _answer(wanted))
    app.radio(key="charge_by").set_value("percentage").run()
    assert not app.error
    assert "resting_v" not in app.session_state["kept_choices"]


def test_looking_at_another_way_of_saying_it_says_nothing() -> None:
    """Until a voltage or a temperature is typed the answer, and what counts as known, stay."""
    app = _opened()
    app.radio(key="charge_by").set_value("resting voltage").run()
    app.selectbox(key="temperature_by").set_value("Constant temperature").run()
    assert app.number_input(key="resting_v").value is None
    assert app.number_input(key="temperature_c").value is None
    assert app.session_state["kept_choices"] == {}
    _assert_shows(app, _answer(example()))
    app.number_input(key="resting_v").set_value(12.3).run()
    app.radio(key="charge_by").set_value("percentage").run()
    assert app.session_state["kept_choices"] == {}
    _assert_shows(app, _answer(example()))


def test_a_box_beside_a_slider_says_the_same() -> None:
    """A number typed into the box moves the slider and the answer, and the other way round."""
    app = _opened()
    app.number_input(key="age_years_box").set_value(6.5).run()
    assert app.slider(key="age_years").value == 6.5
    _assert_shows(app, _answer(example().with_values({"battery.age_years": 6.5})))
    app.slider(key="age_years").set_value(2.0).run()
    assert app.number_input(key="age_years_box").value == 2.0
    app.number_input(key="interval_h_box").set_value(5.0).run()
    assert app.select_slider(key="interval_h").value == 5.0


def test_no_unit_takes_its_draw_and_its_controls_away() -> None:
    """Without a unit the page answers for the bare vehicle."""
    app = _opened(sleep_ma="9")
    app.selectbox(key="unit").select("none").run()
    bare = {name: table for name, table in example().tables.items() if name != "unit"}
    _assert_shows(app, _answer(scenario_from_dict(bare)))
    with pytest.raises(KeyError):
        app.slider(key="sleep_ma")


def test_four_questions_lead_to_the_answer_and_none_must_be_answered() -> None:
    """What is answered counts as given, what is let go again as unknown, and the answer follows."""
    app = _opened().switch_page(str(_PAGES / "questions_page.py")).run()
    assert act_words(_answer(own_vehicle())) in [header.value for header in app.header]
    app.selectbox(key="profile").select("agm").run()
    app.number_input(key="capacity_ah").set_value(80.0).run()
    app.number_input(key="age_years").set_value(5.0).run()
    app.number_input(key="resting_v").set_value(12.6).run()
    app.selectbox(key="vehicle").select("older_car").run()
    app.number_input(key="age_years").set_value(None).run()
    app.selectbox(key="profile").select("own").run()
    assert app.selectbox(key="profile").value == "own"
    assert app.selectbox(key="vehicle").options[0] == "I don't know"
    wanted = own_vehicle().with_values(
        {
            "battery.capacity_ah": 80.0,
            "battery.resting_voltage_v": 12.6,
            "vehicle.preset": "older_car",
        }
    )
    assert app.session_state["kept_choices"] == {
        "capacity_ah": 80.0,
        "resting_v": 12.6,
        "vehicle": "older_car",
    }
    app.button(key="show_answer").click().run()
    _assert_shows(app, _answer(wanted))


def test_a_standard_is_asked_beside_the_cranking_current_and_counts() -> None:
    """It comes with the current, changes the answer and goes with it."""
    app = _opened()
    with pytest.raises(KeyError):
        app.selectbox(key="cranking_standard")
    app.number_input(key="cold_cranking_a").set_value(400.0).run()
    app.selectbox(key="cranking_standard").select("DIN").run()
    label = {"battery.cold_cranking_a": 400.0, "battery.cranking_standard": "DIN"}
    _assert_shows(app, _answer(example().with_values(label)))
    app.number_input(key="cold_cranking_a").set_value(None).run()
    assert app.session_state["kept_choices"] == {}


def test_a_comparison_begins_and_ends() -> None:
    """The vehicle as it stands is compared with from then on; changes can be dropped or kept."""
    app = _opened()
    app.slider(key="quiescent_ma").set_value(50.0).run()
    app.button(key="compare").click().run()
    kept = example().with_values({"vehicle.quiescent_a": 0.05})
    _assert_shows(app, _answer(kept))
    assert "(before: " not in _said(app)
    app.slider(key="age_years").set_value(8.0).run()
    _assert_shows(app, _answer(kept.with_values({"battery.age_years": 8.0})))
    assert "(before: " in _said(app)
    app.button(key="undo").click().run()
    _assert_shows(app, _answer(kept))
    app.slider(key="age_years").set_value(8.0).run()
    app.button(key="stop_comparing").click().run()
    _assert_shows(app, _answer(kept.with_values({"battery.age_years": 8.0})))
    assert "(before: " not in _said(app)
    app.button(key="start_over").click().run()
    _assert_shows(app, _answer(example()))


def test_an_address_opens_its_state() -> None:
    """Values in the address are the page's values."""
    app = _opened(capacity_ah="80", quiescent_ma="45.5", unit="live", parked_from="2026-07-01")
    wanted = example().with_values(
        {
            "battery.capacity_ah": 80.0,
            "vehicle.quiescent_a": 0.0455,
            "unit.preset": "live",
            "site.parked_from": dt.date(2026, 7, 1),
        }
    )
    _assert_shows(app, _answer(wanted))


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("capacity_ah", "9999", "outside 1 to 400 Ah"),
        ("capacity_ah", "nan", "a number is needed"),
        ("age_years", "old", "a number is needed"),
        ("start_hour", "7.5", "a whole number is needed"),
        ("parked_from", "1.12.2026", "2026-12-01"),
        ("unit", "../../etc", "use one of"),
        ("profile", "agmm", "use one of"),
        ("volume", "11", "not known"),
        ("base", "AAAA", "damaged"),
    ],
)
def test_a_bad_address_becomes_a_sentence(name: str, value: str, expected: str) -> None:
    """A value that cannot be used is named and left out; the rest still answers."""
    _, choices, sentences = from_address({name: value, "engine_litres": "3"})
    assert choices == {"engine_litres": 3.0}
    assert len(sentences) == 1
    assert expected in sentences[0]
    app = _opened(**{name: value, "engine_litres": "3"})
    assert len(app.error) == 1
    assert not app.exception
    wanted = _answer(example().with_values({"vehicle.engine_litres": 3.0}))
    _assert_answers(app, wanted)


def test_an_upload_becomes_the_baseline_with_every_key_kept() -> None:
    """Keys no widget shows survive loading, a change and saving."""
    app = _opened()
    app.file_uploader(key="scenario_file").upload("van.toml", _DETAILED.encode(), "text/plain")
    app.run()
    loaded = scenario_from_text(_DETAILED, where="van.toml")
    _assert_shows(app, _answer(loaded))
    app.slider(key="quiescent_ma").set_value(80.0).run()
    _assert_shows(app, _answer(loaded.with_values({"vehicle.quiescent_a": 0.08})))
    saved = changed(loaded, {"quiescent_ma": 80.0}).to_toml()
    expected = tomllib.loads(_DETAILED)
    expected["vehicle"]["quiescent_a"] = 0.08
    assert tomllib.loads(saved) == {"format": 1, **expected}


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"[battery\n", "not valid TOML"),
        (b"[battery]\ncapacity = 60\n", "did you mean capacity_ah"),
        (b"[battery]\ncapacity_ah = -5\n", "outside 1 to 400 Ah"),
        (b"[battery]\ncapacity_ah = 60\n[site]\nhourly_csv = 'a.csv'\n", "scenario file on disk"),
        (b"\xff\xfe\x00", "save the file as UTF-8"),
        (b"", "battery is missing"),
    ],
)
def test_a_bad_file_becomes_a_sentence(content: bytes, expected: str) -> None:
    """A file that cannot be used is refused in one sentence and the answer stays."""
    app = _opened()
    app.file_uploader(key="scenario_file").upload("bad.toml", content, "text/plain").run()
    assert not app.exception
    assert len(app.error) == 1
    shown = app.error[0].value.replace("&#95;", "_").replace("&#45;", "-").replace("\u00a0", " ")
    assert expected in shown
    assert "bad&#46;toml" in shown
    _assert_answers(app, _answer(example()))


def test_file_text_cannot_become_markup() -> None:
    """Markdown from a file name or a file's text stays text."""
    app = _opened()
    app.file_uploader(key="scenario_file").upload(
        "![x](http:h).toml", b"[battery]\n'![x](http://h/p.png)' = 1\n", "text/plain"
    ).run()
    shown = app.error[0].value
    assert "![" not in shown
    assert "://" not in shown
    assert "&#33;&#91;x&#93;" in shown


def test_choices_that_do_not_fit_become_a_sentence_and_can_be_undone() -> None:
    """A report longer than its interval is said; the panel stays to put it right."""
    loaded = scenario_from_dict(
        {
            "battery": {"capacity_ah": 60.0},
            "unit": {"report": {"transmit_s": 1800.0, "transmit_a": 0.1}},
        }
    )
    app = _opened(**to_address(loaded, {}))
    app.select_slider(key="interval_h").set_value(0.25).run()
    assert len(app.error) == 1
    assert not app.exception
    app.select_slider(key="interval_h").set_value(2.0).run()
    _assert_shows(app, _answer(loaded.with_values({"unit.report_interval_h": 2.0})))


def test_one_charge_per_report_replaces_the_phases() -> None:
    """A measured charge of a report takes the place of phases a file gave, and can go again."""
    loaded = scenario_from_text(_DETAILED, where="van.toml")
    app = _opened(**to_address(loaded, {}))
    app.number_input(key="report_as").set_value(12.0).run()
    wanted = loaded.with_values({"unit.report": None, "unit.report_charge_as": 12.0})
    _assert_shows(app, _answer(wanted))
    app.number_input(key="report_as").set_value(None).run()
    _assert_shows(app, _answer(loaded))


def test_an_address_brings_a_loaded_scenario_along() -> None:
    """What an address says reads back to the same baseline and choices."""
    loaded = scenario_from_text(_DETAILED, where="van.toml")
    choices = {"quiescent_ma": 31.5, "age_years": None, "parked_from": dt.date(2026, 3, 4)}
    base, read, sentences = from_address(to_address(loaded, choices))
    assert sentences == []
    assert base.tables == loaded.tables
    assert read == {**choices}


def test_an_address_that_unpacks_to_too_much_is_refused() -> None:
    """A packed scenario may not grow beyond what a file may hold."""
    padded = dataclasses.replace(example(), tables={"battery": {"profile": "a" * 3_000_000}})
    _, _, sentences = from_address(to_address(padded, {}))
    assert len(sentences) == 1
    assert "damaged" in sentences[0]


def test_every_control_matches_the_scenario() -> None:
    """Names are unique and every key is one a scenario accepts."""
    for control in CONTROLS.values():
        if "." not in control.key:
            continue
        with pytest.raises(ScenarioError, match=control.key):
            example().with_values({control.key: []})
