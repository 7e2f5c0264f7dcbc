"""Every page as a user meets it: its main job, accessibility, nothing outside.

Words and numbers expected are those of the functions behind the page.
"""

import datetime as dt
import http.client
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlparse

import pytest

from drainsim.answers.driving.ageing_words import ageing_verdict
from drainsim.answers.fleet.ageing_list import ageing_of
from drainsim.answers.standing.first_words import act_words
from drainsim.answers.standing.park import park
from drainsim.dashboard.what_if.what_if import example
from drainsim.figures.style import DARK, LIGHT
from drainsim.vehicle.case import resolve

# The server and the browser of the other browser tests; F401: pytest finds fixtures by name.
from tests.dashboard.serving import (
    IDLE,
    PATIENCE_MS,
    WATCHED,
    free_port,
    missing,
    settled,
    wait_until_healthy,
)

pytestmark = pytest.mark.browser


@dataclass(frozen=True)
class _Kind:
    """A page: its address, what to press for its example, what shows that it is there."""

    path: str
    ready: str
    press: str = ""


_PAGES = {
    "standing": _Kind("", ".st-key-answer_chart .main-svg"),
    "questions": _Kind("questions", ".st-key-show_answer"),
    "driving": _Kind("driving", ".st-key-balance_chart .main-svg"),
    "ageing": _Kind("ageing", ".st-key-ageing_chart .main-svg"),
    "fleet": _Kind("fleet", ".st-key-fleet_vehicle_chart .main-svg"),
    "readings": _Kind("readings", ".st-key-readings_nights .main-svg"),
    "storage": _Kind("storage", "iframe"),
    "catalogue": _Kind("catalogue", ".st-key-catalogue_chart .main-svg"),
    "circuits": _Kind("circuits", ".st-key-circuits_summary", "example_circuits"),
    "current-log": _Kind("current-log", ".st-key-log_chart .main-svg", "example_log"),
    "job": _Kind("job", ".st-key-save_job", "example_job"),
    "trust": _Kind("trust", ".st-key-evidence_reliability .main-svg"),
}
# A page of each door and those with the most on them by day, all others by night.
_BY_DAY = {"standing", "fleet", "readings", "storage", "job"}
# What the console may say: streamlit asks at the page's own address for its service before it
# asks at the root, and its preview frame names features and a sandbox Chromium has opinions on.
_NO_FAULT = ("404 (Not Found)", "Unrecognized feature", "can escape its sandboxing")
# On a phone a wide table scrolls in its frame. Today's browsers give such a frame the focus by
# themselves, which the rule set does not know; a test of the keyboard tries it.
_NATIVE = "scrollable-region-focusable"
_BACKGROUND = "getComputedStyle(document.querySelector('.stApp')).backgroundColor"
# Everything in sight that a finger can press, with its size; of a field, the frame around it. The
# link that skips to the content is there for the keyboard alone.
_PRESSED = """() => [...document.querySelectorAll(`button, a[href], summary, textarea, [role=tab],
    input:not([type=file], [type=radio], [type=checkbox], [type=range]),
    label:has(> input[type=radio], > input[type=checkbox], input[type=radio])`)]
    .filter(one => one.checkVisibility({visibilityProperty: true, opacityProperty: true})
        && one.getAttribute('href') !== '#stMain')
    .map(one => { const frame = one.matches('input')
            && one.closest('[data-testid=stNumberInputContainer], [data-baseweb=input]') || one;
        const box = frame.getBoundingClientRect();
        return [one.getAttribute('aria-label') || one.innerText || one.outerHTML.slice(0, 99),
            Math.round(box.width), Math.round(box.height)]; })
    .filter(([name, width, height]) => width > 0)"""
_LEAST_PX = 44  # WCAG 2.x, 2.5.5, from memory


