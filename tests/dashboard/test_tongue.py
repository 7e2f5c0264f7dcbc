"""Every page in the visitor's language: nothing left in English, nothing else changed by it."""

import contextvars
import gettext
import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from drainsim import language
from drainsim.dashboard import readings_question, tongue
from drainsim.evidence import stored
from drainsim.files.examples import example_text
from drainsim.files.fleet.example import example_list
from drainsim.files.readings.example import EXAMPLE_LIST, EXAMPLE_READINGS
from tests.invented_readings import told_of
from tests.message_files import messages_in_use

_ROOT = Path(__file__).resolve().parents[2]
_PAGES = sorted(path.name for path in (_ROOT / "drainsim/dashboard/pages").glob("*_page.py"))
_OPEN = (
    *("more_measure", "more_budget", "more_ends", "more_cold", "more_values", "cautions"),
    *("quote", "fleet_plan", "circuits_all", "circuit_fields"),
)
_EXAMPLES = ("example_circuits", "example_log", "example_job")
# A place of a figure, or a word of a message.
_PARTS = re.compile(r"(%?\{[^}]*\}|<[^>]*>|:[a-z_]+/[a-z_]+:)|([^\W\d_]+)")
_MARKED = re.compile(r"⟦[^⟧]*⟧")
_UNITS = "Ah mA min ohm mm mm² cm cm³ kWh LTE CSV"
_LEFT_ENGLISH = {  # quoted from where they come from, as the pages say
    "⟦source⟧", "⟦column⟧ ⟦heading⟧", "⟦heading⟧", "⟦first⟧ ⟦value⟧", "⟦means⟧", "⟦check⟧",
}  # fmt: skip


_EVIDENCE = {"⟦tolerance⟧", "⟦constant⟧", "⟦real⟧ ⟦weather⟧ [⟦days⟧]"}  # rows as they are kept


# As kept: input refused, keys to be typed, what a chart's point comes from, the evidence's places.
_QUOTED = (
    "charge_full",
    "charge&#95;full",
    "- **⟦Row⟧",
    "⟦outside⟧",
    stored.sensitivity()["conclusion"],
    stored.weather()["places_in_words"],
)


@cache
def _known() -> frozenset[str]:
    """Return every form of every message."""
    return frozenset(
        text
        for domain in (language.DOMAIN, language.SCREENS)
        for entry in messages_in_use(domain)
        for text in (entry if isinstance(entry, tuple) else (entry,))
    )


