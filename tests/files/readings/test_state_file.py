"""What a morning leaves for the next: read back as it was, or one sentence."""

import json
from pathlib import Path

import pytest

from drainsim.errors import DrainsimError, ReadingsError
from drainsim.files.readings.state_file import read_state, state_from_bytes, state_text, write_state

STATE = {"now_s": 1.7e9 + 0.1, "vehicles": {"VA-1 é": {"time_s": [0.1, 1e-300, 3.0], "none": None}}}


def test_a_state_reads_back_to_the_last_bit(tmp_path: Path) -> None:
    """Also one that stands where another stood; no file yet is a first morning."""
    path = tmp_path / "morning.json"
    assert read_state(path) is None
    write_state(path, {"now_s": 1.0})
    write_state(path, STATE)
    assert read_state(path) == STATE
    assert [file.name for file in tmp_path.iterdir()] == ["morning.json"]


def test_a_state_of_another_format_says_so() -> None:
    """One of a newer drainsim asks for an update; format 1 is read."""
    text = state_text(STATE)
    assert '{"format": 1' in text
    with pytest.raises(ReadingsError, match="written by a newer drainsim"):
        state_from_bytes(text.replace('"format": 1', '"format": 2').encode(), where="m")


@pytest.mark.parametrize(
    "text",
    [
        "", "{}", "[1, 2]", "id,ah\na,60\n", '{"format": 1, "battery": {}}', "[" * 100_000,
        state_text(STATE)[:-40],
        state_text(STATE).replace("3.0", "3.5"),
        state_text(STATE).replace("3.0", "NaN"),
        state_text(STATE).replace("3.0", "1e999"),
        json.dumps({"format": 1, "kind": "forecast state", "sha256": "0", "state": {}}),
    ],
)  # fmt: skip
def test_a_foreign_or_changed_file_is_one_sentence(text: str) -> None:
    """It says what would be right: a file that --state wrote, or a new one."""
    with pytest.raises(ReadingsError, match=r"^m: .*begin from all readings") as caught:
        state_from_bytes(text.encode(), where="m")
    assert len(str(caught.value)) < 300


def test_a_place_that_cannot_be_written_keeps_what_was_there(tmp_path: Path) -> None:
    """A folder of that name is told, not replaced."""
    (tmp_path / "m").mkdir()
    with pytest.raises(DrainsimError, match="this is a folder"):
        write_state(tmp_path / "m", STATE)
