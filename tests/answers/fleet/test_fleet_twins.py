"""Synthetic fleets whose truth is known: does the stated band hold it as often as it says?"""

import datetime as dt

import numpy as np
import pytest

from drainsim.answers.fleet.joint_risk import LEVELS, count_band, count_distribution
from drainsim.physics.tables import IndexArray
from drainsim.simulation.draws import DRAWS_PER_WEATHER
from drainsim.simulation.many import run_cases
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.scenario import scenario_from_dict

FLEETS, SIZE, KINDS = 500, 25, 40
DAY = 30
TRUE_DRAWS, STATED_DRAWS, STATED_RUNS = 4000, 200, 12


def levels_on_the_day(*, draws: int, weather_seed: int, first_seed: int) -> IndexArray:
    """Return how many of each weather's draws fail on the day, shape (kinds, weathers)."""
    rng = np.random.default_rng(4)  # the same kinds of vehicles every time
    cases = []
    for number in range(KINDS):
        tables = {
            "battery": {
                "capacity_ah": float(rng.uniform(50, 95)),
                "age_years": float(rng.uniform(1, 7)),
                "state_of_charge": float(rng.uniform(0.55, 0.9)),
            },
            "unit": {"preset": str(rng.choice(["hourly", "daily"]))},
            "vehicle": {"quiescent_a": float(rng.uniform(0.01, 0.03)), "engine_litres": 2.0},
            # Two places with a weather each, at a time of year when a cold snap decides.
            "site": {
                "climate": ["continental", "temperate"][number % 5 == 0],
                "parked_from": dt.date(2026, 12, 20),
            },
            "run": {
                "horizon_days": DAY,
                "draws": draws,
                "seed": first_seed + number,
                "weather_seed": weather_seed,
            },
        }
        cases.append(resolve(scenario_from_dict(tables)))
    found = {n: stand.no_start_daily[DAY] for n, stand in run_cases(cases)}
    daily = np.stack([found[number] for number in range(KINDS)])
    return daily.reshape(KINDS, -1, DRAWS_PER_WEATHER).sum(axis=2)


@pytest.fixture(scope="module")
def truth() -> IndexArray:
    """Return 800 weathers none of the statements knows, with each kind's draws in them."""
    return levels_on_the_day(draws=TRUE_DRAWS, weather_seed=999, first_seed=900_000)


@pytest.fixture(scope="module")
def stated() -> list[IndexArray]:
    """Return what twelve answers with the usual number of draws say."""
    return [
        levels_on_the_day(draws=STATED_DRAWS, weather_seed=run, first_seed=1000 * (run + 1))
        for run in range(STATED_RUNS)
    ]


def replayed(
    truth: IndexArray, stated: list[IndexArray], *, shared: bool
) -> tuple[float, float, float]:
    """Return the share of fleets whose true number lies in the band, the stated share, bias."""
    rng = np.random.default_rng(11)
    inside, promised, gaps = [], [], []
    for fleet in range(FLEETS):
        kinds = rng.choice(KINDS, size=SIZE, replace=False)
        levels = stated[fleet % STATED_RUNS][kinds]
        by_weather = np.stack([np.bincount(col, minlength=LEVELS) for col in levels.T])
        if shared:
            distribution = count_distribution(by_weather)
        else:  # every vehicle by its own mean chance, as if each had a weather of its own
            distribution = np.array([1.0])
            for chance in levels.mean(axis=1) / DRAWS_PER_WEATHER:
                distribution = np.convolve(distribution, [1.0 - chance, chance])
        band = count_band(distribution)
        weather = rng.integers(truth.shape[1])
        fails = rng.random(SIZE) < truth[kinds, weather] / DRAWS_PER_WEATHER
        inside.append(band.p10 <= fails.sum() <= band.p90)
        promised.append(distribution[band.p10 : band.p90 + 1].sum())
        gaps.append(fails.sum() - band.expected)
    return float(np.mean(inside)), float(np.mean(promised)), float(np.mean(gaps))


def test_the_band_holds_the_truth_as_often_as_it_says(
    truth: IndexArray, stated: list[IndexArray]
) -> None:
    """In 500 fleets with shared weather the P10 to P90 band holds the true number."""
    held, promised, gap = replayed(truth, stated, shared=True)
    assert promised >= 0.8  # whole numbers make it a little more than 80 %
    # Standard error of a share of 500: 1.7 %. The band rests on 40 weathers, whose own chance
    # costs a few per cent of coverage; 3 standard errors either way.
    assert abs(held - promised) < 0.055
    # Mean of 500 numbers that vary by about 6 vehicles: standard error 0.3.
    assert abs(gap) < 0.9


def test_taking_vehicles_for_independent_would_not(
    truth: IndexArray, stated: list[IndexArray]
) -> None:
    """The same chances without the shared weather give a band that is far too narrow."""
    held, promised, _ = replayed(truth, stated, shared=False)
    assert promised >= 0.8
    assert held < promised - 0.15
