"""The pages in their order: a new page is one file and one line here."""

from pathlib import Path
from typing import Final

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from drainsim.dashboard import forms

# File and title. No icon: the browser would fetch it from outside as the tab's picture.
_PAGES: Final = (
    ("standing_page.py", "How long can it stand?"),
    ("fleet_page.py", "The fleet"),
    ("week_page.py", "Does driving keep it charged?"),
    ("storage_page.py", "May it be left standing?"),
    ("catalogue_page.py", "Catalogue"),
    ("circuits_page.py", "Which circuit?"),
    ("current_log_page.py", "Current log"),
    ("acceptance_page.py", "Job done?"),
    ("evidence_page.py", "How far to trust it"),
)
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
    forms.remember()
    folder = Path(__file__).resolve().parent
    return [st.Page(folder / file, title=title) for file, title in _PAGES]
