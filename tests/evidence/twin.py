"""Twin experiment: vehicles whose truth is known, each answered without knowing it.

A vehicle's nominal values (what a user would state) are drawn first; its truth is then one draw
from the spreads about them, with weather of its own; its answer is many draws from the same
spreads with another seed. If the arithmetic of draws, percentiles and daily probabilities is
sound, the 10 to 90 % band holds the truth in 80 % of the cases. It shows nothing about whether the
spreads are those of real vehicles: for that the answers are repeated with spreads half and twice
the true ones.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.evidence import asking
from drainsim.files.writing import write_text
from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.battery_curves import curves_of
from drainsim.simulation.draws import INPUTS, standard_draws, weather_of_draw, with_common_ageing
from drainsim.simulation.lanes import Lanes, drawn_weather, lanes_from_draws, loads_of
from drainsim.simulation.standing.stand import Stand, run_stand
from drainsim.simulation.weather import WeatherLanes
from drainsim.vehicle.case import Case
from drainsim.vehicle.run import Spreads
from tests.evidence.fleet import FLEET

FACTORS: Final = (1.0, 0.5, 2.0)  # assumed spread over true spread
HORIZON_DAYS: Final = 240
_BATCH: Final = 60  # vehicles simulated together
_EDGES: Final = (0.0, 0.05, 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95, 1.0)
_ASK_WITHIN_DAYS: Final = 90  # a day to ask at is drawn from the first so many


@dataclass(frozen=True, slots=True, kw_only=True)
class Reliability:
    """One bin: what was said, what happened, and the sampling error of the difference."""

    said: float
    happened: float
    vehicles: int
    sampling_sd: float

    @property
    def deviation(self) -> float:
        """Difference in units of its sampling error."""
        return (self.happened - self.said) / self.sampling_sd


@dataclass(frozen=True, slots=True, kw_only=True)
class TwinResult:
    """Coverage and reliability for one ratio of assumed to true spreads.

    `covered` counts a truth on the very end of the band as inside; `covered_ties_split` gives such
    a truth (same hour, or both past the horizon) its share only, which is the fair figure.
    """

    factor: float
    vehicles: int
    draws: int
    covered: float
    covered_ties_split: float
    failed_sooner: float
    failed_later: float
    mean_said: float
    mean_happened: float
    reliability: tuple[Reliability, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the plain dictionary for JSON."""
        named = {f.name: getattr(self, f.name) for f in fields(self) if f.name != "reliability"}
        rows = [
            {
                "said": row.said,
                "happened": row.happened,
                "vehicles": row.vehicles,
                "sampling_sd": row.sampling_sd,
            }
            for row in self.reliability
        ]
        return {**named, "reliability": rows}


def twin_experiment(
    *,
    vehicles: int = 2000,
    draws: int = 300,
    seed: int = 20261125,
    factors: Iterable[float] = FACTORS,
) -> tuple[TwinResult, ...]:
    """Return coverage and reliability for each ratio of assumed to true spreads.

    Parameters
    ----------
    vehicles : int
        Simulated vehicles, dealt evenly to the cases of the fleet.
    draws : int
        Draws behind each vehicle's answer.
    seed : int
        Nominal values, truths and answers each get seeds of their own from it.
    factors : iterable of float
        Assumed spread over true spread.
    """
    cases = [asking.case({**tables, "run": _run()}) for tables in FLEET.values()]
    shares = [len(part) for part in np.array_split(np.arange(vehicles), len(cases))]
    parts: dict[float, list[_Asked]] = {factor: [] for factor in factors}
    for number, (case, count) in enumerate(zip(cases, shares, strict=True)):
        rng = np.random.default_rng([seed, number])
        for first in range(0, count, _BATCH):
            known = [_stated(case, rng) for _ in range(min(_BATCH, count - first))]
            truth = _truths(known, rng)
            own_seed = int(rng.integers(2**31))
            for factor, asked in parts.items():
                answer = _answers(known, draws, factor, own_seed)
                asked.append(_ask(answer, truth, draws, np.random.default_rng(own_seed)))
    return tuple(_result(factor, draws, asked) for factor, asked in parts.items())


@dataclass(frozen=True, slots=True)
class _Asked:
    """Per vehicle: rank of the truth, where it lies, and one question about one day."""

    rank: FloatArray
    sooner: BoolArray
    later: BoolArray
    said: FloatArray
    happened: BoolArray


def _run() -> dict[str, int]:
    return {"draws": 100, "horizon_days": HORIZON_DAYS}


def _stated(case: Case, rng: np.random.Generator) -> Case:
    """Return the case of one vehicle: nominal values as different users would state them."""
    battery = replace(
        case.battery,
        start=replace(case.battery.start, charge=float(rng.uniform(0.75, 0.97))),
        capacity_health=float(rng.uniform(0.75, 1.0)),
        cranking_health=float(rng.uniform(0.7, 1.0)),
    )
    vehicle = replace(
        case.vehicle,
        quiescent_a=case.vehicle.quiescent_a * float(np.exp(0.3 * rng.standard_normal())),
        demand_a=case.vehicle.demand_a * float(rng.uniform(0.9, 1.1)),
    )
    return replace(case, battery=battery, vehicle=vehicle)


