"""Page: did the job come out as budgeted?"""

from typing import Any, Final

import streamlit as st

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance, with_log
from drainsim.answers.words import days_words
from drainsim.dashboard import complaint_view, forms, safety, session
from drainsim.dashboard import installer_parts as parts
from drainsim.dashboard.plain_text import plain
from drainsim.errors import DrainsimError, RecordError, one_line
from drainsim.files.current_log.reader import log_from_bytes
from drainsim.files.examples import example_text
from drainsim.files.formats import KEY, NEWEST
from drainsim.files.reading import decoded
from drainsim.sheets.job_sheet import job_sheet
from drainsim.vehicle.documents.job_record import (
    MAX_RECORD_BYTES,
    JobRecord,
    job_record_from_dict,
    parse_json,
)
from drainsim.vehicle.documents.job_tables import CAUTIONS, JOB, MOUNTING

_PAGE: Final = "job"
_UPLOAD: Final = "job_file"
_WHERE: Final = "job"
_READINGS: Final = {"before": "without the unit", "after": "with the unit"}
_LARGEST_LOG_MB: Final = 50  # the server takes no more; the command reads up to 100 MB
_NO_LOGS: Final = (
    "The record names log files, which stay on the machine they are on: give them under step 2."
)


def _table(name: str) -> dict[str, Any]:
    """Return one table of the record, made where it is missing."""
    kept = forms.entries(_PAGE)
    if not isinstance(kept.get(name), dict):
        kept[name] = {}
    table: dict[str, Any] = kept[name]
    return table


def _take_text(text: str, where: str) -> None:
    try:
        record = job_record_from_dict(parse_json(text, where=where), where=where)
    except DrainsimError as error:
        forms.tell(_PAGE, f"The record was not loaded. {error}")
        return
    fresh = record.as_dict()
    fresh.pop("predicted", None)
    logs = [name for name in _READINGS if fresh.get(name, {}).pop("log", None)]
    forms.tell(_PAGE, f"{_NO_LOGS} Left out: {', '.join(logs)}." if logs else None)
    forms.replace_entries(_PAGE, fresh)


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
        forms.tell(_PAGE, f"The record was not loaded. {error}")
        return
    _take_text(text, file.name)


def _start_over() -> None:
    forms.replace_entries(_PAGE, {})
    forms.tell(_PAGE, None)


def _number(
    label: str, table: str, name: str, *, low: float, high: float, step: float = 0.1
) -> None:
    parts.number(label, _table(table), name, key=f"j_{table}_{name}", low=low, high=high, step=step)


def _milliamperes(
    label: str, table: str, name: str, *, low: float, high: float, step: float
) -> None:
    """Draw a current in mA; the record keeps A."""
    parts.number(
        f"{label} [mA]",
        _table(table),
        name,
        key=f"j_{table}_{name}",
        low=low,
        high=high,
        step=step,
        shown_per_unit=1000.0,
    )


def _steps() -> None:
    """Draw the steps of the job in their order, each with its caution."""
    with st.expander("1. The job and the unit's budget", expanded=True):
        _budget()
    with st.expander("2. Settled current before and after"):
        _settled_current()
    with st.expander("3. Connection"):
        _connection()
    with st.expander("4. Constant power and sense wire at the unit"):
        _voltages()
    with st.expander("5. First start-up, outdoors"):
        _first_start()
    with st.expander("6. Mounting and routing"):
        _mounting()
    with st.expander("7. Cautions acknowledged"):
        _cautions()


def _budget() -> None:
    parts.text("Label (no customer data needed)", _table("job"), "label", key="j_label")
    _number("It must be able to stand [days]", "job", "days_needed", low=0, high=730, step=1.0)
    parts.side_by_side(
        lambda: _milliamperes("Budget asleep", "unit", "sleep_a", low=0, high=5000, step=0.1),
        lambda: _milliamperes("Budget mean", "unit", "mean_a", low=0, high=5000, step=0.1),
    )
    _milliamperes("Unit's peak", "unit", "peak_a", low=1, high=20_000, step=50)


