"""Page: how far can the answer be trusted?"""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from drainsim.dashboard import forms
from drainsim.dashboard.parts.answer_tables import in_words
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import in_english, said
from drainsim.evidence import stored
from drainsim.evidence.check import CheckResult
from drainsim.evidence.checks.curves import curves
from drainsim.evidence.checks.limits import MUST_NOT_BE_USED
from drainsim.evidence.holding import Change, effect_words, holding, holding_words
from drainsim.evidence.registry import run_checks, subjects, summary
from drainsim.evidence.words import (
    difference_words,
    number_words,
    published_words,
    summary_words,
    tolerance_words,
)
from drainsim.figures.evidence import (
    curve_alt,
    curve_figure,
    reliability_alt,
    reliability_figure,
)
from drainsim.language import marked, say

_FORM = "trust"
_ALL = marked("all")
_EVERY = marked("every result")
_MISSED = marked("only what does not pass")


@st.cache_resource(show_spinner=False)
def _results() -> tuple[CheckResult, ...]:
    """Return every check's result; they depend on the program only."""
    return run_checks()


def check_table(results: Sequence[CheckResult]) -> pd.DataFrame:
    """Return checks as a table of words: literal text, nothing left out."""
    return pd.DataFrame(
        [
            {
                say("result"): result.verdict,
                say("subject"): result.check.subject,
                say("quantity"): result.check.quantity,
                say("conditions"): result.check.conditions,
                say("published"): published_words(result.check),
                say("model"): "none" if result.model is None else number_words(result.model),
                say("unit"): result.check.unit or "-",
                say("difference"): difference_words(result),
                say("tolerance"): tolerance_words(result.check),
                say("why this tolerance"): result.check.tolerance_reason,
                say("source"): in_words(result.check.source.cited(result.check.clause)),
                say("grade"): result.check.grade,
                say("independence"): str(result.check.independence),
                say("why it does not pass"): result.check.expected_to_disagree
                or result.check.known_weakness,
                say("note"): result.note,
            }
            for result in results
        ]
    )


def _table(results: Sequence[CheckResult]) -> None:
    st.subheader(say("Published values against the model"), anchor=False)
    left, right = st.columns(2)
    offered = (_ALL, *subjects())
    subject = left.selectbox(
        say("Subject"),
        offered,
        format_func=say,
        **forms.bound(_FORM, "subject", _ALL, among=offered, key="evidence_subject"),
    )
    ways = (_EVERY, _MISSED)
    shown = right.radio(
        say("Show"),
        ways,
        format_func=say,
        horizontal=True,
        **forms.bound(_FORM, "shown", _EVERY, among=ways, key="evidence_shown"),
    )
    chosen = [
        result
        for result in results
        if subject in (_ALL, result.check.subject) and not (shown == _MISSED and result.passed)
    ]
    st.dataframe(check_table(chosen), hide_index=True, key="evidence_table")
    st.caption(say("{chosen} of {results} checks shown.", chosen=len(chosen), results=len(results)))


def _plots(results: Sequence[CheckResult]) -> None:
    st.subheader(say("Where a table is a curve"), anchor=False)
    left, right = st.columns(2)
    by_key = {result.check.key: result for result in results}
    for number, curve in enumerate(curves(by_key)):
        with right if number % 2 else left:
            draw_chart(
                curve_figure(curve, palette()),
                key=f"evidence_{curve.key}",
                alt=curve_alt(curve),
            )


def _sentences(sentences: Sequence[str]) -> None:
    for sentence in sentences:
        st.markdown(f"- {said(sentence)}")


def _twin() -> None:
    st.subheader(say("Simulated vehicles whose truth is known"), anchor=False)
    found = stored.twin()["results"]
    draw_chart(
        reliability_figure(found, palette()),
        key="evidence_reliability",
        alt=reliability_alt(found[0]),
    )
    _sentences(stored.twin_words())


def _weather() -> None:
    st.subheader(say("Real weather against monthly normals"), anchor=False)
    _sentences(stored.weather_words())
    rows = [
        {
            say("place"): row["place"],
            say("vehicle"): row["vehicle"],
            say("parked from"): row["parked_from"],
            say("real weather [days]"): f"{row['real_days']:.1f}",
            say("normals [days]"): f"{row['normals_days']:.1f}",
            say("difference [days]"): f"{row['difference_days']:+.1f}",
            say("normals, 8 in 10 cases [days]"): (
                say(
                    "{low:.0f} to {high:.0f}",
                    low=row["normals_p10_days"],
                    high=row["normals_p90_days"],
                )
            ),
        }
        for row in stored.weather()["rows"]
    ]
    st.dataframe(pd.DataFrame(rows), hide_index=True, key="evidence_weather")


def unheld_table(changes: Sequence[Change]) -> pd.DataFrame:
    """Return the changes no outside value would notice as a table of words."""
    return pd.DataFrame(
        [
            {
                say("constant"): change.in_words,
                say("value"): number_words(change.value),
                say("changed"): f"{change.change} ({number_words(change.changed_to)})",
                say("example"): change.example,
                say("what it does"): effect_words(change),
                say("noticed"): change.held,
            }
            for change in changes
        ]
    )


def _unheld() -> None:
    st.subheader(say("No outside value holds these constants"), anchor=False)
    found = holding()
    _sentences(holding_words(found))
    st.dataframe(unheld_table(found.unheld), hide_index=True, key="evidence_unheld")


def _limits() -> None:
    st.subheader(say("Where it must not be used"), anchor=False)
    _sentences(MUST_NOT_BE_USED)


def show() -> None:
    """Draw the page."""
    st.header(say("How far can the answer be trusted?"), anchor=False)
    with st.spinner(say("Running the checks ...")):
        results = _results()
    _sentences(summary_words(summary(results)))
    in_english(
        say("Checks, sources, places and constants are quoted as they are kept, in English.")
    )
    _limits()
    _table(results)
    _unheld()
    _plots(results)
    _twin()
    _weather()
    st.subheader(say("What decides the answer"), anchor=False)
    _sentences(stored.sensitivity_words())


if __name__ == "__main__":  # streamlit runs a page as the main module
    show()
