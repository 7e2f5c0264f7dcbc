"""The catalogue as PDF: whole on its pages, harmless, legible in grey, headed on every page."""

import datetime as dt
import re
from typing import Any

import numpy as np
import pytest

from drainsim.answers.storage.catalogue import (
    SEASONS,
    Catalogue,
    CatalogueQuestion,
    Cell,
    assumption_lines,
)
from drainsim.errors import DrainsimError, OutOfRangeError
from drainsim.files.presets import presets
from drainsim.language import LANGUAGES
from drainsim.sheets.storage.catalogue_pdf import catalogue_pdf, pdf_of_catalogue
from drainsim.sheets.storage.catalogue_sheet import (
    BANDS,
    CAUTIONS,
    band_of,
    catalogue_csv,
    catalogue_html,
    catalogue_xlsx,
)
from drainsim.sheets.storage.storage_words import SheetOptions
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from tests.sheets.said import MARKED, figures, unmarked
from tests.sheets.said import text_of as html_text

pdfium: Any = pytest.importorskip("pypdfium2")
pytest.importorskip("fpdf")
TODAY = dt.date(2026, 11, 25)
RIGHT_TO_LEFT = "شركة النقل السريع للمركبات المتوقفة מוסך חניה ٣٥"
SCRIPT = "<script>window.x=1</script>\"'&<img src=x onerror=alert(1)>"
LONG = (SCRIPT + " " + RIGHT_TO_LEFT + " Unbrokenname" * 40)[:300]
UNBROKEN = "W" * 300
EVERY_VEHICLE = tuple(presets("vehicles"))
EVERY_CLIMATE = tuple(presets("climates"))


def tabulate(
    units: tuple[str, ...] = ("hourly",),
    *,
    vehicles: tuple[str, ...] = EVERY_VEHICLE,
    climates: tuple[str, ...] = ("temperate", "hot_desert"),
    seasons: tuple[str, ...] = ("winter", "summer"),
) -> Catalogue:
    """Return a table with invented days, no two alike for long: layout is what is looked at."""
    base: Scenario = scenario_from_dict({"battery": {}, "unit": {"preset": "hourly"}})
    question = CatalogueQuestion(
        units=dict.fromkeys(units, base), vehicles=vehicles, climates=climates, seasons=seasons
    )
    cells = []
    for unit in units:
        for vehicle in vehicles:
            for climate in climates:
                for season in seasons:
                    days = (7 * len(cells)) % 179
                    cells.append(
                        Cell(
                            unit=unit,
                            vehicle=vehicle,
                            climate=climate,
                            season=season,
                            days=days if days % 10 else None,
                            capacity_ah=60.0,
                            scenario=base,
                        )
                    )
    return Catalogue(question=question, cells=tuple(cells))


def options(paper: str = "A4", **more: Any) -> SheetOptions:
    """Return page options with the day fixed."""
    return SheetOptions(paper=paper, date=TODAY, **more)


def squeezed(text: str) -> str:
    """Return text without anything a line break or a font could change."""
    return re.sub(r"[\s\u00ad\u00a0\ufffe-]+", "", text)


def pages(table: Catalogue, chosen: SheetOptions) -> list[Any]:
    """Return the pages of a table's PDF."""
    return list(pdfium.PdfDocument(catalogue_pdf(table, chosen)))


def text_of(page: Any) -> str:
    """Return what can be copied out of a page, without white space."""
    return squeezed(page.get_textpage().get_text_bounded())


BIG = {"climates": EVERY_CLIMATE, "seasons": tuple(SEASONS)}
ONE_SEASON = {"climates": EVERY_CLIMATE, "seasons": ("winter",)}


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(
    ("units", "more", "company"),
    [
        (("hourly",), {}, "Example Fleet Ltd"),
        (("hourly", LONG, RIGHT_TO_LEFT, UNBROKEN), {}, LONG),
        (("hourly", "daily"), BIG, RIGHT_TO_LEFT),
        (("hourly",), ONE_SEASON, UNBROKEN),
        (("hourly",), {"vehicles": EVERY_VEHICLE * 6}, SCRIPT),
    ],
)
def test_everything_is_on_the_pages_inside_their_margins(
    paper: str, units: tuple[str, ...], more: dict[str, Any], company: str
) -> None:
    """Every figure, name, assumption and caution can be read; nothing reaches the edge."""
    table = tabulate(units, **more)
    found = pages(table, options(paper, company=company, contact=company))
    shown = "".join(text_of(page) for page in found)
    for text in (*assumption_lines(table.question), *CAUTIONS, "25 November 2026"):
        if not re.search("[\u0590-\u06ff]", text):  # a right-to-left line reads back reordered
            assert squeezed(text) in shown
    for name in (company, *units):
        if name in {SCRIPT, UNBROKEN}:
            assert squeezed(name) in shown
    for kind, keys in (
        ("vehicles", table.question.vehicles),
        ("climates", table.question.climates),
    ):
        for key in keys:
            assert squeezed(presets(kind)[key].name) in shown
    wanted = {"A4": (841.9, 595.3), "Letter": (792.0, 612.0)}[paper]  # points, across
    edge = round(2.0 * 8.0 / 25.4 * 72.0)  # 8 mm: what office printers leave white
    for number, page in enumerate(found, start=1):
        assert page.get_size() == pytest.approx(wanted, abs=1.0)
        text = text_of(page)
        assert squeezed(f"page {number} of {len(found)}") in text
        assert squeezed("within 5 % risk of a no-start") in text
        grey = np.asarray(page.render(scale=2.0, grayscale=True).to_numpy()).squeeze()
        for strip in (grey[:edge], grey[-edge:], grey[:, :edge], grey[:, -edge:]):
            assert strip.min() == 255


