"""How fast readings are read and a fleet is forecast from them; printed, never asserted.

Run: python -m tests.benchmarks.readings [--vehicles 1000] [--days 60] [--workers 2]

Targets: a million rows read within 10 s and 500 MB; 1,000 vehicles x 60 days of hourly readings
forecast within 120 s on two cores; the next morning with state within 20 s. Each in a process of
its own; processor seconds stand beside wall seconds because other work may share the machine.
"""

import argparse
import datetime as dt
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

BEGIN = dt.datetime(2026, 10, 1, tzinfo=dt.UTC)
_KINDS = ("flooded calcium", "AGM", "enhanced flooded")


def invented_readings(folder: Path, vehicles: int, days: int) -> tuple[Path, Path, Path]:
    """Write hourly readings, those of the last day alone, and the list; return their paths.

    Each vehicle is driven at some hour of every fifth to thirtieth day and stands in between.
    """
    rng = np.random.default_rng(4)
    hours = np.arange(days * 24)
    since = np.empty((vehicles, len(hours)))
    driven = np.zeros((vehicles, len(hours)), dtype=bool)
    for one in range(vehicles):
        every = 24 * int(rng.integers(5, 31))
        since[one] = (hours + rng.integers(every)) % every
        driven[one] = since[one] == 0
    level = rng.uniform(12.35, 12.75, (vehicles, 1))
    fall = rng.uniform(0.002, 0.012, (vehicles, 1)) / 24
    volts = level - fall * since + 0.4 * (1 + since / 0.8) ** -0.9
    volts = np.where(driven, 14.2, volts + 0.004 * rng.standard_normal(volts.shape)).round(2)
    names = np.repeat([f"V{one:05d}" for one in range(vehicles)], len(hours))
    times = pd.date_range(BEGIN, periods=len(hours), freq="h").strftime("%Y-%m-%dT%H:%M:%SZ")
    frame = pd.DataFrame(
        {
            "vehicle": names,
            "time": np.tile(times, vehicles),
            "voltage [V]": volts.ravel(),
            "ignition": driven.ravel().astype(int),
        }
    )
    last = np.tile(hours >= (days - 1) * 24, vehicles)
    early, late, whole = folder / "early.csv", folder / "late.csv", folder / "list.csv"
    frame[~last].to_csv(early, index=False)
    frame[last].to_csv(late, index=False)
    pd.DataFrame(
        {
            "vehicle": [f"V{one:05d}" for one in range(vehicles)],
            "battery type": rng.choice(_KINDS, vehicles),
            "capacity (Ah)": rng.integers(50, 100, vehicles),
            "battery age (years)": rng.uniform(0.5, 6, vehicles).round(1),
            "climate": "temperate",
        }
    ).to_csv(whole, index=False)
    return early, late, whole


def measured(what: str, words: list[str]) -> None:
    """Run Python in a process of its own and print what it took."""
    begin, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, *words], capture_output=True, text=True, check=False)
    wall, used = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 3):
        raise SystemExit(f"{what}: exit code {done.returncode}: {done.stderr.strip()}")
    cpu = used.ru_utime + used.ru_stime - before.ru_utime - before.ru_stime
    print(
        f"{what:<44} {wall:6.1f} s   {cpu:6.1f} s of processor   "
        f"largest process so far {used.ru_maxrss / 1024:5.0f} MB",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--vehicles", type=int, default=1000)
    parser.add_argument("--days", type=int, default=60)
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load average {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        early, late, whole = invented_readings(folder, options.vehicles, options.days)
        million = folder / "million.csv"
        with early.open() as source, million.open("w") as target:
            target.writelines(line for line, _ in zip(source, range(1_000_001), strict=False))
        rows = sum(1 for _ in million.open()) - 1
        read = (
            "import sys; from pathlib import Path; "
            "from drainsim.files.readings.reader import read_readings; "
        )
        rest = "assert read_readings([Path(sys.argv[1])]).rows == int(sys.argv[2])"
        measured("interpreter and imports alone", ["-c", read])
        measured(f"{rows:,} rows read", ["-c", read + rest, str(million), str(rows)])
        state = folder / "state.json"
        moment = BEGIN + dt.timedelta(days=options.days)

        def forecast(readings: Path, now: dt.datetime) -> list[str]:
            return [
                "-m", "drainsim", "forecast", str(readings), "--vehicles", str(whole),
                "--now", now.strftime("%Y-%m-%dT%H:%M:%SZ"), "--state", str(state), "--json",
                "--workers", str(options.workers),
            ]  # fmt: skip

        size = f"{options.vehicles:,} vehicles x {options.days} days"
        measured(f"{size}, forecast", forecast(early, moment - dt.timedelta(days=1)))
        measured("next morning with state", forecast(late, moment))


if __name__ == "__main__":
    main()