class _Visit:
    """A visitor of their own: every request and every complaint of the console is kept."""

    def __init__(
        self, browser: Any, width: int = 1440, scheme: str = "light", *, touch: bool = False
    ) -> None:
        height = 900 if width > 640 else 844
        self.context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme=scheme,
            reduced_motion="reduce",  # a page comes to rest sooner
            has_touch=touch,
            is_mobile=touch,
        )
        self.context.add_init_script(WATCHED)
        self.tab = self.context.new_page()
        self.screen = self.context.new_cdp_session(self.tab)
        self.tab.set_default_timeout(PATIENCE_MS)
        self.hosts: set[str | None] = set()
        self.complaints: list[str] = []
        self.tab.on("request", lambda asked: self._asked(asked.url))
        self.tab.on("websocket", lambda opened: self._asked(opened.url))
        self.tab.on("console", self._said)
        self.tab.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _asked(self, url: str) -> None:
        if not url.startswith(("data:", "blob:", "about:")):
            self.hosts.add(urlparse(url).hostname)

    def _said(self, message: Any) -> None:
        known = any(part in message.text for part in _NO_FAULT)
        missing = "404" in message.text and "/_stcore/" not in message.location.get("url", "")
        if message.type in ("error", "warning") and (missing or not known):
            self.complaints.append(message.text)

    def take(self, width: int, *, touch: bool) -> None:
        """Take a screen in hand, with a finger or a mouse."""
        self.screen.send("Emulation.setTouchEmulationEnabled", {"enabled": touch})
        self.tab.set_viewport_size({"width": width, "height": 844})

    def paint(self, scheme: str) -> None:
        """Choose light or dark, and wait until the page is."""
        before = self.tab.evaluate(_BACKGROUND)
        self.tab.emulate_media(color_scheme=scheme)
        self.tab.wait_for_function(f"before => {_BACKGROUND} !== before", arg=before)

    def go(self, page: str) -> None:
        """Go on to a page with its example within the document, as Back and Forward do."""
        kind = _PAGES[page]
        self.tab.evaluate("path => history.pushState({}, '', path)", f"/{kind.path}")
        self.tab.evaluate("dispatchEvent(new PopStateEvent('popstate'))")
        if kind.press:
            self.tab.locator(f".st-key-{kind.press} button").click()
        self.tab.wait_for_selector(kind.ready)
        self.tab.wait_for_selector(IDLE)

    def open(self, url: str, ready: str = IDLE) -> None:
        self.tab.goto(url)
        self.tab.wait_for_selector(ready)
        self.tab.wait_for_selector(IDLE)

    def show(self, address: str, page: str) -> None:
        """Open a page with its example."""
        kind = _PAGES[page]
        if kind.press:
            self.open(f"{address}/{kind.path}", f".st-key-{kind.press} button")
            self.tab.locator(f".st-key-{kind.press} button").click()
        else:
            self.open(f"{address}/{kind.path}", kind.ready)
        self.tab.wait_for_selector(kind.ready)
        self.tab.wait_for_selector(IDLE)

    def choose(self, begins: str) -> None:
        """Choose by the arrows in the list that has the focus, once it is open and lit there.

        The first arrow opens the list and, where it is quick, moves on as well.
        """
        lit = "() => document.querySelector('[role=option][data-focused]')?.innerText ?? ''"
        for _ in range(20):
            self.tab.keyboard.press("ArrowDown")
            if str(settled(self.tab, lambda: self.tab.evaluate(lit))).startswith(begins):
                self.tab.keyboard.press("Enter")
                return
        pytest.fail(f"no choice begins with {begins}")

    def wait_for_text(self, text: str) -> None:
        """Wait until the page says it, however it is marked up."""
        self.tab.wait_for_function(
            "text => document.querySelector('[data-testid=stMain]').innerText"
            r".replaceAll('\u00a0', ' ').includes(text)",
            arg=text.replace("\u00a0", " "),
        )

    def widest(self) -> int:
        parts = "[document.documentElement, document.querySelector('[data-testid=stMain]')]"
        return int(self.tab.evaluate(f"Math.max(...{parts}.map(part => part.scrollWidth))"))


@pytest.fixture
def visit(browser: Any) -> Iterator[_Visit]:
    """Open a desktop visitor of their own."""
    one = _Visit(browser)
    yield one
    one.context.close()


def _serious(tab: Any, but: str = "") -> list[tuple[str, str]]:
    """Return what the open rule set axe-core finds moderate or worse."""
    try:
        from axe_playwright_python.sync_playwright import Axe
    except ImportError:
        missing("axe-playwright-python")
    settled(tab, lambda: tab.locator("*").count())
    return [
        (one["id"], one["nodes"][0]["html"][:200])
        for one in Axe().run(tab).response["violations"]
        if one["impact"] in ("moderate", "serious", "critical") and one["id"] != but
    ]


@pytest.fixture(scope="module")
def walker(browser: Any, address: str) -> Iterator[_Visit]:
    """Open one visitor with a phone who goes from page to page."""
    one = _Visit(browser, width=390, touch=True)
    one.show(address, "standing")
    yield one
    one.context.close()


