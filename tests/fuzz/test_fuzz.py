"""A small seeded set of hostile inputs for every reader; `run.py` tries many more."""

import pytest

from tests.fuzz.readers import READERS, outcome
from tests.fuzz.run import fuzz

INPUTS = 150


@pytest.mark.parametrize("name", READERS)
def test_seeds_are_answered(name: str) -> None:
    """What is mutated is valid to begin with: else only the first check would be tried."""
    reader = READERS[name]
    for seed in reader.seeds:
        told = outcome(reader, reader.wrap(seed))
        assert told == "answer" or name.startswith(("address", "fleet-", "readings")), told


@pytest.mark.parametrize("name", READERS)
def test_hostile_input_ends_in_an_answer_or_one_sentence(name: str) -> None:
    """No other exception, no sentence of two lines or of a page."""
    report = fuzz(READERS[name], tries=INPUTS, seed=20)
    assert not report.failures, next(iter(report.failures.values()))[1]
    assert report.tried == INPUTS


def test_the_fuzzer_finds_a_reader_that_breaks() -> None:
    """A reader that trips over a NUL, or answers in two lines, is reported with its input."""
    from drainsim.errors import RecordError
    from tests.fuzz.readers import Reader

    def trips(content: bytes) -> None:
        if b"\x00" in content:
            raise ZeroDivisionError
        if b";" in content:
            error = RecordError("said in")
            error.args = ("said in\ntwo lines",)
            raise error

    report = fuzz(Reader(seeds=(b"a,b\n1,2\n",), read=trips), tries=600, seed=1)
    assert {name.split(" ")[0] for name in report.failures} == {
        "ZeroDivisionError",
        "AssertionError",
    }
    assert all(content for content, _ in report.failures.values())
