"""A place by latitude and altitude or by its coldest month: against stations, and invariants."""

import datetime as dt
import json
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from drainsim.answers.standing.park import park
from drainsim.cli import main
from drainsim.errors import ScenarioError
from drainsim.files.presets import presets
from drainsim.vehicle.places.place import Place, place_at, place_of
from drainsim.vehicle.places.site import Site
from drainsim.vehicle.places.site_keys import SITE, TEMPERATURES, goes_with, instead_of
from tests.build import case_of

# Monthly means of climate normals and typical years in data/climates.toml, each with its source.
# Longitude and altitude of the stations, from memory. [°, m]
_STATIONS = {
    "subarctic": (-147.7, 134),
    "continental": (-97.1, 239),
    "temperate": (13.1, 80),
    "marine": (-122.3, 120),
    "humid_subtropical": (-79.9, 273),
    "tropical_coast": (-80.3, 3),
    "mediterranean": (-5.9, 20),
    "hot_desert": (-112.0, 337),
    "hot_desert_coast": (55.3, 5),
    "equatorial": (103.9, 15),
    "mountain": (13.0, 1213),
    "alpine_valley": (11.1, 719),
}


def _case(days: int = 120, **site: Any) -> Any:
    tables = {
        "battery": {"capacity_ah": 60.0, "age_years": 0.0},
        "unit": {"preset": "hourly"},
        "vehicle": {"preset": "compact_petrol"},
        "site": site,
        "run": {"horizon_days": days, "draws": 200},
    }
    return case_of(tables)


def _site(days: int = 5, **site: Any) -> Site:
    found: Site = _case(days, battery_lag_h=0, **site).site
    return found


def _places(key: str) -> tuple[Place, Place]:
    """Return a station's place by latitude and altitude, and by its longitude too."""
    latitude = presets("climates")[key].values["latitude_deg"]
    longitude, altitude = _STATIONS[key]
    return place_at(latitude, None, altitude), place_at(latitude, longitude, altitude)


def _months(key: str) -> np.ndarray:
    values = presets("climates")[key].values
    return np.mean([values["daily_low_c"], values["daily_high_c"]], axis=0)


@pytest.mark.parametrize("key", sorted(presets("climates")))
def test_every_climates_station_lies_within_two_spreads_of_its_latitude(key: str) -> None:
    """The coldest month of a published station is within what its latitude leaves open."""
    for place in _places(key):
        assert abs(_months(key).min() - place.coldest_c) <= 2.0 * place.spread_k


def test_a_spread_is_what_stations_are_off() -> None:
    """Not so wide that it says nothing: most stations are within one; the longitude halves it."""
    wide, narrow = zip(*map(_places, presets("climates")), strict=True)
    coldest = [_months(key).min() for key in presets("climates")]
    rms = []
    for places in (wide, narrow):
        errors = [month - place.coldest_c for month, place in zip(coldest, places, strict=True)]
        within = [abs(e) <= one.spread_k for e, one in zip(errors, places, strict=True)]
        assert 6 <= sum(within) < len(within)
        rms.append(float(np.sqrt(np.mean(np.square(errors)))))
    assert rms[1] < 0.5 * rms[0]


@pytest.mark.parametrize("key", sorted(presets("climates")))
def test_a_year_is_rebuilt_from_its_two_months(key: str) -> None:
    """Given the station's coldest and warmest month, the months between lie within 2.6 K rms."""
    # The rms of all land is 1.6 K (data/places.toml); a continental autumn lies furthest off.
    months = _months(key)
    found = _site(
        364,
        coldest_month_c=float(months.min()),
        warmest_month_c=float(months.max()),
        parked_from=dt.date(2026, 1, 1),
        start_hour=0,
    )
    ends = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
    means = [found.battery_c[a:b].mean() for a, b in pairwise(ends)]
    error = np.array(means) - months
    assert np.sqrt((error**2).mean()) < 2.6
    assert means[0] == pytest.approx(months.min(), abs=0.3)


def test_days_differ_as_those_of_known_climates_do() -> None:
    """Over all climates, days swing and differ from day to day as the climates' own figures say."""
    found, known = [], []
    for key, climate in presets("climates").items():
        months = _months(key)
        ends = {"coldest_month_c": float(months.min()), "warmest_month_c": float(months.max())}
        site = _site(30, parked_from=dt.date(2026, 1, 1), start_hour=0, **ends)
        days_c = site.battery_c[: 24 * 30].reshape(30, 24)
        found.append((site.weather_sd_c, float(np.ptp(days_c, axis=1).mean())))
        values = climate.values
        swing_k = np.mean(np.subtract(values["daily_high_c"], values["daily_low_c"]))
        known.append((float(values["day_to_day_sd_c"]), float(swing_k)))
    # A straight line through points passes through their middle; 0.3 K: months shade into another.
    assert_allclose(np.mean(found, axis=0), np.mean(known, axis=0), atol=0.3)
    assert np.corrcoef(np.transpose(found)[0], np.transpose(known)[0])[0, 1] > 0.5