@pytest.mark.parametrize(
    "page",
    [one if one in _BY_DAY else pytest.param(one, marks=pytest.mark.nightly) for one in _PAGES],
)
def test_every_page_is_without_a_fault(walker: _Visit, page: str) -> None:
    """No sideways scroll, targets for a finger, nobody else asked, a silent console, colours.

    A light phone first, where every button, field, choice and line that opens, the menu's too, is
    44 px or more, then wide and dark with a mouse.
    """
    tab = walker.tab
    walker.take(390, touch=True)
    walker.go(page)
    assert walker.widest() <= 390
    heading = tab.locator("[data-testid=stMain] h2").first.bounding_box()
    menu = tab.locator(".st-key-menu").bounding_box()
    assert heading["y"] >= menu["y"] + menu["height"]  # the menu covers no title
    assert tab.locator("[data-testid=stException]").count() == 0
    assert _serious(tab, but=_NATIVE) == []
    found = tab.evaluate(_PRESSED)
    assert len(found) > 3
    assert tab.locator(".st-key-menu a").count() > 3
    assert [one for one in found if min(one[1:]) < _LEAST_PX] == []
    walker.take(1440, touch=False)
    walker.paint("dark")
    assert _serious(tab) == []
    walker.paint("light")
    assert walker.hosts == {"127.0.0.1"}
    assert walker.complaints == []


@pytest.mark.nightly
def test_winters_are_answered_for_a_vehicle_and_a_list(visit: _Visit, address: str) -> None:
    """Another risk limit gives another verdict; the fleet's list is saved, most urgent first."""
    visit.show(address, "ageing")
    visit.wait_for_text(ageing_verdict(ageing_of(example())))
    field = visit.tab.locator(".st-key-ageing_risk input")
    field.fill("1")
    field.press("Enter")
    asked = ageing_of(example(), risk=0.01)
    assert ageing_verdict(asked) != ageing_verdict(ageing_of(example()))
    visit.wait_for_text(ageing_verdict(asked))
    visit.tab.wait_for_url("**/ageing?ageing=*")
    visit.tab.wait_for_selector(IDLE)
    with visit.tab.expect_download() as waiting:
        visit.tab.get_by_role("button", name="List of batteries (CSV)").click()
    saved = Path(waiting.value.path()).read_text(encoding="utf-8-sig").splitlines()
    assert saved[0].startswith("vehicle,replace before")
    assert "winter 20" in saved[1]
    visit.open(visit.tab.url, _PAGES["ageing"].ready)
    visit.wait_for_text(ageing_verdict(asked))


@pytest.mark.nightly
def test_settings_outlast_a_visit_to_another_page(visit: _Visit, address: str) -> None:
    """A fleet's settings stand where they were on coming back from one vehicle's own page."""
    visit.show(address, "fleet")
    visit.tab.get_by_text("Settings: today, risk limit").click()
    field = visit.tab.locator(".st-key-fleet_until input")
    field.fill("12")
    field.press("Enter")
    # The answer's place is emptied before it is worked out anew.
    settled(visit.tab, lambda: visit.tab.locator(_PAGES["fleet"].ready).count() or object())
    visit.tab.get_by_role("button", name="Open this vehicle on the first page").click()
    visit.tab.wait_for_selector(_PAGES["standing"].ready)
    visit.tab.go_back()
    visit.tab.wait_for_selector(_PAGES["fleet"].ready)
    until = visit.tab.locator(".st-key-fleet_until input")
    assert settled(visit.tab, until.input_value) == "12"


@pytest.mark.parametrize("language", ["de", pytest.param("en", marks=pytest.mark.nightly)])
def test_a_comma_is_the_decimal_sign(visit: _Visit, address: str, language: str) -> None:
    """2,5 years are 2.5, in the middle of a number too; 1,200 A are thousands in English alone.

    The browser's own number box drops the comma: 25 years, without a word.
    """
    visit.open(f"{address}/?language={language}", _PAGES["standing"].ready)
    assert visit.tab.evaluate("document.documentElement.lang") == language
    box = visit.tab.locator(".st-key-age_years_box input").last
    for keys, years in (("2,5", "2.5"), ("15", "1.5")):
        box.click()
        box.press("Control+a")
        visit.tab.keyboard.type(keys, delay=50)
        if keys == "15":
            box.press("ArrowLeft")
            box.press(",")
        box.press("Enter")
        visit.tab.wait_for_url(f"**age_years={years}*")
    for key in ("Shift+Tab", "Tab", "7"):  # what is typed takes the place of what stood there
        visit.tab.keyboard.press(key)
    assert box.input_value() == "7"
    amperes = visit.tab.locator(".st-key-cold_cranking_a input").last
    for keys, read in (("512,5", "512.5"), ("1,200", {"de": "1.200", "en": "1200"}[language])):
        amperes.click()
        amperes.press("Control+a")
        visit.tab.keyboard.type(keys, delay=50)
        assert amperes.input_value() == read
    assert visit.complaints == []


