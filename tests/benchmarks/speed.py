"""Speed of every kind of answer beside a bare NumPy loop and other libraries, in one run.

Run: python -m tests.benchmarks.speed [--against CHECKOUT] [--large] [--quick]

Times are processor milliseconds, the best of a few runs, so that other load counts little; it is
printed all the same. `--against` makes the same measurements on another checkout of drainsim too
and prints before and after. NREL-PySAM and pybamm are compared where installed. Then come a move
of the dashboard's first page, as one visitor makes it over its web socket, and lists of 1,000 and
10,000 vehicles (tests/benchmarks/fleet.py), with `--large` of 100,000. `--quick` leaves out all
but answers and lists. In a browser and for fifty visitors: tests.benchmarks.dashboard, .sessions.
"""

import argparse
import datetime as dt
import importlib.util
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

DAYS, LIST_DRAWS, LIST_VEHICLES, ACTED_VEHICLES = 180, 200, 100, 300
TODAY = dt.date(2026, 11, 1)
ROOT = Path(__file__).resolve().parents[2]

FLEET = f"fleet's answer, {ACTED_VEHICLES} vehicles"
ACTIONS = f"fleet's actions, {ACTED_VEHICLES} vehicles"
GOALS = {
    "answer": "50 ms of 2000 draws",
    "storage": "600 ms",
    "catalogue": "5000 ms",
    "week of 50": "500 ms",
}


def bare_loop(lanes: int, hours: int) -> float:
    """About 15 flops and one exp per lane-hour, nothing else; returns processor seconds."""
    charge = np.full(lanes, 50.0)
    load = np.full(lanes, 0.03)
    warm = np.linspace(-5.0, 5.0, lanes)
    failed = np.zeros(lanes)
    begin = time.process_time()
    for hour in range(hours):
        air = warm + 3.0 * (hour % 24)  # 1
        loss = 4e-5 * np.exp(0.069 * (air - 25.0))  # 3 and the exp
        charge = charge - load * 1.0 - loss * charge  # 4
        margin = (charge * 0.02 - 0.1) * (0.6 + 0.01 * air)  # 4
        failed += margin < 1.0  # 2
    return time.process_time() - begin


def best_s(work: Callable[[], object], repeats: int) -> float:
    """Return the least processor seconds of repeated runs."""
    taken = []
    for _ in range(repeats):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def _tables(draws: int, **changes: Any) -> dict[str, Any]:
    return {
        "battery": {"capacity_ah": 60},
        "site": {"climate": "temperate"},
        "run": {"draws": draws, "horizon_days": DAYS},
        **changes,
    }


UNITS: dict[str, dict[str, Any]] = {
    "no unit": {},
    "hourly unit": {"unit": {"preset": "hourly"}},
    "voltage ladder": {"unit": {"preset": "hourly_with_ladder"}},
    "solar panel": {"unit": {"preset": "hourly"}, "solar": {"panel_w": 10, "latitude_deg": 50}},
    "0.25 A": {"unit": {"preset": "never_sleeps"}},
}


def answers() -> dict[str, Callable[[], object]]:
    """Return the whole answers by name."""
    from drainsim.answers.standing.park import park
    from drainsim.vehicle.case import resolve
    from drainsim.vehicle.keys.scenario import scenario_from_dict

    works: dict[str, Callable[[], object]] = {}
    for draws in (1000, 2000):
        for name, changes in UNITS.items():
            case = resolve(scenario_from_dict(_tables(draws, **changes)))
            works[f"answer, {name}, {draws} draws"] = lambda case=case: park(case)
    scenario = scenario_from_dict(_tables(1000, unit={"preset": "hourly"}))
    works["resolve a scenario"] = lambda: resolve(scenario)
    return works


