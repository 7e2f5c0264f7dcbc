"""The pages in their order: a new page is one file and one line here."""

from pathlib import Path
from typing import Final

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from drainsim.dashboard import forms

# By user: file, title, address. No icon: the browser would fetch it from outside as the tab's
# picture. The first page's address is the bare one.
_PAGES: Final = {
    "One vehicle": (
        ("standing_page.py", "How long can it stand?", "standing"),
        ("week_page.py", "Does driving keep it charged?", "driving"),
        ("ageing_page.py", "Will it last another winter?", "ageing"),
    ),
    "Fleet": (
        ("fleet_page.py", "The fleet", "fleet"),
        ("readings_page.py", "Readings this morning", "readings"),
    ),
    "Sales": (
        ("storage_page.py", "May it be left standing?", "storage"),
        ("catalogue_page.py", "Catalogue", "catalogue"),
    ),
    "Installer": (
        ("circuits_page.py", "Which circuit?", "circuits"),
        ("current_log_page.py", "Current log", "current-log"),
        ("acceptance_page.py", "Job done?", "job"),
    ),
    "Trust": (("evidence_page.py", "How far to trust it", "trust"),),
}
# A battery seen from the side, half full: drawn here, so that nothing is fetched.
TAB_PICTURE: Final = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">'
    '<rect x="3" y="9" width="26" height="18" rx="3" fill="#0b6a9c"/>'
    '<rect x="7" y="5" width="5" height="5" fill="#0b6a9c"/>'
    '<rect x="20" y="5" width="5" height="5" fill="#0b6a9c"/>'
    '<rect x="6" y="12" width="20" height="6" fill="#ffffff"/></svg>'
)


def pages() -> dict[str, list[StreamlitPage]]:
    """Return every page by section; the first is the one an address without a path opens."""
    forms.remember()
    folder = Path(__file__).resolve().parent / "pages"
    return {
        section: [st.Page(folder / file, title=title, url_path=url) for file, title, url in those]
        for section, those in _PAGES.items()
    }
