"""Page: how long can it stand?"""

import datetime as dt
from typing import Final

import streamlit as st

from drainsim.answers.standing.first_words import act_words, case_words
from drainsim.answers.standing.park import ParkAnswer
from drainsim.dashboard import doors, forms, menu, session
from drainsim.dashboard.cached import answer_to
from drainsim.dashboard.parts import answer_view, safety
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.dashboard.what_if import panel
from drainsim.dashboard.what_if.what_if import (
    ADDRESSED,
    also_changed,
    changes_in_words,
    example,
    own_vehicle,
    shown_values,
)
from drainsim.errors import DrainsimError
from drainsim.language import say

_FORM: Final = "plan"
_NEED: Final = "need_on"


def _answers() -> tuple[ParkAnswer, ParkAnswer | None] | None:
    """Return the answer and, if it is compared, that before; None after an error."""
    try:
        before = session.compared() and session.choices()
        return answer_to(session.scenario()), answer_to(session.baseline()) if before else None
    except DrainsimError as error:
        st.error(plain(str(error)))
        return None


def _introduce(answer: ParkAnswer | None) -> None:
    """Name the case from its values, whoever it came from."""
    with st.container(key="question", gap="xxsmall"):
        st.header(say("How long can it stand?"), anchor=False)
        if answer is not None:
            st.markdown(f"{_origin()}{plain(case_words(answer.case))}.")
    for sentence in session.sentences():
        st.error(plain(sentence))


def _origin() -> str:
    before, choices = session.baseline(), session.choices()
    if session.is_example():
        return f"**{say('Invented example:')}** "
    if before.tables == own_vehicle().tables:
        return "" if choices else f"**{say('Nothing said yet, all of it assumed:')}** "
    if before.where in {ADDRESSED, example().where}:
        return ""
    changed = f", {say('changed')}" if choices else ""
    return f"**{plain(before.where)}{changed}:** "


def _verdict(answer: ParkAnswer, before: ParkAnswer | None) -> None:
    """Repeat what to do by when over the controls, where the thumb is, and what was changed."""
    with st.container(key="verdict" if before else "verdict_alone", gap="xxsmall"):
        if before is None:
            st.markdown(f"**{said(act_words(answer))}**")
            return
        horizon = answer.case.horizon_days
        change = answer_view.against(before.days_at_risk, answer.days_at_risk, horizon)
        st.markdown(f"**{said(act_words(answer))}**: {change}")
    base, scenario = session.baseline(), session.scenario()
    phrases = changes_in_words(
        shown_values(before.case, base), shown_values(answer.case, scenario), session.choices()
    )
    phrases += also_changed(base, session.choices())
    st.caption(plain("; ".join(phrases)))


def _need_on() -> dt.date | None:
    """Return the day the vehicle is needed, where one was given."""
    day: dt.date | None = forms.kept(_FORM, _NEED, forms.NO_DATE)
    return day


def ask_need() -> None:
    """Draw the day the vehicle is needed again."""
    st.date_input(
        say("Needed again on"),
        value=None,
        format=say("YYYY-MM-DD"),
        **forms.bound(_FORM, _NEED, forms.NO_DATE, key=_NEED),
    )


def _files() -> None:
    st.file_uploader(
        say("Load a case (TOML)"),
        type=["toml"],
        key=session.UPLOAD,
        on_change=session.load_upload,
        max_upload_size=1,
    )
    st.button(say("Start over with the example"), key="start_over", on_click=session.start_over)
    st.caption(say("The address in the browser holds this case: copy it to share."))


def _page() -> None:
    # One container per part, always: a part that grows must not shift the ones after it, or the
    # browser would build them anew and forget the open tab and the focus. `looks` puts the second
    # column beside the other two; on a phone they follow each other.
    # The answer and its chart are drawn first, what takes longer last.
    need_on = _need_on()
    with st.container(key="standing"):
        first, second, third = st.columns(3)
    with first:
        introduced, told = st.container(), st.container()
        if session.is_example():  # below the answer: it is what a phone shows first
            st.button(
                say("Your own vehicle: four questions"),
                key="ask_own",
                type="primary",
                on_click=menu.go,
                args=(doors.QUESTIONS,),
            )
    with third:
        charted, detailed = st.container(), st.container()
    with told:
        answers = _answers()
        if answers:
            helps_place = answer_view.headline(answers[0], need_on)
    with introduced:
        _introduce(answers[0] if answers else None)
    with charted:
        if answers:
            answer_view.chart(*answers, need_on)
    with second, st.container(border=True, key="panel"):
        panel.draw_heading()
        with st.container(key="verdict_place"):
            if answers:
                _verdict(*answers)
        panel.draw_controls(session.shown())
        ask_need()
        panel.draw_compare_buttons()
    with detailed:
        if answers:
            answer_view.details(*answers, session.scenario())
    with third:
        _files()
        safety.defers()
    if answers:
        answer_view.helps(helps_place, answers[0], session.scenario())


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
