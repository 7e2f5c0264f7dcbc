"""The printable job sheet: everything on it, nothing from outside, nothing live."""

import copy
import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance
from drainsim.answers.installer.circuit.circuits import CAUTIONS
from drainsim.files.examples import example_text
from drainsim.language import LANGUAGES, language
from drainsim.sheets.job_sheet import job_sheet
from drainsim.vehicle.documents.job_record import job_record_from_dict
from tests.build import DRAWS
from tests.sheets.said import MARKED, figures, text_of, unmarked

EXAMPLE: dict[str, Any] = json.loads(example_text("job_record.json"))
NASTY = '<script>x()</script><img src=http://h/a onerror=x()>&"'


def sheet(label: str = "Van 7", circuit: str = "Clock") -> str:
    """Return the example's sheet."""
    document = copy.deepcopy(EXAMPLE)
    document["scenario"]["run"]["draws"] = DRAWS
    document["job"]["label"] = label
    document["power"]["name"] = circuit
    return job_sheet(acceptance(job_record_from_dict(document, where="j")))


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        if tag not in {"meta", "br"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_sheet_shows_the_job_and_stands_alone() -> None:
    """Verdict as a word, readings with units, cautions; no script, no address, tags closed."""
    page = sheet()
    for wanted in ("pass", "Van 7", "31 mA", "35.6 mA", "own fuse", "2 A", "never splice", "days"):
        assert wanted in page
    parser = _Tags()
    parser.feed(page)
    assert parser.open == []
    assert not parser.seen & {"script", "img", "link", "iframe", "object"}
    assert not re.search(r"https?:|//", page)


def test_sheet_escapes_what_was_typed() -> None:
    """Markup in a label or a circuit's name stays text."""
    page = sheet(label=NASTY, circuit="<b>" + "x" * 20)
    assert "<script" not in page
    assert "<img" not in page
    assert "&lt;script&gt;" in page
    assert "<b>xx" not in page


def _judged(kind: str) -> AcceptanceAnswer:
    """Return the answer to a job that passes, fails in everything, or was hardly measured."""
    document = copy.deepcopy(EXAMPLE)
    document["scenario"]["run"]["draws"] = DRAWS
    document["job"]["label"] = "L"
    if kind == "fails":
        document["after"] = {"settled_a": 0.09, "minutes_after_key_off": 60}
        document["connection"] = {"fuse_a": 30, "wire_mm2": 0.5, "length_m": 6}
        document["power"]["name"] = "Belt"
        document["mounting"]["dry_and_cool"] = "no"
        document["sense_check"]["key_off_v"] = 3
        document["constant_check"]["voltage_v"] = 2
        document["job"]["days_needed"] = 300
        retest = {"date": "2026-12-02", "done": "D", "after": {"settled_a": 0.034}}
        document["retests"] = [retest]
    elif kind == "open":
        for table in ("mounting", "cautions", "sense_check", "constant_check", "first_start"):
            del document[table]
        del document["scenario"], document["connection"], document["job"]["date"]
        document["before"] = {"settled_a": 0.03, "minutes_after_key_off": 5}
        document["sense"]["cranking_v"] = 3
    return acceptance(job_record_from_dict(document, where="j"))


@pytest.mark.parametrize("kind", ["passes", "fails", "open"])
def test_every_word_can_be_said_in_another_language(kind: str) -> None:
    """Nothing but what the installer typed, units and a command's name stays as it is."""
    own = ("L", "Belt", "Fuse box slot 7 clock", "Ignition coil feed", "meter in series, 10 A jack")
    assert unmarked(text_of(job_sheet(_judged(kind), MARKED)), *own) <= {"mm"}


@pytest.mark.parametrize("kind", ["passes", "fails", "open"])
def test_every_language_shows_the_same_figures(kind: str) -> None:
    """Readings, limits and days are the English sheet's; page and title know their language."""
    answer = _judged(kind)
    english = figures(text_of(job_sheet(answer)))
    for code in LANGUAGES:
        page = job_sheet(answer, language(code))
        assert f'lang="{code}"' in page
        assert figures(text_of(page)) == english, code


def test_every_language_warns_as_loudly() -> None:
    """All cautions are on the sheet, translated; the first names airbag, brake and steering."""
    # Words of each language for the three systems, from memory.
    words = {
        "de": ("Airbag", "Bremse", "Lenkung", "niemals"),
        "fr": ("airbags", "freinage", "direction", "jamais"),
        "es": ("airbag", "frenos", "dirección", "nunca"),
        "it": ("airbag", "freni", "sterzo", "mai"),
        "nl": ("airbag", "remmen", "besturing", "nooit"),
        "pl": ("poduszek", "hamulców", "kierownicy", "nigdy"),
    }
    answer = _judged("passes")
    for code, wanted in words.items():
        page = text_of(job_sheet(answer, language(code)))
        said = [language(code)(caution) for caution in CAUTIONS]
        assert all(caution in page for caution in said)
        assert all(word in said[0] for word in wanted)


def test_temperatures_follow_the_unit_asked_for() -> None:
    """85 °C, at which the drop is reckoned, is 185 °F."""
    answer = _judged("passes")
    assert "85 °C" in job_sheet(answer)
    assert "185 °F" in job_sheet(answer, language("en", temperature_unit="F"))
