"""A morning's forecast: what it finds, what it must not find, and what it keeps."""

import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from typing import Any

import numpy as np
import pytest

from drainsim.answers.advice import ADVICE
from drainsim.answers.readings.changed import Told, what_changed
from drainsim.answers.readings.morning import forecast_one, known_scenario, morning
from drainsim.answers.readings.posterior import learning
from drainsim.answers.readings.posterior.conditioning import Posterior, condition
from drainsim.answers.readings.results import PARKED, UNREADABLE, VehicleForecast
from drainsim.answers.readings.vehicle_case import Setting
from drainsim.answers.standing.park import park
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.remedies import Preferences
from drainsim.answers.storage.risk import StandQuestion, risk_of
from drainsim.errors import DrainsimError
from drainsim.files.readings.history import BEHIND_SWITCH, History, SetAside
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.places.site import SITE
from tests.answers.readings.fleet import BEGIN, DAY_S, history, resting_v, vehicle

COLUMNS = (
    "time_s",
    "voltage_v",
    "ignition",
    "battery_temperature_c",
    "air_temperature_c",
    "cranking_minimum_v",
    "voltmeter_v",
)


def between(found: History, after_s: float, until_s: float) -> History:
    """Return the readings after one moment up to another."""
    kept = (found.time_s > after_s) & (found.time_s <= until_s)
    return replace(found, **{name: getattr(found, name)[kept] for name in COLUMNS})


def forecast(found: History, day: float, **how: float) -> VehicleForecast:
    """Return the only vehicle's forecast so many days after parking."""
    (one,) = morning(
        [found], {"A": vehicle()}, now_s=BEGIN + day * DAY_S, draws=100, workers=1, **how
    ).vehicles
    return one


def test_a_night_of_drain_is_found_and_dated() -> None:
    """120 mA from day 10 on is found by day 13, about that large and about then."""
    one = forecast(history(resting_v(20, extra_a=0.12, extra_from_day=10)), 13.6)
    found = one.extra_drain
    assert found.probability is not None
    assert found.probability > 0.9
    low, high = found.current_a.p10, found.current_a.p90
    assert low is not None
    assert high is not None
    assert low < 0.12 < high
    assert found.since_range_s is not None
    begin, end = found.since_range_s
    assert begin < BEGIN + 10.5 * DAY_S
    assert end > BEGIN + 9.5 * DAY_S
    assert end - begin < 3 * DAY_S
    assert one.stands == ((BEGIN, BEGIN + 13.6 * DAY_S),)
    # An earlier day to act by than was told yesterday is news, a later one is not.
    told = Told.of(one)
    assert told.act_by is not None
    for before, news in (
        (None, True),
        ("2026-12-31", True),
        (told.act_by, False),
        ("2026-11-02", False),
    ):
        assert bool(what_changed(one, replace(told, act_by=before))) is news


@pytest.mark.parametrize("step_v", [0.01, 0.1])
def test_a_healthy_stand_is_not_accused(step_v: float) -> None:
    """The same stand without an extra drain is told of none on any of its mornings."""
    found = history(resting_v(30), step_v=step_v)
    for day in (3.6, 10.6, 20.6, 29.6):
        one = forecast(found, day)
        assert one.extra_drain.probability is not None
        assert one.extra_drain.probability < 0.5
        assert one.extra_drain.since_s is None


def test_more_nights_narrow_the_drain() -> None:
    """Charge and drain hold the truth, and three weeks tell the drain better than two nights."""
    found = history(resting_v(22))
    unknown = vehicle().with_values({"vehicle.quiescent_a": None})
    widths = []
    for day in (2.6, 21.6):
        now_s = BEGIN + day * DAY_S
        (one,) = morning([found], {"A": unknown}, now_s=now_s, draws=200, workers=1).vehicles
        assert one.charge.p10 is not None
        assert one.charge.p90 is not None
        assert one.drain_a.p10 is not None
        assert one.drain_a.p90 is not None
        assert one.charge.p10 < 0.9 - 0.035 * 24 * day / 70 < one.charge.p90
        widths.append(one.drain_a.p90 - one.drain_a.p10)
        assert one.drain_a.p10 < 0.035 < one.drain_a.p90
    assert widths[1] < 0.6 * widths[0]