def test_what_stands_beside_a_place_goes_with_the_way_that_tells_it() -> None:
    """An altitude goes with a latitude, a warmest month with a coldest, which counts where both."""
    latitude = {"site": {"latitude_deg": 50.0}}
    both = {"site": {"latitude_deg": 50.0, "coldest_month_c": 1.0}}
    for tables, going in ((latitude, (True, False)), (both, (False, True)), ({}, (False, False))):
        assert (
            goes_with(SITE.altitude_m, tables),
            goes_with(SITE.warmest_month_c, tables),
        ) == going
    assert goes_with(SITE.climate, {})


@given(
    latitude=st.floats(-55.0, 75.0),
    longitude=st.none() | st.floats(-180.0, 180.0),
    low=st.floats(-450.0, 5500.0),
    more=st.floats(1.0, 2000.0),
)
def test_higher_is_colder_by_the_standard_atmosphere(
    latitude: float, longitude: float | None, low: float, more: float
) -> None:
    """Both months fall by 6.5 K a kilometre, whatever the latitude."""
    # ISO 2533, standard atmosphere: 6.5 K/km up to 11 km.
    below, above = (place_at(latitude, longitude, metres) for metres in (low, low + more))
    assert below.coldest_c - above.coldest_c == pytest.approx(0.0065 * more)
    assert below.warmest_c - above.warmest_c == pytest.approx(0.0065 * more)
    assert below.spread_k == above.spread_k


def test_beyond_the_tropics_the_north_is_colder_toward_the_pole() -> None:
    """From 20° on every step toward the pole is a colder winter, in both halves, to 70 and 55°."""
    for degrees in (np.arange(20.0, 71.0), -np.arange(20.0, 56.0)):
        coldest = [place_at(float(one), None, 0.0).coldest_c for one in degrees]
        assert (np.diff(coldest) < 0.0).all()


def test_the_earth_is_round() -> None:
    """180° west is 180° east, and nothing jumps on the way round."""
    for latitude in (-40.0, 0.0, 51.0, 75.0):
        east = np.linspace(-180.0, 180.0, 721)
        coldest = [place_at(latitude, float(one), 0.0).coldest_c for one in east]
        assert coldest[0] == pytest.approx(coldest[-1])
        assert np.abs(np.diff(coldest)).max() < 1.0


def test_the_southern_winter_is_in_july() -> None:
    """A negative latitude puts the coldest month into July, by latitude and by coldest month."""
    january, july = dt.date(2026, 1, 10), dt.date(2026, 7, 10)
    for told in ({}, {"coldest_month_c": 2.0, "warmest_month_c": 18.0}):
        for latitude, winter, summer in ((-45.0, july, january), (45.0, january, july)):
            site = {"latitude_deg": latitude, **told}
            cold, warm = (_site(parked_from=day, **site) for day in (winter, summer))
            assert cold.battery_c.mean() < warm.battery_c.mean() - 8.0
            assert cold.season_sd_c == warm.season_sd_c
    north = _site(parked_from=january, coldest_month_c=2.0, warmest_month_c=18.0)
    south = _site(parked_from=july, coldest_month_c=2.0, warmest_month_c=18.0, latitude_deg=-45.0)
    assert north.battery_c.mean() == pytest.approx(south.battery_c.mean(), abs=0.1)


def test_in_the_south_the_day_nobody_says_is_the_first_of_june() -> None:
    """Without a date the cautious half of the year begins half a year later there."""
    assert (_site(latitude_deg=-45.0).parked_from.month, _site().parked_from.month) == (6, 12)
    assert _site(latitude_deg=45.0).parked_from.month == 12
    warned = _case(5, latitude_deg=-45.0).warnings
    assert not any("begins in June" in warning for warning in warned)


def _failed(answer: Any) -> np.ndarray:
    return np.asarray(answer.course.probability_failed_by)


@pytest.mark.parametrize("warm", [{}, {"warmest_month_c": 20.0}])
@pytest.mark.parametrize("coldest_c", [-15.0, -5.0, 0.0])
def test_a_coldest_month_5_k_lower_never_gives_fewer_no_starts(
    coldest_c: float, warm: dict[str, float]
) -> None:
    """Parked on 1 December under the same weather, colder is never safer on any winter's day.

    New, so that how the place has aged the battery does not count: there heat does harm.
    """
    site = {"parked_from": dt.date(2026, 12, 1), **warm}
    mild, cold = (
        park(_case(90, coldest_month_c=one, **site)) for one in (coldest_c, coldest_c - 5.0)
    )
    assert (_failed(cold) >= _failed(mild)).all()
    assert _failed(cold).sum() > _failed(mild).sum()


@pytest.mark.parametrize("latitude_deg", [52.0, -55.0])
def test_higher_never_lasts_longer_in_the_cold(latitude_deg: float) -> None:
    """The same vehicle 800 m higher fails no later in any share of the cases."""
    low, high = (
        park(_case(90, latitude_deg=latitude_deg, altitude_m=metres)) for metres in (0.0, 800.0)
    )
    assert (_failed(high) >= _failed(low)).all()