class _Pseudo(gettext.NullTranslations):
    """A language in which every word of every message of a catalogue is marked."""

    def gettext(self, message: str) -> str:
        if message not in _known() or not re.search(
            r"[a-z]{2}", re.sub(r"\{[^}]*\}|%-?[a-z]", "", message)
        ):
            return message  # nothing but figures, units, or how a date is written
        return _PARTS.sub(lambda part: part[1] or f"⟦{part[2]}⟧", message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


def _opened(page: str, **query: str) -> AppTest:
    app = AppTest.from_file(str(_ROOT / "app.py"), default_timeout=300.0)
    for name, value in query.items():
        app.query_params[name] = value
    app.run()
    if page != "standing_page.py":
        app.switch_page(str(_ROOT / "drainsim/dashboard/pages" / page))
    for key in _OPEN:
        app.session_state[key] = True
    app.run()
    for button in app.button:
        if button.key in _EXAMPLES:
            return button.click().run()
    return app


def _said(app: AppTest) -> Iterator[str]:
    """Yield every text a page shows but input that is refused, which is quoted."""
    for kind in ("markdown", "caption", "header", "subheader", "info", "success"):
        yield from (str(one.value) for one in app.get(kind))
    controls = ("slider", "number_input", "selectbox", "multiselect", "radio", "toggle")
    more = ("select_slider", "date_input", "text_input", "checkbox", "button", "metric", "tab")
    for kind in (*controls, *more, "expander", "file_uploader", "download_button"):
        for one in app.get(kind):
            yield str(getattr(one, "label", ""))
            yield str(getattr(one, "help", "") or "")
            yield from map(str, getattr(one, "options", None) or [])
            yield str(getattr(one, "placeholder", "") or "")
    for one in app.get("plotly_chart"):
        yield one.proto.alt
    for kind in ("table", "dataframe"):
        for one in app.get(kind):
            yield from _cells(one.value)


def _cells(frame: Any) -> Iterator[str]:
    frame = pd.DataFrame(frame)
    if "first value" in frame.columns:
        return  # the list's own headings; those of this table stand in its settings
    yield from map(str, frame.columns)
    if _EVIDENCE & {str(name) for name in frame.columns}:
        return
    if not isinstance(frame.index, pd.RangeIndex):
        yield from map(str, [*frame.index, frame.index.name or ""])
    quoted = {"⟦value⟧"} if "⟦origin⟧" in frame.columns else set()
    for name in set(frame.columns) - _LEFT_ENGLISH - quoted:
        yield from (cell for cell in frame[name] if isinstance(cell, str))


def _own_words() -> set[str]:
    """Return the words no language changes: of the examples' own text, names, zones, units."""
    texts = [example_text(name) for name in ("circuits.csv", "job_record.json")]
    texts += [example_list().decode(), EXAMPLE_LIST.read_text(), EXAMPLE_READINGS.read_text()[:500]]
    texts += [*language.LANGUAGES.values(), *available_timezones(), _UNITS, "Letter", "drainsim"]
    return {word for text in texts for word in re.findall(r"[^\W\d_]+", text)}


@pytest.mark.parametrize("page", _PAGES)
def test_no_word_of_a_page_is_left_in_english(
    page: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """In a language that marks every word it is given, no word of a page is unmarked."""
    readings = tmp_path / EXAMPLE_READINGS.name
    readings.write_text(told_of(), "utf-8")
    monkeypatch.setattr(readings_question, "EXAMPLE_READINGS", readings)
    monkeypatch.setattr(
        language,
        "_messages",
        lambda code: gettext.NullTranslations() if code == "en" else _Pseudo(),
    )

    def walk() -> list[str]:
        language.speak("de")  # the test asks for labels in a thread of its own
        app = _opened(page, **{tongue.LANGUAGE: "de"})
        assert not app.exception
        return list(_said(app))

    texts, own = contextvars.copy_context().run(walk), _own_words()
    assert sum(bool(_MARKED.search(text)) for text in texts) > 10
    left = {}
    for text in texts:
        if any(quoted in text for quoted in _QUOTED):
            continue
        bare = _MARKED.sub("", re.sub(r"&#\d+;|:[a-z_]+/[a-z_]+:", " ", text))
        words = {word for word in re.findall(r"[^\W\d_]{3,}", bare) if word not in own}
        if words and not re.fullmatch(r"\w+: [\w ]+", text):  # a scenario's key without a label
            left[text[:200]] = words
    assert not left, "\n".join(f"{words}: {text}" for text, words in left.items())


def _address(app: AppTest) -> dict[str, str]:
    query = dict(app.query_params)
    return {name: one if isinstance(one, str) else one[0] for name, one in query.items()}


def _curve(app: AppTest) -> Any:
    figure = json.loads(app.get("plotly_chart")[0].proto.spec)
    return [trace["y"] for trace in figure["data"]]


def _headings(app: AppTest) -> list[str]:
    return [one.value for one in app.header]


def test_switching_the_language_changes_no_answer_and_no_address() -> None:
    """The address gains the language and loses it again; case, answer and chart stay."""
    app = _opened("standing_page.py", age_years="6")
    address, curve, english = _address(app), _curve(app), _headings(app)
    choices = dict(app.session_state["kept_choices"])
    assert choices == {"age_years": 6.0}
    app.selectbox(key="visit_language").set_value("de").run()
    assert not app.exception
    assert "Wie lange kann es stehen?" in _headings(app)
    assert _address(app) == {**address, tongue.LANGUAGE: "de"}
    assert dict(app.session_state["kept_choices"]) == choices
    assert _curve(app) == curve

    def back() -> None:
        language.speak("de")  # the test reads the choice's labels in a thread of its own
        app.selectbox(key="visit_language").set_value("en").run()

    contextvars.copy_context().run(back)
    assert _address(app) == address
    assert _headings(app) == english


def test_a_temperature_is_seen_in_fahrenheit_and_kept_in_celsius() -> None:
    """14 °F are -10 °C (by the scale's definition) in the case and in the address."""
    app = _opened("standing_page.py", temperature_c="10", **{tongue.DEGREES: "F"})
    box = app.number_input(key="temperature_c")
    assert box.label.endswith("[°F]")
    assert box.value == 50.0
    box.set_value(14.0).run()
    assert app.session_state["kept_choices"] == {"temperature_c": -10.0}
    assert _address(app) == {"temperature_c": "-10", tongue.DEGREES: "F"}
    assert any("14\N{NO-BREAK SPACE}°F" in one.value for one in app.markdown)


def test_what_an_address_or_a_browser_asks_for_and_is_not_spoken_is_english() -> None:
    """An unknown language in an address is left out; the page is English."""
    app = _opened("standing_page.py", language="xx", degrees="K")
    assert "How long can it stand?" in _headings(app)
