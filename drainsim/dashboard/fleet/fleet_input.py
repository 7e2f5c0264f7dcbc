"""What goes into the fleet's answer: the file, what its headings mean, the owner's settings."""

from dataclasses import replace
from typing import Final

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim import dates
from drainsim.dashboard.fleet.fleet_answers import Question, digest, read_fleet, read_list
from drainsim.dashboard.forms import KEEP
from drainsim.dashboard.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.files.fleet.cells import is_empty
from drainsim.files.fleet.columns import COLUMNS
from drainsim.files.fleet.example import EXAMPLE_TODAY, example_list
from drainsim.files.fleet.headings import suggested
from drainsim.files.fleet.table import RawTable
from drainsim.units import share_from_percent
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings

UPLOAD: Final = "fleet_file"
MAPPING: Final = "fleet_mapping"
_FILE: Final = "kept_fleet_file"
_CHOSEN: Final = "kept_fleet_columns"
_EXAMPLE: Final = "invented list"
_NOT_USED: Final = "(not used)"
_LARGEST_MB: Final = 50


def source() -> tuple[bytes, str, bool]:
    """Draw the uploader; return content and name of the list, and whether it is the example."""
    st.file_uploader(
        "Your vehicle list (CSV or XLSX, any headings; only an id is required)",
        type=["csv", "xlsx", "txt", "tsv"],
        key=UPLOAD,
        on_change=_take_upload,
        max_upload_size=_LARGEST_MB,
    )
    kept = st.session_state.get(_FILE)
    with st.container(horizontal=True):
        st.download_button(
            "Template to fill in (CSV)",
            example_list(),
            file_name="fleet.csv",
            mime="text/csv",
            key="save_example",
            on_click="ignore",
        )
        if kept is not None:
            st.button("Back to the invented list", key="fleet_example", on_click=_back_to_example)
    if kept is None:
        return example_list(), _EXAMPLE, True
    return kept[0], kept[1], False


def kept_fleet() -> tuple[Fleet, str, str, bool]:
    """Return the list the fleet page holds, for another page; nothing is drawn.

    Its name, a key that says what it depends on, and whether it is the example come with it.

    Raises
    ------
    DrainsimError
        If it cannot be read.
    """
    kept = st.session_state.get(_FILE)
    content, name = kept or (example_list(), _EXAMPLE)
    today = EXAMPLE_TODAY if kept is None else dates.today()
    asked_for = st.session_state.get("fleet_today_example" if kept is None else "fleet_today")
    chosen = st.session_state.get(_CHOSEN, {}).get(digest(content), {})
    question = Question(
        content=digest(content),
        name=name,
        chosen=tuple(sorted(chosen.items())),
        settings=FleetSettings(today=asked_for or today),
        risk=share_from_percent(5.0),
        days=(7,),
        until=7,
        call_out_price=None,
    )
    return read_fleet(read_list(content, name), question), name, repr(question), kept is None


def _take_upload() -> None:
    file = st.session_state.get(UPLOAD)
    if file is not None:
        name = "".join(letter for letter in file.name if letter.isprintable())[:80]
        st.session_state[_FILE] = (file.getvalue(), name)


def _back_to_example() -> None:
    st.session_state.pop(_FILE, None)


def settings(content: bytes, name: str, *, example: bool) -> Question:
    """Draw the owner's settings; return the question they make, columns still open.

    Raises
    ------
    DrainsimError
        If they do not go together.
    """
    with st.expander(
        "Settings: today, risk limit, days, call-out price, random cases", key="fleet_settings"
    ):
        first, second, third, fourth = st.columns(4)
        with first:
            today = st.date_input(
                "Today",
                value=EXAMPLE_TODAY if example else dates.today(),
                format="YYYY-MM-DD",
                key="fleet_today_example" if example else "fleet_today",
                help="The invented list was made up for 25 November 2026." if example else None,
                **KEEP,
            )
        with second:
            risk = st.number_input(
                "Risk limit [%]", 0.5, 50.0, 5.0, 0.5, key="fleet_risk", format="%g", **KEEP
            )
        with third:
            days = st.number_input("Look ahead [days]", 7, 365, 180, key="fleet_days", **KEEP)
        with fourth:
            price = st.number_input(
                "Price of one call-out",
                0.0,
                1e6,
                value=None,
                step=10.0,
                placeholder="in your currency",
                key="fleet_price",
                **KEEP,
            )
        one, two, three = st.columns(3)
        with one:
            until = st.number_input(
                "Without a planned return, last for [days]", 1, 365, 30, key="fleet_until", **KEEP
            )
        with two:
            draws = st.select_slider(
                "Random cases per vehicle",
                [100, 200, 500, 1000, 2000],
                200,
                key="fleet_draws",
                **KEEP,
            )
        with three:
            told = st.multiselect(
                "Tell the fleet's risk in [days]", [1, 3, 7, 14, 30, 60, 90, 180], [7, 30],
                key="fleet_told", **KEEP,
            )  # fmt: skip
    stated = tuple(sorted(day for day in told if day <= days)) or (min(7, int(days)),)
    return Question(
        content=digest(content),
        name=name,
        chosen=(),
        settings=FleetSettings(today=today, days_ahead=int(days), draws=int(draws)),
        risk=share_from_percent(risk),
        days=stated,
        until=int(until),
        call_out_price=price,
    )


