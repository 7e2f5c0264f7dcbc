"""Languages: every message translated, every figure kept, catalogue compiled."""

import datetime as dt
import gettext
import io
import re

import pytest

from drainsim.errors import OutOfRangeError
from drainsim.sheets.message_files import (
    catalogue_path,
    messages_in_use,
    mo_bytes,
    read_po,
    write_po,
)
from drainsim.sheets.translation import LANGUAGES, language

OTHERS = [code for code in LANGUAGES if code != "en"]


@pytest.mark.parametrize("code", OTHERS)
def test_every_message_is_translated(code: str) -> None:
    """No sheet falls back to English; mend with: python -m drainsim.sheets.message_files."""
    messages = read_po(catalogue_path(code, "po").read_text("utf-8"))
    used = messages_in_use()
    assert [message for message in used if not messages.get(message)] == []
    assert [message for message in messages if message and message not in used] == []


@pytest.mark.parametrize("code", OTHERS)
def test_translations_keep_every_figure(code: str) -> None:
    """A translation has the same places for figures, with the same digits, as the message."""
    places = re.compile(r"\{[^}]*\}")
    for message, translated in read_po(catalogue_path(code, "po").read_text("utf-8")).items():
        if message:
            assert sorted(places.findall(message)) == sorted(places.findall(translated)), message


@pytest.mark.parametrize("code", OTHERS)
def test_the_compiled_catalogue_is_up_to_date(code: str) -> None:
    """The .mo file is what its .po file compiles to, and the standard library reads it."""
    messages = read_po(catalogue_path(code, "po").read_text("utf-8"))
    compiled = mo_bytes(messages)
    assert catalogue_path(code, "mo").read_bytes() == compiled
    read = gettext.GNUTranslations(io.BytesIO(compiled))
    for message, translated in messages.items():
        if message:
            assert read.gettext(message) == translated


def test_po_files_read_back_what_was_written() -> None:
    """Quotes, backslashes and long lines survive the .po format."""
    tricky = {"": "Language: xx\n", 'a "quoted" \\ word': 'ein "Wort" \\', "line\nbreak": "Ü\nb"}
    text = write_po(tricky, {message: "here" for message in tricky if message})
    assert read_po(text) == tricky


def test_a_broken_po_file_is_said_to_be_one() -> None:
    """A line that does not belong is named by its number."""
    with pytest.raises(ValueError, match="line 3"):
        read_po('msgid "a"\nmsgstr "b"\nnonsense\n')


def test_messages_are_found_in_the_sheets_and_the_data() -> None:
    """The list the tests above rest on holds messages of every kind."""
    found = messages_in_use()
    assert "Yes" in found  # a call in a sheet
    assert "December" in found  # marked, translated later
    assert "disconnect the unit" in found  # a way, from the answers
    assert "Equatorial" in found  # a preset's name


def test_numbers_dates_and_temperatures_follow_the_language() -> None:
    """Decimal comma and month name in German; °F where asked; never minus nought degrees."""
    english, german = language("en"), language("de", temperature_unit="F")
    assert english("{current:.1f} A", current=0.5) == "0.5 A"
    assert german("{current:.1f} A", current=0.5) == "0,5 A"
    assert english.day(dt.date(2026, 3, 1)) == "1 March 2026"
    assert german.day(dt.date(2026, 3, 1)) == "1. März 2026"
    assert german.temperature(-40.0) == "-40 °F"  # the one point where both scales agree
    assert english.temperature(-0.3) == "0 °C"
    assert english.risk(0.0) != "0 %"  # nothing is sure
    assert english.risk(1.0) != "100 %"


def test_unknown_languages_and_units_are_named() -> None:
    """A language or unit that is not there is one sentence."""
    with pytest.raises(OutOfRangeError, match="'fr'"):
        language("fr")
    with pytest.raises(OutOfRangeError, match="'K'"):
        language("en", temperature_unit="K")