def _settled_current() -> None:
    parts.caution("series")
    _milliamperes("Meter's smallest step", "meter", "resolution_a", low=0, high=1000, step=0.1)
    _number("Meter's accuracy [% of reading]", "meter", "accuracy_percent", low=0, high=50)
    for name, words in _READINGS.items():
        st.markdown(f"**{words.capitalize()}**")
        _table(name).pop("log", None)  # no address can say what is in a file
        _reading(name)
        st.file_uploader(
            f"or a current log {words} (CSV, from key off)",
            type=["csv", "txt", "tsv"],
            key=f"j_{name}_log",
            on_change=_take_log,
            args=(name,),
            max_upload_size=_LARGEST_LOG_MB,
        )


def _take_log(name: str) -> None:
    """Fill in a reading from a log, or say in a sentence why it holds none; for on_change."""
    file = st.session_state.get(f"j_{name}_log")
    if file is None:
        return
    try:
        log = log_from_bytes(file.getvalue(), where=one_line(file.name))
        record = with_log(_record().tests()[0], name, log)  # the form shows the first test
    except DrainsimError as error:
        forms.tell(_PAGE, f"The log was not taken. {error}")
        return
    forms.tell(_PAGE, None)
    forms.entries(_PAGE)[name] = record.as_dict()[name]


def _connection() -> None:
    parts.caution("restraint")
    parts.caution("fuse")
    parts.caution("battery")
    parts.side_by_side(
        lambda: _number("Own fuse [A]", "connection", "fuse_a", low=0.1, high=100, step=1.0),
        lambda: _number("Wire [mm²]", "connection", "wire_mm2", low=0.05, high=120, step=0.25),
    )
    _number("Length, one way [m]", "connection", "length_m", low=0, high=50, step=0.5)
    _circuits()


def _voltages() -> None:
    parts.side_by_side(
        lambda: _number("Constant, locked [V]", "constant_check", "voltage_v", low=-1, high=60),
        lambda: _number(
            "read after key off [min]",
            "constant_check",
            "minutes_after_key_off",
            low=0,
            high=10_000,
            step=1.0,
        ),
    )
    parts.side_by_side(
        lambda: _number("Sense, key off [V]", "sense_check", "key_off_v", low=-1, high=60),
        lambda: _number("Sense, key on [V]", "sense_check", "key_on_v", low=-1, high=60),
    )
    _number("Sense, while cranking [V]", "sense_check", "cranking_v", low=-1, high=60)


def _first_start() -> None:
    st.caption(
        "Allow up to 10 min for a first connection and 20 min in the open (common practice, no "
        "source)."
    )
    parts.question("Done in the open", _table("first_start"), "outdoors", key="j_outdoors")
    parts.side_by_side(
        lambda: _number(
            "First connection [min]", "first_start", "connection_min", low=0, high=1000
        ),
        lambda: _number("First position [min]", "first_start", "position_min", low=0, high=1000),
    )


def _mounting() -> None:
    for each in MOUNTING.TABLE.fields:
        name = each.key
        parts.question(_sentence(each.meaning), _table("mounting"), name, key=f"j_mount_{name}")


def _cautions() -> None:
    parts.caution("high_voltage")
    for each in CAUTIONS.TABLE.fields:
        name = each.key
        parts.question(_sentence(each.meaning), _table("cautions"), name, key=f"j_caution_{name}")


