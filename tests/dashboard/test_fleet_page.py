"""The fleet page shows what `answer_fleet` returns; lists and names cannot misbehave in it."""

import dataclasses
import datetime as dt
import re
from functools import cache
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet, changed_fleet
from drainsim.answers.fleet.done import with_done
from drainsim.answers.fleet.fleet_actions import cheapest_actions
from drainsim.answers.fleet.work_plan import Limits, work_plan
from drainsim.answers.words import days_words
from drainsim.dashboard.fleet.fleet_answers import Question, answered, digest
from drainsim.dashboard.fleet.fleet_table import vehicle_frame
from drainsim.dashboard.parts.plain_text import plain
from drainsim.files.fleet.example import EXAMPLE_TODAY, example_list
from drainsim.files.fleet.marks import marks_of
from drainsim.files.fleet.table import table_from_bytes
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table
from drainsim.vehicle.keys.scenario import scenario_from_text
from drainsim.vehicle.vehicle import VEHICLE
from tests.fleet_build import MIXED, fleet_of, workbook

_APP = Path(__file__).resolve().parents[2] / "app.py"
_PAGE = str(_APP.parent / "drainsim" / "dashboard" / "pages" / "fleet_page.py")
_PATIENCE_S = 600.0  # a busy machine may be slow
SETTINGS = FleetSettings(today=EXAMPLE_TODAY)
DAYS = tuple(EXAMPLE_TODAY + dt.timedelta(days=d) for d in (7, 30))


def opened() -> AppTest:
    """Return the app on the fleet page."""
    app = AppTest.from_file(str(_APP), default_timeout=_PATIENCE_S).run()
    return app.switch_page(_PAGE).run()


def with_list(content: str | bytes, name: str = "list.csv") -> AppTest:
    """Return the page with a list loaded, on the day the tests' lists are made for."""
    raw = content.encode() if isinstance(content, str) else content
    app = opened()
    app.file_uploader(key="fleet_file").upload(name, raw, "text/csv").run()
    if any(widget.key == "fleet_today" for widget in app.date_input):
        app.date_input(key="fleet_today").set_value(EXAMPLE_TODAY).run()
    return app


@cache
def answer_to(content: bytes, **changes: float) -> FleetAnswer:
    """Return the answer the page should show."""
    fleet = fleet_from_table(table_from_bytes(content, where="x"), SETTINGS, where="x")
    if changes:
        fleet = changed_fleet(fleet, {key.replace("__", "."): v for key, v in changes.items()})
    return answer_fleet(fleet, SETTINGS, dates=DAYS, workers=1)


def said(app: AppTest) -> str:
    """Return all words of the page."""
    parts = [*app.markdown, *app.header, *app.caption, *app.text, *app.subheader]
    return "\n".join(str(part.value) for part in parts).replace("\u00a0", " ")


def assert_shows(app: AppTest, answer: FleetAnswer) -> None:
    """Assert that the page shows an answer, in words and in its table."""
    assert not app.exception
    assert not app.error
    titles = [header.value for header in app.header[1:]]  # the first is the page's
    for day in answer.on_dates:
        assert f"{day.count.expected:.1f}" in titles
        assert f"8 in 10 cases: **{day.count.p10} to {day.count.p90}**" in said(app)
    now = sum(v.act_by == EXAMPLE_TODAY for v in answer.vehicles)
    assert titles[0].startswith(f"{now} vehicle")
    table = next(frame.value for frame in app.dataframe if "vehicle" in frame.value)
    assert list(table["vehicle"]) == [v.id for v in answer.vehicles]
    expected = vehicle_frame(answer.vehicles, answer, {})["risk today"]
    assert list(table["risk today"]) == list(expected)