@pytest.mark.parametrize(("paper", "side_by_side"), [("A4", 3), ("Letter", 2)])
def test_every_row_stands_in_order_with_its_own_figures(paper: str, side_by_side: int) -> None:
    """Row by row, over page breaks and parts, the words of the PDF are those of the table."""
    table = tabulate(("hourly", "daily"), **BIG)
    question = table.question
    shown = "".join(text_of(page) for page in pages(table, options(paper)))
    for unit in question.units:
        for vehicle in question.vehicles:
            name = squeezed(presets("vehicles")[vehicle].name)
            for begin in range(0, len(question.climates), side_by_side):
                figures = "60"
                for climate in question.climates[begin : begin + side_by_side]:
                    for season in question.seasons:
                        days = table.days(unit, vehicle, climate, season)
                        figures += ">180" if days is None else str(days)
                assert name + figures in shown


def test_the_heading_is_repeated_where_a_table_goes_on() -> None:
    """Each page of a table too long for one has the unit, the climates and the seasons again."""
    found = pages(tabulate(vehicles=EVERY_VEHICLE * 8), options())
    rows = [text_of(page) for page in found if "Smallcar" in text_of(page)]
    assert len(rows) >= 3
    for text in rows:
        for words in ("vehicleclass", "Hotdesert", "winter[days]", "summer[days]", "battery[Ah]"):
            assert words in text
    assert "Unit:" in rows[0]
    assert all("Unit(continued):" in text for text in rows[1:])


def test_few_rows_are_one_page() -> None:
    """One unit, five climates, two seasons: what most tenders ask for is a single page."""
    five = ("continental", "temperate", "marine", "humid_subtropical", "hot_desert")
    for paper in ("A4", "Letter"):
        assert len(pages(tabulate(climates=five), options(paper, company="Example"))) == 1


def test_shades_stay_apart_and_legible_in_grey() -> None:
    """On a grey printer each band is lighter than the one before, black on each well legible."""
    # Luma of ITU-R BT.601, what a driver makes of colours; contrast by WCAG 2 (7:1 is its AAA).
    greys = [np.dot(band.red_green_blue, (0.299, 0.587, 0.114)) for band in BANDS]
    assert np.diff(greys).min() > 14.0
    for band in BANDS:
        linear = (np.asarray(band.red_green_blue) / 255.0) ** 2.2
        assert (float(np.dot(linear, (0.2126, 0.7152, 0.0722))) + 0.05) / 0.05 > 7.0
    page = pages(tabulate(), options())[0]
    colours = np.asarray(page.render(scale=2.0, rev_byteorder=True).to_numpy())[..., :3]
    drawn = {tuple(colour) for colour in colours.reshape(-1, 3)[::7].tolist()}
    assert {band.red_green_blue for band in BANDS} <= drawn
    assert colours.min() < 40


def test_bands_have_no_gap() -> None:
    """Every number of days has a band, and longer is never darker."""
    shades = [sum(band_of(days, 180).red_green_blue) for days in range(200)]
    assert shades == sorted(shades)
    assert band_of(0, 180) is BANDS[0]
    assert band_of(None, 60) is BANDS[-1]


def test_nothing_in_the_file_acts() -> None:
    """A hostile name brings no script, link, form or attachment into the file."""
    file = catalogue_pdf(tabulate((LONG,)), options(company=SCRIPT, contact=LONG))
    for word in (b"/JavaScript", b"/JS", b"/URI", b"/AA", b"/OpenAction", b"/EmbeddedFile"):
        assert word not in file.replace(b"/OpenAction [", b"")  # fpdf's own: show page 1


def test_html_takes_the_same_names_and_paper() -> None:
    """Company and contact stand as text at the head of the HTML, too, and the caution below."""
    page = catalogue_html(tabulate(), options("Letter", company=SCRIPT, contact="line 2"))
    assert "<script>" not in page
    assert "&lt;script&gt;" in page
    assert "size: Letter landscape" in page
    assert "line 2" in page
    assert "frozen battery" in page
    assert "25 November 2026" in page


def test_without_a_font_file_western_names_still_print() -> None:
    """The built-in letters serve; what they lack is named, with the way out."""
    file = pdf_of_catalogue(tabulate(), options(company="Müller & Söhne"), fonts=None)
    assert "Müller&Söhne" in text_of(pdfium.PdfDocument(file)[0])
    for where in ({"company": "株式会社"}, {"contact": "株式会社"}):
        with pytest.raises(DrainsimError, match=r"株.*\.html"):
            pdf_of_catalogue(tabulate(), options(**where), fonts=None)
    with pytest.raises(DrainsimError, match=r"unit 2.*株.*\.html"):
        catalogue_pdf(tabulate(("hourly", "株式会社")), options())


