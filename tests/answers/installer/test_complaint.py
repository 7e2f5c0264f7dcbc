"""Complaint desk: the parts add up, and the odds move the way they must."""

import copy
import json
import re
from typing import Any

import pytest

import drainsim
from drainsim.answers.installer.complaint import ComplaintAnswer, answer_complaint
from drainsim.errors import DrainsimError
from drainsim.files.examples import example_text
from drainsim.vehicle.documents.complaint import complaint_from_dict
from tests.build import DRAWS

EXAMPLE: dict[str, Any] = json.loads(example_text("complaint.json"))


def answer(
    *, happened: dict[str, Any] | None = None, test: dict[str, Any] | None = None, **record: Any
) -> ComplaintAnswer:
    """Return the answer to the example with keys changed; `test` replaces the battery test."""
    document = copy.deepcopy(EXAMPLE)
    document["record"]["scenario"]["run"] = {"draws": 2 * DRAWS}
    document["happened"].update(happened or {})
    if test is not None:
        document["battery_test"] = test
    for name, values in record.items():
        document["record"][name] = {**document["record"].get(name, {}), **values}
    return answer_complaint(complaint_from_dict(document, where="c.json"))


@pytest.mark.parametrize("test", [{}, {"resting_v": 12.15}, {"health": 0.6}])
def test_parts_add_up_to_what_is_missing(test: dict[str, Any]) -> None:
    """Vehicle, unit, self-discharge and missing charge balance."""
    found = answer(test=test)
    assert sum(share.ah for share in found.shares) == pytest.approx(found.total_missing_ah)
    assert found.total_missing_ah == pytest.approx(found.full_ah - found.left_ah, abs=1e-9)
    assert sum(share.share for share in found.shares) == pytest.approx(1.0)
    # 31 days at the vehicle's and the unit's own means; the unit's supply stage and the key-off
    # stages (0.3 Ah and more) are the difference.
    parts = {share.part: share.ah for share in found.shares}
    assert parts["unit"] == pytest.approx(found.unit_mean_a * 24 * 31, rel=0.1)
    assert parts["vehicle"] == pytest.approx(found.vehicle_mean_a * 24 * 31, rel=0.1)
    assert all(share.low_ah <= share.high_ah for share in found.shares)


def test_without_the_unit_it_never_fails_more() -> None:
    """Common random numbers: every draw that fails without the unit fails with it."""
    for days in (5, 20, 31, 60):
        found = answer(happened={"parked_days": days}, test={})
        assert found.probability_without_unit <= found.probability_with_unit
        if found.probability_with_unit > 0.0:
            expected = found.probability_without_unit / found.probability_with_unit
            assert found.probability_without_given_failed == pytest.approx(expected)


@pytest.mark.parametrize("current_a", [0.05, 0.5])
def test_what_a_charger_brought_back_is_no_part_of_what_went(current_a: float) -> None:
    """A share of a whole lies between 0 and 1, also where the charger left nothing missing."""
    found = answer(test={}, scenario={"maintainer": {"current_a": current_a}})
    shares = {one.part: one.share for one in found.shares}
    brought = shares.pop("other")
    assert sum(shares.values()) == pytest.approx(1.0)
    assert all(0.0 <= share <= 1.0 for share in shares.values())
    assert -1.0 <= brought < 0.0
    assert found.missing_share == pytest.approx(1.0 + brought)
    assert f"{100 * shares['unit']:.0f} % of what would be missing" in found.verdict


def test_driving_before_the_event_leaves_what_it_leaves_elsewhere() -> None:
    """One vehicle, one answer: a record with a pattern has the odds `park` gives of it."""
    scenario = {**EXAMPLE["record"]["scenario"], "run": {"draws": 2 * DRAWS, "horizon_days": 31}}
    scenario["pattern"] = {"trips_per_week": 4, "trip_minutes": 10}
    event = {"parked_days": 31, "temperature_c": 1}
    scenario["vehicle"] = {"preset": "panel_van_diesel", "quiescent_a": 0.02, "wake_ups": []}
    found = answer(
        happened=event,
        test={},
        scenario={"pattern": scenario["pattern"], "vehicle": scenario["vehicle"]},
        before={"settled_a": 0.02},
        after={"settled_a": 0.02, "minutes_after_key_off": 10},
        unit={"mean_a": 0.0045},
    )
    unit = {"sleep_a": 0.0045, "report_charge_as": 0.0}
    site = {**scenario["site"], "temperature_c": 1.0}
    for told, tables in (
        (found.probability_with_unit, {**scenario, "site": site, "unit": unit}),
        (found.probability_without_unit, {**scenario, "site": site, "unit": {}}),
    ):
        tables = {key: table for key, table in tables.items() if table}
        parked = drainsim.park(**tables)
        assert told == pytest.approx(parked.course.probability_no_start[31], abs=0.03)


def test_odds_follow_cause() -> None:
    """A hungry unit takes the blame, a poor battery takes it away, long stands take all."""
    modest = answer(test={})
    # 0.25 A, the trade's check value for a unit that never sleeps: 6 Ah a day.
    hungry = answer(test={}, after={"settled_a": 0.281}, unit={"mean_a": 0.25, "sleep_a": 0.25})
    assert hungry.largest == "unit"
    assert hungry.probability_without_given_failed is not None
    assert modest.probability_without_given_failed is not None
    assert hungry.probability_without_given_failed < modest.probability_without_given_failed
    worn = answer(test={"health": 0.45})
    assert worn.probability_without_unit > modest.probability_without_unit
    long = answer(test={}, happened={"parked_days": 200})
    assert long.probability_without_given_failed == pytest.approx(1.0)


