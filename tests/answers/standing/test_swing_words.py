"""What the answer depends on, the four effects of temperature, and the words for it all."""

import csv
import datetime as dt
import io

import pytest
from numpy.testing import assert_allclose

from drainsim.answers.standing.park import DaysRange
from drainsim.answers.standing.tables import COURSE_HEADING, course_csv
from drainsim.answers.words import date_after, days_words, difference_words, range_words, verdict
from tests.build import MUST_SHOW, answer_to, days_or_inf

WINTER = {"climate": "temperate"}
PLAIN = {key: table for key, table in MUST_SHOW.items() if key != "site"}


def test_swings_are_sorted_and_go_the_way_physics_says() -> None:
    """The largest comes first; more draw shortens, more charge lengthens."""
    answer = answer_to(PLAIN, site=WINTER, unit={"preset": "hourly"})
    sizes = [swing.swing_days for swing in answer.swings]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] > 0
    by_name = {swing.name: swing for swing in answer.swings}
    for name in ("state_of_charge", "capacity_health", "cranking_health"):
        swing = by_name[name]
        assert days_or_inf(swing.days_at_low) <= days_or_inf(swing.days_at_high), name
    for name in ("quiescent_a", "unit_a", "self_discharge", "demand", "low_charge"):
        swing = by_name[name]
        assert days_or_inf(swing.days_at_low) >= days_or_inf(swing.days_at_high), name
    assert all(swing.advice for swing in answer.swings)


def test_measuring_an_input_takes_it_off_the_top() -> None:
    """A measured quiescent current matters less than an assumed one."""

    def size(**vehicle: float) -> float:
        answer = answer_to({**PLAIN, "vehicle": vehicle}, site=WINTER)
        return next(s.swing_days for s in answer.swings if s.name == "quiescent_a")

    assert size(quiescent_a=0.03) < 0.5 * size()


def test_swing_ends_are_the_answers_of_scenarios_with_those_values() -> None:
    """Days at the low end are what park says with that value put into the file."""
    # rtol 5 %: the low end is the median over a fifth of the draws (40), not over one value.
    # 10 % of a lognormal with sigma 0.55 about 40 mA: 40 x exp(-1.2816 x 0.55) mA.
    answer = answer_to({**PLAIN, "vehicle": {}}, site={"temperature_c": 10})
    swing = next(s for s in answer.swings if s.name == "quiescent_a")
    assert swing.low_value == "20 mA"
    low = answer_to(
        {**PLAIN, "vehicle": {"quiescent_a": 0.040 * 0.49420}}, site={"temperature_c": 10}
    )
    assert_allclose(swing.days_at_low, low.days_to_no_start.p50, rtol=0.05)


def test_a_certain_input_has_no_swing() -> None:
    """Spread zero leaves it out of the chart."""
    answer = answer_to(PLAIN, uncertainty={"quiescent_sigma": 0.0})
    assert "quiescent_a" not in {swing.name for swing in answer.swings}


def test_the_four_effects_of_temperature_are_kept_apart() -> None:
    """Cold takes cranking and deliverable charge, heat takes charge for good."""
    answer = answer_to(PLAIN, site={"climate": "continental"})
    cold, mean, warm = answer.temperature_effects
    assert cold.temperature_c < mean.temperature_c < warm.temperature_c
    assert cold.deliverable_20h_ah < warm.deliverable_20h_ah
    assert cold.cranking_available_a < warm.cranking_available_a
    assert cold.cranking_demand_a > warm.cranking_demand_a
    assert cold.self_discharge_percent_per_month < warm.self_discharge_percent_per_month
    # US Army table 2: half-charged electrolyte (1.190) freezes at -26.1 °C.
    assert cold.freezing_half_c == pytest.approx(-26.1)
    (only,) = answer_to(PLAIN, site={"temperature_c": 25}).temperature_effects
    assert only.name == "constant"
    lithium = answer_to(
        PLAIN, battery={"profile": "lithium_iron_phosphate_12v"}, site={"temperature_c": 25}
    )
    assert lithium.temperature_effects[0].freezing_half_c is None


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (None, "more than 180 days"),
        (0.0, "0 days"),
        (3.46, "3.5 days"),
        (34.2, "34 days"),
        (9.99, "10.0 days"),
    ],
)
def test_days_in_words(days: float | None, words: str) -> None:
    """The horizon is never shown as if it were the answer."""
    assert days_words(days, 180) == words


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (34.0, 45.2, "+11 days"),
        (34.0, 31.5, "-2.5 days"),
        (34.0, 34.01, "no change"),
        (34.0, None, "from 34 days to more than 180 days"),
        (None, 20.0, "from more than 180 days to 20 days"),
        (None, None, "no change: both more than 180 days"),
    ],
)
def test_differences_in_words(before: float | None, after: float | None, words: str) -> None:
    """A change says its sign and unit, and does no arithmetic with the horizon."""
    assert difference_words(before, after, 180) == words


def test_ranges_in_words() -> None:
    """Open ends are said as such."""
    assert range_words(DaysRange(p10=17, p50=31, p90=52), 180) == "17 to 52 days"
    assert range_words(DaysRange(p10=17, p50=31, p90=None), 180) == ("17 to more than 180 days")
    assert range_words(DaysRange(p10=None, p50=None, p90=None), 180) == ("more than 180 days")


def test_verdicts_say_what_to_expect() -> None:
    """One sentence for failing now, failing later, not surely, and never."""
    later = answer_to(MUST_SHOW)
    assert days_words(later.days_to_no_start.p50, 180) in verdict(later)
    assert range_words(later.days_to_no_start, 180) in verdict(later)
    now = answer_to(MUST_SHOW, battery={"state_of_charge": 0.1})
    assert "would not start right now" in verdict(now)
    never = answer_to(MUST_SHOW, other=[{"name": "solar", "current_a": -1.0}])
    assert "nothing ends the stand" in verdict(never)
    unsure = answer_to(MUST_SHOW, run={"horizon_days": 48})
    assert unsure.days_to_no_start.p50 is None
    assert "not surely" in verdict(unsure)


def test_the_course_as_csv_has_a_row_a_day() -> None:
    """Heading, then day 0 to the horizon with its date, readable by a spreadsheet."""
    answer = answer_to(PLAIN, site={**WINTER, "parked_from": dt.date(2026, 12, 30)})
    rows = list(csv.reader(io.StringIO(course_csv(answer))))
    assert tuple(rows[0]) == COURSE_HEADING
    assert len(rows) == 2 + answer.case.horizon_days
    assert [row[1] for row in rows[1:4]] == ["2026-12-30", "2026-12-31", "2027-01-01"]
    for row, probability, charge in zip(
        rows[1:], answer.course.probability_no_start, answer.course.charge, strict=True
    ):
        assert_allclose(float(row[2]), probability, atol=1e-5)
        assert_allclose(float(row[4]), charge, rtol=1e-4)


def test_a_date_is_the_day_the_failure_falls_on() -> None:
    """Half a day after 1 December is still 1 December."""
    assert date_after(dt.date(2026, 12, 1), 0.5) == dt.date(2026, 12, 1)
    assert date_after(dt.date(2026, 12, 1), 31.9) == dt.date(2027, 1, 1)
