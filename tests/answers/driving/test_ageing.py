"""Ageing over winters: laws, published life, and the advice for a list."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.answers.driving.ageing import AgeingAnswer, ageing
from drainsim.answers.driving.ageing_words import ageing_verdict, due_words
from drainsim.answers.fleet.ageing_list import ageing_list, list_verdict
from drainsim.cli import main
from drainsim.errors import OutOfRangeError
from drainsim.files.fleet.table import table_from_bytes
from drainsim.physics.ageing import health_after_seasons, standing_wear_factor
from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table
from tests.build import MUST_SHOW, case_of

BASE: dict[str, Any] = {
    **MUST_SHOW,
    "battery": {"capacity_ah": 60, "cold_cranking_a": 540},
    "site": {"climate": "temperate"},
    "run": {"draws": 200, "horizon_days": 365},
}


def aged(**changes: Any) -> AgeingAnswer:
    """Return the answer to some tables."""
    return ageing(case_of(BASE, **changes))


@pytest.mark.parametrize(("temperature_c", "years"), [(20.0, 5.0), (25.0, 3.6), (30.0, 2.5)])
def test_a_fully_charged_battery_lasts_its_published_life(
    temperature_c: float, years: float
) -> None:
    """80 % capacity is left after 5, 3.6 and 2.5 years at 20, 25 and 30 °C."""
    # Battery handbook page: starting battery in shallow cycling; end of life at 80 % by
    # convention. 0.005: 3.6 years is rounded from 3.54.
    left = health_after_seasons(
        1.0,
        temperature_c=np.full(1, temperature_c),
        charge=np.full(1, 0.95),
        years_each=years,
        life_years_at_20c=5.0,
        halving_k=10.0,
        share_at_end_of_life=0.8,
    )
    assert_allclose(left[-1], 0.8, atol=0.005)


def test_standing_low_wears_and_never_heals() -> None:
    """Below 80 % charge it ages faster the lower it stands."""
    assert (np.diff(standing_wear_factor(np.linspace(0, 0.8, 20))) < 0).all()
    assert (standing_wear_factor([0.8, 1.0]) == 1.0).all()


def test_risk_and_wear_grow_from_winter_to_winter() -> None:
    """Health falls, risk never falls, and the band stays around the middle."""
    winters = aged(battery={"age_years": 5}).winters
    assert [w.year for w in winters] == list(range(winters[0].year, winters[0].year + 5))
    assert (np.diff([w.cranking_health for w in winters]) < 0).all()
    assert (np.diff([w.risk for w in winters]) >= 0).all()
    for winter in winters:
        assert winter.cranking_health_low < winter.cranking_health < winter.cranking_health_high


def test_old_batteries_in_the_cold_come_first() -> None:
    """An old battery is due earlier than a new one, in the cold earlier than in the mild."""

    def due(**changes: Any) -> int:
        return aged(**changes).replace_before_winter or 9999

    old, new = due(battery={"age_years": 9}), due(battery={"age_years": 0})
    assert old < new
    cold = aged(battery={"age_years": 3}, site={"climate": "continental"})
    assert cold.winters[0].risk > aged(battery={"age_years": 3}).winters[0].risk


def test_where_a_new_battery_fails_too_replacing_is_not_advised() -> None:
    """In deep frost the cold is the cause, not the age: said instead of an advice that is none."""
    answer = aged(battery={"age_years": 1}, site={"climate": "subarctic"})
    assert answer.new_battery_risk > 0.5
    assert answer.replace_before_winter is None
    assert "even a new battery" in answer.warnings[-2]


def test_winters_ahead_are_counted_from_parking_with_or_without_a_pattern() -> None:
    """The first winter is the one that ends after the day of parking."""
    parked = {"climate": "temperate", "parked_from": date(2027, 1, 15)}
    plain = aged(site=parked)
    driven = aged(site=parked, pattern={"trips_per_week": 10, "trip_minutes": 40})
    assert plain.winters[0].year in {2027, 2028}
    assert driven.winters[0].year == plain.winters[0].year


def test_every_answer_says_how_little_is_known() -> None:
    """The warning stands with each answer."""
    assert "factor of two" in aged().warnings[-1]


@pytest.mark.parametrize("bad", [{"winters": 0}, {"winters": 99}, {"risk": 0.0}, {"risk": 1.5}])
def test_questions_that_cannot_be_are_refused(bad: dict[str, Any]) -> None:
    """Winters and risk are named."""
    with pytest.raises(OutOfRangeError, match=r"winters|risk"):
        ageing(case_of(BASE), **bad)


def test_a_list_is_sorted_by_who_is_due_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The most urgent vehicle stands first; a wrong row is said, not lost."""
    path = tmp_path / "fleet.csv"
    path.write_text(
        "id,climate,battery age,capacity ah\n"
        "new,temperate,0,60\nold,temperate,9,60\nodd,temperate,3,six\n",
        "utf-8",
    )
    assert main(["age", str(path)]) == 3  # a row is set aside
    out = capsys.readouterr().out
    assert out.index("old") < out.index("new ")
    assert "row 4" in out
    assert main(["age", str(path), "--json"]) == 3
    document = json.loads(capsys.readouterr().out)
    assert [row["vehicle"] for row in document["vehicles"]] == ["old", "new"]
    assert document["left_out"][0]["row"] == 4


