"""Maintainer, top-ups, panel and sun by hand: what each day brings, and where it ends."""

import datetime as dt
import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.files.presets import presets
from drainsim.physics.acceptance import acceptance_of, charge_efficiency
from drainsim.physics.solar import extraterrestrial_kwh_m2_day
from drainsim.vehicle.case import Case
from drainsim.vehicle.compatibility import charger_is_on
from tests.build import case_of

PARKED: dict[str, Any] = {
    "battery": {"capacity_ah": 60, "state_of_charge": 0.9, "health": 1.0},
    "vehicle": {"quiescent_a": 0.03},
    "site": {"temperature_c": 25, "parked_from": dt.date(2026, 12, 1)},
    "run": {"draws": 100, "horizon_days": 60},
}
ELECTRIC = {"kind": "electric", "quiescent_a": 0.03}
# Share of a current that stays in a battery held at nine tenths.
KEPT = float(charge_efficiency(0.9, kind=acceptance_of("flooded")))


def parked(**changes: Any) -> Case:
    """Return the parked vehicle with changes to its tables."""
    return case_of(PARKED, **changes)


def noted(case: Case, name: str) -> Any:
    """Return the value of an assumption."""
    (value,) = (a.value for a in case.assumptions if a.name == name)
    return value


def told(case: Case, words: str) -> bool:
    """Say whether a warning holds some words."""
    return any(words in warning for warning in case.warnings)


def test_a_maintainer_brings_its_current_for_the_hours_it_is_plugged_in() -> None:
    """1 A for a quarter of the day from the fourth day on; the rest is lost to gassing."""
    case = parked(maintainer={"current_a": 1.0, "hours_per_day": 6, "from_day": 2.5})
    assert case.maintainer is not None
    brought_a = case.maintainer.charging_a
    assert brought_a.shape == (60,)
    assert_allclose(brought_a[:3], 0.0)
    assert_allclose(brought_a[3:], 1.0 * KEPT * 0.25)
    assert not told(case, "less than the vehicle draws")
    whole = parked(maintainer={"current_a": 1.0}).maintainer
    assert whole is not None
    assert_allclose(whole.charging_a, KEPT)


def test_a_maintainer_holding_a_battery_replaces_what_is_drawn() -> None:
    """Power from the socket: the parked draw over what stays, at float voltage, over efficiency."""
    case = parked(
        maintainer={"float_v": 13.6, "mains_efficiency": 0.7},
        other=[{"name": "alarm", "current_a": 0.02}],
        vehicle={"wake_ups": [{"every_h": 1, "duration_s": 36, "current_a": 1.03}]},
        unit={"sleep_a": 0.004, "report_charge_as": 0.0},
    )
    watts = (0.03 + 0.02 + 0.01 + 0.004) / KEPT * 13.6 / 0.7
    assert_allclose(noted(case, "maintainer.mains_power"), watts)
    (source,) = (a.source for a in case.assumptions if a.name == "maintainer.mains_power")
    assert f"{watts * 24 * 30 / 1000:.1f} kWh a month" in source


def test_a_maintainer_too_weak_for_the_draw_is_told() -> None:
    """Below the draw the battery goes down although plugged in; just above, it does not."""
    for share, weak in ((0.97, True), (1.03, False)):
        case = parked(vehicle={"quiescent_a": 0.1}, maintainer={"current_a": share * 0.1 / KEPT})
        assert told(case, "less than the vehicle draws") == weak


@pytest.mark.parametrize(("temperature_c", "assumed"), [(4.5, True), (5.5, False)])
def test_compensation_that_nobody_said_matters_in_the_cold(
    temperature_c: float, assumed: bool
) -> None:
    """Below 5 °C a maintainer without compensation charges too little: common practice."""
    case = parked(maintainer={}, site={"temperature_c": temperature_c})
    assert told(case, "compensation is assumed") == assumed


