"""How fast the dashboard is to one visitor in a real browser; printed, never asserted.

Run: python -m tests.benchmarks.dashboard [--runs 5] [--moves 20] [--checkout FOLDER]

Goals on two quiet cores stand beside what was measured, the load average above it. `--checkout`
serves another version of the package. Many visitors at once: tests.benchmarks.sessions.
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

from tests.benchmarks.sessions import processor_s

ROOT = Path(__file__).resolve().parents[2]
ANSWER = ".st-key-answer h2"
CHART = ".st-key-answer_chart .main-svg"
AT_REST = "[data-testid=stApp][data-test-script-state=notRunning]"
CHROMIUM = ("chromium", "chromium-browser", "google-chrome", "chrome")


def told(what: str, seconds: list[float], goal_s: float | None = None) -> None:
    goal = "" if goal_s is None else f"   goal {goal_s:g} s"
    print(
        f"{what:<45} median {statistics.median(seconds):5.2f} s   "
        f"longest {max(seconds):5.2f} s   ({len(seconds)} runs){goal}",
        flush=True,
    )


# Milliseconds from the navigation to the first frame with each visible: a question from outside the
# page waits until the charts' script, evaluated in one piece, lets go of it.
VISIBLE = f"""(() => {{
  window.visible = {{}};
  const look = () => {{
    for (const what of ["{ANSWER}", "{CHART}"]) {{
      if (document.querySelector(what)?.checkVisibility({{visibilityProperty: true}}))
        window.visible[what] ??= performance.now();
    }}
    requestAnimationFrame(look);
  }};
  requestAnimationFrame(look);
}})()"""


def first_page(browser: Any, address: str) -> tuple[float, float, float]:
    """Return the seconds to answer and chart for a fresh visitor, and to the chart on reload."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    tab = context.new_page()
    tab.add_init_script(VISIBLE)
    tab.goto(address)
    tab.wait_for_selector(CHART)
    tab.wait_for_selector(AT_REST)
    seen = tab.evaluate("() => window.visible")
    answer, chart = seen[ANSWER] / 1e3, seen[CHART] / 1e3
    began = time.monotonic()
    tab.reload()
    tab.wait_for_selector(CHART)
    again = time.monotonic() - began
    context.close()
    return answer, chart, again


# Seconds from a key press to the first frame with another number, and with another chart: the bar's
# words name days and dates; the headline's date may stay.
WATCH = """() => {
  const number = () => document.querySelector('.st-key-answer .stand')?.innerHTML;
  const chart = () => JSON.stringify(document.querySelector(
    '.st-key-answer_chart .js-plotly-plot')?.data?.map(one => one.y));
  const before = [number(), chart()], began = performance.now();
  window.seen = [];
  const look = () => {
    [number(), chart()].forEach((now, which) => {
      if (now && now !== before[which]) window.seen[which] ??= (performance.now() - began) / 1000;
    });
    if (!(window.seen[0] && window.seen[1])) requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}"""


def slider(browser: Any, address: str, moves: int, pid: int) -> None:
    """Move a slider by its keys; print the waits, and the server's processor time a move."""
    tab = browser.new_page(viewport={"width": 1440, "height": 900})
    tab.goto(address)
    tab.wait_for_selector(CHART)
    tab.wait_for_selector(AT_REST)
    tab.get_by_role("tab", name="Vehicle").click()
    handle = tab.get_by_role("slider", name="Key-off current of the vehicle [mA]")
    handle.focus()
    seen, used_s = [], processor_s(pid)
    for _ in range(moves):
        tab.evaluate(WATCH)
        handle.press("ArrowRight")
        tab.wait_for_function("() => window.seen[0] && window.seen[1]")
        seen.append(tab.evaluate("() => window.seen"))
        tab.wait_for_selector(AT_REST)
    used_s = processor_s(pid) - used_s
    tab.close()
    told("slider key to new number", [number for number, _ in seen], 0.25)
    told("slider key to new chart", [chart for _, chart in seen], 0.4)
    print(f"server's processor time a move {1e3 * used_s / moves:.0f} ms   goal 80 ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--moves", type=int, default=20)
    parser.add_argument("--checkout", type=Path, default=ROOT)
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
        cwd=options.checkout,
        env={**os.environ, "PYTHONPATH": str(options.checkout)},
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
            told("fresh browser: answer in words", [run[0] for run in later], 1.0)
            told("fresh browser: chart drawn", [run[1] for run in later], 1.5)
            told("reload: chart drawn", [run[2] for run in runs])
            slider(browser, address, options.moves, server.pid)
            browser.close()
    finally:
        server.terminate()
        server.wait(20)


if __name__ == "__main__":
    main()
