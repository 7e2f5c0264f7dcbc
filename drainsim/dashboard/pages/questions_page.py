"""Page: four questions for someone who knows nothing of batteries, leading to the answer."""

from typing import Final

import streamlit as st

from drainsim.answers.standing.first_words import act_words, half_words
from drainsim.dashboard import forms, menu, session
from drainsim.dashboard.cached import answer_to
from drainsim.dashboard.pages.standing_page import ask_need
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.dashboard.what_if import panel
from drainsim.errors import DrainsimError
from drainsim.language import marked, say

# Question, what may help to answer it, and the values asked for.
_QUESTIONS: Final = (
    (
        marked("1. What is printed on the battery?"),
        marked("The label on its top or side: the type, the Ah, the A."),
        ("profile", "capacity_ah", "cold_cranking_a", "cranking_standard"),
    ),
    (
        marked("2. How old is it?"),
        marked("Often stamped on the case. If you have a meter: volts after a night at rest."),
        ("age_years", "resting_v"),
    ),
    (
        marked("3. What vehicle is it in?"),
        marked("If it was measured: the current it draws with everything asleep."),
        ("vehicle", "quiescent_ma"),
    ),
    (marked("4. Where does it stand, and how long?"), "", ("parked_from",)),
)


def _verdict() -> None:
    """Draw the answer so far, and the way to all of it."""
    with st.container(key="answer", gap="xsmall"):
        try:
            answer = answer_to(session.scenario())
        except DrainsimError as error:
            st.error(plain(str(error)))
        else:
            st.header(said(act_words(answer)), anchor=False)
            st.markdown(f"{said(half_words(answer))}.")
        st.button(
            say("Show the whole answer"),
            key="show_answer",
            on_click=menu.go,
            args=("",),
            type="primary",
        )


def _page() -> None:
    with st.container(key="question"):
        st.header(say("Your vehicle, in four questions"), anchor=False)
    st.markdown(say("Leave empty what you do not know: the usual is assumed, and the range grows."))
    for sentence in (*session.sentences(), *forms.sentences("plan")):
        st.error(plain(sentence))
    values = session.shown()
    for row in (_QUESTIONS[:2], _QUESTIONS[2:]):
        for column, (question, hint, names) in zip(st.columns(2), row, strict=True):
            with column, st.container(border=True, height="stretch", key=f"ask_{question[0]}"):
                st.subheader(say(question), anchor=False)
                if hint:
                    st.caption(say(hint))
                if "parked_from" in names:
                    panel.ask_where(values)
                panel.ask(names, values)
                if "parked_from" in names:
                    ask_need()
    with st.container():
        _verdict()
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
