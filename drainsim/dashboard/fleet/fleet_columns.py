"""What the columns of the loaded list mean: what is asked, the table of headings, saved answers."""

from typing import Any, Final

import pandas as pd
import streamlit as st

from drainsim.dashboard import forms
from drainsim.dashboard.fleet.fleet_answers import Question
from drainsim.dashboard.parts.answer_tables import said_words
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.errors import DrainsimError
from drainsim.files.fleet.cells.cell_kinds import is_empty
from drainsim.files.fleet.choosing import joined
from drainsim.files.fleet.columns import BY_NAME, BY_PUBLIC, COLUMNS, shown_unit
from drainsim.files.fleet.headings import Match, match_headings
from drainsim.files.fleet.saved import columns_from_text, columns_text, for_headings
from drainsim.files.fleet.table import RawTable
from drainsim.files.fleet.understanding import Doubt
from drainsim.language import marked, say
from drainsim.vehicle.documents.fleet_rows import Fleet

MAPPING: Final = "fleet_mapping"
_FORM: Final = "fleet"
SAID: Final = "columns"  # what was said of the headings, among the page's entries
_ROUND: Final = "fleet_mapping_round"
_SAVED: Final = "fleet_saved_columns"
_NOT_USED: Final = marked("(not used)")
_SHOWN: Final = {
    "heading": marked("heading"),
    "first value": marked("first value"),
    "means": marked("means"),
    "unit": marked("unit"),
    "decided by": marked("decided by"),
    "check": marked("check"),
}
_MOST_ASKED: Final = 12  # questions drawn at a time


def answers(table: RawTable) -> dict[str, str]:
    """Return what the user has said of the list's headings; nothing is drawn."""
    return {head: means for head, means in _said().items() if head in table.headings}


def _said() -> dict[str, str]:
    said = forms.entries(_FORM).get(SAID)
    if not isinstance(said, dict) or not all(isinstance(one, str) for one in said.values()):
        said = forms.entries(_FORM)[SAID] = {}
    return said


def _take_edits(key: str, headings: list[str]) -> None:
    """Take over what was changed in the table of headings; for on_change."""
    said = _said()
    for row, change in st.session_state[key]["edited_rows"].items():
        if "means" in change and int(row) < len(headings):
            means = change["means"]
            said[headings[int(row)]] = "" if means in {None, _NOT_USED} else str(means)
    st.session_state[_ROUND] = st.session_state.get(_ROUND, 0) + 1


def editor_key(content_digest: str) -> str:
    """Return the key of the table of headings; a new one after each change taken over."""
    return f"{MAPPING}_{content_digest[:12]}_{st.session_state.get(_ROUND, 0)}"


def _shown_headings(table: RawTable) -> list[str]:
    return [heading for heading in table.headings if heading]


def dialogue(fleet: Fleet, content_digest: str) -> None:
    """Draw each open question with its answers; until then neither reading is used."""
    asked = [doubt for doubt in fleet.doubts if doubt.answers]
    if not fleet.doubts:
        return
    with st.container(border=True, key="fleet_asked"):
        st.markdown(
            say(
                "**Your list leaves something open.** Until you answer, neither reading is used: "
                "such rows are kept aside."
            )
        )
        for number, doubt in enumerate(_once_each(asked)[:_MOST_ASKED]):
            st.radio(
                _question(doubt),
                [label for label, _ in doubt.answers],
                index=None,
                horizontal=True,
                key=f"fleet_ask_{content_digest[:12]}_{doubt.number}_{number}",
                on_change=_take_answer,
                args=(content_digest, number, doubt),
            )
        for doubt in fleet.doubts:
            if not doubt.answers:
                st.markdown(plain(doubt.question))


def _question(doubt: Doubt) -> str:
    where = f"{say('Row {row}', row=str(doubt.row))}: " if doubt.row else ""
    return plain(f"{where}{said(doubt.question)}")


def _once_each(doubts: list[Doubt]) -> list[Doubt]:
    """Return one question of each column: its answer holds for all of its rows."""
    found: dict[int | None, Doubt] = {}
    for doubt in doubts:
        found.setdefault(doubt.number, doubt)
    return list(found.values())


