"""The page in a real browser: a slider moves the answer, files go in and come out."""

import base64
import os
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drainsim.answers.standing.first_words import act_words
from drainsim.answers.standing.park import park
from drainsim.dashboard.what_if.what_if import example
from drainsim.vehicle.case import resolve
from tests.dashboard.serving import PATIENCE_MS

pytestmark = pytest.mark.browser


class _Page:
    """One tab, with every request it made."""

    def __init__(self, browser: Any, *, width: int = 1440, height: int = 900) -> None:
        self.context = browser.new_context(viewport={"width": width, "height": height})
        self.tab = self.context.new_page()
        self.tab.set_default_timeout(PATIENCE_MS)
        self.requests: list[str] = []
        self.tab.on("request", lambda request: self.requests.append(request.url))
        self.tab.on("websocket", lambda socket: self.requests.append(socket.url))

    def open(self, address: str) -> None:
        self.tab.goto(address)
        self.tab.wait_for_selector(".st-key-answer_chart .main-svg")
        self.tab.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")

    def wait_for_answer(self, words: str) -> None:
        """Wait until both the card and the chart's title say it."""
        self.tab.wait_for_function(
            "words => document.querySelector('.st-key-answer h2')?.textContent === words"
            " && document.querySelector('.st-key-answer_chart .gtitle')"
            "?.textContent.includes(words.slice(1))",
            arg=words,
        )


@pytest.fixture
def page(browser: Any) -> Iterator[_Page]:
    """Open a fresh tab with a fresh session."""
    opened = _Page(browser)
    yield opened
    opened.context.close()


def _words(**values: float) -> str:
    scenario = example().with_values({key.replace("__", "."): v for key, v in values.items()})
    answer = park(resolve(scenario))
    return act_words(answer)


def test_a_slider_moved_by_keyboard_changes_answer_and_address(page: _Page, address: str) -> None:
    """The answer, chart and address follow a key press; reloading keeps the state."""
    page.open(address)
    page.wait_for_answer(_words())
    page.tab.get_by_role("tab", name="Vehicle").click()
    slider = page.tab.get_by_role("slider", name="Key-off current of the vehicle [mA]")
    slider.press("PageUp")  # a tenth of the range: 15 mA
    changed = _words(vehicle__quiescent_a=0.045)
    assert changed != _words()
    page.wait_for_answer(changed)
    page.tab.wait_for_url("**/?quiescent_ma=45")
    slider.press("ArrowRight")  # the tab stays open and the slider in place after a change
    changed = _words(vehicle__quiescent_a=0.046)
    page.wait_for_answer(changed)
    page.tab.wait_for_url("**/?quiescent_ma=46")
    page.open(page.tab.url)
    page.wait_for_answer(changed)
    page.tab.get_by_role("button", name="Start over with the example").click()
    page.wait_for_answer(_words())
    page.tab.wait_for_function("() => location.search === ''")


def test_a_phone_shows_answer_and_controls_without_scrolling_sideways(
    browser: Any, address: str
) -> None:
    """At 390 px everything stands in one column, the answer first, then the controls."""
    page = _Page(browser, width=390, height=844)
    try:
        page.open(f"{address}/?quiescent_ma=20")
        widths = page.tab.evaluate(
            "() => [document.documentElement, document.querySelector('[data-testid=stMain]')]"
            ".map(part => part.scrollWidth)"
        )
        assert max(widths) <= 390
        answer = page.tab.locator(".st-key-answer").bounding_box()
        panel = page.tab.locator(".st-key-panel").bounding_box()
        chart = page.tab.locator(".st-key-answer_chart").bounding_box()
        assert answer["y"] + answer["height"] <= 844
        assert answer["y"] < panel["y"] < chart["y"]
        assert panel["x"] + panel["width"] <= 390
        page.open(address)  # the example has the most to say
        # Words to read: the page's name, names of icons and the label of a closed part aside.
        said = page.tab.locator(".st-key-question, .st-key-answer, .st-key-ask_own")
        words = " ".join(said.all_inner_texts())
        aside = ["How long can it stand?", "keyboard_arrow_right", "warning "]
        for text in [*page.tab.locator(".st-key-answer summary").all_inner_texts(), *aside]:
            words = words.replace(text, "")
        assert len(words.split()) <= 90
    finally:
        page.context.close()