def mapping(table: RawTable, content_digest: str) -> dict[str, str]:
    """Draw what each heading means, to be corrected; return heading → column ("" not used)."""
    base = _suggestions(table, content_digest)
    doubtful = int((base["check"] != "").sum())
    label = "What your headings mean" + (f": {doubtful} to check" if doubtful else "")
    with st.expander(label, expanded="id" not in set(base["means"])):
        st.caption(
            "A unit in brackets behind a heading is understood: mA or A, °C or °F, min or h, "
            "cc or l. Change a meaning in its cell."
        )
        edited = st.data_editor(
            base,
            hide_index=True,
            key=f"{MAPPING}_{content_digest[:12]}",
            column_order=["heading", "first value", "means", "unit", "check"],
            disabled=["heading", "first value", "unit", "check"],
            column_config={
                "means": st.column_config.SelectboxColumn(
                    "means", options=[_NOT_USED, *(column.name for column in COLUMNS)]
                )
            },
            alt="Headings of the list, what each means, its unit and what is uncertain",
        )
    chosen: dict[str, str] = {}  # what stands in the table counts, guesses included
    for heading, means in zip(edited["heading"], edited["means"], strict=True):
        column = "" if means in {None, _NOT_USED} else str(means)
        chosen[str(heading)] = chosen.get(str(heading)) or column
    st.session_state.setdefault(_CHOSEN, {})[content_digest] = chosen
    return chosen


def _suggestions(table: RawTable, content_digest: str) -> pd.DataFrame:
    """Return the mapping table; unchanged while it is on show, or its edits would be lost."""
    shown = f"{MAPPING}_base_{content_digest[:12]}"
    editing = f"{MAPPING}_{content_digest[:12]}" in st.session_state
    if editing and shown in st.session_state:
        kept: pd.DataFrame = st.session_state[shown]
        return kept
    before = st.session_state.get(_CHOSEN, {}).get(content_digest, {})
    rows = []
    for number, match in enumerate(suggested(table.headings)):
        if not match.heading:
            continue
        check = match.note or ("a guess" if match.column and not match.certain else "")
        rows.append(
            {
                "heading": match.heading,
                "first value": _first_value(table, number),
                "means": before.get(match.heading, match.column) or _NOT_USED,
                "unit": match.unit or "",
                "check": check,
            }
        )
    frame = pd.DataFrame(rows)
    st.session_state[shown] = frame
    return frame


def _first_value(table: RawTable, number: int) -> str:
    for _, cells in table.rows[:200]:
        if number < len(cells) and not is_empty(cells[number]):
            return str(cells[number])[:40]
    return ""


def fleet_of(
    content: bytes, question: Question, complaint: DeltaGenerator
) -> tuple[Question, Fleet] | None:
    """Draw the mapping; return the question with its columns and the list.

    After an error, told in the place for complaints, None.
    """
    try:
        table = read_list(content, question.name)
        chosen = mapping(table, question.content)
        question = replace(question, chosen=tuple(sorted(chosen.items())))
        fleet = read_fleet(table, question)
    except DrainsimError as error:
        complaint.error(plain(str(error)))
        return None
    if table.unread_sheets:
        st.caption(plain(f"Only the first sheet is read, not: {', '.join(table.unread_sheets)}."))
    return question, fleet
