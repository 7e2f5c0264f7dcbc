"""The customer's page: harmless whatever is typed in, whole on one page, the same in each form."""

import datetime as dt
import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drainsim.answers.advice import ADVICE
from drainsim.answers.storage.answer import NO, YES, YES_IF, StorageAnswer, storage
from drainsim.answers.storage.changes import with_changes
from drainsim.answers.storage.remedies import Preferences
from drainsim.answers.storage.risk import StandQuestion
from drainsim.errors import DrainsimError, OutOfRangeError
from drainsim.language import LANGUAGES
from drainsim.language import language as english
from drainsim.sheets.fonts import find_fonts
from drainsim.sheets.storage.storage_chart import HEIGHT, WIDTH, drawing
from drainsim.sheets.storage.storage_pdf import pdf_of, storage_pdf
from drainsim.sheets.storage.storage_sheet import storage_html
from drainsim.sheets.storage.storage_words import SheetOptions, SheetWords, sheet_words
from drainsim.vehicle.documents.code import decode_question
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.build import risk_now
from tests.sheets.said import MARKED, figures, text_of, unmarked

pdfium: Any = pytest.importorskip("pypdfium2")
TODAY = dt.date(2026, 11, 25)
RIGHT_TO_LEFT = "شركة النقل السريع للمركبات المتوقفة מוסך חניה ٣٥"
SCRIPT = "<script>window.x=1</script>\"'&<img src=x onerror=alert(1)>"
LONG = (SCRIPT + " " + RIGHT_TO_LEFT + " Unbrokenname" * 40)[:300]
UNBROKEN = "W" * 300


def ask(days: int, **changes: Any) -> StorageAnswer:
    """Return the answer to an invented question with keys changed."""
    tables = {
        "battery": {"capacity_ah": 60, "cold_cranking_a": 540, "state_of_charge": 0.9},
        "unit": {"preset": "hourly"},
        "vehicle": {"preset": "compact_petrol"},
        "site": {"climate": "temperate", "parked_from": dt.date(2026, 11, 2)},
        "run": {"draws": 100, "horizon_days": 90},
    }
    scenario = with_changes(scenario_from_dict(tables), changes)
    return storage(StandQuestion(scenario=scenario, days=days), inverse=False)


@pytest.fixture(scope="module")
def answers() -> dict[str, StorageAnswer]:
    """One answer of each verdict."""
    hopeless = {
        "battery": {"capacity_ah": 36, "age_years": 8},
        "vehicle": {"engine_litres": 4.0, "fuel": "diesel"},
        "site": {"climate": "subarctic", "parked_from": dt.date(2026, 12, 1)},
    }
    return {YES: ask(10), YES_IF: ask(60), NO: ask(60, **hopeless)}


def options(language: str = "en", paper: str = "A4", **more: Any) -> SheetOptions:
    """Return sheet options with the day fixed."""
    return SheetOptions(language=language, paper=paper, date=TODAY, **more)


