"""The week page shows what `week` returns, and bad input becomes a sentence."""

from pathlib import Path

from streamlit.testing.v1 import AppTest

from drainsim.answers.driving.week import week
from drainsim.answers.driving.week_words import week_verdict
from drainsim.dashboard.forms import packed
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.what_if.what_if import example, to_address
from drainsim.vehicle.case import resolve

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGE = "drainsim/dashboard/pages/week_page.py"
_PATIENCE_S = 180.0
_SHOWN = {
    "trips_per_week": 10,
    "trip_minutes": 15.0,
    "heated_screens_a": 20.0,
    "load_a": 25.0,
    "idle_share": 0.25,
    "alternator_a": 90.0,
}


def _opened() -> AppTest:
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    app.run()
    return app.switch_page(_PAGE).run()


def test_the_page_says_what_the_answer_says() -> None:
    """The verdict and the lowest charge are those of `week` for the same scenario."""
    app = _opened()
    assert not app.exception
    scenario = example().with_table("pattern", _SHOWN).with_values({"run.draws": 200})
    answer = week(resolve(scenario))
    assert f"**{plain(week_verdict(answer))}**" in [part.value for part in app.markdown]
    shown = {metric.label: metric.value for metric in app.metric}
    assert shown["Lowest charge in ordinary weeks"] == f"{100 * answer.lowest_charge:.0f} %"


def test_more_minutes_change_the_answer() -> None:
    """A moved slider gives another number."""
    app = _opened()
    before = [metric.value for metric in app.metric]
    app.slider(key="week_minutes").set_value(60).run()
    assert not app.exception
    assert [metric.value for metric in app.metric] != before


def test_what_does_not_fit_is_a_sentence() -> None:
    """Trips of more hours than a week has are refused in words."""
    app = _opened()
    app.number_input(key="week_trips").set_value(100)
    app.slider(key="week_minutes").set_value(120).run()
    assert not app.exception
    assert any("168" in error.value for error in app.error)


def test_electric_vehicles_carry_their_caution() -> None:
    """Choosing an electric vehicle shows the words about orange cables."""
    app = _opened()
    app.selectbox(key="kind").select("electric").run()
    assert not app.exception
    assert any("orange cables" in part.value for part in app.markdown)


def test_the_first_page_s_arrangement_is_driven() -> None:
    """A pair in series with a weak second battery is what the trips are worked out for."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    app.query_params["system"], app.query_params["second_health_percent"] = "24V", "60"
    app.run()
    app.switch_page(_PAGE).run()
    assert not app.exception
    assert not app.error
    pair = {"battery.system": "24V", "battery.second_health": 0.6, "run.draws": 200}
    answer = week(resolve(example().with_table("pattern", _SHOWN).with_values(pair)))
    assert f"**{plain(week_verdict(answer))}**" in [part.value for part in app.markdown]


def test_trips_are_kept_in_the_address() -> None:
    """An address with trips opens them, and what cannot be is not taken."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    app.query_params["trips"] = packed({"trips": 4, "minutes": 40, "load_a": 900, "idle": "no"})
    app.run()
    app.switch_page(_PAGE).run()
    assert not app.exception
    assert app.number_input(key="week_trips").value == 4
    assert app.slider(key="week_minutes").value == 40
    assert app.slider(key="week_load_a").value == 25
    assert app.slider(key="week_idle").value == 25
    app.toggle(key="week_smart").set_value(True).run()
    kept = app.session_state["kept_form_trips"]
    assert (kept["trips"], kept["minutes"], kept["smart"]) == (4, 40, True)


def test_driving_in_the_scenario_is_said_to_be_replaced() -> None:
    """A loaded scenario's own trips are not this page's; it says so."""
    own = example().with_table("pattern", {"trips_per_week": 3, "trip_minutes": 8.0})
    replaced = "in place of the driving"
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    app.query_params.update(to_address(own, {}))
    app.run()
    app.switch_page(_PAGE).run()
    assert any(replaced in str(one.value) for one in app.caption)
    assert not any(replaced in str(one.value) for one in _opened().caption)
