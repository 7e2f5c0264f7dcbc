"""A log as an answer: its JSON, its warnings and the scenario made from it."""

import json

import numpy as np
import pytest

from drainsim.answers.installer.current_log import CurrentLogAnswer, current_log, measured_scenario
from drainsim.answers.installer.wake_up_cost import wake_up_cost
from drainsim.answers.standing.park import park
from drainsim.errors import RecordError, ScenarioError
from drainsim.files.current_log.reader import log_from_bytes
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict, scenario_from_text
from tests.build import DRAWS
from tests.synthetic_log import PERIOD_S, PULSE_AS, SETTLED_A, as_csv, parked_log


def answer(**options: float) -> CurrentLogAnswer:
    """Return the answer to a synthetic log."""
    return current_log(log_from_bytes(as_csv(*parked_log(**options)), where="log.csv"))  # type: ignore[arg-type]


def test_json_has_the_promised_keys() -> None:
    """The keys of the issue, with the truth in them."""
    found = json.loads(json.dumps(answer().as_dict(), allow_nan=False))
    assert found["asleep"] is True
    assert found["settled_a"] == pytest.approx(SETTLED_A, abs=0.001)
    assert found["settled_uncertainty_a"] == pytest.approx(0.0005, abs=0.0005)
    assert found["time_to_sleep_min"] == pytest.approx(45.0, abs=0.5)
    assert found["wake_ups"]["period_min"] == pytest.approx(10.0, rel=0.05)
    assert found["wake_ups"]["charge_as"] == pytest.approx(PULSE_AS, rel=0.05)
    assert found["mean_a"] == pytest.approx(SETTLED_A + PULSE_AS / 600.0, rel=0.05)
    assert len(found["stages"]) >= 3
    assert found["warnings"]


def test_too_short_says_keep_measuring() -> None:
    """A log of half an hour has no settled current, and says what to do."""
    found = answer(hours=0.5).as_dict()
    assert found["asleep"] is False
    assert found["settled_a"] is None
    assert "keep measuring" in found["verdict"]
    with pytest.raises(RecordError, match="keep measuring"):
        measured_scenario(answer(hours=0.5))


def test_coarse_meter_and_high_level_are_warned_of() -> None:
    """A 10 mA step on 32 mA, and a level no maker accepts, are said in words."""
    coarse = " ".join(answer(resolution_a=0.01, noise_a=0.004).warnings)
    assert "step is 10 mA" in coarse
    assert "investigate" in " ".join(answer(settled_a=0.2).warnings)
    assert "investigate" not in coarse


def test_scenario_carries_the_log_as_measured() -> None:
    """The written scenario reads back with origin measured and the log's mean draw."""
    found = answer()
    text = measured_scenario(found).to_toml()
    scenario = scenario_from_text(text, where="out.toml")
    case = resolve(scenario)
    origins = {item.name: item.origin for item in case.assumptions}
    assert origins["vehicle.quiescent_a"] == "measured"
    assert origins["vehicle.key_off_stages"] == "measured"
    mean = case.vehicle.quiescent_a + case.vehicle.wake_up_a
    assert mean == pytest.approx(found.findings.mean_a, rel=0.05)
    # 5 min at 3 A and 40 min at 0.3 A, above the settled current.
    key_off_as = 300.0 * (3.0 - SETTLED_A) + 2400.0 * (0.3 - SETTLED_A)
    assert case.vehicle.key_off_ah == pytest.approx(key_off_as / 3600.0, rel=0.02)
    assert (
        case.vehicle.quiescent_sigma
        < resolve(scenario_from_dict({"battery": {}})).vehicle.quiescent_sigma
    )


def test_a_value_chosen_anew_is_no_longer_measured() -> None:
    """Changing a measured value, or taking it out, drops it from the measured ones."""
    scenario = measured_scenario(answer())
    for value in (0.05, None):
        changed = scenario.with_values({"vehicle.quiescent_a": value})
        again = scenario_from_text(changed.to_toml(), where="again")
        assert "vehicle.quiescent_a" not in again.origins
        assert "vehicle.key_off_stages" in again.origins
    with pytest.raises(ScenarioError, match=r"measured.keys.*not a key"):
        resolve(scenario_from_dict({"battery": {}, "measured": {"keys": "vehicle.quiescent_a"}}))


