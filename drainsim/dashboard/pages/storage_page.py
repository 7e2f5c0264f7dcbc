"""Page: may it be left standing? The question first, then the answer and the customer's sheet."""

import datetime as dt
from collections.abc import Sequence
from typing import Final

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim.answers.standing.first_words import place_words
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.storage.answer import YES, StorageAnswer, storage
from drainsim.answers.storage.remedies import (
    NONE_IS_ENOUGH,
    NOT_ALONE,
    Preferences,
    Remedy,
    outcome_words,
)
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.inverse import all_inverse
from drainsim.answers.storage.searching.solving import Solved
from drainsim.answers.storage.sunshine import MonthPanel, panel_by_month
from drainsim.answers.words import range_words, short_date
from drainsim.dashboard import forms, preferences, session
from drainsim.dashboard.cached import KEPT, case_of, read_again
from drainsim.dashboard.parts import quote_view, safety, sheet_language
from drainsim.dashboard.parts.plain_text import glued, plain, said
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.dashboard.what_if import panel
from drainsim.dashboard.what_if.controls import CONTROLS, EITHER
from drainsim.errors import DrainsimError
from drainsim.language import MONTHS, marked, risk_words, say, spoken
from drainsim.sheets.storage.storage_pdf import storage_pdf
from drainsim.sheets.storage.storage_sheet import storage_html
from drainsim.sheets.storage.storage_words import (
    LONGEST_NAME,
    PAPERS,
    SheetOptions,
    answer_words,
    large_words,
)

_FORM: Final = "storage"
_RISKS: Final = (0.01, 0.02, 0.05, 0.10, 0.20)
_WHEN: Final = {
    "on_day": marked("the start on the last day"),
    "every_day": marked("the start on every day until then"),
    "any_time": marked("any hour until then"),
}
_LONGER: Final = marked("What would make it stand longer: {number}")
_PREVIEW_PX: Final = 1400  # on a phone higher, see looks.py
_ROW_PX: Final = 35


@st.cache_data(max_entries=60, ttl=KEPT, show_spinner=False)
def _storage(
    text: str,
    days: int,
    risk: float,
    when: str,
    without: tuple[str, ...],
    prices: tuple[tuple[str, float], ...],
) -> StorageAnswer:
    wanted = Preferences(without=without, prices=dict(prices))
    return storage(_question(text, days, risk, when), wanted, inverse=False)


@st.cache_data(max_entries=60, ttl=KEPT, show_spinner=False)
def _inverse(text: str, days: int, risk: float, when: str) -> tuple[Solved, ...]:
    return all_inverse(_question(text, days, risk, when))


def _question(text: str, days: int, risk: float, when: str) -> StandQuestion:
    scenario = read_again(text, "the scenario on this page")
    return StandQuestion(scenario=scenario, days=days, risk=risk, when=when)


def _take(key: str, name: str) -> None:
    session.choose(name, st.session_state[key])


def _ask() -> tuple[int, float, str]:
    """Draw the question: for how long, where, from when, and what risk is accepted."""
    values = session.shown()
    climates = CONTROLS["climate"].options()
    first, second, third = st.columns([1, 1.4, 1])
    with first:
        days = st.number_input(
            say("For how long? [days]"), 1, 730, **forms.bound(_FORM, "days", 21, low=1, high=730)
        )
    with second:
        if any(session.is_known(name) for name in EITHER["climate"]):
            place = said(place_words(case_of(session.scenario())))
            st.text_input(say("Where?"), place, disabled=True, help=say("Set under *Place* below."))
        else:
            st.session_state["storage_climate"] = values["climate"]
            st.selectbox(
                say("Where?"),
                options=list(climates),
                format_func=lambda key: say(str(climates.get(key, key))),
                key="storage_climate",
                on_change=_take,
                args=("storage_climate", "climate"),
            )
    with third:
        parked: dt.date = values["parked_from"]
        st.session_state["storage_from"] = parked
        st.date_input(
            say("From when?"),
            format=say("YYYY-MM-DD"),
            key="storage_from",
            on_change=_take,
            args=("storage_from", "parked_from"),
        )
    with st.expander(say("Risk limit, and what counts"), key="storage_limits"):
        risk = st.selectbox(
            say("Risk limit"),
            options=_RISKS,
            format_func=lambda share: f"{100 * share:.0f} %",
            **forms.bound(_FORM, "risk", DEFAULT_RISK, among=_RISKS),
        )
        when = st.radio(
            say("What counts"),
            options=list(_WHEN),
            format_func=lambda key: say(_WHEN[key]),
            horizontal=True,
            **forms.bound(_FORM, "when", "on_day", among=_WHEN),
        )
    return int(days), float(risk), str(when)


