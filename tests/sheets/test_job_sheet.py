"""The printable job sheet: everything on it, nothing from outside, nothing live."""

import copy
import json
import re
from html.parser import HTMLParser
from typing import Any

from drainsim.answers.installer.acceptance import acceptance
from drainsim.files.examples import example_text
from drainsim.sheets.job_sheet import job_sheet
from drainsim.vehicle.documents.job_record import job_record_from_dict
from tests.build import DRAWS

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
