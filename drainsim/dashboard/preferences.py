"""A user's prices of ways and what is out of the question, on the sales page."""

from typing import Final

import streamlit as st

from drainsim.answers.advice import ADVICE
from drainsim.answers.storage.remedies import Preferences
from drainsim.dashboard import forms
from drainsim.dashboard.parts.answer_tables import said_words
from drainsim.language import say

_FORM: Final = "storage"
_HIGHEST: Final = 1e6


def chosen() -> Preferences:
    """Return what is out of the question, and the prices given."""
    prices = {
        way: forms.kept(_FORM, f"price_{way}", None, low=0.0, high=_HIGHEST) for way in ADVICE
    }
    return Preferences(
        without=tuple(forms.kept(_FORM, "without", [], among=ADVICE)),
        prices={way: float(price) for way, price in prices.items() if price is not None},
    )


def ask() -> None:
    """Draw what is out of the question, and the user's prices."""
    st.multiselect(
        say("Out of the question"),
        options=list(ADVICE),
        format_func=said_words,
        placeholder=say("nothing"),
        **forms.bound(_FORM, "without", [], among=ADVICE),
    )
    with st.expander(say("Your prices of ways, in your currency"), key="storage_prices"):
        for way in ADVICE:
            st.number_input(
                said_words(way),
                0.0,
                _HIGHEST,
                None,
                10.0,
                format="%g",
                **forms.bound(_FORM, f"price_{way}", None, low=0.0, high=_HIGHEST),
            )
