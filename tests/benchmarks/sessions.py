"""Many visitors at once: web-socket clients moving sliders; prints errors, waits and memory.

Run: python -m tests.benchmarks.sessions [--sessions 50] [--minutes 5] [--checkout FOLDER]

Goals on two quiet cores stand beside what was measured. Each client speaks the page's own protocol:
it opens the first page, finds two sliders in what the server sends, and moves one every few
seconds, waiting for the script to finish.
"""

import argparse
import asyncio
import os
import random
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.asyncio.client import connect

ROOT = Path(__file__).resolve().parents[2]
SLIDERS = ("quiescent", "age")  # in the widgets' names
PATIENCE_S = 120.0


@dataclass
class Tally:
    """What all clients saw."""

    waits_s: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


async def finished(stream, sliders: dict[str, tuple[float, float]]) -> None:
    """Read until the script run ends; collect sliders, raise on an exception shown."""
    while True:
        message = ForwardMsg()
        message.ParseFromString(await asyncio.wait_for(stream.recv(), PATIENCE_S))
        kind = message.WhichOneof("type")
        if kind == "delta" and message.delta.WhichOneof("type") == "new_element":
            element = message.delta.new_element
            if element.WhichOneof("type") == "exception":
                raise RuntimeError(f"the page shows {element.exception.message[:80]}")
            if element.WhichOneof("type") == "slider" and element.slider.id:
                sliders[element.slider.id] = (element.slider.min, element.slider.max)
        if kind == "script_finished":
            return


async def visitor(number: int, port: int, until: float, tally: Tally, pause_s: float) -> None:
    """Move sliders until the time is up."""
    dice = random.Random(number)
    await asyncio.sleep(dice.uniform(0.0, pause_s))
    address = f"ws://127.0.0.1:{port}/_stcore/stream"
    sliders: dict[str, tuple[float, float]] = {}
    values: dict[str, float] = {}
    try:
        async with connect(
            address, origin=f"http://127.0.0.1:{port}", subprotocols=["streamlit"], max_size=None
        ) as stream:
            ask = BackMsg()
            ask.rerun_script.query_string = ""
            await stream.send(ask.SerializeToString())
            await finished(stream, sliders)
            chosen = [one for one in sliders if any(part in one for part in SLIDERS)]
            if len(chosen) != len(SLIDERS):
                raise RuntimeError(f"found {len(chosen)} of {len(SLIDERS)} sliders")
            while time.monotonic() < until:
                moved = dice.choice(chosen)
                low, high = sliders[moved]
                values[moved] = float(round(dice.uniform(low, high)))
                ask = BackMsg()
                for one, value in values.items():
                    state = ask.rerun_script.widget_states.widgets.add()
                    state.id = one
                    state.double_array_value.data.append(value)
                began = time.monotonic()
                await stream.send(ask.SerializeToString())
                await finished(stream, sliders)
                tally.waits_s.append(time.monotonic() - began)
                await asyncio.sleep(dice.uniform(0.5, 1.5) * pause_s)
    except Exception as error:  # every kind counts as an error of the run
        tally.errors.append(f"visitor {number}: {type(error).__name__}: {error}")


def memory_mb(pid: int) -> float:
    """Return a process's resident memory, Linux only."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return float("nan")


def processor_s(pid: int) -> float:
    """Return the processor time a process has used, Linux only."""
    words = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")


async def watch(pid: int, until: float, tally: Tally) -> None:
    """Print what is so far, twenty times over a run of minutes."""
    began, step = time.monotonic(), max(10.0, (until - time.monotonic()) / 20)
    while time.monotonic() < until:
        recent = len(tally.waits_s)
        await asyncio.sleep(step)
        waits = tally.waits_s[recent:]
        middle = statistics.median(waits) if waits else float("nan")
        print(
            f"{time.monotonic() - began:5.0f} s  {memory_mb(pid):6.0f} MB  "
            f"{len(waits) / step:5.1f} moves/s  median wait {middle:5.2f} s  "
            f"errors {len(tally.errors)}",
            flush=True,
        )


async def run(options: argparse.Namespace, port: int, pid: int) -> Tally:
    """Let all visitors in."""
    tally = Tally()
    until = time.monotonic() + 60.0 * options.minutes
    print(f"{memory_mb(pid):.0f} MB before the first visitor")
    visitors = [visitor(n, port, until, tally, options.pause) for n in range(options.sessions)]
    await asyncio.gather(watch(pid, until, tally), *visitors)
    return tally


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sessions", type=int, default=50)
    parser.add_argument("--minutes", type=float, default=5.0)
    parser.add_argument("--pause", type=float, default=5.0, help="mean s between moves (5)")
    parser.add_argument("--checkout", type=Path, default=ROOT, help="serve another version")
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load average {os.getloadavg()[0]:.1f}")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.NamedTemporaryFile("w+") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "drainsim", "dashboard", "--no-browser", f"--port={port}"],
            cwd=options.checkout,
            env={**os.environ, "PYTHONPATH": str(options.checkout)},
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        try:
            for _ in range(300):
                try:
                    urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health").read()
                    break
                except OSError:
                    time.sleep(0.1)
            before_s = processor_s(server.pid)
            tally = asyncio.run(run(options, port, server.pid))
            used_s = processor_s(server.pid) - before_s
            print(f"{memory_mb(server.pid):.0f} MB after the last visitor left   goal 300 MB")
        finally:
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:  # still at work on what was asked
                server.kill()
                server.wait(20)
        log.seek(0)
        traces = log.read().count("Traceback")
    waits = sorted(tally.waits_s)
    print(
        f"{options.sessions} sessions, {options.minutes:g} min: {len(waits)} moves, "
        f"{len(tally.errors)} errors, {traces} tracebacks in the server's log"
    )
    if waits:
        print(
            f"wait for all of the new answer: median {statistics.median(waits):.2f} s (goal 0.6), "
            f"95 % {waits[int(0.95 * len(waits))]:.2f} s (goal 2), longest {waits[-1]:.2f} s; "
            f"{1e3 * used_s / len(waits):.0f} ms of processor time a move (goal 80); "
            f"load average {os.getloadavg()[0]:.1f}"
        )
    for error in tally.errors[:10]:
        print(error)


if __name__ == "__main__":
    main()
