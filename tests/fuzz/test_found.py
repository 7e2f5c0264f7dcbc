"""Inputs that once broke a reader, found by fuzzing: each is now one sentence, or read."""

import json
import re

import pytest

from drainsim.answers.fleet.ageing_list import ageing_of
from drainsim.dashboard.forms import unpacked
from drainsim.dashboard.what_if.what_if import from_address, to_address
from drainsim.errors import DrainsimError, one_line
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.fuzz.readers import READERS, _packed_entries, outcome

_LOG = b"t [s];I [A]\n" + b"".join(b"%d;0.03\n" % (10 * n) for n in range(60))
_NEVER_STILL = b"t [s];I [A]\n" + b"".join(
    b"%s;%s\n" % tuple(pair.split(b":"))
    for pair in b"0:3.1 50:3.1 12.6:3.1 880:05 330:0.025 690:0.025 -190.6:0.025 740:0.025 750:0.025"
    b" 770:0.025 780:0.025 790:0.025 800:0.025 810:0. -190.6:0.025 710:0.025 720:0.025 860:0.025"
    b" 870:0.025 880:0.025 890:0.025".split()
)
_PROFILE = READERS["profile"].seeds[0]
_WORKBOOK = READERS["fleet-xlsx"].seeds[0]
_NO_ROWS = (
    READERS["readings-xlsx"].seeds[0].replace(b'<worksheet xmlns="', b'<worksheet xmlns="x', 1)
)

FOUND = [
    ("trips", b"id;start;end\na\rb;1;2\n", "not a readable CSV file: new-line character"),
    ("trips", b"id;start;minutes\na;2026-11-02;1e300\n", "not a number of minutes above 0"),
    ("trips", b"id;start;minutes\na;2026-11-02;99999999999999\n", "not a number of minutes"),
    ("trips", b"id,start,minutes\na,9999-12-31 23:59,20\n", "is not a time like"),
    ("hourly-csv", b"time,temp_c\n" + b"9999-12-31 22:00,1\n" * 50, "is not a time like"),
    ("circuits", b'\n""', "the file is empty"),
    ("job-record", b'{"format": 1, "power": {"name": "a", "class": "always_hot", "fuse_a": 1%s}}'
     % (b"0" * 400), "is not a number in A"),
    ("job-record", b'{"format": 1, "predicted": {"a": 1%s}}' % (b"0" * 400),
     "predicted.a: a number"),
    ("job-record", b'{"format": 1, "job": {"label": "\\ud800"}}', "half of a character"),
    ("job-record", b'{"format": 1, "job": {"label": "\xff"}}', "half of a character"),
    ("job-record", b'{"format": 1, "job": {}, "job": {}}', "'job' stands twice"),
    ("complaint", b'{"format": 1, "\\udc80": 1}', "half of a character"),
    ("profile", re.sub(rb"\[\[[^]]*\]", b"[[0, 1" + b"0" * 400 + b"]", _PROFILE, count=1),
     "must be a list of"),
    ("current-log", _LOG + b"9%s;0.03\n" % (b"0" * 40), "the log would last"),
    ("current-log", b"\xff\xfe", "the file is empty"),
    ("current-log", b"\n" * 300_000 + _LOG, "lines are empty; begin with a heading"),
    ("current-log", _NEVER_STILL, "answer"),
    ("set", b"a" * 3000, "write it as key=value"),
    ("set", b"battery.\x1b[2J=1", "unknown key"),
    ("readings", b"id,time,voltage\nA,99999999999999999999,12.4\n", "no readable time"),
    ("readings", b"id,time,voltage\nA,1790000000," + b"9" * 400 + b"\n", "not a number"),
    ("readings-xlsx", _NO_ROWS, "no column of times found"),
    ("fleet-xlsx", _WORKBOOK.replace(b"<row r=\"3\"", b"<row r=\"2000000\"", 1), "a row beyond"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content", "says"), FOUND, ids=lambda value: str(value)[:30])
def test_what_once_broke_a_reader_is_now_a_sentence(name: str, content: bytes, says: str) -> None:
    """The sentence says what is wrong."""
    reader = READERS[name]
    assert says in outcome(reader, reader.wrap(content))


def test_half_of_a_character_in_an_address_is_not_taken() -> None:
    """It could not be written back into the address: the page would break."""
    assert unpacked(_packed_entries(b'{"a": "\\ud800"}').decode()) is None
    assert unpacked(_packed_entries(b'{"a": "\\u00e4"}').decode()) == {"a": "ä"}


@pytest.mark.parametrize(
    "sentence", ["a\nb", "a\r\x1b[31mb", "a\u2028b", "a\u202eb", "\ud800", "long" * 5000, "\x00"]
)
def test_any_message_is_one_line_that_no_terminal_obeys(sentence: str) -> None:
    """Line breaks, escapes, turned writing and novels quoted from a file are taken out."""
    said = str(DrainsimError(sentence))
    assert said.isprintable()
    assert len(said) < 800
    said.encode()


def test_a_plain_message_is_left_alone() -> None:
    """Units, accents and quotation marks are printable; both ends of a long sentence are kept."""
    assert one_line("±0.5 µA at 20 °C: 'é'") == "±0.5 µA at 20 °C: 'é'"
    long = "file.csv: " + "x" * 5000 + "; write it like 12.5"
    assert one_line(long).startswith("file.csv: ")
    assert one_line(long).endswith("; write it like 12.5")


def test_a_long_number_in_an_address_reads_back() -> None:
    """It was written with six figures, and the same address then gave another answer."""
    query = {"quiescent_ma": "25.5555555555555555", "capacity_ah": "70"}
    base, choices, _ = from_address(query)
    assert from_address(to_address(base, choices))[1] == choices
    assert to_address(base, choices)["capacity_ah"] == "70"


def test_a_worn_out_pair_has_a_health_left() -> None:
    """The weaker of two spent batteries came out below nothing, and its years not a number."""
    tables = {"battery": {"capacity_ah": 60, "system": "24V", "age_years": 19.8}, "pattern": {}}
    scenario = scenario_from_dict({**tables, "run": {"draws": 100}})
    battery = resolve(scenario).battery
    assert min(battery.cranking_health, battery.capacity_health) > 0.0
    json.dumps(ageing_of(scenario, winters=1).as_dict(), allow_nan=False)
