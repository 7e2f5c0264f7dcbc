"""Which vehicle stands in which section of the morning list, and in what words."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from drainsim.answers.readings.results import (
    PARKED,
    SILENT,
    BackTest,
    ExtraDrain,
    Morning,
    Range,
    VehicleForecast,
)
from drainsim.files.readings.history import SetAside
from drainsim.sheets.fleet.morning_list import (
    act_soon,
    act_today,
    aside_by_reason,
    back_test_words,
    draining,
    extra_words,
    is_new,
    morning_rows,
    unseen,
)

UTC = ZoneInfo("UTC")
NOW = dt.datetime(2026, 11, 25, 6, tzinfo=dt.UTC)
TODAY = NOW.date()
DAY_S = 86_400.0
VAN = VehicleForecast(
    id="van",
    status=PARKED,
    reason="",
    parked_since_s=NOW.timestamp() - 10 * DAY_S,
    charge=Range(p10=0.4, p50=0.5, p90=0.6),
    drain_a=Range(p10=0.03, p50=0.04, p90=0.05),
    extra_drain=ExtraDrain(probability=0.01, current_a=Range()),
    days_to_no_start=Range(p10=3.0, p50=6.0, p90=None),
    risk_today=0.02,
    act_by=None,
    readings_used=240,
)
NOTHING = BackTest(voltages_inside=0, voltages=0, starts_expected=0.0, starts_happened=0, starts=0)


def morning(*vehicles: VehicleForecast) -> Morning:
    """Return a morning of some vehicles."""
    return Morning(now_s=NOW.timestamp(), vehicles=vehicles, back_test=NOTHING, state={})


def drains(since_days: float, probability: float = 0.9) -> VehicleForecast:
    """Return the van with an extra drain since some days."""
    extra = ExtraDrain(
        probability=probability,
        current_a=Range(p10=0.1, p50=0.12, p90=0.14),
        since_s=NOW.timestamp() - since_days * DAY_S,
        kind="steady",
    )
    return replace(VAN, extra_drain=extra)


@pytest.mark.parametrize(
    ("days", "today", "soon"),
    [(-1, True, False), (0, True, False), (1, False, True), (7, False, True), (8, False, False)],
)
def test_who_must_be_acted_on_today_and_who_within_a_week(
    days: int, today: bool, soon: bool
) -> None:
    """The act-by date itself is the last day: today's is today's work."""
    found = morning(replace(VAN, act_by=TODAY + dt.timedelta(days=days)), VAN)
    assert (len(act_today(found, TODAY)), len(act_soon(found, TODAY))) == (today, soon)


def test_the_riskiest_stands_first() -> None:
    """Whoever has time for one vehicle takes the first."""
    risks = {"a": 0.1, "b": 0.9, "c": 0.4}
    found = morning(
        *(replace(VAN, id=name, risk_today=risk, act_by=TODAY) for name, risk in risks.items())
    )
    assert [v.id for v in act_today(found, TODAY)] == ["b", "c", "a"]


def test_an_extra_drain_is_new_for_a_week() -> None:
    """And one that is less likely than not is none."""
    found = morning(drains(3.0), drains(8.0), drains(3.0, probability=0.4))
    assert [is_new(v, found) for v in draining(found)] == [True, False]
    assert extra_words(drains(3.0), UTC) == (
        "draws 120 mA (8 in 10: 100 to 140 mA) more than expected since 22 Nov 2026; steady; "
        "90 % sure"
    )


def test_silence_is_a_section_of_its_own() -> None:
    """A vehicle may stand in more than one section of the file."""
    quiet = replace(VAN, status=SILENT, reason="no reading for 6 days", act_by=TODAY)
    found = morning(VAN, quiet)
    assert unseen(found) == [quiet]
    assert [row[0] for row in morning_rows(found, UTC)] == ["act today", "silent or unreadable"]


def test_what_is_set_aside_is_counted_by_reason() -> None:
    """Readings and vehicles, the most first."""
    one = replace(VAN, set_aside=(SetAside(0.0, 1.0, 3, "x"), SetAside(5.0, 6.0, 9, "y")))
    two = replace(VAN, id="b", set_aside=(SetAside(0.0, 1.0, 2, "x"),))
    assert aside_by_reason(morning(one, two)) == [("y", 9, 1), ("x", 5, 2)]


def test_a_back_test_of_nothing_says_so() -> None:
    """Shares of no nights are not told."""
    assert "Nothing yet" in back_test_words(NOTHING)[0]
    told = back_test_words(replace(NOTHING, voltages=10, voltages_inside=8))
    assert told == ["Night voltage 7 days ahead: 80 % of 10 nights inside the band told for 80 %."]