def test_a_unit_name_too_long_is_refused() -> None:
    """301 letters are one sentence, not a cut name."""
    with pytest.raises(OutOfRangeError, match="301 characters"):
        catalogue_pdf(tabulate(("x" * 301,)), options())


@pytest.mark.parametrize("missing", ["fpdf", "uharfbuzz"])
def test_without_the_extra_it_says_how_to_get_it(
    monkeypatch: pytest.MonkeyPatch, missing: str
) -> None:
    """Either library missing is one sentence with the way out."""
    monkeypatch.setitem(__import__("sys").modules, missing, None)
    with pytest.raises(DrainsimError, match=r"drainsim\[pdf\]"):
        catalogue_pdf(tabulate(), options())


def test_a_control_code_in_a_unit_name_is_harmless() -> None:
    """A file name may hold a line break: the name stays on one line."""
    table = tabulate(("two\nlines\x1b[2J",))
    assert "twolines" in text_of(pages(table, options())[0])


FIVE = ("continental", "temperate", "marine", "humid_subtropical", "hot_desert")


def overlaps(page: Any) -> int:
    """Return how many letters of a page lie on another by more than a third of their box."""
    text = page.get_textpage()
    boxes = np.array(
        [
            text.get_charbox(place)
            for place, letter in enumerate(text.get_text_range())
            if place < text.count_chars() and not letter.isspace()
        ]
    )
    left, bottom, right, top = np.unique(boxes, axis=0).T  # letters joined in one have one box
    wide = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    high = np.minimum(top[:, None], top) - np.maximum(bottom[:, None], bottom)
    shared = np.clip(wide, 0.0, None) * np.clip(high, 0.0, None)
    area = (right - left) * (top - bottom)
    np.fill_diagonal(shared, 0.0)
    return int((shared > np.minimum(area[:, None], area) / 3.0).sum())


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_language_fits_on_the_pages(code: str) -> None:
    """Long words of a language run into nothing and over no edge; every sentence is there."""
    table = tabulate(("hourly_with_ladder",), climates=FIVE)
    chosen = options(language=code, company="Example Fleet Ltd")
    found = pages(table, chosen)
    shown = "".join(text_of(page) for page in found)
    for words in (*map(chosen.say, (*assumption_lines(table.question), *CAUTIONS)),):
        assert squeezed(words) in shown
    for key in (*EVERY_VEHICLE, *FIVE):
        kind = "climates" if key in FIVE else "vehicles"
        assert squeezed(chosen.say(presets(kind)[key].name)) in shown
    for page in found:
        assert overlaps(page) == 0
        grey = np.asarray(page.render(scale=2.0, grayscale=True).to_numpy()).squeeze()
        assert min(grey[:, :45].min(), grey[:, -45:].min()) == 255  # 8 mm of white


def test_letters_that_lie_on_others_are_seen() -> None:
    """The check above finds a heading written over another."""
    from fpdf import FPDF

    found = []
    for x_mm in (80, 22):
        pdf = FPDF()
        pdf.add_page()
        pdf.set_font("helvetica")
        pdf.text(20, 20, "Fahrzeugklasse")
        pdf.text(x_mm, 20, "Batterie")
        found.append(overlaps(pdfium.PdfDocument(bytes(pdf.output()))[0]))
    assert found[0] == 0 < found[1]


def test_without_a_font_file_what_it_lacks_of_a_language_is_said() -> None:
    """German fits the built-in letters, Polish does not: a sentence, no traceback."""
    german = pdf_of_catalogue(tabulate(), options(language="de"), fonts=None)
    assert "HeißeWüste" in text_of(pdfium.PdfDocument(german)[0])
    with pytest.raises(DrainsimError, match=r"the sheet's own words.*\.html"):
        pdf_of_catalogue(tabulate(), options(language="pl"), fonts=None)


def test_every_word_of_the_table_can_be_said_in_another_language(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Page and table in a language that marks every text hold no other word than the maker's."""
    table = tabulate(("hourly", "Our unit"), climates=FIVE)
    monkeypatch.setattr(SheetOptions, "say", MARKED)
    for text in (html_text(catalogue_html(table, options())), catalogue_csv(table, options())):
        assert unmarked(text, "Our unit") == set()


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_language_shows_the_same_days(code: str) -> None:
    """Table and page have the English figures; the workbook's tab has a name it may have."""
    table = tabulate(("hourly",), vehicles=("small_petrol", "panel_van_diesel"), climates=FIVE)
    here = options(language=code)
    assert f'lang="{code}"' in catalogue_html(table, here)
    for written in (
        lambda o: html_text(catalogue_html(table, o)),
        lambda o: catalogue_csv(table, o),
    ):
        assert figures(written(here)) == figures(written(options()))
    assert catalogue_xlsx(table, here)[:2] == b"PK"
