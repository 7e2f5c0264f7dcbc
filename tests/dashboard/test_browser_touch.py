"""A thumb that scrolls a phone changes nothing: no value, no answer, no address.

Found in a browser on the first page before: a swipe begun on a slider took 60 Ah to 193 Ah.
"""

from collections.abc import Iterator
from typing import Any

import pytest

# The server and the browser of the other browser tests.
from tests.dashboard.serving import settled
from tests.dashboard.test_browser_pages import _Visit

pytestmark = pytest.mark.browser

_TARGETS = (
    "input, button, label, summary, canvas, [role=slider], [role=combobox], [role=tab],"
    " .js-plotly-plot"
)
# What stands on the page: every value, whatever is chosen or open, every number of the answers and
# of the charts' axes; not the label a chart shows under a finger, nor the cells a grid keeps for a
# reader of the screen: those it scrolls to, in the order it draws them.
_STATE = """() => {
    const main = document.querySelector('[data-testid=stMain]'), text = main.cloneNode(true);
    text.querySelectorAll('.hoverlayer, style, canvas').forEach(one => one.remove());
    return [...main.querySelectorAll('input, textarea')].map(one =>
        [one.getAttribute('aria-label'), one.type === 'radio' || one.type === 'checkbox'
            ? one.checked : one.value]).concat([[text.textContent, location.search]]); }"""
# The numbers of all that a thumb can start on and has not yet.
_PLACES = """targets =>
    [...document.querySelector('[data-testid=stMain]').querySelectorAll(targets)].filter(one =>
        !one.dataset.thumb && one.checkVisibility() && one.getBoundingClientRect().width > 4
    ).map(one => one.dataset.thumb = window.thumbs = (window.thumbs ?? 0) + 1)"""
# The middle of one of them, in the page's own coordinates, once it is in sight.
_BRING = """n => { const one = document.querySelector(`[data-thumb="${n}"]`);
    if (!one || !one.checkVisibility()) return null;
    one.scrollIntoView({block: 'center', behavior: 'instant'});
    const box = one.getBoundingClientRect();
    return [box.x + Math.min(box.width, 390) / 2, box.y + Math.min(box.height, 300) / 2]; }"""


class _Thumb:
    """A phone of 390 px with nothing but touch."""

    def __init__(self, browser: Any) -> None:
        self.visit = _Visit(browser, width=390, touch=True)
        self.tab = self.visit.tab

    def swipe(self, x: float, y: float, along: float) -> None:
        """Put the thumb down, draw it along the screen, slightly aslant, and lift it."""
        self._send("touchStart", [{"x": x, "y": y}])
        for step in range(1, 4):  # the browser takes each with a frame: 17 ms
            point = {"x": x + 5.0 * step, "y": y + along * step / 3}
            self._send("touchMove", [point])
        self._send("touchEnd", [])

    def _send(self, kind: str, points: list[dict[str, float]]) -> None:
        self.visit.screen.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def state(self) -> Any:
        """Return what stands on the page once it has come to rest."""
        return settled(self.tab, lambda: self.tab.evaluate(_STATE))

    def swipe_over_everything(self) -> int:
        """Swipe over every control not met before, up and down in turn; return how many."""
        swiped = 0
        for n in self.tab.evaluate(_PLACES, _TARGETS):
            place = self.tab.evaluate(_BRING, n)
            if place is not None:
                self.swipe(*place, -160.0 if n % 2 else 160.0)
                swiped += 1
        return swiped


@pytest.fixture
def thumb(browser: Any) -> Iterator[_Thumb]:
    """Open a phone of its own."""
    one = _Thumb(browser)
    yield one
    one.visit.context.close()


@pytest.mark.nightly
@pytest.mark.parametrize("page", ["standing", "fleet"])
def test_a_swipe_over_every_control_changes_nothing(thumb: _Thumb, address: str, page: str) -> None:
    """On every tab of the page, up and down."""
    thumb.visit.show(address, page)
    tabs = thumb.tab.locator("[data-testid=stMain] [role=tab]")
    swiped = 0
    for n in range(max(tabs.count(), 1)):
        if tabs.count():
            tabs.nth(n).tap()
        before = thumb.state()
        swiped += thumb.swipe_over_everything()
        assert thumb.state() == before
    assert swiped > 20


def test_a_tap_on_a_stepper_does_change_the_answer(thumb: _Thumb, address: str) -> None:
    """What a swipe must not do a finger can: one step of the box, and the answer follows."""
    thumb.visit.show(address, "standing")
    assert thumb.tab.locator(".stSlider [role=slider], .stSlider input").first.is_hidden()
    plus = thumb.tab.locator(".st-key-age_years_box [data-testid=stNumberInputStepUp]")
    size = plus.bounding_box()
    assert min(size["width"], size["height"]) >= 44
    before = thumb.state()
    plus.tap()
    thumb.tab.wait_for_url("**/?age_years=3.5")
    assert thumb.state() != before
