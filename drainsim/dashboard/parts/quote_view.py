"""The fleet page's list on the sales page: one sheet for each of its vehicles, with a cover."""

import io
import zipfile
from typing import Final

import streamlit as st

from drainsim.answers.storage.answer import NO, YES, YES_IF
from drainsim.answers.storage.quote import DRAWS, Quote, quote
from drainsim.answers.storage.remedies import Preferences
from drainsim.dashboard import forms
from drainsim.dashboard.fleet import fleet_input
from drainsim.dashboard.parts.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.language import say, say_many
from drainsim.sheets.fleet.list_file import list_file
from drainsim.sheets.storage.quote_sheet import cover_heading, cover_html, cover_rows, sheet_name
from drainsim.sheets.storage.storage_sheet import storage_html
from drainsim.sheets.storage.storage_words import SheetOptions
from drainsim.vehicle.documents.fleet_rows import Fleet

_KEPT: Final = "kept_quote"
_SUFFIX: Final = ".html"


def draw(
    days: int, risk: float, when: str, options: SheetOptions, preferences: Preferences
) -> None:
    """Draw the button that answers the whole list, and its sheets once they are made."""
    part = st.expander(say("A whole list: one sheet each"), key="quote", on_change=forms.stay)
    if not part.open:
        return
    with part:
        try:
            fleet, listed, example = fleet_input.kept_fleet(DRAWS)
        except DrainsimError as error:
            st.error(plain(str(error)))
            return
        asked = (repr(listed), days, risk, when, preferences)
        shown = say("the invented list") if example else listed.name
        st.caption(
            plain(
                say(
                    "{vehicles} vehicles of {shown}, each for {days} days, from today on if it "
                    "stands already. Your own list is loaded on the fleet page.",
                    vehicles=len(fleet.vehicles),
                    shown=shown,
                    days=days,
                )
            )
        )
        many = len(fleet.vehicles)
        label = say_many("Answer {number} vehicle", "Answer {number} vehicles", many)
        if st.button(label, key="quote_answer", on_click=forms.stay):
            bar = st.progress(0.0)

            def show(done: int, whole: int) -> None:
                bar.progress(done / whole)

            found = quote(
                fleet,
                listed.settings,
                days=days,
                risk=risk,
                when=when,
                preferences=preferences,
                progress=show,
            )
            bar.empty()
            st.session_state[_KEPT] = (asked, found)
        kept = st.session_state.get(_KEPT)
        if kept is not None and kept[0] == asked:  # never another question's
            _result(kept[1], fleet, options)


def _result(found: Quote, fleet: Fleet, options: SheetOptions) -> None:
    verdicts = [one.answer.verdict for one in found.vehicles]
    st.markdown(
        say(
            "**{yes} may stand as they are, {if_done} if something is done, {no} not.**",
            yes=verdicts.count(YES),
            if_done=verdicts.count(YES_IF),
            no=verdicts.count(NO),
        )
    )
    aside = len({problem.row for problem in found.problems})
    if aside:
        st.markdown(
            say_many(
                "{number} row not answered: the cover says why.",
                "{number} rows not answered: the cover says why.",
                aside,
            )
        )
    st.download_button(
        say("Cover and sheets (ZIP)"),
        lambda: packed(found, fleet, options),
        file_name="sheets.zip",
        mime="application/zip",
        key="save_quote",
        on_click="ignore",
        type="primary",
    )


def packed(found: Quote, fleet: Fleet, options: SheetOptions) -> bytes:
    """Return cover, cover table and every sheet in one file."""
    say = options.say
    rows = cover_rows(found, say, suffix=_SUFFIX)
    table, content = list_file("cover", cover_heading(say), rows, fleet)
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as folder:
        folder.writestr("cover.html", cover_html(found, options, suffix=_SUFFIX))
        folder.writestr(table, content)
        for one in found.vehicles:
            folder.writestr(sheet_name(one, _SUFFIX), storage_html(one.answer, options))
    return file.getvalue()
