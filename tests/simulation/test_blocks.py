"""Short blocks only while charge moves: no answer waits for batteries that are empty."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.standing.park import run_draws
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.blocks import STEPS_H, Pace, block_h, case_block_h, choose_step_h
from drainsim.simulation.lanes import lanes_from_draws, loads_of, nominal_draws
from drainsim.simulation.standing import stepped_stand
from tests.build import case_of


def _blocks_run(monkeypatch: pytest.MonkeyPatch, tables: dict[str, Any]) -> tuple[int, Any]:
    """Return how many blocks the draws of a scenario took, and the stand."""
    lengths: list[float] = []
    plain = stepped_stand.SteppedStand.block

    def counting(run: Any, from_h: float, hours: float) -> float:
        lengths.append(hours)
        return plain(run, from_h, hours)

    monkeypatch.setattr(stepped_stand.SteppedStand, "block", counting)
    case = case_of({"run": {"draws": 100, "horizon_days": 180}, **tables})
    found = run_draws(case, curves_of(case), course=True)  # to the end
    assert sum(lengths) == pytest.approx(24.0 * 180)
    return len(lengths), found


@pytest.mark.parametrize("quiescent_a", [3.0, 14.0, 50.0])
def test_a_heavy_draw_takes_no_more_blocks_than_it_takes_to_empty(
    monkeypatch: pytest.MonkeyPatch, quiescent_a: float
) -> None:
    """A heavy draw takes no more blocks than it takes to empty."""
    tables = {"battery": {"capacity_ah": 60}, "vehicle": {"quiescent_a": quiescent_a}}
    blocks, found = _blocks_run(monkeypatch, tables)
    assert blocks < 1000  # 3 A at half an hour each would be 8,640, 50 A at a minute 259,200
    # What is drawn is what was there: 1 Ah is 1 A for 1 h, whatever the blocks.
    hours = np.where(np.isfinite(found.empty_h), found.empty_h, 0.0)
    assert (hours > 0.0).all()
    assert_allclose(found.balance.left_ah, 0.0, atol=1e-9)


def test_a_charger_against_a_heavy_draw_is_bounded_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """A charger against a heavy draw is bounded too."""
    tables = {
        "battery": {"capacity_ah": 60},
        "vehicle": {"quiescent_a": 6.0},
        "solar": {"panel_w": 1000, "latitude_deg": 45},
    }
    blocks, _ = _blocks_run(monkeypatch, tables)
    assert blocks < 4000


@pytest.mark.parametrize("step_h", [24.0, 6.0, 0.5, 0.25, 0.1, 1 / 60])
def test_the_blocks_of_a_day_are_a_day(step_h: float) -> None:
    """The blocks of a day are a day."""
    pace = Pace(step_h)
    for day in range(40):
        until_h = 24.0 * day
        for from_h, hours in pace.blocks(24.0 * day):
            assert from_h == pytest.approx(until_h)
            until_h = from_h + hours
            pace.moved(0.02 if day % 3 else 0.0)
        assert until_h == pytest.approx(24.0 * (day + 1))


@pytest.mark.parametrize("longest_h", STEPS_H)
def test_a_day_is_so_many_whole_blocks(longest_h: float) -> None:
    """Whatever the charge asks for, no block reaches over midnight."""
    hours = block_h(0.03 / (longest_h * 1.000001)), block_h(0.03 / (longest_h * 0.999999))
    assert hours[0] == longest_h
    assert_allclose(24.0 / np.array(hours), np.rint(24.0 / np.array(hours)))


@pytest.mark.parametrize("quiescent_a", [0.01, 0.3, 3.0])
@pytest.mark.parametrize("unit_factor", [0.2, 1.0, 40.0])
def test_a_lane_and_its_case_ask_for_the_same_blocks(
    quiescent_a: float, unit_factor: float
) -> None:
    """At most 3 % of the charge moves in one: the load over the full charge decides."""
    case = case_of(
        {
            "battery": {"capacity_ah": 60},
            "vehicle": {"quiescent_a": quiescent_a},
            "unit": {"sleep_a": 0.005},
        }
    )
    lanes = lanes_from_draws(case, nominal_draws(1), varied={})
    hours = choose_step_h(replace(lanes, unit_factor=np.array([unit_factor])), loads_of(case))
    assert unit_factor != 1.0 or hours == case_block_h(case)
    drawn_a = quiescent_a + unit_factor * case.unit.normal_current_a
    share = drawn_a * hours / case.battery.full_charge_ah
    assert share <= 0.03
    assert hours == 24.0 or share > 0.01  # no shorter than need be


@pytest.mark.parametrize(
    ("days", "draws", "hours"),
    [(30, 100, 1.0), (365, 100, 6.0), (365, 5000, 12.0)],
)
def test_answers_by_the_day_take_hours_and_no_more_than_so_many_blocks(
    days: int, draws: int, hours: float
) -> None:
    """A draw that asks for half hours gets an hour; 2000 blocks and 5 million of all draws last."""
    case = case_of(
        {
            "battery": {"capacity_ah": 60},
            "vehicle": {"quiescent_a": 3.0},
            "run": {"horizon_days": days, "draws": draws},
        }
    )
    assert case_block_h(case) < 1.0
    assert case_block_h(case, by_day=True) == hours
    assert 24.0 % hours == 0.0


@pytest.mark.parametrize("draw", ["quiescent", "other", "unit"])
def test_whoever_draws_it_a_current_takes_the_same_blocks(draw: str) -> None:
    """3 A of a full 60 Ah move 3 % in about half an hour, whether vehicle, lamp or unit."""
    tables: dict[str, Any] = {"battery": {"capacity_ah": 60}, "vehicle": {"quiescent_a": 0.0}}
    if draw == "quiescent":
        tables["vehicle"]["quiescent_a"] = 3.0
    elif draw == "other":
        tables["other"] = [{"name": "lamp", "current_a": 3.0}]
    else:
        tables["unit"] = {"sleep_a": 3.0, "report_charge_as": 0.0}
    case = case_of(tables)
    assert case_block_h(case) == block_h(3.0 / case.battery.full_charge_ah) == 0.5