def test_resting_voltage_narrows_the_case() -> None:
    """A low reading means more was missing; one that fits nothing is left out and told."""
    high, low = (answer(test={"resting_v": v}) for v in (12.35, 12.1))
    assert high.used_reading
    assert low.used_reading
    assert low.total_missing_ah > high.total_missing_ah
    assert low.probability_with_unit > high.probability_with_unit
    # 100 % found charge after 31 days of drain: it was charged meanwhile.
    odd = answer(test={"resting_v": 13.2})
    assert not odd.used_reading
    assert odd.reading_fits is False
    assert odd.unexplained_ah < 0.0
    assert next(one.name for one in odd.candidates) == "charged meanwhile"


def test_a_reading_that_does_not_fit_is_the_answer() -> None:
    """11.3 V found: charge is missing that nothing in the record explains; no shares, no odds."""
    found = answer(test={"resting_v": 11.3})
    assert found.verdict.startswith("The readings do not fit: an unexplained ")
    assert "%" not in found.verdict
    assert found.probability_without_given_failed is None
    assert found.reading_fits is False
    assert found.fitting_draws is not None
    assert found.fitting_draws < 30
    # Found empty: what is left by the record alone is what is unexplained.
    record = answer(test={})
    assert found.unexplained_ah == pytest.approx(record.left_ah, rel=0.05)
    assert f"{found.unexplained_ah:.1f} Ah is missing" in found.verdict
    assert found.left_ah == pytest.approx(0.0, abs=1.0)
    assert sum(share.ah for share in found.shares) == pytest.approx(found.total_missing_ah)
    assert found.total_missing_ah == pytest.approx(found.full_ah - found.left_ah, abs=1e-9)
    said = {one.name: one for one in found.candidates}
    assert set(said) == {"shorted cell", "load left on", "worn battery", "reading"}
    assert all(one.test for one in found.candidates)
    # 31 days of the missing charge, as a current.
    extra_ma = 1000 * found.unexplained_ah / (31 * 24)
    assert f"{extra_ma:.0f} mA all the time" in said["load left on"].text
    assert record.reading_fits is None
    assert record.fitting_draws is None
    assert record.candidates == ()
    assert record.unexplained_ah == 0.0


def test_a_shorted_cell_is_told_by_its_volts() -> None:
    """Five healthy cells of 2.12 V read 10.6 V at most: 10.4 V fits one, 11.3 V does not."""
    for volts, words in ((10.4, "fits one"), (11.3, "at most a cell that leaks")):
        found = answer(test={"resting_v": volts})
        cell = next(one for one in found.candidates if one.name == "shorted cell")
        assert words in cell.text


def test_the_capacity_that_would_explain_a_reading_does() -> None:
    """A battery of the capacity named, in the record, ends where the voltage was found."""
    found = answer(test={"resting_v": 11.3}, happened={"state_of_charge": 0.9})
    worn = next(one for one in found.candidates if one.name == "worn battery")
    holds_ah = float(re.search(r"holds (\d+) Ah", worn.text).group(1))  # type: ignore[union-attr]
    again = answer(test={"capacity_ah": holds_ah}, happened={"state_of_charge": 0.9})
    assert again.left_ah / again.full_ah == pytest.approx(0.0, abs=0.12)


def test_an_unlikely_no_start_points_elsewhere() -> None:
    """A fresh, full battery after a day: look for another cause."""
    found = answer(
        happened={"parked_days": 1, "temperature_c": 20, "state_of_charge": 1.0},
        test={"health": 1.0},
    )
    assert found.probability_with_unit < 0.05
    assert any("look for a load" in warning for warning in found.warnings)


def test_answer_is_reproducible_json() -> None:
    """The same complaint gives the same numbers, and they are JSON."""
    one, two = (json.dumps(answer().as_dict(), allow_nan=False) for _ in range(2))
    assert one == two
    assert json.loads(one)["missing_ah"]["total"] > 0.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"happened": {"parked_days": 0}}, "parked_days"),
        ({"test": {"cold_cranking_a": 2400}}, "battery_test.cold_cranking_a"),
        ({"test": {"volts": 12}}, "battery_test.volts: unknown key"),
        ({"happened": {"temperature_c": 99}}, "temperature_c"),
    ],
)
def test_bad_complaints_are_one_sentence(changes: dict[str, Any], words: str) -> None:
    """A wrong value is refused by name."""
    with pytest.raises(DrainsimError, match=words):
        answer(**changes)


def test_a_voltage_found_afterwards_is_read_on_each_draws_own_curve() -> None:
    """An AGM found at 12.0 V: makes differ by a quarter of the charge, and the note says so."""
    # AGM at 12.0 V: 43 % (measured 17 Ah), 35 % (a pure-lead maker), 25 % (motorcycle maker),
    # 20 to 30 % (snowmobile maker).
    document = copy.deepcopy(EXAMPLE)
    document["record"]["scenario"]["run"] = {"draws": 2 * DRAWS}
    document["record"]["scenario"]["battery"]["profile"] = "agm"
    document["battery_test"] = {"resting_v": 12.0}
    found = answer_complaint(complaint_from_dict(document, where="c.json"))
    note = next(w for w in found.warnings if "found afterwards" in w)
    numbers = re.search(r"about (\d+) % charge \((\d+) to (\d+) % between makes\)", note)
    assert numbers is not None
    middle, low, high = (int(number) for number in numbers.groups())
    assert low < 25 < middle < 35
    assert high >= 43