def test_a_voltmeter_takes_the_units_offset_away() -> None:
    """A unit that reads 150 mV low makes a battery look empty until somebody measures it."""
    low = history(resting_v(6) - 0.15)
    read = np.full(len(low.time_s), np.nan)
    at = int(np.searchsorted(low.time_s, BEGIN + 4.5 * DAY_S))
    read[at] = low.voltage_v[at] + 0.15
    blind, told = forecast(low, 5.6), forecast(replace(low, voltmeter_v=read), 5.6)
    truth = 0.9 - 0.035 * 24 * 5.6 / 70
    assert blind.charge.p50 is not None
    assert told.charge.p50 is not None
    assert abs(told.charge.p50 - truth) < abs(blind.charge.p50 - truth)


def test_next_morning_with_state_is_the_whole_run() -> None:
    """A day's new rows and what the day before kept give every bit of a run from the beginning.

    Also where the list said the batteries to be younger the day before.
    """
    vehicles = {"A": vehicle(age_years=3.2), "B": vehicle(age_years=3.2)}
    younger = {name: vehicle(age_years=3.19) for name in vehicles}
    first = history(resting_v(12))
    second = replace(history(resting_v(9, seed=4), begin_s=BEGIN + 13 * DAY_S), set_aside=())
    driven = History(
        "A",
        *(np.concatenate([getattr(first, n), getattr(second, n)]) for n in COLUMNS),
        step_v=0.01,
        set_aside=(),
    )
    other = history(resting_v(22, extra_a=0.13, extra_from_day=19.8, seed=2), name="B")
    today, yesterday = BEGIN + 21.6 * DAY_S, BEGIN + 20.6 * DAY_S
    all_read = [between(found, 0.0, today) for found in (driven, other)]
    whole = morning(all_read, vehicles, now_s=today, draws=100, workers=1)
    before = morning(
        [between(driven, 0.0, yesterday), between(other, 0.0, yesterday)],
        younger,
        now_s=yesterday,
        draws=100,
        workers=1,
    )
    after = morning(
        [between(driven, yesterday, today), between(other, yesterday, today)],
        vehicles,
        now_s=today,
        state=json.loads(json.dumps(before.state)),
        draws=100,
        workers=1,
    )
    assert after.as_dict() == whole.as_dict()
    assert after.state == whole.state
    assert [v.status for v in whole.vehicles] == ["parked", "parked"]
    assert whole.back_test.voltages > 0
    assert "extra drain" in whole.vehicles[1].changed