class _Page(HTMLParser):
    """Collects tags, attributes and text of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def every_text(words: SheetWords) -> list[str]:
    """Return every text that must be readable on the page."""
    ways = [text for way in words.ways for text in (way.what, way.days, way.risk, way.lost)]
    return [
        words.title,
        words.question,
        words.large,
        words.answer,
        *words.ranges,
        words.chart_title,
        *ways,
        *words.mind,
        *words.before,
        *words.after,
        *words.assumptions,
        words.code,
        words.footer,
    ]


def squeezed(text: str) -> str:
    """Return text without anything a line break or a font could change.

    U+0002 is how the reader gives a hyphen at a line's end.
    """
    return re.sub(r"[\s\x02\u00ad\u00a0\ufffe-]+", "", text)


def test_the_sheet_lists_the_five_cheapest_ways_that_hold(
    answers: dict[str, StorageAnswer],
) -> None:
    """Enough to choose from, the cheapest first, as many as a page bears."""
    holding = answers[YES_IF].remedies.holding
    assert len(holding) >= 5
    ways = sheet_words(answers[YES_IF], options()).ways
    assert len(ways) == 5
    for way, remedy in zip(ways, holding, strict=False):
        assert all(label.partition(" ")[0] in way.what for label in remedy.labels)


# --- HTML -------------------------------------------------------------------------------------


@pytest.mark.parametrize("hostile", [SCRIPT, RIGHT_TO_LEFT, LONG, UNBROKEN])
def test_html_shows_a_hostile_name_as_text(answers: dict[str, StorageAnswer], hostile: str) -> None:
    """Markup in a name is text: no element, no handler, no address comes of it."""
    page = _Page(storage_html(answers[YES_IF], options(company=hostile, contact=hostile)))
    plain = _Page(storage_html(answers[YES_IF], options()))
    assert page.tags == plain.tags
    assert not {"script", "img", "iframe", "link", "a"} & set(page.tags)
    assert not [name for name, _ in page.attributes if name.startswith("on")]
    assert page.words.count(hostile) == 2


def test_html_stands_alone(answers: dict[str, StorageAnswer]) -> None:
    """Nothing is fetched: no address in the file but the namespace-free SVG and its own style."""
    text = storage_html(answers[YES_IF], options(company="Example"))
    assert "http" not in text.replace("http-equiv", "")
    assert "url(" not in text
    assert "default-src 'none'" in text


def test_html_says_everything(answers: dict[str, StorageAnswer]) -> None:
    """Every text of the sheet is in the file, in both languages."""
    for answer in answers.values():
        for language in LANGUAGES:
            words = sheet_words(answer, options(language))
            shown = squeezed("".join(_Page(storage_html(answer, options(language))).words))
            for text in every_text(words):
                assert squeezed(text) in shown


@pytest.mark.browser
@pytest.mark.skipif(shutil.which("chromium") is None, reason="needs Chromium")
@pytest.mark.parametrize(
    ("paper", "verdict"), [("A4", YES_IF), ("Letter", YES_IF), ("A4", YES), ("Letter", NO)]
)
def test_html_prints_on_one_page(
    answers: dict[str, StorageAnswer], tmp_path: Path, paper: str, verdict: str
) -> None:
    """A browser prints the sheet, hostile name included, on exactly one page of its paper."""
    page = tmp_path / "sheet.html"
    chosen = options("de", paper, company=LONG, contact=RIGHT_TO_LEFT)
    page.write_text(storage_html(answers[verdict], chosen), "utf-8")
    subprocess.run(
        [
            "chromium",
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
            f"--user-data-dir={tmp_path / 'profile'}",
            f"--print-to-pdf={tmp_path / 'sheet.pdf'}",
            page.as_uri(),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    document = pdfium.PdfDocument(tmp_path / "sheet.pdf")
    assert len(document) == 1


# --- words ------------------------------------------------------------------------------------


def test_the_large_word_follows_the_verdict(answers: dict[str, StorageAnswer]) -> None:
    """Yes; no, not as it is; no, because: in words, in both languages."""
    assert sheet_words(answers[YES], options()).large == "Yes"
    assert sheet_words(answers[YES_IF], options("de")).large == "Nein, nicht so"
    refused = sheet_words(answers[NO], options())
    assert refused.large == "No, because …"
    assert "would not start" in refused.answer


def test_the_sheet_cautions_against_frozen_batteries(answers: dict[str, StorageAnswer]) -> None:
    """Whatever the answer, a frozen battery is never to be charged or jump-started."""
    for answer in answers.values():
        caution = sheet_words(answer, options()).after[0]
        assert "can freeze" in caution
        assert "Never charge or jump-start a frozen battery" in caution
        assert "niemals laden" in sheet_words(answer, options("de")).after[0]


def test_the_answer_is_a_range_with_its_assumptions(answers: dict[str, StorageAnswer]) -> None:
    """Two days, not one; battery, vehicle, unit, place and the meaning of risk are stated."""
    words = sheet_words(answers[YES_IF], options())
    first, last = re.findall(r"day (\d+)", words.ranges[0])
    assert int(first) < int(last)
    for part in ("Battery:", "Vehicle:", "Added unit:", "Place:", "Risk:"):
        assert any(line.startswith(part) for line in words.assumptions)


def test_the_code_on_the_sheet_repeats_the_question(answers: dict[str, StorageAnswer]) -> None:
    """What is printed decodes to the scenario, days and risk of the answer."""
    answer = answers[YES_IF]
    back = decode_question(sheet_words(answer, options()).code)
    assert back.scenario.tables == answer.question.scenario.tables
    assert (back.days, back.risk, back.date) == (60, 0.05, TODAY)


def test_a_scenario_too_long_for_a_code_is_said_to_be(answers: dict[str, StorageAnswer]) -> None:
    """A page full of code helps nobody: the sheet then asks for the file."""
    answer = answers[YES]
    rng = np.random.default_rng(1)
    others = [{"name": f"load {rng.random()}", "current_a": float(rng.random())} for _ in range(40)]
    question = replace(
        answer.question, scenario=with_changes(answer.question.scenario, {"other": others})
    )
    words = sheet_words(replace(answer, question=question), options())
    assert words.code == ""
    assert "keep its file" in words.code_title


def test_temperatures_come_in_the_unit_asked_for(answers: dict[str, StorageAnswer]) -> None:
    """°F on request, and then no °C anywhere."""
    words = sheet_words(answers[YES], options(temperature_unit="F"))
    text = " ".join(every_text(words))
    assert "°F" in text
    assert "°C" not in text


def test_a_winter_panel_is_not_promised(answers: dict[str, StorageAnswer]) -> None:
    """In a northern winter the sheet itself says that a small panel fails."""
    assert any("small solar panel" in line for line in sheet_words(answers[YES_IF]).mind)


def test_a_tilted_panel_is_not_said_to_lie_flat() -> None:
    """Tilt and shade that were entered are on the sheet, in the assumptions and in the way."""
    tilted = {"panel_w": 5.0, "tilt_deg": 40.0, "shading": 0.25}
    answer = ask(60, solar=tilted)
    for language, words in (("en", ("tilted 40°", "25 %")), ("de", ("40° zum Äquator", "25 %"))):
        text = " ".join(sheet_words(answer, options(language)).assumptions)
        assert all(word in text for word in words)
    panel = next(r for r in answer.remedies.single if r.keys == ("panel",))
    assert "tilted 40° toward the equator, 25 % of its sunshine lost to shade" in panel.labels[0]
    assert "flat" not in panel.labels[0]


def test_northern_temperatures_under_a_southern_sun_are_said_to_be() -> None:
    """A southern latitude with a climate preset is on the sheet, the right way round it is not."""
    found = {
        latitude: " ".join(
            sheet_words(ask(20, solar={"panel_w": 10.0, "latitude_deg": latitude})).mind
        )
        for latitude in (-35.0, 35.0)
    }
    assert "half a year apart" in found[-35.0]
    assert "half a year apart" not in found[35.0]


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"company": "x" * 301}, "company: 301"),
        ({"contact": "a\nb"}, "contact"),
        ({"company": "a\x00b"}, "company"),
        ({"paper": "A5"}, "A5"),
        ({"language": "xx"}, "'xx'"),
    ],
)
def test_what_cannot_be_laid_out_is_refused(
    answers: dict[str, StorageAnswer], wrong: dict[str, Any], named: str
) -> None:
    """Too long, more than one line or unknown: one sentence, nothing cut silently."""
    with pytest.raises(OutOfRangeError, match=named):
        storage_html(answers[YES], SheetOptions(**wrong))


def test_the_chart_stays_on_its_canvas(answers: dict[str, StorageAnswer]) -> None:
    """Every line lies inside the canvas and the curve ends where the data ends."""
    for answer in answers.values():
        what = drawing(sheet_words(answer, options()).chart)
        points = np.array([point for stroke in what.strokes for point in stroke.points])
        assert points.min() >= 0.0
        assert points[:, 0].max() <= WIDTH
        assert points[:, 1].max() <= HEIGHT


# --- PDF --------------------------------------------------------------------------------------


# The fullest sheet in every language; the shorter ones in one language by day.
@pytest.mark.parametrize(
    ("language", "paper", "company", "verdict"),
    [
        ("en", "Letter", "Example Fleet Ltd", YES),
        ("en", "Letter", "Example Fleet Ltd", NO),
        *(
            pytest.param(
                code, paper, LONG, verdict, marks=[] if verdict == YES_IF else pytest.mark.nightly
            )
            for code in LANGUAGES
            for paper in (["A4"] if code in {"en", "de"} else ["Letter"])
            for verdict in (YES, YES_IF, NO)
        ),
    ],
)
def test_pdf_is_one_whole_page(
    answers: dict[str, StorageAnswer], verdict: str, language: str, paper: str, company: str
) -> None:
    """One page of the paper asked for, every text on it, white margins all round."""
    pytest.importorskip("fpdf")
    chosen = options(language, paper, company=company, contact=company)
    document = pdfium.PdfDocument(storage_pdf(answers[verdict], chosen))
    assert len(document) == 1
    page = document[0]
    # ISO 216 A4 210 × 297 mm, Letter 8.5 × 11 in; in points, atol 1 point.
    wanted = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}[paper]
    assert page.get_size() == pytest.approx(wanted, abs=1.0)
    shown = squeezed(page.get_textpage().get_text_bounded())
    for text in every_text(sheet_words(answers[verdict], chosen)):
        assert squeezed(text) in shown
    grey = np.asarray(page.render(scale=2.0, grayscale=True).to_numpy()).squeeze()
    edge = round(2.0 * 8.0 / 25.4 * 72.0)  # 8 mm: what office printers leave white
    for strip in (grey[:edge], grey[-edge:], grey[:, :edge], grey[:, -edge:]):
        assert strip.min() == 255


def test_pdf_is_legible_in_grey(answers: dict[str, StorageAnswer]) -> None:
    """Colours equal their greys, letters are black, and no text is below 6 points."""
    pytest.importorskip("fpdf")
    chosen = options("de", "Letter", company=LONG, contact=LONG)
    page = pdfium.PdfDocument(storage_pdf(answers[YES_IF], chosen))[0]
    colours = np.asarray(page.render(scale=2.0).to_numpy()).astype(int)
    assert np.ptp(colours[..., :3], axis=2).max() <= 2  # nothing rests on a hue
    assert colours.min() < 40
    words = page.get_textpage()
    heights = [
        top - bottom
        for (_left, bottom, _right, top) in (
            words.get_charbox(number, loose=True) for number in range(words.count_chars())
        )
    ]
    assert np.median(heights) > 6.0


def test_pdf_without_a_font_file_still_prints_western_names(
    answers: dict[str, StorageAnswer],
) -> None:
    """On a machine without fonts the built-in one serves, umlauts included."""
    pytest.importorskip("fpdf")
    words = sheet_words(answers[YES_IF], options("de", company="Müller & Söhne"))
    document = pdfium.PdfDocument(pdf_of(words, fonts=None))
    assert len(document) == 1
    assert "Müller & Söhne" in document[0].get_textpage().get_text_bounded()


def test_pdf_without_a_font_file_refuses_a_language_it_has_no_letters_for(
    answers: dict[str, StorageAnswer],
) -> None:
    """One sentence that offers HTML, not a traceback; Western languages print."""
    pytest.importorskip("fpdf")
    with pytest.raises(DrainsimError, match=r"the sheet's own words.*\.html"):
        pdf_of(sheet_words(answers[YES_IF], options("pl")), fonts=None)
    for code in ("fr", "es", "it", "nl"):
        words = sheet_words(answers[YES_IF], options(code))
        assert len(pdfium.PdfDocument(pdf_of(words, fonts=None))) == 1


def test_pdf_refuses_letters_its_font_lacks(answers: dict[str, StorageAnswer]) -> None:
    """Boxes instead of a name are never printed: the letters are named, HTML is offered."""
    pytest.importorskip("fpdf")
    words = sheet_words(answers[YES], options(company="株式会社"))
    for fonts in {None, find_fonts()}:
        with pytest.raises(DrainsimError, match=r"株.*\.html"):
            pdf_of(words, fonts=fonts)


def test_without_the_extra_the_pdf_says_how_to_get_it(
    answers: dict[str, StorageAnswer], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A missing library is one sentence with the way out."""
    monkeypatch.setitem(__import__("sys").modules, "fpdf", None)
    with pytest.raises(DrainsimError, match=r"drainsim\[pdf\]"):
        storage_pdf(answers[YES], options())


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "it reports every hour, can be reached in between;"),
        ({"unit.report_interval_h": 6.0}, "it reports every 6 h, can be reached in between;"),
        ({"unit.report_interval_h": 0.25}, "it reports every 15 min, can be reached"),
        ({"unit.listening": "none", "unit.listening_a": 0.0}, "it reports every hour; it draws"),
        ({"unit.cutoff_v": 11.8}, "switches itself off below 11.8 V;"),
    ],
)
def test_the_unit_is_described_by_what_it_does(changes: dict[str, Any], said: str) -> None:
    """A preset's name ("hourly report") says nothing any more once a key beside it differs."""
    words = " ".join(sheet_words(ask(10, **changes), options()).assumptions)
    assert said in words
    assert "Generic unit" not in words