def test_a_coldest_month_alone_is_less_sure_than_both_and_latitude_least() -> None:
    """The range a place leaves open narrows with what is said; each has its line."""
    day = {"parked_from": dt.date(2026, 12, 1)}
    spreads = []
    for site in (
        {"latitude_deg": 50.0},
        {"latitude_deg": 50.0, "longitude_deg": 14.0},
        {"coldest_month_c": -9.5},
        {"coldest_month_c": -9.5, "warmest_month_c": 22.0},
        {"climate": "temperate"},
    ):
        case = _case(5, **site, **day)
        spreads.append(case.spreads.season_sd_c)
        lines = {item.name: item for item in case.assumptions}
        assert ("site.place_spread" in lines) == ("climate" not in site)
    assert spreads == sorted(spreads, reverse=True)
    assert len(set(spreads)) == 5


@pytest.mark.parametrize(
    ("site", "sentence"),
    [
        (
            {"climate": "temperate", "coldest_month_c": -5.0},
            "site has climate and coldest_month_c; keep one of",
        ),
        (
            {"climate": "temperate", "latitude_deg": 50.0},
            "site has climate and latitude_deg; keep one of",
        ),
        (
            {"temperature_c": 5.0, "latitude_deg": 50.0},
            "site has temperature_c and latitude_deg; keep one of",
        ),
        (
            {"coldest_month_c": -5.0, "latitude_deg": 50.0, "altitude_m": 300.0},
            r"site\.altitude_m goes with site\.latitude_deg, but site\.coldest_month_c gives",
        ),
        (
            {"coldest_month_c": -5.0, "latitude_deg": 50.0, "longitude_deg": 14.0},
            r"site\.longitude_deg goes with site\.latitude_deg, but site\.coldest_month_c gives",
        ),
        (
            {"warmest_month_c": 20.0},
            r"site\.warmest_month_c goes with site\.coldest_month_c, but site\.climate gives",
        ),
        (
            {"coldest_month_c": 20.0, "warmest_month_c": 10.0},
            r"site\.warmest_month_c = 10 °C is below site\.coldest_month_c = 20 °C",
        ),
        ({"latitude_deg": 80.0}, r"site\.latitude_deg = 80\.0 ° is outside -55 to 75 °"),
    ],
)
def test_contradictions_get_one_sentence(site: dict[str, Any], sentence: str) -> None:
    """Two ways of saying where it stands, and a value that goes with neither, are refused."""
    with pytest.raises(ScenarioError, match=sentence):
        _case(5, **site)


def test_a_panel_takes_the_places_latitude() -> None:
    """The sun of the place is that of its latitude; another half of the earth is a warning."""
    tables: dict[str, Any] = {
        "battery": {},
        "site": {"latitude_deg": -35.0},
        "solar": {"panel_w": 20.0},
        "run": {"horizon_days": 5},
    }
    assert case_of(tables).solar.latitude_deg == -35.0
    tables["solar"]["latitude_deg"] = 35.0
    assert any("different halves of the earth" in said for said in case_of(tables).warnings)
    tables["site"] = {"coldest_month_c": 5.0}
    assert not any("different halves" in said for said in case_of(tables).warnings)
    tables["solar"]["latitude_deg"] = -35.0
    assert any("different halves" in said for said in case_of(tables).warnings)


def test_one_way_takes_the_place_of_the_others() -> None:
    """Each way of saying it names all keys it replaces, and keeps what goes with it."""
    for said in TEMPERATURES:
        replaced = instead_of(said)
        assert said not in replaced
        scenario = {"battery": {}, "site": {said.key: {"climate": "marine"}.get(said.key, 5.0)}}
        if said not in {SITE.hourly_csv, SITE.epw}:
            case_of({**scenario, "run": {"horizon_days": 5}})
    assert SITE.altitude_m not in instead_of(SITE.latitude_deg)
    assert {SITE.altitude_m, SITE.warmest_month_c} <= set(instead_of(SITE.climate))
    assert instead_of(SITE.start_hour) == ()


def test_the_command_line_takes_the_same_keys(
    tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """--set says the place; the answer names it, its months and its spread as assumptions."""
    scenario = tmp_path / "van.toml"
    scenario.write_text("[battery]\n[run]\nhorizon_days = 20\n", encoding="utf-8")
    words = ["--set", "site.latitude_deg=-42", "--set", "site.altitude_m=300", "--json"]
    assert main(["park", str(scenario), *words]) == 0
    answer = json.loads(capsys.readouterr().out)
    used = {item["name"]: item for item in answer["assumptions"]}
    assert (used["site.latitude_deg"]["value"], used["site.altitude_m"]["value"]) == (-42.0, 300.0)
    assert used["site.coldest_month_c"]["origin"] == "estimated"
    assert used["site.place_spread"]["unit"] == "K"


def test_the_warmest_month_not_given_is_that_of_such_places() -> None:
    """The line lies within two of its spreads of most stations, deserts and summits included."""
    errors = [
        _months(key).max() - place_of(float(_months(key).min()), None).warmest_c
        for key in presets("climates")
    ]
    spread = presets("places")["coldest_month"].values["warmest_sd_k"]
    assert sum(abs(error) <= 2.0 * spread for error in errors) >= 10
