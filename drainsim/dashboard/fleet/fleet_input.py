"""What goes into the fleet's answer: the file, what its headings mean, the owner's settings."""

from dataclasses import replace
from typing import Final

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from drainsim import dates
from drainsim.answers.fleet.fleet_actions import usual_until
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.dashboard import forms, visit
from drainsim.dashboard.fleet import fleet_columns
from drainsim.dashboard.fleet.fleet_answers import (
    Question,
    digest,
    gone_on,
    read_fleet,
    read_list,
)
from drainsim.dashboard.parts.plain_text import plain
from drainsim.dashboard.visitor_quota import LARGEST_MB
from drainsim.errors import DrainsimError
from drainsim.files.fleet.example import EXAMPLE_TODAY, example_list
from drainsim.language import marked, say
from drainsim.units import share_from_percent
from drainsim.vehicle.documents.fleet_rows import DEFAULT_DRAWS, Fleet, FleetSettings
from drainsim.vehicle.run import RUN

UPLOAD: Final = "fleet_file"
_FORM: Final = "fleet"
_FILE: Final = "file"
_EXAMPLE: Final = "invented list"
TYPED: Final = marked("typed list")  # its name, said where it is shown
_TYPED: Final = "fleet_typed"
_LONGEST_TYPED: Final = 100_000
_TOLD: Final = (1, 3, 7, 14, 30, 60, 90, 180)
_DRAWS: Final = (100, 200, 500, 1000, 2000)


def source() -> tuple[bytes, str, bool]:
    """Draw the uploader; return content and name of the list, and whether it is the example."""
    load, otherwise = st.columns([2, 1], vertical_alignment="bottom")
    load.file_uploader(
        say("Your vehicle list (CSV or XLSX, any headings; only an id is required)"),
        type=["csv", "xlsx", "txt", "tsv"],
        key=UPLOAD,
        on_change=_take_upload,
        max_upload_size=LARGEST_MB,
    )
    key = forms.entries(_FORM).get(_FILE)
    kept = visit.kept_file(key)
    if key and kept is None:
        st.warning(say(visit.GONE))
    if kept is None or kept[1] == TYPED:  # below a file the answer stands on a phone's screen
        with otherwise.expander(
            say("Type or paste a list, or fill in a template"), key="fleet_typing"
        ):
            st.text_area(
                say("One vehicle a line, below the headings; what is not known stays empty"),
                say("vehicle; Ah; battery age years; parked since") + "\n",
                height=160,
                key=_TYPED,
                max_chars=_LONGEST_TYPED,
                on_change=forms.stay,
            )
            st.button(say("Answer this list"), key="fleet_take_typed", on_click=_take_typed)
            st.download_button(
                say("Template to fill in (CSV)"),
                example_list(),
                file_name="fleet.csv",
                mime="text/csv",
                key="save_example",
                on_click="ignore",
            )
    if kept is not None:
        otherwise.button(
            say("Back to the invented list"), key="fleet_example", on_click=_back_to_example
        )
    if kept is None:
        return example_list(), _EXAMPLE, True
    return kept[0], kept[1], False


def kept_fleet(draws: int = DEFAULT_DRAWS) -> tuple[Fleet, Question, bool]:
    """Return the list the fleet page holds, for another page; nothing is drawn.

    The question it was read for and whether it is the example come with it.

    Raises
    ------
    DrainsimError
        If it cannot be read.
    """
    kept = visit.kept_file(forms.entries(_FORM).get(_FILE))
    content, name = kept or (example_list(), _EXAMPLE)
    today = forms.kept(_FORM, "today", EXAMPLE_TODAY if kept is None else dates.today())
    chosen = fleet_columns.answers(read_list(content, name))
    question = Question(
        content=digest(content),
        name=name,
        chosen=tuple(sorted(chosen.items())),
        settings=FleetSettings(today=today, draws=draws),
        risk=DEFAULT_RISK,
        days=(7,),
        until=7,
        call_out_price=None,
    )
    return read_fleet(read_list(content, name), question), question, kept is None


def _take_upload() -> None:
    file = st.session_state.get(UPLOAD)
    if file is not None:
        _ask_of(visit.keep_file(file.getvalue(), file.name))


def _take_typed() -> None:
    text = str(st.session_state.get(_TYPED, ""))
    _ask_of(visit.keep_file(text.encode(), TYPED))