def _reading(name: str) -> None:
    parts.side_by_side(
        lambda: _milliamperes("Settled", name, "settled_a", low=-1000, high=50_000, step=1),
        lambda: _number(
            "read after key off [min]",
            name,
            "minutes_after_key_off",
            low=0,
            high=10_000,
            step=1.0,
        ),
    )


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _circuits() -> None:
    """Let the circuits of the page before serve as power and sense."""
    rows = forms.entries("circuits").get("rows")
    rows = [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    kept = forms.entries(_PAGE)
    names = [str(row.get("name"))[:80] for row in rows]
    for key, words in (("power", "Constant power"), ("sense", "Ignition sense")):
        now = kept.get(key)
        shown = str(now.get("name"))[:80] if isinstance(now, dict) else "none"
        options = list(dict.fromkeys(["none", shown, *names]))
        st.session_state[f"j_{key}"] = shown
        st.selectbox(
            f"{words} from circuit",
            options,
            key=f"j_{key}",
            on_change=_take_circuit,
            args=(key, rows),
        )


def _take_circuit(key: str, rows: list[dict[str, Any]]) -> None:
    name = st.session_state[f"j_{key}"]
    kept = forms.entries(_PAGE)
    found = next((row for row in rows if str(row.get("name"))[:80] == name), None)
    if found is not None:
        kept[key] = dict(found)
    elif name == "none":
        kept.pop(key, None)


def _record() -> JobRecord:
    """Return the record typed so far, with the first page's vehicle where it has none."""
    document = {
        name: value
        for name, value in forms.entries(_PAGE).items()
        if value not in ({}, None) and name != KEY
    }
    if "scenario" not in document:
        document["scenario"] = session.scenario().tables
    return job_record_from_dict({KEY: NEWEST["job record"], **document}, where=_WHERE)


def _result(answer: AcceptanceAnswer) -> None:
    st.subheader("Verdict", anchor=False)
    label = str(answer.record.get(JOB.label) or "this job")
    parts.sentence_with_verdict(answer.verdict, label)
    for check in answer.checks:
        parts.sentence_with_verdict(check.verdict, f"{check.name}: {check.text}")
        if check.would_tell:
            st.caption(plain(f"What would tell: {check.would_tell}"))
    if len(answer.tests) > 1:
        st.markdown("**Tests of this job**")
        for test in answer.tests:
            parts.sentence_with_verdict(test.verdict, f"{test.name}: {test.words}")
    if answer.to_do:
        st.markdown("**Check and fix, in this order**")
        st.markdown(
            "\n".join(
                f"{number}. {plain(f'{step.check}: {step.text}')}"
                for number, step in enumerate(answer.to_do, start=1)
            )
        )
    st.markdown(plain(f"The difference: {answer.draw.explained}."))
    days, horizon = answer.predicted, answer.predicted.horizon_days
    st.markdown(
        f"Days until no-start: **{days_words(days.without_unit, horizon)}** without the unit, "
        f"**{days_words(days.as_budgeted, horizon)}** as budgeted"
        + (
            f", **{days_words(days.as_measured, horizon)}** as measured"
            if answer.draw.measured_mean_a is not None
            else ""
        )
        + f"; risk within 5 %, {days.at_risk_of}, for **{days_words(days.at_risk, horizon)}**."
    )
    safety.warnings(answer.warnings)
    with st.container(horizontal=True):
        st.download_button(
            "Job record (JSON)",
            answer.record_with_prediction().to_json(),
            file_name="job.json",
            mime="application/json",
            key="save_job",
            on_click="ignore",
        )
        st.download_button(
            "Printable sheet (HTML)",
            job_sheet(answer),
            file_name="job.html",
            mime="text/html",
            key="save_sheet",
            on_click="ignore",
        )


def _page() -> None:
    st.html(parts.RULES)
    st.header("Did the job come out as budgeted?", anchor=False)
    st.caption(
        "Fill in what you have; entries stay in the address of this page: reload it after a lost "
        "connection. Saved as a job record it can be reopened here."
    )
    for sentence in forms.sentences(_PAGE, complaint_view.PAGE):
        st.error(plain(sentence))
    with st.container(horizontal=True):
        st.button("Show an invented example", key="example_job", on_click=_take_example)
        st.button("Start over", key="job_over", on_click=_start_over)
    _steps()
    with st.container():
        if not any(forms.entries(_PAGE).values()):
            st.info(
                "Nothing is filled in yet. Steps 1 and 2 give the first verdict: the unit's "
                "budget, and the settled current before and after. The invented example shows "
                "a whole job."
            )
        try:
            record = _record()
            answer = acceptance(record)
        except DrainsimError as error:
            st.error(plain(str(error)))
        else:
            _result(answer)
            complaint_view.draw(record)
    st.file_uploader(
        "Reopen a job record (JSON)",
        type=["json"],
        key=_UPLOAD,
        on_change=_take_upload,
        max_upload_size=1,
    )
    safety.defers()
    if not (forms.fits(_PAGE) and forms.fits(complaint_view.PAGE)):
        st.caption("Too many entries for the address: save the job record.")


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