def test_first_visit_answers_the_invented_list() -> None:
    """Without a file the page holds the example's answer, called invented, mistakes told."""
    app = opened()
    answer = answer_to(example_list())
    assert_shows(app, answer)
    assert "Invented example" in said(app)
    assert f"{len({p.row for p in answer.problems})} rows to correct" in said(app)
    wrong = re.findall(r"^- \*\*Row (\d+)\*\*", said(app), flags=re.M)
    assert [int(row) for row in wrong] == [p.row for p in answer.problems]
    assert len(app.get("plotly_chart")) == 2
    assert all(chart.proto.alt for chart in app.get("plotly_chart"))


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_an_uploaded_list_is_answered(kind: str) -> None:
    """CSV and XLSX give the same page."""
    rows = [line.split(";") for line in MIXED.splitlines()]
    content = MIXED.encode() if kind == "csv" else workbook(rows)
    app = with_list(content, f"list.{kind}")
    assert_shows(app, answer_to(MIXED.encode()))
    assert f"list&#46;{kind}" in said(app)
    assert "Every row of the list was answered." in said(app)


def test_a_mapping_can_be_corrected() -> None:
    """A list without a known id heading asks; naming it answers."""
    raw = b"Xyz;Capacity (kg);ah\na;900;60\nb;900;70\n"
    app = with_list(raw)
    assert "no column names the vehicles" in app.error[0].value.replace("&#58;", ":")
    mapping = app.dataframe[0].value
    assert list(mapping["means"]) == ["(not used)", "(not used)", "capacity_ah"]
    assert "'kg' is not a unit of capacity_ah" in mapping["check"][1]
    app.session_state["kept_form_fleet"]["columns"] = {"Xyz": "id"}  # no test edits a cell
    app.run()
    assert_shows(app, answer_to(b"id;ah\na;60\nb;70\n"))


def test_of_two_capacities_the_owner_is_asked_which_one_counts() -> None:
    """Until the answer neither is used; a click settles it, and the answer can be saved."""
    app = with_list(b"id;Battery Ah;Capacity (Ah)\na;60;80\n")
    assert_shows(app, answer_to(b"id\na\n"))
    asked = [radio for radio in app.radio if "both mean" in radio.label]
    assert len(asked) == 2
    asked[0].set_value("Capacity (Ah) counts").run()
    assert_shows(app, answer_to(b"id;ah\na;80\n"))
    assert not any("both mean" in radio.label for radio in app.radio)


def test_a_unit_in_doubt_is_asked_and_the_answer_is_used() -> None:
    """Two amperes or two milliamperes: neither until the owner says."""
    app = with_list("Fahrzeug;Ruhestrom\na;2\nb;3\n")
    (asked,) = [radio for radio in app.radio if "Ruhestrom" in radio.label]
    assert list(asked.options) == ["A", "mA"]
    asked.set_value("mA").run()
    assert_shows(app, answer_to(b"id;quiescent_ma\na;2\nb;3\n"))


def test_settings_reach_the_answer() -> None:
    """Risk limit, price and look-ahead are the owner's."""
    app = with_list(MIXED)
    app.number_input(key="fleet_risk").set_value(20.0).run()
    app.number_input(key="fleet_price").set_value(100.0).run()
    fleet = fleet_from_table(table_from_bytes(MIXED.encode(), where="x"), SETTINGS, where="x")
    answer = answer_fleet(fleet, SETTINGS, risk=0.2, dates=DAYS, workers=1)
    assert_shows(app, answer)
    assert "within 20 % risk" in said(app)
    cost = 100.0 * answer.on_dates[0].count.expected
    assert f"Call-outs: **{cost:,.0f}**" in said(app)


def test_filters_and_search_narrow_the_table() -> None:
    """Depot, battery type, urgency and words."""
    app = opened()
    answer = answer_to(example_list())
    app.multiselect(key="fleet_depots").select("Sunfield").run()
    app.selectbox(key="fleet_when").select("today").run()
    table = next(frame.value for frame in app.dataframe if "vehicle" in frame.value)
    wanted = [v for v in answer.vehicles if v.depot == "Sunfield" and v.act_by == EXAMPLE_TODAY]
    assert 0 < len(wanted) < len(answer.vehicles)
    assert list(table["vehicle"]) == [v.id for v in wanted]
    app.text_input(key="fleet_search").set_value(wanted[-1].id.lower()).run()
    table = next(frame.value for frame in app.dataframe if "vehicle" in frame.value)
    assert list(table["vehicle"]) == [wanted[-1].id]


