"""Speed of the stand simulation, as a ratio to a bare NumPy loop in the same run.

Run: python benchmarks/stand.py
"""

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np

from drainsim.answers.standing.park import park, run_draws
from drainsim.simulation.battery_curves import curves_of
from drainsim.vehicle.case import resolve
from drainsim.vehicle.scenario import scenario_from_dict


def bare_loop(lanes: int, hours: int) -> float:
    """About 15 flops and one exp per lane-hour, nothing else; returns seconds."""
    charge = np.full(lanes, 50.0)
    load = np.full(lanes, 0.03)
    warm = np.linspace(-5.0, 5.0, lanes)
    failed = np.zeros(lanes)
    begin = time.perf_counter()
    for hour in range(hours):
        air = warm + 3.0 * (hour % 24)  # 1
        loss = 4e-5 * np.exp(0.069 * (air - 25.0))  # 3 and the exp
        charge = charge - load * 1.0 - loss * charge  # 4
        margin = (charge * 0.02 - 0.1) * (0.6 + 0.01 * air)  # 4
        failed += margin < 1.0  # 2
    return time.perf_counter() - begin


def median_s(work: Callable[[], object], repeats: int) -> float:
    """Return the median seconds of repeated runs."""
    taken = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)


def main() -> None:
    """Print lane-hours per second and ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=2000)
    parser.add_argument("--days", type=int, default=180)
    parser.add_argument("--repeats", type=int, default=5)
    options = parser.parse_args()
    hours = options.days * 24
    lane_hours = options.draws * hours
    bare = statistics.median(bare_loop(options.draws, hours) for _ in range(options.repeats))
    print(f"{options.draws} lanes x {options.days} days = {lane_hours / 1e6:.2f} M lane-hours")
    print(f"bare NumPy loop            {lane_hours / bare:.3g} lane-hours/s  ({bare:.3f} s)")
    for name, unit in (
        ("no unit", None),
        ("hourly unit", {"preset": "hourly"}),
        ("voltage ladder", {"preset": "hourly_with_ladder"}),
        ("0.25 A continuous", {"preset": "never_sleeps"}),
    ):
        tables: dict[str, object] = {
            "battery": {"capacity_ah": 60},
            "run": {"draws": options.draws, "horizon_days": options.days},
        }
        if unit:
            tables["unit"] = unit
        case = resolve(scenario_from_dict(tables))
        curves = curves_of(case)
        draws = median_s(lambda c=case, w=curves: run_draws(c, w), options.repeats)
        whole = median_s(lambda c=case: park(c), options.repeats)
        print(
            f"{name:<27}{lane_hours / draws:.3g} lane-hours/s  ({draws:.3f} s)  "
            f"ratio {bare / draws:.2f}; whole answer with traces {whole:.3f} s, "
            f"ratio {bare / whole:.2f}"
        )


if __name__ == "__main__":
    main()
