"""From which month on a stand holds as it is: the first look leaves out no month that does."""

import datetime as dt

import pytest

from drainsim.answers.storage.later import first_holding_month
from drainsim.answers.storage.risk import StandQuestion, risk_of
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.places.site import SITE


@pytest.mark.parametrize("limit", [0.01, 0.1, 0.3])
@pytest.mark.parametrize("climate", ["subarctic", "continental"])
def test_it_is_the_first_month_whose_own_stand_holds(climate: str, limit: float) -> None:
    """Months asked one by one, each with all its draws, give the same."""
    car = scenario_from_dict(
        {
            "battery": {"capacity_ah": 60, "age_years": 4},
            "site": {"climate": climate, "parked_from": "2026-12-10"},
            "run": {"draws": 400},
        }
    )
    question = StandQuestion(scenario=car, days=20, risk=limit)
    begins = [dt.date(2027, month, 1) for month in range(1, 13)]
    risks = [
        risk_of(question.all_along.stand({SITE.parked_from: begin}), "every_day")[0]
        for begin in begins
    ]
    first = next((b for b, risk in zip(begins, risks, strict=True) if risk <= limit), None)
    assert first_holding_month(question) == first
    assert risks[0] > limit  # else there is nothing to find