def _headline(answer: StorageAnswer) -> DeltaGenerator:
    """Draw the answer; return the place beside it for the sheet's buttons."""
    with st.container(key="answer", gap="xsmall"):
        st.header(large_words(answer, spoken()), anchor=False)
        st.markdown(f"**{plain(answer_words(answer, spoken()))}**")
    buttons = st.container(horizontal=True)
    longest = answer.longest
    first, second, third = st.columns(3)
    held = answer.holds
    with first, st.container(border=True, height="stretch", gap="xxsmall", key="card_risk"):
        st.markdown(say("Risk after {days} days", days=answer.question.days))
        st.header(glued(risk_words(held.risk)), anchor=False)
        st.caption(
            glued(
                say(
                    "± {percent:.1f} % from the number of cases",
                    percent=100 * held.risk_error,
                )
            )
        )
    with second, st.container(border=True, height="stretch", gap="xxsmall", key="card_days"):
        st.markdown(
            glued(say("The risk stays within {risk:.0f} % for", risk=100 * answer.question.risk))
        )
        st.header(said(longest.in_words), anchor=False)
        if longest.recharge_by is not None:
            st.caption(say("So recharge by {date}", date=short_date(longest.recharge_by)))
    with third, st.container(border=True, height="stretch", gap="xxsmall", key="card_first"):
        st.markdown(say("First no-start at any hour, 8 in 10 cases"))
        failing = range_words(longest.days_to_no_start, longest.horizon_days)
        st.header(said(failing), anchor=False)
    safety.warnings(answer.warnings)
    if answer.small_panel is not None and answer.verdict != YES:
        st.markdown(plain(say("Solar: {in_words}.", in_words=answer.small_panel.in_words)))
    return buttons


def _ways(answer: StorageAnswer) -> None:
    """Draw the ways that hold, by effort; what else gains days behind a line.

    A stand that holds as it is needs none: all stand behind the line.
    """
    found = answer.remedies
    holds = answer.verdict == YES
    others = [way for way in found.ways if way.days_gained and way.holds == holds]
    if not holds:
        st.subheader(
            say("What helps, by your prices, then by effort")
            if preferences.chosen().prices
            else say("What helps, least effort first"),
            anchor=False,
        )
        holding = [way for way in found.ways if way.holds]
        st.markdown(_listed(holding, found.horizon_days) or say(NONE_IS_ENOUGH))
    if others:
        line = _LONGER if holds else NOT_ALONE
        with st.expander(say(line, number=len(others))):
            st.markdown(_listed(others, found.horizon_days))


def _listed(ways: Sequence[Remedy], horizon: int) -> str:
    """Return ways as a list: what to do, how long it then stands, what it takes."""
    lines = []
    for way in ways:
        label = say(" and ").join(map(said, way.labels))
        if way.price is not None:
            label += say(" (price {price:g})", price=way.price)
        lines.append(f"- **{plain(label)}**: {plain(said(outcome_words(way, horizon)))}")
    return "\n".join(lines)


def _percent(risk: float | None) -> str:
    return "" if risk is None else say("{percent:.1f} %", percent=100 * risk)


def _inverse_table(solved: tuple[Solved, ...]) -> pd.DataFrame:
    """Return the inverse answers as a table of words."""
    return pd.DataFrame(
        {
            say("what alone would have to change"): say(one.label),
            say("new value"): say(one.in_words),
            say("risk then"): _percent(one.risk if one.holds else None),
            say("risk at the next value"): _percent(one.risk_beyond),
        }
        for one in solved
    )


@st.cache_data(max_entries=20, ttl=KEPT, show_spinner=False)
def _months(text: str, days: int, risk: float, when: str) -> tuple[MonthPanel, ...]:
    return panel_by_month(_question(text, days, risk, when))


