"""The back-test in small, and in full as a nightly run: shares with their binomial tolerance."""

import os

import numpy as np
import pytest

from tests.readings_truth.back_test import SEEN_FROM, changing_rows, scores, standing_rows
from tests.readings_truth.scoring import chance

pytestmark = pytest.mark.slow
_STANDS = int(os.environ.get("DRAINSIM_STANDS", "100"))  # 400 by hand


@pytest.mark.parametrize("step_v", [0.01, pytest.param(0.1, marks=pytest.mark.nightly)])
def test_healthy_bands_hold_and_are_worth_having(step_v: float) -> None:
    """Twenty-four unlike vehicles: the truth lies in the 80 % band about as often as it says.

    Tolerance: three standard deviations of a binomial share, beside the 4 points the full
    back-test allows. After two weeks the error is below that without readings, the band narrower.
    """
    for rows in standing_rows(24, 11, step_v=step_v, nights=(2, 14)):
        s = scores(rows)
        few = chance(0.8, int(s["count"]))
        most = max(0.84, s["inside_bare"])
        assert 0.76 - few <= s["inside"] <= most + few, f"night {s['night']:.0f}: {s}"
        assert s["accused"] <= 0.01 + chance(0.01, int(s["count"]))
    assert s["rmse"] < s["rmse_bare"]
    assert step_v > 0.01 or s["band"] < 0.9


def test_faulty_from_the_beginning() -> None:
    """80 to 350 mA beyond the expected: most are found by the fourth night, in narrow bands."""
    (rows,) = standing_rows(32, 13, kind="faulty", step_v=0.01, nights=(4,))
    mid = (rows["extra_a"] >= 0.08) & (rows["extra_a"] <= 0.35)
    found = (rows["probability"] > SEEN_FROM)[mid]
    # Guide: 93 % by day 4.
    assert found.mean() >= 0.93 - chance(0.93, int(mid.sum()))
    s = scores({key: value[mid] for key, value in rows.items()})
    assert s["band"] <= 0.3
    assert s["rmse"] < 0.5 * s["rmse_bare"]


def test_a_drain_that_begins_inside_a_stand() -> None:
    """120 mA from day 10 on: seen by the third morning in most, and dated within days."""
    (rows,) = changing_rows(24, 14, extra_a=0.12, step_v=0.01, nights=(13,), workers=1)
    found = rows["probability"] > SEEN_FROM
    assert found.mean() >= 0.95 - chance(0.95, len(found))
    assert np.nanmedian(np.abs(rows["since_off"][found])) < 1.5


@pytest.mark.nightly
@pytest.mark.parametrize("step_v", [0.01, 0.1])
def test_many_stands(step_v: float) -> None:
    """76 to 84 % inside after 2, 7 and 21 nights; errors below those without readings.

    Where more of the sample lies inside the band without any reading, so may it with them. Errors
    are below those of a straight line that knows at which voltage this battery type truly fails.
    Bands learned on the truth itself are .61 of those without readings after three weeks, with an
    interval score of 24.8 days (`best_possible`): .63 (.73 at 0.1 V) was wished for, .72 (.75) is
    reached with a score of 25.8.
    """
    for rows in standing_rows(_STANDS, 1, step_v=step_v, nights=(2, 7, 21), workers=2):
        s = scores(rows)
        few = chance(0.8, int(s["count"]), 2.0)
        most = max(0.84, s["inside_bare"])
        assert 0.76 - few <= s["inside"] <= most + few, f"night {s['night']:.0f}: {s}"
        assert s["rmse"] <= min(s["rmse_bare"] * 1.02, s["rmse_line"] * 1.05)  # by chance
    assert s["band"] <= (0.75 if step_v == 0.01 else 0.79)
    assert s["interval"] <= (28.0 if step_v == 0.01 else 31.0)


@pytest.mark.nightly
@pytest.mark.parametrize("step_v", [0.01, 0.1])
def test_healthy_long_stands_are_not_accused(step_v: float) -> None:
    """At most 1 % of healthy 30-day stands are accused on any of these mornings."""
    rows = changing_rows(
        _STANDS, 5, extra_a=0.0, step_v=step_v, nights=(3, 7, 10, 15, 20, 25, 30), workers=2
    )
    accused = np.any([one["probability"] > SEEN_FROM for one in rows], axis=0)
    assert accused.mean() <= 0.01 + chance(0.01, len(accused), 2.0)
