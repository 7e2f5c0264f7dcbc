"""A list of many files on a local cluster of processes: time, memory and what it would be on more.

Run: python -m tests.benchmarks.cluster [--vehicles 5000 20000] [--per-file 2500] [--workers 2]

Each size is `drainsim fleet FOLDER --cluster`, actions left out, its cluster fresh. A worker's
memory must follow the file and not the list. Invented vehicles of tests/benchmarks/fleet.py.
"""

import argparse
import json
import os
import tempfile
import time
from pathlib import Path
from typing import Any

import distributed

from drainsim.cli.main import main as drainsim
from tests.benchmarks.fleet import DAYS, DRAWS, TODAY, invented_list

MILLION, CORES = 1_000_000, 100


def _in_files(folder: Path, vehicles: int, per_file: int) -> None:
    """Write a list as files of so many vehicles."""
    heading, *rows = invented_list(vehicles).decode().splitlines()
    for begin in range(0, vehicles, per_file):
        text = "\n".join([heading, *rows[begin : begin + per_file], ""])
        (folder / f"part{begin:08d}.csv").write_text(text)


def _used() -> tuple[float, float]:
    """Return this process's processor time and peak memory. [s, MiB], Linux only."""
    import resource

    own = resource.getrusage(resource.RUSAGE_SELF)
    return own.ru_utime + own.ru_stime, own.ru_maxrss / 1024.0


def measure(folder: Path, vehicles: int, per_file: int, workers: int) -> dict[str, Any]:
    """Answer a list of so many vehicles; return seconds and MiB of a worker."""
    listed = folder / f"list{vehicles}"
    listed.mkdir()
    _in_files(listed, vehicles, per_file)
    with (
        distributed.LocalCluster(
            n_workers=workers, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        out, began = folder / f"out{vehicles}", time.monotonic()
        words = ["fleet", str(listed), "--cluster", cluster.scheduler_address, "--out", str(out)]
        words += ["--today", str(TODAY), "--ahead", str(DAYS), "--draws", str(DRAWS)]
        if drainsim([*words, "--no-actions"]) != 0:
            raise SystemExit("the list was not answered")
        wall_s = time.monotonic() - began
        used = client.run(_used).values()
    answered = json.loads((out / "summary.json").read_text())["vehicles_answered"]
    if answered != vehicles:
        raise SystemExit(f"{answered} of {vehicles} answered")
    return {
        "wall_s": wall_s,
        "cpu_s": sum(seconds for seconds, _ in used),
        "worker_mib": max(mib for _, mib in used),
    }


def main() -> None:
    """Print a line a size, then a million vehicles on a hundred cores by the growth between two."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vehicles", type=int, nargs="+", default=[5_000, 20_000])
    parser.add_argument("--per-file", type=int, default=2_500)
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    print(f"{DRAWS} draws x {DAYS} days, load before {os.getloadavg()[0]:.1f}", flush=True)
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        for vehicles in options.vehicles:
            one = measure(Path(folder), vehicles, options.per_file, options.workers)
            found[vehicles] = one["cpu_s"]
            print(
                f"{vehicles:>8} vehicles in files of {options.per_file}: {one['wall_s']:.0f} s, "
                f"{one['cpu_s']:.0f} s of processor time in {options.workers} workers, "
                f"at most {one['worker_mib']:.0f} MiB in one",
                flush=True,
            )
    (few, few_s), (many, many_s) = min(found.items()), max(found.items())
    if many > few:
        each_s = (many_s - few_s) / (many - few)
        print(
            f"{1e3 * each_s:.1f} ms a vehicle more: {MILLION} vehicles are "
            f"{each_s * MILLION / 3600:.1f} h of processor time, about "
            f"{each_s * MILLION / CORES / 60:.1f} min on {CORES} cores (reckoned, not run)"
        )


if __name__ == "__main__":
    main()
