"""The sales pages show exactly what the answers return, and bad input becomes a sentence."""

import csv
import datetime as dt
import html
import io
import json
import re
import zipfile
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from drainsim import dates
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.catalogue import DRAWS, CatalogueQuestion, catalogue
from drainsim.answers.storage.catalogue_rows import battery_rows
from drainsim.answers.storage.risk import StandQuestion
from drainsim.cli import main
from drainsim.cli.options import SET_ASIDE
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.parts.quote_view import packed
from drainsim.dashboard.what_if.what_if import example
from drainsim.files.fleet.table import table_from_bytes
from drainsim.language import language
from drainsim.sheets.storage.catalogue_sheet import catalogue_rows
from drainsim.sheets.storage.quote_sheet import cover_html
from drainsim.sheets.storage.storage_words import SheetOptions, answer_words
from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict

_ROOT = Path(__file__).resolve().parents[2]
_PAGES = _ROOT / "drainsim" / "dashboard" / "pages"
_PATIENCE_S = 240.0
SETTINGS = FleetSettings(today=dates.today())


def _opened(page: str, **query: str) -> AppTest:
    app = AppTest.from_file(str(_ROOT / "app.py"), default_timeout=_PATIENCE_S)
    for name, value in query.items():
        app.query_params[name] = value
    return app.run().switch_page(str(_PAGES / page)).run()


def _markdown(app: AppTest) -> list[str]:
    return [str(part.value) for part in app.markdown]


def _ways(app: AppTest) -> tuple[list[str], list[str]]:
    """Return the ways shown as enough, and those behind the line, as the page writes them."""
    lists = [text for text in _markdown(app) if text.startswith("- **") and "until then" in text]
    shown = [re.findall(r"^- \*\*(.+?)\*\*:", text, flags=re.M) for text in lists]
    asked = any(text.value.startswith("What helps") for text in app.subheader)
    none = any("No way is enough" in text for text in _markdown(app))
    holding = shown.pop(0) if asked and not none else []
    return holding, shown[0] if shown else []


def _assert_answers(app: AppTest, scenario: Scenario, days: int) -> None:
    """Check that the page says the verdict and lists every way that is enough or gains days.

    Those that are enough come first, unless it holds as it is: then all stand behind a line.
    """
    assert not app.exception
    assert not app.error
    answer = storage(StandQuestion(scenario=scenario, days=days), inverse=False)
    assert f"**{plain(answer_words(answer, language('en')))}**" in _markdown(app)
    found = answer.remedies
    ways = [*([found.combination] if found.combination else []), *found.single]
    enough = [way for way in ways if way.holds]
    needed = [] if answer.verdict == "yes" else enough
    more = enough if answer.verdict == "yes" else [way for way in ways if not way.holds]
    gaining = [way for way in more if way.days_gained]
    for wanted, shown in zip((needed, gaining), _ways(app), strict=True):  # each by effort
        assert [plain(" and ".join(way.labels)) for way in wanted] == shown
    # As on the sheet.
    large = {"yes": "Yes", "yes_if": "No, not as it is", "no": "No, because …"}
    assert large[answer.verdict] in [header.value for header in app.header]


def test_the_question_comes_first_and_is_answered() -> None:
    """Days, place and date are asked at the top; the answer is the one `storage` gives."""
    app = _opened("storage_page.py")
    assert app.number_input(key="storage_days").value == 21
    assert app.selectbox(key="storage_climate").value == "temperate"
    _assert_answers(app, example(), 21)


def test_another_length_place_and_date_give_another_answer() -> None:
    """What is asked reaches the answer: days, climate and day of parking."""
    app = _opened("storage_page.py")
    app.number_input(key="storage_days").set_value(35)
    app.selectbox(key="storage_climate").set_value("marine").run()
    app.date_input(key="storage_from").set_value(dt.date(2026, 6, 1)).run()
    changed = example().with_values(
        {"site.climate": "marine", "site.parked_from": dt.date(2026, 6, 1)}
    )
    _assert_answers(app, changed, 35)


