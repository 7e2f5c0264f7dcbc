"""Answers are about the future: default days follow today's, and are said."""

import datetime as dt
from typing import Any

import pytest

from drainsim import dates
from drainsim.answers.standing.park import park
from drainsim.answers.storage.catalogue import SEASONS, CatalogueQuestion, assumption_lines
from drainsim.answers.words import parked_words
from drainsim.cli.park import in_words
from drainsim.errors import ScenarioError
from drainsim.evidence import asking
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.places.site import dated
from tests.build import case_of


@pytest.mark.parametrize(
    ("today", "parked"),
    [
        ("2026-11-30", "2026-12-01"),
        ("2026-12-01", "2026-12-01"),  # today is still to come
        ("2026-12-02", "2027-12-01"),
        ("2028-02-29", "2028-12-01"),
    ],
)
def test_without_a_date_it_parks_on_the_coming_first_of_december(
    today: str, parked: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On any day of any year the default lies ahead, and the answer says so."""
    monkeypatch.setenv(dates.TODAY, today)
    for site in ({}, {"temperature_c": 5.0}):
        answer = park(case_of({"battery": {}, "site": site, "run": {"draws": 100}}))
        assert answer.case.site.parked_from.isoformat() == parked
        assert answer.as_dict()["parked_from"] == parked
        assert "no date given: the coming 1 December" in in_words(answer)
        listed = {item.name: item for item in answer.case.assumptions}
        assert listed["site.parked_from"].origin == "default"


def test_a_date_that_is_given_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same file gives the same answer whenever it is asked, and is not called a default."""
    tables: dict[str, Any] = {
        "battery": {},
        "site": {"climate": "temperate", "parked_from": dt.date(2026, 12, 1)},
        "run": {"draws": 100},
    }
    first = park(case_of(tables)).as_dict()
    monkeypatch.setenv(dates.TODAY, "2029-05-05")
    case = case_of(tables)
    assert park(case).as_dict() == first
    assert parked_words(case) == "1 Dec 2026"


def test_weeks_of_driving_come_before_the_default_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """A pattern's weeks end where the stand begins, whatever the year."""
    monkeypatch.setenv(dates.TODAY, "2030-01-01")
    case = case_of({"battery": {}, "pattern": {"trips_per_week": 5, "weeks": 4}})
    assert case.pattern is not None
    assert case.pattern.site.parked_from == dt.date(2030, 12, 1) - dt.timedelta(weeks=4)


def test_the_catalogue_parks_on_the_coming_day_of_each_season() -> None:
    """Every season lies ahead, within a year, and is written with its year."""
    today = dt.date(2027, 1, 10)
    question = CatalogueQuestion(
        units={"none": scenario_from_dict({"battery": {}})},
        vehicles=("small_petrol",),
        climates=("temperate",),
        seasons=tuple(SEASONS),
        today=today,
    )
    days = {season: question.parked_from(season) for season in SEASONS}
    assert days["winter"] == dt.date(2027, 12, 1)
    assert days["spring"] == dt.date(2027, 3, 1)
    assert all(today <= day < dt.date(2028, 1, 10) for day in days.values())
    lines = " ".join(assumption_lines(question))
    assert "winter 1 December 2027" in lines
    assert "summer 1 June 2027" in lines


def test_a_scenario_is_written_down_with_its_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is meant to be repeated later holds the day, once."""
    scenario = dated(scenario_from_dict({"battery": {}}))
    monkeypatch.setenv(dates.TODAY, "2031-01-01")
    assert resolve(scenario).site.parked_from == dt.date(2026, 12, 1)
    assert dated(scenario) is scenario


def test_published_values_are_checked_on_one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """A check does not depend on when it is made."""
    before = asking.case({}).site.parked_from
    monkeypatch.setenv(dates.TODAY, "2031-01-01")
    assert asking.case({}).site.parked_from == before
    assert asking.case({"site": {"climate": "marine"}}).site.parked_from == before


def test_a_wrong_today_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """The variable that stands for today must hold a date."""
    monkeypatch.setenv(dates.TODAY, "soon")
    with pytest.raises(ScenarioError, match="a date is needed, like 2026-12-01"):
        dates.today()
