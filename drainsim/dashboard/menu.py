"""The way through the pages: three doors, and the pages behind the one the visitor came in by."""

from pathlib import Path
from typing import Final

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from drainsim.dashboard import address, doors
from drainsim.dashboard.doors import DOORS, FIRST_PAGE, PLACES
from drainsim.language import say

_FOLDER: Final = Path(__file__).resolve().parent / "pages"
_GO: Final = "kept_go"
# A battery seen from the side, half full: drawn here, so that nothing is fetched.
TAB_PICTURE: Final = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">'
    '<rect x="3" y="9" width="26" height="18" rx="3" fill="#0b6a9c"/>'
    '<rect x="7" y="5" width="5" height="5" fill="#0b6a9c"/>'
    '<rect x="20" y="5" width="5" height="5" fill="#0b6a9c"/>'
    '<rect x="6" y="12" width="20" height="6" fill="#ffffff"/></svg>'
)


def pages() -> list[StreamlitPage]:
    """Return every page; the first is the one an address without a path opens."""
    # No icon: the browser would fetch it from outside as the tab's picture.
    return [
        st.Page(_FOLDER / place.file, title=say(place.title), url_path=url, default=not url)
        for url, place in PLACES.items()
    ]


def go(page: str) -> None:
    """Open another page with the vehicle as it is, from the next run on; for on_click."""
    st.session_state[_GO] = page


def follow(here: str) -> None:
    """Open the page that was asked for, if one was; before anything is drawn.

    Entries of the page that is left stay in the address: Back leads to it as it was.
    """
    page = st.session_state.pop(_GO, None)
    if page is not None:
        query = address.query(here) | address.query(page)
        st.switch_page(_FOLDER / PLACES[page].file, query_params=query)


def draw(page: str) -> None:
    """Draw the doors, and the pages behind the one the visitor stands at."""
    here = doors.here()
    address.begin_links()
    with st.container(key="menu", gap=None):
        with st.container(horizontal=True, key="doors", gap="xsmall"):
            for door, name in DOORS.items():
                with st.container(
                    key=f"door_{door}{'_here' if door == here else ''}", width="content"
                ):
                    _link(FIRST_PAGE[door], door, name)
        with st.container(horizontal=True, key="pages", gap="xsmall"):
            for url, place in PLACES.items():
                if here in place.doors:
                    _link(url, here, place.title)


def _link(page: str, door: str, label: str) -> None:
    query = address.link(page, door)
    st.page_link(_FOLDER / PLACES[page].file, label=say(label), query_params=query, width="content")