def test_a_no_leads_to_the_month_from_which_it_holds(answers: dict[str, StorageAnswer]) -> None:
    """The month named holds, the months before it do not, and the sheet names the same one."""
    mild = replace(
        answers[NO].question,
        scenario=with_changes(
            answers[NO].question.scenario,
            {
                "battery": {"capacity_ah": 70, "age_years": 4},
                "vehicle": {"engine_litres": 3.0, "fuel": "diesel", "quiescent_a": 0.01},
                "unit": None,
            },
        ),
    )
    without = Preferences(without=tuple(set(ADVICE) - {"charge_full"}))
    answer = storage(mild, without, inverse=False)
    assert answer.verdict == NO
    assert answer.later is not None
    parked = answer.case.site.parked_from
    begins = [dt.date(2027, month, 1) for month in range(1, 13)]
    holding = [
        begin
        for begin in begins
        if risk_now(mild.all_along, {"site.parked_from": begin}) <= mild.risk
    ]
    assert answer.later == holding[0] > parked
    assert answer.later.isoformat() in answer.sentence
    day = english("en").day(answer.later)
    assert f"Begun on {day} it holds as it is." in sheet_words(answer, options()).answer


def test_a_no_without_seasons_promises_none(answers: dict[str, StorageAnswer]) -> None:
    """At a constant temperature a later start changes nothing, and nothing is said of it."""
    scenario = with_changes(
        answers[NO].question.scenario, {"site": {"temperature_c": -30.0}, "unit": None}
    )
    without = Preferences(without=tuple(set(ADVICE) - {"charge_full"}))
    answer = storage(replace(answers[NO].question, scenario=scenario), without, inverse=False)
    assert answer.verdict == NO
    assert answer.later is None
    assert "month" not in answer.sentence