def test_a_list_read_anew_each_morning_leaves_past_stands_known(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What a list says anew each morning leaves stands that ended as they are.

    Its vehicles are parked on its own day, and a battery fitted on a given day is a day older.
    """
    first = history(resting_v(12))
    second = replace(history(resting_v(9, seed=4), begin_s=BEGIN + 13 * DAY_S), set_aside=())
    columns = (np.concatenate([getattr(first, n), getattr(second, n)]) for n in COLUMNS)
    driven = History("A", *columns, step_v=0.01, set_aside=())
    worked_out = []

    def counted(*args: Any, **how: Any) -> Posterior:
        worked_out.append(how["now_h"])
        return condition(*args, **how)

    monkeypatch.setattr(learning, "condition", counted)
    state, counts = None, []
    for days in (20.6, 21.6):
        said = {SITE.parked_from: f"2026-11-{days:02.0f}", BATTERY.age_years: 3.0 + days / 365.25}
        listed = {"A": vehicle().with_values(said)}
        seen = [between(driven, 0.0, BEGIN + days * DAY_S)]
        found = morning(seen, listed, state=state, now_s=BEGIN + days * DAY_S, draws=100)
        counts.append(len(worked_out))
        state = found.state
    assert counts[0] > 2
    assert counts[1] - counts[0] == 1  # the stand that is going on


def test_other_processes_remember_as_this_one_does() -> None:
    """What is kept for the next morning does not hang on where the work was done."""
    seen = [history(resting_v(9, extra_a=0.13), name=name) for name in ("A", "B")]
    ways: list[dict[str, Any]] = [{"workers": 1}]
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        ways.append({"pool": pool})
        alone, away = (morning(seen, now_s=BEGIN + 8.6 * DAY_S, draws=100, **how) for how in ways)
    assert away.as_dict() == alone.as_dict()
    assert away.state == alone.state


def test_every_question_takes_the_conditioned_case() -> None:
    """Parking the conditioned case gives the forecast's own days; its draws hold the charge."""
    found = history(resting_v(10, extra_a=0.15))
    setting = Setting(now_s=BEGIN + 9.6 * DAY_S, draws=100, risk=0.05)
    scenario = known_scenario(found, vehicle(), setting=setting)
    one = forecast_one(found, vehicle(), setting=setting)
    answer = park(resolve(scenario))
    assert one.days_to_no_start.p50 is not None
    assert answer.days_to_no_start.p50 is not None
    since = answer.days_to_no_start.p50 - one.days_to_no_start.p50
    assert since == pytest.approx((17 + 0.6 * 24 - 7 - 24) / 24.0, abs=1e-9)
    assert answer.course.charge[0] == pytest.approx(one.charge.p50, abs=0.02)
    before = one.before["drain_a"]
    assert before.p90 is not None
    assert one.drain_a.p10 is not None
    assert one.drain_a.p10 > before.p90


def test_a_unit_fed_anew_is_read_again_whatever_its_state_remembers() -> None:
    """A state keeps what was set aside before the unit was fed from constant power."""
    before = SetAside(BEGIN - 20 * DAY_S, BEGIN - 0.1 * DAY_S, 400, BEHIND_SWITCH)
    found = replace(history(resting_v(9)), set_aside=(before,))
    assert forecast(found, 0.6).status == UNREADABLE
    again = forecast(found, 8.6)
    assert again.status == PARKED
    assert again.days_to_no_start == forecast(history(resting_v(9)), 8.6).days_to_no_start


def two_stands(name: str, off_v: float) -> History:
    """Return a stand that ended with a drive and one going on, the unit reading too much."""
    first = history(resting_v(9) + off_v, name=name)
    second = history(resting_v(6, seed=4) + off_v, begin_s=BEGIN + 10 * DAY_S)
    columns = (np.concatenate([getattr(first, n), getattr(second, n)]) for n in COLUMNS)
    return History(name, *columns, step_v=0.01, set_aside=())


def test_one_vehicle_asked_about_knows_what_its_fleet_taught() -> None:
    """The morning list and the same vehicle's own scenario are one forecast."""
    fleet = [two_stands(name, 0.08) for name in "ABCDE"]
    setting = Setting(now_s=BEGIN + 15.6 * DAY_S, draws=100, risk=0.05)
    listed = {one.vehicle_id: vehicle() for one in fleet}
    of_list = morning(fleet, listed, now_s=setting.now_s, draws=100, workers=1).vehicles[0]
    alone, beside = (
        park(resolve(known_scenario(fleet[0], vehicle(), setting=setting, beside=others)))
        for others in ([], [(one, vehicle()) for one in fleet[1:]])
    )
    assert beside.days_to_no_start.p50 != alone.days_to_no_start.p50
    assert (beside.course.probability_no_start[: len(of_list.chance_by_day)]).tolist() == list(
        of_list.chance_by_day
    )


def test_a_vehicle_that_readings_know_is_asked_everything() -> None:
    """A stand for which nothing helps looks for a later month, with fewer draws, and answers."""
    found = history(resting_v(10, extra_a=0.4))
    setting = Setting(now_s=BEGIN + 9.6 * DAY_S, draws=200, risk=0.05)
    there = vehicle().with_values({SITE.temperature_c: None, SITE.climate: "temperate"})
    scenario = known_scenario(found, there, setting=setting)
    question = StandQuestion(scenario=scenario, days=300, when="any_time")
    assert storage(question, Preferences(without=tuple(ADVICE)), inverse=False).verdict == "no"


def test_storage_changes_what_was_learned_only_where_it_must() -> None:
    """Storage counts the same draws; a full charge replaces the one learned, not the drain."""
    found = history(resting_v(10, extra_a=0.08))
    setting = Setting(now_s=BEGIN + 9.6 * DAY_S, draws=100, risk=0.05)
    scenario = known_scenario(found, vehicle(), setting=setting)
    one = forecast_one(found, vehicle(), setting=setting)
    question = StandQuestion(scenario=scenario, days=5)
    assert risk_of(question.stand())[0] == pytest.approx(one.chance_by_day[5])
    full = question.stand({BATTERY.state_of_charge: 0.97})
    told = resolve(scenario)
    fresh = question.case({BATTERY.state_of_charge: 0.97})
    assert risk_of(full)[0] < risk_of(question.stand())[0]
    assert fresh.known is not None
    assert told.known is not None
    assert "charge" not in fresh.known
    np.testing.assert_array_equal(fresh.known["quiescent_a"], told.known["quiescent_a"])
    np.testing.assert_array_equal(fresh.known["extra_a"], told.known["extra_a"])
    another = question.case({BATTERY.capacity_ah: 90})
    assert another.known is not None
    assert not np.array_equal(another.known["capacity_health"], told.known["capacity_health"])


def test_what_is_not_known_is_null_with_its_reason() -> None:
    """Without a night at rest there is no figure, and a sentence says why."""
    found = forecast(history(resting_v(0.1)), 0.1)
    assert found.status == "too few readings"
    assert "night" in found.reason
    assert found.charge.p50 is None
    assert found.days_to_no_start.p50 is None
    assert found.risk_today is None
    assert found.extra_drain.probability is None


def test_nobody_described_is_said_and_wide() -> None:
    """Without a list the usual vehicle is taken, which is said and is wider."""
    found = history(resting_v(8))
    bare = morning([found], now_s=BEGIN + 7.6 * DAY_S, draws=100, workers=1)
    assert any("usual" in sentence for sentence in bare.assumptions)
    known = forecast(found, 7.6)
    (one,) = bare.vehicles
    assert one.drain_a.p90 is not None
    assert one.drain_a.p10 is not None
    assert known.drain_a.p90 is not None
    assert known.drain_a.p10 is not None
    assert one.drain_a.p90 - one.drain_a.p10 > known.drain_a.p90 - known.drain_a.p10


def test_wrong_wishes_are_sentences() -> None:
    """Draws, zones and doubled vehicles that cannot be end in a sentence."""
    found = history(resting_v(2))
    with pytest.raises(DrainsimError, match="draws"):
        morning([found], draws=7)
    with pytest.raises(DrainsimError, match="Nowhere"):
        morning([found], zone="Nowhere/At all")
    with pytest.raises(DrainsimError, match="twice"):
        morning([found, found])
    with pytest.raises(DrainsimError, match="no vehicle"):
        morning([])


@pytest.mark.parametrize("rows", [0, 1, 2, 3, 4, 7])
def test_few_and_wild_readings_end_in_no_error(rows: int) -> None:
    """However few or wild the readings are, every one is used or kept aside, and nobody falls."""
    rng = np.random.default_rng(rows)
    for _ in range(40):
        volts = rng.choice([0.5, 4.1, 12.4, 12.6, 13.6, 14.3, 25.0, np.nan], rows)
        hours = np.cumsum(rng.choice([0.1, 1.0, 15.0, 90.0], rows))
        nothing = np.full(rows, np.nan)
        on = rng.choice([0.0, 1.0, np.nan], rows)
        found = History(
            "A", BEGIN + 3600 * hours, volts, on, nothing, nothing, nothing, nothing, 0.01, ()
        )
        (one,) = morning([found], now_s=BEGIN + 30 * DAY_S, draws=100, workers=1).vehicles
        aside = sum(part.rows for part in one.set_aside)
        assert one.readings_used + aside == np.isfinite(volts).sum()
