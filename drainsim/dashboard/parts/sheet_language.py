"""The language of a page that is handed out, chosen where it is downloaded."""

import streamlit as st

from drainsim.dashboard import forms
from drainsim.language import LANGUAGES, TEMPERATURE_UNITS, Language, language, say, spoken


def ask(form: str) -> Language:
    """Draw the choice of language and of the unit of temperatures; return the language.

    Parameters
    ----------
    form : str
        The page that keeps what was chosen.
    """
    code = st.selectbox(
        say("Language"),
        options=list(LANGUAGES),
        format_func=lambda code: LANGUAGES[code],
        **forms.bound(form, "language", spoken().code, among=LANGUAGES, key="sheet_language"),
    )
    unit = st.selectbox(
        say("Temperatures"),
        options=list(TEMPERATURE_UNITS),
        format_func=lambda code: f"°{code}",
        **forms.bound(
            form,
            "degrees",
            spoken().temperature_unit,
            among=TEMPERATURE_UNITS,
            key="sheet_temperature",
        ),
    )
    return language(str(code), temperature_unit=str(unit))