def lists() -> dict[str, Callable[[], object]]:
    """Return the kernel of a list by what its vehicles have: 20,000 lanes each."""
    from dataclasses import replace

    from drainsim.simulation.many import run_cases
    from drainsim.vehicle.case import resolve
    from drainsim.vehicle.keys.scenario import scenario_from_dict

    works: dict[str, Callable[[], object]] = {}
    for name in ("hourly unit", "voltage ladder", "solar panel"):
        rng = np.random.default_rng(1)
        cases = []
        for number in range(LIST_VEHICLES):
            ahead = int(rng.integers(0, 30))
            tables = _tables(LIST_DRAWS, **UNITS[name])
            tables["battery"] = {"capacity_ah": 60, "state_of_charge": float(rng.uniform(0.7, 1))}
            tables["vehicle"] = {"quiescent_a": float(rng.uniform(0.01, 0.05))}
            tables["site"] = {"climate": "temperate", "parked_from": TODAY + dt.timedelta(ahead)}
            tables["run"] = {"draws": LIST_DRAWS, "horizon_days": DAYS - ahead, "seed": number}
            cases.append(replace(resolve(scenario_from_dict(tables)), weather_seed=1))
        works[f"list, {name}"] = lambda cases=cases: list(run_cases(cases))
    return works


def questions() -> dict[str, Callable[[], object]]:
    """Return the questions that change one thing at a time."""
    from drainsim.answers.driving.week import week
    from drainsim.answers.fleet.answer import answer_fleet
    from drainsim.answers.fleet.fleet_actions import cheapest_actions
    from drainsim.answers.storage.answer import storage
    from drainsim.answers.storage.catalogue import CatalogueQuestion, catalogue
    from drainsim.answers.storage.risk import StandQuestion
    from drainsim.api import sweep
    from drainsim.files.fleet.table import table_from_bytes
    from drainsim.files.presets import presets
    from drainsim.vehicle.case import resolve
    from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table
    from drainsim.vehicle.keys.scenario import scenario_from_dict
    from tests.benchmarks.fleet import invented_list

    scenario = scenario_from_dict(_tables(1000, unit={"preset": "hourly"}))
    question = StandQuestion(scenario=scenario, days=60)
    table = CatalogueQuestion(
        units={"hourly": scenario},
        vehicles=tuple(presets("vehicles"))[:7],
        climates=tuple(presets("climates"))[:12],
        today=TODAY,
    )
    weeks = {
        count: resolve(
            scenario_from_dict(_tables(1000, pattern={"trips_per_week": count, "trip_minutes": 15}))
        )
        for count in (10, 50)
    }
    values = {"vehicle.quiescent_a": list(np.linspace(0.01, 0.06, 50))}
    settings = FleetSettings(today=TODAY, days_ahead=DAYS, draws=LIST_DRAWS)
    raw = table_from_bytes(invented_list(ACTED_VEHICLES), where="list")
    fleet = fleet_from_table(raw, settings, where="list")
    answered = answer_fleet(fleet, settings, workers=1)
    return {
        FLEET: lambda: answer_fleet(fleet, settings, workers=1),
        ACTIONS: lambda: cheapest_actions(
            fleet.vehicles, answered.vehicles, settings, risk=0.05, workers=1
        ),
        "storage, 60 days": lambda: storage(question),
        "catalogue, 7 classes x 12 climates": lambda: catalogue(table),
        "sweep of 50": lambda: sweep(values, _tables(1000)),
        **{f"week of {n} trips": lambda case=case: week(case) for n, case in weeks.items()},
    }


def measure(*, quick: bool) -> dict[str, float]:
    """Return processor seconds by name; what a checkout cannot do is left out."""
    found = {
        f"bare loop, {lanes} lanes": min(bare_loop(lanes, 24 * DAYS) for _ in range(3))
        for lanes in (1000, 2000, LIST_VEHICLES * LIST_DRAWS)
    }
    kinds = [(answers, 7), (lists, 3)] + ([] if quick else [(questions, 1)])
    for kind, repeats in kinds:
        try:
            works = kind()
        except ImportError as error:
            print(f"left out: {error}", file=sys.stderr)
            continue
        for name, work in works.items():
            if repeats > 1:
                work()  # caches as in a running server
            found[name] = best_s(work, repeats)
    return found


