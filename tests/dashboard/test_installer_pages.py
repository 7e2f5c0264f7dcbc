"""The installer's pages show what the answers return, and keep what was typed in the address."""

import json
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.answers.installer.acceptance import acceptance, with_log
from drainsim.answers.installer.circuit.circuits import choose_circuits
from drainsim.answers.installer.current_log import current_log
from drainsim.answers.installer.current_log_words import ma
from drainsim.answers.words import days_words
from drainsim.dashboard import forms
from drainsim.dashboard.installer.circuit_form import in_words
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.what_if.what_if import example
from drainsim.files.circuits import circuits_from_bytes
from drainsim.files.current_log.reader import log_from_bytes
from drainsim.files.examples import example_text
from drainsim.files.formats import KEY, NEWEST
from drainsim.vehicle.documents.job_record import job_record_from_dict

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGES = _APP.parent / "drainsim" / "dashboard" / "pages"
_PATIENCE_S = 180.0


def opened(page: str, **query: str) -> AppTest:
    """Return the app on one of its pages."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    for name, value in query.items():
        app.query_params[name] = value
    app.run()
    app.switch_page(str(_PAGES / f"{page}_page.py"))
    return app.run()


def said(app: AppTest) -> str:
    """Return all words on the page."""
    parts = [*app.markdown, *app.title, *app.caption, *app.warning, *app.error]
    return "\n".join(str(part.value) for part in parts).replace("\u00a0", " ")


def shown(text: str) -> str:
    """Return a text as a page writes it, its spaces all of one kind."""
    return plain(text).replace("\u00a0", " ")


def address(app: AppTest) -> dict[str, str]:
    """Return the address's query."""
    return {
        name: value[0] if isinstance(value, list) else value
        for name, value in app.query_params.items()
    }


def test_circuits_example_shows_both_choices() -> None:
    """The page names what `choose_circuits` chooses, with every reason and the cautions."""
    app = opened("circuits")
    app.session_state["circuits_all"] = True
    app.button(key="example_circuits").click().run()
    answer = choose_circuits(
        circuits_from_bytes(example_text("circuits.csv").encode(), where="c"), scenario=example()
    )
    words = said(app)
    assert not app.exception
    assert not app.error
    for chosen in (answer.chosen_power, answer.chosen_sense):
        assert chosen is not None
        assert f"**{shown(chosen.circuit.name)}**" in words
    for verdict in (*answer.constant_power, *answer.ignition_sense):
        for reason in verdict.reasons:
            assert shown(in_words(reason.text)) in words
    assert days_words(answer.days_to_no_start, answer.horizon_days) in words
    for caution in ("Never splice", "Fuse before wire", "Orange cables"):
        assert caution in words


def test_a_reading_typed_moves_the_verdict_and_the_address() -> None:
    """After sleep 0 V refuses the circuit; opened anew, the address holds the reading."""
    app = opened("circuits")
    app.session_state["circuit_fields"] = True
    app.button(key="example_circuits").click().run()
    app.selectbox(key="circuit_chosen").set_value(2).run()
    app.number_input(key="c2_after_sleep_v").set_value(0.0).run()
    assert shown("12.6 V at key off but 0 V after the vehicle slept") in said(app)
    packed = address(app)["circuits"]
    again = opened("circuits", circuits=packed)
    again.session_state["circuit_fields"] = True
    again.selectbox(key="circuit_chosen").set_value(2).run()
    assert said(again).count("12&#46;6 V at key off but 0 V") == 1
    assert again.number_input(key="c2_after_sleep_v").value == 0.0


_READ = {
    "after_sleep_v": 12.5, "fuse_a": 15.0, "load_a": 2.0, "loaded_v": 12.45, "loaded_at_a": 2.0,
    "off_v": 0.0, "on_v": 12.4, "cranking_v": 9.5,
}  # fmt: skip


def _asked(app: AppTest) -> list[str]:
    """Return the readings the page has fields for."""
    found = (str(one.key).partition("_")[2] for one in app.number_input)
    return [name for name in found if name in _READ]


def test_only_the_reading_that_decides_next_is_asked() -> None:
    """One field at a time, in the order of the answers' own question, until it is decided."""
    app = opened("circuits")
    orders = []
    for number, button in enumerate(("add_circuit", "add_sense")):
        app.button(key=button).click().run()
        order = []
        while names := _asked(app):
            assert len(names) == 1 + ("loaded_v" in names)
            for name in names:
                app.number_input(key=f"c{number}_{name}").set_value(_READ[name]).run()
            order += names
        orders.append(order)
    assert orders == [
        ["after_sleep_v", "fuse_a", "load_a", "loaded_v", "loaded_at_a"],
        ["off_v", "on_v", "cranking_v"],
    ]
    app.button(key="use_circuits").click().run()
    job = app.session_state["kept_form_job"]
    assert (job["power"]["name"], job["sense"]["name"]) == ("Circuit 1", "Circuit 2")
    assert job["power"]["after_sleep_v"] == 12.5


