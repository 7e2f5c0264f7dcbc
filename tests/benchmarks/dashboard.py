"""How fast the dashboard is: first meaningful page, page switch, slider; printed, never asserted.

python benchmarks/dashboard.py [--runs 5]

The target is a first page within 3 s on two quiet cores; the load average is printed beside it.
"""

import argparse
import os
import shutil
import socket
import statistics
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parents[2]
ANSWER = ".st-key-answer h2"
CHART = ".st-key-answer_chart .main-svg"
CHROMIUM = ("chromium", "chromium-browser", "google-chrome", "chrome")


def told(what: str, seconds: list[float]) -> None:
    print(
        f"{what:<45} median {statistics.median(seconds):5.2f} s   "
        f"longest {max(seconds):5.2f} s   ({len(seconds)} runs)",
        flush=True,
    )


def first_page(browser: Any, address: str) -> tuple[float, float, float]:
    """Return the seconds to answer and chart for a fresh visitor, and to the chart on reload."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    tab = context.new_page()
    began = time.monotonic()
    tab.goto(address)
    tab.wait_for_selector(ANSWER)
    answer = time.monotonic() - began
    tab.wait_for_selector(CHART)
    chart = time.monotonic() - began
    tab.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")
    began = time.monotonic()
    tab.reload()
    tab.wait_for_selector(CHART)
    again = time.monotonic() - began
    context.close()
    return answer, chart, again


def slider(browser: Any, address: str, moves: int) -> list[float]:
    """Return the seconds from a key press to the changed chart."""
    tab = browser.new_page(viewport={"width": 1440, "height": 900})
    tab.goto(address)
    tab.wait_for_selector(".st-key-answer_chart .main-svg")
    tab.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")
    tab.get_by_role("tab", name="Vehicle").click()
    handle = tab.get_by_role("slider", name="Key-off current of the vehicle [mA]")
    drawn = (
        "() => JSON.stringify("
        "document.querySelector('.st-key-answer_chart .js-plotly-plot')"
        "?.data?.map(one => one.y) ?? null)"
    )
    seconds = []
    for _ in range(moves):
        before = tab.evaluate(drawn)
        began = time.monotonic()
        handle.press("ArrowRight")
        tab.wait_for_function(f"old => ![old, 'null'].includes(({drawn})())", arg=before)
        seconds.append(time.monotonic() - began)
    tab.close()
    return seconds


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()
    program = next(found for name in CHROMIUM if (found := shutil.which(name)))
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    address = f"http://127.0.0.1:{port}/"
    print(f"{os.cpu_count()} cores, load average {os.getloadavg()[0]:.1f}")
    began = time.monotonic()
    server = subprocess.Popen(
        [sys.executable, "-m", "drainsim", "dashboard", "--no-browser", f"--port={port}"],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
    )
    try:
        while True:
            try:
                urllib.request.urlopen(f"{address}_stcore/health").read()
                break
            except OSError:
                time.sleep(0.05)
        told("command to answering server", [time.monotonic() - began])
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=program, args=["--no-sandbox", "--disable-background-networking"]
            )
            runs = [first_page(browser, address) for _ in range(options.runs)]
            told("first visitor ever: answer in words", [runs[0][0]])
            told("first visitor ever: chart drawn", [runs[0][1]])
            later = runs[1:] or runs
            told("fresh browser: answer in words", [run[0] for run in later])
            told("fresh browser: chart drawn", [run[1] for run in later])
            told("reload: chart drawn", [run[2] for run in runs])
            told("slider key to changed chart", slider(browser, address, 10))
            browser.close()
    finally:
        server.terminate()
        server.wait(20)


if __name__ == "__main__":
    main()
