"""Page: which parked vehicles will not start, and by when must someone act?"""

import dataclasses

import streamlit as st

from drainsim.dashboard import forms
from drainsim.dashboard.fleet import fleet_change, fleet_input, fleet_plan, fleet_table, fleet_view
from drainsim.dashboard.fleet.fleet_answers import ASK_FIRST, Answered, Question, answered, known
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.errors import DrainsimError
from drainsim.language import say
from drainsim.vehicle.documents.fleet_rows import Fleet


def _answer(question: Question, fleet: Fleet, button: str) -> Answered | None:
    """Return the answer; a long list is answered at the press of a button."""
    found = known(question)
    if found is not None:
        return found
    many = len(fleet.vehicles)
    if many > ASK_FIRST:
        st.info(say("{many} vehicles are read. Working out the answer takes a while.", many=many))
        if not st.button(say("Answer {many} vehicles", many=many), key=button, type="primary"):
            return None
    bar = st.progress(0.0)
    try:
        return answered(question, fleet, lambda done, words: bar.progress(done, said(words)))
    except DrainsimError as error:
        st.error(plain(str(error)))
        return None
    finally:
        bar.empty()


def _introduce(*, example: bool, name: str) -> None:
    if example:
        st.caption(
            say(
                "Invented example: about 120 vehicles in four depots, with gaps and mistakes as "
                "real "
                "lists have. Load your own list above; it stays on this machine."
            )
        )
    else:
        shown = say(name) if name == fleet_input.TYPED else name
        st.caption(plain(say("List: {name}.", name=shown)))


def _page() -> None:
    st.header(say("Which vehicles will not start, and by when must someone act?"), anchor=False)
    content, name, example = fleet_input.source()
    _introduce(example=example, name=name)
    complaint = st.container()
    for sentence in forms.sentences("fleet"):
        complaint.error(plain(sentence))
    shown = st.empty()  # the answer stands here alone: emptied, nothing old is left
    with st.container():  # below the answer, although the settings go into it
        question = fleet_input.settings(content, name, example=example)
        read = fleet_input.fleet_of(content, question, complaint)
        if read is not None:
            read = fleet_input.done(*read, complaint)
    if read is None:
        shown.empty()
        return
    question, fleet = read
    if known(question) is None:
        shown.empty()  # no figure of another list while this one is worked out
        with complaint:
            found = _answer(question, fleet, "fleet_answer")
    else:
        found = known(question)
    if found is not None:
        with shown.container():
            _show(question, found)
    safety.defers()


def _show(question: Question, found: Answered) -> None:
    answer = found.answer
    fleet_view.headline(answer, found.fleet)
    picked = fleet_table.table(answer, found.actions)
    safety.cautions()
    if picked is None and answer.vehicles:
        picked = answer.vehicles[0]
    if picked is not None:
        st.subheader(say("One vehicle"), anchor=False)
        fleet_view.vehicle_details(picked, found.actions.get(picked.id), answer)
    st.subheader(say("Save"), anchor=False)
    fleet_view.downloads(found)
    fleet_plan.draw(answer, found.actions)
    st.subheader(say("The fleet over time"), anchor=False)
    fleet_view.expected(answer)
    changed = None
    with st.container(border=True, key="fleet_what_if"):
        changes = fleet_change.choose()
        if changes:
            other = dataclasses.replace(question, changes=tuple(sorted(changes.items())))
            after = _answer(other, found.fleet, "fleet_answer_change")
            changed = after.answer if after else None
            if changed:
                fleet_change.told(answer, changed)
    fleet_view.chart(answer, changed)
    fleet_view.groups(answer)
    fleet_view.to_correct(found)
    fleet_view.understood(found)
    st.caption(
        say(
            "Assumed where the list is silent: a unit with hourly reports, a temperate climate, "
            "parked today, and drainsim's defaults for the rest. {draws} possible cases per "
            "vehicle; vehicles of one depot share its weather.",
            draws=answer.settings.draws,
        )
    )


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