def _scaled(spreads: Spreads, factor: float) -> Spreads:
    """Return spreads all narrower or wider by a factor; the weather's memory stays."""
    wider = {
        f.name: getattr(spreads, f.name) * factor
        for f in fields(spreads)
        if f.name != "weather_correlation"
    }
    return replace(spreads, **wider)


def _answers(known: Sequence[Case], draws: int, factor: float, seed: int) -> Stand:
    """Return the stand of `draws` lanes for each vehicle, drawn as `answers.park` draws them."""
    cases = [replace(case, spreads=_scaled(case.spreads, factor)) for case in known]
    first = replace(cases[0], draws=draws, weather_seed=seed)
    parts = [
        lanes_from_draws(case, standard_draws(draws, [seed, number]))
        for number, case in enumerate(cases)
    ]
    lanes = _joined(parts, np.tile(weather_of_draw(draws), len(cases)))
    return _stand(first, lanes, drawn_weather(first))


def _truths(known: Sequence[Case], rng: np.random.Generator) -> Stand:
    """Return what happens to each vehicle: one lane each, with a weather of its own."""
    parts = []
    for case in known:
        z = {name: rng.standard_normal(1) for name in INPUTS}
        parts.append(lanes_from_draws(case, with_common_ageing(z)))
    first = known[0]
    spreads, count = first.spreads, len(known)
    daily = rng.standard_normal((first.horizon_days, count))
    memory = spreads.weather_correlation
    for day in range(1, first.horizon_days):
        daily[day] = memory * daily[day - 1] + (1.0 - memory**2) ** 0.5 * daily[day]
    weather = WeatherLanes(
        course_c=first.site.battery_c,
        season_c=spreads.season_sd_c * rng.standard_normal(count),
        anomaly_c=spreads.weather_sd_c * daily,
        settled_c=spreads.weather_sd_c * daily[0],
        lag_h=first.site.lag_h,
        doubling_k=first.battery.profile.number("self_discharge_doubling_k"),
    )
    return _stand(first, _joined(parts, np.arange(count)), weather)


def _joined(parts: Sequence[Lanes], weather: IndexArray) -> Lanes:
    """Return lanes one after the other."""
    joined = {
        f.name: np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(Lanes)
    }
    return Lanes(**{**joined, "weather": weather})


def _stand(case: Case, lanes: Lanes, weather: WeatherLanes) -> Stand:
    loads = loads_of(case)
    return run_stand(lanes, curves_of(case), loads, weather, horizon_days=case.horizon_days)


def _ask(answer: Stand, truth: Stand, draws: int, rng: np.random.Generator) -> _Asked:
    """Compare each vehicle's truth with its answer, and ask about one day drawn at random."""
    drawn_h = answer.no_start_h.reshape(-1, draws)
    true_h = truth.no_start_h
    below = (drawn_h < true_h[:, None]).sum(axis=1)
    same = (drawn_h == true_h[:, None]).sum(axis=1)
    rank = (below + rng.uniform(size=len(true_h)) * (same + 1.0)) / (draws + 1.0)
    low_h, high_h = np.quantile(drawn_h, [0.1, 0.9], axis=1, method="inverted_cdf")
    day = rng.integers(1, _ASK_WITHIN_DAYS + 1, size=len(true_h))
    daily = answer.no_start_daily.reshape(-1, len(true_h), draws)
    each = np.arange(len(true_h))
    return _Asked(
        rank=rank,
        sooner=true_h < low_h,
        later=true_h > high_h,
        said=daily[day, each].mean(axis=1),
        happened=truth.no_start_daily[day, each],
    )


def _result(factor: float, draws: int, asked: Sequence[_Asked]) -> TwinResult:
    rank, sooner, later, said, happened = (
        np.concatenate([getattr(part, f.name) for part in asked]) for f in fields(_Asked)
    )
    return TwinResult(
        factor=factor,
        vehicles=len(rank),
        draws=draws,
        covered=float(1.0 - np.mean(sooner | later)),
        covered_ties_split=float(np.mean((rank >= 0.1) & (rank <= 0.9))),
        failed_sooner=float(np.mean(sooner)),
        failed_later=float(np.mean(later)),
        mean_said=float(said.mean()),
        mean_happened=float(happened.mean()),
        reliability=_reliability(said, happened, draws),
    )


def _reliability(said: FloatArray, happened: BoolArray, draws: int) -> tuple[Reliability, ...]:
    """Return the curve; its sampling error holds both that of the truth and of the draws."""
    rows = []
    smoothed = (said * draws + 0.5) / (draws + 1.0)  # no draw out of 200 is not "never"
    bins = np.digitize(said, _EDGES[1:-1])
    for number in range(len(_EDGES) - 1):
        here = bins == number
        if not here.any():
            continue
        spread = smoothed[here] * (1.0 - smoothed[here]) * (1.0 + 1.0 / draws)
        rows.append(
            Reliability(
                said=float(said[here].mean()),
                happened=float(happened[here].mean()),
                vehicles=int(here.sum()),
                sampling_sd=float(np.sqrt(spread.sum()) / here.sum()),
            )
        )
    return tuple(rows)


def write_results(path: Path, results: Sequence[TwinResult]) -> None:
    """Write the results to the file the command and the page read."""
    document = {"results": [result.as_dict() for result in results]}
    write_text(path, json.dumps(document, indent=1) + "\n")