def test_top_ups_bring_their_mean_current_until_they_are_stopped() -> None:
    """20 A for 30 min every two days are 208 mA, of which the battery keeps its share."""
    top_up = {"every_h": 48, "current_a": 20, "minutes": 30, "monitor_a": 0.01}
    case = parked(vehicle=ELECTRIC, top_up={**top_up, "suspended_after_days": 21})
    assert case.top_up is not None
    assert_allclose(case.vehicle.other_a, 0.01)
    assert case.top_up.ends_after_days == 21
    assert_allclose(case.top_up.charging_a[:21], 20 * 0.5 / 48 * KEPT)
    assert_allclose(case.top_up.charging_a[21:], 0.0)
    assert told(case, "the maker stops them after 21 days")
    weak = parked(vehicle=ELECTRIC, top_up={**top_up, "current_a": 2.5})
    assert told(weak, f"returns {24 * 2.5 * 0.5 / 48 * KEPT:.2f} Ah a day, less than the 0.96 Ah")
    assert not told(case, "less than the")


def test_top_ups_end_where_the_traction_battery_is_down_to_its_limit() -> None:
    """What is drawn comes out of it at 14 V over the converter; it also loses charge by itself."""
    # A full 12 V battery takes no more than the draw: (0.03 + 0.01) A over the share kept, 24 h a
    # day, at 14 V through a converter of 90 % (published as 80 to 92 %, from memory).
    a_day_kwh = (0.03 + 0.01) / KEPT * 24.0 * 14.0 / 0.9 / 1000.0
    kwh, charge, limit, monthly = 2.0, 0.5, 0.2, 0.1
    days = np.arange(400)
    left = charge * (1 - monthly) ** (days / 30.0) - days * a_day_kwh / kwh
    ends = int(np.argmax(left <= limit))
    case = parked(
        vehicle=ELECTRIC,
        top_up={
            "monitor_a": 0.01,
            "traction_kwh": kwh,
            "traction_state_of_charge": charge,
            "traction_limit": limit,
            "traction_loss_per_month": monthly,
        },
        run={"horizon_days": 120},
    )
    assert case.top_up is not None
    assert case.top_up.ends_after_days == ends
    assert told(case, "down to 20 %")
    # A top-up too weak for the draw takes no more than it brings.
    few = {"every_h": 72, "current_a": 1.0, "minutes": 60, "monitor_a": 0.0}
    slow = parked(
        vehicle=ELECTRIC,
        top_up={
            **few,
            "traction_kwh": 1.0,
            "traction_state_of_charge": 0.2,
            "traction_limit": 0.1,
            "traction_loss_per_month": 0.0,
        },
        run={"horizon_days": 365},
    )
    assert slow.top_up is not None
    by_hand = 0.1 / (1.0 / 72 * 24 * 14.0 / 0.9 / 1000.0)
    assert slow.top_up.ends_after_days == math.ceil(by_hand - 1e-9)


@pytest.mark.parametrize(("minutes", "fits"), [(60, True), (61, False)])
def test_a_top_up_ends_before_the_next(minutes: float, fits: bool) -> None:
    """One of an hour every hour is a charger that never stops."""
    top_up = {"every_h": 1.0, "minutes": minutes}
    if fits:
        assert parked(vehicle=ELECTRIC, top_up=top_up).top_up is not None
    else:
        with pytest.raises(Exception, match="longer than every_h"):
            parked(vehicle=ELECTRIC, top_up=top_up)


def test_a_panel_brings_its_sun_day_by_day() -> None:
    """Watts × hours of full sun × what is kept, at 13 V, less the shade."""
    days = np.array([335.0, 336.0, 365.0, 1.0])  # 1, 2 and 31 December, 1 January
    case = parked(
        solar={
            "panel_w": 20,
            "latitude_deg": 50,
            "clear_share": 0.3,
            "efficiency": 0.5,
            "shading": 0.4,
        }
    )
    assert case.solar is not None
    hours = 0.6 * 0.3 * extraterrestrial_kwh_m2_day(50.0, days)
    at = [0, 1, 30, 31]
    assert_allclose(case.solar.sun_h[at], hours)
    assert_allclose(case.solar.charging_a[at], 20 * 0.5 * hours / 13.0 / 24.0)


