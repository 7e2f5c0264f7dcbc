"""The dashboard's entry point: page set-up and navigation, nothing else."""

import streamlit as st

from drainsim.dashboard import looks, session
from drainsim.dashboard.menu import TAB_PICTURE, pages

if __name__ == "__main__":  # worker processes of a large fleet import this file too
    st.set_page_config(page_title="How long can it stand?", page_icon=TAB_PICTURE, layout="wide")
    page = st.navigation(pages(), position="top")
    looks.apply()
    session.start()
    page.run()