def _back_to_example() -> None:
    _ask_of(None)


def _ask_of(file: str | None) -> None:
    """Ask of another list: what was said of the one before is not said of it."""
    of_list = (_FILE, fleet_columns.SAID, "today")
    settings = {name: one for name, one in forms.entries(_FORM).items() if name not in of_list}
    forms.replace_entries(_FORM, settings if file is None else {**settings, _FILE: file})


def settings(content: bytes, name: str, *, example: bool) -> Question:
    """Draw the owner's settings; return the question they make, columns still open.

    Raises
    ------
    DrainsimError
        If they do not go together.
    """
    with st.expander(
        say("Settings: today, risk limit, days, call-out price, cases"), key="fleet_settings"
    ):
        first, second, third, fourth = st.columns(4)
        with first:
            today = st.date_input(
                say("Today"),
                format=say("YYYY-MM-DD"),
                help=say("The invented list was made up for 25 November 2026.")
                if example
                else None,
                **forms.bound(_FORM, "today", EXAMPLE_TODAY if example else dates.today()),
            )
        with second:
            risk = st.number_input(
                say("Risk limit [%]"),
                0.5,
                50.0,
                step=0.5,
                format="%g",
                **forms.bound(_FORM, "risk", 100.0 * DEFAULT_RISK, low=0.5, high=50.0),
            )
        with third:
            days = st.number_input(
                say("Look ahead [days]"),
                7,
                365,
                **forms.bound(_FORM, "days", RUN.horizon_days.default, low=7, high=365),
            )
        with fourth:
            price = st.number_input(
                say("Price of one call-out"),
                0.0,
                1e6,
                value=None,
                step=10.0,
                placeholder=say("in your currency"),
                **forms.bound(_FORM, "price", None, low=0.0, high=1e6),
            )
        one, two, three = st.columns(3)
        with one:
            until = st.number_input(
                say("Without a planned return, last for [days]"),
                1,
                int(days),
                **forms.bound(_FORM, "until", usual_until(int(days)), low=1, high=int(days)),
            )
        with two:
            draws = st.selectbox(
                say("Random cases per vehicle"),
                _DRAWS,
                **forms.bound(_FORM, "draws", DEFAULT_DRAWS, among=_DRAWS),
            )
        with three:
            told = st.multiselect(
                say("Tell the fleet's risk in [days]"),
                _TOLD,
                **forms.bound(_FORM, "told", [7, 30], among=_TOLD),
            )
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


def done(
    question: Question, fleet: Fleet, complaint: DeltaGenerator
) -> tuple[Question, Fleet] | None:
    """Draw the place for an earlier result with steps marked as done; return the list after them.

    After an error, told in the place for complaints, None.
    """
    with st.expander(say("Go on from what was done")):
        st.caption(
            say(
                "Save the vehicles or the work plan, fill in the day in the column “done on” "
                "beside each step that was done, and load the file here, each week's beside the "
                "ones before."
            )
        )
        files = st.file_uploader(
            say("Tables with the days filled in (CSV or XLSX)"),
            type=["csv", "xlsx"],
            accept_multiple_files=True,
            key="fleet_done",
            on_change=forms.stay,
            max_upload_size=LARGEST_MB,
        )
    if not files:
        return question, fleet
    contents = [(file.getvalue(), file.name[:80]) for file in files]
    question = replace(question, done=digest(b"".join(content for content, _ in contents)))
    try:
        return question, gone_on(fleet, question, contents)
    except DrainsimError as error:
        complaint.error(plain(str(error)))
        return None


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
    said = fleet_columns.answers(table)
    question = replace(question, chosen=tuple(sorted(said.items())))
    try:
        fleet = read_fleet(table, question)
    except DrainsimError as error:
        complaint.error(plain(str(error)))
        fleet_columns.mapping(table, None, question)
        return None
    with complaint:
        fleet_columns.dialogue(fleet, question.content)
    fleet_columns.mapping(table, fleet, question)
    if table.unread_sheets:
        names = ", ".join(table.unread_sheets)
        st.caption(
            plain(
                say(
                    "Only the sheet “{sheet}” is read, not: {names}.",
                    sheet=table.sheet,
                    names=names,
                )
            )
        )
    return question, fleet