def test_the_usual_chain_from_sun_to_charge_is_three_losses() -> None:
    """Surface 0.90, plain controller 0.78, charging 0.85 (common practice) keep three fifths."""
    case = parked(solar={"panel_w": 20, "latitude_deg": 50})
    assert case.solar is not None
    assert_allclose(case.solar.efficiency, 0.90 * 0.78 * 0.85)
    # Below published means of December in eleven German places, 0.22 to 0.49 of the sun's.
    hours = 0.20 * extraterrestrial_kwh_m2_day(50.0, 335.0)
    assert_allclose(case.solar.sun_h[0], hours)
    assert told(case, "0.20 of what the sun sends")


def test_a_known_climate_brings_the_sunshine_of_each_month() -> None:
    """Day by day the month's own clear share, from December into January."""
    key = sorted(set(presets("sunshine")) & set(presets("climates")))[0]
    site = {"climate": key, "parked_from": dt.date(2026, 12, 20)}
    base = {**PARKED, "site": site}
    case = case_of(base, solar={"panel_w": 20})
    assert case.solar is not None
    monthly = presets("sunshine")[key].values["clear_share"]
    latitude = presets("climates")[key].values["latitude_deg"]
    for day, of_year, month in ((0, 354.0, 12), (11, 365.0, 12), (12, 1.0, 1), (43, 32.0, 2)):
        hours = monthly[month - 1] * float(extraterrestrial_kwh_m2_day(latitude, of_year))
        assert_allclose(case.solar.sun_h[day], hours)


def test_the_sun_warms_most_at_noon_and_not_at_night() -> None:
    """Half a sine from six to six, followed at once where the battery has no lag."""
    case = parked(site={"sun_soak_c": 10, "battery_lag_h": 0, "start_hour": 7})
    clock = (7 + np.arange(25)) % 24
    warmer = case.site.battery_c[:25] - 25.0
    by_hand = [10 * math.sin(math.pi * (h - 6) / 12) if 6 < h < 18 else 0.0 for h in clock]
    assert_allclose(warmer, by_hand, atol=1e-12)
    assert warmer[5] == pytest.approx(10.0)  # noon
    assert case.site.battery_c.shape == (60 * 24 + 1,)


def test_a_battery_lives_warmer_than_the_air_and_nights_may_be_colder_than_their_mean() -> None:
    """Five kelvins under the bonnet; a cold night is one spread below the coldest month's low."""
    # Common practice, no source, both.
    climate = presets("climates")["continental"].values
    site = case_of({**PARKED, "site": {"climate": "continental"}}).site
    low, high = np.array(climate["daily_low_c"]), np.array(climate["daily_high_c"])
    assert_allclose(site.life_temperature_c, (low.mean() + high.mean()) / 2.0 + 5.0)
    assert_allclose(site.coldest_c, low.min() - climate["day_to_day_sd_c"])
    assert_allclose([site.season_sd_c, site.weather_sd_c], [1.5, climate["day_to_day_sd_c"]])
    steady = parked().site
    assert (steady.season_sd_c, steady.weather_sd_c, steady.coldest_c) == (0.0, 0.0, None)
    assert steady.life_temperature_c == 15.0


@pytest.mark.parametrize(
    ("name", "table", "on"),
    [
        ("solar", {"panel_w": 20}, True),
        ("solar", {"panel_w": 0}, False),
        ("solar", {}, False),
        ("maintainer", {}, True),
        ("top_up", {}, True),
    ],
)
def test_a_charger_is_there_where_its_table_is_but_a_panel_needs_watts(
    name: str, table: dict[str, float], on: bool
) -> None:
    """An empty [maintainer] is a usual one, an empty [solar] no panel."""
    assert charger_is_on({name: table}, name) == on
    assert not charger_is_on({"battery": {}}, name)


def test_half_a_battery_accepts_half_of_what_a_whole_one_does_in_the_cold() -> None:
    """Where the battery, not the maintainer, is the limit, acceptance goes with its capacity."""
    new, worn = (
        parked(
            battery={"health": health},
            site={"temperature_c": -25},
            maintainer={"current_a": 20.0},
        ).maintainer
        for health in (1.0, 0.5)
    )
    assert new is not None
    assert worn is not None
    assert 0.0 < new.charging_a[0] < 20.0 * KEPT
    assert_allclose(worn.charging_a, 0.5 * new.charging_a)