def test_what_the_log_measured_decides_where_it_goes() -> None:
    """With the unit in the log the unit leaves the scenario; alone it fills the unit."""
    base = scenario_from_dict({"battery": {"capacity_ah": 70}, "unit": {"preset": "hourly"}})
    total = measured_scenario(answer(), base=base, log_of="total")
    assert not total.has("unit")
    assert total.get(BATTERY.capacity_ah) == 70
    alone = measured_scenario(answer(settled_a=0.004, noise_a=0.0005), base=base, log_of="unit")
    unit = resolve(alone).unit
    assert unit.normal_current_a == pytest.approx(0.004 + 20 * (0.45 - 0.004) / 600, rel=0.05)
    assert alone.origins["unit.sleep_a"] == "measured"
    with pytest.raises(RecordError, match="--log-of"):
        measured_scenario(answer(), log_of="car")


def test_reports_are_told_from_wake_ups_by_their_interval() -> None:
    """Given its interval the unit's report is named; a wrong interval is said to be absent."""
    time, current = parked_log(hours=10.0, step_s=2.0, noise_a=0.0005)
    report = (time > 3200.0) & ((time - 3200.0) % 3600.0 < 40.0)
    log = log_from_bytes(as_csv(time, np.where(report, SETTLED_A + 0.05, current)), where="x")
    found = current_log(log, report_every_min=60.0)
    assert found.unit_reports is not None
    assert found.unit_reports.charge_as == pytest.approx(2.0, rel=0.1)
    assert found.wake_ups is not None
    assert found.wake_ups.period_s == pytest.approx(600.0, rel=0.05)
    wrong = current_log(log, report_every_min=25.0)
    assert wrong.unit_reports is None
    assert any("every 25 min" in warning for warning in wrong.warnings)


def test_a_charger_or_an_unzeroed_clamp_is_refused() -> None:
    """A settled current on the wrong side of zero is no quiescent current."""
    time, current = parked_log()
    csv = as_csv(time, np.where(time < 5400, current, -0.02))
    log = log_from_bytes(csv, where="log.csv")
    assert log.turned  # most of its later half is negative
    raw = as_csv(time, np.where((time > 3000) & (time < 6500), -0.05, current + 0.1))
    with pytest.raises(RecordError, match="zero the clamp"):
        current_log(log_from_bytes(raw, where="log.csv"))


def test_wake_ups_cost_their_share_and_their_days() -> None:
    """Pulses of known charge: their share, and a stand without them against one with them."""
    base = scenario_from_dict({"battery": {}, "run": {"draws": DRAWS}}, where="v.toml")
    found = answer(hours=6.0)
    cost = wake_up_cost(found, base=base)
    assert cost is not None
    mean_a = SETTLED_A + PULSE_AS / PERIOD_S
    assert cost.share == pytest.approx(1.0 - SETTLED_A / mean_a, rel=0.05)
    for current_a, days in ((mean_a, cost.days_with), (SETTLED_A, cost.days_without)):
        steady = base.with_values({"vehicle.quiescent_a": current_a})
        assert days == pytest.approx(park(resolve(steady)).days_to_no_start.p50, rel=0.1)
    assert cost.days_with is not None
    assert cost.days_without is not None
    gained = cost.days_without - cost.days_with
    assert f"{100 * cost.share:.0f} % of the drain; without them {gained:+.0f} days" in cost.words
    assert "v.toml" in cost.words
    assert wake_up_cost(answer(hours=0.5), base=base) is None  # not asleep
    flat = np.full(7200, 0.03)
    quiet = current_log(log_from_bytes(as_csv(np.arange(7200.0), flat), where="quiet"))
    assert wake_up_cost(quiet, base=base) is None


def test_irregular_wake_ups_stay_in_the_scenario() -> None:
    """Without a period they are in the steady current: their charge is not lost."""
    time = np.arange(0.0, 6 * 3600.0, 2.0)
    starts = (3000, 4300, 9100, 10000, 15500, 16100, 20100)
    waking = np.any([(time >= at) & (time < at + 60) for at in starts], axis=0)
    log = log_from_bytes(as_csv(time, np.where(waking, 0.6, 0.02)), where="x")
    found = current_log(log)
    assert found.wake_ups is not None
    assert found.wake_ups.period_s is None
    case = resolve(measured_scenario(found))
    drawn = case.vehicle.quiescent_a + case.vehicle.wake_up_a
    assert drawn == pytest.approx(0.02 + 0.58 * 60 * len(starts) / time[-1], rel=0.05)
    assert any("steady current" in warning for warning in found.warnings)


