"""Languages: every message translated, every figure kept, catalogue compiled."""

import contextvars
import copy
import datetime as dt
import gettext
import json
import pickle
import re

import pytest

from drainsim.errors import OutOfRangeError
from drainsim.language import (
    DOMAIN,
    Celsius,
    counted_message,
    joined,
    language,
    message,
    say,
    screen_languages,
    speak,
)
from tests.message_files import PAIRS, catalogue, catalogue_path, messages_in_use


@pytest.mark.parametrize(("domain", "code"), PAIRS)
def test_every_message_is_translated(domain: str, code: str) -> None:
    """No sheet falls back to English; mend with: python -m tests.message_files."""
    translated = {
        entry.id: entry.string if isinstance(entry.string, tuple) else (entry.string,)
        for entry in catalogue(domain, code)
        if entry.id
    }
    assert translated.keys() == messages_in_use(domain).keys()
    assert [message for message, text in translated.items() if not all(text)] == []


@pytest.mark.parametrize(("domain", "code"), PAIRS)
def test_translations_keep_every_figure(domain: str, code: str) -> None:
    """A translation has the same places for figures, with the same digits, as the message."""
    places = re.compile(r"\{[^}]*\}")
    for entry in catalogue(domain, code):
        if entry.id:
            asked = entry.id if isinstance(entry.id, str) else entry.id[0]
            for text in [entry.string] if isinstance(entry.string, str) else entry.string:
                assert sorted(places.findall(asked)) == sorted(places.findall(text)), entry.id


@pytest.mark.parametrize(("domain", "code"), PAIRS)
def test_the_compiled_catalogue_is_up_to_date(domain: str, code: str) -> None:
    """The .mo file the sheets read holds what its .po file says."""
    with catalogue_path(domain, code, "mo").open("rb") as file:
        read = gettext.GNUTranslations(file)
    for entry in catalogue(domain, code):
        if entry.id:
            one, *several = [entry.id] if isinstance(entry.id, str) else entry.id
            said = {read.ngettext(one, several[0], n) for n in range(1, 30)} if several else set()
            assert (said or read.gettext(one)) == (set(entry.string) if several else entry.string)


def test_messages_are_found_in_the_sheets_and_the_data() -> None:
    """The list the tests above rest on holds messages of every kind."""
    found = messages_in_use(DOMAIN)
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
    for code, day in (
        ("fr", "1 mars 2026"),
        ("es", "1 de marzo de 2026"),
        ("it", "1 marzo 2026"),
        ("nl", "1 maart 2026"),
        ("pl", "1 marca 2026"),
    ):
        assert language(code).day(dt.date(2026, 3, 1)) == day
        assert language(code)("{current:.1f} A", current=0.5) == "0,5 A"
    assert german.temperature(-40.0) == "-40 °F"  # the one point where both scales agree
    assert english.temperature(-0.3) == "0 °C"
    assert english.risk(0.0) != "0 %"  # nothing is sure
    assert english.risk(1.0) != "100 %"
    halves = (0.225, 0.905)  # on a sheet as on the page
    assert [english.risk(one) for one in halves] == [
        "23\N{NO-BREAK SPACE}%",
        "91\N{NO-BREAK SPACE}%",
    ]


def test_unknown_languages_and_units_are_named() -> None:
    """A language or unit that is not there is one sentence."""
    with pytest.raises(OutOfRangeError, match="'xx'"):
        language("xx")
    with pytest.raises(OutOfRangeError, match="'K'"):
        language("en", temperature_unit="K")


def test_a_number_of_days_takes_the_form_the_language_has() -> None:
    """One day and several differ, by each language's own rule."""
    forms = (
        "The risk stays within {asked} for {number:.0f} day: recharge by {date}.",
        "The risk stays within {asked} for {number:.0f} days: recharge by {date}.",
    )
    for code, one, two in (("en", "1 day:", "2 days:"), ("pl", "1 dzień:", "2 dni:")):
        assert one in language(code).many(*forms, 1, asked="5 %", date="x")
        assert two in language(code).many(*forms, 2, asked="5 %", date="x")


def test_a_message_is_english_and_is_said_in_any_language() -> None:
    """Text as text, in a copy and a pickle too; its figures and inner messages are translated."""
    outer = message(
        "{when}: {current:.1f} A at {cold}",
        when=message("December"),
        current=0.5,
        cold=Celsius(-18.0),
    )
    for kept in (outer, copy.deepcopy(outer), pickle.loads(pickle.dumps(outer))):
        assert kept == "December: 0.5 A at -18 °C"
        assert language("de", temperature_unit="F")(kept) == "Dezember: 0,5 A at 0 °F"
        assert json.dumps(kept) == '"December: 0.5 A at -18 \\u00b0C"'
    assert message("{number} of {all}", number=3, all=1.5) == "3 of 1.5"
    assert language("fr")(joined(", ", [message("May"), "x", message("June")])) == "mai, x, juin"
    days = counted_message(
        "The risk stays within {asked} for {number:.0f} day: recharge by {date}.",
        "The risk stays within {asked} for {number:.0f} days: recharge by {date}.",
        1,
        asked="5 %",
        date=dt.date(2026, 3, 1),
    )
    assert days.endswith("1 day: recharge by 1 March 2026.")
    assert "1 dzień:" in language("pl")(days)


def test_a_language_arrives_where_it_is_sent() -> None:
    """A worker far away says the same, in the same unit, with its own catalogue."""
    sent = pickle.loads(pickle.dumps(language("pl", temperature_unit="F")))
    assert (sent.code, sent("December"), sent.temperature(0.0)) == ("pl", "grudnia", "32 °F")


def test_windows_speak_english_until_told_otherwise() -> None:
    """`speak` holds for what comes after it in this thread of work, and no other."""
    assert say("Yes") == "Yes"
    assert list(screen_languages()) == ["en", "de"]

    def german() -> str:
        speak("de")
        return say(message("Yes"))

    assert contextvars.copy_context().run(german) == "Ja"
    assert say("Yes") == "Yes"
