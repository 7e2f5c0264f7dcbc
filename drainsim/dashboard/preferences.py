"""A user's prices of ways and what is out of the question, on the sales page."""

from typing import Final

import streamlit as st

from drainsim.answers.advice import ADVICE
from drainsim.answers.storage.remedies import Preferences
from drainsim.dashboard import forms
from drainsim.dashboard.answer_tables import said_words
from drainsim.dashboard.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.files.reading import key_and_value
from drainsim.language import say

_FORM: Final = "storage"
_PRICES: Final = "charge_full=20; panel=80"


def chosen() -> tuple[Preferences, str]:
    """Return what is out of the question and the prices, and what is wrong with these."""
    without = tuple(forms.kept(_FORM, "without", [], among=ADVICE))
    prices = {}
    try:
        for word in filter(None, map(str.strip, forms.kept(_FORM, "prices", "").split(";"))):
            way, price = key_and_value(word, where=say("price"), form=_PRICES, error=DrainsimError)
            try:
                prices[way] = float(price.replace(",", "."))
            except ValueError:
                return Preferences(without=without), f"{say('price')} {word[:60]}: {_PRICES}"
        return Preferences(without=without, prices=prices), ""
    except DrainsimError as error:
        return Preferences(without=without), str(error)


def ask() -> None:
    """Draw what is out of the question, and the user's prices."""
    st.multiselect(
        say("Out of the question"),
        options=list(ADVICE),
        format_func=said_words,
        **forms.bound(_FORM, "without", [], among=ADVICE),
    )
    st.text_input(
        say("Your prices of ways, in your currency"),
        placeholder=_PRICES,
        help=plain("; ".join(f"{key}: {said_words(key)}" for key in ADVICE)),
        max_chars=400,
        **forms.bound(_FORM, "prices", ""),
    )
    wrong = chosen()[1]
    if wrong:
        st.error(plain(wrong))