@pytest.mark.parametrize("verdict", [YES, YES_IF, NO])
def test_every_word_can_be_said_in_another_language(
    answers: dict[str, StorageAnswer], verdict: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a language that marks every text only the code stays, for it is read back."""
    answer, code = answers[verdict], sheet_words(answers[verdict], options()).code
    monkeypatch.setattr(SheetOptions, "say", MARKED)
    assert unmarked(text_of(storage_html(answer, options())), code) == set()


@pytest.mark.parametrize("verdict", [YES, YES_IF, NO])
def test_every_language_shows_the_same_figures(
    answers: dict[str, StorageAnswer], verdict: str
) -> None:
    """Days, risks, currents and dates are the English sheet's."""
    answer, code = answers[verdict], sheet_words(answers[verdict], options()).code
    said = {
        language: figures(text_of(storage_html(answer, options(language))).replace(code, ""))
        for language in LANGUAGES
    }
    assert all(found == said["en"] for found in said.values())


@pytest.mark.parametrize(("way", "reports"), [("maintainer", True), ("disconnect", False)])
def test_a_unit_without_current_is_not_asked_to_report(
    answers: dict[str, StorageAnswer], way: str, *, reports: bool
) -> None:
    """With the battery disconnected the sheet does not say to check that the unit reports."""
    others = tuple(key for key in ADVICE if key != way)
    answer = storage(answers[YES_IF].question, Preferences(without=others), inverse=False)
    assert answer.remedies.cheapest is not None
    before = " ".join(sheet_words(answer, options()).before)
    assert ("check that it reports" in before) is reports
