"""Every page's main job by the keyboard alone: Tab to it, type, arrows, Enter.

One page of each door by day, all others by night.
"""

import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drainsim.answers.standing.first_words import act_words
from drainsim.answers.standing.park import park
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.risk import StandQuestion
from drainsim.dashboard.what_if.what_if import example
from drainsim.files.examples import example_text
from drainsim.language import language
from drainsim.sheets.storage.storage_words import answer_words
from drainsim.vehicle.case import resolve

# The server, browser and visitor of the other browser tests; F401: pytest finds fixtures by name.
from tests.dashboard.serving import IDLE
from tests.dashboard.test_browser_pages import _PAGES, _Visit

pytestmark = pytest.mark.browser

_MOST_TABS = 150  # from one end of the longest page to the other


class _Hands:
    """A visitor who has a keyboard and nothing else."""

    def __init__(self, browser: Any, address: str) -> None:
        self.visit = _Visit(browser)
        self.tab = self.visit.tab
        self.address = address
        self.press = self.tab.keyboard.press
        # Asked for from the start: a dialog that opens before it is waited for is never seen.
        self.tab.on("filechooser", lambda _: None)

    def open(self, page: str) -> None:
        """Open a page as it stands for whoever has not pressed anything."""
        kind = _PAGES[page]
        self.visit.open(f"{self.address}/{kind.path}", IDLE if kind.press else kind.ready)

    def go_to(self, what: str) -> None:
        """Press Tab until the focus is there."""
        self.tab.wait_for_selector(what, state="attached")
        for _ in range(_MOST_TABS):
            if self.tab.evaluate(f"() => document.activeElement.matches({json.dumps(what)})"):
                return
            self.press("Tab")
        pytest.fail(f"{what} is not reached by the Tab key")

    def type_into(self, what: str, text: str) -> None:
        """Put other text into a field."""
        self.go_to(what)
        self.press("Control+A")
        self.tab.keyboard.type(text, delay=50)
        self.press("Enter")

    def upload(self, what: str, name: str, content: str) -> None:
        """Choose a file; the dialog itself is the browser's."""
        self.go_to(f"{what} button")
        with self.tab.expect_file_chooser() as waiting:
            self.press("Enter")
        waiting.value.set_files(
            files=[{"name": name, "mimeType": "text/csv", "buffer": content.encode()}]
        )

    def save(self, what: str) -> str:
        """Press a download button; return the file."""
        self.go_to(f"{what} button")
        with self.tab.expect_download() as waiting:
            self.press("Enter")
        return Path(waiting.value.path()).read_text(encoding="utf-8-sig")


@pytest.fixture
def hands(browser: Any, address: str) -> Iterator[_Hands]:
    """Open a visitor of their own."""
    one = _Hands(browser, address)
    yield one
    one.visit.context.close()


def test_the_menu_leads_to_a_page_and_typed_days_to_its_verdict(hands: _Hands) -> None:
    """Tab and Enter lead through the sales door to its question; typed days change the verdict."""
    hands.open("standing")
    hands.go_to(".st-key-door_sales a")
    hands.press("Enter")
    hands.tab.wait_for_url("**/storage*")
    hands.tab.wait_for_selector(".st-key-storage_days input")
    hands.tab.wait_for_selector(IDLE)
    hands.type_into(".st-key-storage_days input", "35")
    question = StandQuestion(scenario=example(), days=35)
    hands.visit.wait_for_text(answer_words(storage(question, inverse=False), language("en")))


@pytest.mark.nightly
def test_on_a_phone_the_focus_is_never_out_of_sight(browser: Any, address: str) -> None:
    """From one end of a long page to the other; then the menu leads on."""
    visit = _Visit(browser, width=390)
    try:
        visit.show(address, "storage")
        inside = "() => document.activeElement.getBoundingClientRect().right > 0"
        for _ in range(_MOST_TABS):
            visit.tab.keyboard.press("Tab")
            assert visit.tab.evaluate(inside)
        visit.tab.evaluate("() => document.activeElement.blur()")
        visit.tab.get_by_role("link", name="Catalogue").press("Enter")
        visit.tab.wait_for_url("**/catalogue*")
    finally:
        visit.context.close()