def test_a_phones_cards_say_who_by_when_and_what_first() -> None:
    """The first cards are the most urgent vehicles with their steps; a tap looks at one."""
    app = opened()
    answer = answer_to(example_list())
    cards = [str(part.value) for part in app.markdown if "(today)**" in str(part.value)]
    assert [card.split("**")[1] for card in cards] == [plain(v.id) for v in answer.vehicles[:5]]
    third = answer.vehicles[2]
    app.button(key="fleet_look_2").click().run()
    assert app.text[0].value == f"{third.id}, {third.depot}"
    app.button(key="fleet_more").click().run()
    assert not app.exception
    assert sum(str(one.key).startswith("fleet_look_") for one in app.button) == 15


_TWO = "id;depot;charge\na;north;40 %\nb;north;40 %\n"


def test_the_work_plan_keeps_to_the_people_there_are() -> None:
    """The plan is the one `work_plan` makes with the limits typed; with nobody, nothing is done."""
    app = with_list(_TWO)
    app.session_state["fleet_plan"] = True
    app.run()
    fleet = fleet_from_table(table_from_bytes(_TWO.encode(), where="x"), SETTINGS, where="x")
    answer = answer_fleet(fleet, SETTINGS, dates=DAYS, workers=1)
    actions = cheapest_actions(
        fleet.vehicles, answer.vehicles, SETTINGS, risk=0.05, days=30, workers=1
    )
    assert len(actions) == 2
    free = work_plan(answer, actions, Limits()).in_words
    assert f"**{plain(free)}**".replace("\u00a0", " ") in said(app)
    app.number_input(key="plan_people_0").set_value(0).run()
    none = work_plan(answer, actions, Limits(people={"north": 0})).in_words
    assert none != free
    assert f"**{plain(none)}**".replace("\u00a0", " ") in said(app)


def test_what_was_done_is_where_the_list_goes_on_from() -> None:
    """A step marked in an earlier result changes the answer; a mark of a stranger is a sentence."""
    app = with_list(_TWO)
    marked = b"id;step;done_on\na;charge_full;2026-11-24\n"
    app.file_uploader(key="fleet_done").upload("done.csv", marked, "text/csv").run()
    fleet = fleet_from_table(table_from_bytes(_TWO.encode(), where="x"), SETTINGS, where="x")
    marks = marks_of(table_from_bytes(marked, where="x"), where="x")
    after = with_done(fleet, marks, SETTINGS, workers=1)
    assert_shows(app, answer_fleet(after, SETTINGS, dates=DAYS, workers=1))
    odd = marked.replace(b"a;", b"stranger;")
    app.file_uploader(key="fleet_done").upload("odd.csv", odd, "text/csv").run()
    assert not app.exception
    assert "stranger" in app.error[0].value


def test_a_filter_that_leaves_nobody_is_no_error() -> None:
    """An empty table, and the page goes on."""
    app = opened()
    app.text_input(key="fleet_search").set_value("no such vehicle").run()
    assert not app.exception
    assert "0 of 114 vehicles" in said(app)


def test_a_change_for_all_is_told_as_before_and_after() -> None:
    """Told like "47.4 → 35.1 expected", as Python gives it."""
    app = with_list(MIXED)
    app.selectbox(key="fleet_change").select(f"{VEHICLE.quiescent_a.label} [mA]").run()
    content = MIXED.encode()
    before, after = answer_to(content), answer_to(content, vehicle__quiescent_a=0.015)
    for old, new in zip(before.on_dates, after.on_dates, strict=True):
        assert f"**{old.count.expected:.1f} → {new.count.expected:.1f}** expected" in said(app)
    assert_shows(app, before)


def test_one_vehicle_opens_on_the_first_page_with_the_same_answer() -> None:
    """The drill-down's scenario is the vehicle's; the first page says it is one of the list."""
    app = opened()
    first = answer_to(example_list()).vehicles[0]
    assert app.text[0].value == f"{first.id}, {first.depot}"
    app.button(key="fleet_open").click().run()
    assert not app.exception
    scenario = scenario_from_text(first.toml, where="x")
    kept = app.session_state["kept_baseline"]
    assert kept.tables == scenario.tables
    assert resolve(kept).seed == resolve(scenario).seed
    assert days_words(None, 180)  # words of the first page exist
    assert app.query_params["base"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\x89PNG\x00\x00", "not a text file"),
        (b"PK\x03\x04garbage", "not a readable XLSX workbook"),
    ],
)
def test_an_unusable_list_is_one_sentence(content: bytes, says: str) -> None:
    """The page stays, and the example can be had back."""
    app = with_list(content)
    assert not app.exception
    assert says in app.error[0].value
    app.button(key="fleet_example").click().run()
    assert_shows(app, answer_to(example_list()))


