"""No key of a file on any screen: whoever reads a page never meets an underscore."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

_ROOT = Path(__file__).resolve().parents[2]
_PAGES = sorted(path.name for path in (_ROOT / "drainsim/dashboard/pages").glob("*_page.py"))
_OPEN = ("more_measure", "more_budget", "more_ends", "more_cold", "more_values", "cautions")
# A key joins words by an underscore; a file's name and the visitor's own text are no key.
_KEY = re.compile(r"(?<![/.\w])[A-Za-z]+_[A-Za-z_]+(?!\.\w)\b")


def _words(app: AppTest) -> Iterator[str]:
    """Yield every text a page shows: said, labels, options, tables with their headings."""
    for kind in ("markdown", "caption", "header", "subheader", "error", "warning", "info", "text"):
        yield from (str(one.value) for one in app.get(kind))
    controls = ("slider", "number_input", "selectbox", "multiselect", "radio", "toggle")
    more = ("select_slider", "date_input", "text_input", "checkbox", "button", "metric", "tab")
    for kind in (*controls, *more, "expander"):
        for one in app.get(kind):
            yield str(getattr(one, "label", ""))
            yield from map(str, getattr(one, "options", None) or [])
            yield str(getattr(one, "placeholder", "") or "")
    for kind in ("table", "dataframe", "data_editor"):
        for one in app.get(kind):
            yield from _cells(one.value)


def _cells(frame: Any) -> Iterator[str]:
    """Yield a table's words, but for the visitor's own; meanings have words of their own."""
    frame = pd.DataFrame(frame).reset_index(drop=isinstance(frame.index, pd.RangeIndex))
    frame = frame.drop(
        columns=["heading", "first value", "means", "column heading"], errors="ignore"
    )
    yield from map(str, frame.columns)
    for row in frame.itertuples(index=False):
        yield from (cell for cell in row if isinstance(cell, str))


@pytest.mark.parametrize("page", _PAGES)
def test_no_screen_shows_a_key(page: str) -> None:
    """Texts, labels, options and tables of every page, closed parts opened."""
    app = AppTest.from_file(str(_ROOT / "app.py"), default_timeout=120.0).run()
    if page != "standing_page.py":
        app.switch_page(str(_ROOT / "drainsim/dashboard/pages" / page))
    for key in _OPEN:
        app.session_state[key] = True
    app.run()
    assert not app.exception
    words = list(_words(app))
    assert len(words) > 10
    found = {key for text in words for key in _KEY.findall(text.replace("&#95;", "_"))}
    assert found == set()