def _bare_of(name: str, found: dict[str, float]) -> float | None:
    """Return the bare loop's seconds for the lanes and hours of a work."""
    lanes = {"1000 draws": 1000, "2000 draws": 2000}.get(name.rsplit(", ", 1)[-1])
    if name.startswith("list"):
        lanes = LIST_VEHICLES * LIST_DRAWS
    return None if lanes is None else found[f"bare loop, {lanes} lanes"]


def _goal(name: str, found: dict[str, float]) -> str:
    """Return what was set as the goal of a work, in words."""
    if name == ACTIONS:
        return f"{1e3 * found[FLEET]:.0f} ms, the answer's own"
    if name.startswith("list"):
        return "bare/now 5"
    return next((goal for begin, goal in GOALS.items() if name.startswith(begin)), "")


def _print_libraries(ours: float) -> None:
    """Print lane-hours per second of stepping libraries beside ours."""
    from tests.benchmarks.fleet import stepping_s

    hours = 2000
    taken = stepping_s(hours)
    if taken is None:
        print("NREL-PySAM is not installed: no comparison with stateful stepping")
    else:
        rate = hours / taken
        print(f"NREL-PySAM, stateful battery: {rate:.3g} lane-hours/s, ours {ours / rate:.0f} x")
    if importlib.util.find_spec("pybamm") is None:
        print("pybamm is not installed: no comparison with its lead-acid model")
        return
    import pybamm

    values = pybamm.ParameterValues("Sulzer2019")
    values["Current function [A]"] = 0.03
    simulation = pybamm.Simulation(pybamm.lead_acid.LOQS(), parameter_values=values)
    taken = best_s(lambda: simulation.solve([0.0, 3600.0 * hours]), 1)
    rate = hours / taken
    print(f"pybamm, leading-order lead-acid: {rate:.3g} lane-hours/s, ours {ours / rate:.0f} x")


def _elsewhere(checkout: Path, *, quick: bool) -> dict[str, float]:
    """Return the measurements of another checkout, made by this file."""
    words = [sys.executable, __file__, "--json", *(["--quick"] if quick else [])]
    environment = {**os.environ, "PYTHONPATH": str(checkout)}
    run = subprocess.run(
        words, cwd=checkout, env=environment, check=True, capture_output=True, text=True
    )
    return {name: float(value) for name, value in json.loads(run.stdout).items()}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--against", type=Path, help="another checkout: the figures before")
    parser.add_argument("--large", action="store_true", help="also a list of 100,000 vehicles")
    parser.add_argument("--quick", action="store_true", help="answers and lists only")
    parser.add_argument("--json", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.json:
        print(json.dumps(measure(quick=options.quick)))
        return
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors; processor ms")
    before = _elsewhere(options.against, quick=options.quick) if options.against else {}
    found = measure(quick=options.quick)
    print(f"{'':<38}{'before':>9}{'now':>9}{'x':>7}{'bare/now':>10}  goal")
    for name, seconds in found.items():
        then = before.get(name)
        bare = _bare_of(name, found)
        print(
            f"{name:<38}"
            + (f"{1e3 * then:>9.1f}" if then else f"{'':>9}")
            + f"{1e3 * seconds:>9.1f}"
            + (f"{then / seconds:>7.1f}" if then else f"{'':>7}")
            + (f"{bare / seconds:>10.2f}" if bare else f"{'':>10}")
            + f"  {_goal(name, found)}"
        )
    lanes = LIST_VEHICLES * LIST_DRAWS
    _print_libraries(lanes * DAYS * 24 / found["list, hourly unit"])
    if options.quick:
        return
    for checkout in filter(None, (options.against, ROOT)):
        print(f"\na move of the first page, {checkout}", flush=True)
        one = ["--sessions", "1", "--minutes", "0.5", "--pause", "0.02", f"--checkout={checkout}"]
        _run_beside("sessions", one)
    print(flush=True)
    _run_beside("fleet", ["--large"] if options.large else [])


def _run_beside(name: str, words: list[str]) -> None:
    """Run another of these measurements in a process of its own."""
    subprocess.run([sys.executable, "-m", f"tests.benchmarks.{name}", *words], cwd=ROOT, check=True)


if __name__ == "__main__":
    main()
