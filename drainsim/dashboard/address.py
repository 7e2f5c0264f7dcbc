"""The address of a page holds its whole question: written at every step, read after Back.

A step (a value, a choice, another page) puts one entry into the browser's history. Back and Forward
bring an older address while the session goes on: it is read as on a first visit. An address that
cannot be used as it stands is not corrected under the visitor: Back would lead to it for ever.
"""

from typing import Final

import streamlit as st

from drainsim.dashboard import doors, forms, session, tongue, visit
from drainsim.dashboard.parts import slider_box

DOOR: Final = "door"
_PAGE: Final = "kept_address_page"
_ASKED: Final = "kept_address_asked"  # what the browser shows
_MEANT: Final = "kept_address_meant"  # what the page meant then
_LINKS: Final = "kept_address_links"  # drawn last, and before that

Query = dict[str, str]


def follow(page: str) -> None:
    """Bring state and address together; before anything of the page is drawn.

    A changed state is written. An unchanged one follows an address that is not the one it wrote.
    """
    state = st.session_state
    asked = {name: str(value) for name, value in st.query_params.items()}
    before = state.get(_PAGE)
    stayed = forms.stayed()
    if before != page:
        slider_box.begin_page()
    if before is None:
        _remember()
        _read(page, asked)
    elif query(before) != state[_MEANT] or _is_stale(page, asked):
        _write(page, asked)
    elif (before == page and asked != state[_ASKED] and not stayed) or (
        before != page and _of(page, asked) != query(page)
    ):
        _read(page, asked)
    if not (stayed and before == page):
        state[_ASKED] = asked
    if page == doors.QUESTIONS:
        session.ask_own()
    state[_PAGE], state[_MEANT] = page, query(page)
    _keep()


def query(page: str) -> Query:
    """Return the query that opens a page as it stands."""
    found = session.query() | tongue.query()
    for form in doors.forms_of(page):
        text = forms.text(form)
        if text and forms.fits(form):
            found[form] = text
    if doors.here() != doors.usual_door(page):
        found[DOOR] = doors.here()
    return found


def link(page: str, door: str) -> Query:
    """Return the query of a link to a page behind a door, and remember that it was drawn.

    The vehicle is the one the door remembers.
    """
    found = query(page)
    found.pop(DOOR, None)
    if door != doors.here():
        forms_of = {form: found[form] for form in doors.forms_of(page) if form in found}
        found = {**session.query(doors.vehicle_of(door)), **forms_of, **tongue.query()}
    if door != doors.usual_door(page):
        found[DOOR] = door
    st.session_state[_LINKS][0][page, door] = found
    return found


def begin_links() -> None:
    """Say that the links are drawn anew; those before may still be what a visitor presses."""
    last = st.session_state.get(_LINKS, ({}, {}))[0]
    st.session_state[_LINKS] = {}, last


def _is_stale(page: str, asked: Query) -> bool:
    """Say whether a link was pressed that was drawn before the last value arrived."""
    before = st.session_state.get(_LINKS, ({}, {}))[1]
    door = asked.get(DOOR, doors.usual_door(page))
    own = page != st.session_state[_PAGE] and asked == before.get((page, door))
    return own and door == doors.here() and asked != query(page)


def _write(page: str, asked: Query) -> None:
    if asked.get(DOOR) is not None:
        doors.arrive(asked[DOOR], page)
    wanted = query(page)
    if _of(page, asked) != wanted:
        st.query_params.from_dict(wanted)
        asked.clear()
        asked.update(wanted)


def _read(page: str, asked: Query) -> None:
    said = dict(asked)
    first = _PAGE not in st.session_state
    if not first:
        doors.keep()
    doors.arrive(said.pop(DOOR, ""), page)
    tongue.read(said, first=first)
    for form in doors.FORMS:
        text = said.pop(form, "")
        if text or form in doors.forms_of(page):
            forms.read(form, text)
    if first or said != session.query():
        session.read(said)


def _of(page: str, asked: Query) -> Query:
    """Return a query without the entries of other pages."""
    others = set(doors.FORMS) - set(doors.forms_of(page))
    return {name: value for name, value in asked.items() if name not in others}


def _remember() -> None:
    """Take what the other pages held before a reload."""
    for form, text in visit.memory().get("forms", {}).items():
        forms.read(form, text)


def _keep() -> None:
    """Keep for a reload what is not in the address of this page."""
    visit.memory()["forms"] = {form: forms.text(form) for form in doors.FORMS}
    doors.keep()
