"""Where it stands: temperature sources, dates, lag."""

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drainsim.errors import DrainsimError, ScenarioError
from drainsim.files.presets import presets
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.places.site import Site
from tests.build import case_of


def site(**keys: Any) -> Site:
    """Return the site of a [site] table over 30 days."""
    return case_of({"battery": {}, "site": keys, "run": {"horizon_days": 30}}).site


@pytest.mark.parametrize("temperature_c", [-40.0, -18.0, 25.0, 60.0])
def test_a_constant_temperature_is_constant(temperature_c: float) -> None:
    """Every hour from parking to the horizon holds the value; no weather, no season."""
    found = site(temperature_c=temperature_c)
    assert len(found.battery_c) == 30 * 24 + 1
    assert_allclose(found.battery_c, temperature_c)
    assert found.season_sd_c == found.weather_sd_c == 0.0


@pytest.mark.parametrize("key", sorted(presets("climates")))
def test_a_climate_starts_at_the_hour_of_parking(key: str) -> None:
    """With no lag the course is the climate's own, warmest at 15:00 whatever the start hour."""
    for start_hour in (0, 7, 22):
        found = site(
            climate=key, battery_lag_h=0, start_hour=start_hour, parked_from=dt.date(2026, 7, 1)
        )
        days = found.battery_c[: 29 * 24].reshape(29, 24)
        assert (((start_hour + days.argmax(axis=1)) % 24) == 15).all()
    july = presets("climates")[key].values
    assert days.min(axis=1).mean() == pytest.approx(july["daily_low_c"][6], abs=0.4)
    assert days.max(axis=1).mean() == pytest.approx(july["daily_high_c"][6], abs=0.4)


def test_the_battery_follows_the_air_hours_later_and_less() -> None:
    """A longer lag damps the daily swing and moves it later."""
    swings = [
        np.ptp(site(climate="hot_desert", battery_lag_h=lag).battery_c[:25]) for lag in (0, 6, 24)
    ]
    assert swings[0] > swings[1] > swings[2]


def test_sun_soak_only_warms() -> None:
    """Sun adds warmth by day and leaves the night before sunrise colder than noon."""
    shade, sun = site(climate="temperate"), site(climate="temperate", sun_soak_c=15)
    assert (sun.battery_c >= shade.battery_c - 1e-9).all()
    assert (sun.battery_c - shade.battery_c).max() > 5


def test_two_temperature_sources_are_refused() -> None:
    """The sentence names both and the choice."""
    with pytest.raises(ScenarioError, match="site has temperature_c and climate; keep one of"):
        site(temperature_c=10, climate="temperate")


def test_a_place_beyond_the_model_is_refused() -> None:
    """A battery warmer than 60 °C is an error, not a clamp."""
    with pytest.raises(ScenarioError, match="is outside -40 to 60 °C"):
        site(
            climate="hot_desert_coast",
            sun_soak_c=40,
            battery_lag_h=0,
            parked_from=dt.date(2026, 7, 1),
        )


def test_unknown_climates_are_answered_with_the_nearest() -> None:
    """A misspelt climate names the one it may be."""
    with pytest.raises(DrainsimError, match=r"site\.climate = 'temprate'.*did you mean temperate"):
        site(climate="temprate")


def test_hourly_files_are_read_beside_the_scenario(tmp_path: Path) -> None:
    """A CSV beside the scenario file gives the course, hour for hour, from parking on."""
    values = [f"{hour % 24}" for hour in range(8760)]
    (tmp_path / "air.csv").write_text("temperature_c\n" + "\n".join(values), encoding="utf-8")
    tables = {
        "battery": {},
        "site": {
            "hourly_csv": "air.csv",
            "battery_lag_h": 0,
            "start_hour": 7,
            "parked_from": dt.date(2026, 3, 1),
        },
        "run": {"horizon_days": 5},
    }
    found = resolve(scenario_from_dict(tables, folder=tmp_path)).site
    assert_allclose(found.battery_c, (7 + np.arange(5 * 24 + 1)) % 24)
    with pytest.raises(ScenarioError, match=r"site\.hourly_csv needs a scenario file on disk"):
        resolve(scenario_from_dict(tables))


@pytest.mark.parametrize(
    "parked_from", [dt.date(1900, 1, 1), dt.date(2024, 2, 29), dt.date(2199, 12, 31)]
)
def test_any_allowed_date_has_a_course(parked_from: dt.date) -> None:
    """Both ends of the calendar and leap days resolve."""
    found = site(climate="temperate", parked_from=parked_from)
    assert np.isfinite(found.battery_c).all()


def _warnings(site: dict[str, Any], latitude_deg: float | None) -> str:
    """Return the warnings of a case with a site and a panel's latitude."""
    solar = {} if latitude_deg is None else {"latitude_deg": latitude_deg}
    tables = {"battery": {}, "site": site, "solar": solar, "run": {"horizon_days": 5}}
    return " ".join(case_of(tables).warnings)


def test_a_southern_latitude_under_a_northern_climate_is_a_warning() -> None:
    """Climate presets have northern seasons: with a southern latitude that is said."""
    day = {"parked_from": dt.date(2026, 6, 1)}
    assert "half a year apart" in _warnings({"climate": "temperate", **day}, -35.0)
    assert "half a year apart" in _warnings(day, -35.0)  # the default climate
    assert "half a year apart" in _warnings({"climate": "temperate", **day}, -0.5)
    assert "half a year apart" not in _warnings({"climate": "temperate", **day}, 0.5)
    assert "half a year apart" not in _warnings({"climate": "temperate", **day}, None)
    assert "half a year apart" not in _warnings({"temperature_c": 5.0, **day}, -35.0)


def test_in_the_south_the_default_day_is_questioned(tmp_path: Path) -> None:
    """Own temperatures and a southern latitude, but no date: 1 December is no winter there."""
    air = "\n".join(["temperature_c", *(["15.0"] * (365 * 24))])
    (tmp_path / "year.csv").write_text(air, encoding="utf-8")
    tables: dict[str, Any] = {
        "battery": {},
        "site": {"hourly_csv": "year.csv"},
        "solar": {"latitude_deg": -35.0},
        "run": {"horizon_days": 5},
    }

    def warned() -> bool:
        found = resolve(scenario_from_dict(tables, folder=tmp_path)).warnings
        return any("begins in June" in warning for warning in found)

    assert warned()
    tables["site"]["parked_from"] = dt.date(2026, 6, 1)
    assert not warned()
