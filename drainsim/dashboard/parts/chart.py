"""A chart on a page: the visitor's colours, no tool bar, words for who cannot see it."""

from typing import Final

import plotly.graph_objects as go
import streamlit as st

from drainsim.figures.style import DARK, LIGHT, Palette

_CONFIG: Final = {"displayModeBar": False, "displaylogo": False, "doubleClick": False}


def palette() -> Palette:
    """Return the colours of the theme the visitor sees."""
    return DARK if st.context.theme.type == "dark" else LIGHT


def draw_chart(figure: go.Figure, *, key: str, alt: str) -> None:
    """Draw a figure; `alt` says in words what it shows."""
    st.plotly_chart(figure, key=key, config=_CONFIG, alt=alt)