@pytest.mark.parametrize("log_of", ["vehicle", "unit"])
@pytest.mark.parametrize("irregular", [False, True])
def test_the_scenario_draws_the_mean_of_the_log(log_of: str, irregular: bool) -> None:
    """Charge is kept: every kind of wake-up, regular or not, is in what the scenario draws."""
    time = np.arange(0.0, 6 * 3600.0, 5.0)
    starts = (
        (2000, 4300, 9100, 10000, 15500, 16600, 20100) if irregular else range(1800, 21600, 3600)
    )
    large = np.any([(time >= at) & (time < at + 60) for at in starts], axis=0)
    small = (time % 600.0 < 20.0) & ~large & (not irregular or log_of == "vehicle")
    current = 0.02 + 0.4 * small + 1.2 * large
    found = current_log(log_from_bytes(as_csv(time, current), where="x"))
    case = resolve(measured_scenario(found, log_of=log_of))
    vehicle_a = case.vehicle.quiescent_a + case.vehicle.wake_up_a
    drawn_a = vehicle_a if log_of == "vehicle" else case.unit.normal_current_a
    assert drawn_a == pytest.approx(current.mean(), rel=0.08)


@pytest.mark.parametrize(("every_h", "kept"), [(1.0, False), (12.0, True)])
@pytest.mark.parametrize("waking", [False, True])
def test_wake_ups_told_before_stay_only_where_the_log_could_not_see_them(
    every_h: float, kept: bool, waking: bool
) -> None:
    """Six hours asleep show what comes every hour, and say nothing of what comes twice a day."""
    time, current = parked_log(hours=6.0)
    if not waking:
        current = np.where(time < 2700.0, current, SETTLED_A)
    told = {"every_h": every_h, "duration_s": 600.0, "current_a": 0.5}
    base = scenario_from_dict({"battery": {}, "vehicle": {"wake_ups": [told]}})
    found = current_log(log_from_bytes(as_csv(time, current), where="x"))
    case = resolve(measured_scenario(found, base=base))
    drawn_a = case.vehicle.quiescent_a + case.vehicle.wake_up_a
    rare_a = (0.5 - SETTLED_A) * 600.0 / (3600.0 * every_h) if kept else 0.0
    assert found.findings.mean_a is not None
    assert drawn_a == pytest.approx(found.findings.mean_a + rare_a, rel=0.02)


def test_a_logger_that_writes_faster_while_awake_tells_the_same_mean() -> None:
    """A value holds until the next one: samples left out where nothing changes change nothing."""
    time, current = parked_log(hours=4.0, noise_a=0.0)
    awake = current > 2.0 * SETTLED_A
    some = awake | np.roll(awake, 1) | np.roll(awake, -1) | (np.arange(len(time)) % 30 == 0)
    all_of_it, thinned = (
        current_log(log_from_bytes(as_csv(time[kept], current[kept]), where="x")).as_dict()
        for kept in (np.ones(len(time), dtype=bool), some)
    )
    assert np.median(np.diff(time[some])) == 1.0
    assert thinned["mean_a"] == pytest.approx(all_of_it["mean_a"], rel=0.05)
    assert thinned["wake_ups"]["charge_as"] == pytest.approx(PULSE_AS, rel=0.05)
    assert thinned["gaps"] == all_of_it["gaps"] == 0


def test_a_unit_measured_at_24_v_draws_that_much_of_a_pair() -> None:
    """One current flows through both of a pair: at its own voltage it is what was measured."""
    pair = {"system": "24V", "capacity_ah": 80.0}
    base = scenario_from_dict({"battery": pair, "unit": {"preset": "hourly"}})
    case = resolve(measured_scenario(answer(), base=base, log_of="unit"))
    mean_a = SETTLED_A + PULSE_AS / PERIOD_S
    at_12_v_each = case.unit.normal_current_a
    assert at_12_v_each == pytest.approx(mean_a, rel=0.05)
