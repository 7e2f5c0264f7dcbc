"""The looks all pages share: static rules, never with data in them."""

from typing import Final

import streamlit as st

# The page begins below the bar with the pages' names. Captions in the theme's own grey reach
# 3.9:1 on white and file limits less; readable text needs 4.5:1 (WCAG 2.x, 1.4.3, from memory).
# Headings: a page's title and the figures of its answer are h2, sections h3; a figure's card is a
# column. The closed menu of a phone takes no focus where nobody sees it. A wide table on a phone
# scrolls in its own frame instead of standing letters on edge.
_RULES: Final = """<style>
 .stMainBlockContainer { padding-top: 4.75rem; padding-bottom: 3rem; }
 .stMainBlockContainer h2 { padding-top: 0; }
 .stMainBlockContainer .stColumn h2 { padding: 0.1rem 0 0.6rem; font-weight: 700; }
 [data-testid="stCaptionContainer"] { color: inherit; opacity: 0.8; }
 .stMultiSelect [data-tag] {
   color: inherit; background: color-mix(in srgb, currentColor 12%, transparent);
 }
 [data-testid="stSidebar"][data-collapsed="true"] { visibility: hidden; }
 @media (max-width: 640px) {
   [data-testid="stTable"] tr:has(> :nth-child(6)) > * { min-width: 4.75rem; }
   [data-testid="stTable"] tr:has(> :nth-child(6)) > :is(:first-child, :last-child) {
     min-width: 10rem;
   }
 }
</style>"""


def apply() -> None:
    """Put the rules on the page; before anything else is drawn."""
    st.html(_RULES)