def _take_answer(content_digest: str, number: int, doubt: Doubt) -> None:
    label = st.session_state.get(f"fleet_ask_{content_digest[:12]}_{doubt.number}_{number}")
    said = dict(doubt.answers).get(str(label))
    if said is not None:
        kept = _said()
        kept[doubt.heading] = joined(kept.get(doubt.heading, ""), said)


def mapping(table: RawTable, fleet: Fleet | None, question: Question) -> None:
    """Draw what each heading was understood as, to be corrected, and the answers to save."""
    chosen = dict(question.chosen)
    matches = list(fleet.matches) if fleet else match_headings(table.headings, parts=table.parts)
    frame = _frame(table, matches, chosen)
    doubtful = int((frame["check"] != "").sum()) if len(frame) else 0
    label = say("What your headings mean")
    if doubtful:
        label = say("What your headings mean: {number} to check", number=doubtful)
    with st.expander(label, expanded=fleet is None):
        st.caption(
            say(
                "A unit in brackets behind a heading is understood: mA or A, °C or °F, min or h, "
                "cc or l. Change a meaning in its cell."
            )
        )
        st.data_editor(
            frame,
            hide_index=True,
            key=(key := editor_key(question.content)),
            on_change=_take_edits,
            args=(key, _shown_headings(table)),
            column_order=list(_SHOWN),
            disabled=[name for name in _SHOWN if name != "means"],
            column_config={
                **{name: st.column_config.TextColumn(say(label)) for name, label in _SHOWN.items()},
                "means": st.column_config.SelectboxColumn(
                    say(_SHOWN["means"]),
                    options=[_NOT_USED, *(column.public for column in COLUMNS)],
                    format_func=said_words,
                ),
            },
            alt=say("Headings of the list, what each means, its unit and what is uncertain"),
        )
        _saved_answers(table, chosen)
        _not_vehicles(table)


def _frame(table: RawTable, matches: list[Match], chosen: dict[str, str]) -> pd.DataFrame:
    rows: list[dict[str, Any]] = []
    for number, match in enumerate(matches):
        if not match.heading:
            continue
        named = chosen.get(match.heading, "")
        name = match.column or (BY_PUBLIC[named].name if named in BY_PUBLIC else "")
        check = said(match.asked or match.note)
        if not check and match.column and not match.certain:
            check = say("a guess")
        if not check and match.numbers:
            check = say("numbers, not used")
        rows.append(
            {
                "heading": match.heading,
                "first value": _first_value(table, number),
                "means": BY_NAME[name].public if name else _NOT_USED,
                "unit": shown_unit(match.unit),
                "decided by": said_words(match.basis) if match.column else "",
                "check": check,
            }
        )
    return pd.DataFrame(rows, columns=list(_SHOWN))


def _first_value(table: RawTable, number: int) -> str:
    for _, cells in table.rows[:200]:
        if number < len(cells) and not is_empty(cells[number]):
            return str(cells[number])[:40]
    return ""


def _saved_answers(table: RawTable, said: dict[str, str]) -> None:
    """Draw the answers to save, and a place for answers saved before."""
    left, right = st.columns(2)
    with left:
        st.download_button(
            say("Save these answers (columns.json)"),
            columns_text(said),
            file_name="columns.json",
            mime="application/json",
            key="save_columns_json",
            on_click="ignore",
            help=say("For the next list of the same shape: load it here, or give it to --columns."),
        )
    with right:
        st.file_uploader(
            say("Answers saved before (columns.json)"),
            type=["json"],
            key=_SAVED,
            max_upload_size=1,
            on_change=_take_saved,
            args=(table.headings,),
        )


def _take_saved(headings: tuple[str, ...]) -> None:
    file = st.session_state.get(_SAVED)
    if file is None:
        return
    try:
        text = file.getvalue().decode("utf-8-sig", errors="replace")
        saved = columns_from_text(text, where=file.name)
    except DrainsimError as error:
        forms.tell(_FORM, str(error))
    else:
        forms.tell(_FORM, None)
        _said().update(for_headings(saved, headings)[0])


def _not_vehicles(table: RawTable) -> None:
    if not table.not_vehicles:
        return
    st.caption(say("Rows that are no vehicles, not in the answer:"))
    st.dataframe(
        pd.DataFrame(
            [
                {say("row"): o.row, say("what it is"): say(o.reason), say("text"): o.text}
                for o in table.not_vehicles
            ]
        ),
        hide_index=True,
    )