def test_the_verdict_says_the_answer_in_every_case() -> None:
    """Due, not due, not cured and nothing to start are four different sentences."""
    due = aged(battery={"age_years": 9})
    assert due.replace_before_winter
    fine = ageing(case_of(BASE, battery={"age_years": 0}), winters=1, risk=0.5)
    hopeless = aged(battery={"age_years": 1}, site={"climate": "subarctic"})
    trailer = aged(vehicle={"kind": "trailer"}, unit={"preset": "hourly"})
    said = [ageing_verdict(answer) for answer in (due, fine, hopeless, trailer)]
    for sentence, word in zip(
        said,
        ("Replace this battery", "In the coming winter", "does not cure", "Nothing is started"),
        strict=True,
    ):
        assert sentence.startswith(word) or word in sentence
    assert [due_words(answer) for answer in (fine, hopeless, trailer)] == [
        "not in 1 winter",
        "would not help",
        "starts nothing",
    ]


def test_a_list_keeps_a_vehicle_that_cannot_be_answered_as_a_row_left_out() -> None:
    """One vehicle whose values do not go together does not take the others' answer away."""
    rows = b"id,second battery health,capacity ah\ngood,,60\nbad,0.8,60\n"
    fleet = fleet_from_table(
        table_from_bytes(rows, where="f.csv"), FleetSettings(today=date(2026, 12, 1)), where="f.csv"
    )
    found = ageing_list(fleet)
    assert [one.id for one in found.vehicles] == ["good"]
    assert found.problems[-1].row == 3
    assert "battery.system" in found.problems[-1].sentence
    with pytest.raises(OutOfRangeError, match="winters"):
        ageing_list(fleet, winters=0)
    (one,) = found.vehicles
    first = one.answer.winters[0].year
    due = [
        replace(one.answer, replace_before_winter=y) for y in (first, first + 1, first + 3, None)
    ]
    told = list_verdict([replace(one, answer=answer) for answer in due], winters=5)
    assert told.startswith("1 of 4 ")
    assert "2 more within 5 winters" in told


def test_the_limit_asked_is_the_limit_told() -> None:
    """A limit of half a per cent is not rounded to none."""
    answer = aged(battery={"age_years": 5})
    for risk, shown in ((0.005, "0.5 %"), (0.025, "2.5 %")):
        asked = replace(answer, risk_limit=risk, replace_before_winter=answer.winters[0].year)
        assert f"above {shown}" in ageing_verdict(asked)