def test_downloads_hold_the_changed_case(page: _Page, address: str) -> None:
    """The saved scenario is the one on the page and loads again."""
    page.open(f"{address}/?quiescent_ma=12")
    page.tab.locator(".st-key-more_save summary").click()
    with page.tab.expect_download() as waiting:
        page.tab.get_by_role("button", name="This case (TOML)").click()
    saved = Path(waiting.value.path()).read_text(encoding="utf-8")
    assert saved == example().with_values({"vehicle.quiescent_a": 0.012}).to_toml()
    page.tab.locator(".st-key-scenario_file input[type=file]").set_input_files(
        files=[{"name": "again.toml", "mimeType": "application/toml", "buffer": saved.encode()}]
    )
    page.wait_for_answer(_words(vehicle__quiescent_a=0.012))
    page.tab.get_by_text("again.toml:").wait_for()
    page.tab.wait_for_url("**/?base=*")
    page.open(page.tab.url)
    page.wait_for_answer(_words(vehicle__quiescent_a=0.012))


@pytest.mark.parametrize(
    ("host", "origin", "expected"),
    [
        ("127.0.0.1", "http://127.0.0.1", 101),
        ("attacker.example", "http://attacker.example", 403),
        ("127.0.0.1", "http://attacker.example", 403),
        ("127.0.0.1", "null", 403),
    ],
)
def test_a_foreign_page_cannot_connect(address: str, host: str, origin: str, expected: int) -> None:
    """A web socket with a foreign Host or Origin is refused, the page's own is not."""
    port = int(address.rpartition(":")[2])
    own = origin if origin == "null" else f"{origin}:{port}"
    key = base64.b64encode(os.urandom(16)).decode()
    asked = (
        f"GET /_stcore/stream HTTP/1.1\r\nHost: {host}:{port}\r\nOrigin: {own}\r\n"
        "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
        f"Sec-WebSocket-Key: {key}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_MS / 1000) as connection:
        connection.sendall(asked.encode())
        status = connection.recv(4096).split(b"\r\n", 1)[0].decode()
    assert status.split()[1] == str(expected)


def test_it_listens_on_this_machine_only(address: str) -> None:
    """The port is closed on the machine's other addresses."""
    port = int(address.rpartition(":")[2])
    with socket.socket() as probe:
        probe.settimeout(5)
        # 127.0.0.2 is this machine too: a server bound to every address would answer there.
        assert probe.connect_ex(("127.0.0.2", port)) != 0


def test_a_fleet_list_goes_in_and_an_action_list_comes_out(page: _Page, address: str) -> None:
    """Load a list, see its vehicles, save them, and open one on the first page."""
    rows = ["id;depot;state_of_charge;climate"]
    rows += [f"van {n};north;{50 + n} %;continental" for n in range(8)]
    evil = "<img src=http://attacker.example/x.png>"
    rows.append(f"{evil};![x](http://attacker.example/y.png);60 %;temperate")
    page.tab.goto(f"{address}/fleet")
    page.tab.locator(".st-key-fleet_vehicle_chart .main-svg").first.wait_for()
    page.tab.locator(".st-key-fleet_file input[type=file]").set_input_files(
        files=[{"name": "list.csv", "mimeType": "text/csv", "buffer": "\n".join(rows).encode()}]
    )
    page.tab.get_by_text("of 9 answered").wait_for()
    page.tab.locator(".st-key-fleet_table canvas").first.wait_for()
    page.tab.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")
    with page.tab.expect_download() as waiting:
        page.tab.get_by_role("button", name="Vehicles (CSV)").click()
    saved = Path(waiting.value.path()).read_text(encoding="utf-8-sig")
    assert saved.count("\n") == 10
    assert evil in saved
    with page.tab.expect_download() as waiting:
        page.tab.get_by_role("button", name="Calendar of act-by dates (ICS)").click()
    assert Path(waiting.value.path()).read_text(encoding="utf-8").startswith("BEGIN:VCALENDAR")
    page.tab.get_by_role("button", name="Open this vehicle on the first page").click()
    page.tab.wait_for_selector(".st-key-answer_chart .main-svg")
    page.tab.locator(".st-key-question strong").get_by_text("vehicle ").wait_for()
    assert "attacker.example" not in " ".join(page.requests).replace(address, "")