def test_a_slider_of_the_panel_moves_the_answer() -> None:
    """The what-if panel is the same as on the first page."""
    app = _opened("storage_page.py")
    app.slider(key="age_years").set_value(6.0).run()
    _assert_answers(app, example().with_values({"battery.age_years": 6.0}), 21)


def test_ways_left_out_are_gone() -> None:
    """What is out of the question is no longer offered."""
    app = _opened("storage_page.py")
    app.multiselect(key="storage_without").set_value(["charge_full"]).run()
    assert not app.exception
    holding, others = _ways(app)
    assert "charge the battery fully before parking" not in holding + others
    assert any("maintainer" in way for way in holding)


def test_a_hostile_company_name_harms_nothing() -> None:
    """Markup in the company name stays inside the sheet's escaped text."""
    app = _opened("storage_page.py")
    app.text_input(key="sheet_company").set_value("<script>alert(1)</script>").run()
    assert not app.exception
    assert not app.error
    assert not any("<script>" in text for text in _markdown(app))


def test_the_catalogue_page_shows_what_the_command_line_writes(tmp_path: Path) -> None:
    """The same question has the same days, whoever asks it."""
    app = _opened("catalogue_page.py")
    app.multiselect(key="catalogue_vehicles").set_value(["older_car"]).run()
    app.multiselect(key="catalogue_climates").set_value(["temperate"]).run()
    assert not app.exception
    written = tmp_path / "table.csv"
    asked = ["--vehicles", "older_car", "--climates", "temperate", "--out", str(written)]
    assert main(["catalogue", *asked]) == 0
    heading, *rows = csv.reader(written.read_text("utf-8-sig").splitlines())
    shown = app.dataframe[0].value
    assert list(shown.columns) == heading
    assert shown.to_numpy().tolist() == rows[: rows.index([])]  # then come assumptions


def test_the_catalogue_has_a_row_for_each_battery_by_its_label() -> None:
    """Batteries typed by their labels are the rows of the answer; a wrong one is a sentence."""
    app = _opened("catalogue_page.py")
    app.multiselect(key="catalogue_vehicles").set_value(["older_car"])
    app.multiselect(key="catalogue_climates").set_value(["temperate"])
    labels = ("60Ah/540A-EN", "Standard=70Ah")
    app.text_input(key="catalogue_batteries").set_value(", ".join(labels)).run()
    own = battery_rows(("older_car",), {}, labels)
    unit = scenario_from_dict(
        {"battery": {}, "unit": {"preset": "hourly"}, "run": {"draws": DRAWS}}
    )
    table = catalogue(
        CatalogueQuestion(
            units={"hourly": unit}, vehicles=tuple(own), own_vehicles=own, climates=("temperate",)
        )
    )
    _, *rows = catalogue_rows(table)
    assert len(rows) == 2
    assert app.dataframe[0].value.to_numpy().tolist() == [[str(v) for v in row] for row in rows]
    app.text_input(key="catalogue_batteries").set_value("sixty").run()
    assert not app.exception
    assert "sixty" in app.error[0].value


