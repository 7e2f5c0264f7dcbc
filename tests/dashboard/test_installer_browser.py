"""The installer's pages on a phone: nothing typed is lost, few taps lead to a verdict."""

from typing import Any

import pytest

from tests.dashboard.serving import IDLE, PATIENCE_MS

pytestmark = pytest.mark.browser


class _Phone:
    """A fresh visitor at 390 px."""

    def __init__(self, browser: Any) -> None:
        self.context = browser.new_context(viewport={"width": 390, "height": 844})
        self.tab = self.context.new_page()
        self.tab.set_default_timeout(PATIENCE_MS)

    def open(self, url: str) -> None:
        self.tab.goto(url)
        self.tab.wait_for_selector(IDLE)


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
        other.tab.locator(".st-key-circuit_fields summary").click()
        kept = other.tab.get_by_label("After sleep, 45 min or more [V]")
        kept.wait_for()
        assert kept.input_value() == "12.4"
        # The address is whole again for the next lost connection.
        other.tab.wait_for_function("() => location.search.includes('circuits=')")
        assert other.tab.url == url
    finally:
        other.context.close()


class _Taps:
    """A thumb on a phone that counts every tap; what is typed then costs none."""

    def __init__(self, browser: Any) -> None:
        self.context = browser.new_context(
            viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
        )
        self.tab = self.context.new_page()
        self.tab.set_default_timeout(PATIENCE_MS)
        self.count = 0

    def on(self, what: str) -> None:
        self.tab.wait_for_selector(IDLE)
        self.tab.locator(what).tap()
        self.count += 1

    def fill(self, what: str, value: str) -> None:
        self.on(what)
        self.tab.keyboard.type(value, delay=30)
        self.tab.keyboard.press("Enter")


def test_two_circuits_to_a_verdict_in_twelve_taps(browser: Any, address: str) -> None:
    """Both purposes decided and handed to the job; the verdict stays in sight all the while."""
    taps = _Taps(browser)
    try:
        taps.tab.goto(f"{address}/circuits")
        taps.tab.wait_for_selector(".st-key-add_circuit")
        for number, (button, readings) in enumerate(
            (
                (
                    "add_circuit",
                    {
                        "after_sleep_v": "12.5",
                        "fuse_a": "15",
                        "load_a": "2",
                        "loaded_v": "12.45",
                        "loaded_at_a": "2",
                    },
                ),
                ("add_sense", {"off_v": "0", "on_v": "12.4", "cranking_v": "9.5"}),
            )
        ):
            taps.on(f".st-key-{button} button")
            for name, value in readings.items():
                taps.fill(f".st-key-c{number}_{name} input", value)
                taps.tab.wait_for_function(
                    "() => { const box = document.querySelector('.st-key-circuits_summary')"
                    ".getBoundingClientRect(); return box.top >= 0 && box.bottom <= innerHeight }"
                )
        summary = taps.tab.locator(".st-key-circuits_summary")
        summary.get_by_text("Constant power: Circuit 1").wait_for()
        summary.get_by_text("Ignition sense: Circuit 2").wait_for()
        taps.on(".st-key-use_circuits button")
        taps.tab.get_by_text("The job has Circuit 1 and Circuit 2").wait_for()
        assert taps.count <= 12
        assert min(summary.locator("button").bounding_box()["height"], 48) >= 44
    finally:
        taps.context.close()
