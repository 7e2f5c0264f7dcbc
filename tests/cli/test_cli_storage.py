"""`drainsim storage`, `catalogue` and `scenario --decode` as a user types them."""

import json
from pathlib import Path

import pytest

from drainsim.answers.storage.catalogue import CatalogueQuestion, catalogue
from drainsim.answers.storage.changes import with_changes
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.inverse import longest_stand
from drainsim.cli.main import main
from drainsim.vehicle.keys.scenario import read_scenario, scenario_from_dict
from tests.build import risk_now

SCENARIO = """
[battery]
capacity_ah = 60
state_of_charge = 0.9
[unit]
preset = "hourly"
[vehicle]
preset = "compact_petrol"
[site]
climate = "temperate"
parked_from = 2026-11-02
[run]
draws = 100
horizon_days = 60
"""


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """Return a scenario file."""
    path = tmp_path / "parked.toml"
    path.write_text(SCENARIO, "utf-8")
    return path


def test_json_gives_what_the_answer_gives(
    scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The machine-readable answer holds verdict, risk, inverse answers and ways."""
    assert main(["storage", str(scenario), "--days", "40", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    question = StandQuestion(scenario=read_scenario(scenario), days=40)
    assert answer["verdict"] == "yes_if"
    assert answer["longest_stand"]["days"] == longest_stand(question).days
    solved = {one["key"]: one for one in answer["inverse"]}
    assert {"quiescent", "battery", "panel", "report_interval", "cutoff"} <= set(solved)
    back = with_changes(question.scenario, solved["quiescent"]["changes"])
    again = risk_now(StandQuestion(scenario=back, days=40))
    assert again == solved["quiescent"]["risk_at_value"]


def test_words_answer_first_and_price_only_what_was_priced(
    scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first line is the answer; one price given is the only price shown."""
    arguments = ["storage", str(scenario), "--days", "40", "--price", "panel=80"]
    assert main([*arguments, "--without", "disconnect"]) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[0].startswith("Not as it is, the risk is ")
    assert "Yes, if you " in out.splitlines()[0]
    assert out.count("(price ") == 1
    assert "(price 80)" in out
    assert "disconnect the battery" not in out


def test_sheet_and_decoded_code_close_the_circle(
    scenario: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The code on the written sheet decodes to the same scenario on the command line."""
    sheet = tmp_path / "sheet.html"
    options = ["--sheet", str(sheet), "--lang", "de", "--company", "<b>", "--temperature", "F"]
    assert main(["storage", str(scenario), "--days", "20", *options]) == 0
    text = sheet.read_text("utf-8")
    assert 'lang="de"' in text
    assert "&lt;b&gt;" in text
    code = text.split("<code>")[1].split("</code>")[0]
    capsys.readouterr()
    assert main(["scenario", "--decode", code]) == 0
    decoded = tmp_path / "decoded.toml"
    decoded.write_text(capsys.readouterr().out, "utf-8")
    assert read_scenario(decoded).tables == read_scenario(scenario).tables
    assert "--days 20" in decoded.read_text("utf-8")


def test_panels_by_month_are_printed_and_given_as_data(
    scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Twelve months, December needing more than June; polar night says that there is no sun."""
    asked = ["storage", str(scenario), "--days", "30", "--by-month"]
    assert main([*asked, "--json"]) == 0
    months = json.loads(capsys.readouterr().out)["panel_by_month"]
    assert [month["month"] for month in months] == list(range(1, 13))
    assert months[11]["panel_replacing_the_draw_w"] > 5 * months[5]["panel_replacing_the_draw_w"]
    assert main([*asked, "--set", "solar.latitude_deg=75"]) == 0
    assert "no sun" in capsys.readouterr().out


def test_without_a_latitude_no_panel_is_tried_and_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A constant temperature has no latitude: the answer comes without a panel and says so."""
    path = tmp_path / "hall.toml"
    text = SCENARIO.replace('climate = "temperate"', "temperature_c = 10")
    path.write_text(text.replace("parked_from = 2026-11-02", ""), "utf-8")
    assert main(["storage", str(path), "--days", "20"]) == 0
    out = capsys.readouterr().out
    assert "the latitude is not known here; give it" in out
    assert "lay out a solar panel" not in out


def test_pdf_is_written(scenario: Path, tmp_path: Path) -> None:
    """A sheet named .pdf is a PDF."""
    pytest.importorskip("fpdf")
    sheet = tmp_path / "sheet.pdf"
    assert main(["storage", str(scenario), "--days", "20", "--sheet", str(sheet)]) == 0
    assert sheet.read_bytes().startswith(b"%PDF-")


def test_every_sheet_asked_for_is_written(scenario: Path, tmp_path: Path) -> None:
    """--sheet twice: both files, not the second alone."""
    page, paper = tmp_path / "a.html", tmp_path / "a.pdf"
    sheets = ["--sheet", str(page), "--sheet", str(paper)]
    assert main(["storage", str(scenario), "--days", "20", *sheets]) == 0
    assert page.read_bytes().startswith(b"<!")
    assert paper.read_bytes().startswith(b"%PDF-")


def test_catalogue_prints_and_writes_the_same_days(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two units side by side; JSON, CSV and HTML hold the days the answer has."""
    out = [tmp_path / "table.csv", tmp_path / "table.html"]
    small = ["--vehicles", "compact_petrol", "--climates", "temperate", "--horizon", "60"]
    written = [word for path in out for word in ("--out", str(path))]
    arguments = ["catalogue", "hourly", "daily", *small, "--draws", "100", *written]
    assert main([*arguments, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["rows"]
    units = {
        name: scenario_from_dict({"battery": {}, "unit": {"preset": name}, "run": {"draws": 100}})
        for name in ("hourly", "daily")
    }
    table = catalogue(
        CatalogueQuestion(
            units=units, vehicles=("compact_petrol",), climates=("temperate",), horizon_days=60
        )
    )
    assert [row["days"] for row in rows] == [cell.days for cell in table.cells]
    for row in rows:
        for path in out:
            assert str(row["days"]) in path.read_text("utf-8")
    assert out[0].read_bytes().startswith(b"\xef\xbb\xbfunit,")  # or spreadsheets garble names


def test_catalogue_is_written_as_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A table named .pdf is a PDF of the paper asked for, with the name at its head."""
    pytest.importorskip("fpdf")
    pdfium = pytest.importorskip("pypdfium2")
    out = tmp_path / "table.pdf"
    small = ["--vehicles", "compact_petrol", "--climates", "temperate", "--draws", "100"]
    head = ["--paper", "Letter", "--company", "Example Fleet Ltd", "--contact", "line 2"]
    assert main(["catalogue", *small, "--horizon", "60", *head, "--out", str(out)]) == 0
    days = capsys.readouterr().out.split("2.0 l petrol")[1].split()[:2]
    page = pdfium.PdfDocument(out)[0]
    assert page.get_size() == pytest.approx((792.0, 612.0), abs=1.0)  # 11 x 8.5 in, in points
    text = page.get_textpage().get_text_bounded()
    assert "Example Fleet Ltd" in text
    assert " ".join(days) in " ".join(text.split())


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["--days", "0"], "days=0"),
        (["--days", "9999"], "1 to 730"),
        (["--days", "20", "--risk", "2"], "risk=2"),
        (["--days", "20", "--sheet", "x.docx"], ".html or .pdf"),
        (["--days", "20", "--price", "panel"], "WAY=NUMBER"),
        (["--days", "20", "--price", "pannel=80"], "panel"),
        (["--days", "20", "--without", "hope"], "hope"),
        (["--days", "20", "--company", "x" * 301], "at most 300"),
        (["--days", "20", "--sheet", "/nowhere/sheet.html"], "cannot be written"),
    ],
)
def test_bad_words_are_one_sentence(
    scenario: Path, capsys: pytest.CaptureFixture[str], words: list[str], named: str
) -> None:
    """What is wrong and what would be right, on one line, without a traceback."""
    assert main(["storage", str(scenario), *words]) == 2
    error = capsys.readouterr().err
    assert named in error
    assert len(error.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["nosuch"], "nosuch"),
        (["hourly", "hourly"], "there already"),
        (["hourly", "--vehicles", "cart"], "cart"),
        (["hourly", "--out", "table.doc"], ".csv"),
        (["hourly", "--out", "table.pdf", "--company", "x" * 301], "at most 300"),
        (["hourly", "--horizon", "0"], "0"),
    ],
)
def test_bad_catalogues_are_one_sentence(
    capsys: pytest.CaptureFixture[str], words: list[str], named: str
) -> None:
    """Unknown units, classes and file kinds are named."""
    assert main(["catalogue", *words]) == 2
    error = capsys.readouterr().err
    assert named in error
    assert len(error.strip().splitlines()) == 1


def test_days_gained_are_told_only_where_they_are_known(
    scenario: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A stand that outlasts the days looked at gains nothing that could be counted."""
    arguments = ["storage", str(scenario), "--days", "2", "--set", "run.horizon_days=4"]
    assert main(arguments) == 0
    assert "gains" not in capsys.readouterr().out


def test_a_trailers_no_start_is_said_to_be_a_silent_unit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is started: storage says what its words mean, park names no cranking current."""
    path = tmp_path / "trailer.toml"
    path.write_text(SCENARIO.replace('preset = "compact_petrol"', 'kind = "trailer"'), "utf-8")
    assert main(["storage", str(path), "--days", "20"]) == 0
    shown = capsys.readouterr().out
    assert "unit goes silent" in shown
    assert "never charge or jump-start a frozen one" in shown  # it says what to charge
    assert main(["park", str(path)]) == 0
    shown = capsys.readouterr().out
    assert "Ah at the 20 h rate" in shown
    assert "needed;" not in shown


def test_ways_that_hold_come_first_and_a_no_stand_has_no_day(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In deep cold: what helps first, the rest in a line each, no date to recharge by."""
    path = tmp_path / "cold.toml"
    path.write_text(SCENARIO.replace("temperate", "subarctic").replace("11-02", "01-10"), "utf-8")
    assert main(["storage", str(path), "--days", "21", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["longest_stand"]["days"] < 1
    assert answer["longest_stand"]["recharge_by"] is None
    assert main(["storage", str(path), "--days", "21"]) == 0
    told = capsys.readouterr().out
    assert "recharge by" not in told
    ways = answer["remedies"]["single"]
    before, _, after = told.partition("Not enough alone")
    for way in ways:
        assert (way["what"] in before, way["what"] in after) == (way["holds"], not way["holds"])
    assert any(way["holds"] for way in ways)
    assert told.count("too small, too old, too empty") == 0  # the verdict is a yes, if
    assert told.count("frozen battery") == 1