def test_half_a_reading_under_load_is_no_error() -> None:
    """The voltage under load without its current counts as not read; the other half is asked."""
    rows = [{"name": "A", "class": "always_hot", "after_sleep_v": 12.5, "fuse_a": 15.0,
             "load_a": 2.0, "loaded_v": 12.4}]  # fmt: skip
    app = opened("circuits", circuits=forms.packed({"rows": rows}))
    assert not app.error
    assert _asked(app) == ["loaded_v", "loaded_at_a"]
    assert "**cannot tell**" in said(app)


def test_circuits_can_be_added_and_removed() -> None:
    """An empty page asks for nothing; circuits come and go; two of one name are a sentence."""
    app = opened("circuits")
    assert not app.error
    app.button(key="add_circuit").click().run()
    app.button(key="add_circuit").click().run()
    assert app.selectbox(key="circuit_chosen").value == 1
    app.session_state["circuit_fields"] = True
    app.run()
    app.text_input(key="c1_name").set_value("Circuit 1").run()
    assert "used twice" in said(app)
    app.button(key="remove_circuit").click().run()
    assert not app.error
    assert not app.exception


def test_current_log_example_shows_what_was_found() -> None:
    """Settled current, sleep and stages as `current_log` returns them; a chart with words."""
    app = opened("current_log")
    app.button(key="example_log").click().run()
    answer = current_log(
        log_from_bytes(example_text("current_log.csv").encode(), where="invented example")
    )
    assert not app.exception
    assert not app.error
    assert f"**{shown(answer.verdict)}**" in said(app)
    tables = "\n".join(str(table.value) for table in app.table).replace("\u00a0", " ")
    assert ma(answer.findings.settled_a) in tables
    assert app.get("plotly_chart")[0].proto.alt
    assert "while the engine runs" in said(app)


def test_current_log_in_a_strange_heading_is_mapped_on_the_page() -> None:
    """An unclear file is a sentence; naming its columns answers it."""
    app = opened("current_log")
    body = example_text("current_log.csv").replace("time,current_ma", "alpha,beta")
    app.file_uploader(key="log_file").upload("strange.csv", body.encode(), "text/csv").run()
    assert "current-column" in plain(said(app)) or "current&#45;column" in said(app)
    app.text_input(key="log_time_column").set_value("alpha").run()
    app.text_input(key="log_current_column").set_value("beta").run()
    app.selectbox(key="log_unit").set_value("mA").run()
    assert not app.error
    assert "Asleep after 26 min" in said(app)


def test_job_example_passes_and_a_reading_fails_it() -> None:
    """The page shows every check of `acceptance`; a high reading fails the job."""
    app = opened("acceptance")
    app.button(key="example_job").click().run()
    record = job_record_from_dict(json.loads(example_text("job_record.json")), where="job")
    words = said(app)
    assert not app.exception
    assert not app.error
    for check in acceptance(record).checks:
        assert shown(check.text) in words
    assert "**pass**: " in words
    app.selectbox(key="job_step").select_index(1).run()
    app.number_input(key="j_after_settled_a").set_value(90.0).run()
    assert "**fail**: " in said(app)
    again = opened("acceptance", job=address(app)["job"], step=address(app)["step"])
    assert again.number_input(key="j_after_settled_a").value == 90.0


def test_a_job_is_asked_step_by_step_for_what_decides() -> None:
    """One step stands open, its name says what it has come to, and a button leads to the next."""
    app = opened("acceptance")
    controls = [app.number_input, app.text_input, app.radio, app.checkbox, app.multiselect]
    for step in range(7):
        app.selectbox(key="job_step").select_index(step).run()
        assert not app.exception
        assert sum(len(found) for found in controls) <= 16  # the complaint's four with them
    app.button(key="example_job").click().run()
    assert app.selectbox(key="job_step").options[1] == "2. Current without and with the unit: pass"
    with pytest.raises(KeyError):
        app.button(key="job_next")  # nothing is left to do
    app.selectbox(key="job_step").select_index(5).run()
    app.multiselect(key="j_mounting_wrong").set_value(["dry_and_cool"]).run()
    assert app.selectbox(key="job_step").options[5] == "6. Mounting and routing: fail"
    app.selectbox(key="job_step").select_index(6).run()
    app.checkbox(key="j_cautions_seen").uncheck().run()
    assert app.button(key="job_next").label == "Next: Mounting and routing"
    app.button(key="job_next").click().run()
    app.multiselect(key="j_mounting_wrong").set_value([]).run()
    app.button(key="job_next").click().run()
    app.checkbox(key="j_cautions_seen").check().run()
    record = json.loads(example_text("job_record.json"))
    kept = app.session_state["kept_form_job"]
    assert (kept["mounting"], kept["cautions"]) == (record["mounting"], record["cautions"])


