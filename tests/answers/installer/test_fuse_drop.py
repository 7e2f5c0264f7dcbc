"""Millivolts across a fuse as a current, and what cannot be seen."""

import pytest

from drainsim.answers.installer.circuit.fuse_drop import fuse_drop
from drainsim.errors import OutOfRangeError


def test_published_chart_and_blind_spot() -> None:
    """1 mV on 10 A is 130 mA; at 0.1 mV a 5 mA unit cannot be seen."""
    # Training site's chart, printed to 10 mA.
    answer = fuse_drop(kind="medium", rating_a=10, drop_mv=1.0, wanted_a=0.005)
    assert answer.current_a == pytest.approx(0.130, abs=0.005)
    assert answer.low_a < answer.current_a < answer.high_a
    # Step of 0.1 mV: 13 mA at 10 A, 51 mA at 30 A, computed from the cold resistances.
    assert answer.step_a == pytest.approx(0.013, abs=0.001)
    assert answer.sees_wanted is False
    assert any("5 mA cannot be seen" in warning for warning in answer.warnings)
    wide = fuse_drop(kind="medium", rating_a=30, drop_mv=0.0)
    assert wide.step_a == pytest.approx(0.051, abs=0.001)
    assert "less than 51 mA" in wide.verdict


def test_finer_meter_and_smaller_fuse_see_more() -> None:
    """The visible step falls with the meter's and rises with the fuse."""
    steps = [
        fuse_drop(kind="mini", rating_a=rating, drop_mv=0.5, resolution_mv=mv).step_a
        for rating, mv in ((5, 0.01), (5, 0.1), (10, 0.1), (30, 0.1))
    ]
    assert steps == sorted(steps)
    assert fuse_drop(
        kind="F", rating_a=5, drop_mv=0.5, resolution_mv=0.01, wanted_a=0.005
    ).sees_wanted


def test_direction_does_not_matter_and_heat_is_warned_of() -> None:
    """Swapped leads give the same current; near the rating the chart no longer holds."""
    one, other = (fuse_drop(kind="medium", rating_a=5, drop_mv=mv) for mv in (2.0, -2.0))
    assert not any("sign" in warning for warning in one.warnings)
    assert any("sign is left out" in warning for warning in other.warnings)
    assert one.current_a == other.current_a
    assert any("hot" in w for w in fuse_drop(kind="medium", rating_a=5, drop_mv=80).warnings)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": "glass"}, "medium .* or mini"),
        ({"rating_a": 12.0}, "not in the medium table"),
        ({"drop_mv": 12000.0}, "blown"),
        ({"drop_mv": float("nan")}, "mv="),
        ({"resolution_mv": 0.0}, "resolution_mv"),
        ({"wanted_a": 0.0}, "looking_for"),
    ],
)
def test_impossible_readings_are_one_sentence(changes: dict[str, float], words: str) -> None:
    """A wrong fuse or reading is refused by name."""
    values = {"kind": "medium", "rating_a": 10.0, "drop_mv": 1.0, **changes}
    with pytest.raises(OutOfRangeError, match=words):
        fuse_drop(**values)  # type: ignore[arg-type]
