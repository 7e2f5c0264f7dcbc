"""What the three users come for, counted in entries; and two thousand things done at random."""

import datetime as dt
import os
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drainsim.answers.standing.first_words import act_words
from drainsim.answers.standing.park import park
from drainsim.answers.storage.answer import storage
from drainsim.answers.storage.risk import StandQuestion
from drainsim.dashboard.what_if.what_if import example, own_vehicle
from drainsim.language import language
from drainsim.sheets.storage.storage_words import answer_words
from drainsim.vehicle.case import resolve
from tests.dashboard.serving import IDLE, settled

# What a page shows, and the visitor of the other browser tests.
from tests.dashboard.test_browser_history import SHOWN
from tests.dashboard.test_browser_pages import _PAGES, _Visit

pytestmark = pytest.mark.browser

_ACTIONS = int(os.environ.get("DRAINSIM_ACTIONS", "10"))  # a page; 200 by hand
_RELOAD_EVERY = 5


class _Counted:
    """A visitor whose entries are counted: a press, a field filled, a choice made."""

    def __init__(self, visit: _Visit) -> None:
        self.tab = visit.tab
        self.entries = 0

    def press(self, what: str) -> None:
        self.entries += 1
        self.tab.locator(what).first.click()
        self._rest()

    def fill(self, field: str, text: str) -> None:
        self.entries += 1
        box = self.tab.locator(f".st-key-{field} input").last
        box.fill(text)
        box.press("Enter")
        self._rest()

    def choose(self, field: str, name: str) -> None:
        self.entries += 1
        box = self.tab.locator(f".st-key-{field} input").first
        box.click()
        self.tab.get_by_role("option", name=name).first.click()
        self._rest()

    def date(self, field: str, day: dt.date) -> None:
        self.entries += 1
        first = self.tab.locator(f".st-key-{field} [role=spinbutton]").first
        first.click()
        self.tab.keyboard.type(f"{day:%Y%m%d}", delay=50)
        self.tab.keyboard.press("Tab")
        self._rest()

    def _rest(self) -> None:
        settled(self.tab, lambda: self.tab.evaluate(SHOWN))


@pytest.fixture
def visit(browser: Any) -> Iterator[_Visit]:
    """Open a visitor of their own."""
    one = _Visit(browser)
    yield one
    one.context.close()


def test_an_own_van_is_answered_in_ten_entries(visit: _Visit, address: str) -> None:
    """Label, age, measured current, resting voltage, date and place lead to the whole answer."""
    visit.show(address, "standing")
    user = _Counted(visit)
    user.press(".st-key-ask_own button")
    user.fill("capacity_ah", "80")
    user.fill("cold_cranking_a", "700")
    user.fill("age_years", "5")
    user.fill("resting_v", "12.6")
    user.fill("quiescent_ma", "25")
    user.choose("climate", "Continental, severe winter")
    user.date("parked_from", dt.date(2026, 12, 20))
    user.press(".st-key-show_answer button")
    wanted = own_vehicle().with_values(
        {
            "battery.capacity_ah": 80.0,
            "battery.cold_cranking_a": 700.0,
            "battery.age_years": 5.0,
            "battery.resting_voltage_v": 12.6,
            "vehicle.quiescent_a": 0.025,
            "site.climate": "continental",
            "site.parked_from": dt.date(2026, 12, 20),
        }
    )
    visit.tab.wait_for_selector(_PAGES["standing"].ready)
    visit.wait_for_text(act_words(park(resolve(wanted))))
    assert user.entries <= 10


def test_a_sales_question_reaches_its_sheet_in_six(visit: _Visit, address: str) -> None:
    """Through the sales door: for how long, where, and the sheet as PDF."""
    pytest.importorskip("fpdf")
    visit.show(address, "standing")
    user = _Counted(visit)
    user.press(".st-key-door_sales a")
    user.fill("storage_days", "35")
    user.choose("storage_climate", "Marine")
    asked = StandQuestion(scenario=example().with_values({"site.climate": "marine"}), days=35)
    visit.wait_for_text(answer_words(storage(asked, inverse=False), language("en")))
    with visit.tab.expect_download() as waiting:
        user.press(".st-key-save_sheet_pdf button")
    assert Path(waiting.value.path()).read_bytes().startswith(b"%PDF")
    assert user.entries <= 6


# Everything that can be pressed but what opens another window, saves or asks for a file.
_PRESSABLE = """() => [...document.querySelectorAll('[data-testid=stMain]')].flatMap(main =>
    [...main.querySelectorAll('button, label, summary, [role=tab], input[type=number]')]
    .filter(one => one.checkVisibility() && !one.disabled
        && !one.closest('.stDownloadButton, .stFileUploader, [data-testid=stTooltipIcon]')
        && one.getBoundingClientRect().width > 4)
    .map((one, n) => { one.dataset.chance = n; return [n, one.tagName, one.type || '']; }))"""


# A visitor scrolls to what they press; what no scrolling brings into sight they cannot.
_IN_REACH = """one => {
    one.scrollIntoView({block: 'center', behavior: 'instant'});
    const at = one.getBoundingClientRect();
    return at.top >= 0 && at.left >= 0 && at.bottom <= innerHeight && at.right <= innerWidth;
}"""


def _act(visit: _Visit, chance: random.Random) -> None:
    """Do one thing a visitor could do."""
    tab = visit.tab
    found = tab.evaluate(_PRESSABLE)
    if not found or chance.random() < 0.05:
        tab.go_back()
        tab.wait_for_timeout(1000)  # on a busy machine the server hears of it when it has time
        return
    number, tag, _ = chance.choice(found)
    one = tab.locator(f"[data-chance='{number}']").first
    if not one.is_visible():
        return
    if tag == "INPUT":
        one.fill(str(chance.choice((0, 1, 5, 12.5, 50, 99999))))
        one.press("Enter")
    elif one.evaluate(_IN_REACH):
        one.click(force=True, timeout=5000)
    if chance.random() < 0.3:  # a list that was opened: choose, or let it be
        tab.keyboard.press(chance.choice(("ArrowDown", "Enter", "Escape")))


@pytest.mark.nightly
@pytest.mark.parametrize("page", _PAGES)
def test_whatever_is_pressed_nothing_breaks_or_is_lost(
    visit: _Visit, address: str, page: str
) -> None:
    """No exception, no old figure under a new name, and a reload shows what stood there."""
    visit.show(address, page)
    chance = random.Random(page)
    for number in range(_ACTIONS):
        _act(visit, chance)
        if not visit.tab.url.startswith(address):  # Back led out of the first page
            visit.show(address, page)
        shown = settled(visit.tab, lambda: visit.tab.evaluate(SHOWN))
        assert visit.tab.locator("[data-testid=stException]").count() == 0
        assert "an error of its own" not in shown[0]
        assert visit.tab.locator("[data-stale=true]").count() == 0
        if number % _RELOAD_EVERY == _RELOAD_EVERY - 1:
            values = settled(visit.tab, lambda: _entries(visit))
            visit.tab.reload()
            visit.tab.wait_for_selector(IDLE)
            settled(visit.tab, lambda: visit.tab.evaluate(SHOWN))
            assert _entries(visit) == values
    assert [one for one in visit.complaints if "Uncaught" in one] == []


def _entries(visit: _Visit) -> dict[str, str]:
    """Return what stands in the address and the large words that follow from it."""
    heads = visit.tab.locator("[data-testid=stMain] h2").all_inner_texts()
    return {"address": visit.tab.url, "heads": " | ".join(heads)}
