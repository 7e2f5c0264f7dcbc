"""The dashboard's entry point: page set-up and navigation, nothing else."""

import streamlit as st

from drainsim.dashboard import address, looks, menu

if __name__ == "__main__":  # worker processes of a large fleet import this file too
    st.set_page_config(
        page_title="How long can it stand?", page_icon=menu.TAB_PICTURE, layout="wide"
    )
    page = st.navigation(menu.pages(), position="hidden")
    looks.apply()
    menu.follow(page.url_path)
    address.follow(page.url_path)
    menu.draw(page.url_path)
    page.run()
