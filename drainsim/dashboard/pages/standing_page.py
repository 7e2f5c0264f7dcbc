"""Page: how long can it stand?"""

import streamlit as st

from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.words import days_words, range_words
from drainsim.dashboard import answer_view, safety, session
from drainsim.dashboard.cached import answer_to
from drainsim.dashboard.plain_text import plain
from drainsim.dashboard.what_if import panel
from drainsim.dashboard.what_if.what_if import also_changed, changes_in_words, example, shown_values
from drainsim.errors import DrainsimError
from drainsim.vehicle.case import resolve

# Static rules only, never with data in them. The panel stays in sight beside the charts; on a
# narrow screen it stands above them.
_RULES = """<style>
 .st-key-mind p { font-size: 0.875rem; }
@media (min-width: 641px) {
  .stColumn:has(.st-key-panel) {
    position: sticky; top: 4rem; align-self: flex-start;
    max-height: calc(100vh - 5rem); overflow-y: auto;
  }
}
</style>"""


def _answers() -> tuple[ParkAnswer, ParkAnswer | None] | None:
    """Return the answer and, if anything was changed, the baseline's; None after an error."""
    try:
        before = answer_to(session.baseline())
        if not session.choices():
            return before, None
        return answer_to(session.scenario()), before
    except DrainsimError as error:
        st.error(plain(str(error)))
        return None


def _introduce() -> None:
    is_example = session.baseline().tables == example().tables
    st.header("How long can it stand?", anchor=False)
    if is_example:
        st.caption(
            "Invented example: compact car, 2.0 l petrol, 60 Ah flooded calcium battery, hourly "
            "reports, parked on the coming 1 December in a temperate climate. Put your own values "
            "under *What if*; it stays as a dashed baseline. More questions are in the menu at the "
            "top: a fleet, driving, storage, installing."
        )
    else:
        st.caption(plain(f"Baseline: {session.baseline().where}."))
    for sentence in session.sentences():
        st.error(plain(sentence))


def _standing(answer: ParkAnswer, baseline: ParkAnswer | None) -> None:
    """Repeat the answer at the head of the panel, where it stays in sight."""
    horizon = answer.case.horizon_days
    days = answer.days_to_no_start
    st.markdown(
        f"**{days_words(days.p50, horizon)}** (8 in 10 cases: {range_words(days, horizon)})"
    )
    if baseline is None:
        st.caption("This is the baseline. Change a value to see what it does.")
        return
    before, scenario = session.baseline(), session.scenario()
    phrases = changes_in_words(
        shown_values(resolve(before), before),
        shown_values(resolve(scenario), scenario),
        session.choices(),
    )
    phrases += also_changed(before, session.choices())
    st.markdown(answer_view.against(baseline.days_to_no_start.p50, days.p50, horizon))
    st.caption(plain("; ".join(phrases)))


def _files() -> None:
    st.file_uploader(
        "Load a scenario file (TOML)",
        type=["toml"],
        key=session.UPLOAD,
        on_change=session.load_upload,
        max_upload_size=1,
    )
    st.button("Start over with the example", key="start_over", on_click=session.start_over)
    st.caption("The address in the browser holds this state: copy it to share.")


def _page() -> None:
    # One container per part, always: a part that grows must not shift the ones after it, or the
    # browser would build them anew and forget the open tab and the focus.
    st.html(_RULES)
    with st.container():
        _introduce()
        answers = _answers()
    with st.container():
        if answers:
            answer_view.headline(*answers)
    left, right = st.columns([1, 2.1], gap="medium")
    with left, st.container(border=True, key="panel"):
        st.subheader("What if ...", anchor=False)
        with st.container():
            if answers:
                _standing(*answers)
        panel.draw_controls(session.shown())
        panel.draw_baseline_buttons()
    with right, st.container():
        if answers:
            answer_view.charts(*answers)
            answer_view.details(*answers)
    with st.container():
        if answers:
            answer_view.assumptions(answers[0].case)
    st.subheader("Load, save and share", anchor=False)
    with st.container():
        if answers:
            answer_view.downloads(answers[0], session.scenario())
    _files()
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
