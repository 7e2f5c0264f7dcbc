"""Speed and memory of a whole fleet's answer, and its growth with the number of vehicles.

Run: python tests/benchmarks/fleet.py [--large] [--workers 2]

Each size runs in a process of its own, so that its peak memory (itself plus the largest worker,
times workers) is its own. Ratios are to the bare NumPy loop of
tests/benchmarks/speed.py in the same run, and, where NREL-PySAM can be imported, to stepping that
general-purpose battery library hour by hour on a small sample.
"""

import argparse
import datetime as dt
import importlib.util
import json
import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

DAYS, DRAWS = 180, 200
TODAY = dt.date(2026, 11, 25)
_KINDS = ("flooded", "AGM", "EFB", "calcium")
_UNITS = ("hourly", "daily", "hourly with ladder", "live", "")
_CLIMATES = ("temperate", "continental", "marine", "mediterranean")


def invented_list(vehicles: int) -> bytes:
    """Return a CSV list of unlike vehicles, parked over the last 30 days."""
    rng = np.random.default_rng(3)
    lines = [
        "id,depot,battery_profile,capacity_ah,battery_age_years,state_of_charge,quiescent_a,unit,"
        "engine_litres,fuel,climate,parked_from"
    ]
    for number in range(vehicles):
        parked = TODAY - dt.timedelta(days=int(rng.integers(0, 31)))
        place = int(rng.integers(4))
        lines.append(
            f"v{number},depot {place},{rng.choice(_KINDS)},{rng.integers(50, 110)},"
            f"{rng.uniform(0, 7):.1f},{rng.uniform(0.6, 1):.2f},{rng.uniform(0.01, 0.05):.4f},"
            f"{rng.choice(_UNITS)},{rng.uniform(1.2, 3):.1f},{rng.choice(['petrol', 'diesel'])},"
            f"{_CLIMATES[place]},{parked}"
        )
    return "\n".join(lines).encode()


def measure(vehicles: int, workers: int, *, actions: bool) -> dict[str, float]:
    """Answer a list once; return seconds and MiB."""
    from drainsim.answers.fleet.answer import answer_fleet
    from drainsim.answers.fleet.fleet_actions import cheapest_actions
    from drainsim.files.fleet.table import table_from_bytes
    from drainsim.vehicle.documents.fleet_rows import FleetSettings, fleet_from_table

    settings = FleetSettings(today=TODAY, days_ahead=DAYS, draws=DRAWS)
    content = invented_list(vehicles)
    begin = time.perf_counter()
    fleet = fleet_from_table(table_from_bytes(content, where="x"), settings, where="x")
    read = time.perf_counter()
    answer = answer_fleet(fleet, settings, workers=workers)
    done = time.perf_counter()
    cpu = _cpu_s()
    if len(answer.vehicles) != vehicles:
        raise SystemExit(f"{len(answer.vehicles)} of {vehicles} answered")
    found = {"read_s": read - begin, "answer_s": done - read, "cpu_s": cpu}
    if actions:
        cheapest_actions(fleet.vehicles, answer.vehicles, settings, risk=0.05, workers=workers)
        found["actions_s"] = time.perf_counter() - done
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
    return {**found, "parent_mib": own, "child_mib": child}


def _cpu_s() -> float:
    """Return processor seconds so far, of this process and its workers: free of others' load."""
    used = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in used)


def stepping_s(hours: int) -> float | None:
    """Return seconds to step one lead-acid battery through hours in NREL-PySAM, if it is there."""
    if importlib.util.find_spec("PySAM") is None:
        return None
    from PySAM import BatteryStateful, BatteryTools

    battery = BatteryStateful.default("LeadAcid")
    BatteryTools.battery_model_sizing(battery, 0.5, 0.72, 12)
    battery.Controls.control_mode = 0.0
    battery.Controls.dt_hr = 1.0
    battery.Controls.input_current = 0.03
    battery.ParamsCell.initial_SOC = 90.0
    battery.ParamsCell.minimum_SOC = 0.0
    battery.ParamsCell.maximum_SOC = 100.0
    battery.setup()
    begin = time.perf_counter()
    for _ in range(hours):
        battery.execute(0)
    return time.perf_counter() - begin


def _print_libraries(vehicles: int, answer_s: float) -> None:
    from tests.benchmarks.speed import bare_loop

    lanes, hours = 2000, DAYS * 24
    bare = lanes * hours / sorted(bare_loop(lanes, hours) for _ in range(3))[1]
    ours = vehicles * DRAWS * hours / answer_s
    print(f"lane-hours/s: fleet {ours:.3g}, bare NumPy loop {bare:.3g}, ratio {ours / bare:.2f}")
    sample_h = 2000
    taken = stepping_s(sample_h)
    if taken is None:
        print("NREL-PySAM is not installed: no comparison with stateful stepping")
    else:
        print(
            f"stateful stepping in NREL-PySAM: {sample_h / taken:.3g} lane-hours/s, the fleet is "
            f"{ours * taken / sample_h:.0f} times as fast"
        )


def main() -> None:
    """Print one line per size, then the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--large", action="store_true", help="also 100,000 vehicles")
    parser.add_argument("--actions", action="store_true", help="also the search for actions")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)  # one size, as JSON
    options = parser.parse_args()
    if options.one:
        print(json.dumps(measure(options.one, options.workers, actions=options.actions)))
        return
    load = os.getloadavg()[0]
    print(f"{DRAWS} draws x {DAYS} days, {options.workers} processes, load before {load:.1f}")
    sizes = [1_000, 10_000, *([100_000] if options.large else [])]
    before = None
    for size in sizes:
        words = [sys.executable, __file__, "--one", str(size), "--workers", str(options.workers)]
        words += ["--actions"] if options.actions else []
        text = subprocess.run(words, check=True, capture_output=True, text=True).stdout
        found = json.loads(text)
        memory = found["parent_mib"] + options.workers * found["child_mib"]
        growth = "" if before is None else f", {found['cpu_s'] / before:.1f} times the last"
        actions = f", actions {found['actions_s']:.1f} s" if "actions_s" in found else ""
        print(
            f"{size:>7} vehicles: read {found['read_s']:.1f} s, answer {found['answer_s']:.1f} s "
            f"({found['cpu_s']:.0f} s of processor time){growth}{actions}, {memory:.0f} MiB "
            f"(parent {found['parent_mib']:.0f}, worker {found['child_mib']:.0f})",
            flush=True,
        )
        before, last, taken_s = found["cpu_s"], size, found["answer_s"]
    _print_libraries(last, taken_s)


if __name__ == "__main__":
    main()
