"""The evidence page shows the same checks as the command, failures included."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from drainsim.dashboard.pages.evidence_page import check_table
from drainsim.evidence.checks.limits import MUST_NOT_BE_USED
from drainsim.evidence.holding import effect_words, holding, holding_words
from drainsim.evidence.registry import run_checks, summary
from drainsim.evidence.words import summary_words

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "drainsim" / "dashboard" / "pages" / "evidence_page.py"


@pytest.fixture(scope="module")
def opened() -> AppTest:
    """Return the page as first seen."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=120.0).run()
    return app.switch_page(str(PAGE)).run()


def test_all_checks_counts_and_limits_are_shown(opened: AppTest) -> None:
    """The table holds every check, the words its counts and where not to use it."""
    assert not opened.exception
    results = run_checks()
    assert len(opened.dataframe[0].value) == len(results)
    words = "\n".join(str(part.value) for part in opened.markdown)
    for sentence in (*summary_words(summary(results)), *MUST_NOT_BE_USED):
        assert sentence in words


def test_only_failures_can_be_asked_for(opened: AppTest) -> None:
    """One choice leaves exactly the checks that do not pass, each with its reason."""
    opened.radio(key="evidence_shown").set_value("only what does not pass").run()
    table = opened.dataframe[0].value
    missed = [result for result in run_checks() if not result.passed]
    assert list(table["quantity"]) == [result.check.quantity for result in missed]
    assert (table["why it does not pass"].str.len() > 0).all()


def test_one_subject_can_be_chosen(opened: AppTest) -> None:
    """Choosing a subject shows its checks only."""
    opened.radio(key="evidence_shown").set_value("every result").run()
    opened.selectbox(key="evidence_subject").set_value("wiring").run()
    assert set(opened.dataframe[0].value["subject"]) == {"wiring"}


def test_constants_nothing_holds_are_listed_with_what_they_do(opened: AppTest) -> None:
    """The page shows a row for each change no outside value would notice, and the counts."""
    found = holding()
    shown = next(frame.value for frame in opened.dataframe if "what it does" in frame.value.columns)
    assert list(shown["constant"]) == [change.in_words for change in found.unheld]
    assert not shown["constant"].str.contains(r"_|\w\.[a-z]").any()  # no name of the code
    assert list(shown["what it does"]) == [effect_words(change) for change in found.unheld]
    words = "\n".join(str(part.value) for part in opened.markdown)
    assert all(sentence in words for sentence in holding_words(found))


def test_six_curves_and_the_twin_have_words_of_their_own(opened: AppTest) -> None:
    """Every chart carries a description for those who cannot see it."""
    charts = opened.get("plotly_chart")
    assert len(charts) == 7
    assert all(len(chart.proto.alt) > 20 for chart in charts)


def test_table_says_units_and_grades_in_words() -> None:
    """No cell is left empty where a value belongs."""
    table = check_table(run_checks())
    for column in (
        "result",
        "published",
        "model",
        "unit",
        "tolerance",
        "source",
        "grade",
        "independence",
    ):
        assert (table[column].str.len() > 0).all(), column
