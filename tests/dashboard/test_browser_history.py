"""A page's question stands in its address: Back undoes one step, a reload keeps everything."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from drainsim.files.examples import example_text
from tests.dashboard.serving import IDLE, PATIENCE_MS, settled

# The visitor of the other browser tests.
from tests.dashboard.test_browser_pages import _PAGES, _Visit

pytestmark = pytest.mark.browser

# Everything a page shows but what comes with the mouse or the focus, and every entry. A table's
# cells are a picture whose words for screen readers come when the browser has time.
SHOWN = """() => {
    const main = document.querySelector('[data-testid=stMain]'), text = main.cloneNode(true);
    const beside = '.hoverlayer, style, script, canvas, [data-testid=InputInstructions]';
    text.querySelectorAll(beside).forEach(one => one.remove());
    return [text.textContent, ...[...main.querySelectorAll('input, textarea')].map(one =>
        one.type === 'radio' || one.type === 'checkbox' ? one.checked : one.value)]; }"""


@dataclass(frozen=True)
class _Steps:
    """Two fields of a page with something to type or choose in each, and what to open before."""

    first: tuple[str, str]
    second: tuple[str, str]
    open: str = ""


_STEPS = {
    "standing": _Steps(("age_years_box", "6"), ("capacity_ah_box", "70")),
    "questions": _Steps(("age_years", "6"), ("capacity_ah", "70")),
    "driving": _Steps(("week_trips", "4"), ("week_minutes_box", "30")),
    "ageing": _Steps(("ageing_winters_box", "3"), ("ageing_risk", "2")),
    "fleet": _Steps(("fleet_until", "12"), ("fleet_risk", "8"), "Settings: today"),
    "readings": _Steps(("readings_vehicle", "HY-12"), ("readings_vehicle", "RS-11")),
    "storage": _Steps(("storage_days", "35"), ("age_years_box", "6")),
    "catalogue": _Steps(("catalogue_company", "Ours"), ("catalogue_contact", "Me")),
    "circuits": _Steps(("circuits_min", "9"), ("circuits_min", "10"), "System voltage"),
    "current-log": _Steps(("drop_mv", "0.5"), ("drop_step", "0.2")),
    "job": _Steps(("j_label", "van 7"), ("j_job_days_needed", "30")),
}

# The first page by day, all others by night.
_BY_DAY = "standing"


@pytest.fixture
def visit(browser: Any) -> Iterator[_Visit]:
    """Open a visitor of their own."""
    one = _Visit(browser)
    yield one
    one.context.close()


def _type(visit: _Visit, field: tuple[str, str]) -> None:
    box = visit.tab.locator(f".st-key-{field[0]} input").last
    if box.get_attribute("role") == "combobox":
        box.click(delay=100)  # a press of no length does not open the list
        visit.tab.get_by_role("option", name=field[1]).click()
    else:
        box.fill(field[1])
        box.press("Enter")


def _shown(visit: _Visit, steps: _Steps) -> Any:
    if steps.open:
        part = visit.tab.locator("[data-testid=stExpander]", has_text=steps.open).first
        if not part.locator("details").evaluate("one => one.open"):
            part.locator("summary").click()
    return settled(visit.tab, lambda: visit.tab.evaluate(SHOWN))


@pytest.mark.parametrize(
    "page",
    [one if one == _BY_DAY else pytest.param(one, marks=pytest.mark.nightly) for one in _STEPS],
)
def test_back_undoes_one_step_and_a_reload_keeps_all(
    visit: _Visit, address: str, page: str
) -> None:
    """Two steps, a reload, two steps back, one forward: each shows what it showed before."""
    steps, kind = _STEPS[page], _PAGES[page]
    visit.open(f"{address}/{kind.path}", IDLE if kind.press else kind.ready)
    seen, urls = [_shown(visit, steps)], [visit.tab.url]
    for field in (steps.first, steps.second):
        _type(visit, field)
        visit.tab.wait_for_url(lambda url: url != urls[-1])
        seen.append(_shown(visit, steps))
        urls.append(visit.tab.url)
        assert seen[-1] != seen[-2]
    visit.tab.reload()
    visit.tab.wait_for_selector(IDLE)
    assert _shown(visit, steps) == seen[2]
    for expected in (1, 0):
        visit.tab.go_back()
        visit.tab.wait_for_url(urls[expected])
        assert _shown(visit, steps) == seen[expected]
    visit.tab.go_forward()
    assert _shown(visit, steps) == seen[1]
    assert visit.tab.url == urls[1]


def test_an_answer_that_is_being_replaced_is_not_left_standing(visit: _Visit, address: str) -> None:
    """What the toolkit marks as old goes from sight; the questions beside it stay."""
    visit.show(address, "driving")
    seen = """all => {
        const ones = all.map(one => document.querySelector(one).closest('.stElementContainer'));
        ones.forEach(one => { one.dataset.stale = 'true'; });
        return new Promise(done => setTimeout(() => done(
            ones.map(one => getComputedStyle(one).visibility)), 900)); }"""
    answers = [".stMetric", ".stDataFrame", ".stPlotlyChart", ".st-key-verdict_place p"]
    found = visit.tab.evaluate(seen, [*answers, ".st-key-week_trips input"])
    assert found == ["hidden"] * 4 + ["visible"]


@pytest.mark.nightly
def test_another_page_is_one_step_and_the_vehicle_goes_along(visit: _Visit, address: str) -> None:
    """From door to door and page to page the vehicle stays; each door remembers its own."""
    tab = visit.tab
    ages = {"": "st-key-age_years_box", "storage": "st-key-age_years_box"}

    def age(page: str) -> str:
        tab.wait_for_selector(f".{ages[page]} input")
        settled(tab, lambda: tab.evaluate(SHOWN))
        return str(tab.locator(f".{ages[page]} input").last.input_value())

    def go(name: str, path: str) -> None:
        tab.get_by_role("link", name=name, exact=True).click()
        tab.wait_for_url(lambda url: url.split("?")[0] == f"{address}/{path}")

    visit.show(address, "standing")
    _type(visit, ("age_years_box", "6"))
    tab.wait_for_url("**/?age_years=6")
    go("Next winter", "ageing")
    assert "age_years=6" in tab.url
    tab.go_back()
    tab.wait_for_url("**/?age_years=6")
    assert age("") == "6"
    go("Sales", "storage")  # a door without a vehicle of its own takes this one along
    assert age("storage") == "6"
    _type(visit, ("age_years_box", "9"))
    tab.wait_for_url("**/storage?age_years=9")
    settled(tab, lambda: tab.evaluate(SHOWN))
    tab.reload()
    tab.wait_for_selector(IDLE)
    go("Owner", "")
    assert age("") == "6"
    go("Sales", "storage")
    assert age("storage") == "9"
    for path, expected in (("", "6"), ("storage", "9")):
        tab.go_back()
        tab.wait_for_url(lambda url, path=path: url.split("?")[0] == f"{address}/{path}")
        assert age(path) == expected


def test_a_value_typed_before_a_link_is_pressed_is_not_lost(visit: _Visit, address: str) -> None:
    """Typed and not yet sent, the value is taken; the page that is opened has it."""
    visit.show(address, "standing")
    settled(visit.tab, lambda: visit.tab.evaluate(SHOWN))
    visit.tab.locator(".st-key-age_years_box input").click()
    visit.tab.keyboard.press("Control+A")
    visit.tab.keyboard.type("6", delay=50)
    link = visit.tab.get_by_role("link", name="Next winter")
    link.click(delay=100)  # as long as a finger rests on it: a press of no length may come first
    visit.tab.wait_for_url("**age_years=6")
    settled(visit.tab, lambda: visit.tab.evaluate(SHOWN))
    if "/ageing" not in visit.tab.url:  # the field took the first press
        link.click()
    visit.tab.wait_for_url("**/ageing?age_years=6")


@pytest.mark.parametrize(
    ("page", "box", "name", "content", "words"),
    [
        ("fleet", "fleet_file", "own.csv", "id\nMY-VAN\n", "List: own.csv."),
        pytest.param(
            "current-log",
            "log_file",
            "own.csv",
            example_text("current_log.csv"),
            "Asleep after 26 min",
            marks=pytest.mark.nightly,
        ),
    ],
)
def test_an_own_file_outlasts_a_reload_and_is_not_in_the_link(
    browser: Any,
    visit: _Visit,
    address: str,
    page: str,
    box: str,
    name: str,
    content: str,
    words: str,
) -> None:
    """Whoever loaded it finds it again; another who opens the link is told that it is not there."""
    visit.open(f"{address}/{page}")
    visit.tab.locator(f".st-key-{box} input[type=file]").set_input_files(
        files=[{"name": name, "mimeType": "text/csv", "buffer": content.encode()}]
    )
    visit.wait_for_text(words)
    settled(visit.tab, lambda: visit.tab.url)
    visit.tab.reload()
    visit.wait_for_text(words)
    other = _Visit(browser)
    try:
        other.open(visit.tab.url)
        other.wait_for_text("no longer held here: load it again")
        assert words not in other.tab.locator("[data-testid=stMain]").inner_text()
    finally:
        other.context.close()
    visit.tab.go_back()
    visit.tab.wait_for_function(
        "words => !document.querySelector('[data-testid=stMain]').innerText.includes(words)",
        arg=words,
        timeout=PATIENCE_MS,
    )
