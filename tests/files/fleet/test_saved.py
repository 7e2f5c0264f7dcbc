"""Saved answers about columns: used again for the next export, refused when they are not ours."""

from pathlib import Path

import pytest

from drainsim.errors import FleetError
from drainsim.files.fleet.choosing import chosen_from, joined
from drainsim.files.fleet.saved import columns_from_text, columns_text, for_headings, read_columns


def test_answers_come_back_as_they_were(tmp_path: Path) -> None:
    """Written, read and narrowed to the headings of the next list."""
    said = {"Ruhestrom": "quiescent_a [mA]", "Notiz": "", "Weg": "id"}
    path = tmp_path / "columns.json"
    path.write_text(columns_text(said), "utf-8")
    assert read_columns(path) == said
    assert for_headings(said, ("Ruhestrom", "Notiz")) == (
        {"Ruhestrom": "quiescent_a [mA]", "Notiz": ""}, ["Weg"]
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a JSON file"),
        ("[" * 100_000, "not a JSON file"),
        ("[]", "no answers about columns"),
        ('{"format": "drainsim columns", "version": 2, "columns": {}}', "version 2 is not 1"),
        ('{"format": "drainsim columns", "version": 1, "columns": []}', "no table of headings"),
        ('{"format": "drainsim columns", "version": 1, "columns": {"a": 1}}', "text is needed"),
        ('{"format": "drainsim columns", "version": 1, "columns": {"a": "x"}}', "is not one of"),
        ('{"format": "drainsim columns", "version": 1, "columns": {}, "b": 1}', "unknown key"),
        (
            '{"format": "drainsim columns", "version": 1, "columns": {"a": "fuel [mA]"}}',
            "is not a unit of fuel",
        ),
    ],
)
def test_what_is_no_saved_answer_is_one_sentence(text: str, says: str) -> None:
    """A file of another kind, version or content is refused with what would be right."""
    with pytest.raises(FleetError, match=says):
        columns_from_text(text, where="columns.json")


def test_two_answers_to_one_column_stand_together() -> None:
    """The second question does not undo the first answer."""
    both = joined("parked_since [day first]", "parked_since [as planned]")
    found = chosen_from("Parked", both)
    assert (found.order, found.meanings) == ("dmy", (("planned", "yes"),))
    assert joined("quiescent_a [mA]", "capacity_ah [Ah]") == "capacity_ah [Ah]"
