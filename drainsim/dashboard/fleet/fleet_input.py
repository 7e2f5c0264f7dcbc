"""What goes into the fleet's answer: the file, what its headings mean, the owner's settings."""

from dataclasses import replace
from typing import Final

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim import dates
from drainsim.dashboard.fleet import fleet_columns
from drainsim.dashboard.fleet.fleet_answers import Question, digest, read_fleet, read_list
from drainsim.dashboard.forms import KEEP
from drainsim.dashboard.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.files.fleet.example import EXAMPLE_TODAY, example_list
from drainsim.units import share_from_percent
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings

UPLOAD: Final = "fleet_file"
_FILE: Final = "kept_fleet_file"
_EXAMPLE: Final = "invented list"
_LARGEST_MB: Final = 50
_DRAWS: Final = (100, 200, 500, 1000, 2000)


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
    chosen = fleet_columns.answers(digest(content), read_list(content, name))
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
        "Settings: today, risk limit, days, call-out price, cases", key="fleet_settings"
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
            draws = st.selectbox(
                "Random cases per vehicle",
                _DRAWS,
                index=_DRAWS.index(200),
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


def fleet_of(
    content: bytes, question: Question, complaint: DeltaGenerator
) -> tuple[Question, Fleet] | None:
    """Draw what is asked and what the headings mean; return the question and the list.

    After an error, told in the place for complaints, None.
    """
    try:
        table = read_list(content, question.name)
    except DrainsimError as error:
        complaint.error(plain(str(error)))
        return None
    said = fleet_columns.answers(question.content, table)
    question = replace(question, chosen=tuple(sorted(said.items())))
    try:
        fleet = read_fleet(table, question)
    except DrainsimError as error:
        complaint.error(plain(str(error)))
        fleet_columns.mapping(table, None, question)
        return None
    with complaint:
        fleet_columns.dialogue(fleet, question.content)
        fleet_columns.told_first(fleet)
    fleet_columns.mapping(table, fleet, question)
    if table.unread_sheets:
        names = ", ".join(table.unread_sheets)
        st.caption(plain(f"Only the sheet {table.sheet!r} is read, not: {names}."))
    return question, fleet