def _sun(text: str, days: int, risk: float, when: str) -> None:
    """Draw the panel month by month, on request: it takes a hundred runs."""
    if not st.toggle(
        say("Solar panel for the same stand begun in each month"),
        **forms.bound(_FORM, "sun", usual=False),
    ):
        return
    with st.spinner(say("Running every month ...")):
        months = _months(text, days, risk, when)
    table = pd.DataFrame(
        {
            say("begun in"): say(MONTHS[one.month - 1]),
            say("sun hours a day"): say("{hours:.2f}", hours=one.sun_h),
            say("panel that replaces the draw"): say("no sun")
            if one.sun_h == 0.0
            else f"{one.replacing_w:.0f} W",
            say("panel that is enough"): said(one.needed.in_words) if one.needed else "",
        }
        for one in months
    )
    st.dataframe(table, hide_index=True, key="sun", height=_ROW_PX * 13 + 3)


def _sheet(answer: StorageAnswer, buttons: DeltaGenerator) -> None:
    """Draw the sheet's settings, its preview and its downloads."""
    st.subheader(say("The customer's sheet"), anchor=False)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        sheet = sheet_language.ask(_FORM)
        paper = st.selectbox(
            say("Paper"),
            PAPERS,
            **forms.bound(_FORM, "paper", "A4", among=PAPERS, key="sheet_paper"),
        )
    st.caption(say("The page has no script and fetches nothing; print it from any browser."))
    company = st.text_input(
        say("Company"),
        max_chars=LONGEST_NAME,
        **forms.bound(_FORM, "company", "", key="sheet_company"),
    )
    contact = st.text_input(
        say("Contact"),
        max_chars=LONGEST_NAME,
        **forms.bound(_FORM, "contact", "", key="sheet_contact"),
    )
    try:
        options = SheetOptions(
            language=sheet.code,
            paper=str(paper),
            temperature_unit=sheet.temperature_unit,
            company=company,
            contact=contact,
        )
        page = storage_html(answer, options)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return
    with buttons:
        try:
            st.download_button(
                say("Sheet (PDF)"),
                storage_pdf(answer, options),
                file_name="storage.pdf",
                mime="application/pdf",
                key="save_sheet_pdf",
                type="primary",
                on_click="ignore",
            )
        except DrainsimError as error:
            st.caption(plain(str(error)))
        st.download_button(
            say("Sheet (HTML)"),
            page,
            file_name="storage.html",
            mime="text/html",
            key="save_sheet_html",
            on_click="ignore",
        )
    # Every text in the page is escaped, and its own policy lets no script run.
    st.iframe(page, height=_PREVIEW_PX, alt=say("Preview of the customer's sheet"))
    question = answer.question
    quote_view.draw(question.days, question.risk, question.when, options, preferences.chosen())


def _answer(days: int, risk: float, when: str) -> tuple[StorageAnswer, DeltaGenerator]:
    """Draw the answer in words and figures."""
    text = session.scenario().to_toml()
    wanted = preferences.chosen()
    with st.spinner(say("Trying the usual ways ...")):
        answer = _storage(
            text, days, risk, when, wanted.without, tuple(sorted(wanted.prices.items()))
        )
    return answer, _headline(answer)


def _details(
    answer: StorageAnswer, buttons: DeltaGenerator, days: int, risk: float, when: str
) -> None:
    """Draw what would help, what takes longer, and the sheet."""
    text = session.scenario().to_toml()
    _ways(answer)
    st.caption(
        say(
            "Each is judged by its worst day until then. Efforts run from 1, a flick, to 5, a "
            "purchase "
            "with work; they are an opinion."
        )
    )
    preferences.ask()
    safety.cautions()
    later = st.container()
    _sheet(answer, buttons)  # before what takes long: its buttons stand beside the answer
    with later:
        st.subheader(say("What one value alone would have to be"), anchor=False)
        with st.spinner(say("Solving ...")):
            solved = _inverse(text, days, risk, when)
        draw_table(_inverse_table(solved), named_by=say("what alone would have to change"))
        _sun(text, days, risk, when)


def _page() -> None:
    st.header(say("May it be left standing?"), anchor=False)
    for sentence in session.sentences():
        st.error(plain(sentence))
    answered = None
    with st.container():
        days, risk, when = _ask()
        try:
            answered = _answer(days, risk, when)
        except DrainsimError as error:
            st.error(plain(str(error)))
    left, right = st.columns([2.1, 1], gap="medium")
    with left, st.container():
        if answered is not None:
            try:
                _details(*answered, days, risk, when)
            except DrainsimError as error:
                st.error(plain(str(error)))
    with right, st.container(border=True, key="panel"):
        panel.draw_heading()
        panel.draw_controls(session.shown())
        panel.draw_compare_buttons()
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
