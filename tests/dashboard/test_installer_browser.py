"""The installer's pages on a phone: nothing scrolls sideways, nothing typed is lost."""

from typing import Any
from urllib.parse import urlparse

import pytest

from tests.dashboard.serving import IDLE, PATIENCE_MS

# The server and the browser of the other browser tests; F401: pytest finds fixtures by name.

pytestmark = pytest.mark.browser


class _Phone:
    """A fresh visitor at 390 px, with every request made."""

    def __init__(self, browser: Any) -> None:
        self.context = browser.new_context(viewport={"width": 390, "height": 844})
        self.tab = self.context.new_page()
        self.tab.set_default_timeout(PATIENCE_MS)
        self.hosts: set[str] = set()
        self.tab.on("request", lambda request: self.hosts.add(urlparse(request.url).hostname))

    def open(self, url: str) -> None:
        self.tab.goto(url)
        self.tab.wait_for_selector(IDLE)

    def widest(self) -> int:
        parts = "[document.documentElement, document.querySelector('[data-testid=stMain]')]"
        return int(self.tab.evaluate(f"Math.max(...{parts}.map(part => part.scrollWidth))"))


@pytest.mark.parametrize(
    ("page", "button", "wanted"),
    [
        ("circuits", "example_circuits", ".st-key-circuits_summary"),
        ("current-log", "example_log", ".st-key-log_chart .main-svg"),
        ("job", "example_job", ".st-key-save_job"),
    ],
)
def test_pages_fit_a_phone_and_ask_nobody_else(
    browser: Any,
    address: str,
    page: str,
    button: str,
    wanted: str,
) -> None:
    """The example fits in 390 px, buttons are as high as a thumb, no other host is asked."""
    phone = _Phone(browser)
    try:
        phone.open(f"{address}/{page}")
        phone.tab.locator(f".st-key-{button} button").click()
        phone.tab.wait_for_selector(wanted)
        phone.tab.wait_for_selector(IDLE)
        assert phone.widest() <= 390
        heights = phone.tab.locator(".stMainBlockContainer .stButton button").evaluate_all(
            "all => all.map(one => one.getBoundingClientRect().height)"
        )
        shown = [height for height in heights if height]  # a hidden one has none
        assert shown
        assert all(height >= 40 for height in shown)
        assert phone.hosts <= {"127.0.0.1"}
    finally:
        phone.context.close()


def test_a_lost_connection_loses_no_entry(
    browser: Any,
    address: str,
) -> None:
    """A reading typed on one phone is there in a session that only has the address."""
    phone = _Phone(browser)
    try:
        phone.open(f"{address}/circuits")
        phone.tab.locator(".st-key-add_circuit button").click()
        field = phone.tab.get_by_label("After sleep, 45 min or more [V]")
        field.fill("12.4")
        field.press("Enter")
        phone.tab.get_by_text("12.4 V after the vehicle slept").first.wait_for(state="attached")
        phone.tab.wait_for_selector(IDLE)
        phone.tab.wait_for_function("() => location.search.includes('circuits=')")
        url = phone.tab.url
    finally:
        phone.context.close()
    other = _Phone(browser)
    try:
        other.open(url)
        kept = other.tab.get_by_label("After sleep, 45 min or more [V]")
        kept.wait_for()
        assert kept.input_value() == "12.4"
        # The address is whole again for the next lost connection.
        other.tab.wait_for_function("() => location.search.includes('circuits=')")
        assert other.tab.url == url
    finally:
        other.context.close()