@pytest.mark.parametrize("name", ["before", "after"])
def test_a_log_goes_into_the_job_in_one_tap(name: str) -> None:
    """What the log page holds becomes the job's reading, the same as by an upload there."""
    app = opened("current_log")
    app.button(key="example_log").click().run()
    app.button(key=f"use_in_job_{name}").click().run()
    assert not app.exception
    log = log_from_bytes(example_text("current_log.csv").encode(), where="log")
    record = job_record_from_dict({KEY: NEWEST["job record"]}, where="job")
    assert app.session_state["kept_form_job"][name] == with_log(record, name, log).as_dict()[name]
    assert app.number_input(key=f"j_{name}_settled_a").value > 0.0


def test_empty_job_cannot_be_told_and_complaint_answers() -> None:
    """Nothing typed: cannot tell, with what would tell; parked days open the complaint desk."""
    app = opened("acceptance")
    assert "**cannot tell**: " in said(app)
    assert not app.error
    app.number_input(key="k_days").set_value(40.0).run()
    assert "Without the unit it would have failed too" in said(app) or "cause lies" in said(app)
    assert not app.exception
    again = opened("acceptance", complaint=address(app)["complaint"])
    assert again.number_input(key="k_days").value == 40.0


@pytest.mark.parametrize("junk", ["x", "%%%", "A" * 20_000, forms.packed({"rows": [1, "a"]})])
@pytest.mark.parametrize("page", ["circuits", "acceptance"])
def test_an_address_is_not_trusted(page: str, junk: str) -> None:
    """Broken or odd entries leave an empty form and no traceback."""
    app = opened(page, **{"circuits": junk, "job": junk})
    assert not app.exception


def test_entries_of_the_wrong_kind_are_one_sentence() -> None:
    """An address with a list where a number belongs cannot break the page."""
    odd: dict[str, Any] = {"rows": [{"name": "A", "class": "always_hot", "off_v": [1, 2]}]}
    app = opened("circuits", circuits=forms.packed(odd))
    assert not app.exception
    assert app.error
    job = forms.packed({"unit": {"sleep_a": {"a": 1}}, "mounting": 5, "power": [1]})
    app = opened("acceptance", job=job)
    assert not app.exception
    assert app.error


def test_a_packed_bomb_stays_packed() -> None:
    """Entries that unpack to more than 100 kB are refused."""
    assert forms.unpacked(forms.packed({"a": "x" * 1_000_000})) is None


def test_entries_in_the_address_are_no_stranger_to_the_first_page() -> None:
    """The first page does not call the installer's entries unknown."""
    rows = forms.packed({"rows": [{"name": "A", "class": "ignition"}]})
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    app.query_params["circuits"] = rows
    app.run()
    assert not app.error
    assert "not known" not in said(app)


def test_the_first_run_leaves_a_pages_entries_in_the_address() -> None:
    """A connection lost within the first second loses nothing: no page wipes the entries."""
    job = forms.packed({"job": {"label": "mine"}})
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S)
    app.query_params["job"] = job
    app.query_params["quiescent_ma"] = "20"
    app.run()
    assert address(app) == {"job": job, "quiescent_ma": "20"}


def test_entries_removed_leave_the_address() -> None:
    """After starting over a reload brings nothing back."""
    app = opened("acceptance", job=forms.packed({"job": {"label": "mine"}}))
    assert "job" in address(app)
    app.button(key="job_over").click().run()
    assert "job" not in address(app)


def test_a_value_beyond_the_fields_usual_ends_is_shown() -> None:
    """What counts in the verdict stands in its field, and is not called unknown."""
    job = {"constant_check": {"voltage_v": 12.4, "minutes_after_key_off": 20_000.0}}
    app = opened("acceptance", job=forms.packed(job), step=forms.packed({"at": 3}))
    field = "j_constant_check_minutes_after_key_off"
    assert app.number_input(key=field).value == 20_000.0
    assert "12.4 V after 20000 min" in said(app).replace("&#46;", ".")


def test_a_log_the_record_names_is_not_left_out_in_silence() -> None:
    """A record reopened here cannot read its logs; the page says which and what to do."""
    record = {KEY: NEWEST["job record"], "before": {"log": "before.csv"}, "meter": {}}
    app = opened("acceptance")
    app.file_uploader(key="job_file").upload(
        "job.json", json.dumps(record).encode(), "application/json"
    ).run()
    assert any("before" in error.value and "log" in error.value for error in app.error)


def test_each_page_tells_what_is_wrong_with_its_own_entries() -> None:
    """Two broken parts of an address are both told, each on the page it belongs to."""
    for page in ("circuits", "acceptance"):
        app = opened(page, circuits="x", job="x")
        assert sum("cannot be read" in error.value for error in app.error) == 1
    assert not opened("current_log", circuits="x").error
    trips = opened("week", circuits="x")
    assert not any("cannot be read" in error.value for error in trips.error)