def test_a_list_is_quoted_with_one_sheet_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The fleet page's list is answered for the days asked; cover and sheets are in one file."""
    app = AppTest.from_file(str(_ROOT / "app.py"), default_timeout=_PATIENCE_S).run()
    app.switch_page(str(_PAGES / "fleet_page.py")).run()
    content = b"id;depot;charge\nFULL;north;100 %\nPOOR;north;30 %\nODD;north;x %\n"
    app.file_uploader(key="fleet_file").upload("mine.csv", content, "text/csv").run()
    app.switch_page(str(_PAGES / "storage_page.py")).run()
    app.session_state["quote"] = True
    app.run()
    app.number_input(key="storage_days").set_value(10).run()
    app.button(key="quote_answer").click().run()
    assert not app.exception
    (tmp_path / "mine.csv").write_bytes(content)
    assert main(["quote", str(tmp_path / "mine.csv"), "--days", "10", "--json"]) == SET_ASIDE
    _, found = app.session_state["kept_quote"]
    told = json.loads(capsys.readouterr().out)["vehicles"]
    assert json.loads(json.dumps(found.as_dict()["vehicles"])) == told
    fleet = fleet_from_table(table_from_bytes(content, where="x"), SETTINGS, where="x")
    verdicts = [one.answer.verdict for one in found.vehicles]
    words = (
        f"**{verdicts.count('yes')} may stand as they are, {verdicts.count('yes_if')} if "
        f"something is done, {verdicts.count('no')} not.**"
    )
    assert words in _markdown(app)
    assert "1 row not answered: the cover says why." in _markdown(app)
    with zipfile.ZipFile(io.BytesIO(packed(found, fleet, SheetOptions()))) as folder:
        names = folder.namelist()
        cover = folder.read("cover.html").decode()
    assert names[:2] == ["cover.html", "cover.csv"]
    assert names[2:] == ["0002_FULL.html", "0003_POOR.html"]
    assert all(name in cover for name in names[2:])
    app.number_input(key="storage_days").set_value(9).run()
    assert words not in _markdown(app)  # no old answer stands under another question
    app.number_input(key="storage_price_charge_full").set_value(12.5).run()
    app.button(key="quote_answer").click().run()
    assert not app.exception
    _, priced = app.session_state["kept_quote"]
    assert priced.price == 12.5
    assert "12.5" in cover_html(priced, SheetOptions(), suffix=".html")


def test_prices_steer_the_page_too() -> None:
    """The cheapest priced way that holds is the headline."""
    app = AppTest.from_file(str(_ROOT / "app.py"), default_timeout=_PATIENCE_S).run()
    app.switch_page(str(_PAGES / "storage_page.py")).run()
    app.number_input(key="storage_days").set_value(60).run()
    assert "Yes, if this is done: take the battery indoors" not in _told(app)
    app.number_input(key="storage_price_maintainer").set_value(60.0).run()
    app.number_input(key="storage_price_battery_indoors").set_value(5.0).run()
    assert not app.exception
    assert "Yes, if this is done: take the battery indoors" in _told(app)
    assert "price 5" in _told(app)
    app.number_input(key="storage_price_battery_indoors").set_value(500.0).run()
    assert "Yes, if this is done: take the battery indoors" not in _told(app)


def _told(app: AppTest) -> str:
    return html.unescape(" ".join(_markdown(app))).replace("\u00a0", " ")


def test_the_catalogue_page_offers_the_pdf() -> None:
    """The table can be taken along as PDF; a name its font lacks is a sentence in its place."""
    pytest.importorskip("fpdf")
    app = _opened("catalogue_page.py")
    labels = [str(part.proto.label) for part in app.get("download_button")]
    assert "Table (PDF)" in labels
    app.text_input(key="catalogue_company").set_value("株式会社").run()
    assert not app.exception
    assert any("株式会社" in str(part.value) for part in app.caption)
    labels = [str(part.proto.label) for part in app.get("download_button")]
    assert "Table (HTML)" in labels
    assert "Table (PDF)" not in labels


@pytest.mark.parametrize("emptied", ["units", "vehicles", "climates", "seasons"])
def test_an_empty_choice_is_a_sentence(emptied: str) -> None:
    """Nothing chosen is one sentence, no traceback."""
    app = _opened("catalogue_page.py")
    app.multiselect(key=f"catalogue_{emptied}").set_value([]).run()
    assert not app.exception
    assert len(app.error) == 1


def test_the_panel_by_month_comes_on_request() -> None:
    """The toggle adds twelve months; December asks for more than June."""
    app = _opened("storage_page.py")
    before = len(app.dataframe)
    app.toggle(key="storage_sun").set_value(True).run()
    assert not app.exception
    assert len(app.dataframe) == before + 1
    table = app.dataframe[-1].value
    watts = [float(text.removesuffix(" W")) for text in table["panel that replaces the draw"]]
    assert len(watts) == 12
    assert watts[11] > 5 * watts[5]


def test_only_the_place_that_counts_is_shown() -> None:
    """Beside a constant temperature no climate can be chosen: it would change nothing."""
    app = _opened("storage_page.py", temperature_c="-5")
    assert [one.value for one in app.text_input if one.label == "Where?"] == ["always at -5 °C"]
    assert "storage_climate" not in [one.key for one in app.selectbox]