@pytest.mark.nightly
@pytest.mark.parametrize(
    ("language", "told"), [("de", "möglich ist 0 bis 12"), ("en", "0 to 12 is possible")]
)
def test_a_number_out_of_range_is_told_in_the_page_s_language(
    visit: _Visit, address: str, language: str, told: str
) -> None:
    """The box says what would be right and that the answer keeps the number before."""
    visit.open(f"{address}/?language={language}", _PAGES["standing"].ready)
    answer = visit.tab.locator(".st-key-answer h2").inner_text()
    box = visit.tab.locator(".st-key-age_years_box input").last
    box.click()
    box.press("Control+a")
    visit.tab.keyboard.type("99", delay=50)
    box.press("Enter")
    message = box.evaluate("box => box.validationMessage")
    assert message.startswith(told)
    visit.tab.keyboard.press("Tab")  # it stands there as long as the number does
    kept = "box => getComputedStyle(box.closest('.stNumberInput'), '::after').content"
    assert box.evaluate(kept) == f'"{message}"'
    assert settled(visit.tab, visit.tab.locator(".st-key-answer h2").inner_text) == answer
    box.press("Control+a")
    visit.tab.keyboard.type("9", delay=50)
    box.press("Enter")
    visit.tab.wait_for_url("**age_years=9*")
    assert box.evaluate("box => box.validationMessage") == ""


def test_a_chart_is_legible_after_a_change_of_theme(visit: _Visit, address: str) -> None:
    """Words take the colour of the page's words, lines the theme's, before all is drawn anew."""
    visit.show(address, "standing")
    for scheme, palette in (("dark", DARK), ("light", LIGHT)):
        visit.paint(scheme)
        words, chart, line = visit.tab.evaluate(
            """() => ['.stApp', '.st-key-answer_chart .gtitle', '.st-key-answer_chart .js-line']
                .map(one => getComputedStyle(document.querySelector(one)))
                .map((style, n) => [style.color, style.fill, style.stroke][n])"""
        )
        assert chart == words
        assert line == f"rgb({', '.join(map(str, bytes.fromhex(palette.charge[1:])))})"


def test_two_visitors_never_see_each_other(browser: Any, address: str) -> None:
    """What one loads, chooses and types is not there for the other, also after a reload."""
    one, other = _Visit(browser), _Visit(browser)
    try:
        one.show(address, "standing")
        mine = example().with_values({"vehicle.quiescent_a": 0.012}).to_toml()
        one.tab.locator(".st-key-scenario_file input[type=file]").set_input_files(
            files=[{"name": "mine.toml", "mimeType": "text/plain", "buffer": mine.encode()}]
        )
        one.wait_for_text("mine.toml: 60 Ah")
        one.show(address, "fleet")
        one.tab.locator(".st-key-fleet_file input[type=file]").set_input_files(
            files=[{"name": "secret.csv", "mimeType": "text/csv", "buffer": b"id\nMY-SECRET\n"}]
        )
        one.wait_for_text("List: secret.csv.")
        other.show(address, "standing")
        other.wait_for_text("Invented example: 60 Ah")
        answer = park(resolve(example()))
        other.wait_for_text(act_words(answer))
        other.show(address, "fleet")
        other.wait_for_text("Invented example: about 120 vehicles")
        assert "SECRET" not in other.tab.content()
    finally:
        one.context.close()
        other.context.close()


@pytest.mark.parametrize("width", [pytest.param(390, marks=pytest.mark.nightly), 1440])
def test_the_sheet_stands_whole_and_its_button_beside_the_answer(
    browser: Any, address: str, width: int
) -> None:
    """Nothing of the preview is cut; the PDF is on the first screen. From the question: 1 step."""
    visitor = _Visit(browser, width=width)
    try:
        visitor.show(address, "storage")
        sheet = visitor.tab.frame_locator("iframe").locator("html")
        size = "one => [one.scrollWidth - innerWidth, one.scrollHeight - innerHeight]"
        assert settled(visitor.tab, lambda: sheet.evaluate(size)) == [0, 0]
        button = visitor.tab.locator(".st-key-save_sheet_pdf button").bounding_box()
        assert button["y"] + button["height"] <= visitor.tab.viewport_size["height"]
    finally:
        visitor.context.close()


