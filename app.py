"""The dashboard's entry point: page set-up and navigation, nothing else."""

import streamlit as st

from drainsim.dashboard import address, menu, tongue
from drainsim.dashboard.parts import looks
from drainsim.language import say

if __name__ == "__main__":  # worker processes of a large fleet import this file too
    tongue.speak()
    st.set_page_config(
        page_title=say("How long can it stand?"), page_icon=menu.TAB_PICTURE, layout="wide"
    )
    page = st.navigation(menu.pages(), position="hidden")
    menu.follow(page.url_path)
    address.follow(page.url_path)
    tongue.speak()  # the address may have brought another
    looks.apply()
    menu.draw(page.url_path)
    page.run()
    tongue.draw()
