"""The words an answer begins with: the case from its values, the safe date before the middle."""

import datetime as dt
from typing import Any

import pytest

from drainsim import dates
from drainsim.answers.standing.first_words import act_words, bar_words, case_words, half_words
from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.storage.helps import helps_most, helps_words
from drainsim.figures.by_date import PARTS, by_date_alt, by_date_figure
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict


def _scenario(**battery: Any) -> Scenario:
    """Return an invented compact car, at one temperature so that few draws are enough."""
    return scenario_from_dict(
        {
            "battery": {"capacity_ah": 60.0, **battery},
            "unit": {"preset": "hourly"},
            "vehicle": {"preset": "compact_petrol"},
            "site": {"temperature_c": 0.0, "parked_from": "2026-12-01"},
            "run": {"draws": 300},
        }
    )


def _parked(scenario: Scenario) -> ParkAnswer:
    return park(resolve(scenario))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"battery.capacity_ah": 80.0}, "80 Ah"),
        ({"battery.profile": "agm"}, "AGM"),
        ({"battery.age_years": 1.0}, "1 year,"),
        ({"battery.age_years": 0.0}, "new,"),
        ({"battery.state_of_charge": 0.7}, "70 % charged"),
        ({"battery.resting_voltage_v": 12.4}, "12.40 V at rest"),
        ({"unit.report_interval_h": 24.0}, "daily reports"),
        ({"unit.report_interval_h": 0.5}, "reports every 30 min"),
        ({"site.parked_from": dt.date(2027, 1, 10)}, "parked 10 Jan 2027"),
        ({"site.temperature_c": None, "site.climate": "marine"}, "marine, mild wet winter"),
        ({"vehicle.engine_litres": 3.2}, "3.2 l petrol"),
    ],
)
def test_the_case_is_named_from_its_values(changes: dict[str, Any], words: str) -> None:
    """Whatever is changed stands in the line, and did not before."""
    before, after = _scenario(), _scenario().with_values(changes)
    assert words in case_words(resolve(after))
    assert words not in case_words(resolve(before))


def test_the_safe_date_is_the_one_whose_risk_is_within_the_limit() -> None:
    """The date is parking plus the days within 5 %: the risk that day is, the next is not."""
    answer = _parked(_scenario())
    safe = answer.days_at_risk
    assert safe
    risks = answer.course.probability_no_start
    assert risks[int(safe)] <= 0.05 < risks[int(safe) + 1]
    day = dt.date(2026, 12, 1) + dt.timedelta(days=int(safe))
    assert act_words(answer) == f"Drive or charge it by {day.day} {day:%b %Y} ({safe:.0f} days)"
    assert half_words(answer).startswith("Half of such vehicles fail by ")


def test_a_safe_date_that_has_passed_is_no_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Looked at later, the same stand asks for a charger now, with the risk of that day."""
    answer = _parked(_scenario())
    safe = answer.days_at_risk
    assert safe
    last = dt.date(2026, 12, 1) + dt.timedelta(days=int(safe))
    monkeypatch.setenv(dates.TODAY, last.isoformat())
    assert act_words(answer).startswith("Drive or charge it by ")
    later = last + dt.timedelta(days=10)
    monkeypatch.setenv(dates.TODAY, later.isoformat())
    risk = answer.course.probability_no_start[int(safe) + 10]
    told = f"Charge it now: safe only to {last.day} {last:%b %Y}, risk today {100 * risk:.0f} %"
    assert act_words(answer) == told


def test_only_nearly_all_failing_is_called_not_starting_now() -> None:
    """A flat battery would not start; one in doubt is said to be unsure, with its share."""
    flat = _parked(_scenario(state_of_charge=0.02, age_years=8.0))
    assert flat.days_to_no_start.p90 == 0.0
    assert act_words(flat) == "It would not start right now"
    assert "Charge it fully now" in half_words(flat)
    doubtful = _parked(_scenario(state_of_charge=0.3, age_years=5.0))
    assert doubtful.days_to_no_start.p90
    assert "not start" not in act_words(doubtful)


def test_past_the_horizon_nothing_is_promised() -> None:
    """A short look ahead says so instead of a date."""
    answer = _parked(_scenario().with_values({"run.horizon_days": 5, "vehicle.quiescent_a": 0.001}))
    assert act_words(answer) == "It can stand for more than 5 days"
    assert "within 5 days" in half_words(answer)
    assert bar_words(answer)[2] == "past 5 days: not asked"


def test_what_helps_most_gains_days_at_the_least_effort() -> None:
    """Every way offered stands longer than the case as it is, the second at least twice as much."""
    scenario = _scenario(state_of_charge=0.7)
    answer = _parked(scenario)
    (first, second), horizon = helps_most(scenario, answer)
    assert first.days_gained
    assert second.days_gained
    assert second.days_gained >= 2 * first.days_gained > 0
    assert first.cost <= second.cost
    assert f"{first.labels[0]}: {first.days} days" in helps_words((first, second), horizon)


@pytest.mark.parametrize("part", PARTS)
def test_a_chart_against_the_date_shades_the_safe_days(part: str) -> None:
    """The shade ends on the safe date, and a day that is marked is drawn and named."""
    answer = _parked(_scenario())
    needed = dt.date(2026, 12, 20)
    figure = by_date_figure(answer, part, marks={"needed": needed, "today": dt.date(2020, 1, 1)})
    parked = dt.date(2026, 12, 1)
    shade = figure.layout.shapes[0]
    assert answer.days_at_risk is not None
    assert (shade.x0, shade.x1) == (parked, parked + dt.timedelta(days=int(answer.days_at_risk)))
    assert {note.text for note in figure.layout.annotations} == {"safe", "needed"}
    assert needed in [shape.x0 for shape in figure.layout.shapes]
    assert figure.data[-1].x[0] == parked
    assert PARTS[part] in by_date_alt(answer, part)