def test_an_uploaded_list_shows_a_phone_the_first_vehicle_to_act_on(
    browser: Any, address: str
) -> None:
    """The upload is the only step: who, by when and what to do begins on the first screen."""
    visitor = _Visit(browser, width=390, touch=True)
    try:
        visitor.show(address, "fleet")
        today = dt.date.today().isoformat()
        rows = f"id;parked from;charge\nGOOD;{today};100 %\nPOOR;{today};35 %\n"
        visitor.tab.locator(".st-key-fleet_file input[type=file]").set_input_files(
            files=[{"name": "two.csv", "mimeType": "text/csv", "buffer": rows.encode()}]
        )
        visitor.wait_for_text("List: two.csv.")
        card = visitor.tab.locator(".st-key-fleet_card_0")
        words = settled(visitor.tab, card.inner_text)
        assert words.startswith("POOR: by ")
        assert len(words.splitlines()) >= 3  # then what to do, then why
        assert card.bounding_box()["y"] < 844
        assert not visitor.tab.locator(".st-key-fleet_list").is_visible()
    finally:
        visitor.context.close()


def test_a_file_too_large_is_refused(visit: _Visit, address: str) -> None:
    """The page says the limit; the server itself takes no more than its own."""
    visit.show(address, "standing")
    box = visit.tab.locator(".st-key-scenario_file input[type=file]")
    box.set_input_files(
        files=[{"name": "big.toml", "mimeType": "text/plain", "buffer": b"#" * 1_100_000}]
    )
    visit.wait_for_text("File must be 1.0MB or smaller")
    with visit.tab.expect_request(
        lambda asked: "upload_file" in asked.url and asked.method == "PUT"
    ) as waiting:
        box.set_input_files(
            files=[{"name": "s.toml", "mimeType": "text/plain", "buffer": b"[battery]\n"}]
        )
    asked = waiting.value
    headers = {k: v for k, v in asked.all_headers().items() if k.startswith("x-") or k == "cookie"}
    to = urlparse(asked.url)
    sent = http.client.HTTPConnection(str(to.hostname), to.port, timeout=60)
    sent.putrequest("PUT", to.path)
    for name, value in {**headers, "Content-Length": str(51 * 1024 * 1024)}.items():
        sent.putheader(name, value)
    sent.endheaders()
    reply = sent.getresponse()
    assert reply.status == 413, reply.read()  # told how much will come, it does not wait for it
    sent.close()


def test_the_reply_carries_a_policy_and_a_foreign_name_gets_nothing(address: str) -> None:
    """Every reply forbids what comes from elsewhere; another Host is not served at all."""
    for host, status in (("localhost", 200), ("attacker.example", 421)):
        connection = http.client.HTTPConnection(address.removeprefix("http://"), timeout=60)
        connection.request("GET", "/", headers={"Host": host})
        reply = connection.getresponse()
        body = reply.read().decode()
        assert reply.status == status
        assert "default-src 'none'" in str(reply.getheader("Content-Security-Policy"))
        assert "unsafe-eval'" not in str(reply.getheader("Content-Security-Policy")).replace(
            "wasm-unsafe-eval", ""
        )
        assert reply.getheader("Referrer-Policy") == "no-referrer"
        assert ("<title>" in body) == (status == 200)
        connection.close()


_BROKEN = """
import sys
from pathlib import Path
from drainsim.cli.dashboard import settings
from drainsim.dashboard.serve import serve
serve(Path("broken.py").resolve(), settings(int(sys.argv[1]), open_browser=False))
"""


def test_a_broken_page_shows_no_internals(visit: _Visit, tmp_path: Path) -> None:
    """An error of the program is a sentence; its text, file and line stay in the server's log."""
    port = free_port()
    log = tmp_path / "log"
    (tmp_path / "broken.py").write_text("raise ValueError('SECRET')")
    with log.open("w") as out:
        server = subprocess.Popen(
            [sys.executable, "-c", _BROKEN, str(port)],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])},
            stdout=out,
            stderr=subprocess.STDOUT,
        )
        try:
            wait_until_healthy(server, port, log)
            visit.tab.goto(f"http://127.0.0.1:{port}/")
            visit.wait_for_text("This page met an error of its own")
            shown = visit.tab.content()
            assert not any(word in shown for word in ("SECRET", "ValueError", "broken.py"))
            assert "SECRET" in log.read_text()
        finally:
            server.terminate()
            server.wait(20)