def test_names_are_text_and_nothing_else() -> None:
    """Markup in a name, depot or file name never reaches Markdown alive."""
    evil = "![x](http://h/p.png) **b** <script>alert(1)</script> :red[c] $x$"
    text = f'id;depot;state_of_charge\n"{evil}";"{evil}";0.3\n'
    app = with_list(text, "![x](http:__h).csv")
    assert not app.exception
    for part in [*app.markdown, *app.caption, *app.header, *app.subheader, *app.error]:
        assert "![x]" not in str(part.value)
        assert "<script>" not in str(part.value)
    assert app.text[0].value == f"{evil}, {evil}"  # st.text shows it literally


def test_a_long_list_is_answered_at_the_press_of_a_button(monkeypatch: pytest.MonkeyPatch) -> None:
    """More vehicles than are answered unasked wait for the button; then every one is answered."""
    monkeypatch.setattr("drainsim.dashboard.fleet.fleet_answers.ASK_FIRST", 1)
    app = with_list("id;charge\nc;41 %\nd;41 %\n")  # no other test had it answered
    assert len(app.header) == 1  # the page's own: no figure yet
    app.button(key="fleet_answer").click().run()
    assert not app.exception
    assert "of 2 answered" in said(app)


def test_rows_and_page_agree_for_a_list_of_mistakes_only() -> None:
    """Nobody answered: all rows are to be corrected, no chart fails."""
    app = with_list("id;capacity_ah\na;six\nb;seven\n")
    assert not app.exception
    assert "2 rows to correct" in said(app)


def test_frames_hold_the_answers_numbers() -> None:
    """Per cent where shares were, dates as dates."""
    settings = dataclasses.replace(SETTINGS, days_ahead=60, draws=100)
    answer = answer_fleet(fleet_of(MIXED, settings=settings), settings, dates=DAYS, workers=1)
    frame = vehicle_frame(answer.vehicles, answer, {})
    first = answer.vehicles[0]
    assert frame["risk today"][0] == pytest.approx(100.0 * first.risk_today)
    assert frame["act by"][0] == first.act_by
    assert "_" not in "".join(frame["battery type"])  # words, not keys
    assert frame["risk 25 Dec 2026"][0] == pytest.approx(100.0 * first.risk_on_dates[1])


def test_progress_covers_the_answer_and_the_search_for_actions() -> None:
    """Both parts are told, each with its time left, and the bar ends full."""
    fleet = fleet_of(MIXED)
    question = Question(
        content=digest(MIXED.encode()),
        name="list.csv",
        chosen=(),
        settings=FleetSettings(today=EXAMPLE_TODAY, days_ahead=60, draws=100),
        risk=0.05,
        days=(7,),
        until=30,
        call_out_price=None,
    )
    shares, words = [], []
    answered(question, fleet, lambda share, said: (shares.append(share), words.append(said)))
    for part in ("Part 1 of 2, vehicles answered: 10 of 10", "Part 2 of 2, actions tried: "):
        assert any(one.startswith(part) and "s left in this part" in one for one in words)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_a_few_vehicles_are_typed_by_hand() -> None:
    """The headings stand there already, in a form the reader knows; names alone are enough."""
    app = opened()
    area = app.text_area(key="fleet_typed")
    typed = f"{area.value}van 1; 70; 4; 2026-11-02\nvan 2; 95;;\nvan 3\n"
    area.set_value(typed).run()
    app.button(key="fleet_take_typed").click().run()
    app.date_input(key="fleet_today").set_value(EXAMPLE_TODAY).run()
    fleet = fleet_of(typed)
    assert [v.id for v in fleet.vehicles] == ["van 1", "van 2", "van 3"]
    assert fleet.vehicles[0].scenario.get(BATTERY.age_years) == 4
    assert fleet.vehicles[0].parked_from == dt.date(2026, 11, 2)
    assert fleet.unused_numbers == ()
    assert_shows(app, answer_to(typed.encode()))
