"""A table of words on a page."""

import pandas as pd
import streamlit as st

from drainsim.dashboard.parts.plain_text import glued


def draw_table(frame: pd.DataFrame, *, named_by: str) -> None:
    """Draw a table of our own words, its rows named by a column; no number leaves its unit."""
    st.table(frame.map(glued).set_index(named_by))
