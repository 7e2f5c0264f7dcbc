"""One middle: every window, line and word is about the median of the same random cases."""

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from drainsim.answers.standing.park import ParkAnswer, run_draws
from drainsim.answers.standing.swing import varied_inputs
from drainsim.answers.words import days_words, verdict
from drainsim.cli.park import in_words
from drainsim.dashboard.parts.answer_tables import end_points
from drainsim.figures.course import course_figure, course_title
from drainsim.figures.style import LIGHT
from drainsim.figures.swing import swing_figure
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import standard_draws
from tests.build import answer_to, days_or_inf

# An average vehicle in a severe winter: a cold snap ends the stand long before average weather
# would, so that the case in average weather lies outside the middle 80 % of the draws.
SEVERE: dict[str, Any] = {
    "battery": {},
    "unit": {"preset": "hourly"},
    "site": {"climate": "continental", "parked_from": dt.date(2026, 12, 1)},
    "run": {"draws": 200},
}
MILD: dict[str, Any] = {**SEVERE, "site": {"temperature_c": 10.0}}


@pytest.fixture(scope="module")
def severe() -> ParkAnswer:
    """Return the answer in severe cold."""
    return answer_to(SEVERE)


def test_the_case_in_average_weather_is_no_headline_anywhere(severe: ParkAnswer) -> None:
    """What describes a case that does not happen is in the JSON alone."""
    median = severe.days_to_no_start.p50
    assert median is not None
    severe = replace(severe)
    vars(severe)["nominal_days"] = 77.7
    shown, hidden = days_words(median, 180), "78"
    figure = course_figure(severe, LIGHT)
    swings = swing_figure(severe, LIGHT)
    texts = [
        verdict(severe),
        in_words(severe).partition("Drain budget")[0],
        course_title(severe),
        str(end_points(severe, None).iloc[0].to_dict()),
        " ".join(note.text for note in figure.layout.annotations),
        " ".join(note.text for note in swings.layout.annotations),
    ]
    for text in texts:
        assert shown in text
        assert hidden not in text
    assert median in {shape.x0 for shape in figure.layout.shapes}
    assert median in {shape.x0 for shape in swings.layout.shapes}
    document = severe.as_dict()["days_to_no_start"]
    assert (document["p50"], document["nominal"]) == (median, 77.7)


def test_the_median_lies_where_the_case_in_average_weather_does_not(severe: ParkAnswer) -> None:
    """A cold snap ends the stand before average weather would: the reason for one middle."""
    assert days_or_inf(severe.days_to_no_start.p50) < 0.6 * days_or_inf(severe.nominal_days)


