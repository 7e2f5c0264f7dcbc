"""Page: did the job come out as budgeted?"""

from typing import Final

import streamlit as st

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance
from drainsim.answers.words import days_words
from drainsim.dashboard import forms
from drainsim.dashboard.installer import complaint_view, job_form
from drainsim.dashboard.installer import installer_parts as parts
from drainsim.dashboard.installer.job_form import PAGE
from drainsim.dashboard.parts import safety, sheet_language
from drainsim.dashboard.parts.plain_text import plain, said
from drainsim.errors import DrainsimError, RecordError, one_line
from drainsim.files.examples import example_text
from drainsim.files.reading import decoded
from drainsim.language import marked, message, say
from drainsim.sheets.job_sheet import job_sheet
from drainsim.vehicle.documents.job_record import (
    MAX_RECORD_BYTES,
    job_record_from_dict,
    parse_json,
)
from drainsim.vehicle.documents.job_tables import JOB

_UPLOAD: Final = "job_file"
_NOT_LOADED: Final = marked("The record was not loaded. {error}")
_SHEET: Final = "job_sheet"  # keeps how the sheet looks apart from the record
_NO_LOGS: Final = marked(
    "The record names log files, which stay on the machine they are on: give them under step 2. "
    "Left out: {logs}."
)


def _take_text(text: str, where: str) -> None:
    try:
        record = job_record_from_dict(parse_json(text, where=where), where=where)
    except DrainsimError as error:
        forms.tell(PAGE, message(_NOT_LOADED, error=str(error)))
        return
    fresh = record.as_dict()
    fresh.pop("predicted", None)
    logs = [name for name in job_form.READINGS if fresh.get(name, {}).pop("log", None)]
    forms.tell(PAGE, message(_NO_LOGS, logs=", ".join(logs)) if logs else None)
    forms.replace_entries(PAGE, fresh)
    job_form.open_at(record)


def _take_example() -> None:
    _take_text(example_text("job_record.json"), "invented example")


def _take_upload() -> None:
    file = st.session_state.get(_UPLOAD)
    if file is None:
        return
    raw = file.getvalue()[: MAX_RECORD_BYTES + 1]
    try:
        text = decoded(raw, where=one_line(file.name), error=RecordError)
    except RecordError as error:
        forms.tell(PAGE, message(_NOT_LOADED, error=str(error)))
        return
    _take_text(text, file.name)


def _start_over() -> None:
    forms.replace_entries(PAGE, {})
    job_form.go_to(0)
    forms.tell(PAGE, None)


def _verdict(answer: AcceptanceAnswer) -> None:
    """Draw what the job has come to, and what is left: on a phone it stays in sight."""
    with st.container(key="verdict_place"):
        label = str(answer.record.get(JOB.label) or say("this job"))
        parts.sentence_with_verdict(answer.verdict, label)
        deciding = next((check for check in answer.checks if check.would_tell), None)
        if deciding is not None:
            st.markdown(plain(say("Decides next: {would_tell}.", would_tell=deciding.would_tell)))


def _result(answer: AcceptanceAnswer) -> None:
    st.subheader(say("Point by point"), anchor=False)
    for check in answer.checks:
        parts.sentence_with_verdict(check.verdict, f"{said(check.name)}: {said(check.text)}")
        if check.would_tell:
            st.caption(plain(say("What would tell: {would_tell}", would_tell=check.would_tell)))
    if len(answer.tests) > 1:
        st.markdown(say("**Tests of this job**"))
        for test in answer.tests:
            parts.sentence_with_verdict(test.verdict, f"{said(test.name)}: {said(test.words)}")
    if answer.to_do:
        st.markdown(say("**Check and fix, in this order**"))
        st.markdown(
            "\n".join(
                f"{number}. {plain(f'{said(step.check)}: {said(step.text)}')}"
                for number, step in enumerate(answer.to_do, start=1)
            )
        )
    st.markdown(plain(say("The difference: {explained}.", explained=answer.draw.explained)))
    days, horizon = answer.predicted, answer.predicted.horizon_days
    stands = [
        (marked("**{days}** without the unit"), days.without_unit),
        (marked("**{days}** as budgeted"), days.as_budgeted),
    ]
    if answer.draw.measured_mean_a is not None:
        stands.append((marked("**{days}** as measured"), days.as_measured))
    st.markdown(
        say(
            "Days until no-start: {stands}; risk within 5 %, {of}, for **{risk}**.",
            stands=", ".join(
                say(template, days=days_words(stand, horizon)) for template, stand in stands
            ),
            of=days.at_risk_of,
            risk=days_words(days.at_risk, horizon),
        )
    )
    safety.warnings(answer.warnings)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        sheet = sheet_language.ask(_SHEET)
        st.download_button(
            say("Job record (JSON)"),
            answer.record_with_prediction().to_json(),
            file_name="job.json",
            mime="application/json",
            key="save_job",
            on_click="ignore",
        )
        st.download_button(
            say("Printable sheet (HTML)"),
            job_sheet(answer, sheet),
            file_name="job.html",
            mime="text/html",
            key="save_sheet",
            on_click="ignore",
        )


def _page() -> None:
    st.html(parts.RULES)
    st.header(say("Did the job come out as budgeted?"), anchor=False)
    for sentence in forms.sentences(PAGE, complaint_view.PAGE):
        st.error(plain(sentence))
    answer, record = None, None
    with st.container():
        try:
            record = job_form.record()
            answer = acceptance(record)
        except DrainsimError as error:
            st.error(plain(str(error)))
        if answer is not None:
            _verdict(answer)
        empty = not any(forms.entries(PAGE).values())
        if empty:
            st.markdown(
                say(
                    "Fill in what you have. The unit's limit and the current without and with it "
                    "give "
                    "the first verdict."
                )
            )
    with st.container():
        job_form.draw(None if empty else answer)
    with st.container():
        if answer is not None and record is not None:
            if not empty:
                _result(answer)
            complaint_view.draw(record)
    with st.container(horizontal=True):
        st.button(say("Show an invented example"), key="example_job", on_click=_take_example)
        st.button(say("Start over"), key="job_over", on_click=_start_over, disabled=empty)
    st.file_uploader(
        say("Reopen a job record (JSON)"),
        type=["json"],
        key=_UPLOAD,
        on_change=_take_upload,
        max_upload_size=1,
    )
    safety.defers()
    if not (forms.fits(PAGE) and forms.fits(complaint_view.PAGE)):
        st.caption(say("Too many entries for the address: save the job record."))


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