@pytest.mark.nightly
def test_a_slider_moves_the_days(hands: _Hands) -> None:
    """The arrows change the battery's capacity, and with it the answer."""
    hands.open("standing")
    hands.go_to("[role=slider][aria-label^=Capacity], .st-key-capacity_ah input[type=range]")
    for _ in range(10):
        hands.press("ArrowRight")
    answer = park(resolve(example().with_values({"battery.capacity_ah": 70})))
    words = act_words(answer)
    hands.tab.wait_for_function(
        "words => document.querySelector('.st-key-answer h2')?.textContent === words", arg=words
    )


@pytest.mark.nightly
def test_trips_are_typed(hands: _Hands) -> None:
    """More trips a week raise the charge shown."""
    hands.open("driving")
    words = "document.querySelector('[data-testid=stMetricValue]').innerText"
    before = hands.tab.evaluate(words)
    hands.type_into("input[aria-label='Trips a week']", "40")
    hands.tab.wait_for_function(f"old => parseInt({words}) > parseInt(old)", arg=before)


@pytest.mark.nightly
def test_a_fleet_list_is_loaded_and_its_actions_saved(hands: _Hands) -> None:
    """The upload button opens the file dialog; the saved table has the list's vehicles."""
    hands.open("fleet")
    rows = f"id;parked from\nVAN-ONE;{dt.date.today().isoformat()}\n"
    hands.upload(".st-key-fleet_file", "one.csv", rows)
    hands.visit.wait_for_text("List: one.csv.")
    hands.visit.wait_for_text("of 1 answered")
    hands.tab.wait_for_selector(IDLE)
    assert "VAN-ONE" in hands.save(".st-key-save_vehicles_csv")


@pytest.mark.nightly
def test_a_climate_is_added_to_the_sellers_table(hands: _Hands) -> None:
    """A climate typed into the list of climates stands in the saved table."""
    hands.open("catalogue")
    hands.go_to(".st-key-catalogue_climates input")
    hands.tab.keyboard.type("Medit", delay=50)
    hands.press("Enter")
    hands.press("Escape")
    hands.tab.wait_for_function(
        "() => document.querySelector('.st-key-catalogue_chart').innerHTML.includes('Medit')"
    )
    hands.tab.wait_for_selector(IDLE)
    assert "Mediterranean" in hands.save("[class*=st-key-save_catalogue]").splitlines()[0]


@pytest.mark.nightly
def test_a_circuit_is_added_and_read(hands: _Hands) -> None:
    """A circuit is added, a voltage typed, and the verdict names it."""
    hands.open("circuits")
    hands.go_to(".st-key-add_circuit button")
    hands.press("Enter")
    hands.type_into("input[aria-label='After sleep, 45 min or more [V]']", "12.4")
    hands.tab.get_by_text("12.4 V after the vehicle slept").first.wait_for(state="attached")


@pytest.mark.nightly
def test_a_log_is_loaded(hands: _Hands) -> None:
    """The upload button opens the file dialog; the log says when the vehicle slept."""
    hands.open("current-log")
    hands.upload(".st-key-log_file", "log.csv", example_text("current_log.csv"))
    hands.visit.wait_for_text("Asleep after 26 min")


def test_a_job_is_opened_step_by_step_and_judged(hands: _Hands) -> None:
    """The example, its second step and a typed reading: the verdict turns from pass to fail."""
    hands.open("job")
    hands.go_to(".st-key-example_job button")
    hands.press("Enter")
    hands.visit.wait_for_text("pass: draw of the unit")
    hands.tab.wait_for_selector(IDLE)
    hands.go_to(".st-key-job_step input")
    hands.visit.choose("2. ")
    hands.tab.wait_for_selector(".st-key-j_after_settled_a")
    hands.type_into(".st-key-j_after_settled_a input", "90")  # mA
    hands.visit.wait_for_text("fail: draw of the unit")


@pytest.mark.nightly
def test_what_does_not_pass_is_chosen_by_an_arrow(hands: _Hands) -> None:
    """The arrow moves the choice; fewer checks are shown."""
    hands.open("trust")
    hands.go_to(".st-key-evidence_shown input[type=radio]")
    hands.press("ArrowRight")
    hands.tab.wait_for_function(
        "() => { const m = document.querySelector('[data-testid=stMain]').innerText"
        ".match(/(\\d+) of (\\d+) checks shown/); return m && +m[1] < +m[2] && +m[1] > 0 }"
    )