def test_lines_are_medians_of_the_draws(severe: ParkAnswer) -> None:
    """Charge, margin and temperature of every day: the middle of the same draws."""
    stand = run_draws(severe.case, curves_of(severe.case), course=True)
    assert stand.trace is not None
    course = severe.course
    for found, drawn in (
        (course.charge, stand.trace.charge),
        (course.margin, stand.trace.margin),
        (course.temperature_c, stand.trace.temperature_c),
    ):
        assert_allclose(found, np.median(drawn, axis=1), rtol=1e-12)
    for found, hours in (
        (severe.days_to_half_charge, stand.half_charge_h),
        (severe.days_to_freezing, stand.freezing_h),
        (severe.days_to_empty, stand.empty_h),
        (severe.days_to_unit_off, np.minimum(stand.unit_off_h, stand.empty_h)),
    ):
        assert days_or_inf(found) == np.sort(hours)[len(hours) // 2 - 1] / 24.0


@pytest.mark.parametrize("tables", [SEVERE, MILD], ids=["severe", "mild"])
def test_the_budget_is_the_mean_of_the_draws_balances(tables: dict[str, Any]) -> None:
    """From each draw's traced balance: part over days until its stand ended, then the mean."""
    answer = answer_to(tables)
    stand = run_draws(answer.case, curves_of(answer.case), trace=True)
    assert stand.daily_balance is not None
    horizon = answer.case.horizon_days
    days = np.clip(np.ceil(stand.no_start_h / 24.0), 1.0, horizon).astype(int)
    lanes, balance = np.arange(len(days)), stand.daily_balance
    for found, entry in (
        (answer.budget.vehicle, balance.vehicle_ah),
        (answer.budget.unit, balance.unit_ah),
        (answer.budget.self_discharge, balance.lost_ah),
        (answer.budget.other, balance.other_ah + balance.refused_ah),
    ):
        assert_allclose(found, (entry[days, lanes] / days).mean(), rtol=1e-12)
    alone = run_draws(answer.case, curves_of(answer.case))  # lanes dropped on the way
    assert_array_equal(alone.end_day, stand.end_day)
    for with_trace, without in zip(stand.end_balance, alone.end_balance, strict=True):
        assert_allclose(without, with_trace, rtol=1e-9, atol=1e-9)  # Ah; the stepped stand's


def test_limited_by_says_the_share_of_draws_each_cause_ends(severe: ParkAnswer) -> None:
    """Shares of cold from the start, cold later, and nothing, counted from the draws."""
    stand = run_draws(severe.case, curves_of(severe.case), trace=True)
    shares = {cause.key: cause.share for cause in severe.causes}
    hours = stand.no_start_h
    frozen = stand.freezing_h <= hours
    assert shares.get("cranking_power_at_once", 0.0) == np.mean((hours == 0.0) & ~frozen)
    assert shares.get("none", 0.0) == np.mean(np.isinf(hours))
    assert shares["cranking_power"] > 0.5
    assert sum(shares.values()) == pytest.approx(1.0)
    assert list(shares.values()) == sorted(shares.values(), reverse=True)
    assert severe.limited_by.startswith("cranking power (median: -")
    assert f"{100 * shares['cranking_power']:.0f} % of the cases" in severe.limited_by
    assert severe.as_dict()["limited_by_share_of_draws"] == shares


@pytest.mark.parametrize(
    ("tables", "key", "words"),
    [
        (
            {"battery": {"state_of_charge": 0.05}, "site": {"temperature_c": -20.0}},
            "freezing",
            "never charge or jump-start",
        ),
        ({"run": {"horizon_days": 3}}, "none", "nothing within 3 days"),
        (
            {"vehicle": {"kind": "electric"}, "site": {"temperature_c": 20.0}},
            "voltage_for_contactors",
            "voltage for the contactors",
        ),
        (
            {
                "vehicle": {"kind": "trailer"},
                "unit": {"sleep_a": 0.03, "cutoff_v": 12.1, "report_charge_as": 0.0},
            },
            "unit_cut_off",
            "cut-off voltage",
        ),
        (
            {"vehicle": {"kind": "trailer"}, "unit": {"sleep_a": 0.03, "report_charge_as": 0.0}},
            "empty",
            "an empty battery",
        ),
        (
            {
                "battery": {"profile": "lithium_iron_phosphate_12v", "capacity_ah": 100.0},
                "vehicle": {"engine_litres": 0.5},
                "site": {"temperature_c": 20.0},
            },
            "protection",
            "protection",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_every_cause_has_a_name(tables: dict[str, Any], key: str, words: str) -> None:
    """Frozen, nothing, contactors, cut-off, empty and protection are told apart."""
    answer = answer_to({"battery": {}, **tables}, run={"draws": 100})
    by_key = {cause.key: cause.words for cause in answer.causes}
    assert words in by_key[key]
    assert words in answer.limited_by


SLIDERS: dict[str, tuple[str, str, list[float]]] = {
    "draw": ("vehicle", "quiescent_a", [0.02, 0.024, 0.028, 0.03, 0.031, 0.04, 0.06]),
    "charge": ("battery", "state_of_charge", [0.95, 0.9, 0.87, 0.85, 0.8, 0.7]),
    "health": ("battery", "health", [1.0, 0.95, 0.9, 0.85, 0.8, 0.7]),
    "size": ("battery", "capacity_ah", [90.0, 80.0, 75.0, 72.0, 70.0, 60.0]),
    "engine": ("vehicle", "engine_litres", [1.0, 1.4, 1.6, 2.0, 2.5, 3.0]),
    "reports": ("unit", "report_interval_h", [24.0, 12.0, 6.0, 2.0, 1.0, 0.5]),
}


@pytest.mark.parametrize("slider", SLIDERS)
@pytest.mark.parametrize("tables", [SEVERE, MILD], ids=["severe", "mild"])
def test_a_slider_moves_the_median_one_way(slider: str, tables: dict[str, Any]) -> None:
    """Each step to the worse never lengthens it; where weather does not end it, all shorten it."""
    # Common random numbers: every draw moves the same way, so their middle cannot go back.
    table, key, values = SLIDERS[slider]
    base = {**tables, "battery": {"cold_cranking_a": 540.0, "capacity_ah": 70.0}}
    days = [
        days_or_inf(
            answer_to(base, **{table: {key: value}}, run={"draws": 100}).days_to_no_start.p50
        )
        for value in values
    ]
    assert days == sorted(days, reverse=True)
    assert days[-1] < days[0] or tables is SEVERE


def test_swings_are_medians_of_the_answers_own_draws() -> None:
    """The ends of a bar are medians of fifths of the draws, the answer's median between them."""
    answer = answer_to(MILD, run={"draws": 500})
    days = run_draws(answer.case, curves_of(answer.case)).no_start_h / 24.0
    z = standard_draws(500, answer.case.seed)["quiescent_a"]
    swing = next(one for one in answer.swings if one.name == "quiescent_a")
    low, high = np.quantile(z, [0.2, 0.8])
    assert swing.days_at_low == np.sort(days[z < low])[49]
    assert swing.days_at_high == np.sort(days[z > high])[49]
    assert {one.name for one in answer.swings} == set(varied_inputs(answer.case))
    for one in answer.swings:
        if one.matters:
            ends = sorted([days_or_inf(one.days_at_low), days_or_inf(one.days_at_high)])
            assert ends[0] <= days_or_inf(answer.days_to_no_start.p50) <= ends[1], one.name


def test_an_input_without_effect_is_within_chance() -> None:
    """Nothing fitted, nothing cold: the unit's draw cannot matter, and is said not to."""
    answer = answer_to(MILD, unit={"preset": "daily"}, run={"draws": 1000})
    by_name = {swing.name: swing for swing in answer.swings}
    assert by_name["quiescent_a"].matters
    assert not by_name["unit_a"].matters
