"""The looks all pages share: static rules, never with data in them."""

from typing import Final

import streamlit as st

# The page begins below the bar with the pages' names. Captions in the theme's own grey reach
# 3.9:1 on white and file limits less; readable text needs 4.5:1 (WCAG 2.x, 1.4.3, from memory).
_RULES: Final = """<style>
 .stMainBlockContainer { padding-top: 4.75rem; padding-bottom: 3rem; }
 .stMainBlockContainer h1 { padding: 0.1rem 0 0.6rem; font-size: 2.25rem; line-height: 1.2; }
 .stMainBlockContainer h2 { padding-top: 0; }
 [data-testid="stCaptionContainer"] { color: inherit; opacity: 0.8; }
 .stMultiSelect [data-tag] {
   color: inherit; background: color-mix(in srgb, currentColor 12%, transparent);
 }
</style>"""


def apply() -> None:
    """Put the rules on the page; before anything else is drawn."""
    st.html(_RULES)
