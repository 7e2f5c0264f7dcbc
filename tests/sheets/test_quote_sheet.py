"""The cover of a quote: the same in every language, prices written as there."""

import datetime as dt

import pytest

from drainsim.answers.storage.quote import Quote, quote
from drainsim.answers.storage.remedies import Preferences
from drainsim.language import LANGUAGES, language
from drainsim.sheets.storage.quote_sheet import cover_heading, cover_html, cover_rows
from drainsim.sheets.storage.storage_words import SheetOptions
from tests.fleet_build import SETTINGS, fleet_of
from tests.sheets.said import MARKED, figures, text_of, unmarked

LIST = """id;depot;climate;capacity_ah;state_of_charge
a1;b2;temperate;60;0.9
a3;b2;subarctic;36;0.5
"""
TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def quoted() -> Quote:
    """Return two vehicles for 60 days, every way at a price with cents."""
    prices = dict.fromkeys(("charge_full", "maintainer", "storage_mode", "unit_off"), 12.5)
    return quote(
        fleet_of(LIST), SETTINGS, days=60, risk=0.05, preferences=Preferences(prices=prices)
    )


def options(code: str = "en") -> SheetOptions:
    """Return page options with the day fixed."""
    return SheetOptions(language=code, date=TODAY)


def test_every_word_of_the_cover_can_be_said_in_another_language(
    quoted: Quote, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Names of vehicles, places and files stay; every other word is translated."""
    monkeypatch.setattr(SheetOptions, "say", MARKED)
    page = text_of(cover_html(quoted, options(), suffix=".html"))
    assert unmarked(page, "a1", "a3", "b2") == set()
    rows = cover_rows(quoted, MARKED, suffix=".html")
    written = " ".join(str(cell) for row in [cover_heading(MARKED), *rows] for cell in row)
    assert unmarked(written, "a1", "a3", "b2", ".html", "None") == set()


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_language_shows_the_same_figures(quoted: Quote, code: str) -> None:
    """Days, risks and prices are the English cover's, prices with the language's own comma."""
    page = text_of(cover_html(quoted, options(code), suffix=".html"))
    assert figures(page) == figures(text_of(cover_html(quoted, options(), suffix=".html")))
    assert language(code)("{price:g}", price=12.5) in page


def test_the_table_of_the_cover_says_the_days_of_its_page() -> None:
    """No stand at all is 0 days, and more than was looked at is neither blank nor its number."""
    cars = "id;climate;capacity_ah;state_of_charge;quiescent_a\ndead;subarctic;36;0.4;0.05\n"
    found = quote(fleet_of(cars + "long;temperate;200;1.0;0.001\n"), SETTINGS, days=60)
    page = text_of(cover_html(found, options(), suffix=".html"))
    rows = cover_rows(found, language("en"), suffix=".html")
    assert [row[6] for row in rows] == [0, "> 60"]
    assert "over 60" in page
